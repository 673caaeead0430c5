"""The plan for what the rules came to: changes to the files, what is left for hands, and why the rest is as it is.

Which reading becomes what is told by `deciding.py`. Scripts come after that, once for all lanes, because their limits
and lengths are what the files will hold. This module computes no value and touches no file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator

from msgspec import UNSET

from cfgmigrate.files.gaps import of_gaps
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.version import VERSION
from cfgmigrate.machine.called_feeders import called_by_holder
from cfgmigrate.machine.commas import COMMA
from cfgmigrate.machine.listings import is_listed
from cfgmigrate.machine.model import MACHINE, Machine, feeder
from cfgmigrate.machine.teachable import Teachable
from cfgmigrate.plan.accepted import refused_changes
from cfgmigrate.plan.asked_beside import VALUES_OF_LIGHTS
from cfgmigrate.plan.at_console import ConsoleValue, to_store
from cfgmigrate.plan.basis import FileInput, TakenIn
from cfgmigrate.plan.cases import cases
from cfgmigrate.plan.codes_for_currents import with_codes
from cfgmigrate.plan.currents_by_number import currents_by_number
from cfgmigrate.plan.decided import Decided
from cfgmigrate.plan.deciding import decide
from cfgmigrate.plan.drivers_named import other_parts_named
from cfgmigrate.plan.dynamics_in_codes import dynamics_in_codes
from cfgmigrate.plan.edges_at_the_end import edges_at_the_end
from cfgmigrate.plan.encoding import write
from cfgmigrate.plan.formulas_apart import formulas_apart, questions
from cfgmigrate.plan.formulas_that_follow import formulas_that_follow, notes
from cfgmigrate.plan.grouped import grouped, of_the_swap, one_for_each_slip, to_know
from cfgmigrate.plan.halves import halves_said
from cfgmigrate.plan.held_together import wanted
from cfgmigrate.plan.items import Whose, change_of, finding_instead
from cfgmigrate.plan.kept_beside_changed import kept_beside_changed
from cfgmigrate.plan.lags_in_commands import lags_in_commands
from cfgmigrate.plan.left_in_lists import left_in_lists, told_of_lists
from cfgmigrate.plan.lights import lights
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.lines_by_hand import with_lines
from cfgmigrate.plan.lines_by_letter import lines_by_letter
from cfgmigrate.plan.lines_from_a_tip import with_lines_of_tips
from cfgmigrate.plan.lines_left import lines_left
from cfgmigrate.plan.loads_in_parts import loads_in_parts
from cfgmigrate.plan.materials import materials
from cfgmigrate.plan.model import Aged, ByHand, Change, LeftAlone, Plan
from cfgmigrate.plan.naming import Naming
from cfgmigrate.plan.not_understood import (
    doubts_of,
    lines_in_doubt,
    near_the_old,
    protected_lengths,
    suspects_in,
)
from cfgmigrate.plan.notes_of_the_old import notes_of_the_old
from cfgmigrate.plan.old_gears import old_gears
from cfgmigrate.plan.old_in_force import named_nowhere, old_in_force
from cfgmigrate.plan.old_numbers import old_numbers
from cfgmigrate.plan.other_branches import other_branches
from cfgmigrate.plan.other_machine import OtherMachine, other_machines
from cfgmigrate.plan.places_by_probe import places_by_probe
from cfgmigrate.plan.places_of_the_nozzle import (
    but_for_its_edges,
    but_for_its_places,
    places_of_the_nozzle,
)
from cfgmigrate.plan.places_out_of_reach import but_for_places, places_out_of_reach
from cfgmigrate.plan.probe_heights import heights_that_wait, probe_heights_left, told_of_heights
from cfgmigrate.plan.room_between_heads import room_between_heads
from cfgmigrate.plan.screw_lines import SCREW_RULES
from cfgmigrate.plan.screw_rule_turned import TurnedRule, screw_rule_turned
from cfgmigrate.plan.sheet_slips import sheet_slips
from cfgmigrate.plan.step_rates import more_than_the_board_sends
from cfgmigrate.plan.switch_lines import switches_beyond, told_lines
from cfgmigrate.plan.things_met import things_met
from cfgmigrate.plan.turned_by_formulas import with_turned
from cfgmigrate.plan.twins import twins
from cfgmigrate.plan.values_not_read import values_not_read
from cfgmigrate.plan.waiting_values import waiting_values
from cfgmigrate.plan.which_feeder import which_feeder
from cfgmigrate.plan.which_is_first import which_is_first
from cfgmigrate.rules.age import Age, Past, Told
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.library import knowledge_hash
from cfgmigrate.rules.rule import MOMENTS
from cfgmigrate.scripts.effects import script_findings
from cfgmigrate.scripts.limits import limits_of
from cfgmigrate.scripts.number_change import ScriptChange
from cfgmigrate.sheet.model import Entries, Sheet


def plan_changes(
    worked: Worked, book: Book, machine: Machine, sheet: Sheet, root: str, kind: str = "install"
) -> Plan:
    """The plan for what the lanes came to. `machine` is what the edits are for, `root` is where the configuration
    lies, for the packet to remember, and `kind` what it is (install or tune)."""
    naming = Naming(worked, machine)
    decided = decide(worked, naming, book, machine)
    others_lines = lines_by_letter(machine, sheet.machine, decided.changes) if kind == "install" else ()
    for change, asked in (
        *others_lines,
        *loads_in_parts(machine, decided.changes),
        *refused_changes(machine, decided.changes),
    ):
        if change not in decided.changes:
            continue
        decided.changes.remove(change)
        decided.find(finding_instead(change))
        decided.left.append(LeftAlone(change.quantity, asked.why, change.holder))
        decided.doubts.append(asked)
    near = near_the_old(machine, worked.base) if kind == "install" else ()
    in_doubt = lines_in_doubt(machine, near)
    by_hand = with_lines(
        decided.by_hand,
        machine,
        _said_of(worked),
        in_doubt,
        worked.swapped,
        decided.changes,
        [each.reading for each in decided.stored],
    )
    swap = kind == "install" and (decided.changes or by_hand)  # a sheet that says nothing leaves nothing old
    old = old_in_force(machine, worked, decided.changes, decided.stored) if swap else ()
    by_hand += to_store(decided.stored, [each for each in old if is_listed(each)])
    base = naming.first
    scripts = script_findings(
        machine,
        worked.base,
        worked.sheets[base],
        {number: _written(decided, number) for number in machine.feeders},
        _retractions(decided.changes),
        {
            lane.feeder: (worked.lanes[lane], worked.sheets[lane])
            for lane in worked.lanes
            if lane.profile is None
        },
    )
    changes = [*decided.changes, *(_script_change(found, naming) for found in scripts.changes)]
    left = [*decided.left, *(LeftAlone(silent.quantity, silent.why) for silent in scripts.silent)]
    others: tuple[OtherMachine | TurnedRule, ...] = (
        (*other_machines(machine, sheet.machine, root), *screw_rule_turned(machine, worked.sheets[base]))
        if kind == "install"
        else ()
    )
    if any(isinstance(each, TurnedRule) for each in others):
        by_hand = [item for item in by_hand if item.rule not in SCREW_RULES]
    doubts: list[Doubt] = [
        *of_gaps(machine.doubts),
        *(each.doubt for each in others),
        *of_the_swap(
            (*_not_asked_yet(doubts_of(near), machine), *machine.doubts), machine, worked.swapped, book
        ),
        *(
            of_the_swap(_values_not_read(machine, book, near), machine, worked.swapped, book)
            if kind == "install"
            else ()
        ),
        *(protected_lengths(machine, worked.base) if kind == "install" else ()),
        *one_for_each_slip(worked.doubts, sheet.path),
        *(sheet_slips(machine, sheet) if kind == "install" else ()),
        *(
            of_the_swap(
                other_parts_named(machine, (each.entries for each in worked.sheets.values()), worked.swapped),
                machine,
                worked.swapped,
                book,
            )
            if kind == "install"
            else ()
        ),
        *materials(machine, sheet, decided.changes),
        *decided.doubts,
        *scripts.doubts,
        *kept_beside_changed(machine, changes, VALUES_OF_LIGHTS),
        *lags_in_commands(machine, changes),
    ]
    heights: tuple[Beside, ...] = ()
    in_lists: tuple[tuple[str, Beside], ...] = ()
    if kind == "install":
        of_nozzle = places_of_the_nozzle(machine, worked.base)
        changes = but_for_its_places(changes, of_nozzle)
        by_hand = but_for_its_edges(by_hand, machine, of_nozzle)
        nozzle_lines = {each[:2] for each in of_nozzle}
        following = formulas_that_follow(machine, changes)
        right = wanted(worked, machine)
        apart = (*decided.apart, *formulas_apart(machine, changes, right))
        doubts = [*questions(following, doubts, worked.sheets[base], changes, apart, right)]
        doubts = [*with_codes(doubts, machine, right)]
        olds = old_numbers(
            changes, decided.findings, machine.documents, machine.feeder_names, by_hand, worked.swapped
        )
        by_hand += things_met(machine, worked.sheets[base])
        by_hand += room_between_heads(machine, worked.sheets[base], worked.swapped)
        limits = limits_of(worked.base, machine, _written(decided, base.feeder))
        by_hand += switches_beyond(machine, limits, by_hand)
        by_hand = [*with_lines_of_tips(by_hand, machine, changes)]
        switches = {at for axis in "xy" for at in told_lines(machine, axis, by_hand)}
        edited = {(edit.file, edit.line) for change in changes for edit in change.edits}
        places = tuple(
            each
            for each in places_out_of_reach(machine, worked.base, _written(decided, base.feeder), edited)
            if each[:2] not in switches
        )
        doubts = [
            *other_branches(machine, changes),
            *but_for_places(doubts, places),
            *more_than_the_board_sends(machine, changes, sheet),
        ]
        heights = tuple(probe_heights_left(machine, worked.sheets[base], by_hand))
        in_lists = tuple(left_in_lists(machine, changes))
        noted = (
            *notes_of_the_old(machine, worked.base, worked.sheets[base], changes),
            *old_gears(machine, worked.sheets[base]),
            *(each for each in edges_at_the_end(machine, worked.base) if each[:2] not in nozzle_lines),
            *twins(machine, changes),
            *places,
            *waiting_values(machine, worked),
            *heights,
            *dynamics_in_codes(machine, {change.quantity for change in changes}),
            *notes(following),
        )
        moved = tuple(places_by_probe(machine, worked.base))
        still_old = (
            *(each for each in of_nozzle if each[:2] not in {at[:2] for at in moved}),
            *heights_that_wait(machine, worked.sheets[base], by_hand, changes),
            *named_nowhere(old, machine, grouped(doubts), by_hand),
            *(each for _, each in in_lists),
            *currents_by_number(machine, worked),
        )
        by_hand += lines_left(
            machine,
            olds,
            changes,
            doubts,
            worked.swapped,
            near,
            noted,
            moved,
            _lines_of(decided.stored),
            still_old,
        )
        changes = with_turned(machine, [*halves_said(machine, changes, doubts)], following)
    return Plan(
        machine=sheet.machine,
        root=root,
        kind=kind,
        files=inputs_of(machine),
        sheet_path=sheet.path,
        sheet_sha256=hashlib.sha256(sheet.source).hexdigest(),
        rules_sha256=book.sha256,
        changes=tuple(sorted(changes, key=_file_order)),
        by_hand=tuple(sorted(by_hand, key=_by_the_day)),
        findings=tuple(decided.findings),
        left_alone=tuple(left),
        doubts=grouped(doubts),
        notes=to_know(doubts),
        lights=(
            (
                *(each.light for each in others),
                *(which_feeder(machine, sheet) or which_is_first(machine)),
                *lights(
                    cases(
                        machine,
                        worked,
                        changes,
                        by_hand,
                        left,
                        suspects_in(machine, near),
                        decided.stored,
                        {**told_of_heights(heights), **told_of_lists(in_lists)},
                    )
                ),
            )
            if kind == "install"
            else ()
        ),
        swap=tuple((path, entry.text) for path, entry in worked.sheets[base].entries.items()),
        program=VERSION,
        knowledge=knowledge_hash(),
        holders=tuple(dict.fromkeys(_holders(machine))),
        called=tuple(called_by_holder(machine).items()),
        ages=tuple(_ages(worked, machine)),
    )


def _lines_of(stored: Iterable[ConsoleValue]) -> set[tuple[str, int]]:
    return {(each.reading.place.file, each.reading.place.line) for each in stored}


def _values_not_read(machine: Machine, book: Book, near: tuple[Teachable, ...]) -> Iterator[Doubt]:
    moved = {rule.sets for rule in book.rules if rule.sets}
    return values_not_read(machine, moved, (*doubts_of(near), *machine.doubts))


def _not_asked_yet(found: Iterable[Doubt], machine: Machine) -> Iterator[Doubt]:
    """The doubts about lines that the machine's own doubts are not about already."""
    asked = {(doubt.place.file, doubt.place.line) for doubt in machine.doubts}
    yield from (doubt for doubt in found if (doubt.place.file, doubt.place.line) not in asked)


