"""Settings that no rule moves and that belong to one that moves: the speeds and accelerations beside it.

A speed's name often goes on from the name of the length that it is for, and an acceleration for printing from that of the
machine's. A limit for all axes may stand above the one of an axis that was lowered. A list with a number for each motor
has one for the drive, whatever it is about. What an axis changes at once goes with the acceleration that was lowered for
its weight. A setting may say in words where the drive
sits. Heights of the bed that are stored are of the places that the probe got to before. And how many steps a second the board can send may stand there
as a note that no rule reads. What has to become of them
is not known here, so a person is shown where they stand.

Nothing is worked out by this, and no line is judged: it may name one too many.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.files.marks import words_of
from cfgmigrate.ground.number_text import measure
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.occasions import speaks_of_occasion
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split
from cfgmigrate.plan.headed_codes import below_accelerations
from cfgmigrate.plan.model import Change
from cfgmigrate.plan.old_numbers import OF_THE_OLD_DRIVE
from cfgmigrate.plan.step_rates import asked_of_the_board, fastest_feed, step_rates

#: file, line, text, and why it is pointed at
Beside = tuple[str, int, str, str]
#: quantities after whose settings others are named
_LEADING = pattern(r"(?:feeder|retraction|lag|machine)\..*|axis\..\.max_acceleration")
_OF_ALL_AXES = "machine.max_acceleration"
_NUMBER = pattern(r"(?<![\w.])[-+]?\d{1,9}(?:\.\d{1,9})?(?![\w.])")
#: so many numbers, or more, are a list; so much of a value is looked at
FEWEST_IN_LIST, LONGEST_LIST_SEEN = 3, 200
#: so many heights are a map of a bed, none of them above this (mm; common practice, no source)
FEWEST_HEIGHTS, HIGHEST_POINT = 9, 3.0
_PLACES_OF_PROBE = pattern(r"mesh\..*|probe\.offset_[xy]")
_MAP = frozenset(("mesh", "map", "points", "heights", "field", "grid", "net", "touches", "bed"))
_MOVES_OF_CODE = pattern(r"G\d")
_TOP_SPEED = "feeder.max_speed"
_SPEED = pattern(r"speed|spd|veloc|vel(?![a-z])|pace|mm.?p?.?s(?![a-z2^])", re.IGNORECASE)
#: a speed of what is printed or passed over: of the nozzle, and slower at the feeder by far
_OF_THE_NOZZLE = pattern(
    r"wall|fill|perimeter|outline|shell|skin|bridge|brim|skirt|support|layer|print|travel|empty|seam",
    re.IGNORECASE,
)
_AT_ONCE = pattern(r"jump|jerk|at.?once|instant|corner", re.IGNORECASE)
#: words of a name that only say what is measured, and in what
_MEASURE = pattern(r"acc\w*|max\w*|limits?|mm|m|s\d?|sec|per|speed|p", re.IGNORECASE)
_A_MINUTE = pattern(r"min(?:ute)?(?![a-z])", re.IGNORECASE)
_PLAIN = pattern(r"(\d{1,6}(?:\.\d{1,6})?)\s*(mm/s|mm/min)?")
#: how the rows of one table are told apart
_ROW = pattern(r"[ _.-]?\d{1,3}$")
_DRIVE = frozenset(("drive", "tube", "hose", "cogs", "gears"))
_WORDS = pattern(r"[^\W\d_]{3,}")
#: so many words of a name are looked at
MOST_NAME_WORDS_SEEN = 8
_PLAIN_NUMBER = pattern(r"[-+]?\d{1,6}(?:\.\d{1,6})?")
#: the limit on each side, as usual where x grows to the right and y to the back (common practice, no source)
_SIDES = {"left": "axis.x.min", "right": "axis.x.max", "front": "axis.y.min", "back": "axis.y.max"}
_NOT_OF_ALL = frozenset(("x", "y", "z", "feeder", "feed", "retraction"))


def settings_beside(machine: Machine, changes: Sequence[Change]) -> Iterator[Beside]:
    """The settings beside those that change."""
    edited = {(edit.file, edit.start): change for change in changes for edit in change.edits}
    moved = [
        (edited[each.place.file, each.start], each)
        for each in machine.every_reading
        if (each.place.file, each.start) in edited
    ]
    if not moved:
        return
    yield from _above_the_axis(machine, moved)
    yield from _strange(machine, moved)
    yield from _named_alike(machine)
    yield from _too_fast(machine, changes)
    yield from _at_once(machine, moved)
    yield from _heights_of_old_places(machine, changes)
    yield from _noted(machine, changes)
    yield from _above_it_by_name(machine, moved)
    yield from _below_codes(machine, moved)
    yield from _edges_of_a_field(machine, changes)


def _noted(machine: Machine, changes: Collection[Change]) -> Iterator[Beside]:
    """How many steps a second the board can send, where no rule reads it."""
    asked, _ = asked_of_the_board(machine, changes)
    takes = f"; the new drive takes {asked:.0f} of them a second at its top speed" if asked else ""
    for unread, rate in step_rates(machine):
        most = fastest_feed(rate, changes)
        takes = takes or (f"; the new drive gets no faster than {most:.1f} mm/s with them" if most else "")
        why = f"by its name the most steps a second that the board can send; say it in the sheet as controller.max_step_rate{takes}"
        yield _told(unread.place.file, unread.place.line, unread.setting, unread.setting.value, why)


def _above_the_axis(machine: Machine, moved: Iterable[tuple[Change, Reading]]) -> Iterator[Beside]:
    """Accelerations for all axes that are left above the one of an axis that was lowered."""
    least = _least_lowered(moved)
    if least is None:
        return
    for reading in machine.every_reading:
        if reading.quantity == _OF_ALL_AXES and (reading.value or 0.0) > (least.new.value or 0.0):
            why = f"it stays, above the new {least.label} of {measure(least.new.value, 0.0, least.unit)}"
            yield _told(reading.place.file, reading.place.line, reading.setting, reading.text, why)


def _least_lowered(moved: Iterable[tuple[Change, Reading]]) -> Change | None:
    """The change to the lowest acceleration of an axis, None where there is none."""
    lowered = [
        change
        for change, each in moved
        if each.quantity.startswith("axis.")
        and each.quantity.endswith(".max_acceleration")
        and change.new.value
    ]
    return min(lowered, key=lambda change: change.new.value or 0.0, default=None)


def _above_it_by_name(machine: Machine, moved: Iterable[tuple[Change, Reading]]) -> Iterator[Beside]:
    """The same of what was not understood and speaks of an acceleration."""
    least = _least_lowered(moved)
    if least is None:
        return
    for unread in machine.unread:
        setting, number = unread.setting, _PLAIN_NUMBER.fullmatch(unread.setting.value.strip())
        if setting.state is State.INACTIVE or number is None or not _is_acceleration(setting):
            continue
        if float(number[0]) > (least.new.value or 0.0):
            why = f"an acceleration by its name, above the new {least.label} of {measure(least.new.value, 0.0, least.unit)}"
            yield _told(unread.place.file, unread.place.line, setting, setting.value, why)


def _below_codes(machine: Machine, moved: Iterable[tuple[Change, Reading]]) -> Iterator[Beside]:
    """The same of a code right below that of the axes' accelerations."""
    if (least := _least_lowered(moved)) is None:
        return
    for file, line, words in below_accelerations(machine, least.new.value or 0.0):
        new = measure(least.new.value, 0.0, least.unit)
        yield (
            file,
            line,
            words,
            f"below the axes' accelerations; if these are some too, above the new {least.label} of {new}",
        )


