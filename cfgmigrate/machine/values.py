"""A setting's value as a reading of a quantity: its unit, its span, and whether it can be right.

The unit is what the number or the key says. Where neither says one, it is the quantity's own, if that is
plausible and no other that the trade would write is: where only another is plausible, that one is taken
and a doubt says so, and where both or none are, there is a doubt and no reading. A value that is no number
where a number belongs, such as arithmetic or a percentage, is a doubt too.

This module deliberately knows no words; which quantity it is has been decided before.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from cfgmigrate.dialects.document import Document, Setting, readable
from cfgmigrate.dialects.value import Items, Number, Ratio, Text, Truth, Value, read_value
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.number_text import with_unit
from cfgmigrate.ground.units import Unit, unit_written, units
from cfgmigrate.machine import commas
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.model import Form, Reading, feeder
from cfgmigrate.machine.quantities import Facts, WrittenUnit, facts, of_feeder
from cfgmigrate.machine.vocabulary import vocabulary

#: A name may stand for a name, so many times.
MOST_HOPS = 20
_COUNT_WORDS = frozenset(
    {
        "full",
        "whole",
        "steps",
        "step",
        "per",
        "a",
        "turn",
        "rev",
        "revolution",
        "rotation",
        "microsteps",
        "teeth",
        "x",
    }
)
Definitions = Mapping[str, tuple[Document, Setting]]


@dataclass(frozen=True, slots=True)
class Said:
    """What a value says: readings and doubts. Neither: it is nothing that the quantity can have."""

    readings: tuple[Reading, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    #: doubts about a unit that was found by what is plausible, by that unit: neighbours in the same may settle them
    unsure: tuple[tuple[str, Doubt], ...] = ()

    def of_feeder(self, number: int) -> Said:
        """The same, said of one feeder."""
        return replace(self, readings=tuple(replace(each, holder=feeder(number)) for each in self.readings))


@dataclass(frozen=True, slots=True)
class Spot:
    """A setting in its document, with what is needed to place a part of its value.

    `defined` are settings by their names, where a value may be another's name; `alias` is then the
    setting that was read, while `document` and `setting` are where its number stands.
    """

    document: Document
    setting: Setting
    defined: Definitions = field(default_factory=dict)
    alias: Setting | None = None
    hops: int = 0
    unit: Unit | None = None
    qualifier: str = ""
    file_units: Mapping[str, Unit] = field(default_factory=dict)
    file_qualifier: str = ""

    @property
    def named(self) -> Setting:
        """The setting as a person knows it."""
        return self.alias or self.setting

    def behind(self, value: Value) -> Spot | None:
        """Where the text behind a name stands; None where the value is no such name."""
        if not isinstance(value, Text) or value.text not in self.defined or self.hops >= MOST_HOPS:
            return None
        document, setting = self.defined[value.text]
        return replace(self, document=document, setting=setting, alias=self.named, hops=self.hops + 1)

    def span(self, start: int, end: int) -> tuple[int, int] | None:
        """The byte span of characters `start`..`end` of the value; None where they are not in the file as
        the value has them."""
        raw = self.document.data[self.setting.start : self.setting.end]
        if readable(raw) != self.setting.value:
            return None
        return self.setting.start + byte_offset(raw, start), self.setting.start + byte_offset(raw, end)

    def place(self, start: int = 0) -> Place:
        before = self.setting.value[:start].replace("\r\n", "\n").replace("\r", "\n")
        down, behind = before.count("\n"), before.rpartition("\n")[2]
        column = len(behind) + 1 if down else self.setting.column + len(behind)
        return Place(self.document.path, self.setting.line + down, column)

    def doubt(self, why: str, remedy: str = "", start: int = 0) -> Doubt:
        first = self.setting.value.splitlines()[0] if self.setting.value else ""
        return Doubt(
            self.place(start), f"{self.named.key} = {first}" if first else self.named.key, why, remedy
        )


def byte_offset(raw: bytes, characters: int) -> int:
    """How many bytes of `raw` the first `characters` characters of its readable text are."""
    if raw.isascii():
        return characters
    at = count = 0
    while count < characters and at < len(raw):
        for length in (1, 2, 3, 4):
            try:
                raw[at : at + length].decode("utf-8")
            except UnicodeDecodeError:
                continue
            at, count = at + length, count + 1
            break
        else:
            at, count = at + 1, count + len("\\x00")
    return at


def name_line(setting: Setting, quantity: str, unit: str = "") -> str:
    """The line of a names file that says what a setting is, and in which unit."""
    key = '"' + setting.name.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return f"{key}: {{quantity: {quantity}, unit: {unit}}}" if unit else f"{key}: {quantity}"


def readings_of(spot: Spot, fit: Fit) -> Said:
    """What the setting's value says of the quantity that its name fits."""
    value = read_value(spot.setting.value)
    behind = spot.behind(value)
    if behind is not None:
        return readings_of(behind, fit)
    found = facts(fit.quantity)
    if isinstance(value, Items) and len(value.items) > 1 and not found.quantity.protected:
        return _members(spot, fit, value)
    qualified = _qualified(value, found) if isinstance(value, Text) else None
    if qualified is None:
        return reading_of(spot, fit, value)
    number, word = qualified
    if word and fit.qualifier not in ("", word):
        return Said(
            (), (spot.doubt(f"the key says {fit.qualifier} and the value says {word}", start=value.start),)
        )
    return reading_of(spot, replace(fit, qualifier=word or fit.qualifier), number)


