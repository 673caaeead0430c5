"""Whose lights are asked for, and what became of their values: from a machine, its lanes and what is planned.

With one feeder all four lights are the machine's. With several, each feeder has its own and the machine the rest. A
profile that serves a swapped feeder has the lights of those values that it sets itself.

This module judges nothing; that is `lights.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from msgspec.structs import replace

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.files.gaps import NOTHING_READ
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.number_text import measure, number
from cfgmigrate.ground.side_words import LEFT_AND_RIGHT
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.machine.by_name import SO_MANY_MM
from cfgmigrate.machine.by_words import BY_HAND_ALONE
from cfgmigrate.machine.command_lines import EACH_OF_ANOTHER
from cfgmigrate.machine.model import FOR_FEEDER, MACHINE, FlatMachine, Machine, Reading, feeder
from cfgmigrate.machine.ownership import WHICH_IS_OPEN
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.words import split
from cfgmigrate.plan.at_console import ConsoleValue
from cfgmigrate.plan.codes_unexplained import codes_near, codes_unexplained
from cfgmigrate.plan.formulas_apart import formulas_apart, is_of_a_formula
from cfgmigrate.plan.formulas_that_follow import formulas_that_follow
from cfgmigrate.plan.held_together import wanted
from cfgmigrate.plan.kept_by_board import perhaps_kept, perhaps_over
from cfgmigrate.plan.lights import UNKNOWN, Case, Stand
from cfgmigrate.plan.model import ByHand, Change, LeftAlone, Light
from cfgmigrate.plan.moves_not_understood import moves_not_understood
from cfgmigrate.plan.named_lines import MAY_BE
from cfgmigrate.plan.profiles_left_old import profiles_left_old
from cfgmigrate.plan.screw_lines import AS_LEFT
from cfgmigrate.plan.turned_by_formulas import turned_by
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.passes import Lane
from cfgmigrate.rules.result import Result
from cfgmigrate.scripts.feeds import path_of
from cfgmigrate.sheet.model import Entries, Sheet

RETRACTION_LENGTH = "retraction.length"
#: the values of lights
VALUES_OF_LIGHTS = frozenset(value.quantity for kind in light_kinds().kinds for value in kind.values)
MOST_CHOICES_NAMED = 4
#: keys that count what has a feeder each
_COUNTED = frozenset({"heads", "feeders", "extruders"})
_SEVERAL = frozenset("2345678")


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


def asked_beside(
    machine: Machine, changes: Sequence[Change] = (), right: Mapping[str, Result] = MappingProxyType({})
) -> dict[str, str]:
    """Places of lines that may be a retraction, or rows with a number for each axis that may have the drive's, or formulas of
    a value that none of the changes moves, or moves to another one than is `right`, or the highest z once more, or of codes that
    nobody explained, and of which none was read, where another one is: left old, they would be gone by in spite of what the
    light says is set."""
    read = {(each.place.file, each.place.line) for each in machine.every_reading}
    found: dict[str, str] = {}
    for doubt in machine.doubts:
        place = doubt.place
        asked = doubt.why.startswith("this may be ") and (place.file, place.line) not in read
        if asked and (doubt.about == RETRACTION_LENGTH or _in_row(machine, place)):
            found.setdefault(doubt.about, f"{place.file}:{place.line}")
    for doubt in _values_in_doubt(machine):
        found.setdefault(doubt.about, f"{doubt.place.file}:{doubt.place.line}")
    for quantity_, place in _named_alike(machine):
        found.setdefault(quantity_, f"{place.file}:{place.line}")
    for name, at in codes_near(machine, VALUES_OF_LIGHTS):
        found.setdefault(name, at)
    moved = {change.quantity for change in changes}
    for each in perhaps(machine):
        if each.beside is not None and (each.told or each.quantity in moved):
            found.setdefault(each.quantity, f"{each.unread.place.file}:{each.unread.place.line}")
    formulas = [each for each in machine.doubts if is_of_a_formula(each)]
    for apart in formulas_apart(machine, changes, right):
        found.setdefault(
            apart.quantity, f"{':'.join(map(str, apart.at))}, which comes to {apart.followed.comes_to} then,"
        )
    follow = formulas_that_follow(machine, changes) if formulas else ()
    following = {(each.document.path, each.setting.line) for each in follow}
    for doubt in formulas:
        place = doubt.place
        if not {(place.file, place.line)} & (read | following):
            found.setdefault(doubt.about, f"{place.file}:{place.line}")
    return found


def _values_in_doubt(machine: Machine) -> Iterator[Doubt]:
    """The doubts about lines whose words say what they are, and whose number or unit makes none that it can be, or of which
    nobody knows whose they are: beside another such line nobody knows which of them holds."""
    read = {(each.place.file, each.place.line, each.quantity) for each in machine.every_reading}
    for doubt in machine.doubts:
        at = (doubt.place.file, doubt.place.line, doubt.about)
        if doubt.about in VALUES_OF_LIGHTS and _is_of_its_value(doubt) and at not in read:
            yield doubt


def _is_of_its_value(doubt: Doubt) -> bool:
    """Whether it is known what a line is, and only its number, its unit or whose it is are in doubt."""
    return doubt.why.startswith(f"{quantity(doubt.about).label}: ") or doubt.why.endswith(EACH_OF_ANOTHER)


def _named_alike(machine: Machine) -> Iterator[tuple[str, Place]]:
    """The lines that were not read and end in the whole name of one that was: `LET nip.far 5.2` beside `[nip] far`; also where
    they say it of so many units, `nip steps_100mm` beside `[nip] steps_mm`."""
    whole = {
        tuple(split(f"{each.setting.section} {each.setting.key}")): each.quantity
        for each in machine.readings
        if each.setting.section and each.quantity in VALUES_OF_LIGHTS
    }
    for unread in machine.unread:
        name = split(f"{unread.setting.section} {unread.setting.key}")
        pieces = tuple(piece for piece in name if piece not in SO_MANY_MM)
        is_number = isinstance(read_value(unread.setting.value), Number)
        for length in range(2, len(pieces)) if unread.setting.state is State.ACTIVE and is_number else ():
            if (meant := whole.get(pieces[-length:])) is not None:
                yield meant, unread.place


def _in_row(machine: Machine, place: Place) -> bool:
    """Whether a line has more settings than one, where other lines have one."""
    document = machine.document(place.file)
    return (
        document.dialect in ("flat", "command") and sum(s.line == place.line for s in document.settings) > 1
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


def which_feeder(machine: Machine, sheet: Sheet) -> tuple[Light, ...]:
    """A light of its own where the machine has several feeders and a plain sheet doesn't say which one it means; also
    where the one feeder that the files tell of is on a side, for then there may be another."""
    if not sheet.plain or sheet.feeder is not None:
        return ()
    if len(machine.feeders) < 2:
        return _is_it_that_one(machine) or _counted_in_files(machine)
    called = {number: _called(machine, number) for number in machine.feeders}
    listed = ", ".join(f"{number} ({name})" if name else str(number) for number, name in called.items())
    offered = list(called.items())[:MOST_CHOICES_NAMED]
    ways = ", or ".join(f"feeder: {number}{' for ' * bool(name)}{name}" for number, name in offered)
    why = (
        f"which is swapped? The files hold feeders {listed}, and the sheet doesn't say it; the first is taken"
    )
    return (
        Light(
            "feeder",
            str(MACHINE),
            UNKNOWN,
            why,
            (f"write at the top of the sheet which one is swapped: {ways}",),
        ),
    )


def _called(machine: Machine, number: int) -> str:
    """The name or the side by which the files or the site file call a feeder, "" for none."""
    names = {name for name, found in machine.feeder_names.items() if found == number}
    sides = {
        word
        for each in machine.held_by(feeder(number))
        for word in split(each.setting.section)
        if word in LEFT_AND_RIGHT
    }
    return min(names, default="") or ("".join(sides) if len(sides) == 1 else "")


def _is_it_that_one(machine: Machine) -> tuple[Light, ...]:
    named = {
        word
        for each in machine.readings
        if of_feeder(each.quantity) and not quantity(each.quantity).protected
        for word in split(each.setting.section)
        if word in LEFT_AND_RIGHT
    }
    if len(named) != 1:
        return ()
    (side,) = named
    why = f"the only feeder that I read is called {side}, and the sheet doesn't say whether that is the one that is swapped"
    remedy = f"write feeder: 1 at the top of the sheet, if it is the {side} one; else give the files of the other one too"
    return (Light("feeder", str(MACHINE), UNKNOWN, why, (remedy,)),)


def _counted_in_files(machine: Machine) -> tuple[Light, ...]:
    """Where the files count two feeders or heads, and one is read: its lines may be for both."""
    for document in machine.documents:
        for setting in document.settings:
            counted = _COUNTED.intersection(split(setting.key)[:1] if len(split(setting.key)) == 1 else ())
            if setting.state is State.ACTIVE and counted and setting.value.strip() in _SEVERAL:
                where = f"{document.path}:{setting.line}"
                why = f"which is swapped? {where} counts {setting.value.strip()} {setting.key}, and I read one feeder: its lines may be for all of them"
                remedy = (
                    "if it is for one, or all of them are swapped, write feeder: 1 at the top of the sheet; else give the one that "
                    "is swapped lines of its own, and say in cfgmigrate.yaml what is whose: feeders: {near: {known_as: [near]}, far: {known_as: [far]}}"
                )
                return (Light("feeder", str(MACHINE), UNKNOWN, why, (remedy,)),)
    return ()


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