def _is_acceleration(setting: Setting) -> bool:
    """Whether a name speaks of an acceleration, in the trade's word or one near it, and of no axis or feeder."""
    pieces = (*split(setting.section), *split(setting.key))
    words = vocabulary().names_in(frozenset(word for piece in pieces for word in ways_of(piece)[0]))
    near = any(("acceleration",) in offered().near.get(piece, ()) for piece in pieces)
    return ("acceleration" in words or near) and words.isdisjoint(_NOT_OF_ALL)


def _edges_of_a_field(machine: Machine, changes: Iterable[Change]) -> Iterator[Beside]:
    """Edges that were not understood of what may be the field that the probe measures, on the side of a limit that moved."""
    moved = {each.quantity: each for each in changes}
    for unread in machine.unread:
        setting = unread.setting
        sides = [_SIDES[piece] for piece in split(setting.key) if piece in _SIDES]
        near = any(("mesh",) in offered().near.get(piece, ()) for piece in split(setting.section))
        if setting.state is State.INACTIVE or not near or not _PLAIN_NUMBER.fullmatch(setting.value.strip()):
            continue
        for change in (moved[limit] for limit in sides if limit in moved):
            why = (
                f"an edge of what the probe measures, by its name: the {change.label} is {measure(change.new.value, 0.0, change.unit)}"
                " now, so see that the probe still gets there"
            )
            yield _told(unread.place.file, unread.place.line, setting, setting.value, why)