def _qualified(value: Text, found: Facts) -> tuple[Number, str] | None:
    """A number with such a word as `peak` behind its unit, and that word; None where it is no such value."""
    if plain := _in_words(value):
        return plain, ""
    before, _, word = value.text.rpartition(" ")
    inside = read_value(before) if word.lower() in found.qualifiers else None
    if isinstance(inside, Text):
        inside = _in_words(inside)
    if not isinstance(inside, Number):
        return None
    start, end = value.start + inside.start, value.start + inside.end
    return replace(inside, start=start, end=end), word.lower()


def _in_words(value: Text) -> Number | None:
    """A number with a unit of several words behind it (`40 mm per second`), or with the words of a count (`200
    full steps per turn`); None where it is no such value."""
    number, _, words = value.text.partition(" ")
    words = words if unit_written(words) else words.replace("/", " ")
    inside = read_value(number)
    if not isinstance(inside, Number) or inside.unit or not words:
        return None
    unit = unit_written(words)
    if unit is None and not _COUNT_WORDS.issuperset(words.lower().split()):
        return None
    start, end = value.start + inside.start, value.start + inside.end
    return replace(inside, start=start, end=end, unit=unit.name if unit else "")


def _members(spot: Spot, fit: Fit, value: Items) -> Said:
    """A list where one number belongs: one for each feeder, else a doubt."""
    if remedy := commas.how_to_write(value, spot.setting.value):
        return Said((), (spot.doubt(commas.WHY, remedy, value.start),))
    if facts(fit.quantity).quantity.kind == "ratio":
        why = "two counts of teeth stand here, and which gear drives which is not said"
        return Said((), (spot.doubt(why, "write driven:driving"),))
    if not of_feeder(fit.quantity) or len(value.items) > 9:
        return Said((), (spot.doubt("a list stands where one number belongs"),))
    return one_a_feeder(spot, fit, value.items)


def one_a_feeder(spot: Spot, fit: Fit, items: Iterable[Value]) -> Said:
    """What numbers say of which the first is the first feeder's, and so on."""
    return joined([reading_of(spot, fit, item).of_feeder(number) for number, item in enumerate(items, 1)])


def joined(parts: list[Said]) -> Said:
    return Said(
        tuple(reading for part in parts for reading in part.readings),
        tuple(doubt for part in parts for doubt in part.doubts),
        tuple(each for part in parts for each in part.unsure),
    )


def reading_of(spot: Spot, fit: Fit, value: Value) -> Said:
    """What one value (a whole one, or an item of a list) says of a quantity."""
    while isinstance(value, Items) and len(value.items) == 1:
        value = value.items[0]
    behind = spot.behind(value)
    if behind is not None:
        return reading_of(behind, fit, read_value(behind.setting.value))
    found = facts(fit.quantity)
    kind = found.quantity.kind
    if kind == "truth":
        return _truth(spot, fit, value)
    if kind == "text" or (found.quantity.protected and not isinstance(value, Number | Ratio)):
        return _text(spot, fit)
    if isinstance(value, Number):
        return _number(spot, fit, found, value)
    if isinstance(value, Ratio) and found.twos and value.stages[0][0].value == 1 and len(value.stages) == 1:
        return _number(spot, fit, found, value.stages[0][1])
    if isinstance(value, Ratio) and kind == "ratio":
        return _ratio(spot, fit, found, value)
    if isinstance(value, Truth):
        return Said()
    return _no_number(spot, fit, value)


