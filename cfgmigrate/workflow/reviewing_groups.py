"""One person's record taken in by several packets at once: a group's record, or that of one packet for others like it.

Each packet gets the verdicts on those of its items that are the same as what was judged, and only those
(`packet/binding.py`); what differs is named and stays as it was. A packet that can't take the record in says why, and
the others go on. A signature is of one packet's record, so it can't come with a group's; each packet is signed afterwards.

Nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from cfgmigrate.ground.findings import BadInput, CfgError, Place, Refused
from cfgmigrate.workflow.inputs import PathLike
from cfgmigrate.workflow.packets import open_packet

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.packet.review import Review


class GroupVerdicts(Struct, frozen=True):
    """What one packet took in: how many verdicts, and the judged items that differ here or are missing.

    `review` is this person's record as it is kept; None where there was an `error` or nothing is the same here, and
    nothing was written then."""

    packet: Path
    machine: str = ""
    taken: int = 0
    different: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    error: CfgError | None = None
    review: Review | None = None

    def kept(self) -> Review:
        """The record as it is kept. Raises what went wrong, and Refused where nothing that was judged is the same here."""
        if self.error is not None:
            raise self.error
        if self.review is None:
            what = "nothing that the record judges is the same in this packet"
            raise Refused(
                what, Place(str(self.packet)), "Nothing was changed. Have this packet reviewed by itself."
            )
        return self.review

    def to_json(self) -> dict[str, Any]:
        return {
            "packet": str(self.packet),
            "machine": self.machine,
            "taken": self.taken,
            "different": list(self.different),
            "missing": list(self.missing),
            "error": {"status": self.error.status, "text": str(self.error)} if self.error else None,
        }


def review_group(packets: Sequence[PathLike], record: PathLike) -> tuple[GroupVerdicts, ...]:
    """Take one record into several packets, in their order. Verdicts that the same person gave there on other items stay.

    Raises BadInput where the record can't be read, Refused where a signature lies beside it; what goes wrong with one
    packet stands in what is given for it.
    """
    from cfgmigrate.packet.signing import SIGNATURE

    review = _read(record)
    if Path(f"{record}{SIGNATURE}").exists():
        raise Refused(
            "a signature is of one packet's record, and this one is for several",
            Place(f"{record}{SIGNATURE}"),
            "Nothing was changed. Move it away, take the record in, and sign each packet's: --as NAME --sign KEY.",
        )
    if not review.judgements:
        raise BadInput("the record has no verdict", Place(str(record)), "Nothing was changed.")
    return tuple(_one(Path(packet), review) for packet in packets)


def _read(record: PathLike) -> Review:
    from cfgmigrate.ground.positioned_yaml import LONGEST_YAML
    from cfgmigrate.ground.user_file import read_given
    from cfgmigrate.packet.review import parse_review

    return parse_review(read_given(Path(record), "the review record", LONGEST_YAML), str(record))


def _one(path: Path, review: Review) -> GroupVerdicts:
    try:
        return take_in(open_packet(path), review)
    except CfgError as error:
        return GroupVerdicts(path, error=error)


def take_in(packet: Packet, review: Review) -> GroupVerdicts:
    """Keep in a packet what a record says of it. Raises Refused where the packet's machine is none of the record's group."""
    from cfgmigrate.packet.standing import of_group, record_review

    machine = packet.plan.machine
    if review.group and machine not in review.group:
        raise Refused(
            f"the record is of a group without {machine or 'this machine'}",
            Place(str(packet.folder)),
            "Nothing was changed. Have this packet reviewed by itself.",
        )
    found = of_group(review, packet)
    taken = len(review.judgements) - len(found.reopened) - len(found.gone)
    kept = record_review(packet, found.review) if taken else None
    return GroupVerdicts(packet.folder, machine, taken, found.reopened, found.gone, review=kept)


def is_for_several(record: PathLike) -> bool:
    """Whether a record's file is a group's. Raises BadInput where it can't be read."""
    return bool(_read(record).group)
