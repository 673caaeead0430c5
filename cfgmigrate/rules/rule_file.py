"""Reading one rule file: from YAML to a `Rule`, with every error at its line.

The syntax is described in `book/README.md`. Whether the names exist, the units come out and the rules
hold together is checked in `book.py`, where all rules are known.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.positioned_yaml import Node, read_marked
from cfgmigrate.rules.former_names import with_present_names
from cfgmigrate.rules.formula import Condition, Expression, FormulaError, read_condition, read_expression
from cfgmigrate.rules.result import Status
from cfgmigrate.rules.rule import MOMENTS, Rule, Warning_, Way

SYNTAX = "See book/README.md for the syntax."

RULE_FIELDS = {
    "sets": "text",
    "label": "text",
    "unit": "text",
    "by_hand": "text",
    "moment": "text",
    "check_at": "text",
    "steps": "list",
    "says": "text",
    "applies": "text",
    "otherwise": "text",
    "because": "list",
    "ways": "list",
    "agree": "text",
    "hold": "text",
    "twos": "mapping",
    "range": "mapping",
    "warn": "list",
    "write_as": "text",
    "round": "text",
    "elsewhere": "text",
    "verify": "text",
    "cautions": "list",
}
WAY_FIELDS = {
    "way": "text",
    "needs": "list",
    "when": "text",
    "formula": "text",
    "word": "text",
    "status": "text",
    "source": "text",
    "check_only": "text",
    "fallback": "text",
    "round": "text",
}
WARN_FIELDS = {
    "when": "text",
    "say": "text",
    "doubt": "text",
    "hold": "text",
    "question": "text",
    "its_own": "text",
}
TWOS_FIELDS = {"of": "text", "say": "text"}
RANGE_FIELDS = {"low": "text", "high": "text", "step": "text", "most": "text"}


def read_rule(name: str, shown: str, source: bytes) -> Rule:
    """One rule from its file. Raises BadInput with file and line."""
    reader = Fields(read_marked(source, shown), RULE_FIELDS)
    ways = tuple(_read_way(item) for item in reader.items("ways"))
    if not ways:
        raise reader.error("a rule needs at least one way", "ways")
    warnings = tuple(_read_warning(item) for item in reader.items("warn"))
    ranges = reader.inner("range", RANGE_FIELDS)
    twos = reader.inner("twos", TWOS_FIELDS)
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
        moment=_moment(reader, "moment") or "power off",
        check_at=_moment(reader, "check_at"),
        steps=tuple(" ".join(step.split()) for step in reader.texts("steps")),
        applies=reader.condition("applies"),
        otherwise=reader.text("otherwise"),
        because=tuple(_read_warning(item) for item in reader.items("because")),
        agree=reader.percent("agree"),
        hold=reader.hold(),
        twos=twos.needed("of") if twos else "",
        twos_say=twos.needed("say") if twos else "",
        low=ranges.expression("low") if ranges else None,
        high=ranges.expression("high") if ranges else None,
        step=ranges.expression("step") if ranges else None,
        most=ranges.expression("most") if ranges else None,
        warnings=warnings,
        write_as=reader.text("write_as"),
        round_down=rounding == "down",
        round_up=rounding == "up",
        elsewhere=reader.text("elsewhere"),
        cautions=reader.texts("cautions"),
        places=tuple((key, reader.where(key)) for key in reader.fields),
    )


def _moment(reader: Fields, field: str) -> str:
    found = reader.text(field)
    if found and found not in MOMENTS:
        raise reader.error(f"{found!r} is no moment; it is one of {', '.join(MOMENTS)}", field)
    return found


def _read_way(node: Node) -> Way:
    reader = Fields(node, WAY_FIELDS)
    text = reader.text("formula")
    word = reader.text("word")
    if bool(text) == bool(word):
        raise reader.error("a way has either a formula or a word", "way")
    status = reader.needed("status")
    if status not in set(Status):
        raise reader.error(f"{status!r} is no status; it is one of {', '.join(Status)}", "status")
    return Way(
        name=reader.needed("way"),
        needs=reader.texts("needs"),
        status=Status(status),
        source=reader.needed("source"),
        place=reader.where("formula" if text else "word"),
        text=text,
        formula=reader.expression("formula"),
        word=word,
        when=reader.condition("when"),
        check_only=reader.truth("check_only"),
        fallback=reader.truth("fallback"),
        round=reader.rounding(),
    )


def _read_warning(node: Node) -> Warning_:
    reader = Fields(node, WARN_FIELDS)
    condition = reader.condition("when")
    if condition is None:
        raise reader.error("a warning needs a condition under 'when'", "say")
    hold = reader.truth("hold")
    return Warning_(
        condition,
        reader.needed("say"),
        reader.truth("doubt") if reader.text("doubt") else hold,
        reader.where("when"),
        hold,
        reader.text("question"),
        reader.text("its_own"),
    )


class located:
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


class Fields:
    """One mapping of a rule file, or of another whose header says its `syntax`, its fields looked up with their lines."""

    def __init__(self, node: Node, known: Mapping[str, str], syntax: str = SYNTAX) -> None:
        self.place, self.known, self.syntax = node.place, known, syntax
        if node.items is None:
            raise BadInput("a mapping of fields is expected here", node.place, syntax)
        self.fields = {item.key: item for item in node.items}
        for key, item in self.fields.items():
            if key not in known:
                near = difflib.get_close_matches(key, known, n=1, cutoff=0.0)[0]
                raise BadInput(f"there is no field {key!r}", item.place, f"Did you mean {near!r}?")
            if not item.node.empty and _kind(item.node) != known[key]:
                raise BadInput(f"{key!r} must be a {known[key]}", item.node.place, syntax)

    def where(self, key: str) -> Place:
        item = self.fields.get(key)
        return Place(self.place.file, item.place.line if item else self.place.line)

    def error(self, what: str, key: str) -> BadInput:
        return BadInput(what, self.where(key), self.syntax)

    def text(self, key: str) -> str:
        item = self.fields.get(key)
        return with_present_names(" ".join((item.node.text or "").split())) if item else ""

    def needed(self, key: str) -> str:
        found = self.text(key)
        if not found:
            raise self.error(f"the field {key!r} is missing", key)
        return found

    def items(self, key: str) -> tuple[Node, ...]:
        item = self.fields.get(key)
        return (item.node.elements or ()) if item else ()

    def texts(self, key: str) -> tuple[str, ...]:
        return tuple(with_present_names(node.text or "") for node in self.items(key))

    def inner(self, key: str, known: Mapping[str, str]) -> Fields | None:
        item = self.fields.get(key)
        return Fields(item.node, known, self.syntax) if item and not item.node.empty else None

    def truth(self, key: str) -> bool:
        found = self.text(key)
        if found not in ("", "true", "false"):
            raise self.error(f"{key!r} is true or false", key)
        return found == "true"

    def expression(self, key: str) -> Expression | None:
        text = self.text(key)
        with located(self.where(key)):
            return read_expression(text) if text else None

    def condition(self, key: str) -> Condition | None:
        text = self.text(key)
        with located(self.where(key)):
            return read_condition(text) if text else None

    def rounding(self) -> str:
        found = self.text("round")
        if found not in ("", "nearest", "down", "up"):
            raise self.error("round is 'nearest', 'down' or 'up'", "round")
        return found

    def hold(self) -> float | None:
        """How far apart ways make the value a question: `true` says, as far as `agree`."""
        if self.text("hold") in ("", "true", "false"):
            return self.percent("agree") if self.truth("hold") else None
        return self.percent("hold")

    def percent(self, key: str) -> float | None:
        text = self.text(key)
        if not text:
            return None
        if not re.fullmatch(r"\d+(\.\d+)? ?%", text):
            raise self.error(f"{key!r} is a share such as '3 %'", key)
        return float(text.rstrip("% ")) / 100


def _kind(node: Node) -> str:
    if node.text is not None:
        return "text"
    return "list" if node.elements is not None else "mapping"
