"""The lines of the machine's own files that still tell of the old drive once all changes are made: one step by hand.

A value that a rule knows is changed, asked or told by that rule. What is left are lines that no rule has: a setting that was
not understood or that its own words protect, a remark, a feed of a script beside one that is in question, and the old speed
and acceleration of the drive where nothing new is known. A person is shown where they stand, and decides.

Lines that are changed, or that a question is about already, are not told again. Nothing is written by this.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State, readable
from cfgmigrate.dialects.remark_marks import ANY_MARK, HEADER_MARK, IN_BLOCK_MARK
from cfgmigrate.ground.findings import Doubt, by_file
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.near_lengths import may_be_length
from cfgmigrate.machine.occasions import OCCASIONS, speaks_of_occasion
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.teachable import Teachable
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split
from cfgmigrate.plan.axis_sections import axis_sections
from cfgmigrate.plan.feeds_left import feeds_left
from cfgmigrate.plan.lines_beside import Beside, settings_beside
from cfgmigrate.plan.lines_of_a_tip import places_of_a_tip
from cfgmigrate.plan.lines_of_the_drive import lines_of_the_drive
from cfgmigrate.plan.model import LINES_LEFT as LINES_LEFT
from cfgmigrate.plan.model import ByHand, Change
from cfgmigrate.plan.old_numbers import LONGEST_LINE, OF_THE_OLD_DRIVE, OldNumbers
from cfgmigrate.scripts.pulls import MUCH

#: so many lines are told in words; of the rest only where they stand
MOST_STEPS_SHOWN = 36
#: and of so many of the rest
MOST_PLACES_SHOWN = 100
#: so many settings of one name are looked at
MOST_ALIKE = 9
#: characters of a line that are shown
SHOWN_CHARACTERS = 70
_REMARK = pattern(rf"(?:^[ \t]*|[ \t])(?:{ANY_MARK}|{IN_BLOCK_MARK})[ \t]*([^\r\n]*)")
#: in a header a line with # is an order to who builds it, and no remark
_HEADER_REMARK = pattern(rf"(?:^[ \t]*|[ \t]){HEADER_MARK}[ \t]*([^\r\n]*)")
#: what the unit in a name says, in the units that changes are told in; a length beside steps says nothing
_UNITS: dict[tuple[str, ...], str] = {
    ("speed",): "mm/s",
    ("acceleration",): "mm/s^2",
    ("current",): "A",
    ("time",): "s",
}
_LINE_END = pattern(rb"\r\n?|\n")
_MADE_FOR_THE_OLD = (
    "feeder.max_speed",
    "feeder.max_acceleration",
    "feeder.speed_at_once",
    "retraction.return_speed",
    "lag.coefficient",
)
_RETRACTION = "retraction.length"
_NUMBERS = pattern(r"(?<![\w.])\d{1,6}(?:\.\d{1,6})?")
_OTHER_UNIT = pattern(r"\d[ \t]*(?:%|s\b|ms\b|deg|°|C\b|mm/|A\b|V\b|Hz)")
OF_A_REMARK = "a remark that tells of the drive or its tube"
_WHAT = (
    "Go through the lines that still tell of the old drive. Change by hand what was made for it: nothing was written there, "
    "since it is not known what they are, or what they should become."
)
_WHY = "What the machine reads of them keeps its old value; what is a remark misleads the next person who reads it."


class LeftLine(Struct, frozen=True, order=True):
    """A line of a file, counted from 1, as it stands there, and why it is pointed at."""

    file: str
    line: int
    text: str
    why: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {' '.join(self.text.split())[:SHOWN_CHARACTERS]} ({self.why})"


def lines_left(
    machine: Machine,
    olds: OldNumbers,
    changes: Sequence[Change],
    doubts: Iterable[Doubt],
    swapped: Collection[int],
    near: Sequence[Teachable],
    notes: Iterable[Beside] = (),
    worked_out: Iterable[Beside] = (),
    stored: Collection[tuple[str, int]] = (),
    still_old: Iterable[Beside] = (),
) -> tuple[ByHand, ...]:
    """The step by hand that names these lines; none where there are none. `near` is what was not understood near an old
    length, of which only the first few are questions, `notes` what is only noted of the old drive. Those `worked_out` stand
    before all others, which are many; those `stored` at the board's console are another step's, and
    what is `still_old` is told first, whatever else is known of it."""
    asked = {(doubt.place.file, doubt.place.line) for doubt in doubts}
    told = {*asked, *stored, *((edit.file, edit.line) for change in changes for edit in change.edits)}
    # of a line of codes one may be written and the next one only noted
    of_codes = {document.path for document in machine.documents if document.dialect == "command"}
    still_old, worked_out = tuple(still_old), tuple(worked_out)
    first = {(file, line) for file, line, *_ in (*still_old, *worked_out)}
    noted = (LeftLine(*each) for each in (*worked_out, *notes))
    moved = any(change.quantity.startswith("feeder.") for change in changes)
    found: dict[tuple[str, int], LeftLine] = {
        (each.file, each.line): each
        for each in noted
        if (each.file, each.line) not in (asked if each.file in of_codes else told)
    }
    found |= {(file, line): LeftLine(file, line, *rest) for file, line, *rest in still_old}
    for left in (
        *_still_old(machine, changes, swapped),
        *_pulls(machine, changes, swapped),
        *(LeftLine(*each) for each in settings_beside(machine, changes)),
        *(LeftLine(at.place.file, at.place.line, at.text, one.hint) for one in near for at in one.settings),
        *(LeftLine(*each) for each in places_of_a_tip(machine, olds, swapped)),
        *_said_twice(machine, changes),
        *(LeftLine(*each) for each in feeds_left(machine, told, olds, swapped if moved else ())),
        *_by_number(machine, olds, swapped),
        *(LeftLine(*each) for each in lines_of_the_drive(machine, swapped, near) if moved),
    ):
        if (left.file, left.line) not in told:
            found.setdefault((left.file, left.line), left)
    for left in _brought_back(machine, found.values()):
        if (left.file, left.line) not in told:
            found.setdefault((left.file, left.line), left)
    staying = of_those_that_stay(machine, olds)
    lines = sorted(_of_the_swapped(machine, olds, each) for at, each in found.items() if at not in staying)
    lines.sort(key=lambda each: (each.file, each.line) not in first)
    if not lines:
        return ()
    steps = [str(each) for each in lines[:MOST_STEPS_SHOWN]]
    if rest := lines[MOST_STEPS_SHOWN:]:
        places = by_file((each.file, each.line) for each in rest[:MOST_PLACES_SHOWN])
        more = f", and {len(rest) - MOST_PLACES_SHOWN} more" if rest[MOST_PLACES_SHOWN:] else ""
        steps.append(f"And these: {places}{more}")
    item = ByHand(
        _WHAT,
        None,
        "",
        _WHY,
        rule=LINES_LEFT,
        text="go through them",
        when="after install",
        label="lines left as they are",
    )
    return (replace(item, steps=tuple(steps)),)


def of_those_that_stay(machine: Machine, olds: OldNumbers) -> frozenset[tuple[str, int]]:
    """The lines of settings whose names speak of a feeder that stays as it is, and of no swapped one; or that stand in a
    section with such a name: `"name": "left"`. A line that has a swapped one's value as well is none of them."""
    found: set[tuple[str, int]] = set()
    shared: set[tuple[str, int]] = set()
    for document in machine.documents if olds.others else ():
        theirs = {
            each.section for each in document.settings if each.key == "name" and olds.of_another(each.value)
        }
        for setting in document.settings:
            words = frozenset(split(setting.name))
            if not olds.own.isdisjoint(words):
                shared.add((document.path, setting.line))
            named = not olds.others.isdisjoint(words) and olds.own.isdisjoint(words)
            if named or (setting.section and setting.section in theirs):
                last = setting.line + setting.value.count("\n")
                found.update((document.path, line) for line in range(setting.line, last + 1))
    return frozenset(found - shared)