def _said_of(worked: Worked) -> dict[str, Entries]:
    """What the sheet says of each holder, by its name: a profile's in its own lane."""
    found: dict[str, Entries] = {}
    for lane, sheet in worked.sheets.items():
        whose = (str(lane.profile),) if lane.profile else (str(MACHINE), str(feeder(lane.feeder)))
        for name in whose:
            found.setdefault(name, sheet.entries)
    return found


def recorded(plan: Plan) -> Past:
    """The ages that a plan records, for working it out again without the history that told them."""
    return Past(stated={(each.quantity, each.holder): _told(each) for each in plan.ages})


def _told(each: Aged) -> Told:
    return Told(Age(each.age), each.why, each.once_only)


def _ages(worked: Worked, machine: Machine) -> Iterator[Aged]:
    told: set[tuple[str, str]] = set()
    for lane, outcome in worked.lanes.items():
        view = machine.view(lane.feeder, lane.profile)
        for name, age in outcome.ages.items():
            reading = view.get(name)
            if reading is not None and (name, str(reading.holder)) not in told:
                told.add((name, str(reading.holder)))
                yield Aged(name, str(reading.holder), str(age.age), age.why, age.once_only)


def inputs_of(machine: Machine) -> tuple[FileInput, ...]:
    """The files of a machine as they were read."""
    return tuple(
        FileInput(
            document.path,
            hashlib.sha256(document.data).hexdigest(),
            document.dialect,
            includes=tuple(TakenIn(each.target, each.files) for each in document.includes),
            decimals=COMMA if document.commas else UNSET,
        )
        for document in machine.documents
    )


