"""What a file only notes of the old drive: what the carriage weighed, how long the tube was, how far it is from bite to tip.

No rule reads most such numbers, so nothing is written. Yet a machine may reckon with it, and the next
person does. A note is told by its name, or by what the file's own legend says of its code: `K9 masses: C carriage`. What is read
as the filament's way or its tube is told likewise, unless it is written.

The words by which a line is such a note are in `note_words.yaml`. The new numbers beside it come from the sheet.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator

from msgspec import Struct

from cfgmigrate.dialects.document import State, readable
from cfgmigrate.files.marks import words_of
from cfgmigrate.ground.number_text import measure
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.key_remarks import said_of
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.plan.kept_by_board import is_near, may_be_it
from cfgmigrate.plan.model import Change
from cfgmigrate.plan.note_words import note_words
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.sheet.model import Sheet

#: whose a voltage is, and V of what a driver's screw is set to (common practice, no source)
_FEEDER = frozenset(("feeder", "feed"))
LEAST_VOLTS, MOST_VOLTS = 0.05, 3.5
_WAYS = frozenset(("feeder.path_length", "feeder.tube_length"))
#: two words that grip the filament only together
_DRIVE_GEAR = frozenset(("drive", "gear"))
#: mm; what is less or more is no diameter of such a wheel (common practice, no source)
THINNEST_WHEEL, WIDEST_WHEEL = 4.0, 40.0
_OF_THE_GRIP = "the diameter at which the old drive's wheel gripped, by {}"
_NO_GEAR = "says that the old drive had no gear, a ratio of 1"
_OF_THE_DRIVE = "a figure of the drive with the tube, by {}, and not understood"
_SEE = "see whether the machine reads it, and set by hand what it is with the new drive"
_OF_THE_WAY = "a length of the filament's way with the old drive, by {}"
#: what a tube makes long, and how it is told where a remark says it of a key
_OF_THE_TUBE = frozenset(
    ("lag.coefficient", "lag.averaging", "retraction.length", "retraction.extra_on_return")
)
_BY_A_REMARK = "{} with the old drive, by what a remark says of its name"
_ANEW = "a drive without the tube needs far less: find it anew"
_NUMBER = pattern(r"[-+]?\d{1,6}(?:\.\d{1,6})?(?=\s*(?:mm|g|grams?|kg)?\s*$)")
_LINE_END = pattern(rb"\r\n?|\n")
#: mm and g; what is less is no length of a filament's way and no mass of a carriage (common practice, no source)
SHORTEST_WAY, LIGHTEST = 20.0, 20.0
#: so near to the old one a number is the old one
SAME_MASS = 0.03
#: letters; what is longer than this in a name is a word and no single letter
LONGEST_LETTER = 1


class _New(Struct, frozen=True):
    """What the sheet says: masses in g, the way in mm; None where it says nothing. `way` is whether that has changed."""

    old_mass: float | None
    new_mass: float | None
    new_path: float | None
    way: bool
    #: what the screw is to be set to, in words; `motor` is whether another current is wanted
    voltage: str
    motor: bool
    #: where the new drive grips, in mm, and its gear ratio; `gears` is whether those are others now
    grip: float | None
    ratio: float | None
    gears: bool

    @property
    def masses(self) -> bool:
        """Whether the carriage weighs something else now, as far as is known."""
        known = self.old_mass is not None and self.new_mass is not None
        return self.old_mass != self.new_mass if known else self.way


def notes_of_the_old(
    machine: Machine, outcome: Outcome, sheet: Sheet, changes: Iterable[Change] = ()
) -> Iterator[tuple[str, int, str, str]]:
    """The lines, each with its text and why it is pointed at; several words of one line are told together. What one of the
    `changes` writes is no note any more."""
    changes = tuple(changes)
    written = {(edit.file, edit.start) for change in changes for edit in change.edits}
    moved = {change.quantity for change in changes}
    old = [each for each in machine.every_reading if each.quantity in moved]
    new = _new(outcome, sheet)
    told: dict[tuple[str, int], dict[str, list[str]]] = {}
    nothing = frozenset(each.place for each in machine.said_nothing)
    read = frozenset(each.quantity for each in machine.every_reading)
    for unread in (*machine.unread, *machine.said_nothing):
        what, becomes = _note(unread, new) if unread.setting.state is not State.INACTIVE else ("", "")
        if not what and new.way and _NUMBER.match(unread.setting.value.strip()):
            what, becomes = _by_a_remark(said_of(machine, unread))
        if not what and unread.place in nothing:
            what, becomes = _of_what_changes(unread, outcome, read)
            if not what:
                what, becomes = _once_more(unread, old, machine)
        if what:
            reasons = told.setdefault((unread.place.file, unread.place.line), {})
            reasons.setdefault(what, []).append(becomes)
    for reading in machine.every_reading if new.way else ():
        if reading.quantity in _WAYS and (reading.place.file, reading.start) not in written:
            place = reading.place.file, reading.place.line
            told.setdefault(place, {}).setdefault(_OF_THE_WAY.format("its name"), []).append(_now(new))
    lines = {file: _LINE_END.split(machine.document(file).data) for file in {file for file, _ in told}}
    for (file, line), reasons in told.items():
        said = (f"{what}; {', '.join(dict.fromkeys(becomes))}" for what, becomes in reasons.items())
        yield file, line, readable(lines[file][line - 1]), "; ".join(said)


def _by_a_remark(meant: str) -> tuple[str, str]:
    """What a setting is by a remark behind its key, where the tube decides about it; "" twice where it doesn't."""
    return (_BY_A_REMARK.format(quantity(meant).label), _ANEW) if meant in _OF_THE_TUBE else ("", "")


