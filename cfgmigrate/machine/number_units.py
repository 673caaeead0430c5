"""The unit of a number, and whether the number can be right in it.

The unit is what the number, the key or the remark says, in this order. Where none says one, it is the quantity's own,
if that is plausible and no other that the trade would write is: where only another is plausible, that one is taken and a
doubt says so, and where both or none are, there is a doubt and no unit.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import islice

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.value import Number
from cfgmigrate.ground.findings import Doubt, Likeness
from cfgmigrate.ground.number_text import sign, with_unit
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written, units
from cfgmigrate.machine.head_lengths import share_of_a_mm
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.quantities import Facts, WrittenUnit, in_parts
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.rms_or_peak import OF_ANOTHER
from cfgmigrate.machine.rows import taught_as
from cfgmigrate.machine.spots import Said, Spot, name_line

#: how a doubt says that a word such as RMS or peak would have to be said
NOT_PLAUSIBLE = "is not plausible"
NOT_SAID_HERE = "this file does not say"
#: where a person finds which of them it is, and what comes of leaving it: 1 / √2 of the current at the least
WHERE_RMS_IS_SAID = (
    "the manual of the board, or the data sheet of its driver, says RMS (effective) or peak (maximum) beside its setting of "
    "the current. If you find neither, leave it: at worst the motor gets 0.71 of the current that is worked out, and is weaker"
)
#: a volume, or so much of it in a time
_OF_VOLUME = pattern(r"(?:cubic|cu\b|[mcµu]?l\b|cc\b|[mc]m\s?(?:\^\s?|\*\*\s?)?[3³])", re.I)
_SAYS_MM = pattern(r"(?<![a-z])(?:mm|millimet(?:re|er)s?)(?![a-z])|spm|mm\b", re.I)
#: A; no motor is held by less, but for none at all (common practice, no source)
LEAST_HELD = 0.005
_SAYS_AMPERES = pattern(r"(?<![a-z])amp(?:ere)?s?(?![a-z])", re.I)
#: what counts are said of behind their number: words, and no unit
_COUNTED = {
    "full_steps": pattern(r"(?:full[ -]?)?steps?(?: ?(?:/|per|a) ?(?:turn|rev(?:olution)?|rotation))?", re.I),
    "microsteps": pattern(r"(?:u|µ|μ|micro[ -]?)steps?(?: ?(?:/|per|a) ?(?:full[ -]?)?step)?|x", re.I),
}


#: in place of a quantity in the doubt about what follows something else: nothing of its own stands there
POINTS_ELSEWHERE = "elsewhere"
#: per cent; a motor that is held by so few mA is none of a drive (common practice, no source)
_WHOLE = 100
#: a share of the running current, as the remark behind it says, follows that by itself
HOLD = "motor.hold_current"
_OF_THE_CURRENT = pattern(
    r"^\W*(?:%\W*)?of (?:the |its )?(?:amps?|(?:run(?:ning)?|moving|driving) (?:amps?|current)|current(?! of| that| it can| limit))\b",
    re.I,
)


def _of_the_current(spot: Spot) -> bool:
    return _OF_THE_CURRENT.search(remarks_of(spot.document).behind(spot.setting)) is not None


def _is_counted(quantity: str, unit: str) -> bool:
    """Whether what stands behind a count only says what is counted: `200 steps/turn`, `16 microsteps`."""
    words = _COUNTED.get(quantity.rpartition(".")[2])
    return words is not None and words.fullmatch(unit.strip()) is not None


def stated_unit(
    spot: Spot, fit: Fit, found: Facts, number: Number
) -> tuple[WrittenUnit | None, tuple[Doubt, ...]]:
    """The unit a number is in, with a doubt where it was inferred; None with a doubt where it is not clear."""
    stated = found.unit(fit.unit) if fit.unit else None
    if number.unit and not _is_counted(fit.quantity, number.unit):
        behind = unit_written(number.unit)
        if behind and behind.of == "angle" and found.quantity.unit == "degC":
            behind = units()["degC"]  # `175 degrees` of a temperature
        written = number.unit.strip().replace("/", " per ").replace("um ", "µm ").replace("micron ", "µm ")
        inline = found.unit(behind.name) if behind else found.unit(written)
        if inline is None and behind and stated and stated.unit == f"{behind.name} per step":
            return stated, ()  # `step size = "1.9 um"`, of which it is said that it is one step's
        if inline is None:
            # `most plastic per second = 9 mm3` is a flow, as `most = 7 mm3/s`, and `amount = 108 %` no length
            of_time = found.quantity.unit == "mm/s" or ("/" in number.unit and _is_length(found))
            flow = _OF_VOLUME.match(number.unit) and of_time
            if flow or (number.unit == "%" and fit.bare and _is_length(found)):
                return None, ()
            if number.unit == "%" and stated and in_parts(stated.unit):
                return stated, ()
            if number.unit == "%" and fit.quantity == HOLD and _of_the_current(spot):
                why = f"{found.quantity.label}: a share of the running current, which it follows"
                doubt = spot.doubt(why, "nothing has to be written here", number.start)
                return None, (dataclasses.replace(doubt, about=POINTS_ELSEWHERE),)
            if number.unit == "%":
                why = f"{found.quantity.label} is in %, and the file does not say of what"
                of = f'unit: "% of 2 {found.quantity.unit}"'
                remedy = (
                    f"if what it is a share of changes too, leave it; else state it in {found.quantity.unit}, or say of what beside its "
                    f"meaning in cfgmigrate.yaml, as in {of} with the number that 100 % is"
                )
                return None, (spot.doubt(why, remedy, number.start),)
            why = f"{found.quantity.label} can't be in {number.unit}"
            return None, (
                spot.doubt(why, f"state it in {found.quantity.unit or 'a plain number'}", number.start),
            )
        if stated and (inline.factor, inline.reciprocal) != (stated.factor, stated.reciprocal):
            why = f"the key says {stated.unit} and the value says {inline.unit}"
            return None, (spot.doubt(why, start=number.start),)
        return inline, ()
    beside = found.unit(spot.unit.name) if spot.unit else None
    if stated and beside and not found.quantity.plausible(stated.to_value(number.value)):
        return beside, ()  # `AMPS = 900 ; mA`: the key names the measure, the remark the unit
    if stated:
        return stated, ()
    if beside:
        return beside, ()
    if spot.legend and number.value and found.quantity.unit and not found.quantity.protected:
        why = f"{found.quantity.label}: {number.text} is in a unit of the file's own; {spot.legend}"
        others = tuple(in_other_units(found, number))
        own_too = not others or found.quantity.plausible(number.value)
        ways = [*others, *(found.units[:1] if own_too else ())]
        ways = sorted(
            ways, key=lambda each: not offered().is_usual(fit.quantity, each.to_value(number.value))
        )
        return None, (spot.doubt(why, _in_one_of(spot, fit, found, number, ways), number.start),)
    own = units().get(found.quantity.unit)
    usual = spot.file_units.get(own.of) if own else None
    taken = found.unit(usual.name) if usual else None
    right = taken is not None and found.quantity.plausible(taken.to_value(number.value))
    if taken and fit.quantity.endswith(".hold_current"):
        right = right and not 0 < taken.to_value(number.value) < LEAST_HELD
    other = _other_lengths(spot)
    if own and other and number.value and not found.quantity.protected and _left_open(spot, own, right):
        in_turns = own.of == "number per length"
        unit = (unit_written(share_of_a_mm(other) or other) or units()["inch"]).name
        whether = "this one counts steps for each mm" if in_turns else "this one is"
        why = f"{spot.head} says lengths in {other}, and whether {whether}, is not said"
        stated_so = f"unit: {own.name}" if in_turns or own.of != "length" else "unit: mm"
        line = _line(spot.named, fit.quantity, unit if own.of == "length" else own.name)
        remedy = f"state it in cfgmigrate.yaml, under meanings: {line}" + (
            f", or with {stated_so}" * (own.of == "length")
        )
        return None, (spot.doubt(why, remedy, number.start),)
    if taken and (asked := _maybe_a_share(spot, fit, found, number, taken)):
        return None, asked
    if taken and own and _is_rather_in_its_own(fit.quantity, found, number.value, taken, right):
        if found.quantity.unit == "A" and _SAYS_AMPERES.search(spot.named.name):
            return found.units[0], ()
        why = f"{found.quantity.label}: the file states {taken.unit} for such numbers, and {number.text} {taken.unit} would be unusual"
        either = (found.units[0], *((taken,) if right else ()))
        return None, (spot.doubt(why, _in_one_of(spot, fit, found, number, either), number.start),)
    if taken and right:
        return taken, ()
    return _unstated(spot, fit, found, number)


def _maybe_a_share(
    spot: Spot, fit: Fit, found: Facts, number: Number, taken: WrittenUnit
) -> tuple[Doubt, ...]:
    """The question about a current at rest whose own line says no unit: `45` beside a run current of 1100 mA is so many per
    cent of that one, whatever the file states of its currents. () for none."""
    held = fit.quantity.endswith(".hold_current") and taken.unit == "mA"
    if not held or found.quantity.plausible(number.value) or number.value > _WHOLE:
        return ()
    why = f"{found.quantity.label}: {number.text} may be in mA, or in % of the run current"
    remedy = (
        f"say in cfgmigrate.yaml, under meanings, if it is in %: {name_line(spot.named, 'ignore')} (it follows the run current, and "
        f"the line stays); if it is in mA, so {shown(taken.to_value(number.value), found)}: {_line(spot.named, fit.quantity, taken.unit)}"
    )
    return (spot.doubt(why, remedy, number.start),)


def _is_rather_in_its_own(
    quantity: str, found: Facts, number: float, taken: WrittenUnit, right: bool
) -> bool:
    """Whether a number is a usual one in its quantity's own unit, and none in the one that the file states of such."""
    if (
        not number
        or found.quantity.protected
        or taken.unit == found.quantity.unit
        or not found.quantity.plausible(number)
    ):
        return False
    there, here = (offered().is_usual(quantity, each) for each in (taken.to_value(number), number))
    return not right or (not there and bool(here))