def _no_number(spot: Spot, fit: Fit, value: Value) -> Said:
    label = facts(fit.quantity).quantity.label
    if isinstance(value, Text) and not value.text:
        return Said((), (spot.doubt(f"{label} has no value", "write one, or take the line out"),))
    if isinstance(value, Items):
        return Said((), (spot.doubt(f"a list stands where {label} has one number", start=value.start),))
    if isinstance(value, Text) and "\n" in value.text:
        why = (
            f"{label} must be a plain number, and the value goes on over the lines below, which stand deeper"
        )
        return Said((), (spot.doubt(why, "begin the next line where this one begins", value.start),))
    why = f"{label} must be a plain number; nothing is worked out from text"
    return Said((), (spot.doubt(why, "write the number that it comes to", value.start),))


def _text(spot: Spot, fit: Fit) -> Said:
    setting = spot.setting
    reading = Reading(
        fit.quantity, None, setting.value, spot.place(), setting.start, setting.end, Form(), spot.named
    )
    return Said((reading,))


def _truth(spot: Spot, fit: Fit, value: Value) -> Said:
    truth: bool | None = None
    if isinstance(value, Truth) and fit.turned:
        truth = value.value
    elif isinstance(value, Number) and fit.turned and value.value in (0, 1):
        truth = bool(value.value)
    elif isinstance(value, Number | Text):
        truth = vocabulary().opposites.get(value.text.strip().lower())
        if value.text.strip() == "1":
            truth = None
    label = facts(fit.quantity).quantity.label
    span = spot.span(value.start, value.end)
    if truth is None or span is None:
        return Said((), (spot.doubt(f"{label}: it is not clear which way round this is", start=value.start),))
    text = spot.document.slice(*span)
    place = spot.place(value.start)
    reading = Reading(fit.quantity, float(truth), text, place, *span, Form(), spot.named)
    return Said((reading,))


def _ratio(spot: Spot, fit: Fit, found: Facts, value: Ratio) -> Said:
    span = spot.span(value.start, value.end)
    if span is None:
        return _not_in_file(spot)
    if not found.quantity.plausible(value.value):
        return _implausible(spot, fit, found, f"{value.value:.4g}", value.start)
    form = Form(ratio=True, note="the product of its stages" if len(value.stages) > 1 else "")
    text = spot.document.slice(*span)
    place = spot.place(value.start)
    return Said((Reading(fit.quantity, value.value, text, place, *span, form, spot.named),))


def _number(spot: Spot, fit: Fit, found: Facts, number: Number) -> Said:
    span = spot.span(number.start, number.end)
    if span is None:
        return _not_in_file(spot)
    fit = replace(fit, qualifier=fit.qualifier or _qualifier(spot, found))
    unit, doubts = _unit(spot, fit, found, number)
    if unit is None:
        return Said((), doubts)
    unsure = tuple((unit.unit, doubt) for doubt in doubts)
    qualifier, said = found.qualifiers.get(fit.qualifier, (1.0, ""))
    if unit.reciprocal and number.value == 0:
        return _implausible(spot, fit, found, "a division by zero", number.start)
    value = unit.to_value(number.value) * qualifier
    if not found.quantity.protected:
        if not found.quantity.plausible(value):
            return _implausible(spot, fit, found, _shown(value, found), number.start)
        if found.twos and (value != int(value) or int(value) & (int(value) - 1)):
            why = f"{found.quantity.label} must be a power of two"
            return Said((), (spot.doubt(why, start=number.start),))
    form = Form(
        f"{unit.unit} {fit.qualifier}".strip() if fit.qualifier else unit.unit,
        unit.factor * qualifier,
        unit.reciprocal,
        note="; ".join(note for note in (unit.note, said) if note),
    )
    place = spot.place(number.start)
    text = spot.document.slice(*span)
    switch = _may_be_a_switch(spot, fit, found, number)
    reading = Reading(
        fit.quantity, value, text, place, *span, form, spot.named, editable=not switch, why_not=switch
    )
    return Said((reading,), _unsaid(spot, fit, found, unit, number), unsure)


def _may_be_a_switch(spot: Spot, fit: Fit, found: Facts, number: Number) -> str:
    """Why a lone 0 or 1 is not edited as a length, speed, current or time, "" where it may be. Positions have 0 and 1 for
    themselves: they are what can be negative."""
    own = units().get(found.quantity.unit)
    measured = (
        own is not None
        and own.of in ("length", "speed", "current", "time")
        and (found.quantity.low or 0) >= 0
    )
    if not measured or found.quantity.protected or number.value not in (0, 1):
        return ""
    stated = number.unit or fit.unit or spot.unit or (own and own.of in spot.file_units)
    return "" if stated else f"{number.text} without a unit may be off or on"


def _qualifier(spot: Spot, found: Facts) -> str:
    """`rms` or `peak` where the line or the file states it of such a quantity, else ""."""
    return next((word for word in (spot.qualifier, spot.file_qualifier) if word in found.qualifiers), "")


