"""The passes through the book for all lanes, with what they have in common.

A lane is a feeder with at most one profile. Its view is flat, so no rule ever speaks of the second feeder or of a
profile. What a lane shares with its feeder's base lane (the one without a profile) is decided there: a profile decides
the values that it holds itself, and sees all others as they will be. So no two lanes can fight over one value.

Which ways a pass leaves shut is told to it; why they are is the matter of `lanes.py`.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.model import Holder, Reading, View
from cfgmigrate.rules.age import Told
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.engine import Kept, Run, Step, one_pass
from cfgmigrate.rules.evidence import swapped_back
from cfgmigrate.rules.formula import nominal
from cfgmigrate.rules.scope import SOFTENING, NamedValue, Scope
from cfgmigrate.sheet.model import MATERIAL, Sheet

#: what no file holds and a profile's filament would move, though there is one motor for all profiles
_OF_THE_MOTOR = frozenset(("motor.filament_limit", "motor.wanted_current"))


class Lane(Struct, frozen=True):
    """A feeder with a profile, or with none."""

    feeder: int
    profile: Holder | None = None


def deciding(reading: Reading, feeder: int) -> Lane:
    """The lane that decides a reading for a feeder: a profile's own for what it holds, else the base lane."""
    return Lane(feeder, reading.holder.profile)


class Work:
    """The passes through the book for all lanes, with what they have in common."""

    def __init__(
        self,
        book: Book,
        tables: Mapping[str, NamedValue],
        views: Mapping[Lane, View],
        sheets: Mapping[Lane, Sheet],
        kept: Kept | None = None,
        turned: bool = False,
    ) -> None:
        self.book, self.tables, self.views, self.sheets = book, tables, views, sheets
        self.kept, self.turned = kept or Kept(), turned

    def passes(self, shut: Mapping[Lane, Mapping[tuple[str, str], Told]]) -> dict[Lane, Run]:
        runs: dict[Lane, Run] = {}
        for lane, view in self.views.items():
            base = runs.get(Lane(lane.feeder)) if lane.profile is not None else None
            shared = base.scope if base is not None else None
            softest = self._softest(lane)
            scope = Scope(view, self.sheets[lane], self.tables, shared, softest, self.kept.givens)
            decided = self._decided(view, base) if base is not None else {}
            closed = shut.get(lane, {})
            place = lane, self.turned, bool(closed)
            run = one_pass(self.book, scope, self.kept, closed, decided, self.kept.before.get(place))
            runs[lane] = self.kept.before[place] = run
        return runs

    def of_the_old(self) -> dict[Lane, Run]:
        """The passes for the swap the other way round, which say what the old drive asks for; none where that has no value."""
        sheets = {lane: swapped_back(sheet) for lane, sheet in self.sheets.items()}
        try:
            return Work(self.book, self.tables, self.views, sheets, self.kept, turned=True).passes({})
        except BadInput:
            return {}

    def _softest(self, lane: Lane) -> NamedValue | None:
        """Where the softest filament of a feeder softens, of its own and those with profiles; None for a profile, and where
        the sheet doesn't name its own."""
        if lane.profile is not None or self._softens(lane) is None:
            return None
        found = [self._softens(each) for each in self.sheets if each.feeder == lane.feeder]
        return min(filter(None, found), key=lambda given: nominal(given.base), default=None)

    def _softens(self, lane: Lane) -> NamedValue | None:
        entry = self.sheets[lane].get(MATERIAL)
        return self.tables.get(f"{entry.word}:{SOFTENING.removeprefix(f'{MATERIAL}.')}") if entry else None

    def _decided(self, view: View, base: Run) -> dict[str, Step]:
        """The steps that a profile shares with its feeder: those of quantities that it does not hold itself, and its motor's."""
        found = {}
        for rule in self.book.rules:
            reading = view.get(rule.sets) if rule.sets else None
            not_held = rule.sets and (reading is None or reading.holder.profile != view.profile)
            if not_held or rule.name in _OF_THE_MOTOR:
                found[rule.name] = base.steps[rule.name]
        return found