def _is_length(found: Facts) -> bool:
    """Whether a quantity is a length."""
    own = units().get(found.quantity.unit)
    return own is not None and own.of == "length"


def _other_lengths(spot: Spot) -> str:
    """The unit of lengths that the file states where it is not mm, "" for none."""
    stated = spot.file_units.get("length")
    return spot.head_lengths or (stated.name if stated and stated.name != "mm" else "")


#: why a 0 is not written that is the same in every unit: the number in its place would not be
UNIT_OF_ITS_PLACE = "0 is the same in every unit, and in which one another number would be read here is open"


def open_for_others(spot: Spot, fit: Fit, found: Facts, number: Number) -> str:
    """Why a 0 is not edited of which any other number in its place would be asked for its unit; "" where none would be."""
    own = units().get(found.quantity.unit)
    if number.value or own is None or found.quantity.protected or number.unit or fit.unit or spot.unit:
        return ""
    usual = spot.file_units.get(own.of)
    right = usual is not None and found.unit(usual.name) is not None
    asked = spot.legend or (_other_lengths(spot) and _left_open(spot, own, right))
    return UNIT_OF_ITS_PLACE if asked else ""


def _left_open(spot: Spot, own: Unit, right: bool) -> bool:
    """Whether it is open if a number is in what the file says of lengths: it is one, and its unit is in doubt or leads to
    nothing plausible (`right`); or it counts in them and the file states none of its measure."""
    if own.of == "length":
        return bool(spot.head_lengths) or not right
    if own.of == "number per length":
        return own.of not in spot.file_units and not _SAYS_MM.search(spot.named.name)
    return own.of in ("speed", "acceleration") and own.of not in spot.file_units


