"""How a new value is written: the file's own unit and form, and no more digits than are meant.

A value with an uncertainty u is rounded so that the rounding stays below a third of u, where it adds
next to nothing to u (GUM 7.2.6 keeps at most two significant digits of u; so does this). An exact value
keeps all digits that matter (1 part in 10 000 and at least those of the file); a current, speed or acceleration
that is rounded to the safe side keeps those that a person would type. However large u is, at least
three significant digits stay, or two where the file's own value has no more. The text has at least as
many decimals as the file's own value had: those with which the value is shown beside its ± (288.3 ± 1.9 is
written 288.3, so that who works it out again finds the number), then zeros. A limit is rounded to the safe side.

This module deliberately knows no file: it gets a reading and a value, and returns text.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.decimal_commas import in_commas, in_points, looks_like_thousands, number_in_points
from cfgmigrate.dialects.value import Number, Ratio, read_value
from cfgmigrate.ground import number_text
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import listed
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.machine.quantities import in_parts, quantity
from cfgmigrate.machine.whole_numbers import BY_HEAD
from cfgmigrate.plan.writable import CONTRARY, is_value
from cfgmigrate.rules.result import Result

#: the step in which people set a limit, by its quantity's unit (common practice, no source); what is rounded to
#: the safe side needs no finer one
TYPED = {"A": 0.01, "mm/s": 1.0, "mm/s^2": 10.0}
#: fractions of a unit that are there so that numbers can be whole ones: where the file's is, a reader may know no other;
#: so are those that a person said, as parts of a rated current
_IN_WHOLES = frozenset({"mm/10", "mm/100"})
#: a number of a division, without what C lets stand behind it
_OF_DIVISION = pattern(r"(?<![\w.])(\d+(?:\.\d*)?)[fF]?(?![\w.])")
_C_FILES = (".h", ".hh", ".hpp", ".hxx", ".c", ".cc", ".cpp", ".ino")
#: so much of a value's uncertainty may be lost by writing it as a whole number
_LOST_TO_WHOLES = 0.1
#: a share that an exact value may lose in a file of whole numbers, and the least limit that may be cut to one
_LOST_OF_EXACT, _LEAST_CUT = 0.005, 10
#: and a limit or speed where its third decimal is left out behind a comma
_LOST_TO_TWO = 0.001
_OF_EACH_TURN = "_per_turn"
#: how the quantities end that count in every move
_OF_EVERY_MOVE = ("feeder.steps_per_mm", _OF_EACH_TURN)
#: an exact value may be rounded by this much of itself
EXACT = 1e-4
#: and what has to say the very same in another form, by this much: less than what tells two readings, or a packet and its check, apart
_VERY_VALUE = 5e-8
MOST_DECIMALS = 9
#: teeth of a gear; more are a ratio that was worked out, such as 6667:1000
MOST_TEETH = 400
IN_TEETH = "written as two counts of teeth, exact"
#: significant digits below which no uncertainty takes a value
FEW, FEWEST_DIGITS = 3, 2


class EncodedValue(Struct, frozen=True):
    """`text` as it will stand in the file, `value` what that text means in the quantity's unit, the
    sentence that says how it was rounded, and the step of that rounding (in the quantity's unit)."""

    text: str
    value: float
    rounding: str
    quantum: float = 0.0


def counts_in_wholes(unit: str) -> bool:
    """Whether a unit is a part of another one, so that a number in it which is whole stays whole."""
    return unit in _IN_WHOLES or in_parts(unit)


def lost_of_every_move(result: Result, reading: Reading, text: str) -> float:
    """The share of every move by which it goes wrong since a file of whole numbers has `text` for it; 0 where that is next to
    nothing, or lost in the value's uncertainty."""
    if not (reading.form.whole and result.value and result.target.endswith(_OF_EVERY_MOVE)) or "." in text:
        return 0.0
    lost = abs(reading.form.to_value(float(text)) - result.value)
    most = max(_LOST_TO_WHOLES * result.uncertainty, EXACT * abs(result.value))
    return lost / abs(result.value) if lost > most else 0.0


def write(result: Result, reading: Reading) -> EncodedValue:
    """The result of a rule in the form of the reading that it replaces."""
    if not reading.form.commas:
        return _in_form(result, reading)
    plain = replace(reading, text=in_points(reading.text))
    found = _in_form(result, plain)
    if result.unit in TYPED and looks_like_thousands(found.text.replace(".", ",")):
        # nobody types a third decimal of such a value, and with a comma it may be taken for thousands
        shorter = _in_form(result, plain, longest=2)
        if abs(shorter.value - found.value) <= _LOST_TO_TWO * abs(found.value):
            found = shorter
    return replace(found, text=in_commas(found.text))


def _in_form(result: Result, reading: Reading, longest: int = MOST_DECIMALS) -> EncodedValue:
    """The same, in a file whose numbers have points, with so many decimals at the `longest`."""
    assert result.value is not None
    if reading.form.teeth:
        return _teeth(result, reading)
    if reading.form.ratio:
        return _ratio(result, reading)
    if not result.target.startswith("script.") and quantity(result.target).kind == "truth":
        return _truth(result.value, reading)
    written = reading.form.to_written(result.value)
    spread = _spread(result, reading.form, written)
    own = decimals_of(reading.text)
    needed = needed_decimals(written, spread)
    if spread:
        needed = max(needed, least_decimals(written, reading.text))
    whole = counts_in_wholes(reading.form.unit) and not own
    if whole and result.target.endswith(_OF_EACH_TURN):
        # what a turn feeds counts in every move: a share of what is uncertain anyway may be lost, at most
        whole = abs(round(written) - written) <= max(_LOST_TO_WHOLES * spread, EXACT * abs(written))
    side = _side(result, reading.form)
    if not whole and reading.form.whole and not own:
        lost = abs(float(_decimal_text(written, 0, 0, side)) - written)
        by_chance = reading.form.whole != BY_HEAD and result.target.endswith(_OF_EVERY_MOVE)
        most = max(_LOST_TO_WHOLES * spread, (EXACT if by_chance else _LOST_OF_EXACT) * abs(written))
        whole = lost <= most or (side != ROUND_HALF_EVEN and abs(written) >= _LEAST_CUT)
    needed = min(needed, 0) if whole else needed
    meant = needed  # digits behind these are those of the text alone: what differs only there means the same
    if spread and own > max(needed, 0):
        needed = max(needed, min(own, number_text.decimals_of(spread)))
    if not spread and not whole:
        # Rounding to one side may lose a whole step, so it needs more digits to keep as much of an exact value.
        while needed < MOST_DECIMALS and abs(
            float(_decimal_text(written, needed, 0, side)) - written
        ) > EXACT * abs(written):
            needed += 1
        needed = min(needed, _typed_decimals(result, reading.form))
    needed = min(needed, longest)
    while written and spread < abs(written) and needed < MOST_DECIMALS:
        if float(_decimal_text(written, needed, 0, side)):
            break
        needed += 1  # what is not nothing is never written as nothing
    text = _decimal_text(written, needed, own, side)
    value = reading.form.to_value(float(text))
    # of 0 one step of the last digit too, in the quantity's unit: of a line in µm a thousandth of that in mm
    quantum = 10.0 ** -max(needed, own) * (1.0 if reading.form.reciprocal else abs(reading.form.factor))
    if float(text):
        last = (
            meant if spread else max(needed, own)
        )  # digits that an exact value could do without still count
        step = math.copysign(10.0**-last, float(text))  # away from zero, where a reciprocal has no value
        quantum = abs(value - reading.form.to_value(float(text) + step))
        if not spread:
            quantum = max(quantum, 2 * EXACT * abs(value))
    return EncodedValue(text, value, _sentence(needed, own, spread, result, reading.form), quantum)


def write_in_both(result: Result, reading: Reading) -> EncodedValue:
    """A limit in the form of a reading, rounded to the safe side in its quantity's own unit first, so that a line in
    another unit can have the very same value in digits that a person would type."""
    found = write(result, reading)
    step, value = TYPED.get(result.unit, 0.0), result.value or 0.0
    if not (result.round_down or result.round_up) or reading.form.reciprocal or value < 10 * step or not step:
        return found
    side = math.floor if result.round_down else math.ceil
    exact = round(value / step, 8)  # binary noise is no step
    rounded = write(replace(result, value=side(exact) * step, uncertainty=0.0), reading)
    place = number_text.with_unit(f"{step / abs(reading.form.factor):.6g}", reading.form.unit or result.unit)
    return replace(rounded, rounding=f"rounded to {place}, to the safe side")


def write_same(result: Result, reading: Reading) -> EncodedValue:
    """The very value of an exact result in the form of a reading, with as many digits as that takes."""
    found = write(result, reading)
    if result.value is None or not found.quantum:
        return found
    written, own = reading.form.to_written(result.value), decimals_of(number_in_points(reading.text))
    for needed in range(own, max(own, MOST_DECIMALS) + 1):
        if abs(found.value - result.value) <= _VERY_VALUE * abs(result.value):
            break
        text = _decimal_text(written, needed, own)
        shown = in_commas(text) if reading.form.commas else text
        found = replace(found, text=shown, value=reading.form.to_value(float(text)))
    return found


def _typed_decimals(result: Result, form: Form) -> int:
    """The decimals in which a person would set a limit, where that costs less than a tenth of it."""
    step = TYPED.get(result.unit, 0.0)
    if not (result.round_down or result.round_up) or form.reciprocal or abs(result.value or 0.0) < 10 * step:
        return MOST_DECIMALS
    return math.ceil(-math.log10(step / abs(form.factor)) - 1e-9) if step else MOST_DECIMALS


#: what stands between two gear stages
_BETWEEN_STAGES = pattern(r"(?<=\d)\s*(?:[x×·*,]|by)\s*(?=\d)")


def _ratio(result: Result, reading: Reading) -> EncodedValue:
    """Gear stages where the file has them: as many as the sheet says in the place of several, joined as the file joins
    them where that may be written, else their product.

    What reads one stage need not read two, so a lone one stays a lone one; nor does it know every sign between two.
    Only a text is taken that may be written and that the file's value, read again with it, has the ratio in. Where the
    file has the driving gear's teeth first, so has what is written."""
    assert result.value is not None
    if reading.form.driving_first:
        counts = counts_of_teeth(result) or (
            _decimal_text(result.value, needed_decimals(result.value, 0.0), 0),
            "1",
        )
        return EncodedValue(f"{counts[1]}:{counts[0]}", result.value, "written as gear stages, exact")
    if ":" not in reading.text and "/" in reading.text:
        divided = _divided(result, reading)
        if divided and _reads_as(divided, result.value, reading):
            return EncodedValue(divided, result.value, "written as a division, as it stands there")
    stages = re.split(r"\s*(?:[x×*,]|by)\s*", result.text.strip()) if ":" in result.text else []
    between = _BETWEEN_STAGES.search(reading.text)
    several = len(re.findall("[:/]", reading.text)) > 1
    whole = [between[0].join(stages)] if several and between else stages if len(stages) == 1 else []
    for text in whole:
        if _reads_as(text, result.value, reading):
            return EncodedValue(text, result.value, "written as gear stages, exact")
    if len(stages) > 1 and (product := _product(stages)) is not None:
        return EncodedValue(product, result.value, "written as one ratio, the product of the stages")
    text = f"{_decimal_text(result.value, needed_decimals(result.value, 0.0), 0)}:1"
    return EncodedValue(text, result.value, "written as a ratio to 1")


def _divided(result: Result, reading: Reading) -> str:
    """A ratio as the division that the file has, with its brackets and blanks: `(60.0/20.0)` becomes `(50.0/17.0)`; "" where it
    has not two numbers. Two whole numbers of a C header get a point: 50/17 is 2 there."""
    assert result.value is not None
    in_text = list(_OF_DIVISION.finditer(reading.text))
    if len(in_text) != 2:
        return ""
    counts = counts_of_teeth(result) or (
        _decimal_text(result.value, needed_decimals(result.value, 0.0), 0),
        "1",
    )
    is_c = reading.place.file.lower().endswith(_C_FILES) or any("." in each[0] for each in in_text)
    (first, second), text = in_text, reading.text
    up, down = (f"{each}.0" if is_c and "." not in each else each for each in counts)
    return f"{text[: first.start(1)]}{up}{text[first.end(1) : second.start(1)]}{down}{text[second.end(1) :]}"


def counts_of_teeth(result: Result) -> tuple[str, str] | None:
    """A ratio that the sheet gives as gear stages, as two counts of teeth, the driven gear's first; those of several stages
    as their product. None where it gives none, or no gear has as many teeth."""
    product = result.text.strip() if ":" in result.text else ""
    found = read_value(product)
    if not isinstance(found, Ratio) or result.value is None:
        return None
    if not math.isclose(found.value, result.value, rel_tol=1e-9):
        return None
    ratio = Fraction(1)
    for driven, driving in found.stages:
        ratio *= Fraction(driven.text) / Fraction(driving.text)
    counts = ratio.numerator, ratio.denominator
    if len(found.stages) == 1 and all(one.value == int(one.value) for one in found.stages[0]):
        counts = int(found.stages[0][0].value), int(found.stages[0][1].value)
    return (str(counts[0]), str(counts[1])) if all(1 <= each <= MOST_TEETH for each in counts) else None


def _teeth(result: Result, reading: Reading) -> EncodedValue:
    """One of the two counts. What is written nowhere (`counts_of_teeth`) stays as it is."""
    assert result.value is not None
    counts = counts_of_teeth(result)
    if counts is None:
        return EncodedValue(reading.text, result.value, IN_TEETH)
    return EncodedValue(counts[reading.form.teeth == "driving"], result.value, IN_TEETH)


def _reads_as(text: str, value: float, reading: Reading) -> bool:
    """Whether a setting's value has this ratio in it where it has this text in the place of the reading's."""
    found = read_value(reading.setting.value.replace(reading.text, text, 1))
    return is_value(text) and isinstance(found, Ratio) and math.isclose(found.value, value, rel_tol=1e-9)


def _product(stages: Sequence[str]) -> str | None:
    """Gear stages as one exact ratio: to 1 where that takes few decimals, else of two whole numbers."""
    found = [read_value(stage) for stage in stages]
    pairs = [pair for each in found if isinstance(each, Ratio) for pair in each.stages]
    ratio = math.prod((Fraction(one.text) / Fraction(two.text) for one, two in pairs), start=Fraction(1))
    if len(pairs) != len(stages):
        return None
    short = round(float(ratio), 4)
    text = f"{short:g}:1" if Fraction(str(short)) == ratio else f"{ratio.numerator}:{ratio.denominator}"
    return text if is_value(text) else None


def _truth(value: float, reading: Reading) -> EncodedValue:
    """A truth in the file's own manner of speaking: `no` for `yes`, -1 for +1."""
    if value == reading.value:
        return EncodedValue(reading.text, value, "as it was")
    plain = reading.text.lower()
    text = CONTRARY.get(plain, f"{value:g}")
    if reading.text.isupper():
        text = text.upper()
    elif reading.text.istitle():
        text = text.capitalize()
    return EncodedValue(text, value, "the contrary of what stood there")


def _side(result: Result, form: Form) -> str:
    """To which side the written number is rounded; a smaller value may be a larger written number."""
    if not result.round_down and not result.round_up:
        return ROUND_HALF_EVEN
    return ROUND_FLOOR if result.round_down != form.reciprocal else ROUND_CEILING


def _spread(result: Result, form: Form, written: float) -> float:
    if form.reciprocal:
        assert result.value is not None
        return abs(written * result.uncertainty / result.value) if result.value else 0.0
    return result.uncertainty / abs(form.factor)


def decimals_of(text: str) -> int:
    """How many decimals the file's own text has; 0 where it is no plain number."""
    value = read_value(text)
    return value.decimals if isinstance(value, Number) else 0


def needed_decimals(value: float, uncertainty: float) -> int:
    """How many decimals a value needs; below 0 for tens, hundreds and so on.

    With an uncertainty: half a unit of the last place stays below a third of it. Without one: at least
    four significant digits, and as many more as the value has in truth (0.625 stays 0.625).
    """
    if uncertainty > 0:
        # two logarithms: the tiniest number there is, times 2/3, is 0
        return min(MOST_DECIMALS, math.ceil(-math.log10(uncertainty) - math.log10(2 / 3) - 1e-9))
    if value == 0:
        return 0
    for decimals in range(MOST_DECIMALS):
        rounded = round(value, decimals)
        if abs(rounded - value) <= EXACT * abs(value) / 2:
            return decimals
    return MOST_DECIMALS


def least_decimals(value: float, own: str) -> int:
    """How many decimals a value keeps however uncertain it is, beside the file's `own` text (see the module)."""
    if not value:
        return 0
    has = len(re.sub(r"[eE].*|\D", "", own).lstrip("0"))
    return min(max(FEWEST_DIGITS, min(FEW, has)) - 1 - math.floor(math.log10(abs(value))), MOST_DECIMALS)


def _decimal_text(value: float, needed: int, own: int, side: str = ROUND_HALF_EVEN) -> str:
    quantum = Decimal(1).scaleb(-needed)
    # A hair is taken off binary noise first, so that 0.45 is not rounded down to 0.44.
    exact = Decimal(repr(value)).quantize(Decimal(1).scaleb(-max(needed, 0) - 8), ROUND_HALF_EVEN)
    rounded = exact.quantize(quantum, side)
    text = f"{rounded:.{max(needed, own, 0)}f}"
    spare = len(text.partition(".")[2]) - own
    return (
        text[: len(text) - min(spare, len(text) - len(text.rstrip("0")))].rstrip(".") if spare > 0 else text
    )


def _sentence(needed: int, own: int, spread: float, result: Result, form: Form) -> str:
    parts = listed(form.unit) if form.in_parts else None
    unit = parts.name if parts else form.unit or result.unit
    place = number_text.with_unit(f"{Decimal(1).scaleb(-needed):f}", unit)
    side = ", to the safe side" if result.round_down or result.round_up else ""
    if spread > 0:
        said = f"rounded to {place}{side}: finer steps are lost in its uncertainty"
    else:
        said = f"rounded to {place}{side}"
    if own > max(needed, 0):
        said += f"; written with {own} decimal{'s' if own > 1 else ''} as the file has it"
    return said