def _of_the_swapped(machine: Machine, olds: OldNumbers, left: LeftLine) -> LeftLine:
    """A line with all that stands in it, where what is shown of it is of a feeder that stays: `{left: 610, right: 592}`."""
    if not olds.of_another(left.text):
        return left
    data = next(each.data for each in machine.documents if each.path == left.file)
    return replace(left, text=readable(_LINE_END.split(data)[left.line - 1][:LONGEST_LINE]))


def _still_old(machine: Machine, changes: Sequence[Change], swapped: Collection[int]) -> Iterator[LeftLine]:
    """Speeds and accelerations of the drive that nothing new is known for, where what moves them is a new one."""
    if not any(change.quantity.startswith("feeder.") for change in changes):
        return
    along = (each for reading in machine.readings for each in machine.followers(reading))
    for reading in (*machine.readings, *along):
        if (
            reading.quantity in _MADE_FOR_THE_OLD
            and reading.value
            and not set(swapped).isdisjoint(reading.serves)
        ):
            why = f"{quantity(reading.quantity).label}, which stays as it was for the old drive"
            yield LeftLine(
                reading.place.file, reading.place.line, f"{reading.setting.name} = {reading.text}", why
            )


def _pulls(machine: Machine, changes: Sequence[Change], swapped: Collection[int]) -> Iterator[LeftLine]:
    """Pulls and feeds of an occasion of their own that were not understood, and retractions that no change takes, where
    they are far longer than the new retraction."""
    new = [each.new.value for each in changes if each.quantity == _RETRACTION and each.new.value]
    if not new:
        return
    why = f"far longer than the new retraction of {max(new):g} mm"
    for reading in machine.readings:
        long = reading.quantity == _RETRACTION and (reading.value or 0.0) > MUCH * max(new)
        if long and not set(swapped).isdisjoint(reading.serves):
            yield LeftLine(
                reading.place.file, reading.place.line, f"{reading.setting.name} = {reading.text}", why
            )
    strange = _of_others(machine, swapped)
    beside = {
        (each.place.file, each.setting.section) for each in machine.readings if each.quantity == _RETRACTION
    }
    for unread in machine.unread:
        section = unread.setting.section
        if section and (unread.place.file, section) in beside and _NUMBERS.search(unread.setting.value):
            yield LeftLine(
                unread.place.file, unread.place.line, unread.text, "beside the retraction, and not understood"
            )
            continue
        if unread.place.file in strange or not (speaks_of_occasion(unread) and may_be_length(unread)):
            continue
        value = unread.setting.value[:LONGEST_LINE]
        numbers = [float(each) for each in _NUMBERS.findall(value)]
        if not numbers or max(numbers) <= MUCH * max(new):
            continue
        # the unit may be all that a remark behind the number says
        remark = next(
            (
                remarks_of(each).behind(unread.setting)
                for each in machine.documents
                if each.path == unread.place.file
            ),
            "",
        )
        if not _OTHER_UNIT.search(f"{value} {remark[:LONGEST_LINE]}"):
            yield LeftLine(unread.place.file, unread.place.line, unread.text, why)