def _unstated(
    spot: Spot, fit: Fit, found: Facts, number: Number
) -> tuple[WrittenUnit | None, tuple[Doubt, ...]]:
    own, *others = found.units
    qualifier = found.qualifiers.get(fit.qualifier, (1.0, ""))[0]
    if number.value == 0 or found.quantity.protected:
        return own, ()
    possible = [
        unit
        for unit in others
        if unit.thought_of(number.value) and found.quantity.plausible(unit.to_value(number.value) * qualifier)
    ]
    label = found.quantity.label
    if found.quantity.plausible(number.value * qualifier):
        if not possible:
            return own, ()
        names = " or ".join(unit.unit or "a plain number" for unit in (own, *possible))
        remedy = f"state it in cfgmigrate.yaml, under meanings: {_line(spot.named, fit.quantity, own.unit)}"
        return None, (spot.doubt(f"{label}: {number.text} may be in {names}", remedy, number.start),)
    if len(possible) == 1:
        taken = possible[0]
        if asked := _maybe_a_share(spot, fit, found, number, taken):
            return None, asked
        why = f"{label}: no unit is stated; {number.text} is taken as {taken.unit}, the only plausible one"
        remedy = f"state it in cfgmigrate.yaml, under meanings: {_line(spot.named, fit.quantity, taken.unit)}"
        return taken, (spot.doubt(why, remedy, number.start),)
    said = implausible(spot, fit, found, shown(number.value * qualifier, found), number.start, number)
    return None, said.doubts


#: units in which people have such numbers, in the order in which they are offered
_COMMON = ("mm/100", "mm/10", "µm", "ms", "mm/min", "mA", "1/m", "1/cm", "cm", "inch")
_MOST_OFFERED = 2


def in_other_units(found: Facts, number: Number) -> Iterator[WrittenUnit]:
    """The common units but the quantity's own in which a number would be plausible."""
    by_name = {unit.unit: unit for unit in found.units[1:]}
    possible = (by_name[name] for name in _COMMON if name in by_name)
    return islice(
        (each for each in possible if found.quantity.plausible(each.to_value(number.value))), _MOST_OFFERED
    )


def _in_one_of(spot: Spot, fit: Fit, found: Facts, number: Number, possible: Iterable[WrittenUnit]) -> str:
    """The ways out of an unstated unit: the units first, and that it is nothing of the kind at last."""
    ways = [
        f"if it is in {unit.unit}, so {shown(unit.to_value(number.value), found)}: {_line(spot.named, fit.quantity, unit.unit)}"
        for unit in possible
    ]
    return f"say in cfgmigrate.yaml, under meanings, {'; '.join(ways)}; if it means something else: {name_line(spot.named, 'ignore')}"


