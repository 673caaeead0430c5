"""The tool for people who script: the commands as typed functions.

Every function takes paths, gives back frozen values, prints nothing and asks nothing. What can't be read
raises `BadInput`, what must not be done raises `Refused` (both in `cfgmigrate.ground.findings`), and then
nothing was written.

This module only puts the packages together; each step lives in the package that it is named after, and how
`prepare` goes is in `workflow/prepare.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.machine.model import Machine
from cfgmigrate.workflow.prepare import Dialects, PathLike, pages_of
from cfgmigrate.workflow.prepare import prepare as prepare
from cfgmigrate.workflow.prepare import read_machine as read_machine
from cfgmigrate.workflow.prepare import work_out as work_out

if TYPE_CHECKING:
    from cfgmigrate.apply.install import InstallReport
    from cfgmigrate.apply.revert import RevertReport
    from cfgmigrate.machine.compare import Comparison
    from cfgmigrate.machine.survey import Survey
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.packet.review import Judgement, Review
    from cfgmigrate.rules.rule import Rule
    from cfgmigrate.store.history import History
    from cfgmigrate.store.transaction import Recovery


def recover(paths: Sequence[PathLike]) -> Recovery | None:
    """Finish or undo what was interrupted at this configuration; None where nothing was."""
    from cfgmigrate.apply.install import recover_at
    from cfgmigrate.files.configuration import common_root

    return recover_at(common_root([Path(path) for path in paths]))


def survey(paths: Sequence[PathLike], names: PathLike | None = None, dialects: Dialects = None) -> Survey:
    """What was understood of the files, where it stands, and what was not."""
    from cfgmigrate.machine.survey import survey_of

    configuration, machine = read_machine(paths, names, dialects)
    return survey_of(machine, configuration)


def starter_sheet(paths: Sequence[PathLike], names: PathLike | None = None, dialects: Dialects = None) -> str:
    """A commented starter swap sheet, filled with what the files already say."""
    from cfgmigrate.sheet.starter import starter_sheet as write

    configuration, machine = read_machine(paths, names, dialects)
    return write(machine, configuration.root.name)


def open_packet(packet: PathLike) -> Packet:
    """A packet whose hashes hold. Raises Refused and names the file where one does not."""
    from cfgmigrate.packet.folder import read_packet

    return read_packet(Path(packet))


def review(packet: PathLike, record: PathLike) -> Review:
    """Take in a review record that changes.html saved, and keep it in the packet."""
    from cfgmigrate.ground.positioned_yaml import LONGEST
    from cfgmigrate.ground.user_file import read_given
    from cfgmigrate.packet.review import parse_review, record_review

    source = read_given(Path(record), "the review record", LONGEST)
    return record_review(Path(packet), parse_review(source, str(record)))


def record_verdicts(packet: PathLike, reviewer: str, judgements: Sequence[Judgement]) -> Review:
    """Keep verdicts that were given elsewhere than on the page."""
    from datetime import UTC, datetime

    from cfgmigrate.packet.review import Review, basis_of, record_review

    opened = open_packet(packet)
    time = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    found = Review(opened.hash, reviewer, time, tuple(judgements), basis_of(opened.index))
    return record_review(opened, found)


def install(
    packet: PathLike, root: PathLike | None = None, require_review: bool = False, dry_run: bool = False
) -> InstallReport:
    """Carry the packet's changes out, all or none. Raises Refused besides where its edits do what no plan may."""
    from cfgmigrate.apply.install import install as carry_out

    opened = open_packet(packet)
    _refuse_harmful(opened)
    return carry_out(opened, Path(root) if root is not None else None, dry_run, require_review)


def _refuse_harmful(packet: Packet) -> None:
    """Raises Refused where the packet's edits do what no plan may, whoever sealed it."""
    from cfgmigrate.packet.reread import harmful

    faults = harmful(packet)
    if faults:
        raise Refused(
            "the packet would do what no plan may:\n  " + "\n  ".join(faults),
            Place(str(packet.folder)),
            "Nothing was changed. Do not trust whoever it comes from; prepare one of your own.",
        )


