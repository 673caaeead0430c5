"""The rule book: one YAML file a rule, read and checked before anything is computed.

A rule says how one quantity follows from others. It has ways, best first; the first whose inputs are
known wins and the others become cross-checks. The syntax of a rule file is described in
`book/README.md`. Loading checks that every name exists, every formula's units come out as the rule's
own, no two rules write the same quantity, no rule writes a protected one, no way is unreachable, and
nothing depends on itself. Each error has a file and a line.

No rule is Python: this module knows no quantity by name.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any

from cfgmigrate.findings import BadInput, Place
from cfgmigrate.rules import dimensions
from cfgmigrate.rules.formula import (
    Condition,
    Expression,
    FormulaError,
    names,
    read_condition,
    read_expression,
)
from cfgmigrate.rules.result import Status
from cfgmigrate.rules.vocabulary import Vocabulary

#: the name under which a rule's own value stands in its range and its warnings
OWN = "this.value"

RULE_FIELDS = {
    "sets": str,
    "label": str,
    "unit": str,
    "by_hand": str,
    "moment": str,
    "says": str,
    "applies": str,
    "otherwise": str,
    "ways": list,
    "agree": str,
    "range": dict,
    "warn": list,
    "write_as": str,
    "round": str,
    "elsewhere": str,
    "verify": str,
    "cautions": list,
}
WAY_FIELDS = {
    "way": str,
    "needs": list,
    "when": str,
    "formula": str,
    "word": str,
    "status": str,
    "source": str,
    "check_only": bool,
    "fallback": bool,
    "round": str,
}
WARN_FIELDS = {"when": str, "say": str, "doubt": bool}
PLACEHOLDER = re.compile(r"\{([a-z][a-z0-9_.]*)\}")


@dataclass(frozen=True, slots=True)
class Way:
    """One way to the value. `formula` is None for a way that gives a word. A `check_only` way never wins;
    a `fallback` says the same with less, and is no cross-check of a better one. `round` is "" where the rule
    says how to round."""

    name: str
    needs: tuple[str, ...]
    status: Status
    source: str
    place: Place
    text: str = ""
    formula: Expression | None = None
    word: str = ""
    when: Condition | None = None
    check_only: bool = False
    fallback: bool = False
    round: str = ""


@dataclass(frozen=True, slots=True)
class Warning_:
    """What to say where a condition holds; `doubt` makes it a doubt that someone has to settle."""

    when: Condition
    say: str
    doubt: bool
    place: Place


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule, checked. `sets` is the quantity it writes, "" for a by-hand item or a finding."""

    name: str
    place: Place
    label: str
    unit: str
    says: str
    ways: tuple[Way, ...]
    verify: str
    sets: str = ""
    by_hand: str = ""
    moment: str = "power off"
    applies: Condition | None = None
    otherwise: str = ""
    agree: float | None = None
    low: Expression | None = None
    high: Expression | None = None
    step: Expression | None = None
    warnings: tuple[Warning_, ...] = ()
    write_as: str = ""
    round_down: bool = False
    round_up: bool = False
    elsewhere: str = ""
    cautions: tuple[str, ...] = ()

    def uses(self) -> tuple[str, ...]:
        """Every name that the rule looks at, its own value left out."""
        nodes: list[Any] = [self.applies, self.low, self.high, self.step]
        nodes += [node for way in self.ways for node in (way.formula, way.when)]
        nodes += [warning.when for warning in self.warnings]
        found = [name for node in nodes if node is not None for name in names(node)]
        found += [name for way in self.ways for name in way.needs]
        for text in (self.says, self.by_hand, self.elsewhere, *(warning.say for warning in self.warnings)):
            found += PLACEHOLDER.findall(text)
        if self.write_as:
            found.append(self.write_as)
        return tuple(name for name in dict.fromkeys(found) if name != OWN)


@dataclass(frozen=True)
class Book:
    """All rules in the order in which they can be worked out. `sources` are the files' bytes by name."""

    rules: tuple[Rule, ...]
    sources: Mapping[str, bytes]

    @property
    def sha256(self) -> str:
        digest = hashlib.sha256()
        for name in sorted(self.sources):
            digest.update(name.encode() + b"\0" + self.sources[name] + b"\0")
        return digest.hexdigest()

    def rule(self, name: str) -> Rule | None:
        return next((rule for rule in self.rules if rule.name == name), None)