#: how the reason ends for which a lone 0 or 1 is not edited
OFF_OR_ON = "without a unit may be off or on"


def may_be_a_switch(spot: Spot, fit: Fit, found: Facts, number: Number) -> str:
    """Why a lone 0 or 1 is not edited as a length, speed, current or time, "" where it may be: `0.00` is no switch.
    Positions have 0 and 1 for themselves: they are what can be negative."""
    own = units().get(found.quantity.unit)
    measured = (
        own is not None
        and own.of in ("length", "speed", "current", "time")
        and (found.quantity.low or 0) >= 0
    )
    if not measured or found.quantity.protected or number.value not in (0, 1):
        return ""
    if number.value == 0 and "." in number.text:
        return ""
    # `; all currents in A` above a length says nothing of it
    beside = spot.unit and found.unit(spot.unit.name)
    stated = number.unit or fit.unit or beside or (own and own.of in spot.file_units)
    return "" if stated else f"{number.text} {OFF_OR_ON}"


def rms_or_peak(spot: Spot, found: Facts) -> str:
    """`rms` or `peak` where the line or the file states it of such a quantity, else ""."""
    said = [spot.qualifier, spot.file_qualifier, spot.qualifier.removesuffix(OF_ANOTHER)]
    return next((word for word in said if word in found.qualifiers), "")


def unsaid(spot: Spot, fit: Fit, found: Facts, unit: WrittenUnit, number: Number) -> tuple[Doubt, ...]:
    """A doubt where a word such as RMS or peak would have to be said and is not."""
    if not found.unsaid or fit.qualifier or number.value == 0:
        return ()
    choice = " or ".join(map(sign, found.qualifiers))
    why = f"{found.quantity.label}: {NOT_SAID_HERE} {choice}; {number.text} is taken as {sign(found.unsaid)}"
    line = _line(spot.named, fit.quantity, f"{unit.unit} {found.unsaid}")
    remedy = f"{WHERE_RMS_IS_SAID}. For peak write peak where rms stands here; state it in cfgmigrate.yaml, under meanings: {line}"
    like = Likeness(NOT_SAID_HERE, of=found.quantity.label, anywhere=True, each_its_answer=True)
    return (spot.doubt(why, remedy, number.start, like),)


def beside_other_heads(doubts: Iterable[Doubt], documents: Iterable[Document]) -> Iterator[Doubt]:
    """The doubts; one of RMS or peak says which other file speaks of one of them in its head, where all that do say the
    same. It stays a doubt: a head is about its own file."""
    heads: dict[str, str] | None = None
    for doubt in doubts:
        if doubt.asks(NOT_SAID_HERE):
            if heads is None:
                told = {document.path: remarks_of(document).qualifier for document in documents}
                heads = {path: word for path, word in told.items() if word}
            if heads and len(set(heads.values())) == 1:
                path, word = next(iter(heads.items()))
                doubt = replace(
                    doubt, why=f"{doubt.why}; the head of {path} says {sign(word)} of its own numbers"
                )
        yield doubt


def _line(setting: Setting, quantity: str, unit: str) -> str:
    """The line of a names file that says the unit of a number; of a row, that of all of it."""
    return name_line(setting, taught_as(setting, quantity), unit)


def in_some_unit(found: Facts, number: float) -> bool:
    """Whether a bare number is plausible for a quantity in its own unit or in one that people think of for it."""
    own, *others = found.units
    thought = [own, *(unit for unit in others if unit.thought_of(number))]
    return any(found.quantity.plausible(unit.to_value(number)) for unit in thought)


def shown(value: float, found: Facts) -> str:
    return with_unit(f"{value:.6g}", found.quantity.unit)


def implausible(
    spot: Spot, fit: Fit, found: Facts, shown: str, start: int, bare: Number | None = None
) -> Said:
    """The question about a number that can't be right; `bare` is it where no unit is stated."""
    low, high = found.quantity.low, found.quantity.high
    why = f"{found.quantity.label}: {shown} {NOT_PLAUSIBLE} (expected {_bounds(low, high)})"
    remedy = f"if it means something else, say so in cfgmigrate.yaml, under meanings: {name_line(spot.named, 'ignore')}"
    if bare is not None and (others := tuple(in_other_units(found, bare))):
        remedy = _in_one_of(spot, fit, found, bare, others)
    return Said((), (replace(spot.doubt(why, remedy, start), about=fit.quantity),))


def _bounds(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return f"at least {low:g}" if low is not None else f"at most {high:g}"
    return f"{low:g} to {high:g}"
