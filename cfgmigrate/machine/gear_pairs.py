"""A gear ratio that stands as two numbers: the teeth of two gears, in two settings or in two words of one line.

One of them alone is no ratio, and an edit of one alone turns the drive's feed over or multiplies it. So the two are read
as one ratio, and each knows the other: where their words say which gear drives which, and the counts don't speak against
it, both are written together. Else neither is. Where no word says it, the larger count is the driven gear's, because a
feed drive gears down (common practice, no source), and it is asked. Two words of one line are never written.

A ratio of one number, or of stages such as `46:15` (`gear_order.py`), is none of this module's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.codes import DIALECT
from cfgmigrate.machine.collection import Collected, Collection, Half, line_of
from cfgmigrate.machine.gear_order import DRIVEN_WORDS, DRIVING_WORDS
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import Spot
from cfgmigrate.machine.words import split

_GEAR = frozenset({"cog", "cogs", "gear", "gears", "gearing", "ratio", "teeth", "tooth", "wheel", "wheels"})
_TEETH = frozenset({"cog", "cogs", "teeth", "tooth"})
#: what the driven gear sits on, where the other one's words are of the motor, and its count is the smaller
_CARRIES_DRIVEN = frozenset({"axle", "shaft", "spindle"})
#: no gear has fewer: such a number beside the word is a ratio
FEWEST_TEETH = 6
#: of so many settings of gears in one section the other of a pair is looked for
MOST_GEARS = 24
#: how a reading of two counts was converted
TWO_COUNTS = "the driven gear's teeth by the driving gear's, which stand apart"
_ASIDE = pattern(r"\([^()]*\)?")
_WORD = pattern(r"[a-z]+")
_OTHER = "neither is written without the other"
_WHY = "two numbers are one gear ratio here, {} and {}, and " + _OTHER


def pairs_of_gears(
    found: Collection, documents: Sequence[Document], names: Names | None = None
) -> Iterator[Doubt]:
    """Makes a ratio of each two settings that give the teeth of one gear each: a reading of each of them where both may be
    written, else one. A doubt where they are no ratio, and where the words don't tell which gear drives which."""
    groups: dict[tuple[str, str, str, int | None], list[Half]] = {}
    for each in found.gears:
        # word-address lines have no sections: each of the two may have a code of its own
        section = "" if each.spot.document.dialect == DIALECT else each.spot.setting.section
        key = each.spot.document.path, section, each.fit.quantity, each.name.number
        groups.setdefault(key, []).append(each)
    read = {(each.reading.place.file, each.reading.quantity) for each in found.readings}
    for pair in groups.values():
        if len(pair) == 2:
            two = pair[1].spot.setting
            order = _order(frozenset(pair[0].name.key), frozenset(pair[1].name.key))
            order = order or _order_by_seat(pair[0].spot.document, pair[0].spot.setting, two, names)
            both = None
            if (pair[0].spot.document.path, pair[0].fit.quantity) not in read:
                both = _of_teeth(pair[0], two, order)
            if both is None:
                why = "two lines give the teeth of one gear each, and a gear ratio is read from one line"
                yield pair[0].spot.doubt(why, "write it in one line of its own, gear ratio = DRIVEN:DRIVING")
                continue
            gears = pair[0].spot.setting, two
            for reading in _each_written(both, order, pair[0].spot.document, gears):
                found.readings.append(Collected(reading, pair[0].fit.measure, pair[0].name.counted))
            if both.why_not.endswith(_OTHER):
                yield _asked(both)
    yield from _ratios_of_settings(found, {document.path: document for document in documents}, names)


def _of_teeth(half: Half, other: Setting, order: int) -> Reading | None:
    """The ratio of two settings of teeth, as the reading of the first of them."""
    one, span = half.spot.setting, half.spot.span(0, len(half.spot.setting.value))
    if span is None:
        return None
    bare = Reading(half.fit.quantity, None, one.value, half.spot.place(), *span, Form(), one)
    return _joined(bare, one, other, order)


def _each_written(
    both: Reading, order: int, document: Document, gears: tuple[Setting, Setting]
) -> tuple[Reading, ...]:
    """The ratio as a reading of each of its two counts, to be written together; the one that is never written where the
    words don't tell the gears apart, the counts speak against them, or one of them is not there as it reads."""
    spans = [_span_of_count(document, each) for each in gears]
    told = order and not both.why_not.endswith(_OTHER) and (both.value or 0.0) >= 1
    if document.dialect == DIALECT or not told or not all(spans):
        return (both,)
    parts = ("driven", "driving") if order > 0 else ("driving", "driven")
    return tuple(
        replace(
            both,
            text=document.slice(*span),
            place=Place(document.path, setting.line, setting.column + span[0] - setting.start),
            start=span[0],
            end=span[1],
            form=replace(both.form, ratio=False, teeth=part),
            setting=setting,
            editable=True,
            why_not="",
        )
        for setting, span, part in zip(gears, spans, parts, strict=True)
        if span is not None
    )