def _of_what_changes(unread: Unread, outcome: Outcome, read: Collection[str]) -> tuple[str, str]:
    """That what a person said is nothing has the words of a value that the swap changes and that no line was `read` as; ""
    twice where it has not."""
    changed = [name for name in unread.nearest if name in outcome.by_target and name not in read]
    labels = " or ".join(quantity(name).label for name in changed)
    return (
        (f"said to be nothing, and its words are those of {labels}", "which changes") if changed else ("", "")
    )


#: a number that a person says is nothing is an old value from some tuning ago within this part of it
SAME_AFTER_TUNING = 0.1


def _once_more(unread: Unread, old: Iterable[Reading], machine: Machine) -> tuple[str, str]:
    """That what a person said is nothing goes by the very name of what the swap changes, or in words with a number near a pull or
    a lag of the tube: it is in force again once the line that overrides it is gone. A short name with a number says nothing."""
    pieces = words_of(unread.setting.name)
    in_words = all(len(each) > LONGEST_LETTER for each in pieces if each.isalpha()) and len(pieces) > 1
    for reading in old:
        same = words_of(reading.setting.name) == pieces and reading.place.file != unread.place.file
        of_tube = in_words and reading.quantity.startswith(("retraction.length", "lag."))
        if same or (
            of_tube
            and may_be_it(unread, reading, machine)
            and is_near(unread, reading, SAME_AFTER_TUNING, (1.0,))
        ):
            label, at = quantity(reading.quantity).label, f"{reading.place.file}:{reading.place.line}"
            how = "it has the same name as" if same else "its number is close to that of"
            return f"you said that it is nothing, but {how} the {label} at {at}", "which changes"
    return "", ""


def of_the_way(unread: Unread) -> bool:
    """Whether a setting only notes how long a tube or the filament's way was."""
    return _number_of_way(unread) is not None


def weighs_carriage(unread: Unread) -> bool:
    """Whether a setting notes what the carriage weighs."""
    known = note_words()
    words = _words(unread)
    is_mass = bool(words & known.carriage and words & known.weight) and words.isdisjoint(known.other)
    return is_mass and _NUMBER.match(unread.setting.value.strip()) is not None


def _new(outcome: Outcome, sheet: Sheet) -> _New:
    old, new = (sheet.get(f"carriage.{age}_mass") for age in ("old", "new"))
    path, volts = outcome.result("path.length_new"), outcome.result("motor.reference_voltage")
    known = volts is not None and volts.value is not None
    return _New(
        None if old is None else old.value,
        None if new is None else new.value,
        None if path is None else path.value,
        outcome.result("path.changed") is not None,
        f"it is {measure(volts.value or 0.0, 0.0, 'V')} now"
        if volts is not None and known
        else "what it is now has to be found out",
        outcome.result("motor.wanted_current") is not None
        or outcome.result("motor.current_to_set") is not None,
        *_gears(outcome, sheet),
    )


def _gears(outcome: Outcome, sheet: Sheet) -> tuple[float | None, float | None, bool]:
    """Where the new drive grips in mm, its ratio, and whether they are others than before."""
    wide, ratio = (sheet.get(f"new.drive_gear.{each}") for each in ("effective_diameter", "gear_ratio"))
    before = sheet.get("new.gears_as_before")
    other = wide is not None or ratio is not None or outcome.result("path.changed") is not None
    return (
        None if wide is None or wide.value is None else wide.value,
        None if ratio is None else ratio.value,
        other and not (before is not None and before.word == "yes"),
    )


