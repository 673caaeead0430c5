"""A setting's value as a reading of a quantity: its span, and whether it can be right.

A value that is no number where a number belongs, such as arithmetic or a percentage, is a doubt; so is a number that
no unit makes plausible (`number_units.py`).

This module deliberately knows no words; which quantity it is has been decided before.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from msgspec.structs import replace

from cfgmigrate.dialects.decimal_commas import unreadable
from cfgmigrate.dialects.value import Items, Number, Ratio, Text, Truth, Value, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import SIDES_OF_A_MACHINE
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine import commas
from cfgmigrate.machine.angle_beside import left_with_its_angle
from cfgmigrate.machine.gear_order import DRIVING_FIRST, UNTOLD, order_said
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.machine.number_units import (
    POINTS_ELSEWHERE,
    implausible,
    in_some_unit,
    may_be_a_switch,
    open_for_others,
    rms_or_peak,
    shown,
    stated_unit,
    unsaid,
)
from cfgmigrate.machine.quantities import Facts, facts, of_feeder
from cfgmigrate.machine.rms_or_peak import OF_ANOTHER, UNCLEAR
from cfgmigrate.machine.spots import Said, Spot, joined, name_line
from cfgmigrate.machine.tables_over import over_what
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.whole_numbers import only_whole_numbers
from cfgmigrate.machine.words import split

#: what a motor has whole, and how far off its step angle may be rounded
_FULL_STEPS, _NO_WHOLE = ".full_steps", 0.1
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


#: how a unit's end says what a current is
_ENDINGS = {"peak": "peak", "pk": "peak", "rms": "rms"}


def _qualified(value: Text, found: Facts) -> tuple[Number, str] | None:
    """A number with such a word as `peak` behind its unit, and that word; None where it is no such value."""
    if plain := _in_words(value):
        return plain, ""
    before, _, word = value.text.rpartition(" ")
    word = word.strip("()")
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
    if over := over_what(spot, len(value.items)):
        why = f"it may be a table over the {over} beside it, and then it is not one number for each feeder"
        return Said((), (spot.doubt(why),))
    said = one_a_feeder(spot, fit, value.items)
    numbers = [item.value for item in value.items if isinstance(item, Number)]
    if said.readings and not all(not each or in_some_unit(facts(fit.quantity), each) for each in numbers):
        return Said(
            (), said.doubts
        )  # what holds a place or a table besides is no list of one for each feeder
    return said


def one_a_feeder(spot: Spot, fit: Fit, items: Iterable[Value]) -> Said:
    """What numbers say of which the first is the first feeder's, and so on."""
    return joined([reading_of(spot, fit, item).of_feeder(number) for number, item in enumerate(items, 1)])


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
    if kind == "number" and isinstance(value, Text) and value.text.casefold() in _WHERE:
        return Said()  # `switch sits: left` says where it is, and no position
    if kind == "text" or (found.quantity.protected and not isinstance(value, Number | Ratio)):
        return _text(spot, fit)
    if isinstance(value, Number):
        return left_with_its_angle(_number(spot, fit, found, value), spot, fit, value)
    if isinstance(value, Ratio) and found.twos and value.stages[0][0].value == 1 and len(value.stages) == 1:
        return _number(spot, fit, found, value.stages[0][1])
    if isinstance(value, Ratio) and kind == "ratio":
        return _ratio(spot, fit, found, value)
    if isinstance(value, Truth):
        return Said()
    return _no_number(spot, fit, value)


#: how the remedy begins for a formula that is no number
LEAVE_IT = "leave the formula"
#: numbers with a sign between that a list may have: they come to no one number
_SEVERAL = pattern(r"[-+]?[\d.]+(?:[ \t]*[:;|][ \t]*[-+]?[\d.]+)+")
#: names and numbers with signs of arithmetic, and a name in it
_FORMULA = pattern(r"[\w.()+*/ \t-]*")
#: something beside something, with a sign of arithmetic
_WORKED_OUT = pattern(r"[\w)][ \t]*[+*/][ \t]*[\w(]|[\w)][ \t]+-[ \t]*[\w(]")
_NAME = pattern(r"(?<![\w.])[A-Za-z_]\w*")
#: words that say where something sits or how it turns, and no number
_WHERE = SIDES_OF_A_MACHINE | {"min", "max", "low", "high", "below", "above", "under", "none", "forward", "forwards", "backward", "backwards",
                               "clockwise", "anticlockwise", "counterclockwise"}  # fmt: skip