def _too_fast(machine: Machine, changes: Iterable[Change]) -> Iterator[Beside]:
    """Speeds of the drive, or of an occasion at which it feeds by itself, that were not understood: above its new top speed,
    or what it is to reach at once."""
    tops = [each.new.value for each in changes if each.quantity == _TOP_SPEED and each.new.value]
    top = min(tops, default=math.inf)
    if not any(each.quantity.startswith("feeder.") for each in changes):
        return
    feeders = {spelling[0] for spelling in vocabulary().spelled("feeder") if len(spelling) == 1}
    for unread in machine.unread:
        file, setting = unread.place.file, unread.setting
        number = _PLAIN.fullmatch(setting.value.strip())
        of_drive = not feeders.isdisjoint(each.removesuffix("s") for each in split(setting.name))
        if setting.state is State.INACTIVE or number is None or not (of_drive or _of_an_occasion(unread)):
            continue
        speed = float(number[1]) / (60.0 if _A_MINUTE.search(f"{setting.name} {number[2]}") else 1.0)
        if _SPEED.search(setting.name) and not _OF_THE_NOZZLE.search(setting.key) and speed > top:
            why = f"faster than the {top:g} mm/s that the drive may feed at from now on"
        elif of_drive and _AT_ONCE.search(setting.name) and speed:
            why = "what the old drive could reach at once; the new one turns faster for it"
        else:
            continue
        yield _told(file, unread.place.line, setting, setting.value, why)


def _of_an_occasion(unread: Unread) -> bool:
    """Whether a setting is of an occasion at which filament is fed by itself, loading in whatever words included: `[put in]`."""
    words = vocabulary().names_in(frozenset(read_name(unread.setting.section, unread.setting.key).words))
    return speaks_of_occasion(unread) or not words.isdisjoint(("load", "unload"))


def _at_once(machine: Machine, moved: Iterable[tuple[Change, Reading]]) -> Iterator[Beside]:
    """What an axis changes at once, by a name that is else that of its acceleration, where that was lowered."""
    lowered = {
        (each.place.file, own): each.setting.name
        for change, each in moved
        if each.quantity.endswith(".max_acceleration")
        and each.quantity.startswith("axis.")
        and (change.new.value or 0.0) < (each.value or 0.0)
        and (own := _besides_measure(each.setting))
    }
    for unread in machine.unread if lowered else ():
        setting, number = unread.setting, _PLAIN.fullmatch(unread.setting.value.strip())
        if setting.state is State.INACTIVE or number is None or not float(number[1]):
            continue
        beside = lowered.get((unread.place.file, _besides_measure(setting)))
        if beside and _AT_ONCE.search(setting.name):
            why = f"what this axis changes at once; {beside} beside it was lowered for the weight, and this stays"
            yield _told(unread.place.file, unread.place.line, setting, setting.value, why)


def _besides_measure(setting: Setting) -> frozenset[str]:
    """The words of a setting's name that say what it is of."""
    words = words_of(setting.name)
    return frozenset(word for word in words if not _MEASURE.fullmatch(word) and not _AT_ONCE.search(word))


def _strange(machine: Machine, moved: Iterable[tuple[Change, Reading]]) -> Iterator[Beside]:
    """What was not understood, and is named after a setting that changes, a list as one of those, or of the drive."""
    feeders = {
        spelling[0]
        for thing in ("feeder", "feed")
        for spelling in vocabulary().spelled(thing)
        if len(spelling) == 1
    }
    names = {
        (each.place.file, words_of(each.setting.name)): each.setting.name
        for _, each in moved
        if _LEADING.fullmatch(each.quantity)
    }
    names |= _left_beside(machine, {change.quantity for change, _ in moved})
    lists = {
        (each.place.file, count): each.setting.name
        for each in machine.every_reading
        if each.quantity.startswith(("feeder.", "motor."))
        and (count := _many(each.setting.value)) >= FEWEST_IN_LIST
    }
    for unread in machine.unread:
        file, setting = unread.place.file, unread.setting
        if setting.state is State.INACTIVE or machine.document(file).dialect == "command":
            continue
        words, many = words_of(setting.name), _many(setting.value)
        after = next((names[key] for n in range(1, len(words)) if (key := (file, words[:n])) in names), "")
        if after and many:
            why = f"named after {after}, which changes, and not understood"
        elif (file, many) in lists and not _are_switches(setting.value):
            why = f"a list as {lists[file, many]} is, with a number for the drive, and not understood"
        elif not many and _tells_of_drive(setting.value[:LONGEST_LIST_SEEN], frozenset(words), feeders):
            why = "it tells of the drive or its tube"
        else:
            continue
        yield _told(file, unread.place.line, setting, setting.value, why)


