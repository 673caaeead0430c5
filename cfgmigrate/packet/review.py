"""The review records: who looked at a packet, and what they said of each item.

    format: 1
    packet: <the packet's hash>
    reviewer: A. Heron
    time: "2031-05-04T10:11:12Z"
    verdicts:
      - {item: feeder.feed_per_turn, verdict: accepted, note: ""}
      - {item: retraction.length @ filament petg, verdict: held, note: "it oozes"}
    basis: {...}      what was reviewed, piece by piece, so that a later packet can tell what is still the same

That is one person's record, as the page saves it. One for a group of machines, as a fleet's summary saves it, has
`group: [Wren, Dunlin]` in place of `packet`; its basis is of the pieces that they share. It holds for a packet as far as
the pieces are the same there (`standing.py`), and is never kept as it is. A packet's own review.yaml holds the records of all, one a person:

    format: 2
    reviews: [...]    each with the fields above but `format`
    seal: ...

A verdict is accepted, held or questioned; an item is the id of a change, of what is to be done by hand, or of a
doubt. A person's newer record takes the place of their own older one, and of nobody else's. What the records come to
for the packet as it is now is worked out in `standing.py`.

This module deliberately trusts no record: only plain text is taken from it.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from enum import StrEnum
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.ground.disk import write_over
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.positioned_yaml import LONGEST_YAML, Node, read_marked
from cfgmigrate.packet.folder import REVIEW, Packet, sealed, unsealed
from cfgmigrate.packet.opening import opened

_FIELDS = ("format", "packet", "reviewer", "time", "verdicts", "basis", "seal")
#: bytes; the records of ten people on a hundred items
_LONGEST = 10 * LONGEST_YAML


class Verdict(StrEnum):
    """What a reviewer says of one item."""

    ACCEPTED = "accepted"
    HELD = "held"
    QUESTIONED = "questioned"


class Judgement(Struct, frozen=True):
    """A verdict on one item, with the reviewer's note."""

    item: str
    verdict: Verdict
    note: str = ""


class Review(Struct, frozen=True):
    """A review of the packet whose hash is `packet`, or of the machines of a `group`; `packet` is "" then. `basis` maps
    each reviewed piece to its hash."""

    packet: str
    reviewer: str
    time: str
    judgements: tuple[Judgement, ...]
    basis: Mapping[str, str]
    group: tuple[str, ...] = ()

    def of(self, item: str) -> Judgement | None:
        return next((judgement for judgement in self.judgements if judgement.item == item), None)

    def to_json(self) -> dict[str, Any]:
        return {
            "format": 1,
            "packet": self.packet,
            "reviewer": self.reviewer,
            "time": self.time,
            "verdicts": [
                {"item": each.item, "verdict": each.verdict.value, "note": each.note}
                for each in self.judgements
            ],
            "basis": dict(self.basis),
        }


def parse_review(data: bytes, source: str) -> Review:
    """One person's record from its YAML, from the page or from the terminal.

    Raises BadInput, with line and column, where it is not one.
    """
    found = parse_reviews(data, source)
    if len(found) != 1:
        raise BadInput(
            f"these are the records of {len(found)} people",
            Place(source),
            "Give one person's record, as the page saves it.",
        )
    return found[0]


def parse_reviews(data: bytes, source: str) -> tuple[Review, ...]:
    """The records in a YAML text: one person's, or a packet's own review.yaml. Raises BadInput as `parse_review`."""
    if len(data) > _LONGEST:
        raise BadInput(f"{len(data)} bytes are too many for a review record", Place(source))
    top = read_marked(data, source, _LONGEST)
    if top.items is not None and (several := top.get("reviews")) is not None:
        fields = _fields(top, "the records of a packet", ("format", "reviews", "seal"))
        if _text(top, fields, "format") != "2":
            raise BadInput("records with `reviews` begin with `format: 2`", fields["format"].place)
        if several.elements is None:
            raise BadInput("`reviews` must be a list", several.place)
        return tuple(
            _review(node, _fields(node, "a review record", _FIELDS[1:-1])) for node in several.elements
        )
    fields = _fields(top, "a review record", (*_FIELDS, "group"))
    if _text(top, fields, "format") != "1":
        raise BadInput("a review record begins with `format: 1`", fields["format"].place)
    return (_review(top, fields),)