#: what stands for a number that is said elsewhere: `pull = board`, `lag = =machine`
_ELSEWHERE = pattern(
    r"(?i)=\s*[a-z_][\w.-]{0,60}|(?:(?:as|like|from|by|of|the|in)\s+)*(?:board|machine|printer|default|defaults|inherit|inherited|global|parent|same)"
)
#: what may stand so, and is of whoever goes by that name: `pull back = as ferry`
_AS_ANOTHER = pattern(
    r"(?i)(?:same as|as|like)\s+(?:(?:for|on|the)\s+)*[a-z][a-z'-]{1,20}(?:\s+[a-z][a-z'-]{1,20})?"
)
_SIGNS = frozenset(("+", "-", "\N{MINUS SIGN}"))
_SCREW = pattern(r"(?i)(?:(?:by|on|at|the|a|its)\s+)*(?:screw|potentiometer|trimmer|trimpot|pot)s?")


def _word_for(spot: Spot, fit: Fit, text: str, start: int, label: str) -> Said | None:
    """What a word says that stands in a number's place and is no formula: a sign is a direction, a screw sets a current, and
    a word that points elsewhere has no value of its own. None for any other text."""
    if text in _SIGNS:
        return Said()
    if _ELSEWHERE.fullmatch(text) and text.lstrip("= ") not in spot.defined:
        why = f"{label}: this word points elsewhere, and what is said there holds"
        doubt = spot.doubt(why, "nothing has to be written here: it follows what it points to", start)
        return Said((), (dataclasses.replace(doubt, about=POINTS_ELSEWHERE),))
    if _AS_ANOTHER.fullmatch(text):
        why = f"{label} must be a plain number; it seems to be said elsewhere, and where is not known"
        remedy = f"if that is the machine or another profile, it follows: say so in cfgmigrate.yaml, under meanings: {name_line(spot.named, 'ignore')}; else write the number"
        return Said((), (spot.doubt(why, remedy, start),))
    if _SCREW.fullmatch(text) and "current" in vocabulary().names_in(frozenset(split(spot.setting.key))):
        if not of_feeder(fit.quantity):
            return Said()  # that motor stays, and so does its screw
        why = f"{label}: this says that a screw on the driver sets it, so that no file holds it"
        remedy = "nothing has to be written here: say in the sheet that a screw sets it (new.driver.set_by: screw), and what to set is told as a step by hand"
        return Said((), (spot.doubt(why, remedy, start),))
    return None


def _no_number(spot: Spot, fit: Fit, value: Value) -> Said:
    label = facts(fit.quantity).quantity.label
    if isinstance(value, Text) and (word := _word_for(spot, fit, value.text.strip(), value.start, label)):
        return word
    if isinstance(value, Text) and not value.text:
        return Said((), (spot.doubt(f"{label} has no value", "write one, or take the line out"),))
    if isinstance(value, Items):
        return Said((), (spot.doubt(f"a list stands where {label} has one number", start=value.start),))
    if isinstance(value, Text) and "\n" in value.text:
        why = (
            f"{label} must be a plain number, and the value goes on over the lines below, which stand deeper"
        )
        return Said((), (spot.doubt(why, "begin the next line where this one begins", value.start),))
    if isinstance(value, Text) and value.text.casefold() in _WHERE:
        return Said()  # `end of x = RIGHT` says where something sits, and how far it goes elsewhere
    if spot.document.commas and unreadable(spot.setting.value):
        return Said((), (spot.doubt(commas.MIXED, commas.WRITE_ANEW, value.start),))
    if isinstance(value, Ratio | Text) and _SEVERAL.fullmatch(spot.setting.value.strip()):
        why = f"several numbers stand where {label} has one; nothing was taken from them"
        remedy = "where each is another feeder's, set each by hand, or give each feeder a line of its own"
        return Said((), (spot.doubt(why, remedy, value.start),))
    why = f"{label} must be a plain number; nothing is worked out from text"
    parts = _parts_of_a_formula(spot, value)
    remedy = (
        f"{LEAVE_IT}: it follows by itself where its parts ({', '.join(parts)}) are changed; check what it comes to then"
        if parts
        else "look what it comes to for the new drive, and change it by hand; a plain number would no longer follow what it is made of"
        if _WORKED_OUT.search(spot.setting.value)
        else f"if it means something else, say so in cfgmigrate.yaml, under meanings: {name_line(spot.named, 'ignore')}; else write "
        "the number alone"
    )
    return Said((), (spot.doubt(why, remedy, value.start),))


def _parts_of_a_formula(spot: Spot, value: Value) -> tuple[str, ...]:
    """The names in a formula of nothing but numbers and settings of the files; none where it is anything else."""
    if not isinstance(value, Text) or not _FORMULA.fullmatch(value.text):
        return ()
    names = tuple(dict.fromkeys(_NAME.findall(value.text)))
    return names if all(name in spot.defined for name in names) else ()


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


#: why a ratio in brackets is not written: only a number takes the place of a number, and in C 50/17 is 2
IN_BRACKETS = "it is a division in brackets"


