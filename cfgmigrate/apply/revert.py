"""The way back: a packet's values given back to the files, whatever happened to these since.

A file that was not touched since gets its old bytes. In a file that was edited, each value that is still
what was installed gets its old text; every other edit stays. A value that was changed again, or can't be
found, is a conflict, and nothing is written before each conflict is answered: `only` names the quantities
to give back, `keep` those to leave as they are now, `force` those to give back all the same.

It needs the packet and the files, nothing else: no rule book, no history, no list of quantities. Where there
is a history, it is only asked which later step changed a value. What was done by hand no file holds: it is
named, to be undone by hand. With `whole` the files come back to the letter, see `whole_revert.py`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

from msgspec.structs import replace

from cfgmigrate.apply.file_revert import Answers
from cfgmigrate.apply.going_back import RevertReport, Way, refuse_unanswered, spans_named, worked_out
from cfgmigrate.apply.install import root_of
from cfgmigrate.apply.left_to_hands import asked_by_hand, made_for, questions_of, undone_in_order
from cfgmigrate.apply.made_for_the_new import made_for_the_new, without_repeats
from cfgmigrate.apply.only_read import edited_beside, told_of
from cfgmigrate.apply.revert_beside import MachinesBeside, machines_beside
from cfgmigrate.apply.whereabouts import beside
from cfgmigrate.apply.whole_revert import (
    Before,
    before_entries,
    before_packet,
    keep_beside,
)
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.paths import existing_root
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.opening import opened
from cfgmigrate.store.chain import HISTORY_PATH
from cfgmigrate.store.history import History, read_history, record, refuse_broken, steps_of
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.undoing import recover, recover_at

START = "start"


def revert(
    packet: Packet | Path,
    root: Path | None = None,
    dry_run: bool = False,
    only: Collection[str] = (),
    keep: Collection[str] = (),
    force: Collection[str] = (),
    whole: bool = False,
) -> RevertReport:
    """Give back what a packet changed in the configuration at `root`, or where it was prepared.

    Raises BadInput where there is no packet or no configuration, `Unanswered` (a Refused) where conflicts
    wait for an answer, and Refused where the packet is damaged or a file can't be replaced. A dry run
    returns the conflicts in its report instead.
    """
    packet = opened(packet)
    way = [(packet.steps(), packet.hash)]
    answers = Answers(only, keep, force)
    place = root_of(packet, root)
    others = machines_beside(place, packet.before, {step.path for step in packet.steps()})
    read = others.but_theirs(before_packet(packet))
    wanted = read if _wants_all(whole, answers) else None
    report = _go_back(place, way, packet.plan.machine, answers, dry_run, wanted)
    report = _with_others(report, read, way, answers, whole, others)
    asked = [(item.what, item.steps) for item in packet.plan.by_hand]
    told = () if answers.only else made_for_the_new(packet.before, asked, report.kept, questions_of(packet))
    report = replace(report, notes=report.notes + told)
    hands = _hands(report, answers, undone_in_order(packet.plan.by_hand))
    return replace(report, by_hand=hands, called=packet.plan.called)


def revert_to(
    root: Path,
    entry: int | str,
    dry_run: bool = False,
    only: Collection[str] = (),
    keep: Collection[str] = (),
    force: Collection[str] = (),
    whole: bool = False,
) -> RevertReport:
    """Go back over several steps at once: to how things stood after `entry`, or at the "start".

    Each later step is taken back in turn, newest first, and all of it is written together. Raises as
    `revert`, and Refused where an entry that is needed can't be trusted.
    """
    place = existing_root(root)
    store = Store(place)
    recover_at(place, dry_run)
    past = read_history(store, anew=True)
    later = past.entries[_wanted(past, entry) :]
    refuse_broken(past.problems)
    way = [(steps_of(store, each), each.packet) for each in reversed(later)]
    machine = later[-1].machine if later else ""
    answers = Answers(only, keep, force)
    read, notes = before_entries(store, later)
    others = machines_beside(
        place,
        {path: each.data for path, each in read.items()},
        {step.path for steps, _ in way for step in steps},
    )
    read = others.but_theirs(read)
    wanted, notes = (read, notes) if _wants_all(whole, answers) else (None, ())
    report = _go_back(place, way, machine, answers, dry_run, wanted)
    report = replace(report, notes=report.notes + notes)
    report = _with_others(report, read, way, answers, whole, others)
    if not answers.only:
        made = without_repeats(note for each in later for note in made_for(store, each, report.kept))
        report = replace(report, notes=(*report.notes, *made))
    called = {pair for each in later for pair in ((each.reasons or {}).get("called") or {}).items()}
    hands = _hands(report, answers, asked_by_hand(later))
    return replace(report, by_hand=hands, called=tuple(sorted(called)))


def _wants_all(whole: bool, answers: Answers) -> bool:
    """Whether the files go back to the letter. Raises BadInput where some values are to be left out of that."""
    if whole and (answers.only or answers.keep or answers.force):
        raise BadInput(
            "--whole gives back all there is, so it goes with none of --only, --keep and --force",
            remedy="Leave out the one or the others.",
        )
    return whole


def _with_others(
    report: RevertReport,
    read: Mapping[str, Before],
    way: Way,
    answers: Answers,
    whole: bool,
    others: MachinesBeside,
) -> RevertReport:
    """The report with lines that still stand in files beside as they were installed, and, where a whole packet goes back and no file
    does to the letter, with what was edited since in files that were only read."""
    back = spans_named(way, {(item.file, item.name) for item in report.restored})
    held = {**others.left, **_held(read, way)}
    places = beside(Path(report.root), back, held, read if whole else ())
    notes = (
        *(f"{place}, too, and is left" for place in places),
        *others.told({item.file for item in report.restored}),
    )
    report = replace(report, notes=report.notes + notes)
    if answers.only or whole:
        return report
    written = {step.path for steps, _ in way for step in steps}
    found = edited_beside(Path(report.root), read, written)
    return replace(report, kept=report.kept + found, notes=report.notes + told_of(found))


def _hands(report: RevertReport, answers: Answers, asked: Sequence[str]) -> tuple[str, ...]:
    """What is to be undone by hand: all that was asked, where a whole packet goes back."""
    return tuple(asked) if report.restored and not answers.only else ()


def _wanted(past: History, entry: int | str) -> int:
    if str(entry) == START:
        return 0
    try:
        number = int(entry)
    except ValueError:
        number = 0
    if not 1 <= number <= len(past):
        there = f"1 to {len(past)}" if len(past) else "none yet"
        raise BadInput(
            f"the history has no entry {entry!s}", Place(HISTORY_PATH), f"Entries: {there}; or `{START}`."
        )
    return number


def _go_back(
    root: Path,
    way: Way,
    machine: str,
    answers: Answers,
    dry_run: bool,
    wanted: Mapping[str, Before] | None = None,
) -> RevertReport:
    """Take back the steps of `way` in turn, and write the result once; with `wanted`, the files as those are."""
    names = dict.fromkeys(span.name for steps, _ in way for step in steps for span in step.spans)
    answers = answers.among(names) if wanted is None else Answers(force=frozenset(names))
    recovered = recover_at(root, dry_run)
    report, steps, real = worked_out(root, way, answers, wanted)
    report = replace(report, recovered=recovered)
    if dry_run:
        if steps and not report.conflicts:
            refuse_broken(read_history(Store(root)).problems)
        return report
    refuse_unanswered(report)
    if not steps:
        return report
    store = Store(root)
    with store.locked():
        recovered = recover(store) or recovered
        report, steps, real = worked_out(root, way, answers, wanted)
        report = replace(report, recovered=recovered)
        refuse_unanswered(report)  # a file may have been edited since it was looked at
        if wanted is not None:
            report = replace(report, beside=keep_beside(store, steps, len(read_history(store)) + 1))
        entry, lost = record(store, "revert", steps, real, way[0][1] if way else "", machine)
    return replace(report, notes=report.notes + lost, entry=entry.number, written=True)


def _held(read: Mapping[str, Before], way: Way) -> dict[str, list[bytes]]:
    """What each file was known to hold: as it was read first, and as each step left it."""
    held = {path: [before.data] for path, before in read.items()}
    for steps, _ in way:
        for step in steps:
            held.setdefault(step.path, []).append(step.after)
    return held
