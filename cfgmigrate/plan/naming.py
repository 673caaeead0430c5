"""Whose each result is, and by which fields of the sheet it moves, so that what rests on a result names the right one.

A result is its reading's holder's, of several that want different values there the first one's; without a reading it is told of the widest holder that shares it. This module
decides nothing and writes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from msgspec.structs import replace

from cfgmigrate.machine.model import MACHINE, Machine, Reading, View, feeder
from cfgmigrate.machine.quantities import known, of_feeder
from cfgmigrate.plan.identity import name_of
from cfgmigrate.plan.items import Whose
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.passes import Lane, deciding
from cfgmigrate.rules.result import Derivation, Input, Result
from cfgmigrate.rules.scope import is_shared

_RULE = "rule "
#: what a look at a profile's values may show, but is the feeder's: told once, for the feeder
_OF_THE_FEEDER = frozenset(("gears.swapped",))


class Naming:
    """Whose each result is, so that what rests on a result names the right one."""

    def __init__(self, worked: Worked, machine: Machine) -> None:
        self.worked = worked
        self.machine = machine
        self.first = next(iter(worked.lanes))
        self._views: dict[Lane, View] = {}
        #: with each result, so that none takes the place of another in memory
        self._causes: dict[tuple[int, Lane], tuple[Result, Mapping[str, str]]] = {}

    def holder(self, rule: str, lane: Lane) -> str:
        """The holder of what a rule came to in a lane: of a reading its own, else the widest that shares it."""
        outcome = self.worked.lanes[lane]
        found = outcome.result(rule)
        reading = self.reading(found.target, lane) if found is not None and found.target else None
        if reading is not None:
            return self._of_one_wish(reading, lane)
        base = Lane(lane.feeder)
        if lane.profile is not None and base in self.worked.lanes:
            if self.worked.lanes[base].result(rule) is found or rule in _OF_THE_FEEDER:
                return self.holder(rule, base)
            several = len(self.worked.swapped) > 1
            return f"{feeder(lane.feeder)}, {lane.profile}" if several else str(lane.profile)
        if len(self.machine.feeders) == 1:
            return str(MACHINE)
        bases = [self.worked.lanes.get(Lane(number)) for number in self.worked.swapped]
        shared = all(one is not None and one.result(rule) is found for one in bases)
        own = found is not None and found.target and known(found.target) and of_feeder(found.target)
        return (
            str(MACHINE) if (shared and len(bases) > 1) or (not own and shared) else str(feeder(lane.feeder))
        )

    def _of_one_wish(self, reading: Reading, lane: Lane) -> str:
        """The reading's holder, or the feeder where one before it wants another value there: two results have two names."""
        wishes = {
            number: wish
            for number in reading.serves
            if (outcome := self.worked.lanes.get(deciding(reading, number))) is not None
            and (wish := outcome.by_target.get(reading.quantity)) is not None
        }
        own = wishes.get(lane.feeder)
        if own is None or next(iter(wishes.values())).value == own.value:
            return str(reading.holder)
        first = next(number for number, wish in wishes.items() if wish.value == own.value)
        profile = reading.holder.profile
        return f"{feeder(first)}, {profile}" if profile is not None else str(feeder(first))

    def reading(self, target: str, lane: Lane) -> Reading | None:
        if lane not in self._views:
            self._views[lane] = self.machine.view(lane.feeder, lane.profile)
        return self._views[lane].get(target)

    def whose(self, result: Result, lane: Lane) -> Whose:
        return Whose(self.holder(result.rule, lane), self.cause(result, lane))

    def cause(self, result: Result, lane: Lane) -> tuple[tuple[str, str], ...]:
        """The fields of the lane's sheet by which a result moves, through all that it rests on."""
        return tuple(sorted(self._moved_by(result, lane).items()))

    def _moved_by(self, result: Result, lane: Lane) -> Mapping[str, str]:
        """The same by field. What several results rest on is gone through once."""
        if (id(result), lane) in self._causes:
            return self._causes[id(result), lane][1]
        found: dict[str, str] = {}
        self._causes[id(result), lane] = result, found
        behind: list[tuple[Result, Lane]] = []
        for used in result.derivation.inputs:
            other = _lane_of(used, lane)
            if used.origin.startswith(_RULE):
                of_rule = self.worked.lanes[other].result(used.origin.removeprefix(_RULE))
                behind += () if of_rule is None else ((of_rule, other),)
            for name in _with_parents(used.name):
                entry = self.worked.sheets[other].get(name)
                if entry is not None:
                    found[name] = entry.text
                    break
        for each, seen_by in behind:
            found |= self._moved_by(each, seen_by)
        return found

    def named(self, result: Result, lane: Lane) -> Result:
        """A result whose derivation names what it rests on with its holder."""
        derivation = result.derivation
        inputs = tuple(
            replace(each, origin=self._origin(each.origin, _lane_of(each, lane)))
            for each in derivation.inputs
        )
        parts = tuple(
            replace(each, origin=self._origin(each.origin, lane)) for each in derivation.contributions
        )
        depends = tuple(self._name(rule, lane) for rule in result.depends)
        told = Derivation(derivation.formula, derivation.substituted, inputs, derivation.source, parts)
        return replace(result, derivation=told, depends=depends)

    def _origin(self, origin: str, lane: Lane) -> str:
        return _RULE + self._name(origin.removeprefix(_RULE), lane) if origin.startswith(_RULE) else origin

    def _name(self, rule: str, lane: Lane) -> str:
        return name_of(rule, self.holder(rule, lane))


def _lane_of(used: Input, lane: Lane) -> Lane:
    """The lane that an input of a lane's result was seen by: for what it is without the profile, the base lane."""
    return Lane(lane.feeder) if is_shared(used.name) else lane


@lru_cache(maxsize=4096)
def _with_parents(name: str) -> tuple[str, ...]:
    parts = name.split(".")
    return tuple(".".join(parts[:count]) for count in range(len(parts), 0, -1))