def _ratio(spot: Spot, fit: Fit, found: Facts, value: Ratio) -> Said:
    span = spot.span(value.start, value.end)
    if span is None:
        return _not_in_file(spot)
    number, several, why = value.value, len(value.stages) > 1, ""
    order = order_said(fit.order, spot) if of_feeder(fit.quantity) else 1
    turned = order < 0 and not several and found.quantity.plausible(1 / number)
    if turned:
        number = 1 / number
    elif number == 1 and (order == 0 or several):
        why = UNTOLD
    if not found.quantity.plausible(number):
        return implausible(spot, fit, found, f"{number:.4g}", value.start)
    text = spot.document.slice(*span)
    if "(" in text and not why:
        why = IN_BRACKETS
    note = "the product of its stages" if several else f"{DRIVING_FIRST} here" if turned else ""
    form = Form(ratio=True, note=note, driving_first=turned, commas=spot.document.commas)
    reading = Reading(
        fit.quantity,
        number,
        text,
        spot.place(value.start),
        *span,
        form,
        spot.named,
        editable=not why,
        why_not=why,
    )
    return Said((reading,))


def _number(spot: Spot, fit: Fit, found: Facts, number: Number) -> Said:
    span = spot.span(number.start, number.end)
    if span is None:
        return _not_in_file(spot)
    number, word = _glued(number, found)
    if word and fit.qualifier not in ("", word):
        why = f"the key says {fit.qualifier} and the value says {word}"
        return Said((), (spot.doubt(why, start=number.start),))
    key = word or fit.qualifier
    fit = replace(fit, qualifier=key or rms_or_peak(spot, found))
    unit, doubts = stated_unit(spot, fit, found, number)
    if unit is None:
        return Said((), doubts)
    unsure = tuple((unit.unit, doubt) for doubt in doubts)
    qualifier, said = found.qualifiers.get(fit.qualifier, (1.0, ""))
    if unit.reciprocal and number.value == 0:
        return implausible(spot, fit, found, "a division by zero", number.start)
    value = unit.to_value(number.value) * qualifier
    if not found.quantity.plausible(value):
        return implausible(spot, fit, found, shown(value, found), number.start)
    if not found.quantity.protected and found.twos and (value != int(value) or int(value) & (int(value) - 1)):
        why = f"{found.quantity.label} must be a power of two"
        return Said((), (spot.doubt(why, start=number.start),))
    if fit.quantity.endswith(_FULL_STEPS) and abs(value - round(value)) > _NO_WHOLE:
        why = f"{found.quantity.label}: a motor has a whole number of them, and this comes to {value:.4g}"
        remedy = f"if it means something else, say so in cfgmigrate.yaml, under meanings: {name_line(spot.named, 'ignore')}"
        return Said((), (spot.doubt(why, remedy, number.start),))
    form = Form(
        f"{unit.unit} {fit.qualifier}".strip() if fit.qualifier else unit.unit,
        unit.factor * qualifier,
        unit.reciprocal,
        note="; ".join(note for note in (unit.note, said) if note),
        commas=spot.document.commas,
        whole=only_whole_numbers(spot.document),
    )
    place = spot.place(number.start)
    text = spot.document.slice(*span)
    switch = (
        may_be_a_switch(spot, fit, found, number)
        or open_for_others(spot, fit, found, number)
        or _both_said(spot, key, found)
        or commas.in_such_a_list(spot)
    )
    reading = Reading(
        fit.quantity, value, text, place, *span, form, spot.named, editable=not switch, why_not=switch
    )
    return Said((reading,), unsaid(spot, fit, found, unit, number), unsure)


def _glued(number: Number, found: Facts) -> tuple[Number, str]:
    """A number whose unit has such a word as `peak` joined to it (`1.2Apk`) without it, and the word; "" for none."""
    unit = number.unit.lower()
    for ending, word in _ENDINGS.items():
        before = number.unit[: -len(ending)].rstrip("_- ")
        if word in found.qualifiers and unit.endswith(ending) and before and unit_written(before):
            return replace(number, unit=before), word
    return number, ""


def _both_said(spot: Spot, key: str, found: Facts) -> str:
    """Why a current is not edited of which its remark leaves open whether it is rms or peak, and all else does too; "" for
    any other number."""
    if (
        found.qualifiers
        and spot.file_qualifier == UNCLEAR
        and not key
        and spot.qualifier not in found.qualifiers
    ):
        return spot.unclear or "this file says rms and peak, and not which of them this number is"
    open_ = spot.qualifier == UNCLEAR or spot.qualifier.endswith(OF_ANOTHER)
    unclear = open_ and found.qualifiers and not key and spot.file_qualifier not in found.qualifiers
    return "its remark says rms or peak, and not which of them this number is" if unclear else ""


def _not_in_file(spot: Spot) -> Said:
    why = "the number does not stand in the file as the value has it, so it could not be edited"
    return Said((), (spot.doubt(why),))
