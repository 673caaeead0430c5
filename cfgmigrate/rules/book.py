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
from collections.abc import Iterable, Mapping
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.positioned_yaml import LONGEST_YAML
from cfgmigrate.ground.user_file import read_given
from cfgmigrate.rules import dimensions
from cfgmigrate.rules.former_names import present_name
from cfgmigrate.rules.formula import FormulaError, names
from cfgmigrate.rules.rule import OWN, PLACEHOLDER, Rule, Way, not_filled
from cfgmigrate.rules.rule_file import located, read_rule
from cfgmigrate.rules.vocabulary import RuleNames


class Book(Struct, frozen=True, dict=True):
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
        return self._by_name.get(name)

    @cached_property
    def _by_name(self) -> Mapping[str, Rule]:
        return {rule.name: rule for rule in self.rules}

    @cached_property
    def scaling(self) -> tuple[tuple[Rule, Way], ...]:
        """The ways that rest on the files' own value, each with its rule."""
        return tuple(
            (rule, way)
            for rule in self.rules
            if rule.sets
            for way in rule.ways
            if f"was.{rule.sets}" in way.needs
        )


def own_book() -> Path:
    """The folder of the rules that come with the tool."""
    return Path(__file__).parents[1] / "knowledge" / "book"


def load_book(vocabulary: RuleNames, extra: Path | None = None) -> Book:
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
            files[present_name(path.stem)] = (
                path.name if folder == own_book() else str(path),
                read_given(path, "a rule", LONGEST_YAML),
            )
    return book_from(dict(files.values()), vocabulary)


def book_from(sources: Mapping[str, bytes], vocabulary: RuleNames) -> Book:
    """The book that these files make. Raises BadInput with file and line where they don't hold together."""
    rules = [read_rule(present_name(Path(shown).stem), shown, source) for shown, source in sources.items()]
    vocabulary = vocabulary.with_rules({rule.name: (rule.unit, rule.label) for rule in rules})
    rules = [_complete(rule, vocabulary) for rule in rules]
    for rule in rules:
        _check(rule, vocabulary)
    _check_writers(rules)
    rules = [replace(rule, looks_at=rule.uses) for rule in rules]  # so that a compiled book has it
    return Book(_in_order(rules), {Path(shown).name: source for shown, source in sources.items()})


def _complete(rule: Rule, vocabulary: RuleNames) -> Rule:
    """A rule that sets a quantity takes that quantity's label and unit."""
    if not rule.sets:
        return rule
    quantity = vocabulary.quantity(rule.sets)
    if quantity is None:
        nearest = vocabulary.nearest("was." + rule.sets).removeprefix("was.")
        raise BadInput(
            f"there is no quantity {rule.sets!r}", rule.where("sets"), f"The nearest one is {nearest!r}."
        )
    if quantity.protected:
        raise BadInput(
            f"{rule.sets} is protected and is never written", rule.where("sets"), "Make it a by-hand item."
        )
    return replace(rule, label=rule.label or quantity.label, unit=quantity.unit)


def _check(rule: Rule, vocabulary: RuleNames) -> None:
    if not rule.label:
        raise BadInput("a rule that sets no quantity needs a label", rule.place, "Add 'label:'.")
    for name in rule.uses:
        if not vocabulary.has(name):
            what = f"nothing is called {name!r}"
            raise BadInput(what, _where(rule, name), f"The nearest name is {vocabulary.nearest(name)!r}.")
    _check_whose(rule, vocabulary)
    for field, place, text in rule.texts():
        _check_text(field, place, text)
    units = {name: vocabulary.unit(name) for name in rule.uses}
    units[OWN] = rule.unit
    with located(rule.where("unit")):
        dimensions.unit(rule.unit)
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
    deciding = [way for way in rule.ways if way.formula is not None and not way.fallback]
    if len(deciding) > 1 and rule.agree is None:
        raise BadInput(
            "several ways come to a number, and nothing says how far they may be apart",
            rule.place,
            "Add 'agree:' with a percentage, or mark a way that says the same with less as fallback.",
        )


