"""Several numbers told in one breath, each as the text that belongs to its field: `0 -5 -9`, `z -9 y -5 x 0`, `0 in x, -5 in y, 0 in z`.

The order counts where there are no letters, and the letters where there are any: before the numbers or behind them,
each once. In `0 in x` the `in` is no inch.

This module reads no value, and takes nothing from an answer of which it can't tell every sign.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.sheet.bench_numbers import NUMBER, with_points
from cfgmigrate.sheet.schema import Field

#: the number of several that nobody knows
OPEN_NUMBERS = frozenset({"?", "-", "–"})
#: the same in words, as the question offers them
_DONT_KNOW = pattern(r"\b(?:don['’]?t|do not) know\b", re.IGNORECASE)
_AXIS = r"[xyz](?![^\W\d])"
_ALONG = r"(?:(?:in|on|along)\s+(?:the\s+)?)?"
_NUMBER = (
    rf"(?P<number>{NUMBER}(?:\s*(?:±|\+/?-)\s*\d+\.?\d*)?(?![\d.]|[+-]\d)|[?–-](?!\d))"
    rf"\s*(?P<unit>(?!{_ALONG}{_AXIS}|and\b)[^\W\d]+)?"
)
_BETWEEN = r"(?:\s+and\b)?[\s,;]*"
_BEFORE = pattern(rf"(?:(?P<axis>{_AXIS})\s*[:=]?\s*)?{_NUMBER}{_BETWEEN}", re.IGNORECASE)
_BEHIND = pattern(rf"{_NUMBER}(?:\s*{_ALONG}(?P<axis>{_AXIS})(?:[ -]axis)?)?{_BETWEEN}", re.IGNORECASE)


def numbers_in_one_breath(fields: Sequence[Field], said: str) -> list[str]:
    """What the answer says, in the order of the fields; of another length where it says more or less.

    Raises NotAQuantity where a sign of it means nothing here, or letters say no order."""
    text = with_points(_DONT_KNOW.sub("?", said).replace(", ", " ").replace("−", "-"))
    found = _parts(_BEFORE if text[:1].casefold() in ("x", "y", "z") else _BEHIND, text)
    letters = [(part["axis"] or "").casefold() for part in found]
    told = [part["number"] + (f" {part['unit']}" if part["unit"] else "") for part in found]
    if not any(letters):
        return told
    axes = [field.path.rpartition(".")[2] for field in fields]
    if sorted(letters) != sorted(axes):
        what = f"{said!r} does not say once of each which it is"
        raise NotAQuantity(
            what, f"Write {len(fields)} numbers without letters, in the order of the question."
        )
    by_axis = dict(zip(letters, told, strict=True))
    return [by_axis[axis] for axis in axes]


def _parts(form: re.Pattern[str], text: str) -> list[re.Match[str]]:
    """The numbers one by one, as long as nothing else stands between them. Raises NotAQuantity."""
    found, place = [], 0
    while place < len(text):
        part = form.match(text, place)
        if part is None:
            what = f"{text[place:]!r} is no number of those that are asked for"
            raise NotAQuantity(what, "Write the numbers alone, such as -5 0 3; a ? where you don't know one.")
        found.append(part)
        place = part.end()
    return found
