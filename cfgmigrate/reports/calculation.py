"""A calculation as it is shown: its numbers in the order of its formula, what each was given by, and what makes it unsure.

How that is set in type is the matter of `mathml.py` and of the templates; nothing is computed here.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cfgmigrate.reports import item_text, wording
from cfgmigrate.reports.practice import marked
from cfgmigrate.rules.result import Contribution, Derivation, Input


class Given(Struct, frozen=True):
    """One line of a calculation's legend: a name of its formula, its value, and where that comes from.

    `rule` is the rule that gave it, "" where a file, the sheet or a table did. `share` is its part of the result's
    uncertainty, as text ("" for none) and in whole per cent."""

    name: str
    label: str
    value: str
    origin: str
    rule: str
    share: str
    percent: int


class Behind(Struct, frozen=True):
    """Where the uncertainty comes from, where that is further back than the formula's own names."""

    name: str
    origin: str
    share: str
    percent: int


class Calculation(Struct, frozen=True):
    """How a value follows: the formula, the numbers put in, the result, and a legend in the formula's order.

    `formula` is "" where there is none to show (a word from a table), `substituted` where it would only repeat the
    result. `inputs` are the legend's raw values by name, for those who typeset them."""

    formula: str
    substituted: str
    result: str
    legend: tuple[Given, ...]
    behind: tuple[Behind, ...]
    inputs: Mapping[str, Input]

    @property
    def lines(self) -> tuple[str, ...]:
        """The calculation as two or three lines of plain text; none where there is no formula."""
        if not self.formula:
            return ()
        put_in = (f"= {self.substituted}",) if self.substituted else ()
        return (self.formula, *put_in, f"= {self.result}")

    @property
    def behind_text(self) -> str:
        """`behind` in one line: `path.push (constant †) 62 %; …`."""
        return "; ".join(f"{part.name} ({part.origin}) {part.share}" for part in self.behind)


def calculation_of(derivation: Derivation, result: str, word: str = "") -> Calculation:
    """How `result` follows. A formula that is only the `word` it came to is not shown."""
    formula = derivation.formula
    repeated = formula in {result, word}
    bare = item_text.is_bare_name(formula) or derivation.substituted == formula
    return Calculation(
        formula="" if repeated else formula,
        substituted="" if repeated or bare else derivation.substituted,
        result=result,
        legend=tuple(
            _given(item) for item in sorted(derivation.inputs, key=lambda item: _place(item.name, formula))
        ),
        behind=tuple(_behind(part) for part in item_text.deeper(derivation)),
        inputs={given.name: given for given in derivation.inputs},
    )


def _place(name: str, formula: str) -> int:
    """Where a name stands in a formula; those that don't, last."""
    start = formula.find(name)
    while start >= 0:
        end = start + len(name)
        if not (_in_a_name(formula[start - 1 : start]) or _in_a_name(formula[end : end + 1])):
            return start
        start = formula.find(name, start + 1)
    return len(formula)


def _in_a_name(letter: str) -> bool:
    return letter.isalnum() or letter in ("_", ".")


def _given(item: Input) -> Given:
    return Given(
        name=item.name,
        label=item.label or item.name,
        value=item_text.input_value(item),
        origin=marked(item.origin),
        rule=item.origin.removeprefix("rule ") if item.origin.startswith("rule ") else "",
        share=wording.share(item.share),
        percent=round(100 * item.share),
    )


def _behind(part: Contribution) -> Behind:
    return Behind(part.name, marked(part.origin), wording.share(part.share), round(100 * part.share))