def _check_whose(rule: Rule, vocabulary: RuleNames) -> None:
    """What a machine has once can't rest on what each of its feeders has for itself: two would want it different."""
    own = vocabulary.quantity(rule.sets) if rule.sets else None
    if own is None or own.of != "machine":
        return
    for name in rule.uses:
        used = vocabulary.quantity_of(name)
        if used is not None and used.of == "feeder":
            what = f"{rule.sets} is the machine's and rests on {name}, which each feeder has for itself"
            raise BadInput(what, _where(rule, name), "Work it out from what the machine has once.")


def _check_text(field: str, place: Place, text: str) -> None:
    if not_filled(text):
        raise BadInput(f"{field!r} has a brace around no name", place, "Write {name}, or take it out.")
    if field == "otherwise" and OWN in PLACEHOLDER.findall(text):
        raise BadInput(f"a silent rule has no {OWN} to tell in {field!r}", place, "Take it out.")


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
        with located(way.place):
            found = dimensions.dimension_of(way.formula, units)
            wanted = dimensions.unit(rule.unit).dimension
            if found is not None and found != wanted:
                raise FormulaError(f"the formula's unit is not {rule.unit or 'a plain number'}")
    if way.when is not None:
        with located(way.place):
            dimensions.check_condition(way.when, units)


def _check_units(rule: Rule, units: dict[str, str]) -> None:
    wanted = dimensions.unit(rule.unit).dimension
    with located(rule.where("applies")):
        if rule.applies is not None:
            dimensions.check_condition(rule.applies, units)
    with located(rule.where("range")):
        for expression in (rule.low, rule.high, rule.step, rule.most):
            if expression is not None and dimensions.dimension_of(expression, units) not in (None, wanted):
                raise FormulaError(f"the range's unit is not {rule.unit or 'a plain number'}")
    for warning in (*rule.warnings, *rule.because):
        with located(warning.place):
            dimensions.check_condition(warning.when, units)


def _where(rule: Rule, name: str) -> Place:
    for way in rule.ways:
        looked_at = [node for node in (way.formula, way.when) if node is not None]
        if name in way.needs or any(name in names(node) for node in looked_at):
            return way.place
    for warning in (*rule.warnings, *rule.because):
        if name in names(warning.when):
            return warning.place
    for _, place, text in rule.texts():
        if name in PLACEHOLDER.findall(text):
            return place
    if rule.applies is not None and name in names(rule.applies):
        return rule.where("applies")
    return rule.where("write_as" if name == rule.write_as else "range")


def _check_writers(rules: Iterable[Rule]) -> None:
    writers: dict[str, Rule] = {}
    for rule in rules:
        if rule.sets and rule.sets in writers:
            other = writers[rule.sets]
            raise BadInput(
                f"{rule.sets} is already set by {other.place.file}",
                rule.where("sets"),
                "Give it one rule with several ways.",
            )
        writers[rule.sets] = rule


def _in_order(rules: list[Rule]) -> tuple[Rule, ...]:
    by_name = {rule.name: rule for rule in rules}
    writers = {rule.sets: rule.name for rule in rules if rule.sets}
    graph: dict[str, list[str]] = {}
    for rule in sorted(rules, key=lambda rule: rule.name):
        before = {
            writers.get(name.removeprefix("will."), "") if name.startswith("will.") else name
            for name in rule.uses
        }
        graph[rule.name] = sorted(before & set(by_name))
    try:
        return tuple(by_name[name] for name in TopologicalSorter(graph).static_order())
    except CycleError as error:
        circle = [str(name) for name in error.args[1]]
        raise BadInput(
            f"rules depend on each other in a circle: {' → '.join(circle)}",
            by_name[circle[0]].place,
            "Break the circle.",
        ) from None