def own_book() -> Path:
    """The folder of the rules that come with the tool."""
    return Path(__file__).parent / "book"


def load_book(vocabulary: Vocabulary, extra: Path | None = None) -> Book:
    """The tool's own rules and, where given, the user's folder of further ones.

    A rule of the user's with the name of one of ours takes its place. Raises BadInput with file and line.
    """
    folders = [own_book()]
    if extra is not None:
        if not extra.is_dir():
            raise BadInput(
                "there is no folder of rules here", Place(str(extra)), "Name a folder of .yaml rules."
            )
        folders.append(extra)
    files: dict[str, tuple[str, bytes]] = {}
    for folder in folders:
        for path in sorted(folder.glob("*.yaml")):
            files[path.stem] = (path.name if folder == own_book() else str(path), path.read_bytes())
    return book_from(dict(files.values()), vocabulary)


def book_from(sources: Mapping[str, bytes], vocabulary: Vocabulary) -> Book:
    """The book that these files make. Raises BadInput with file and line where they don't hold together."""
    rules = [_read_rule(Path(shown).stem, shown, source) for shown, source in sources.items()]
    vocabulary = vocabulary.with_rules({rule.name: (rule.unit, rule.label) for rule in rules})
    rules = [_complete(rule, vocabulary) for rule in rules]
    for rule in rules:
        _check(rule, vocabulary)
    _check_writers(rules)
    return Book(_in_order(rules), {Path(shown).name: source for shown, source in sources.items()})


def _read_rule(name: str, shown: str, source: bytes) -> Rule:
    data = _yaml(shown, source)
    reader = _Fields(data, shown, RULE_FIELDS)
    ways = tuple(_read_way(item, shown) for item in reader.items("ways"))
    if not ways:
        raise reader.error("a rule needs at least one way", "ways")
    warnings = tuple(_read_warning(item, shown) for item in reader.items("warn"))
    ranges = _Fields(data.get("range") or {}, shown, {"low": str, "high": str, "step": str})
    rounding = reader.rounding()
    return Rule(
        name=name,
        place=Place(shown, 1),
        label=reader.text("label"),
        unit=reader.text("unit"),
        says=reader.needed("says"),
        ways=ways,
        verify=reader.needed("verify"),
        sets=reader.text("sets"),
        by_hand=reader.text("by_hand"),
        moment=reader.text("moment") or "power off",
        applies=reader.condition("applies"),
        otherwise=reader.text("otherwise"),
        agree=reader.percent("agree"),
        low=ranges.expression("low"),
        high=ranges.expression("high"),
        step=ranges.expression("step"),
        warnings=warnings,
        write_as=reader.text("write_as"),
        round_down=rounding == "down",
        round_up=rounding == "up",
        elsewhere=reader.text("elsewhere"),
        cautions=tuple(str(item) for item in reader.items("cautions")),
    )


def _read_way(data: Any, shown: str) -> Way:
    reader = _Fields(data, shown, WAY_FIELDS)
    text = reader.text("formula")
    word = reader.text("word")
    if bool(text) == bool(word):
        raise reader.error("a way has either a formula or a word", "way")
    status = reader.needed("status")
    if status not in set(Status):
        raise reader.error(f"{status!r} is no status; it is one of {', '.join(Status)}", "status")
    return Way(
        name=reader.needed("way"),
        needs=tuple(str(item) for item in reader.items("needs")),
        status=Status(status),
        source=reader.needed("source"),
        place=Place(shown, reader.line("formula" if text else "word")),
        text=text,
        formula=reader.expression("formula"),
        word=word,
        when=reader.condition("when"),
        check_only=bool(data.get("check_only", False)),
        fallback=bool(data.get("fallback", False)),
        round=reader.rounding(),
    )


