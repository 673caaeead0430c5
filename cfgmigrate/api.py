"""The tool for people who script: the commands as typed functions.

Every function takes paths, gives back frozen values, prints nothing and asks nothing. What can't be read
raises `BadInput`, what must not be done raises `Refused` (both in `cfgmigrate.findings`), and then
nothing was written.

This module only puts the packages together; each step lives in the package that it is named after.
"""

from __future__ import annotations

import getpass
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.dialects.configuration import Configuration, open_configuration
from cfgmigrate.findings import BadInput, Place, Refused
from cfgmigrate.machine.model import Machine

if TYPE_CHECKING:
    from cfgmigrate.changes.history import History
    from cfgmigrate.changes.install import InstallReport
    from cfgmigrate.changes.packet import Packet
    from cfgmigrate.changes.plan import Plan
    from cfgmigrate.changes.revert import RevertReport
    from cfgmigrate.changes.review import Judgement, Review
    from cfgmigrate.changes.transaction import Recovery
    from cfgmigrate.machine.compare import Comparison
    from cfgmigrate.machine.survey import Survey
    from cfgmigrate.rules.book import Book
    from cfgmigrate.rules.engine import Outcome
    from cfgmigrate.rules.rule import Rule
    from cfgmigrate.swap.sheet import Sheet

PathLike = str | Path
Dialects = Mapping[str, str] | None


@dataclass(frozen=True)
class Prepared:
    """What `work_out` found: the plan, and the files as they are and as they would be."""

    plan: Plan
    before: Mapping[str, bytes]
    after: Mapping[str, bytes]
    sources: Mapping[str, bytes]
    sheet: bytes


def read_machine(
    paths: Sequence[PathLike], names: PathLike | None = None, dialects: Dialects = None
) -> tuple[Configuration, Machine]:
    """The files and what was recognised in them."""
    from cfgmigrate.machine.names import read_names
    from cfgmigrate.machine.recognise import recognise

    settled = read_names(Path(names)) if names is not None else None
    configuration = open_configuration([Path(path) for path in paths], dialects)
    _refuse_half_written(configuration.root)
    return configuration, recognise(configuration, settled)


def _refuse_half_written(root: Path) -> None:
    """Files in the middle of an interrupted install are neither the old set nor the new one."""
    from cfgmigrate.changes.transaction import Store

    if Store(root).pending:
        raise Refused(
            "an interrupted install or revert left these files half written",
            Place(str(root)),
            f"Nothing was read. Finish or undo it first: cfgmigrate history {root}",
        )


def recover(paths: Sequence[PathLike]) -> Recovery | None:
    """Finish or undo what was interrupted at this configuration; None where nothing was."""
    from cfgmigrate.changes.install import recover_at
    from cfgmigrate.dialects.configuration import common_root

    return recover_at(common_root([Path(path) for path in paths]))


def survey(paths: Sequence[PathLike], names: PathLike | None = None, dialects: Dialects = None) -> Survey:
    """What was understood of the files, where it stands, and what was not."""
    from cfgmigrate.machine.survey import survey_of

    configuration, machine = read_machine(paths, names, dialects)
    return survey_of(machine, configuration)


def starter_sheet(paths: Sequence[PathLike], names: PathLike | None = None, dialects: Dialects = None) -> str:
    """A commented starter swap sheet, filled with what the files already say."""
    from cfgmigrate.swap.starter import starter_sheet as write

    configuration, machine = read_machine(paths, names, dialects)
    return write(machine, configuration.root.name)


def work_out(
    paths: Sequence[PathLike],
    sheet: PathLike,
    names: PathLike | None = None,
    dialects: Dialects = None,
    rules: PathLike | None = None,
    source: Sequence[PathLike] = (),
    rest: bool = False,
) -> Prepared:
    """Everything that `prepare` works out, without writing anything.

    With `source`, the old configuration is carried over into the one at `paths` first. Where the history says
    that a part of this swap was installed already, the plan is what is left of it; with `rest` the last install
    counts as a part of it even where its sheet said something else (Refused, where there is none).
    """
    from cfgmigrate.changes.planning import plan_changes
    from cfgmigrate.rules import knowledge
    from cfgmigrate.swap.reader import read_sheet

    loaded = knowledge.book(Path(rules) if rules is not None else None)
    swap = read_sheet(Path(sheet))
    configuration, machine = read_machine(paths, names, dialects)
    if source:
        outcome = _carried_over(loaded, machine, swap, source, names, dialects)
        plan = plan_changes(outcome, loaded, machine, swap, str(configuration.root))
    else:
        plan = _planned(loaded, machine, swap, configuration, names, rest)
    return with_result(plan, machine, configuration, names, knowledge.book_sources(loaded), swap.source)


