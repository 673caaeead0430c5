"""Numbers and their units as people read them: the one place where a quantity becomes text.

A value is shown with the digits that its uncertainty allows: two significant digits of the uncertainty decide
(GUM, JCGM 100:2008, 7.2.6). A value without uncertainty is shown with at most six significant digits and never
with the noise of binary fractions. Units get their proper signs (SI brochure, 5.4), and `1/mm` is "per mm".

This module rounds only what is shown. What goes into a file is written by `plan/encoding.py`, and what people
write is read by `quantity_text.py`.
"""

from __future__ import annotations

import math
import re
from decimal import ROUND_DOWN, Decimal
from functools import lru_cache

MINUS = "−"
SIGNIFICANT = 6
#: how sure the last digit of a number is that was read off a scale: a half divided by the square root of 3
RESOLUTION = 0.288675
MOST_SHOWN_DECIMALS = 9
_SUPERSCRIPT = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_SIGNS = {
    "dm": "100 mm",
    "ohm": "Ω",
    "kohm": "kΩ",
    "mohm": "mΩ",
    "degC": "°C",
    "delta_degC": "K",
    "deg": "°",
    "degree": "°",
    "percent": "%",
    "dimensionless": "",
    "um": "µm",
    "us": "µs",
    "turn": "turn",
    "rms": "RMS",
}


def decimals_of(uncertainty: float) -> int:
    """Digits after the point that show two significant digits of `uncertainty` (negative: tens, …)."""
    exponent = math.floor(math.log10(uncertainty))
    decimals = 1 - exponent
    # 0.0996 rounds to 0.10: its two digits then stand one place further left
    return decimals - 1 if round(uncertainty, decimals) >= 10.0 ** (exponent + 1) else decimals


@lru_cache(maxsize=4096)
def number(value: float, uncertainty: float = 0.0, digits: int = SIGNIFICANT) -> str:
    """`value` as a person writes it, with the digits its `uncertainty` allows; where none is known (0), with
    at most `digits` significant ones."""
    if math.isnan(value):
        return "not a number"
    if math.isinf(value):
        return "∞" if value > 0 else f"{MINUS}∞"
    if uncertainty > 0 and math.isfinite(uncertainty):
        return _fixed(value, min(decimals_of(uncertainty), MOST_SHOWN_DECIMALS))
    return _significant(value, digits)


@lru_cache(maxsize=4096)
def plus_minus(value: float, uncertainty: float = 0.0, digits: int = SIGNIFICANT) -> str:
    """`4.145 ± 0.034`, or the value alone where no uncertainty is known."""
    if uncertainty > 0 and math.isfinite(uncertainty):
        return f"{number(value, uncertainty)} ± {number(uncertainty, uncertainty)}"
    return number(value, digits=digits)


def for_hand(value: float) -> str:
    """A figure that a person sets by hand or begins with: no more digits than a hand can set, and never above the
    value, so that what is set stays below it: 46.69 is 46, and 1.096 is 1.09."""
    if not value:
        return "0"
    first = math.floor(math.log10(abs(value)))
    step = Decimal(1).scaleb(first - (2 if f"{abs(value):e}".startswith("1") else 1))
    # six digits first, so that binary noise does not make 0.55 a 0.54
    return _significant(float(Decimal(f"{value:.5e}").quantize(step, ROUND_DOWN)), SIGNIFICANT)


def alone(value: float, uncertainty: float, name: str) -> str:
    """A quantity that a person is to write or set: without its ±, and without zeros that say only how small that is."""
    text = number(value, uncertainty)
    return with_unit(text.rstrip("0").rstrip(".") if "." in text else text, name)


@lru_cache(maxsize=1024)
def sign(name: str) -> str:
    """A unit's proper signs: `mm/s^2` → `mm/s²`, `ohm` → `Ω`, `N*cm` → `N·cm`, `1/mm` → `per mm`."""
    spaced = name.replace("**", "^").strip()
    powered = re.sub(r"\^\(?(-?\d+)\)?", lambda found: found[1].translate(_SUPERSCRIPT), spaced)
    signed = re.sub(r"[A-Za-z_]+", lambda found: _SIGNS.get(found[0], found[0]), powered)
    joined = re.sub(r"\s*\*\s*", "·", signed)
    return "" if joined == "1" else re.sub(r"^1/", "per ", joined)


def with_unit(text: str, name: str) -> str:
    """A written number and its unit, with the space that the unit asks for."""
    shown = sign(name)
    if not shown:
        return text
    return f"{text}{shown}" if shown == "°" else f"{text} {shown}"


def measure(value: float | None, uncertainty: float = 0.0, name: str = "", digits: int = SIGNIFICANT) -> str:
    """A quantity: `4.145 ± 0.034 mm`. An unknown value is a dash."""
    if value is None:
        return "–"
    return with_unit(plus_minus(value, uncertainty, digits), name)


def _fixed(value: float, decimals: int) -> str:
    rounded = round(value, decimals)
    if abs(rounded) >= 1e7:
        return _power(value)
    return f"{rounded:.{max(decimals, 0)}f}".replace("-", MINUS) if rounded else f"{0:.{max(decimals, 0)}f}"


def _significant(value: float, digits: int) -> str:
    if value == 0:
        return "0"
    if not 1e-4 <= abs(value) < 1e7:
        return _power(value)
    decimals = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    written = f"{value:.{decimals}f}"
    short = written.rstrip("0").rstrip(".") if "." in written else written
    return short.replace("-", MINUS)


def _power(value: float) -> str:
    mantissa, exponent = f"{value:.5e}".split("e")
    short = mantissa.rstrip("0").rstrip(".").replace("-", MINUS)
    return f"{short} × 10{str(int(exponent)).translate(_SUPERSCRIPT)}"