def _span_of_count(document: Document, setting: Setting) -> tuple[int, int] | None:
    """Where a count stands in the file; None where it does not stand there as it reads, or is not in force."""
    count = read_value(setting.value)
    if (
        setting.state is not State.ACTIVE
        or setting.resolved
        or setting.behind
        or not isinstance(count, Number)
    ):
        return None
    return Spot(document, setting).span(count.start, count.end)


def _ratios_of_settings(
    found: Collection, documents: Mapping[str, Document], names: Names | None
) -> Iterator[Doubt]:
    """Doubts about ratios that were read from one of two settings which speak of gears, in one section."""
    beside: dict[tuple[str, str], list[tuple[str, Setting]]] = {}
    for unread in found.unread:
        if unread.setting.state is State.ACTIVE and _may_be_teeth(unread.setting):
            at = unread.place.file, unread.setting.section
            beside.setdefault(at, []).append(("", unread.setting))
    ratios = [
        each.reading
        for each in found.readings
        if is_bare_ratio(each.reading) and _may_be_teeth(each.reading.setting)
    ]
    for reading in ratios:
        at = reading.place.file, reading.setting.section
        beside.setdefault(at, []).append((reading.quantity, reading.setting))
    joined: dict[int, tuple[Reading, ...]] = {}
    place = {id(each.reading): number for number, each in enumerate(found.readings)}
    of_setting = {id(each.setting): place[id(each)] for each in ratios}
    for reading in ratios:
        near = beside[reading.place.file, reading.setting.section]
        others = [each for each in near[:MOST_GEARS] if _beside(reading, *each)]
        if len(others) != 1 or place[id(reading)] in joined:
            continue
        ((what, other),) = others
        document = documents[reading.place.file]
        order = _order(_words(reading.setting), _words(other))
        order = order or _order_by_seat(document, reading.setting, other, names)
        both = _joined(reading, reading.setting, other, order)
        if both is None or (what and not order):
            continue  # the same ratio twice: which one holds is asked elsewhere
        joined[place[id(reading)]] = _each_written(both, order, document, (reading.setting, other))
        if what:
            joined[of_setting[id(other)]] = ()
        if both.why_not.endswith(_OTHER):
            yield _asked(both)
    found.readings[:] = [
        replace(each, reading=kept)
        for number, each in enumerate(found.readings)
        for kept in joined.get(number, (each.reading,))
    ]


def _beside(reading: Reading, what: str, other: Setting) -> bool:
    """Whether a setting may be the other gear of a ratio: named alike, or as the other gear, of the same feeder."""
    one = reading.setting
    if other.start == one.start or what not in ("", reading.quantity):
        return False
    words, others = split(one.key), split(other.key)
    if [each for each in words if each.isdigit()] != [each for each in others if each.isdigit()]:
        return False
    differ = [pair for pair in zip(words, others, strict=False) if pair[0] != pair[1]]
    alike = len(words) == len(others) and len(differ) == 1
    if not _order(frozenset(words), frozenset(others)):
        return alike and differ[0][0] not in _GEAR
    return alike or bool(one.section or what)


def ratio_of_a_line(
    reading: Reading, line: Iterable[Setting], remark: str
) -> tuple[Reading, tuple[Doubt, ...]]:
    """A reading of a word-address line as it is where another number of its line belongs to it. `line` are the
    further words of the line that nothing else explains. A doubt asks which gear drives which where `remark` does
    not say it."""
    others = [each for each in line if each.start != reading.setting.start and count_of_teeth(each)]
    if not others or not is_bare_ratio(reading):
        return reading, ()
    first, second = sorted((reading.setting, others[0]), key=lambda each: each.start)
    order = _told_order(remark) if len(others) == 1 else 0
    joined = _joined(reading, first, second, order)
    if joined is None:
        return reading, ()
    return joined, (_asked(joined),) if joined.why_not.endswith(_OTHER) else ()