def _planned(
    loaded: Book,
    machine: Machine,
    swap: Sheet,
    configuration: Configuration,
    names: PathLike | None,
    rest: bool,
) -> Plan:
    """What the swap changes, or the rest of it where a part was installed already."""
    from dataclasses import replace

    from cfgmigrate.changes import earlier
    from cfgmigrate.changes.planning import plan_changes
    from cfgmigrate.changes.rest import another_sheet, the_rest
    from cfgmigrate.rules import knowledge
    from cfgmigrate.rules.engine import work_out as run_rules

    root = configuration.root
    present = {document.path: document.data for document in configuration.documents}
    said = [(path, entry.text) for path, entry in swap.entries.items()]
    found = earlier.earlier_installs(root, present, said, whatever=rest)
    if rest and found is None:
        raise Refused(
            "nothing of a swap was installed here, or all of it was taken back",
            Place(str(root)),
            "Nothing was written. Prepare it without --rest.",
        )
    old = machine if found is None else _read_again(configuration, found.old, names)
    outcome = run_rules(loaded, old, swap, knowledge.tables())
    plan = plan_changes(outcome, loaded, old, swap, str(root))
    if found is not None:
        return the_rest(plan, found, present)
    partly = earlier.partly_installed(root, present)
    return plan if partly is None else replace(plan, doubts=(another_sheet(partly, swap.path), *plan.doubts))


def with_result(
    plan: Plan,
    machine: Machine,
    configuration: Configuration,
    names: PathLike | None,
    sources: Mapping[str, bytes],
    sheet: bytes,
) -> Prepared:
    """A plan with the files as they are and as they would be, read again and compared; `sources` and `sheet`
    are what its values rest on."""
    from cfgmigrate.changes.edits import apply_edits, edits_by_file

    before = {document.path: document.data for document in configuration.documents}
    after = dict(before)
    for path, edits in edits_by_file(plan.changes).items():
        after[path] = apply_edits(before[path], edits)
    _recheck(plan, machine, configuration, after, names)
    return Prepared(plan, before, after, sources, sheet)


def _carried_over(
    loaded: Book,
    machine: Machine,
    swap: Sheet,
    source: Sequence[PathLike],
    names: PathLike | None,
    dialects: Dialects,
) -> Outcome:
    """The rules' results for the new files, starting from the old ones, and what is carried over besides."""
    from dataclasses import replace

    from cfgmigrate.rules import carry, knowledge
    from cfgmigrate.rules.engine import work_out as run_rules

    configuration, old = read_machine(source, names, dialects)
    label = configuration.root.name
    outcome = run_rules(loaded, carry.meant(old, machine, label), swap, knowledge.tables())
    set_by_rules = frozenset(result.target for result in outcome.results if result.target)
    results, silent = carry.carried(old, machine, label, set_by_rules)
    moved = {result.target for result in results}
    return replace(
        outcome,
        results=(*outcome.results, *results),
        silent=(*(item for item in outcome.silent if item.quantity not in moved), *silent),
        doubts=(*outcome.doubts, *old.doubts),
    )


def prepare(
    paths: Sequence[PathLike],
    sheet: PathLike,
    out: PathLike,
    names: PathLike | None = None,
    dialects: Dialects = None,
    rules: PathLike | None = None,
    preparer: str | None = None,
    source: Sequence[PathLike] = (),
    rest: bool = False,
    replace: bool = False,
) -> Packet:
    """Work the swap out and write the packet. Raises Refused where the result, read again, differs from
    the old configuration in anything but the plan. `source` and `rest` are those of `work_out`; `replace`
    allows another packet at `out` to be replaced, unless it is installed."""
    found = work_out(paths, sheet, names, dialects, rules, source, rest)
    return write_out(found, Path(out), names, preparer, replace)


def write_out(
    found: Prepared,
    out: Path,
    names: PathLike | None = None,
    preparer: str | None = None,
    replace: bool = False,
) -> Packet:
    """Write what was worked out as a packet."""
    from cfgmigrate.changes.packet import content_hash
    from cfgmigrate.changes.packing import write_packet

    settled = Path(names).read_bytes() if names is not None else None
    plan, before, after = found.plan, found.before, found.after
    identity = content_hash(plan, before, after, found.sheet, settled, found.sources)
    pages = pages_of(plan, before, after, identity)
    person = preparer or user()
    return write_packet(out, plan, before, after, found.sheet, settled, found.sources, pages, person, replace)


def pages_of(
    plan: Plan, before: Mapping[str, bytes], after: Mapping[str, bytes], identity: str
) -> dict[str, str]:
    """A packet's pages for people, by name."""
    from cfgmigrate.reports.checklist import render_checklist
    from cfgmigrate.reports.markdown import render_markdown
    from cfgmigrate.reports.page import render_page

    return {
        "changes.md": render_markdown(plan, before, after, identity),
        "changes.html": render_page(plan, before, after, identity),
        "checklist.md": render_checklist(plan),
    }


