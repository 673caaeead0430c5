"""Settings that state the unit of other settings: `length unit = cm`, `measures = cm, s, A`, `[retraction] unit = cm`.

Such a line says a unit and no number. Where it stands decides how far it reaches: outside all sections, or in one that is
about the file or the machine as a whole (`[general]`, `[units]`), it is of the whole file; in a section that is about one
thing it is of that section; and where its key names a thing (`retraction unit`) it is of the settings that name it too.

What can't be taken so is asked: a unit of lengths that is no unit (`0.1 mm`, `tenths of a mm`), two lines that state
different ones, and one in a section of which nobody knows what it is about. Then no length below it is taken whose own
line states no unit, as where a head in words leaves it open (`head_lengths.py`).

The words of such lines are in `unit_line_words.yaml`. Nothing here knows a quantity.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from itertools import islice

from msgspec import Struct, field

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written
from cfgmigrate.machine.rms_or_peak import UNCLEAR
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.telling_keys import telling_keys
from cfgmigrate.machine.unit_line_words import unit_line_words
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: a value that is one of these is a unit whatever its key says
_SURE = frozenset({"length", "speed", "acceleration", "current"})
#: words of a value that say a unit of lengths, or a part of one, which is none of the table's
_SOME_UNIT = pattern(
    r"(?i)\b(?:inch(?:es)?|imperial|thou|mils?|(?:tenths?|hundredths?|thousandths?)|[cm]?m|feet|microns?)\b|1/10+"
)
_MAY_STATE = pattern(r"(?i)unit|uom|inch|imperial|metric")
_BETWEEN = pattern(r"[ \t]*(?:[,;]|\band\b)[ \t]*")
#: a unit of currents with the word for which current it is: `mA peak`, `A (rms)`
_QUALIFIED = pattern(
    r"(?i)\b(m?a|(?:milli)?amp(?:ere)?s?)[ \t]*[ \t(,][ \t(]*(rms|peak)\b\)?", needs=("rms", "peak")
)
_QUOTES = "\"'[](){} \t"
#: a longer value is no unit, and a file with more such lines is none
_LONGEST = 60
MOST_UNIT_LINES = 200
_YES = frozenset({"", "1", "yes", "true", "on"})
_NO = frozenset({"0", "no", "false", "off"})


class UnitLine(Struct, frozen=True):
    """One line that states units, by what is measured in them. `open` is its text where it states a unit of lengths that
    can't be taken. It is of the settings whose section is or begins with `section` and whose names have all of `things`."""

    at: int
    units: Mapping[str, Unit]
    open: str = ""
    section: str = ""
    things: frozenset[str] = frozenset()
    #: `rms` or `peak`, where the line says one of them behind its unit of currents
    qualifier: str = ""

    def is_of(self, setting: Setting) -> bool:
        within = not self.section or f"{setting.section}.".startswith(f"{self.section}.")
        return within and self.things <= _words(setting.section) | _words(setting.key)


class Measured(Struct, frozen=True):
    """The units that lines of a file state for one setting, and `open`: what they say of its length that can't be taken."""

    units: Mapping[str, Unit] = field(default_factory=dict)
    open: str = ""
    #: `rms` or `peak`, `UNCLEAR` for both, "" where they say neither
    qualifier: str = ""


class UnitLines:
    """The lines of a document that state units."""

    def __init__(self, document: Document) -> None:
        valued = {s.section for s in document.settings if s.key.lower() in telling_keys().value}
        lines = (
            _line(setting)
            for setting in document.settings
            if setting.state is State.ACTIVE
            and len(setting.value) <= _LONGEST
            and setting.section not in valued
        )
        self.lines = tuple(
            line
            if not line.things or any(_meets(line, each) for each in document.settings)
            else _asked(line.at, line.units, line.open)  # its key names what no other setting does
            for line in islice((line for line in lines if line is not None), MOST_UNIT_LINES)
        )
        self._at = frozenset(line.at for line in self.lines)

    def states(self, setting: Setting) -> bool:
        """Whether a setting is such a line."""
        return setting.at in self._at

    def of(self, setting: Setting) -> Measured:
        """What they state for one setting: the nearest counts."""
        if not self.lines or self.states(setting):
            return Measured()
        found: dict[str, Unit] = {}
        asked = qualifier = ""
        mine = [line for line in self.lines if line.is_of(setting)]
        for rank in sorted({_nearness(line) for line in mine}):
            same = [line for line in mine if _nearness(line) == rank]
            stated = {of: unit for line in same for of, unit in line.units.items()}
            asked = next((line.open for line in same if line.open), "" if "length" in stated else asked)
            lengths = {line.units["length"].name for line in same if "length" in line.units}
            if len(lengths) > 1:
                asked = " or ".join(sorted(lengths))
            named = {of: {line.units[of].name for line in same if of in line.units} for of in stated}
            found = {of: unit for of, unit in (found | stated).items() if len(named.get(of, ())) < 2}
            called = {line.qualifier for line in same if "current" in line.units}
            qualifier = (called.pop() if len(called) == 1 else UNCLEAR) if called else qualifier
        return Measured(found, asked, qualifier)

    @property
    def of_file(self) -> frozenset[int]:
        """The places of those that are of the whole file."""
        return frozenset(line.at for line in self.lines if not (line.section or line.things or line.open))

    @property
    def elsewhere(self) -> str:
        """The unit of lengths that is stated for all of this file, where that is not mm: it may be that of the files beside
        it; "" for none."""
        for line in self.lines:
            if not line.section and not line.things:
                unit = line.units.get("length")
                if line.open or (unit and unit.name != "mm"):
                    return line.open or (unit.name if unit else "")
        return ""


