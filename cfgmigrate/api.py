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
from typing import TYPE_CHECKING, Any

from cfgmigrate.dialects.configuration import Configuration, open_configuration
from cfgmigrate.findings import BadInput, Place, Refused
from cfgmigrate.machine.model import Machine, Reading

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
    from cfgmigrate.reports.checklist import render_checklist
    from cfgmigrate.reports.markdown import render_markdown
    from cfgmigrate.reports.page import render_page

    settled = Path(names).read_bytes() if names is not None else None
    plan, before, after = found.plan, found.before, found.after
    identity = content_hash(plan, before, after, found.sheet, settled, found.sources)
    pages: dict[str, str | bytes] = {
        "changes.md": render_markdown(plan, before, after, identity),
        "changes.html": render_page(plan, before, after, identity),
        "checklist.md": render_checklist(plan),
    }
    person = preparer or user()
    return write_packet(out, plan, before, after, found.sheet, settled, found.sources, pages, person, replace)


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
    from deepdiff import DeepDiff

    again = _read_again(configuration, after, names)
    wanted = {**_values(machine), **_edited_texts(plan, machine)}
    for change in plan.changes:
        for edit in change.edits:
            if (key := f"{change.quantity} at {edit.file}:{edit.line}") in wanted:
                wanted[key] = change.new.value
    difference = DeepDiff(wanted, _values(again), significant_digits=9, number_format_notation="e")
    if difference:
        raise Refused(
            f"the result, read again, is not what was planned: {difference.pretty()}",
            Place(str(configuration.root)),
            "Nothing was written. This is a defect of the tool; please report it with your files.",
        )


def _read_again(
    configuration: Configuration, contents: Mapping[str, bytes], names: PathLike | None
) -> Machine:
    """The same files with other contents, and what is recognised in them."""
    from cfgmigrate.dialects import read
    from cfgmigrate.dialects.header import read_together
    from cfgmigrate.machine.names import read_names
    from cfgmigrate.machine.recognise import recognise

    settled = read_names(Path(names)) if names is not None else None
    # C headers know what the ones before them define, so they are read as one sequence again.
    headers = [document.path for document in configuration.documents if document.dialect == "header"]
    joined = iter(read_together([(path, contents[path]) for path in headers]))
    documents = tuple(
        next(joined)
        if document.dialect == "header"
        else read(document.path, contents[document.path], document.dialect)
        for document in configuration.documents
    )
    return recognise(Configuration(configuration.root, documents, configuration.skipped), settled)


def _every_reading(machine: Machine) -> Iterator[tuple[str, Reading]]:
    """All readings, in force or not, by what they are and where they stand."""
    twins = (twin for twins in machine.twins.values() for twin in twins)
    for reading in (*machine.readings, *machine.shadowed, *twins):
        yield f"{reading.quantity} at {reading.place.file}:{reading.place.line}", reading


def _values(machine: Machine) -> dict[str, Any]:
    return {
        key: reading.text if reading.value is None else float(reading.value)
        for key, reading in _every_reading(machine)
    }


def _edited_texts(plan: Plan, machine: Machine) -> dict[str, str]:
    """What the texts (scripts) will say that the plan's edits reach into."""
    from dataclasses import replace

    from cfgmigrate.changes.edits import apply_edits, edits_by_file
    from cfgmigrate.dialects.document import readable

    edits = edits_by_file(plan.changes)
    found = {}
    for key, reading in _every_reading(machine):
        first, last = reading.start, reading.end
        inside = [
            replace(edit, start=edit.start - first, end=edit.end - first)
            for edit in edits.get(reading.place.file, ())
            if first <= edit.start and edit.end <= last
        ]
        if reading.value is None and inside:
            data = machine.document(reading.place.file).data[first:last]
            found[key] = readable(apply_edits(data, inside))
    return found


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
    """Carry the packet's changes out, all or none."""
    from cfgmigrate.changes.install import install as carry_out

    return carry_out(Path(packet), Path(root) if root is not None else None, dry_run, require_review)


def revert(
    packet: PathLike,
    root: PathLike | None = None,
    dry_run: bool = False,
    only: Sequence[str] = (),
    keep: Sequence[str] = (),
    force: Sequence[str] = (),
) -> RevertReport:
    """Put the old values back; edits made since are kept."""
    from cfgmigrate.changes.revert import revert as put_back

    place = Path(root) if root is not None else None
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
    """What does not hold in a packet, a sentence each: hashes first, then every value worked out again."""
    import json

    from cfgmigrate.changes.packet import INDEX, verify_hashes
    from cfgmigrate.changes.recompute import recompute

    folder = Path(packet)
    if not (folder / INDEX).is_file():
        raise BadInput("there is no packet here", Place(str(folder)), "Name the folder that prepare wrote.")
    faults = tuple(str(fault) for fault in verify_hashes(folder))
    if faults:
        return faults
    document = json.loads((folder / INDEX).read_bytes())
    return tuple(recompute(document))


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
