"""Whose lights are asked for, and what became of their values: from a machine, its lanes and what is planned.

With one feeder all four lights are the machine's. With several, each feeder has its own and the machine the rest. A
profile that serves a swapped feeder has the lights of those values that it sets itself.

This module judges nothing; that is `lights.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from msgspec.structs import replace

from cfgmigrate.files.gaps import NOTHING_READ
from cfgmigrate.ground.number_text import measure, number
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.machine.by_words import BY_HAND_ALONE
from cfgmigrate.machine.model import FOR_FEEDER, MACHINE, FlatMachine, Machine, Reading, feeder
from cfgmigrate.machine.ownership import WHICH_IS_OPEN
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.asked_beside import RETRACTION_LENGTH, asked_beside
from cfgmigrate.plan.at_console import ConsoleValue
from cfgmigrate.plan.codes_unexplained import codes_unexplained
from cfgmigrate.plan.held_together import wanted
from cfgmigrate.plan.kept_by_board import perhaps_kept, perhaps_over
from cfgmigrate.plan.lights import Case, Stand
from cfgmigrate.plan.model import ByHand, Change, LeftAlone
from cfgmigrate.plan.moves_not_understood import moves_not_understood
from cfgmigrate.plan.named_lines import MAY_BE
from cfgmigrate.plan.profiles_left_old import profiles_left_old
from cfgmigrate.plan.screw_lines import AS_LEFT
from cfgmigrate.plan.turned_by_formulas import turned_by
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.passes import Lane
from cfgmigrate.scripts.feeds import path_of
from cfgmigrate.sheet.model import Entries


def _may_be_this_ones(machine: Machine, number: int) -> dict[str, str]:
    """What is read as another feeder's and may be this one's, since nothing tells whose it is: the places, by the quantity."""
    return {
        each.quantity: str(each.place)
        for each in machine.readings
        if each.why_not.startswith(WHICH_IS_OPEN) and each.holder not in (MACHINE, feeder(number))
    }


def cases(
    machine: Machine,
    worked: Worked,
    changes: Sequence[Change],
    by_hand: Sequence[ByHand],
    left: Sequence[LeftAlone],
    suspects: Mapping[str, str],
    stored: Iterable[ConsoleValue] = (),
    named: Mapping[str, str] = MappingProxyType({}),
) -> Iterator[Case]:
    """A case for the machine, each feeder and each profile, in this order. `suspects` are places of settings that were
    not understood, by the quantity that they may be; `stored` is what a person stores at the board's console; `named` what is
    said of lines that a step only names, by the quantity that they seem to be."""
    feeders = machine.feeders or (1,)
    sheets = worked.sheets
    first = next(iter(sheets.values())).entries
    console = {(each.reading.place.file, each.reading.start): each.text for each in stored}
    gap = "; and ".join(each.says for each in machine.gaps)
    beside = asked_beside(machine, changes, wanted(worked, machine))
    moves = moves_not_understood(machine, changes, path_of(worked.base, next(iter(sheets.values()))))
    if turned := turned_by(changes):
        moves = {
            **moves,
            RETRACTION_LENGTH: "; and ".join(filter(None, (moves.get(RETRACTION_LENGTH), turned))),
        }
    silent = "; and ".join(each.says for each in machine.gaps if each.doubt.why == NOTHING_READ)

    def case(
        holder: str,
        said: Entries,
        seen: Mapping[str, Reading],
        of: tuple[str, ...] = (),
        feeder_number: int = 0,
    ) -> Case:
        shared = {item.rule: (item.id, _told(item)) for item in by_hand if item.holder == str(MACHINE)}
        own = {item.rule: (item.id, _told(item)) for item in by_hand if _whole(item.holder) == holder}
        elsewhere = _set_by_profiles(machine, feeder_number) if feeder_number else ()
        told = not feeder_number or feeder_number in worked.swapped
        # what stands there for another feeder is not what this one wants for itself
        outcome = worked.lanes.get(Lane(feeder_number)) if own else None
        apart = {name for name, one in outcome.by_target.items() if one.rule in own} if outcome else set()
        not_apart = [each for each in left if each.quantity not in apart or each.holder == holder]
        stands = dict(_stands(seen, machine, changes, not_apart, console, holder))
        questions = _open(machine, holder, feeder_number, stands)
        kept = perhaps_kept(machine, seen.values())
        over = perhaps_over(machine, seen.values())
        hand = {**shared, **own}
        return Case(
            holder,
            said,
            stands,
            of,
            hand,
            elsewhere,
            told,
            {**suspects, **(_may_be_this_ones(machine, feeder_number) if feeder_number else {})},
            questions,
            kept,
            gap if of else "",
            strange=codes_unexplained(machine, elsewhere),
            left_old=profiles_left_old(machine, feeder_number, elsewhere),
            beside=beside,
            silent=silent,
            over=over,
            moves=moves if of else {},
            named=named if of else {},
        )

    if len(feeders) < 2:
        yield case(str(MACHINE), first, _seen(machine), ("feeder", "machine"), feeders[0])
    else:
        yield case(str(MACHINE), first, _seen(machine), ("machine",))
        for feeder_number in feeders:
            sheet = sheets.get(Lane(feeder_number))
            said = sheet.entries if sheet is not None else {}
            yield case(
                f"feeder {feeder_number}",
                said,
                _seen(machine.view(feeder_number)),
                ("feeder",),
                feeder_number,
            )
    for profile in machine.profiles:
        swapped = [
            lane.feeder for lane in sheets if lane.profile == profile and lane.feeder in worked.swapped
        ]
        own = {reading.quantity: reading for reading in machine.set_by(profile, swapped)}
        lane = next(
            (lane for lane in sheets if lane.profile == profile and lane.feeder in worked.swapped), None
        )
        if lane is not None:
            yield replace(
                case(str(profile), sheets[lane].entries, own),
                rests_on=tuple(f"feeder {number}" for number in swapped)
                if len(feeders) > 1
                else (str(MACHINE),),
            )


def _told(item: ByHand) -> str:
    """What is to be done, with the lines that it may be about, and what a screw as it is does to the motor."""
    lines = [step for step in item.steps if step.startswith(MAY_BE)]
    lines += [told for told in item.warnings if told.startswith(AS_LEFT)]
    return " ".join((item.what, *lines))


def _whole(holder: str) -> str:
    """A profile as a whole, for what it sets for one feeder."""
    return holder.partition(FOR_FEEDER)[0]


def _open(machine: Machine, holder: str, feeder: int, stands: Mapping[str, Stand]) -> dict[str, str]:
    """The places of values that a holder sees and of which none could be told to hold."""
    found: dict[str, list[str]] = {}
    for each in machine.shadowed:
        seen = _whole(str(each.holder)) == holder or (each.holder == MACHINE and feeder in each.serves)
        if seen and each.quantity not in stands:
            found.setdefault(each.quantity, []).append(f"{each.text} ({each.place.file}:{each.place.line})")
    files = {each.place.file for each in machine.found_profiles if str(each.holder) == holder}
    files -= {each.place.file for each in machine.every_reading if _whole(str(each.holder)) != holder}
    for doubt in machine.doubts if files else ():
        # a profile's own line that could not be read, such as `machine's + 0.4`, holds there and stays as it is
        if doubt.place.file in files and doubt.about and doubt.about not in stands:
            said = f"{doubt.text} ({doubt.place.file}:{doubt.place.line})"
            found.setdefault(doubt.about, []).append(said)
    return {name: " or ".join(places) for name, places in found.items()}


def _seen(view: FlatMachine) -> dict[str, Reading]:
    found = ((name, view.get(name)) for name in _of_lights())
    return {name: reading for name, reading in found if reading is not None}


def _of_lights() -> list[str]:
    return [value.quantity for kind in light_kinds().kinds for value in kind.values]


def _set_by_profiles(machine: Machine, feeder: int) -> frozenset[str]:
    """What profiles of this feeder set themselves, and nothing below them does."""
    base = machine.view(feeder)
    theirs = (
        reading
        for profile in machine.profiles_serving(feeder)
        for reading in machine.set_by(profile, (feeder,))
    )
    return frozenset(reading.quantity for reading in theirs if base.get(reading.quantity) is None)


def _stands(
    seen: Mapping[str, Reading],
    machine: Machine,
    changes: Iterable[Change],
    left: Iterable[LeftAlone],
    console: Mapping[tuple[str, int], str],
    holder: str,
) -> Iterator[tuple[str, Stand]]:
    """What became of each reading that a holder's light is about. A change is known by the bytes that it replaces."""
    by_span = {(edit.file, edit.start): change for change in changes for edit in change.edits}
    for name in _of_lights():
        reading = seen.get(name)
        if reading is None:
            continue
        where = f"{reading.place.file}:{reading.place.line}"
        text = f"{reading.setting.value} by {reading.text}" if reading.setting.behind else reading.text
        typed = console.get((reading.place.file, reading.start), "")
        if typed:
            yield name, Stand(True, "", "", text, where, console=typed)
            continue
        # of two counts of teeth the one may stay where the other changes
        places = (reading, *machine.followers(reading)) if reading.form.teeth else (reading,)
        changed = (by_span.get((each.place.file, each.start)) for each in places)
        change = next((each for each in changed if each is not None), None)
        if change is not None:
            why = f"{change.label}: {_moved(reading, change)} ({where})"
            yield name, Stand(True, why, change.id, text, where)
            continue
        alone = next((each for each in left if _is_about(each, reading, machine, holder)), None)
        why = alone.why if alone is not None else ""
        if why.startswith("already "):  # beside others of the light, which say what they are about
            why = f"{quantity(name).label} is {why}, and stays"
        hand = reading.why_not == BY_HAND_ALONE
        by_itself = reading.value is not None and not reading.setting.behind and ":" not in reading.text
        factor, unit = reading.form.told_in(quantity(name).unit)
        measured = measure((reading.value or 0.0) / factor, name=unit) if by_itself else ""
        done = alone is not None and alone.already
        yield name, Stand(done, why, "", text, where, hand, measured=measured)


def _moved(reading: Reading, change: Change) -> str:
    """A value as it is and as it will be, in the file's unit as everywhere: `131.2 → 571.4 per mm`."""
    new, name = change.new, quantity(reading.quantity)
    if reading.value is None or new.value is None or (":" in new.text and not reading.form.teeth):
        return f"{reading.text} → {new.text}"
    factor, unit = reading.form.told_in(name.unit)
    return f"{number(reading.value / factor)} → {measure(new.value / factor, name=unit)}"


def _is_about(left: LeftAlone, reading: Reading, machine: Machine, holder: str) -> bool:
    if left.quantity != reading.quantity:
        return False
    return left.holder in (str(reading.holder), holder) or (
        left.holder == str(MACHINE) and machine.get(reading.quantity) is reading
    )
