"""A second opinion on every number in a packet, by another way than the one that made it.

The engine parses formulas with Lark, works in SI base units and lets `uncertainties` differentiate. Here
the same texts are parsed by Python's own `ast`, worked out with pint's quantities, and uncertainty comes
from moving each measured number a little up and down by itself (after GUM 5.1.3, note 2: numerical
differences). Only
the packet is used: the formula, the inputs and the results that it records. Nothing is shared with
`rules/`.

A packet says each result once, says where each input comes from, and rounds as it says it does. Whatever else
it records (that the inputs are those of the files, that the formulas are those of the rules) is not looked at here.
"""

from __future__ import annotations

import ast
import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from typing import Any

from msgspec import Struct, field

from cfgmigrate.ground.findings import in_one_line
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.plan.encoding import TYPED, counts_in_wholes
from cfgmigrate.plan.identity import WHOLE_MACHINE, name_of
from cfgmigrate.plan.lines_of_others import OF_OTHERS_RULE

_GROUPS = ("changes", "findings", "by_hand")
#: how far apart two ways of computing the same number may be (relative)
TOLERANCE = 1e-7
#: the same for an uncertainty: differences are not exact for curved formulas
CLOSE_SPREAD = 0.01
#: a number is moved by this share of its uncertainty: little enough to see a formula's slope, and to stay on
#: the same step of what is rounded to a whole step
DIFFERENCE_STEP = 1e-3
#: so many formulas are worked out for one packet; an ordinary one asks for some thousand
MOST_FORMULAS = 200_000
#: characters of a formula; the longest of the book has some 300
LONGEST_RECOMPUTED = 10_000
#: a line of a file, or a table or a constant with what it says itself
_ORIGIN = pattern(r":\d+(?:, (?:before .*|as it will be))*$|^(constant|table .+): .")
#: how a change says that it was rounded: the place, its unit, the side
_ROUNDED = pattern(r"rounded to (\d+(?:\.\d+)?|\d+E\+?\d+)( [^,:;]+|[°%])?(, to the safe side)?(?:[:;].*)?")
#: the last words of what is a limit at one side: the least is rounded up, the most down; the longest feed at once
#: must reach, so it is rounded up as well
_LOWER = pattern(r"min|min_\w+|from_[xyz]|max_feed_length")
_UPPER = pattern(
    r"max|max_(?!feed_length)\w+|to_[xyz]|(?:run|hold)_current|(?:corner_|start_|return_|prime_)?speed"
)
#: binary noise is no side
_HAIR = 1e-7
#: how it says that it was not; such a value may differ by this much of itself
_UNROUNDED = (
    "as it was",
    "the contrary of what stood there",
    "written as gear stages, exact",
    "written as two counts of teeth, exact",
    "written as one ratio, the product of the stages",
    "written as a ratio to 1",
)
_EXACT = 1e-4
_NUMBER = pattern(r"[+-]?(?:\d+[.,]?\d*|\.\d+)")
#: a reciprocal is not straight: one place of it means a little more on one side
_CURVED = 1.05
#: a unit, with no power of a power for pint to work out without end
_UNIT = pattern(r"(?:1|%|[^\W\d_]\w*(?:(?:\^|\*\*)-?\d)?)(?: ?[*/] ?[^\W\d_]\w*(?:(?:\^|\*\*)-?\d)?)*")


class RecordedResult(Struct, frozen=True):
    """One recorded result: its rule (with the holder, where that is not the machine), formula, inputs, value,
    uncertainty and unit."""

    rule: str
    formula: str
    inputs: tuple[Mapping[str, Any], ...]
    value: float
    uncertainty: float
    unit: str


def recompute(document: Mapping[str, Any]) -> list[str]:
    """What does not come out again, a sentence each, for the parsed changes.json; empty where all does."""
    items = list(_items(document))
    work = _Recomputation({item.rule: item for item in items}, _registry())
    problems = [*_said_twice(document), *_from_nowhere(document)]
    for item in work.items.values():
        try:
            problems += _check(item, work)
        except Exception as error:  # whatever a damaged packet makes the parser or pint raise is a finding
            problems.append(f"{item.rule}: cannot be worked out again: {in_one_line(error)}")
        if work.spent > MOST_FORMULAS:
            break
    problems += _check_written(document)
    return problems


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


