"""An answer as people give it at the bench, turned into the text that a sheet holds.

Understood are a bare number (the unit is the field's, and is told), a comma or a point, `about 540`, `3 x 36.4 36.5
36.5` (its mean and how sure that is), `40 to 45`, what `bench_talk.py` puts in a plain form, `8 mm earlier`, the number of a choice, `as before` and `nothing` where they make
sense, and everything that a sheet takes. What an answer is taken for is told beside it, so that nothing is assumed in
silence. Several fields may be asked in one breath: `0 -5 -9`.

This module asks nothing, and refuses what the field can't be: the reader of sheets has the last word.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import product

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.sheet.bench_numbers import number_text
from cfgmigrate.sheet.bench_talk import less_by
from cfgmigrate.sheet.fields import read_value
from cfgmigrate.sheet.maker_figure import figure_at, plain_steps
from cfgmigrate.sheet.model import SheetEntry
from cfgmigrate.sheet.one_breath import OPEN_NUMBERS, numbers_in_one_breath
from cfgmigrate.sheet.schema import Field, sheet_schema

#: signs; more is no answer, and looking through it for numbers would take too long
LONGEST_ANSWER = 200
STAYS_SO = {"as before", "same", "the same", "same as before", "as it was", "unchanged", "no change"}
#: one figure of a motor may be as before and the motor another one: its step angle nearly always is
_SAME_MOTOR, _MOTOR_STAYS = {"same motor", "the same motor", "motor as before"}, "new.motor_as_before"
NONE_OF_IT = {"nothing", "none", "zero", "not at all", "no"}
_TO_THE_TIP = pattern(
    r"(?P<way>.+?)\s*(?:to|until)\s+(?:the\s+|its\s+)?(?:tip|nozzle(?:['’]s\s+tip)?)", re.IGNORECASE
)
_SIDES = pattern(r"\b(?:left|right|front|back|up|down|higher|lower|forwards?|backwards?)\b", re.IGNORECASE)
_BETWEEN = pattern(r"\s*(?:,|;|->|→|\bto\b|\bthen\b)\s*")
#: a number with its unit, among several or behind `about`
_WITH_UNIT = pattern(r"\d\s*(?!(?:to|and|or|till|until|x|by)\b)(?:[a-zµ°]|[\"'″′])", re.IGNORECASE)
_SHORT_TRUTH = {"y": "yes", "n": "no", "1": "yes", "2": "no"}
#: how the name of a yes or no ends that says whether something is another one now
_CHANGED = "_changed"


class Understood(Struct, frozen=True):
    """An answer as the sheet will hold it, in the field that `entry` names. `note` says what it was taken for, "" where
    it says that itself."""

    text: str
    entry: SheetEntry
    note: str = ""
    #: what the same answer says of another field
    also: tuple[Understood, ...] = ()


def understood(field: Field, answer: str) -> Understood:
    """What an answer says of a field. Raises NotAQuantity, with one line of help, where it says nothing of it."""
    said = _short(answer)
    if shorter := _less_far(field, said):
        return shorter
    if plain := _in_words(field, said.casefold()):
        return plain
    if figure := _figure_at(field, said):
        return figure
    whole, to_the_tip = sheet_schema().to_the_tip.get(field.path, ""), _TO_THE_TIP.fullmatch(said)
    if whole and to_the_tip:
        way = understood(sheet_schema().fields[whole], to_the_tip["way"])
        return replace(way, note=f"kept as {whole}: {way.text}")
    if field.path in sheet_schema().holds_for:
        said = plain_steps(said)
    text, note = number_text(field, said) if field.numeric else (_word(field, said), "")
    try:
        entry = read_value(field, text, Place("answer"))
    except BadInput as error:
        raise NotAQuantity(error.what.removeprefix(f"{field.path}: "), error.remedy) from None
    bare = said != text and not (note and _WITH_UNIT.search(said))
    if bare and 0 < (entry.value or 0.0) < field.rare_below:
        raise NotAQuantity(
            f"{field.label}: {text} would be very short", f"If that is so, write it with its unit: {text}."
        )
    if bare and abs(entry.value or 0.0) > field.rare_beyond:
        raise NotAQuantity(
            f"{field.label}: {text} would be very far", f"If that is so, write it with its unit: {text}."
        )
    if not note and text.casefold() != said.casefold():
        note = f"taken as {text}"
    return Understood(text, entry, note)


def _figure_at(field: Field, said: str) -> Understood | None:
    """A maker's figure with the microsteps for which it holds: `712 at 16`; None where only one of the two is said."""
    beside = sheet_schema().holds_for.get(field.path, "")
    found = figure_at(said) if beside else None
    if found is None:
        return None
    figure, count = understood(field, found.figure), understood(sheet_schema().fields[beside], found.count)
    note = f"taken as {figure.text} for {count.text} fine steps"
    if found.motor:
        note += f" and a motor of {found.motor} a step: yours must be one, too"
    return replace(figure, note=note, also=(count,))