def _review(top: Node, fields: Mapping[str, Node]) -> Review:
    verdicts = fields.get("verdicts", top)
    if verdicts.elements is None:
        raise BadInput("`verdicts` must be a list", verdicts.place, _EXAMPLE)
    basis = fields.get("basis", Node(top.place, items=()))
    group = _group(fields)
    return Review(
        packet="" if group else _text(top, fields, "packet"),
        reviewer=_text(top, fields, "reviewer"),
        time=_text(top, fields, "time"),
        judgements=tuple(_judgements(verdicts.elements)),
        basis={item.key: item.node.text or "" for item in basis.items or ()},
        group=group,
    )


def _group(fields: Mapping[str, Node]) -> tuple[str, ...]:
    """The machines that a group's record names; none in any other record."""
    node = fields.get("group")
    if node is None:
        return ()
    names = tuple(each.text or "" for each in node.elements or ())
    if not names or not all(names):
        raise BadInput("`group` must be a list of machines", node.place)
    if "packet" in fields:
        raise BadInput("a record is of a `packet` or of a `group`", node.place, "Leave one of the two out.")
    return names


def read_reviews(packet: Packet | Path) -> tuple[Review, ...]:
    """The records that lie in a packet, one a person, in the order in which they came; none where nobody reviewed it."""
    found = opened(packet)
    if found.review is None:
        return ()
    if unsealed(found.review) is None:
        raise Refused("its seal does not hold", Place(REVIEW), "Review the packet again.")
    return parse_reviews(found.review, REVIEW)


def write_reviews(packet: Packet, reviews: Sequence[Review]) -> None:
    """Put records into a packet in place of those that lie there. Raises Refused where they can't be written."""
    try:
        write_over(packet.folder / REVIEW, sealed(bytes_of(reviews)))
    except OSError as error:
        raise Refused(
            f"the review can't be written: {error.strerror}", Place(str(packet.folder / REVIEW))
        ) from error


_EXAMPLE = 'A verdict is written as `- {item: motor.run_current, verdict: accepted, note: ""}`.'


def _fields(node: Node, what: str, allowed: tuple[str, ...]) -> dict[str, Node]:
    """The fields of a mapping. Raises BadInput where it is none, or has a field that there is not."""
    if node.items is None:
        raise BadInput(f"{what} must have the fields {', '.join(allowed)}", node.place)
    for item in node.items:
        if item.key not in allowed:
            near = get_close_matches(item.key, allowed, 1)
            remedy = f"Did you mean {near[0]}?" if near else f"There are: {', '.join(allowed)}."
            raise BadInput(f"{what} has no field {item.key!a}", item.place, remedy)
    return {item.key: item.node for item in node.items}


def _text(parent: Node, fields: Mapping[str, Node], name: str) -> str:
    node = fields.get(name)
    if node is None or not node.text:
        raise BadInput(f"`{name}` is missing", (node or parent).place)
    return node.text


def _judgements(verdicts: tuple[Node, ...]) -> Iterator[Judgement]:
    seen: set[str] = set()
    for node in verdicts:
        fields = _fields(node, "a verdict", ("item", "verdict", "note"))
        item, verdict = _text(node, fields, "item"), _text(node, fields, "verdict")
        if item in seen:
            raise BadInput(f"a second verdict on {item!a}", node.place, "Keep one of the two.")
        seen.add(item)
        if verdict not in list(Verdict):
            remedy = f"Use one of: {', '.join(Verdict)}."
            raise BadInput(f"{verdict!a} is no verdict", fields["verdict"].place, remedy)
        note = fields.get("note")
        yield Judgement(item, Verdict(verdict), (note.text or "") if note else "")


def bytes_of(reviews: Sequence[Review]) -> bytes:
    """Records as a packet keeps them, without the seal."""
    from ruamel.yaml import YAML

    yaml = YAML(typ="rt", pure=True)
    yaml.width = sys.maxsize  # a key that is broken over two lines can't be read again
    out = io.BytesIO()
    records = [
        {name: value for name, value in each.to_json().items() if name != "format"} for each in reviews
    ]
    yaml.dump({"format": 2, "reviews": records}, out)
    return out.getvalue()