def _left_beside(machine: Machine, moved: Collection[str]) -> dict[tuple[str, tuple[str, ...]], str]:
    """The names by which further lines say what changes: one that another line overrides, or that a person says is nothing. What
    is named after them is of the old drive all the same."""
    said = [
        (each.place.file, each.setting)
        for each in machine.every_reading
        if each.quantity in moved and _LEADING.fullmatch(each.quantity)
    ]
    said += [
        (each.place.file, each.setting)
        for each in machine.said_nothing
        if any(name in moved and _LEADING.fullmatch(name) for name in each.nearest)
    ]
    return {(file, words_of(setting.name)): setting.name for file, setting in said}


def _named_alike(machine: Machine) -> Iterator[Beside]:
    """What was not understood, and goes by the whole name of a setting of the drive behind a word more, with its number."""
    names: dict[tuple[str, ...], Reading] = {}
    for each in machine.every_reading:
        words = words_of(each.setting.name)
        if _LEADING.fullmatch(each.quantity) and each.value and len(words) > 1:
            names.setdefault(words, each)
    for unread in machine.unread:
        setting, number = unread.setting, _PLAIN_NUMBER.fullmatch(unread.setting.value.strip())
        if setting.state is State.INACTIVE or number is None:
            continue
        words = words_of(setting.name)[-MOST_NAME_WORDS_SEEN:]
        like = next((names[words[n:]] for n in range(1, len(words)) if words[n:] in names), None)
        axes = vocabulary().names_in(frozenset(words)) & _NOT_OF_ALL
        if like is not None and number[0] == like.text and axes.isdisjoint("xyz"):
            at = f"{like.place.file}:{like.place.line}"
            why = f"named as {like.setting.name} at {at}, with the same number, and not understood"
            yield _told(unread.place.file, unread.place.line, setting, setting.value, why)


def _tells_of_drive(value: str, words: Collection[str], feeders: Collection[str]) -> bool:
    """Whether a setting says in words where the drive sits: by its own name, or as one of the feeder by what it says."""
    if not _WORDS.search(value):
        return False
    of_feeder = any(word in feeders for word in words)
    return any(word in _DRIVE for word in words) or (of_feeder and bool(OF_THE_OLD_DRIVE.search(value)))


def _heights_of_old_places(machine: Machine, changes: Iterable[Change]) -> Iterator[Beside]:
    """Heights of the bed that are stored, where the probe gets to other places: the first line of each table."""
    if not any(_PLACES_OF_PROBE.fullmatch(change.quantity) for change in changes):
        return
    for document in machine.documents:
        tables: dict[str, list[Setting]] = {}
        for setting in document.settings:
            if setting.state is not State.INACTIVE and not _MOVES_OF_CODE.match(setting.section):
                tables.setdefault(_ROW.sub("", setting.name), []).append(setting)
        for name, rows in tables.items():
            heights = [each for row in rows for each in _NUMBER.findall(row.value[:LONGEST_LIST_SEEN])]
            if not _are_heights(name, rows, heights):
                continue
            many = f"{len(rows)} lines" if len(rows) > 1 else "a table"
            why = f"{many}, heights of the bed by their looks: they are of the old places. Probe the bed anew and store them"
            yield _told(document.path, rows[0].line, rows[0], rows[0].value[:40], why)


def _are_heights(name: str, rows: Sequence[Setting], numbers: Sequence[str]) -> bool:
    """Whether these lines are a table of small heights: one on each of many lines, or many in one that is called so."""
    if len(rows) >= FEWEST_HEIGHTS:
        last = [found[-1] for row in rows if (found := _NUMBER.findall(row.value[:LONGEST_LIST_SEEN]))]
    else:
        last = list(numbers) if _MAP.intersection(words_of(name)) else []
    small = [each for each in last if abs(float(each)) <= HIGHEST_POINT]
    return len(last) >= FEWEST_HEIGHTS and len(small) == len(last) and any("." in each for each in last)


def _told(file: str, line: int, setting: Setting, text: str, why: str) -> Beside:
    return file, line, f"{setting.name} = {text}", why


def _many(value: str) -> int:
    return len(_NUMBER.findall(value[:LONGEST_LIST_SEEN]))


def _are_switches(value: str) -> bool:
    found: Collection[str] = {each.lstrip("+-") for each in _NUMBER.findall(value[:LONGEST_LIST_SEEN])}
    return set(found) <= {"0", "1"}
