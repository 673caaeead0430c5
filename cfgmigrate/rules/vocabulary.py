"""Which names a rule may use, and the unit of each: the check behind the rule book's loading.

Names come from four places: the quantities of the neutral model (`was.…`, `will.…`, `shared.…`), the fields of the
swap sheet, the constants and tables (`const.…`, or a table's field behind a sheet field that names a
row), and the other rules. This module holds no values.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.machine.model import Quantity

AGES = ("was", "will", "shared")
"""How the names of quantities begin: as they were, as they become, and as they become where no profile is on."""


class RuleNames(Struct, frozen=True):
    """`terms` maps a name to its unit ("" for plain numbers and words); `find` looks a quantity up by id."""

    terms: Mapping[str, str]
    find: Callable[[str], Quantity | None]
    quantities: tuple[str, ...]
    labels: Mapping[str, str] = field(default_factory=dict)

    def has(self, name: str) -> bool:
        return name in self.terms or self.quantity_of(name) is not None

    def unit(self, name: str) -> str:
        """The unit of a name that exists."""
        found = self.quantity_of(name)
        return found.unit if found is not None else self.terms[name]

    def quantity(self, quantity_id: str) -> Quantity | None:
        return self.find(quantity_id)

    def quantity_of(self, name: str) -> Quantity | None:
        """The quantity behind `was.…`, `will.…` or `shared.…`; None for any other name."""
        root, _, rest = name.partition(".")
        return self.find(rest) if root in AGES else None

    def nearest(self, name: str) -> str:
        """The name that a person most likely meant."""
        root = name.partition(".")[0]
        known = [*self.terms]
        if root in AGES:
            known = [f"{root}.{quantity_id}" for quantity_id in self.quantities]
        return difflib.get_close_matches(name, known, n=1, cutoff=0.0)[0]

    def with_rules(self, rules: Mapping[str, tuple[str, str]]) -> RuleNames:
        """The same with the rules' own names; a rule that sets a quantity is known as `will.…` only."""
        terms = dict(self.terms)
        for name, (unit, _) in rules.items():
            if self.find(name) is None:
                terms[name] = unit
        return replace(self, terms=terms)