def revert(
    packet: PathLike,
    root: PathLike | None = None,
    dry_run: bool = False,
    only: Sequence[str] = (),
    keep: Sequence[str] = (),
    force: Sequence[str] = (),
) -> RevertReport:
    """Put the old values back; edits made since are kept. A packet that was never installed here is looked at as
    before an install."""
    from cfgmigrate.apply.install import root_of
    from cfgmigrate.apply.revert import revert as put_back
    from cfgmigrate.store.history import history as read

    place = Path(root) if root is not None else None
    opened = open_packet(packet)
    if all(entry.packet != opened.hash for entry in read(root_of(opened, place))):
        _refuse_harmful(opened)
    return put_back(opened, place, dry_run, tuple(only), tuple(keep), tuple(force))


def revert_to(
    root: PathLike,
    entry: str,
    dry_run: bool = False,
    only: Sequence[str] = (),
    keep: Sequence[str] = (),
    force: Sequence[str] = (),
) -> RevertReport:
    """Go back to an entry of the history, or to "start", over as many steps as that takes."""
    from cfgmigrate.apply.revert import revert_to as go_back

    return go_back(Path(root), entry, dry_run, tuple(only), tuple(keep), tuple(force))


def history(root: PathLike) -> History:
    """What was installed and reverted at this configuration."""
    from cfgmigrate.store.history import history as read

    return read(Path(root))


def verify(packet: PathLike) -> tuple[str, ...]:
    """What does not hold in a packet, a sentence each: hashes first, then every value worked out again, the files
    read again before and after, and the pages written again."""
    import json

    from cfgmigrate.packet.folder import INDEX, verify_hashes
    from cfgmigrate.packet.recompute import recompute
    from cfgmigrate.packet.reread import unfaithful

    folder = Path(packet)
    if not (folder / INDEX).is_file():
        raise BadInput("there is no packet here", Place(str(folder)), "Name the folder that prepare wrote.")
    faults = tuple(str(fault) for fault in verify_hashes(folder))
    if faults:
        return faults
    document = json.loads((folder / INDEX).read_bytes())
    found = open_packet(folder)
    return (*recompute(document), *unfaithful(found), *_other_pages(found))


def unverified(packet: PathLike) -> tuple[str, ...]:
    """What of a packet `verify` can't vouch for, a sentence each: its pages, where another release wrote them.

    Raises BadInput or Refused where the packet can't be opened."""
    from cfgmigrate.reports.edition import is_of_this_edition

    found = open_packet(packet)
    if not found.pages or is_of_this_edition(found.pages):
        return ()
    return (
        f"{', '.join(sorted(found.pages))}: written by another release, so their texts were not compared with the "
        "plan. The values hold; `cfgmigrate review` shows the plan itself.",
    )


def _other_pages(packet: Packet) -> Iterator[str]:
    """Pages that are not those of the plan. A stranger who seals a packet anew can write anything into them."""
    from cfgmigrate.reports.edition import is_of_this_edition

    if not is_of_this_edition(packet.pages):
        return
    for page, text in pages_of(packet.plan, packet.before, packet.after, packet.hash).items():
        if packet.pages.get(page) != text.encode("utf-8", "surrogateescape"):
            yield (
                f"{page}: not the page of the plan: somebody changed it and sealed the packet anew. Don't open it; "
                "`cfgmigrate review` shows the plan itself"
            )


def compare(
    old: Sequence[PathLike] | PathLike, new: Sequence[PathLike] | PathLike, names: PathLike | None = None
) -> Comparison:
    """Two configurations by meaning, across dialects."""
    from cfgmigrate.machine.compare import compare as by_meaning

    def machine(paths: Sequence[PathLike] | PathLike) -> Machine:
        listed = [paths] if isinstance(paths, str | Path) else list(paths)
        return read_machine(listed, names)[1]

    return by_meaning(machine(old), machine(new))


def explain(rules: PathLike | None = None) -> tuple[Rule, ...]:
    """All rules of the book, in the order in which they are worked out."""
    from cfgmigrate.rules import library

    return library.book(Path(rules) if rules is not None else None).rules
