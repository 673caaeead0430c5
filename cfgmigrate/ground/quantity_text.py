"""Quantities as people write them, turned into a number in one wanted unit.

Understood are `420 mm`, `7.33 ± 0.06 mm`, `7.33 +/- 0.06 mm`, `7.33 mm ± 60 um`, `90 N ± 5 %` and the short
form of the GUM (JCGM 100:2008, 7.2.2), `7.33(6) mm`; gear stages, `50:9` or `50:17, 3:1`; whole numbers.
A number that needs a unit and has none is an error, never a guess.

Units are those of pint. The common ones stand in `SCALES` too, so that an ordinary sheet is read without
building pint's registry, and in decimal arithmetic, so that 350 mA is 0.35 A to the last bit; a test
holds each of them against pint. Two things that pint allows are refused: an angle where a plain number or
a frequency is wanted (in pint all of them are dimensionless), and a temperature where a difference is wanted.

This module knows nothing of fields and files: it raises `NotAQuantity`, and the reader says where.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any


class NotAQuantity(ValueError):
    """Text that is no such quantity: what is wrong, and what to write instead."""

    def __init__(self, what: str, remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.remedy = remedy


@dataclass(frozen=True, slots=True)
class Amount:
    """A value with one standard uncertainty (0: none was given), both in `unit`."""

    value: float
    uncertainty: float
    unit: str


#: what is measured → unit → its size, all sizes of one kind in the same unit
SCALES: dict[str, dict[str, str]] = {
    "length": {"mm": "1", "cm": "10", "m": "1000", "um": "1e-3", "in": "25.4", "inch": "25.4"},
    "angle": {"deg": "1", "rad": repr(180 / math.pi), "turn": "360"},
    "current": {"A": "1", "mA": "1e-3", "uA": "1e-6"},
    "voltage": {"V": "1", "mV": "1e-3"},
    "resistance": {"ohm": "1", "mohm": "1e-3", "kohm": "1e3"},
    "inductance": {"mH": "1", "H": "1e3", "uH": "1e-3"},
    "torque": {"N*cm": "1", "N*m": "100", "N*mm": "0.1", "mN*m": "0.1"},
    "moment of inertia": {"g*cm^2": "1", "kg*cm^2": "1e3", "kg*m^2": "1e7"},
    "mass": {"g": "1", "kg": "1e3", "mg": "1e-3"},
    "force": {"N": "1", "kN": "1e3", "mN": "1e-3"},
    "time": {"s": "1", "ms": "1e-3", "us": "1e-6", "ns": "1e-9", "min": "60"},
    "speed": {"mm/s": "1", "cm/s": "10", "m/s": "1e3", "mm/min": repr(1 / 60)},
    "acceleration": {"mm/s^2": "1", "m/s^2": "1e3"},
    "frequency": {"kHz": "1", "Hz": "1e-3", "MHz": "1e3", "1/s": "1e-3"},
    "number per length": {"1/mm": "1", "1/cm": "0.1", "1/m": "1e-3"},
    "pressure": {"GPa": "1", "MPa": "1e-3", "kPa": "1e-6", "Pa": "1e-9", "N/mm^2": "1e-3"},
    "thermal resistance": {"K/W": "1", "degC/W": "1"},
    "temperature difference": {"K": "1", "mK": "1e-3"},
    "plain number": {"": "1", "%": "1e-2"},
}

#: unit → the size of its degree in K, and what 0 in it is in degC
TEMPERATURES: dict[str, tuple[Decimal, Decimal]] = {
    "degC": (Decimal(1), Decimal(0)),
    "K": (Decimal(1), Decimal("-273.15")),
    "degF": (Decimal(5) / 9, Decimal(-160) / 9),
}

#: other spellings of these units
SPELLINGS: dict[str, str] = {
    "°": "deg", "degree": "deg", "degrees": "deg", "turns": "turn",
    "°C": "degC", "℃": "degC", "°F": "degF", "°C/W": "degC/W",
    "Ω": "ohm", "Ohm": "ohm", "ohms": "ohm", "mΩ": "mohm", "kΩ": "kohm",
    "Ncm": "N*cm", "Nm": "N*m", "Nmm": "N*mm", "mNm": "mN*m",
    "gcm^2": "g*cm^2", "kgcm^2": "kg*cm^2", "kgm^2": "kg*m^2",
    "µm": "um", "µs": "us", "µH": "uH", "µA": "uA",
    "/mm": "1/mm", "steps/mm": "1/mm", "step/mm": "1/mm", "/s": "1/s", "steps/s": "1/s",
    "mm/s/s": "mm/s^2",
}  # fmt: skip

_KIND_OF = {unit: kind for kind, units in SCALES.items() for unit in units}
#: kinds that pint takes for plain numbers, so that only the units above are certain
_ONLY_LISTED = {"angle", "frequency", "plain number", "temperature"}

_LONGEST = 100
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?"
_AMOUNT = re.compile(rf"({_NUMBER})\s*(.*)")
_SHORT = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\((\d+\.?\d*|\.\d+)\)((?:[eE][+-]?\d{1,3})?)\s*(.*)")
_BRACKETED = re.compile(r"\(([^()]*±[^()]*)\)\s*(.*)")
_RANGE = re.compile(r"(\d+\.?\d*|\.\d+)\s*(?:-|–|—|\.\.+|…|to)\s*(\d+\.?\d*|\.\d+)\s*(.*)")
_UNIT = re.compile(r"(?:1/)?[^\W\d][\w%*/^()]*|%")
_STAGE = re.compile(r"(\d+\.?\d*)\s*:\s*(\d+\.?\d*)")
_TIDY = str.maketrans({"−": "-", "·": "*", "⋅": "*", "×": "*", "²": "^2", "³": "^3", "μ": "µ", "Ω": "Ω"})


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
        uncertainty = spread * _scale(spread_unit or written, unit, difference=True) if spread else spread
    if not (math.isfinite(float(value)) and math.isfinite(float(uncertainty))):
        raise NotAQuantity(f"{text!r} is not a finite number")
    return Amount(float(value), float(uncertainty), unit)


def parse_ratio(text: str) -> Amount:
    """The product of gear stages (`50:17, 3:1`), or a plain number such as `5.56`. Raises NotAQuantity."""
    tidy = _tidy(text)
    if "/" in tidy:
        raise NotAQuantity(f"{text!r} is no gear ratio", f"Write {tidy.replace('/', ':')} instead.")
    if ":" not in tidy:
        return parse_quantity(tidy, "")
    ratio = Decimal(1)
    for stage in tidy.split(","):
        match = _STAGE.fullmatch(stage.strip())
        if not match:
            raise NotAQuantity(f"{stage.strip()!r} is no gear stage", "Write stages as 50:9 or 50:17, 3:1.")
        driven, driving = map(Decimal, match.groups())
        if not driven or not driving:
            raise NotAQuantity(
                f"{stage.strip()!r} has a gear without teeth", "Count the teeth of both gears."
            )
        ratio *= driven / driving
    return Amount(float(ratio), 0.0, "")


def parse_count(text: str) -> Amount:
    """A whole number, 0 or more. Raises NotAQuantity."""
    if not re.fullmatch(r"\+?[0-9]{1,9}", text):
        raise NotAQuantity(f"{text!r} is no whole number", "Write digits only, without a unit.")
    return Amount(float(int(text)), 0.0, "")


def _tidy(text: str) -> str:
    """One spelling of signs, spaces and powers; the number and the unit stay as they are."""
    if len(text) > _LONGEST:
        raise NotAQuantity(f"{text[:20]!r}… is too long for a value")
    tidy = re.sub(r"\s+", " ", text.strip()).translate(_TIDY)
    tidy = tidy.replace("+/-", "±").replace("+-", "±").replace("**", "^")
    return re.sub(r"\s*([*/^])\s*", r"\1", tidy)


def _split(tidy: str, unit: str) -> tuple[Decimal, Decimal, str, str]:
    """Number, its uncertainty, unit, and the unit of the uncertainty where that has one of its own."""
    if match := _BRACKETED.fullmatch(tidy):
        tidy = " ".join(match.groups())
    if match := _SHORT.fullmatch(tidy):
        digits, last, exponent, written = match.groups()
        return Decimal(digits + exponent), _short_form(digits, last, exponent), _spelled(written), ""
    first, sign, second = tidy.partition("±")
    number, written = _amount(first.strip(), unit)
    if not sign:
        return number, Decimal(0), written, ""
    spread, beside = _amount(second.strip(), unit)
    return (number, spread, written, beside) if written else (number, spread, beside, "")


def _short_form(digits: str, last: str, exponent: str) -> Decimal:
    """The uncertainty in `7.33(6)`: the digits in brackets stand for the last digits of the number, unless they have
    a point of their own."""
    decimals = 0 if "." in last else len(digits.partition(".")[2])
    return Decimal(f"{last}{exponent or 'e0'}").scaleb(-decimals)


def _amount(text: str, unit: str) -> tuple[Decimal, str]:
    if match := _RANGE.fullmatch(text):
        low, high = Decimal(match[1]), Decimal(match[2])
        middle, half = (low + high) / 2, abs(high - low) / 2
        remedy = f"Write its middle and its half: {middle} ± {half} {match[3] or unit}".strip()
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
    return Decimal(match[1]), _spelled(match[2])


def _spelled(written: str) -> str:
    return SPELLINGS.get(written, written)


def _converted(number: Decimal, written: str, unit: str) -> Decimal:
    scaled = number * _scale(written, unit)
    return scaled + TEMPERATURES[written][1] if unit == "degC" else scaled


def _scale(written: str, unit: str, difference: bool = False) -> Decimal:
    """How many `unit` one `written` is; for temperatures, of their degrees. Raises NotAQuantity."""
    kind = "temperature" if unit == "degC" else _KIND_OF[unit]
    if unit == "degC" and written in TEMPERATURES:
        return TEMPERATURES[written][0]
    if unit == "K" and written in ("degC", "degF"):
        raise NotAQuantity(f"{written} is a temperature, and this is a difference of two", "Write it in K.")
    sizes = SCALES.get(kind, {})
    if written in sizes:
        return Decimal(sizes[written]) / Decimal(sizes[unit])
    if written in _KIND_OF or written in TEMPERATURES:
        measured = _KIND_OF.get(written, "temperature")
        raise NotAQuantity(f"{written!r} is a unit of {measured}, not of {kind}", _write_in(unit))
    if kind == "current" and re.search(r"(rms|peak)$", written, re.IGNORECASE):
        remedy = "Write it in A without the word; where the sheet says RMS, divide a peak by 1.414."
        raise NotAQuantity(f"{written!r} is more than a unit of current", remedy)
    scale = None if kind in _ONLY_LISTED else _pint_scale(written, unit)
    if scale is None:
        raise NotAQuantity(f"{written!r} is no unit of {kind}", _write_in(unit))
    return scale


def _write_in(unit: str) -> str:
    return f"Write it in {unit}." if unit else "Write a number without a unit."


@lru_cache(maxsize=256)
def _pint_scale(written: str, unit: str) -> Decimal | None:
    """How many `unit` one `written` is, as pint has it; None where it is no unit of that dimension."""
    if not _UNIT.fullmatch(written.replace(" ", "*")) or re.search(r"\d\d", written):
        return None
    registry = _registry()
    try:
        parsed = registry.parse_units(written)
        _, roots = registry.get_root_units(parsed)
        if "radian" in str(roots):
            return None
        return Decimal(registry.Quantity(Decimal(1), parsed).to(unit).magnitude)
    except Exception:  # pint raises many kinds of error for text that is no unit, and for other dimensions
        return None


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Decimal)
