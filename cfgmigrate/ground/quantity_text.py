"""Quantities as people write them, turned into a number in one wanted unit.

Understood are `420 mm`, `8.42 ± 0.06 mm`, `8.42 +/- 0.06 mm`, `8.42 mm ± 60 um`, `90 N ± 5 %` and the short
form of the GUM (JCGM 100:2008, 7.2.2), `8.42(6) mm`; gear stages, `47:12` or `46:15 x 3:1`; whole numbers.
A number that needs a unit and has none is an error, never a guess.

A unit may be any that a file may have (`units.py`), and any that pint has. Two things that pint allows are
refused: an angle where a plain number or a frequency is wanted (in pint all of them are dimensionless), and a
temperature where a difference is wanted.

This module knows nothing of fields and files: it raises `NotAQuantity`, and the reader says where.
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import NoSuchUnit, Unit, by_pint, listed, tidy, unit_written


class NotAQuantity(ValueError):
    """Text that is no such quantity: what is wrong, and what to write instead."""

    def __init__(self, what: str, remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.remedy = remedy


class Amount(Struct, frozen=True):
    """A value with one standard uncertainty (0: none was given), both in `unit`."""

    value: float
    uncertainty: float
    unit: str


#: kinds that pint takes for plain numbers, so that only the listed units are certain
_ONLY_LISTED = {"angle", "frequency", "plain number", "temperature"}

_LONGEST = 100
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?"
_AMOUNT = pattern(rf"({_NUMBER})\s*(.*)")
_SHORT = pattern(r"([+-]?(?:\d+\.?\d*|\.\d+))\((\d+\.?\d*|\.\d+)\)((?:[eE][+-]?\d{1,3})?)\s*(.*)")
_BRACKETED = pattern(r"\(([^()]*±[^()]*)\)\s*(.*)")
_RANGE = pattern(r"(\d+\.?\d*|\.\d+)\s*(?:-|–|—|\.\.+|…|to)\s*(\d+\.?\d*|\.\d+)\s*(.*)")
_UNIT = pattern(r"(?:1/)?[^\W\d](?:(?!\d\d)[\w%*/^()])*|%")
#: currents are RMS wherever nothing else is said; the peak of a sine is √2 of it
_RMS_OR_PEAK = pattern(
    r"(?P<unit>.*?)[ _]?(?:\(?(?:rms|effective|eff\.?|(?P<peak>peak|pk))\)?)(?:[ ]per[ ](?:phase|winding|coil))?"
    r"|(?P<each>.*?)[ ]per[ ](?:phase|winding|coil)",
    re.IGNORECASE,
)
#: a voltage by the current that it stands for; by the peak it is the smaller number
PER_AMP = "V/A"
_PEAK_IN_RMS = 1 / Decimal(2).sqrt()
#: which of two gears is meant, in a reduction: the motor's is the small one (common practice, no source)
_SIDES = {
    "driving": frozenset(("small", "smaller", "pinion", "motor", "driving")),
    "driven": frozenset(("big", "bigger", "large", "larger", "driven", "wheel")),
}
_SIZES = frozenset(("small", "smaller", "big", "bigger", "large", "larger"))
_OF_A_GEAR = frozenset(("teeth", "tooth", "gear", "cog", "one", "on", "at", "of", "the", "has", "with"))
_BETWEEN_GEARS = pattern(r"\s*(?:[,;:/]|\band\b)\s*", re.IGNORECASE)
_ON_THE_OTHER = pattern(
    r"(?P<one>\d{1,4})\s*(?:teeth|tooth|t)\s+(?:on|against|to|with)\s+(?:an?\s+)?(?P<other>\d{1,4})(?:\s*(?:teeth|tooth|t))?",
    re.IGNORECASE,
)
_STAGE = pattern(r"(\d+\.?\d*)\s*:\s*(\d+\.?\d*)")


def parse_quantity(text: str, unit: str) -> Amount:
    """The quantity that `text` says, in `unit`; for a plain number `unit` is "" and `%` may be written.

    Raises NotAQuantity: no number, no unit, another dimension, an uncertainty below 0, not finite.
    """
    tidy = _tidy(text)
    number, spread, written, spread_unit = _split(tidy, unit)
    if spread < 0:
        raise NotAQuantity("an uncertainty can't be below 0", "Write its size behind the ±.")
    if not written and unit:
        raise NotAQuantity(f"{text!r} has no unit", f"Write {tidy} {unit}, if that is what was measured.")
    value = _converted(number, written, unit)
    if spread_unit == "%" and written != "%":
        if unit == "degC":
            raise NotAQuantity("a temperature has no share of itself", "Write the ± in K.")
        uncertainty = abs(value) * spread / 100
    else:
        uncertainty = _difference(spread, spread_unit or written, unit) if spread else spread
    if not (math.isfinite(float(value)) and math.isfinite(float(uncertainty))):
        raise NotAQuantity(f"{text!r} is not a finite number")
    return Amount(float(value), float(uncertainty), unit)


def parse_ratio(text: str) -> Amount:
    """The product of gear stages (`46:15 x 3:1`, with `x`, `×` or a comma), one stage in words (`big 50, small 17`), or a plain
    number such as `5.56`. Raises NotAQuantity."""
    tidy = in_words(_tidy(text))
    if "/" in tidy:
        raise NotAQuantity(f"{text!r} is no gear ratio", f"Write {tidy.replace('/', ':')} instead.")
    if ":" not in tidy:
        return parse_quantity(tidy, "")
    ratio = Decimal(1)
    for stage in re.split("[x*,]", tidy):
        match = _STAGE.fullmatch(stage.strip())
        if not match:
            raise NotAQuantity(f"{stage.strip()!r} is no gear stage", "Write stages as 47:12 or 46:15 x 3:1.")
        driven, driving = map(Decimal, match.groups())
        if not driven or not driving:
            raise NotAQuantity(
                f"{stage.strip()!r} has a gear without teeth", "Count the teeth of both gears."
            )
        ratio *= driven / driving
    return Amount(float(ratio), 0.0, "")


def in_words(text: str) -> str:
    """Two gears, each with its teeth and which it is, as `driven:driving`; any other text as it is. Raises NotAQuantity where
    the big one has fewer teeth than the small one."""
    # `44 teeth on 10`: of a reduction the bigger one is told first; the other way round it is not clear
    if (pair := _ON_THE_OTHER.fullmatch(text.strip())) and int(pair["one"]) > int(pair["other"]):
        return f"{pair['one']}:{pair['other']}"
    parts = [part.casefold() for part in _BETWEEN_GEARS.split(text)]
    numbers = [re.findall(r"\d{1,9}", part) for part in parts]
    words = [frozenset(re.findall(r"[^\W\d_]+", part)) - _OF_A_GEAR for part in parts]
    if len(parts) != 2 or any(len(found) != 1 for found in numbers) or re.search(r"\d[.]\d", text):
        return text
    teeth: dict[str, str] = {}
    for said, (number,) in zip(words, numbers, strict=True):
        own = said - {"wheel"} or said
        sides = [side for side, names in _SIDES.items() if own and own <= names]
        teeth.update(dict.fromkeys(sides, number))
    if len(teeth) != 2:
        return text
    if int(teeth["driven"]) < int(teeth["driving"]) and not _SIZES.isdisjoint(words[0] | words[1]):
        raise NotAQuantity(
            f"{text!r}: the big gear has fewer teeth than the small one", "Count the teeth of both gears."
        )
    return f"{teeth['driven']}:{teeth['driving']}"


def parse_count(text: str) -> Amount:
    """A whole number, 0 or more. Raises NotAQuantity."""
    if not re.fullmatch(r"\+?[0-9]{1,9}", text):
        raise NotAQuantity(f"{text!r} is no whole number", "Write digits only, without a unit.")
    return Amount(float(int(text)), 0.0, "")


def _tidy(text: str) -> str:
    """One spelling of signs, spaces and powers; the number and the unit stay as they are."""
    if len(text) > _LONGEST:
        raise NotAQuantity(f"{text[:20]!r}… is too long for a value")
    return tidy(text).replace("+/-", "±").replace("+-", "±")


def _split(tidy: str, unit: str) -> tuple[Decimal, Decimal, str, str]:
    """Number, its uncertainty, unit, and the unit of the uncertainty where that has one of its own."""
    if match := _BRACKETED.fullmatch(tidy):
        tidy = " ".join(match.groups())
    if match := _SHORT.fullmatch(tidy):
        digits, last, exponent, written = match.groups()
        return Decimal(digits + exponent), _short_form(digits, last, exponent), written, ""
    first, sign, second = tidy.partition("±")
    number, written = _amount(first.strip(), unit)
    if not sign:
        return number, Decimal(0), written, ""
    spread, beside = _amount(second.strip(), unit)
    return (number, spread, written, beside) if written else (number, spread, beside, "")


def _short_form(digits: str, last: str, exponent: str) -> Decimal:
    """The uncertainty in `8.42(6)`: the digits in brackets stand for the last digits of the number, unless they have
    a point of their own."""
    decimals = 0 if "." in last else len(digits.partition(".")[2])
    return Decimal(f"{last}{exponent or 'e0'}").scaleb(-decimals)


def _amount(text: str, unit: str) -> tuple[Decimal, str]:
    if match := _RANGE.fullmatch(text):
        low, high = Decimal(match[1]), Decimal(match[2])
        middle, half = (low + high) / 2, abs(high - low) / 2
        remedy = f"Write its middle and its half: {middle} ± {half} {match[3] or unit}".strip()
        if low > high:
            remedy = f"If it is a difference, write {low - high} {match[3] or unit}".strip()
        raise NotAQuantity(f"{text!r} is a range", f"{remedy}.")
    if comma := re.match(r"[+-]?\d+,(\d+)", text):
        instead = text.replace(",", ".")
        if len(comma[1]) == 3:
            instead += f" or {text.replace(',', '')}"
        raise NotAQuantity(f"{text!r} has a comma in its number", f"Write {instead} instead.")
    match = _AMOUNT.fullmatch(text)
    if not match or not text.isprintable() or not match[1].isascii():
        what = "is not a finite number" if re.match(r"[+-]?(nan|inf)", text.lower()) else "has no number"
        raise NotAQuantity(
            f"{text!r} {what}", f"Write a number and its unit, such as 1.5 {unit}".strip() + "."
        )
    return Decimal(match[1]), match[2]


def _converted(number: Decimal, written: str, unit: str) -> Decimal:
    """`number` of the unit that is `written`, in `unit`. Raises NotAQuantity."""
    target, given = _known(unit), _meant(written, unit)
    return (number * given.size + given.zero - target.zero) / target.size


def _difference(number: Decimal, written: str, unit: str) -> Decimal:
    """The same for a difference of two values. Raises NotAQuantity."""
    return number * _meant(written, unit).size / _known(unit).size


def _known(unit: str) -> Unit:
    found = listed(unit)
    assert found is not None, f"the fields of sheets have listed units only, not {unit}"
    return found


def _meant(written: str, unit: str) -> Unit:
    """The unit that is written for a quantity in `unit`. Raises NotAQuantity."""
    target, found = _known(unit), listed(written)
    if found is not None:
        if found.of == target.of or (unit == "degC" and found.name == "K"):
            return found
        if unit == "K" and found.of == "temperature":
            what = f"{written} is a temperature, and this is a difference of two"
            raise NotAQuantity(what, "Write it in K.")
        raise NotAQuantity(f"{written!r} is a unit of {found.of}, not of {target.of}", _write_in(unit))
    of_peak = _PEAK_IN_RMS if target.of == "current" else 1 / _PEAK_IN_RMS if unit == PER_AMP else None
    if of_peak is not None and (beside := _RMS_OR_PEAK.fullmatch(written)):
        plain = _meant(beside["each"] if beside["unit"] is None else beside["unit"], unit)
        return replace(plain, size=plain.size * of_peak) if beside["peak"] else plain
    spelled = unit_written(written)
    alike = spelled if spelled is not None and spelled.of == target.of else None
    other = None if target.of in _ONLY_LISTED else _by_pint(written, target)
    if alike and other and alike.size != other.size:
        raise NotAQuantity(f"{written!r} may be {alike.name} and may be something larger", _write_in(unit))
    if found := other or alike:
        return found
    raise NotAQuantity(f"{written!r} is no unit of {target.of}", _write_in(unit))


def _by_pint(written: str, target: Unit) -> Unit | None:
    if not _UNIT.fullmatch(written.replace(" ", "*")):
        return None
    with suppress(NoSuchUnit):
        found = by_pint(written)
        if found.dimension == target.dimension and not found.zero:
            return found
    return None


def _write_in(unit: str) -> str:
    if unit == "A":
        return "Write it in A; where it is said to be the peak, in A peak."
    if unit == PER_AMP:
        return "Write it in V/A; where it counts the peak of the current, in V/A peak."
    return f"Write it in {unit}." if unit else "Write a number without a unit."