def _words(unread: Unread) -> frozenset[str]:
    return frozenset(words_of(f"{unread.setting.name} {unread.said}"))


def _number_of_way(unread: Unread) -> float | None:
    known = note_words()
    found, words = _NUMBER.match(unread.setting.value.strip()), _words(unread)
    if found is None or not (known.other | known.weight).isdisjoint(words) or float(found[0]) < SHORTEST_WAY:
        return None
    tube = "tube" in vocabulary().names_in(words)
    return float(found[0]) if tube or (words & known.begins and words & known.ends) else None


def _note(unread: Unread, new: _New) -> tuple[str, str]:
    """What a setting notes of the old drive, and what is so now; "" twice where it notes nothing."""
    by = "what the file says of it" if unread.said else "its name"
    found = _NUMBER.match(unread.setting.value.strip())
    if new.masses and found is not None and weighs_carriage(unread):
        return f"what the carriage weighed with the old drive, by {by}", _mass(float(found[0]), new)
    if new.motor and _is_voltage(_words(unread), found):
        return f"what the driver's screw was set to for the old motor, by {by}", new.voltage
    if new.gears and found is not None and _is_grip(unread, float(found[0])):
        now = (
            "the sheet does not say where the new one grips"
            if new.grip is None
            else f"the new one grips at {new.grip:g} mm"
        )
        return _OF_THE_GRIP.format(by), f"{now}; {_SEE}"
    if new.gears and _says_no_gear(unread):
        now = (
            "the sheet does not say the new one's" if new.ratio is None else f"the new one has {new.ratio:g}"
        )
        return _NO_GEAR, f"{now}; {_SEE}"
    if not new.way:
        return "", ""
    if _number_of_way(unread) is not None:
        return _OF_THE_WAY.format(by), _now(new)
    return (_OF_THE_DRIVE.format(by), _SEE) if found is not None and _of_the_drive(unread) else ("", "")


def _of_the_drive(unread: Unread) -> bool:
    """Whether a setting says something of a drive that feeds through a tube which is no length: `[tube drive] steps per mm`."""
    known = note_words()
    words = _words(unread)
    return (
        "tube" in vocabulary().names_in(words)
        and bool(words & known.drives)
        and not words.isdisjoint(known.turning)
    )


def _is_grip(unread: Unread, number: float) -> bool:
    """Whether a number of the feeder is the diameter of what grips the filament: `wheel = 10.6`, `drive gear diameter 9`."""
    known = note_words()
    key, words = frozenset(words_of(unread.setting.key)), _words(unread)
    named = bool(key & known.grips) or key >= _DRIVE_GEAR
    other = (known.other - {"diameter"}) | known.no_grip | known.weight
    return (
        named
        and key.isdisjoint(other)
        and THINNEST_WHEEL <= number <= WIDEST_WHEEL
        and not (_FEEDER | {"hob"}).isdisjoint(vocabulary().names_in(words) | key)
    )


def _says_no_gear(unread: Unread) -> bool:
    """Whether a setting of the feeder says that it has no gear: `gear = none`."""
    known = note_words()
    key = frozenset(words_of(unread.setting.key))
    said = unread.setting.value.strip("\"' ").lower()
    of_feeder = not _FEEDER.isdisjoint(vocabulary().names_in(_words(unread)))
    return bool(key & known.geared) and said in known.ungeared and key.isdisjoint(known.other) and of_feeder


def _is_voltage(words: frozenset[str], found: re.Match[str] | None) -> bool:
    """Whether a number is the voltage to which the screw of the feeder's driver is set."""
    known = note_words()
    of_feeder = not _FEEDER.isdisjoint(vocabulary().names_in(words))
    volts = found is not None and LEAST_VOLTS <= float(found[0]) <= MOST_VOLTS
    return (
        volts and of_feeder and bool(words & known.volts) and words.isdisjoint(known.other | known.supplied)
    )


def _now(new: _New) -> str:
    if new.new_path is None:
        return "the sheet does not say how long it is now"
    return f"from bite to tip it is {measure(new.new_path, 0.0, 'mm')} now"


def _mass(number: float, new: _New) -> str:
    if new.old_mass is None or new.new_mass is None:
        return "the sheet asks for old and new"
    more = new.new_mass - new.old_mass
    if number < LIGHTEST or number < new.old_mass * (1 - SAME_MASS):
        return f"{measure(abs(more), 0.0, 'g')} {'more' if more > 0 else 'less'} with the new one"
    return f"{number + more:g} for {number:g} with the new one"
