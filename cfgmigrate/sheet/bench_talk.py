"""How people say a number at the bench, turned into the plain form that `answers.py` goes on with.

    2.5 mm by a paper test              no surer than a slip of paper can say it
    between 58 and 64 mm
    285 + 168 g, 1150 g - 385 g         a sum, a difference
    14 -> 35, then 18 -> 54             teeth in the order of the drive

A length fed in so many turns of the drive gear is understood too; it is π times a diameter. What could be meant in two ways is
refused here, each with what to write: a range that goes down, a ratio that would turn the drive gear faster than its
motor, a part that was put on, a way that is less far.

A number alone is none of its business, and no unit is converted here.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.quantity_text import PER_AMP, NotAQuantity, in_words, parse_ratio
from cfgmigrate.sheet.schema import Field
from cfgmigrate.sheet.volts_and_amperes import volts_per_ampere

_DIAMETER, _FEED, _STEP_ANGLE = "effective_diameter", "feed_per_turn", "step_angle"
_POSITIVE = r"(?:\d+\.?\d*|\.\d+)"
_UNIT = r"[^\W\d]*"
_BETWEEN = pattern(
    rf"between\s+(?P<low>{_POSITIVE})\s+(?:and|to)\s+(?P<high>{_POSITIVE}\s*{_UNIT})", re.IGNORECASE
)
_SUMMAND = pattern(rf"({_POSITIVE})\s*({_UNIT})")
_DOWNWARD = pattern(rf"({_POSITIVE})\s*(?:-|–|minus)\s*({_POSITIVE})\s*({_UNIT})", re.IGNORECASE)
_IN_TURNS = pattern(
    rf"(?P<length>{_POSITIVE})\s*(?P<unit>mm|cm)\s+(?:in|for|on|over)\s+(?P<turns>\d+)\s+(?P<whose>(?:motor|wheel|gear|drive gear)\s+)?"
    r"(?:full\s+)?(?:turns?|revolutions?|rotations?|rounds?)(?:\s+of\s+the\s+(?P<of>[a-z ]+))?",
    re.IGNORECASE,
)
#: the same of one turn, where it is said whose; without that it may be either's
_PER_TURN = pattern(
    rf"(?P<length>{_POSITIVE})\s*(?P<unit>mm|cm)\s*(?:\b(?:per|for|a|an|each|every|one)\b|/)\s*(?:(?:one|each|every)\s+)?"
    r"(?P<whose>(?:motor|wheel|gear|drive gear)\s+)?(?:full\s+)?(?:turn|revolution|rotation|round)"
    r"(?:\s+of\s+the\s+(?P<of>[a-z ]+))?",
    re.IGNORECASE,
)
#: a slip of paper drags so much before it is pinched (common practice, no source)
PAPER_MM = 0.1
_A_PAPER = r"(?:an?\s+|the\s+)?(?:slip\s+of\s+|piece\s+of\s+|sheet\s+of\s+)?paper(?:\s+(?:test|slip|method))?"
_BY_PAPER = pattern(
    rf"(?:(?:only\s+)?{_A_PAPER}\s*[:,]?\s+)?(?P<number>[+-]?{_POSITIVE}\s*(?:mm)?)(?:\s*[,(]?\s*(?:only\s+)?(?:by|from|with|after|as)?\s*{_A_PAPER}\)?)?",
    re.IGNORECASE,
)
_DRIVES = pattern(r"(\d+)\s*(?:-+>|=+>|→|drives|turns|into)\s*(\d+)", re.IGNORECASE)
_BETWEEN_STAGES = pattern(r"\s*(?:[,;x×*]|\band\b|\bthen\b)[\s,;]*(?:then\b\s*)?", re.IGNORECASE)
_MORE = pattern(r".*\d.*\b(?:more|heavier|added|on top)", re.IGNORECASE)
_LESS = pattern(
    r"(?P<by>.*\d.*?)\s*(?:less(?:\s+(?:far|high|room))?|earlier|sooner|shorter|lower)(?:\s+than\s+(?:before|it was))?",
    re.IGNORECASE,
)


#: how a motor's label or paper has its step angle
_STEPS_A_TURN = pattern(
    r"(?P<steps>\d{2,4})\s*(?:full\s+)?steps?\s*(?:/|\b(?:per|for|in|to|a|an|each|every|one)\b)\s*(?:(?:a|one|each|every|full|whole)\s+)*"
    r"(?:motor\s+)?(?:turn|rev|revolution|rotation|round)s?\.?(?:\s+of\s+the\s+motor)?",
    re.IGNORECASE,
)


def less_by(said: str) -> str:
    """By how much something gets less far than before: `8 mm earlier` is `8 mm`; "" where that is not said."""
    found = _LESS.fullmatch(said)
    return found["by"] if found else ""


def in_plain_form(field: Field, said: str) -> tuple[str, str]:
    """An answer to a field that takes a number in a plain form, and what it was taken for, "" where nothing was.

    Raises NotAQuantity, with what to write, where it may be meant in two ways."""
    if field.kind == "ratio":
        return _ratio(field, said)
    if field.path.endswith(_STEP_ANGLE) and (steps := _STEPS_A_TURN.fullmatch(said)) and int(steps["steps"]):
        angle = f"{360 / int(steps['steps']):.6g} deg"
        return angle, f"taken as {angle}: {steps['steps']} full steps a turn"
    if field.unit == PER_AMP and (rule := volts_per_ampere(said)) is not None:
        return f"{rule:.6g}", f"taken as {rule:.6g} V/A: {1 / rule:.4g} A for each volt"
    if "paper" in said.casefold() and (by_paper := _by_paper(field, said)):
        return by_paper, f"taken as {by_paper}: a slip of paper says it no better"
    if turns := _IN_TURNS.fullmatch(said):
        return _of_turns(field, turns, int(turns["turns"]))
    one = _PER_TURN.fullmatch(said)
    if one and (one["whose"] or one["of"]):
        return _of_turns(field, one, 1)
    if found := _BETWEEN.fullmatch(said):
        return f"{found['low']} to {found['high']}", ""
    if total := _sum(said):
        what = "the sum" if "+" in said else "the difference"
        return total, f"taken as {total}: {what}"
    down = _DOWNWARD.fullmatch(said)
    if down and Decimal(down[1]) > Decimal(down[2]):
        rest = Decimal(down[1]) - Decimal(down[2])
        what = f"{said!r} is a difference, or a range written downwards"
        raise NotAQuantity(
            what, f"Write {f'{rest} {down[3] or field.unit}'.strip()}, or {down[2]} to {down[1]}."
        )
    if _MORE.fullmatch(said):
        what = f"{said!r} is a part, and the whole is asked for"
        raise NotAQuantity(what, f"Write both, such as {field.example} + {said.split()[0]} {field.unit}.")
    if less_by(said):
        what = f"{said!r} says how much less it is, and the whole is asked for"
        raise NotAQuantity(what, f"Write what it is now, such as {field.example}.")
    return said, ""


def _by_paper(field: Field, said: str) -> str:
    """A length that a slip of paper says, with how far that can be off; "" for anything else. A reader of sheets brings no
    unit, and then it has to be said."""
    found = _BY_PAPER.fullmatch(said) if field.unit in ("mm", "") else None
    if found is None or not (field.unit or "mm" in found["number"]):
        return ""
    return f"{found['number'].removesuffix('mm').strip()} ± {PAPER_MM:g} mm"


def _sum(said: str) -> str:
    """Two or more numbers with plus signs between, in one unit, as their sum; a minus counts beside a plus, and by itself
    where both numbers have their unit and the second is the smaller by far: `1150 g - 385 g` is no range. "" for anything
    else."""
    parts = [(sign, _SUMMAND.fullmatch(part.strip())) for sign, part in _signed(said)]
    found = [(sign, part) for sign, part in parts if part is not None]
    units = {part[2] for _, part in found if part[2]}
    if len(found) < 2 or len(found) != len(parts) or len(units) > 1:
        return ""
    total = sum((sign * Decimal(part[1]) for sign, part in found), Decimal(0))
    if "+" not in said:
        far = len(found) == 2 and 2 * Decimal(found[1][1][1]) <= Decimal(found[0][1][1])
        if not far or not all(part[2] for _, part in found):
            return ""
    if total <= 0:
        return ""
    return f"{total} {next(iter(units), '')}".strip()


def _signed(said: str) -> list[tuple[int, str]]:
    """The parts of a sum, each with its sign."""
    pieces = re.split(r"([+–-]|\bminus\b)", f"+{said}")[1:]
    return [(1 if sign == "+" else -1, part) for sign, part in zip(pieces[::2], pieces[1::2], strict=True)]


def _of_turns(field: Field, found: re.Match[str], turns: int) -> tuple[str, str]:
    """What some turns feed: a diameter where they are the drive gear's, a feed where they are said to be the motor's."""
    whose = f"{found['whose'] or ''} {found['of'] or ''}".casefold()
    motor, name = "motor" in whose, field.path.rpartition(".")[2]
    if not turns or name not in (_DIAMETER, _FEED):
        raise NotAQuantity(f"{found[0]!r} is what some turns feed", f"Write {field.example}, for instance.")
    length = Decimal(found["length"]) * (10 if found["unit"].casefold() == "cm" else 1)
    each = float(length) / turns
    if name == _FEED and motor:
        return f"{each:.6g} mm", f"taken as {each:.6g} mm for each turn of the motor"
    if name == _FEED or motor:
        remedy = f"Of the drive gear, as the answer to its diameter: {found[0]}. Of the motor, all gears included, as its feed: {length} mm in {turns} motor turn{'s' * (turns > 1)}."
        raise NotAQuantity(f"{found[0]!r}: it counts what is turned, drive gear or motor", remedy)
    # read to its last digit: a rectangle one digit wide (GUM, JCGM 100:2008, F.2.2.1, from memory)
    last = 10.0 ** -len(found["length"].partition(".")[2]) * (10 if found["unit"].casefold() == "cm" else 1)
    spread = last / math.sqrt(12) / turns / math.pi
    text = f"{each / math.pi:.6g} ± {spread:.2g} mm"
    return text, f"taken as {text}: {each:.6g} mm for each turn of the drive gear, over π"


#: `3.5 to 1` is a ratio; two other numbers may be a ratio, a range or two measurements
_TO_ONE = pattern(r"(\d{1,9}(?:\.\d{1,9})?) ?(?:to|in|-|–) ?1(?:\.0)?", re.IGNORECASE)
_TWO_NUMBERS = pattern(r"(\d[\d.]{0,9}) ?(?:to|in|-|–| |;) ?(\d[\d.]{0,9})", re.IGNORECASE)


def _ratio(field: Field, said: str) -> tuple[str, str]:
    """Gear stages, driven to driving."""
    if (text := in_words(said)) != said:
        _refuse_upside_down(text)
        return text, f"taken as {text}: driven to driving"
    stages = [_DRIVES.fullmatch(part) for part in _BETWEEN_STAGES.split(said)]
    found = [stage for stage in stages if stage is not None]
    if found and len(found) == len(stages):
        text = " x ".join(f"{driven}:{driving}" for driving, driven in (stage.groups() for stage in found))
        _refuse_upside_down(text)
        return text, f"taken as {text}: driven to driving"
    if to_one := _TO_ONE.fullmatch(said):
        text = f"{to_one[1]}:1"
        return text, f"taken as {text}"
    if two := _TWO_NUMBERS.fullmatch(said):
        what = f"{said!r} is a ratio, a range or two measurements"
        raise NotAQuantity(
            what, f"Write a ratio with a colon, such as {two[1]}:{two[2]}; or one number alone."
        )
    if ":" in said or "/" in said:
        text = re.sub(r"\s*[:/]\s*", ":", said)
        _refuse_upside_down(text)
        return text, ""
    return said, ""


def _refuse_upside_down(text: str) -> None:
    """Teeth that would turn the drive gear faster than its motor are counted the other way round, as good as always."""
    try:
        ratio = parse_ratio(text).value
    except NotAQuantity:
        return  # whoever reads the sheet says what is wrong with it
    if ratio < 1:
        turned = " x ".join(
            ":".join(reversed(stage.strip().split(":"))) for stage in re.split("[x*,×]", text)
        )
        what = f"by {text} the drive gear turns faster than its motor, {1 / ratio:.4g} times"
        raise NotAQuantity(what, f"Write driven to driving, {turned}; or, if it is so, {ratio:.4g}.")