def _brought_back(machine: Machine, told: Iterable[LeftLine]) -> Iterator[LeftLine]:
    """Settings beside a pull of an occasion of its own, a further one than the retraction, that have its very number: what
    was pulled back at a pause is pushed forward again by as much."""
    at = {(left.file, left.line) for left in told}
    for document in machine.documents:
        active = [each for each in document.settings if each.state is not State.INACTIVE]
        pulls = {
            (_before_last(each), each.value.strip()): each
            for each in active
            if (document.path, each.line) in at
            and _NUMBERS.fullmatch(each.value.strip())
            and not OCCASIONS.isdisjoint(split(each.name))
        }
        for each in active if pulls else ():
            pull = pulls.get((_before_last(each), each.value.strip()))
            if pull is not None and pull.name != each.name:
                why = f"as much as {pull.name}, which is to be looked at"
                yield LeftLine(document.path, each.line, f"{each.name} = {each.value}", why)


def _before_last(setting: Setting) -> str:
    """What a setting's name says before its last part."""
    return f"{setting.section}.{re.split(r'[./:_]', setting.key)[0] if not setting.section else ''}"


def _said_twice(machine: Machine, changes: Sequence[Change]) -> Iterator[LeftLine]:
    """Settings that were not understood and are called as a changed one, in a part of the same name: such as those of a
    block that the board saves, which may be the ones that hold."""
    unread: dict[tuple[str, str, str], list[Setting]] = {}
    for strange in machine.unread:
        unread.setdefault((strange.place.file, *_last_names(strange.setting)), []).append(strange.setting)
    written = {(edit.file, edit.start): edit for change in changes for edit in change.edits}
    for reading in machine.readings if unread else ():
        edit = written.get((reading.place.file, reading.start))
        named = (reading.place.file, *_last_names(reading.setting))
        for each in unread.get(named, ())[:MOST_ALIKE] if edit else ():
            if edit and _is_below(reading.setting.section, each.section):
                why = f"called as what line {edit.line} sets, which is changed; only one of the two holds"
                yield LeftLine(edit.file, each.line, f"{each.name} = {each.value}", why)


