"""A number as people put it at the bench, as the text that a sheet holds.

Understood are `about 540`, `3 x 36.4 36.5 36.5` (its mean and how sure that is), `40 to 45`, a comma or a point, and what
`bench_talk.py` puts in a plain form. A number alone gets the unit of its field, where that has one.

This module reads no value: whether the field can be that is said by `fields.py`.
"""

from __future__ import annotations

import math
import re
import statistics

from cfgmigrate.ground.number_text import RESOLUTION, decimals_of
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.sheet.bench_talk import in_plain_form
from cfgmigrate.sheet.schema import Field, sheet_schema

#: what "about" leaves open, as a part of the value: common practice, no source
ABOUT = 0.05
NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)"
#: measurements of one thing lie no further apart than this, as a part of it, or than so many of their last digits:
#: common practice, no source
ONE_THING, FEW_DIGITS = 0.2, 2
_ABOUT = pattern(
    r"(?:about|around|roughly|approx\.?|approximately|ca\.?|circa|~|≈)\s*(?P<rest>.+)", re.IGNORECASE
)
_REPEATED = pattern(
    rf"(?:(?P<count>\d+)\s*[x×*]\s*)?(?P<numbers>{NUMBER}(?:[\s;]+{NUMBER}(?![\d.]|\s*/))+)\s*(?P<unit>(?:1/)?[^\d\s].*)?",
    re.IGNORECASE,
)
_RANGE = pattern(
    r"(?P<low>\d+\.?\d*)\s*(?:-|–|to)\s*(?P<high>\d+\.?\d*)\s*(?P<unit>[^\d\s].*)?", re.IGNORECASE
)
_BARE = pattern(rf"{NUMBER}(?:\s*(?:±|\+/?-)\s*\d+\.?\d*)?|{NUMBER}\(\d+\)")
_COMMA = pattern(r"(?<=\d),(?=\d)")
_THOUSANDS = pattern(r"(?<!\d)[1-9]\d{0,2},\d{3}(?![\d.])")


def number_text(field: Field, said: str) -> tuple[str, str]:
    """A number as a sheet holds it, and what it was taken for, "" where it says that itself. Raises NotAQuantity."""
    if field.kind == "count":
        return said, ""
    plain, note = in_plain_form(field, said if field.kind == "ratio" else with_points(said))
    if note or (field.kind == "ratio" and ":" in plain):
        return (_with_unit(field, plain), note) if note else (plain, "")
    text = with_points(plain)
    if match := _ABOUT.fullmatch(text):
        plain = _with_unit(field, match["rest"].strip())
        number = re.match(NUMBER, plain)
        if number is None or "±" in plain:
            return plain, ""
        rest = plain[number.end() :].strip()
        written = _joined(number[0], f"{abs(float(number[0])) * ABOUT:.3g}", rest)
        return written, f"taken as {written}: about is {100 * ABOUT:.0f} % either way"
    if match := _REPEATED.fullmatch(text):
        return _repeated(field, match)
    if match := _RANGE.fullmatch(text):
        low, high = sorted((float(match["low"]), float(match["high"])))
        unit = (match["unit"] or field.unit).strip()
        written = _joined(f"{(low + high) / 2:g}", f"{(high - low) / 2 / math.sqrt(3):.2g}", unit)
        return written, f"taken as {written}: anything between the two is as likely"
    return _with_unit(field, text), ""


def with_points(said: str) -> str:
    """Numbers with a point for a comma. Raises NotAQuantity where it may be one between thousands."""
    if found := _THOUSANDS.search(said):
        point, none = found[0].replace(",", "."), found[0].replace(",", "")
        raise NotAQuantity(f"{found[0]} may be {point} or {none}", f"Write {point} or {none}.")
    return _COMMA.sub(".", said)


def _with_unit(field: Field, text: str) -> str:
    """The text with the field's unit where it has none."""
    return f"{text} {field.unit}" if field.unit and _BARE.fullmatch(text) else text


def _repeated(field: Field, match: re.Match[str]) -> tuple[str, str]:
    """Mean and standard error of repeats (GUM, JCGM 100:2008, 4.2.3), never less than the last digit leaves open."""
    numbers = re.split(r"[\s;]+", match["numbers"].strip())
    if match["count"] and int(match["count"]) != len(numbers):
        raise NotAQuantity(
            f"{match['count']} x and {len(numbers)} numbers", "Write as many numbers as you measured."
        )
    values = [float(number) for number in numbers]
    digits = max(len(number.partition(".")[2]) for number in numbers)
    _refuse_other_things(field, match, values, digits)
    error = max(statistics.stdev(values), RESOLUTION * 10.0**-digits) / math.sqrt(len(values))
    shown = max(decimals_of(error), 0)
    unit = (match["unit"] or field.unit).strip()
    written = _joined(f"{statistics.fmean(values):.{shown}f}", f"{error:.{shown}f}", unit)
    return written, f"taken as {written}: the mean of {len(values)}, and how sure it is"


def _refuse_other_things(field: Field, match: re.Match[str], values: list[float], digits: int) -> None:
    """Numbers that are too far apart, or as many as are asked in one breath elsewhere, are no measurements of one thing."""
    _, paths = sheet_schema().breath(field.path)
    if len(paths) == len(values) > 1 and not match["count"]:
        names = ", ".join(path.rpartition(".")[2] for path in paths)
        what = f"{match['numbers']!r} may be {names}, and one of them is asked for here"
        raise NotAQuantity(
            what, f"Write one number; several measurements of it as {len(values)} x {match[0]}."
        )
    if max(values) - min(values) > max(ONE_THING * abs(statistics.fmean(values)), FEW_DIGITS * 10.0**-digits):
        what = f"{match['numbers']!r} lie too far apart to be measurements of one thing"
        raise NotAQuantity(what, f"Write the one that holds, such as {field.example}.")


def _joined(number: str, spread: str, unit: str) -> str:
    return f"{number} ± {spread} {unit}".strip()