def user() -> str:
    """Who prepares, by the system; "" where it doesn't say."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return ""


def _recheck(
    plan: Plan,
    machine: Machine,
    configuration: Configuration,
    after: Mapping[str, bytes],
    names: PathLike | None,
) -> None:
    """Read the result again and compare the two neutral models: their difference must be the plan."""
    from cfgmigrate.changes.reread import difference

    found = difference(plan, machine, _read_again(configuration, after, names))
    if found:
        raise Refused(
            f"the result, read again, is not what was planned: {found}",
            Place(str(configuration.root)),
            "Nothing was written. This is a defect of the tool; please report it with your files.",
        )


def _read_again(
    configuration: Configuration, contents: Mapping[str, bytes], names: PathLike | None
) -> Machine:
    """The same files with other contents, and what is recognised in them."""
    from cfgmigrate.changes.reread import read_as
    from cfgmigrate.machine.names import read_names
    from cfgmigrate.machine.recognise import recognise

    settled = read_names(Path(names)) if names is not None else None
    documents = read_as([(each.path, each.dialect) for each in configuration.documents], contents)
    return recognise(documents, settled)


def open_packet(packet: PathLike) -> Packet:
    """A packet whose hashes hold. Raises Refused and names the file where one does not."""
    from cfgmigrate.changes.packet import read_packet

    return read_packet(Path(packet))


def review(packet: PathLike, record: PathLike) -> Review:
    """Take in a review record that changes.html saved, and keep it in the packet."""
    from cfgmigrate.changes.review import parse_review, record_review
    from cfgmigrate.dialects.given import read_given
    from cfgmigrate.swap.marked import LONGEST

    source = read_given(Path(record), "the review record", LONGEST)
    return record_review(Path(packet), parse_review(source, str(record)))


def record_verdicts(packet: PathLike, reviewer: str, judgements: Sequence[Judgement]) -> Review:
    """Keep verdicts that were given elsewhere than on the page."""
    from datetime import UTC, datetime

    from cfgmigrate.changes.review import Review, record_review, review_basis

    opened = open_packet(packet)
    time = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    found = Review(opened.hash, reviewer, time, tuple(judgements), review_basis(opened.plan))
    return record_review(Path(packet), found)


def install(
    packet: PathLike, root: PathLike | None = None, require_review: bool = False, dry_run: bool = False
) -> InstallReport:
    """Carry the packet's changes out, all or none. Raises Refused besides where its edits do what no plan may."""
    from cfgmigrate.changes.install import install as carry_out

    _refuse_harmful(open_packet(packet))
    return carry_out(Path(packet), Path(root) if root is not None else None, dry_run, require_review)


def _refuse_harmful(packet: Packet) -> None:
    """Raises Refused where the packet's edits do what no plan may, whoever sealed it."""
    from cfgmigrate.changes.reread import harmful

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
    from cfgmigrate.changes.history import history as read
    from cfgmigrate.changes.install import root_of
    from cfgmigrate.changes.revert import revert as put_back

    place = Path(root) if root is not None else None
    opened = open_packet(packet)
    if all(entry.packet != opened.hash for entry in read(root_of(opened, place))):
        _refuse_harmful(opened)
    return put_back(Path(packet), place, dry_run, tuple(only), tuple(keep), tuple(force))


def revert_to(
    root: PathLike,
    entry: str,
    dry_run: bool = False,
    only: Sequence[str] = (),
    keep: Sequence[str] = (),
    force: Sequence[str] = (),
) -> RevertReport:
    """Go back to an entry of the history, or to "start", over as many steps as that takes."""
    from cfgmigrate.changes.revert import revert_to as go_back

    return go_back(Path(root), entry, dry_run, tuple(only), tuple(keep), tuple(force))


def history(root: PathLike) -> History:
    """What was installed and reverted at this configuration."""
    from cfgmigrate.changes.history import history as read

    return read(Path(root))


def verify(packet: PathLike) -> tuple[str, ...]:
    """What does not hold in a packet, a sentence each: hashes first, then every value worked out again, the files
    read again before and after, and the pages written again."""
    import json

    from cfgmigrate.changes.packet import INDEX, verify_hashes
    from cfgmigrate.changes.recompute import recompute
    from cfgmigrate.changes.reread import unfaithful

    folder = Path(packet)
    if not (folder / INDEX).is_file():
        raise BadInput("there is no packet here", Place(str(folder)), "Name the folder that prepare wrote.")
    faults = tuple(str(fault) for fault in verify_hashes(folder))
    if faults:
        return faults
    document = json.loads((folder / INDEX).read_bytes())
    found = open_packet(folder)
    return (*recompute(document), *unfaithful(found), *_other_pages(found))


def _other_pages(packet: Packet) -> Iterator[str]:
    """Pages that are not those of the plan. A stranger who seals a packet anew can write anything into them."""
    for page, text in pages_of(packet.plan, packet.before, packet.after, packet.hash).items():
        if packet.pages.get(page) != text.encode("utf-8", "surrogateescape"):
            yield (
                f"{page}: not the page that this release makes of the plan: another release wrote it, or somebody "
                "changed it and sealed the packet anew. Don't open it; `cfgmigrate review` shows the plan itself"
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
    from cfgmigrate.rules import knowledge

    return knowledge.book(Path(rules) if rules is not None else None).rules