def _read_warning(data: Any, shown: str) -> Warning_:
    reader = _Fields(data, shown, WARN_FIELDS)
    condition = reader.condition("when")
    if condition is None:
        raise reader.error("a warning needs a condition under 'when'", "say")
    place = Place(shown, reader.line("when"))
    return Warning_(condition, reader.needed("say"), bool(data.get("doubt", False)), place)


def _complete(rule: Rule, vocabulary: Vocabulary) -> Rule:
    """A rule that sets a quantity takes that quantity's label and unit."""
    if not rule.sets:
        return rule
    quantity = vocabulary.quantity(rule.sets)
    if quantity is None:
        nearest = vocabulary.nearest("was." + rule.sets).removeprefix("was.")
        raise BadInput(f"there is no quantity {rule.sets!r}", rule.place, f"The nearest one is {nearest!r}.")
    if quantity.protected:
        raise BadInput(
            f"{rule.sets} is protected and is never written", rule.place, "Make it a by-hand item."
        )
    return replace(rule, label=rule.label or quantity.label, unit=quantity.unit)


def _check(rule: Rule, vocabulary: Vocabulary) -> None:
    if not rule.label:
        raise BadInput("a rule that sets no quantity needs a label", rule.place, "Add 'label:'.")
    for name in rule.uses():
        if not vocabulary.has(name):
            what = f"nothing is called {name!r}"
            raise BadInput(what, _where(rule, name), f"The nearest name is {vocabulary.nearest(name)!r}.")
    units = {name: vocabulary.unit(name) for name in rule.uses()}
    units[OWN] = rule.unit
    seen: list[Way] = []
    for way in rule.ways:
        _check_way(rule, way, units)
        if (earlier := next((found for found in seen if _always_before(found, way)), None)) is not None:
            raise BadInput(
                f"the way {way.name!r} can never be reached: {earlier.name!r} is always known when it is",
                way.place,
                "Put it before that one, or mark it check_only.",
            )
        seen.append(way)
    _check_units(rule, units)


def _always_before(earlier: Way, way: Way) -> bool:
    """Whether the earlier way wins whenever the later one could."""
    if way.check_only or earlier.check_only or earlier.when is not None:
        return False
    return {name for name in earlier.needs if not name.startswith("const.")} <= set(way.needs)


def _check_way(rule: Rule, way: Way, units: dict[str, str]) -> None:
    used = set(names(way.formula)) if way.formula is not None else set()
    for name in sorted(used - set(way.needs)):
        raise BadInput(
            f"the way {way.name!r} uses {name} without needing it", way.place, "Add it to 'needs'."
        )
    if way.formula is not None:
        for name in sorted(set(way.needs) - used):
            raise BadInput(
                f"the way {way.name!r} needs {name} and does not use it", way.place, "Take it out of 'needs'."
            )
        with _located(way.place):
            found = dimensions.dimension_of(way.formula, units)
            wanted = dimensions.unit(rule.unit).dimension
            if found is not None and found != wanted:
                raise FormulaError(f"the formula's unit is not {rule.unit or 'a plain number'}")
    if way.when is not None:
        with _located(way.place):
            dimensions.check_condition(way.when, units)


def _check_units(rule: Rule, units: dict[str, str]) -> None:
    wanted = dimensions.unit(rule.unit).dimension
    with _located(rule.place):
        if rule.applies is not None:
            dimensions.check_condition(rule.applies, units)
        for expression in (rule.low, rule.high, rule.step):
            if expression is not None and dimensions.dimension_of(expression, units) not in (None, wanted):
                raise FormulaError(f"the range's unit is not {rule.unit or 'a plain number'}")
    for warning in rule.warnings:
        with _located(warning.place):
            dimensions.check_condition(warning.when, units)


class _located:
    """Turns a formula's error into one with a file and a line."""

    def __init__(self, place: Place) -> None:
        self.place = place

    def __enter__(self) -> None:
        return

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, FormulaError):
            raise BadInput(
                str(error), self.place, "Mend the rule; its syntax is in book/README.md."
            ) from None


def _where(rule: Rule, name: str) -> Place:
    for way in rule.ways:
        if name in way.needs or (way.formula is not None and name in names(way.formula)):
            return way.place
    for warning in rule.warnings:
        if name in names(warning.when):
            return warning.place
    return rule.place


