"""Numbers, units and shares as people write them.

A value is shown with the digits its uncertainty allows: two significant digits of the uncertainty decide
(GUM, JCGM 100:2008, 7.2.6). A value without uncertainty is shown with at most six significant digits and
never with the noise of binary fractions. Units get their proper signs (SI brochure, 5.4).

This module deliberately rounds only what is shown; values that go into a file were rounded before.
"""

from __future__ import annotations

import math
import re

MINUS = "−"
SIGNIFICANT = 6
WORKED_OUT = 4
"""Significant digits of a number that was worked out and has no uncertainty of its own."""
MOST_DECIMALS = 9
_SUPERSCRIPT = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_SIGNS = {
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
}
_NO_SPACE = {"°", "%"}


def decimals_of(uncertainty: float) -> int:
    """Digits after the point that show two significant digits of `uncertainty` (negative: tens, …)."""
    exponent = math.floor(math.log10(uncertainty))
    decimals = 1 - exponent
    # 0.0996 rounds to 0.10: its two digits then stand one place further left
    return decimals - 1 if round(uncertainty, decimals) >= 10.0 ** (exponent + 1) else decimals


def number(value: float, uncertainty: float = 0.0, digits: int = SIGNIFICANT) -> str:
    """`value` as a person writes it, with the digits its `uncertainty` allows; where none is known (0), with
    at most `digits` significant ones."""
    if math.isnan(value):
        return "not a number"
    if math.isinf(value):
        return "∞" if value > 0 else f"{MINUS}∞"
    if uncertainty > 0 and math.isfinite(uncertainty):
        return _fixed(value, min(decimals_of(uncertainty), MOST_DECIMALS))
    return _significant(value, digits)


def plus_minus(value: float, uncertainty: float = 0.0, digits: int = SIGNIFICANT) -> str:
    """`4.145 ± 0.034`, or the value alone where no uncertainty is known."""
    if uncertainty > 0 and math.isfinite(uncertainty):
        return f"{number(value, uncertainty)} ± {number(uncertainty, uncertainty)}"
    return number(value, digits=digits)


def unit(name: str) -> str:
    """A unit's proper signs: `mm/s^2` → `mm/s²`, `ohm` → `Ω`, `N*cm` → `N·cm`, `1/mm` → `per mm`."""
    spaced = name.replace("**", "^").strip()
    powered = re.sub(r"\^\(?(-?\d+)\)?", lambda found: found[1].translate(_SUPERSCRIPT), spaced)
    signed = re.sub(r"[A-Za-z_]+", lambda found: _SIGNS.get(found[0], found[0]), powered)
    joined = re.sub(r"\s*\*\s*", "·", signed)
    return "" if joined == "1" else re.sub(r"^1/", "per ", joined)


def with_unit(text: str, name: str) -> str:
    """A written number and its unit, with the space that the unit asks for."""
    sign = unit(name)
    if not sign:
        return text
    return f"{text}{sign}" if sign in _NO_SPACE else f"{text} {sign}"


def measure(value: float | None, uncertainty: float = 0.0, name: str = "", digits: int = SIGNIFICANT) -> str:
    """A quantity: `4.145 ± 0.034 mm`. An unknown value is a dash."""
    if value is None:
        return "–"
    return with_unit(plus_minus(value, uncertainty, digits), name)


def share(part: float) -> str:
    """An input's part of the variance, as whole per cent; nothing where it has none."""
    if part <= 0:
        return ""
    percent = 100 * part
    if percent < 1:
        return "<1 %"
    return ">99 %" if 99.5 <= percent < 99.9999 else f"{percent:.0f} %"


def count(many: int, one: str, more: str = "") -> str:
    """`1 change`, `3 changes`, `no changes`."""
    plural = more or f"{one}s"
    if many == 0:
        return f"no {plural}"
    return f"1 {one}" if many == 1 else f"{many:,} {plural}"


def capital(text: str) -> str:
    """The text with its first letter in upper case, the others as they are."""
    return text[:1].upper() + text[1:]


def stop(text: str) -> str:
    """The text with a full stop, unless it ends a sentence already."""
    trimmed = text.rstrip()
    return trimmed if not trimmed or trimmed.endswith((".", "!", "?", ":", "…")) else f"{trimmed}."


def sentence(text: str) -> str:
    """The text as a sentence: a capital first and a stop last. A name with a dot or digit in it keeps its letters."""
    first = text.split(" ", 1)[0]
    name = any(letter in first for letter in "._/=") or any(letter.isdigit() for letter in first)
    return stop(text if name else capital(text))


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