def _items(document: Mapping[str, Any]) -> Iterator[RecordedResult]:
    for rule, entry in _entries(document):
        value = entry.get("unrounded", entry.get("value"))
        derivation = entry.get("derivation")
        if value is None or derivation is None:
            continue
        spread = entry.get("new", entry).get("uncertainty", 0.0)
        inputs = tuple(derivation["inputs"])
        yield RecordedResult(rule, derivation["formula"], inputs, value, spread, entry["unit"])


def _entries(document: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """All that a rule came to, by the rule's name with the holder. An older release's packet may lack a group."""
    for entry in (each for group in _GROUPS for each in document.get(group, ())):
        yield name_of(str(entry.get("rule", "")), entry.get("holder", WHOLE_MACHINE)), entry


def _said_twice(document: Mapping[str, Any]) -> Iterator[str]:
    """Two results under one name: which of them others rest on could not be told."""
    counted = Counter(name for name, entry in _entries(document) if entry.get("rule"))
    yield from (
        f"{name}: it is in the packet {many} times"
        for name, many in counted.items()
        if many > 1 and not name.startswith(OF_OTHERS_RULE)  # a step for each file, and a number in none
    )
    for group in _GROUPS:
        ids = Counter(str(entry["id"]) for entry in document.get(group, ()) if "id" in entry)
        yield from (f"{name}: it is in {group} {many} times" for name, many in ids.items() if many > 1)


def _from_nowhere(document: Mapping[str, Any]) -> Iterator[str]:
    """Inputs and contributions whose origin is not to be found: no rule of the packet, no line of a file, no table."""
    known = {name for name, _ in _entries(document)}
    for name, entry in _entries(document):
        derivation = entry.get("derivation") or {}
        for given in (*derivation.get("inputs", ()), *derivation.get("contributions", ())):
            origin = str(given["origin"])
            if origin.startswith("rule ") and origin.removeprefix("rule ") not in known:
                yield f"{name}: {given['name']} comes from {origin}, which is not in the packet"
            elif not origin.startswith("rule ") and not _ORIGIN.search(origin):
                yield f"{name}: {given['name']} comes from {origin[:80]!a}, which is no place"


class _Recomputation(Struct):
    """All results of a packet, what they came to with nothing moved, and how many formulas were worked out or looked
    behind for it so far."""

    items: Mapping[str, RecordedResult]
    registry: Any
    spent: int = 0
    unmoved: dict[str, float] = field(default_factory=dict)

    def spend(self) -> None:
        """Counts one formula. Raises ValueError where there are too many for any packet."""
        self.spent += 1
        if self.spent > MOST_FORMULAS:
            raise ValueError(f"it takes more than {MOST_FORMULAS} formulas")

    def upstream(self, entry: Mapping[str, Any]) -> RecordedResult | None:
        """The result that an input is, None where it is none."""
        origin = str(entry["origin"])
        return self.items.get(origin.removeprefix("rule ")) if origin.startswith("rule ") else None


def _check(item: RecordedResult, work: _Recomputation) -> Iterator[str]:
    found = _value(item, work, {}, work.unmoved)
    if not math.isclose(found, item.value, rel_tol=TOLERANCE, abs_tol=1e-12):
        yield f"{item.rule}: recorded as {item.value:.9g} {item.unit}, works out as {found:.9g} {item.unit}"
    least, most, behind = [], [], _behind(item, work)
    for name, leaf in behind.leaves.items():
        step = leaf["uncertainty"] * DIFFERENCE_STEP
        # what does not rest on this number stays as it came to with nothing moved
        still = {rule: work.unmoved[rule] for rule in behind.rules - behind.moving_with(name)}
        up = abs(_value(item, work, {name: leaf["value"] + step}, {**still}) - found)
        down = abs(_value(item, work, {name: leaf["value"] - step}, {**still}) - found)
        # Where min or max turns over right at the value, the two sides differ, and either slope is right.
        least.append(min(up, down) / DIFFERENCE_STEP)
        most.append(max(up, down) / DIFFERENCE_STEP)
    low, high = math.hypot(*least) * (1 - CLOSE_SPREAD), math.hypot(*most) * (1 + CLOSE_SPREAD)
    hair = 1e-9 * abs(item.value) + 1e-12
    if not low - hair <= item.uncertainty <= high + hair:
        spread = f"recorded as {item.uncertainty:.4g}, works out as {high:.4g} {item.unit}"
        yield f"{item.rule}: uncertainty {spread}"


class _Behind(Struct):
    """What a result rests on: the rules, itself among them, with those that use each and those that have a number of
    each name; and the uncertain numbers in the end, by name."""

    rules: set[str] = field(default_factory=set)
    users: dict[str, list[str]] = field(default_factory=dict)
    having: dict[str, list[str]] = field(default_factory=dict)
    leaves: dict[str, Mapping[str, Any]] = field(default_factory=dict)

    def moving_with(self, name: str) -> set[str]:
        """The rules that come out otherwise where the number of this name is another one."""
        waiting = list(dict.fromkeys(self.having[name]))
        found = set(waiting)
        for rule in waiting:
            more = {user for user in self.users.get(rule, ()) if user not in found}
            found |= more
            waiting += more
        return found


def _behind(item: RecordedResult, work: _Recomputation) -> _Behind:
    behind, waiting = _Behind({item.rule}), [item]
    for each in waiting:
        for entry in each.inputs:
            upstream = work.upstream(entry)
            if upstream is None:
                behind.having.setdefault(entry["name"], []).append(each.rule)
                if entry["value"] is not None and entry["uncertainty"]:
                    behind.leaves[entry["name"]] = entry
                continue
            behind.users.setdefault(upstream.rule, []).append(each.rule)
            if upstream.rule not in behind.rules:
                behind.rules.add(upstream.rule)
                waiting.append(upstream)
                work.spend()
    return behind


def _value(
    item: RecordedResult, work: _Recomputation, moved: Mapping[str, float], known: dict[str, float]
) -> float:
    """What a result works out to where some numbers are `moved`; `known` holds what was worked out on the way."""
    if item.rule in known:
        return known[item.rule]
    work.spend()
    values: dict[str, Any] = {}
    for entry in item.inputs:
        upstream = work.upstream(entry)
        if upstream is not None:
            number = _value(upstream, work, moved, known)
            if not moved and not math.isclose(number, entry["value"], rel_tol=TOLERANCE, abs_tol=1e-12):
                raise ValueError(
                    f"{entry['name']} is recorded as {entry['value']:.9g} but comes to {number:.9g}"
                )
        else:
            number = moved.get(entry["name"], entry["value"])
        values[entry["name"]] = work.registry.Quantity(number, _unit(entry["unit"])).to_base_units()
    if len(item.formula) > LONGEST_RECOMPUTED:
        raise ValueError("the formula is too long")
    found = work.registry.Quantity(_walk(_parsed(item.formula), values))
    known[item.rule] = float(found.to(_unit(item.unit)).magnitude)
    return known[item.rule]


@lru_cache(maxsize=64)
def _parsed(formula: str) -> ast.expr:
    return ast.parse(formula.replace("^", "**"), mode="eval").body


@lru_cache(maxsize=1024)
def _unit(text: str) -> Any:
    """A unit of pint's. Looking up its text takes several times as long as working with it."""
    if text and not _UNIT.fullmatch(text):
        raise ValueError(f"{text!a} is no unit")
    return _registry().parse_units(text or "dimensionless")


def _plain(quantity: Any) -> float:
    return (
        float(getattr(quantity, "to", lambda unit: quantity)("dimensionless").magnitude)
        if hasattr(quantity, "magnitude")
        else float(quantity)
    )


_FUNCTIONS: dict[str, Callable[..., Any]] = {
    "min": lambda *values: min(_same_zero(values)),
    "max": lambda *values: max(_same_zero(values)),
    "sqrt": lambda value: value**0.5,
    "exp": lambda value: math.exp(_plain(value)),
    "floor": lambda value: math.floor(_plain(value) + 1e-9),
    "ceil": lambda value: math.ceil(_plain(value) - 1e-9),
    "abs": abs,
}


def _same_zero(values: tuple[Any, ...]) -> list[Any]:
    """A bare 0 takes the unit of its neighbours."""
    unit = next((value.units for value in values if hasattr(value, "units")), None)
    return [value * unit if unit is not None and not hasattr(value, "units") else value for value in values]


def _walk(node: ast.expr, values: Mapping[str, Any]) -> Any:
    match node:
        case ast.Constant(value=int() | float() as number):
            return float(number)
        case ast.Name(id="pi"):
            return math.pi
        case ast.Attribute():
            return values[ast.unparse(node)]
        case ast.UnaryOp(op=ast.USub(), operand=inner):
            return -_walk(inner, values)
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return _FUNCTIONS[name](*(_walk(argument, values) for argument in arguments))
        case ast.BinOp(left=left, op=operator, right=right):
            return _operate(operator, _walk(left, values), _walk(right, values))
    raise ValueError(f"{ast.unparse(node)} is no part of a formula")


def _operate(operator: ast.operator, left: Any, right: Any) -> Any:
    match operator:
        case ast.Add():
            return left + right
        case ast.Sub():
            return left - right
        case ast.Mult():
            return left * right
        case ast.Div():
            return left / right
        case ast.Pow():
            return left**right
    raise ValueError("unknown operator")


def _check_written(document: Mapping[str, Any]) -> Iterator[str]:
    """Each written value is what was worked out, rounded as it is said, and no more than rounding may do."""
    for change in document["changes"]:
        exact, new = change.get("unrounded"), change["new"]
        if exact is None or new["value"] is None:
            continue
        name = name_of(change["quantity"], change.get("holder", WHOLE_MACHINE))
        allowed = _rounding(change, exact)
        if allowed is None:
            yield f"{name}: {change['rounding'][:80]!a} is no rounding"
        elif abs(new["value"] - exact) > allowed * (1 + 1e-6) + 1e-9 * abs(exact) or _is_beyond(
            change, exact
        ):
            yield f"{name}: written as {new['text']}, which is not {exact:.6g} {change['unit']} rounded"


def _is_beyond(change: Mapping[str, Any], exact: float) -> bool:
    """Whether a limit that is said to be rounded to the safe side was rounded to the other one."""
    match = _ROUNDED.fullmatch(str(change["rounding"]))
    if match is None or not match[3]:
        return False
    name, formula = str(change["quantity"]), str(change.get("derivation", {}).get("formula", ""))
    last, script = name.rpartition(".")[2], name.startswith("script.")
    over = float(change["new"]["value"]) - exact
    hair = _HAIR * abs(exact)
    if _LOWER.fullmatch(last) or (script and formula.startswith("max(")):
        return over < -hair
    return bool(_UPPER.fullmatch(last) or (script and formula.startswith("min("))) and over > hair


def _rounding(change: Mapping[str, Any], exact: float) -> float | None:
    """By how much a change's value may differ from what was worked out; None where it doesn't say how it was rounded."""
    new, said = change["new"], str(change["rounding"])
    if said in _UNROUNDED:
        return _EXACT * abs(exact)
    match = _ROUNDED.fullmatch(said)
    if match is None:
        return None
    share = 1.0 if match[3] else 0.5
    # what is kept within a limit as that is written is rounded down a second time, in its own unit; the limit by the step in which
    # people set it
    within = match[3] and str(change.get("derivation", {}).get("formula", "")).startswith("min(")
    if within:
        share = 2.0
    # What is rounded stays below a third of the uncertainty; an exact value keeps what matters of it; a limit may be
    # rounded by one step in which people set it.
    typed = TYPED.get(change["unit"], 0.0)
    step = typed if match[3] and abs(exact) >= 10 * typed else 0.0
    most: float = max(2 / 3 * share * new["uncertainty"], _EXACT * abs(exact), step)
    written = _NUMBER.fullmatch(str(new["text"]).strip())
    number = (
        float(written[0].replace(",", ".")) if written else 0.0
    )  # some files' numbers have commas for points
    if not number or not new["value"]:
        return most
    # What one unit of the last place means in the quantity's own unit, whatever the file's unit is.
    place = abs(float(new["value"]) / number)
    form = change.get("form", {})
    if number.is_integer() and (form.get("whole") or counts_in_wholes(str(form.get("unit", "")))):
        most = max(
            most, place
        )  # what a file has in whole numbers stays whole, however little it is uncertain
    own = share * float(match[1]) * place * _CURVED
    return min(most, own + step if within else own)
