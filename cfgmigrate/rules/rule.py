"""A rule as a value: its ways, its warnings, and what it looks at.

A rule says how one quantity follows from others. These are the checked values that `rule_file.py` reads
and `engine.py` works out; the syntax of a rule file is described in `book/README.md`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cached_property
from typing import Any

from msgspec import Struct

from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.rules.formula import Condition, Expression, names
from cfgmigrate.rules.result import Status

#: the name under which a rule's own value stands in its range and its warnings
OWN = "this.value"
#: the fields of a rule that people read; each is filled before it is shown, and its names are checked
TEXTS = ("says", "by_hand", "steps", "otherwise", "elsewhere", "verify", "cautions")
PLACEHOLDER = pattern(r"\{(?:about )?([a-z][a-z0-9_.]*)\}")
#: how one begins that is shown as a figure for a hand to set, in place of the value with all its digits
FOR_A_HAND = "{about "


def not_filled(text: str) -> bool:
    """Whether a text has a brace that stands around no name, and would be shown as it is."""
    return bool(re.search(r"[{}]", PLACEHOLDER.sub("", text)))


class Way(Struct, frozen=True, array_like=True):
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


class Warning_(Struct, frozen=True, array_like=True):
    """What to say where a condition holds; `doubt` makes it a doubt that someone has to settle, and `hold` besides a
    question before whose answer the value is not written. Doubts of one `question` are told as one, each of the further ones by
    its label and by what it has of `its_own`."""

    when: Condition
    say: str
    doubt: bool
    place: Place
    hold: bool = False
    question: str = ""
    its_own: str = ""


#: When in the day something is done or checked, in the day's order. Unplugged: the old drive still on;
#: mounting: before the new one is plugged in; before it moves: with power, standing still; power on: what turns before an axis moves; first loading: hot, while filament goes in.
MOMENTS = (
    "before", "unplugged", "mounting", "power off", "after install", "before it moves", "power on", "x and y homed",
    "first move", "first loading", "first print", "tuning",
)  # fmt: skip


class Rule(Struct, frozen=True, dict=True, array_like=True):
    """One rule, checked. `sets` is the quantity it writes, "" for a by-hand item or a finding. `places` says
    where its fields stand. `most` is what no end of its range passes, and `check_at` the moment of `verify`. Where the rule
    is silent it says the first of `because` that holds, else `otherwise`. Ways further apart than `agree` are a doubt,
    and than `hold` a question: the value is not written; `twos` is a count whose double or half may be what makes them so, and
    `twos_say` what is asked then. `looks_at` is `uses`, once it was found."""

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
    check_at: str = ""
    steps: tuple[str, ...] = ()
    applies: Condition | None = None
    otherwise: str = ""
    because: tuple[Warning_, ...] = ()
    agree: float | None = None
    hold: float | None = None
    twos: str = ""
    twos_say: str = ""
    low: Expression | None = None
    high: Expression | None = None
    step: Expression | None = None
    most: Expression | None = None
    warnings: tuple[Warning_, ...] = ()
    write_as: str = ""
    round_down: bool = False
    round_up: bool = False
    elsewhere: str = ""
    cautions: tuple[str, ...] = ()
    places: tuple[tuple[str, Place], ...] = ()
    looks_at: tuple[str, ...] = ()

    def where(self, field: str) -> Place:
        """Where a field of the rule stands in its file; the file's first line where it has no such field."""
        return dict(self.places).get(field, self.place)

    def texts(self) -> Iterator[tuple[str, Place, str]]:
        """Every text of the rule that people read: its field, its place, and itself."""
        for field in TEXTS:
            found = getattr(self, field)
            for text in (found,) if isinstance(found, str) else found:
                yield field, self.where(field), text
        for reason in self.because:
            yield "otherwise", reason.place, reason.say
        for warning in self.warnings:
            yield "warn", warning.place, warning.say

    @cached_property
    def uses(self) -> tuple[str, ...]:
        """Every name that the rule looks at, its own value left out."""
        if self.looks_at:
            return self.looks_at
        nodes: list[Any] = [self.applies, self.low, self.high, self.step, self.most]
        nodes += [node for way in self.ways for node in (way.formula, way.when)]
        nodes += [each.when for each in (*self.warnings, *self.because)]
        found = [name for node in nodes if node is not None for name in names(node)]
        found += [name for way in self.ways for name in way.needs]
        for _, _, text in self.texts():
            found += PLACEHOLDER.findall(text)
        if self.write_as:
            found.append(self.write_as)
        return tuple(name for name in dict.fromkeys(found) if name != OWN)