def _last_names(setting: Setting) -> tuple[str, str]:
    return re.split(r"[./]", setting.section)[-1].casefold(), setting.key.casefold()


def _is_below(one: str, two: str) -> bool:
    """Whether one of two sections is the other one's end: `feeders.right` and `saved.feeders.right`."""
    short, long = sorted((one.casefold(), two.casefold()), key=len)
    return bool(short) and long.endswith((f".{short}", f"/{short}"))


def _of_others(machine: Machine, swapped: Collection[int]) -> frozenset[str]:
    """The files of profiles that no swapped feeder runs."""
    return frozenset(
        profile.place.file for profile in machine.found_profiles if set(profile.feeders).isdisjoint(swapped)
    )


def _by_number(machine: Machine, olds: OldNumbers, swapped: Collection[int]) -> Iterator[LeftLine]:
    """Remarks with an old number or a word of the old drive, and settings with an old number that no rule has."""
    strange = _of_others(machine, swapped)
    known: dict[str, set[int]] = {}
    for reading in machine.every_reading:
        if not quantity(reading.quantity).protected or "heater" in reading.quantity:
            known.setdefault(reading.place.file, set()).add(reading.place.line)
    for document in machine.documents:
        if document.path not in strange:
            yield from _of_document(document, olds, known.get(document.path, set()))


def _of_document(document: Document, olds: OldNumbers, known: Collection[int]) -> Iterator[LeftLine]:
    settings = {each.line: each for each in document.settings if each.state is not State.INACTIVE}
    of_axes = olds.but_for_currents()
    remarks = _HEADER_REMARK if document.dialect == "header" else _REMARK
    for number, raw in enumerate(_LINE_END.split(document.data), start=1):
        line = readable(raw[:LONGEST_LINE])
        found = remarks.search(line)
        remark = found[1] if found else ""
        why = olds.said_of(remark) if remark else ""
        setting = settings.get(number)
        if not why and setting is not None and number not in known:
            unit = _UNITS.get(key_dimension(tuple(split(setting.key))), "")
            known_here = of_axes if setting.section in axis_sections(document) else olds
            why = known_here.said_of(f"{setting.section} {line}", unit, elsewhere=_means_something(setting))
        if not why and olds.paths and OF_THE_OLD_DRIVE.search(remark):
            why = OF_A_REMARK
        if why:
            yield LeftLine(document.path, number, line, why)


def _means_something(setting: Setting) -> bool:
    """Whether a word of a setting's name is one of the trade's."""
    words = vocabulary().known.intersection(read_name(setting.section, setting.key).words)
    return not words <= vocabulary().fillers