def _holders(machine: Machine) -> Iterator[str]:
    if len(machine.feeders) > 1:
        yield from (str(feeder(number)) for number in machine.feeders)
    yield from (str(profile) for profile in machine.profiles)


def _file_order(change: Change) -> tuple[str, int]:
    return (change.edits[0].file, change.edits[0].line)


def _written(decided: Decided, feeder: int) -> dict[str, float]:
    """The values that files and board will hold while a feeder runs without a profile, by quantity."""
    holders = ("machine", f"feeder {feeder}")
    kept = {
        each.reading.quantity: each.written.value
        for each in decided.stored
        if str(each.reading.holder) in holders
    }
    changed = {
        change.quantity: change.new.value
        for change in decided.changes
        if change.new.value is not None and change.holder in holders
    }
    return {**kept, **changed}


def _retractions(changes: Iterable[Change]) -> dict[float, float]:
    """The new retraction length for each old one, whoever's it is."""
    return {
        change.old.value: change.new.value
        for change in changes
        if change.quantity == "retraction.length" and change.old and change.old.value and change.new.value
    }


def _script_change(found: ScriptChange, naming: Naming) -> Change:
    pairs = [(place, write(found.result, place)) for place in found.places]
    return change_of(naming.named(found.result, naming.first), found.places[0], pairs, Whose())


def _by_the_day(item: ByHand) -> int:
    return MOMENTS.index(item.when)