def _joined(reading: Reading, one: Setting, two: Setting, order: int) -> Reading | None:
    """Two counts as one ratio that is not written, as it stands; None where they can be none."""
    first, second = count_of_teeth(one), count_of_teeth(two)
    if not first or not second:
        return None
    ratio = first / second if order > 0 else second / first
    if not order:
        ratio = max(first / second, second / first)
    if not quantity(reading.quantity).plausible(ratio):
        return _joined(reading, one, two, 0) if order else None
    driven, driving = (one, two) if order > 0 else (two, one)
    same = one.key == two.key
    which = (
        f": {driven.key} is of the driven gear, {driving.key} of the driving one"
        if order and not same
        else ""
    )
    if order and same:
        which = f": line {driven.line} is of the driven gear, line {driving.line} of the driving one"
    line = f" (line {two.line})" if one.key == two.key else ""
    why = _WHY.format(f"{one.key} {one.value}", f"{two.key} {two.value}{line}") + which
    form = replace(reading.form, note=TWO_COUNTS)
    return replace(reading, value=ratio, form=form, editable=False, why_not=why)


def joined_counts(reading: Reading, one: Setting, two: Setting) -> Reading | None:
    """Two counts, whose words don't say which gear drives, as one ratio that is not written; None where they can be none."""
    return _joined(reading, one, two, 0)


def _asked(reading: Reading) -> Doubt:
    why = f"{reading.why_not}; which gear drives which is not said"
    return Doubt(reading.place, line_of(reading.setting), why, "put both in by hand, each in its place")


#: why a number is not edited that is understood all the same
ENDS_IN_CHECKSUM = "the line ends in a checksum, which an edit would break"


def is_bare_ratio(reading: Reading) -> bool:
    open_still = reading.editable or reading.why_not == ENDS_IN_CHECKSUM
    return quantity(reading.quantity).kind == "ratio" and open_still and bool(count_of_teeth(reading.setting))


def count_of_teeth(setting: Setting) -> float:
    """A setting's count of teeth, 0 where its value is none."""
    found = read_value(setting.value)
    return (
        found.value
        if isinstance(found, Number) and found.value >= 1 and found.value == int(found.value)
        else 0.0
    )


def teeth_of_one(setting: Setting) -> bool:
    """Whether a setting is by its words the teeth of one gear, and has so many as a gear has."""
    words = _words(setting)
    return count_of_teeth(setting) >= FEWEST_TEETH and not _TEETH.isdisjoint(words) and "ratio" not in words


def _words(setting: Setting) -> frozenset[str]:
    return frozenset(split(setting.key))


def _may_be_teeth(setting: Setting) -> bool:
    """Whether a setting is a whole number and its words are of gears."""
    return bool(count_of_teeth(setting)) and not _GEAR.isdisjoint(
        (*split(setting.key), *split(setting.section))
    )


def _order(one: frozenset[str], two: frozenset[str]) -> int:
    """1 where the first is the driven gear, -1 where the second is, 0 where their words don't say it."""
    own, others = one - two, two - one
    first = bool(own & DRIVEN_WORDS), bool(own & DRIVING_WORDS)
    second = bool(others & DRIVEN_WORDS), bool(others & DRIVING_WORDS)
    if (first, second) == ((True, False), (False, True)):
        return 1
    return -1 if (first, second) == ((False, True), (True, False)) else 0


def _order_by_seat(document: Document, one: Setting, two: Setting, names: Names | None) -> int:
    """The order of two gears of which one is the motor's and the other sits on a shaft, where the counts gear down: as `_order` gives it.
    None where a names file takes one of them alone for the ratio, so that it is asked."""
    if names and bool(names.find(document, one)) != bool(names.find(document, two)):
        return 0
    own, others = _words(one) - _words(two), _words(two) - _words(one)
    for sign, driven, driving, ratio in (
        (1, own, others, count_of_teeth(one) / (count_of_teeth(two) or 1)),
        (-1, others, own, count_of_teeth(two) / (count_of_teeth(one) or 1)),
    ):
        carried = bool(driven & _CARRIES_DRIVEN) and driven.isdisjoint(DRIVING_WORDS)
        if carried and "motor" in driving and ratio > 1:
            return sign
    return 0


def _told_order(remark: str) -> int:
    """The order of two numbers that a remark says: 1 for driven and driving, -1 for driving and driven, 0 for none."""
    words = _WORD.findall(_ASIDE.sub(" ", remark.lower()))
    told = [
        1 if word in DRIVEN_WORDS else -1 for word in words if word in DRIVEN_WORDS or word in DRIVING_WORDS
    ]
    return told[0] if len(told) == 2 and told[0] != told[1] else 0