def _check_writers(rules: Iterable[Rule]) -> None:
    writers: dict[str, Rule] = {}
    for rule in rules:
        if rule.sets and rule.sets in writers:
            other = writers[rule.sets]
            raise BadInput(
                f"{rule.sets} is already set by {other.place.file}",
                rule.place,
                "Give it one rule with several ways.",
            )
        writers[rule.sets] = rule


def _in_order(rules: list[Rule]) -> tuple[Rule, ...]:
    by_name = {rule.name: rule for rule in rules}
    writers = {rule.sets: rule.name for rule in rules if rule.sets}
    graph: dict[str, set[str]] = {}
    for rule in sorted(rules, key=lambda rule: rule.name):
        before = {
            writers.get(name.removeprefix("will."), "") if name.startswith("will.") else name
            for name in rule.uses()
        }
        graph[rule.name] = before & set(by_name)
    try:
        return tuple(by_name[name] for name in TopologicalSorter(graph).static_order())
    except CycleError as error:
        circle = [str(name) for name in error.args[1]]
        raise BadInput(
            f"rules depend on each other in a circle: {' → '.join(circle)}",
            by_name[circle[0]].place,
            "Break the circle.",
        ) from None


def _yaml(shown: str, source: bytes) -> Any:
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError, YAMLError

    try:
        data = YAML().load(source)
    except MarkedYAMLError as error:
        mark = error.problem_mark
        place = Place(shown, mark.line + 1, mark.column + 1) if mark else Place(shown)
        raise BadInput(f"this is not YAML: {error.problem}", place, "Mend the file.") from None
    except (YAMLError, UnicodeDecodeError, ValueError, RecursionError) as error:
        raise BadInput(f"this is not YAML: {error}", Place(shown), "Mend the file.") from None
    if not isinstance(data, dict):
        raise BadInput("a rule is a mapping of fields", Place(shown, 1), "See book/README.md.")
    return data


class _Fields:
    """One mapping of a rule file, its fields looked up with their lines."""

    def __init__(self, data: Any, shown: str, known: Mapping[str, type]) -> None:
        import difflib

        self.data, self.shown = data, shown
        if not isinstance(data, dict):
            raise BadInput("a mapping of fields is expected here", Place(shown), "See book/README.md.")
        for key, value in data.items():
            if key not in known:
                near = difflib.get_close_matches(str(key), known, n=1, cutoff=0.0)[0]
                raise self.error(f"there is no field {key!r}", str(key), f"Did you mean {near!r}?")
            if known[key] is not str and not isinstance(value, known[key]):
                raise self.error(f"{key!r} holds the wrong kind of value", str(key))

    def line(self, key: str) -> int:
        position = getattr(self.data, "lc", None)
        if position is None:
            return 0
        return int((position.key(key) if key in self.data else (position.line, 0))[0]) + 1

    def error(self, what: str, key: str, remedy: str = "See book/README.md.") -> BadInput:
        return BadInput(what, Place(self.shown, self.line(key)), remedy)

    def text(self, key: str) -> str:
        value = self.data.get(key)
        return "" if value is None else " ".join(str(value).split())

    def needed(self, key: str) -> str:
        found = self.text(key)
        if not found:
            raise self.error(f"the field {key!r} is missing", key)
        return found

    def items(self, key: str) -> list[Any]:
        return list(self.data.get(key) or [])

    def expression(self, key: str) -> Expression | None:
        text = self.text(key)
        with _located(Place(self.shown, self.line(key))):
            return read_expression(text) if text else None

    def condition(self, key: str) -> Condition | None:
        text = self.text(key)
        with _located(Place(self.shown, self.line(key))):
            return read_condition(text) if text else None

    def rounding(self) -> str:
        found = self.text("round")
        if found not in ("", "nearest", "down", "up"):
            raise self.error("round is 'nearest', 'down' or 'up'", "round")
        return found

    def percent(self, key: str) -> float | None:
        text = self.text(key)
        if not text:
            return None
        if not re.fullmatch(r"\d+(\.\d+)? ?%", text):
            raise self.error(f"{key!r} is a share such as '3 %'", key)
        return float(text.rstrip("% ")) / 100