@once
def unit_lines_of(document: Document) -> UnitLines:
    """The lines of a document that state units."""
    return UnitLines(document)


def _meets(line: UnitLine, setting: Setting) -> bool:
    return setting.at != line.at and line.is_of(setting)


def _asked(at: int, units: Mapping[str, Unit], asked: str) -> UnitLine:
    """A line of which nobody knows how far it reaches: its lengths are a question wherever they are not in mm."""
    length = units.get("length")
    if length and length.name != "mm":
        units, asked = {of: unit for of, unit in units.items() if of != "length"}, length.name
    return UnitLine(at, units, asked)


def _nearness(line: UnitLine) -> tuple[int, int]:
    return len(line.section), len(line.things)


def _line(setting: Setting) -> UnitLine | None:
    """What a setting states as such a line; None where it is none."""
    if setting.value[:1] in "+-.0123456789" and not _MAY_STATE.search(setting.name):
        return None  # most settings are numbers, and need no closer look
    key, unit, words = split(setting.key), telling_keys().unit, unit_line_words()
    table = frozenset(split(setting.section.rpartition(".")[2]))
    in_table = bool(unit & table) and table <= unit | words.of_all | words.whole | frozenset(words.measured)
    # a number behind `drive unit length` is that length, and no unit
    ends = frozenset(key[-1:] if setting.value[:1] in "+-.0123456789" else (*key[:1], *key[-1:]))
    says_unit = in_table or not unit.isdisjoint(ends)
    measure = next((words.measured[word] for word in key if word in words.measured), "")
    text, qualifier = _without_qualifier(setting.value.strip(_QUOTES))
    units = _units_in(text)
    asked = ""
    if not says_unit and (text[:1].isdigit() or not _is_sure(units)):
        units, asked = {}, _switched(key, text)
        if not asked:
            return None
    elif text.lower() in words.metric:
        units = {}
    elif not units:
        of_lengths = measure in ("length", "") and (_SOME_UNIT.search(text) or (measure and _counts(text)))
        if not of_lengths or not says_unit:
            return None
        asked = text
    if measure and units and measure not in units:
        return None
    return _reaching(setting, units, asked, qualifier)


def _without_qualifier(text: str) -> tuple[str, str]:
    """A text of units without the `rms` or `peak` behind the one of currents, and which of them it is; "" for neither or both."""
    said = {found[2].lower() for found in _QUALIFIED.finditer(text)}
    return _QUALIFIED.sub(r"\1", text), said.pop() if len(said) == 1 else ""


def _reaching(setting: Setting, units: Mapping[str, Unit], asked: str, qualifier: str) -> UnitLine:
    """The line with what it reaches. Where nobody knows that, it says of no current whether it is rms or peak."""
    section, unit, words = setting.section, telling_keys().unit, unit_line_words()
    own = {word for level in section.split(".") for word in split(level)}
    left = own - words.whole - unit - words.of_all
    # `[speeds]` is a part, `[unit of speed]` a statement
    if own & (unit | words.whole) or not left <= frozenset(words.measured):
        left -= frozenset(words.measured)
    known = vocabulary().known - vocabulary().fillers
    things = _words(setting.key) - unit - words.of_all - words.whole - frozenset(words.measured)
    about = frozenset(word for word in left for word in ways_of(word)[0])
    if not things <= known or (left and not known & about):
        return _asked(setting.at, units, asked)
    return UnitLine(setting.at, units, asked, section if left else "", things, qualifier)


def _switched(key: Iterable[str], text: str) -> str:
    """What a switch says of all lengths: `inches = yes`, `metric = no`, `USE_INCHES`; "" for any other setting."""
    words, known = frozenset(key), unit_line_words()
    if (
        words
        - known.of_all
        - telling_keys().unit
        - frozenset(known.measured)
        - known.inches
        - {"use", "metric"}
    ):
        return ""
    on, off = text.lower() in _YES, text.lower() in _NO
    return "inches" if (words & known.inches and on) or ("metric" in words and off) else ""


def _counts(text: str) -> bool:
    """Whether a unit of lengths is a number, which may be a choice of one or how many of them a length counts."""
    value = read_value(text)
    return isinstance(value, Number) and not (value.unit == "mm" and value.value == 1)


def _is_sure(units: Mapping[str, Unit]) -> bool:
    """Whether a value can be nothing but units: one of them is written in two letters and more, and is of what has no other
    sense."""
    return any(unit.of in _SURE and len(unit.name) > 1 and unit.name != "inch" for unit in units.values())


@lru_cache(maxsize=1024)
def _units_in(text: str) -> Mapping[str, Unit]:
    """The units that a text is, and nothing else, by what is measured; none where it states two of one."""
    parts = [part.strip(_QUOTES) for part in _BETWEEN.split(text)]
    if len(parts) == 1 and _unit(parts[0]) is None:
        parts = parts[0].split()
    found: dict[str, Unit] = {}
    for part in parts:
        unit = _unit(part)
        if unit is None or unit.of in found:
            return {}
        found[unit.of] = unit
    return found


def _unit(text: str) -> Unit | None:
    value = read_value(text) if text[:1] == "1" else None
    if isinstance(value, Number) and value.value == 1 and value.unit:
        text = value.unit
    return (unit_written(text) or unit_written(text.lower())) if text else None


@lru_cache(maxsize=8192)
def _words(text: str) -> frozenset[str]:
    """The words of a name, each as the trade spells it."""
    return frozenset(word for piece in split(text) for word in ways_of(piece)[0])