def _unsaid(spot: Spot, fit: Fit, found: Facts, unit: WrittenUnit, number: Number) -> tuple[Doubt, ...]:
    """A doubt where a word such as RMS or peak would have to be said and is not."""
    if not found.unsaid or fit.qualifier or number.value == 0:
        return ()
    choice = " or ".join(found.qualifiers)
    why = f"{found.quantity.label}: the file does not say {choice}; {number.text} is taken as {found.unsaid}"
    line = name_line(spot.named, fit.quantity, f"{unit.unit} {found.unsaid}")
    return (spot.doubt(why, f"state it in a names file: {line}", number.start),)


def _unit(spot: Spot, fit: Fit, found: Facts, number: Number) -> tuple[WrittenUnit | None, tuple[Doubt, ...]]:
    """The unit a number is in, with a doubt where it was inferred; None with a doubt where it is not clear."""
    stated = found.unit(fit.unit) if fit.unit else None
    if number.unit:
        behind = unit_written(number.unit)
        inline = found.unit(behind.name) if behind else found.unit(number.unit.strip().replace("/", " per "))
        if inline is None:
            if number.unit == "%":
                why = f"{found.quantity.label} is in %, and the file does not say of what"
                remedy = (
                    f"if what it is a share of changes too, leave it; else state it in {found.quantity.unit}"
                )
                return None, (spot.doubt(why, remedy, number.start),)
            why = f"{found.quantity.label} can't be in {number.unit}"
            return None, (
                spot.doubt(why, f"state it in {found.quantity.unit or 'a plain number'}", number.start),
            )
        if stated and (inline.factor, inline.reciprocal) != (stated.factor, stated.reciprocal):
            why = f"the key says {stated.unit} and the value says {inline.unit}"
            return None, (spot.doubt(why, start=number.start),)
        return inline, ()
    beside = found.unit(spot.unit.name) if spot.unit else None
    if stated and beside and not found.quantity.plausible(stated.to_value(number.value)):
        return beside, ()  # `AMPS = 900 ; mA`: the key names the measure, the remark the unit
    if stated:
        return stated, ()
    if beside:
        return beside, ()
    own = units().get(found.quantity.unit)
    usual = spot.file_units.get(own.of) if own else None
    taken = found.unit(usual.name) if usual else None
    if taken and found.quantity.plausible(taken.to_value(number.value)):
        return taken, ()
    return _unstated(spot, fit, found, number)


def _unstated(
    spot: Spot, fit: Fit, found: Facts, number: Number
) -> tuple[WrittenUnit | None, tuple[Doubt, ...]]:
    own, *others = found.units
    qualifier = found.qualifiers.get(fit.qualifier, (1.0, ""))[0]
    if number.value == 0 or found.quantity.protected:
        return own, ()
    possible = [
        unit
        for unit in others
        if unit.thought_of(number.value) and found.quantity.plausible(unit.to_value(number.value) * qualifier)
    ]
    label = found.quantity.label
    if found.quantity.plausible(number.value * qualifier):
        if not possible:
            return own, ()
        names = " or ".join(unit.unit or "a plain number" for unit in (own, *possible))
        remedy = f"state it in a names file: {name_line(spot.named, fit.quantity, own.unit)}"
        return None, (spot.doubt(f"{label}: {number.text} may be in {names}", remedy, number.start),)
    if len(possible) == 1:
        taken = possible[0]
        why = f"{label}: no unit is stated; {number.text} is taken as {taken.unit}, the only plausible one"
        remedy = f"state it in a names file: {name_line(spot.named, fit.quantity, taken.unit)}"
        return taken, (spot.doubt(why, remedy, number.start),)
    said = _implausible(spot, fit, found, _shown(number.value * qualifier, found), number.start)
    return None, said.doubts


def _shown(value: float, found: Facts) -> str:
    return with_unit(f"{value:.6g}", found.quantity.unit)


def _implausible(spot: Spot, fit: Fit, found: Facts, shown: str, start: int) -> Said:
    low, high = found.quantity.low, found.quantity.high
    why = f"{found.quantity.label}: {shown} is not plausible (expected {_bounds(low, high)})"
    remedy = f"if it means something else, say so in a names file: {name_line(spot.named, 'ignore')}"
    return Said((), (spot.doubt(why, remedy, start),))


def _bounds(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return f"at least {low:g}" if low is not None else f"at most {high:g}"
    return f"{low:g} to {high:g}"


def _not_in_file(spot: Spot) -> Said:
    why = "the number does not stand in the file as the value has it, so it could not be edited"
    return Said((), (spot.doubt(why),))