def understood_together(fields: Sequence[Field], answer: str) -> tuple[Understood | None, ...]:
    """What one answer says of each of several fields, None where it leaves one open. Raises NotAQuantity likewise."""
    said = _short(answer)
    if said.casefold() in STAYS_SO | NONE_OF_IT | {"0"} and all(field.numeric for field in fields):
        return tuple(understood(field, said) for field in fields)
    if not fields[0].numeric:
        parts = _words_of(fields, said)
    else:
        if _SIDES.search(said):
            what = "a side is no sign: it depends on which way the files count"
            raise NotAQuantity(
                what, "Write a plus where it has moved towards higher numbers, such as -5 0 3."
            )
        parts = numbers_in_one_breath(fields, said)
    if len(parts) != len(fields) or all(part in OPEN_NUMBERS for part in parts):
        example = " ".join(field.example.partition(" ")[0] for field in fields)
        remedy = f"Such as {example}" if fields[0].numeric else "Give the number of a line"
        raise NotAQuantity(f"{len(fields)} are asked for", f"{remedy}; a ? where you don't know one.")
    return tuple(
        None if part in OPEN_NUMBERS else understood(field, part)
        for field, part in zip(fields, parts, strict=True)
    )


def combinations(fields: Sequence[Field]) -> tuple[tuple[str, ...], ...]:
    """All that several fields that take words can say together, in the order in which they are offered."""
    several = sorted(product(*(field.choices for field in fields)), key=lambda words: len(set(words)) == 1)
    return tuple(several)


def _short(answer: str) -> str:
    """An answer with single spaces, once it is short enough to be looked through. Raises NotAQuantity."""
    said = " ".join(answer.replace("\u2212", "-").split())
    if len(said) > LONGEST_ANSWER:
        raise NotAQuantity(
            f"{said[:20]!r}… is too long for an answer", "Write the number and its unit alone."
        )
    return said


def _less_far(field: Field, said: str) -> Understood | None:
    """How much less far something gets, where that is asked for, or the place to which it gets; None for another answer."""
    known, by = sheet_schema().less_far, less_by(said)
    if field.path in known.values():
        return understood(field, by) if by else None
    if field.path not in known:
        return None
    as_before = bool(sheet_schema().says_as_before(field.path))  # then that is said, and no 0
    by = by or ("0" if said.casefold() in STAYS_SO | NONE_OF_IT and not as_before else "")
    less = understood(sheet_schema().fields[known[field.path]], by) if by else None
    return less and replace(less, note=f"kept as {less.entry.path}: {less.text}")


def _words_of(fields: Sequence[Field], said: str) -> list[str]:
    offered = combinations(fields)
    if said.isdecimal():
        if not 1 <= int(said) <= len(offered):
            raise NotAQuantity(f"there is no choice {said}", f"Give a number from 1 to {len(offered)}.")
        return list(offered[int(said) - 1])
    return [part for part in _BETWEEN.split(said) if part]


def can_stay_so(field: Field) -> bool:
    """Whether `as before` is an answer to a field that takes a number."""
    schema = sheet_schema()
    said_elsewhere = schema.says_as_before(field.path) or field.path in schema.less_far
    return bool(said_elsewhere) or (_is_a_shift(field) and field.low <= 0)


def _is_a_shift(field: Field) -> bool:
    """Whether a field is asked with others as what has changed, so that no change is 0."""
    return len(sheet_schema().breath(field.path)[1]) > 1


def _in_words(field: Field, said: str) -> Understood | None:
    """What is as before, and what is nothing, said in words; None where it says something else."""
    none = said in NONE_OF_IT or (said in STAYS_SO and _is_a_shift(field))
    if none and field.kind in ("quantity", "number", "count") and field.low <= 0:
        text = f"0 {field.unit}".strip()
        return Understood(text, read_value(field, text, Place("answer")), f"taken as {text}")
    truth = sheet_schema().says_as_before(field.path)
    if truth and said in STAYS_SO:
        entry = read_value(sheet_schema().fields[truth], "yes", Place("answer"))
        return Understood("yes", entry, f"kept as {truth}: yes")
    if said in _SAME_MOTOR and field.path.startswith("new.motor."):
        entry = read_value(sheet_schema().fields[_MOTOR_STAYS], "yes", Place("answer"))
        return Understood("yes", entry, f"kept as {_MOTOR_STAYS}: yes")
    if field.numeric and said in STAYS_SO:
        whole = "; if the whole motor is the same one: same motor" * field.path.startswith("new.motor.")
        raise NotAQuantity("as before says no number", f"Write it as it is, such as {field.example}{whole}.")
    return None


def _word(field: Field, said: str) -> str:
    if field.kind == "truth":
        return _stays(field) if said.casefold() in STAYS_SO else _SHORT_TRUTH.get(said.casefold(), said)
    if field.kind == "part" and said.casefold() in STAYS_SO:
        raise NotAQuantity(
            "as before names no part",
            "Write what is printed on it, or its number; don't know is an answer, too.",
        )
    if said.isdecimal() and field.choices:
        if not 1 <= int(said) <= len(field.choices):
            raise NotAQuantity(
                f"there is no choice {said}", f"Give a number from 1 to {len(field.choices)}, or the word."
            )
        return field.choices[int(said) - 1]
    return said


def _stays(field: Field) -> str:
    """What `as before` says to a yes or no. Raises NotAQuantity where it may say either."""
    if field.path.endswith(_CHANGED):
        return "no"
    if field.path in sheet_schema().as_before:
        return "yes"
    raise NotAQuantity("as before says neither yes nor no here", "Write yes or no.")
