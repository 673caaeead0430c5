"""What becomes of each reading: decided once for each quantity and holder, whatever number of lanes there are.

The base lane of a feeder decides the machine's and the feeder's values, a profile's own lane what the profile holds.
Where one reading serves several feeders, all of them have a vote, and one that was not swapped votes for what stands
there. Without agreement nothing is written, and a person is told to give the feeder a value of its own. What a machine
has once, whatever its feeders (`of: machine`), is not voted on by those that were not swapped.

What no file holds is loose: a finding, something to do by hand. It is told once where lanes have it in common, and
else by the lane that it is of. This module computes no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import MACHINE, Machine, Reading, feeder
from cfgmigrate.machine.quantities import known, of_feeder, quantity
from cfgmigrate.plan.encoding import EncodedValue, write
from cfgmigrate.plan.identity import name_of
from cfgmigrate.plan.items import Whose, change_of, finding_of, hand_item, means_the_same, shown
from cfgmigrate.plan.model import ByHand, Change, Finding, LeftAlone
from cfgmigrate.rules.age import Age
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.lanes import Lane, Worked, deciding
from cfgmigrate.rules.result import Derivation, Result
from cfgmigrate.rules.rule import Rule

_RULE = "rule "


#: how a reason begins for which a worked-out value is dropped; that is told, and not only listed as left alone
DROPPED = "it would be "
NOT_WRITTEN = "The old value stays, and nothing says that it is right for the new drive. Mend the sheet, or set it by hand."


@dataclass(frozen=True)
class Decided:
    """All that the lanes came to, in no particular order."""

    changes: tuple[Change, ...]
    by_hand: tuple[ByHand, ...]
    findings: tuple[Finding, ...]
    left: tuple[LeftAlone, ...]
    doubts: tuple[Doubt, ...]


SAY_WHAT_IT_IS = (
    "Write {value} there by hand, or say in cfgmigrate.yaml what this setting is and prepare again."
)


class Naming:
    """Whose each result is, so that what rests on a result names the right one."""

    def __init__(self, worked: Worked, machine: Machine) -> None:
        self.worked = worked
        self.machine = machine
        self.first = next(iter(worked.lanes))

    def holder(self, rule: str, lane: Lane) -> str:
        """The holder of what a rule came to in a lane: of a reading its own, else the widest that shares it."""
        outcome = self.worked.lanes[lane]
        found = outcome.result(rule)
        reading = self.reading(found.target, lane) if found is not None and found.target else None
        if reading is not None:
            return str(reading.holder)
        base = Lane(lane.feeder)
        if lane.profile is not None and base in self.worked.lanes:
            if self.worked.lanes[base].result(rule) is found:
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

    def reading(self, target: str, lane: Lane) -> Reading | None:
        return self.machine.view(lane.feeder, lane.profile).get(target)

    def whose(self, result: Result, lane: Lane) -> Whose:
        return Whose(self.holder(result.rule, lane), self.cause(result, lane))

    def cause(self, result: Result, lane: Lane) -> tuple[tuple[str, str], ...]:
        """The fields of the lane's sheet by which a result moves, through all that it rests on."""
        outcome, sheet = self.worked.lanes[lane], self.worked.sheets[lane]
        found: dict[str, str] = {}
        waiting, seen = [result], {result.rule}
        for each in waiting:
            for used in each.derivation.inputs:
                behind = (
                    outcome.result(used.origin.removeprefix(_RULE)) if used.origin.startswith(_RULE) else None
                )
                if behind is not None and behind.rule not in seen:
                    seen.add(behind.rule)
                    waiting.append(behind)
                for name in _with_parents(used.name):
                    entry = sheet.get(name)
                    if entry is not None:
                        found[name] = entry.text
                        break
        return tuple(sorted(found.items()))

    def named(self, result: Result, lane: Lane) -> Result:
        """A result whose derivation names what it rests on with its holder."""
        derivation = result.derivation
        inputs = tuple(replace(each, origin=self._origin(each.origin, lane)) for each in derivation.inputs)
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


def _with_parents(name: str) -> Iterator[str]:
    parts = name.split(".")
    return (".".join(parts[:count]) for count in range(len(parts), 0, -1))


def decide(worked: Worked, naming: Naming, book: Book, machine: Machine) -> Decided:
    """What becomes of every reading and of every result."""
    found = _Deciding(worked, naming, book, machine)
    for reading in machine.readings:
        found.settle(reading)
    for lane in worked.lanes:
        found.loose(lane)
    found.twice()
    return Decided(
        tuple(found.changes),
        tuple(found.by_hand),
        tuple(found.findings),
        tuple(found.left),
        tuple(found.doubts),
    )


class _Deciding:
    def __init__(self, worked: Worked, naming: Naming, book: Book, machine: Machine) -> None:
        self.worked, self.naming, self.book, self.machine = worked, naming, book, machine
        self.changes: list[Change] = []
        self.by_hand: list[ByHand] = []
        self.findings: list[Finding] = []
        self.left: list[LeftAlone] = []
        self.doubts: list[Doubt] = []
        self._told: set[tuple[str, str]] = set()

    def settle(self, reading: Reading) -> None:
        """One holder's reading: changed, left alone, or left to a person."""
        votes = self._votes(reading)
        wanted = {number: result for number, (_, result) in votes.items() if result is not None}
        if not wanted:
            return
        number, result = next(iter(wanted.items()))
        lane = votes[number][0]
        rule = self.book.rule(result.rule)
        whose = Whose(str(reading.holder), self.naming.cause(result, lane))
        named = self.naming.named(result, lane)
        why = _never(named, reading)
        pairs = [] if why else self._written(named, reading)
        already = not why and not pairs
        if already:
            why = f"already {reading.text} at {reading.place.file}:{reading.place.line}"
        if why or self._agreed(reading, pairs, votes):
            if why:
                self.left.append(LeftAlone(reading.quantity, why, whose.holder, already))
                self._find(finding_of(named, whose))
                if why.startswith(DROPPED):
                    self.doubts.append(Doubt(reading.place, reading.setting.name, why, NOT_WRITTEN))
                elif not reading.editable and _differs(named, reading):
                    remedy = SAY_WHAT_IT_IS.format(value=shown(named))
                    self.doubts.append(Doubt(reading.place, reading.setting.name, why, remedy))
                return
            told = replace(named, warnings=(*named.warnings, *self._sharing(reading, result, lane)))
            self.changes.append(change_of(told, reading, pairs, whose))
            self.doubts += _doubled(named, reading, self.machine)
            return
        self.by_hand.append(_own_value(named, rule, reading, whose, sorted(wanted)))

    def _votes(self, reading: Reading) -> dict[int, tuple[Lane, Result | None]]:
        """What each feeder wants of a reading; None for what stands there."""
        name = reading.quantity
        profile = reading.holder.kind in ("filament", "print")
        by_feeder = profile or (known(name) and of_feeder(name))
        found: dict[int, tuple[Lane, Result | None]] = {}
        for number in reading.serves if by_feeder else self.worked.swapped:
            lane = deciding(reading, number)
            outcome = self.worked.lanes.get(lane)
            if outcome is not None or by_feeder:
                found[number] = lane, outcome.by_target.get(name) if outcome is not None else None
        return found

    def _agreed(
        self,
        reading: Reading,
        pairs: list[tuple[Reading, EncodedValue]],
        votes: dict[int, tuple[Lane, Result | None]],
    ) -> bool:
        """Whether every feeder wants the same text there."""
        texts = [(place.start, written.text) for place, written in pairs]
        for _, result in votes.values():
            own = [] if result is None or _never(result, reading) else self._written(result, reading)
            if [(place.start, written.text) for place, written in own] != texts:
                return False
        return True

    def _written(self, result: Result, reading: Reading) -> list[tuple[Reading, EncodedValue]]:
        """The reading and what moves along with it, as they will be written, where they say something else. What moves
        along gets the very value that the reading gets, with as many digits as that takes."""
        places = [reading, *self.machine.followers(reading)]
        own = write(result, reading)
        same = result if result.value is None else replace(result, value=own.value, uncertainty=0.0)
        pairs = [
            (place, own if place is reading else write(same, place))
            for place in places
            if place.setting.state is State.ACTIVE
        ]
        return [(place, text) for place, text in pairs if not means_the_same(result, place, text)]

    def _sharing(self, reading: Reading, result: Result, lane: Lane) -> Iterator[str]:
        """A word on profiles with another material that have no value of their own."""
        mine = write(result, reading).text
        for other, outcome in self.worked.lanes.items():
            if other.profile is None or other.feeder != lane.feeder or lane.profile is not None:
                continue
            own = next((each for each in outcome.shared if each.target == reading.quantity), None)
            if (
                own is None
                or self.naming.reading(reading.quantity, other) is not reading
                or own.value is None
            ):
                continue
            if (text := write(own, reading).text) != mine:
                yield (
                    f"{other.profile} has no value of its own and shares this one; worked out for it alone it would"
                    f" be {text}. Give it one of its own where that matters."
                )

    def loose(self, lane: Lane) -> None:
        """What a lane came to that no reading takes."""
        outcome = self.worked.lanes[lane]
        for result in outcome.results:
            target = result.target
            holder = self.naming.holder(result.rule, lane)
            if (target and self._taken(target, lane)) or (result.rule, holder) in self._told:
                continue
            self._told.add((result.rule, holder))
            rule = self.book.rule(result.rule)
            named, whose = self.naming.named(result, lane), Whose(holder, self.naming.cause(result, lane))
            held = any(
                each.quantity == target and lane.feeder in each.serves for each in self.machine.readings
            )
            if rule is not None and (rule.by_hand if not target else rule.elsewhere and not held):
                self.by_hand.append(hand_item(named, rule, whose))
                continue
            if held and self._each_profile_has(target, lane) and not self._rested_on(result.rule, lane):
                self._undecided(result, lane)
                continue  # a second number beside theirs would be read as a value to type
            self._find(finding_of(named, whose))
            if target and quantity(target).protected:
                self.left.append(LeftAlone(target, "protected: read and compared, never written", holder))
            elif target and not held:
                self.left.append(LeftAlone(target, f"no file sets it; it would be {shown(result)}", holder))
            elif target:
                self._undecided(result, lane)
        for silent in outcome.silent:
            reading = self.naming.reading(silent.quantity, lane) if silent.quantity else None
            if lane.profile is not None and (reading is None or reading.holder != lane.profile):
                continue
            holder = str(reading.holder if reading is not None else MACHINE)
            told = outcome.ages.get(silent.quantity)
            already = told is not None and told.age is Age.NEW
            left = LeftAlone(silent.quantity or silent.rule, silent.why, holder, already)
            if left not in self.left:
                self.left.append(left)

    def _each_profile_has(self, target: str, lane: Lane) -> bool:
        """Whether all filaments, or all prints, of a lane's feeder set this themselves."""
        having = {each.holder for each in self.machine.readings if each.quantity == target}
        profiles = self.machine.profiles_serving(lane.feeder)
        return any(
            having.issuperset(profile for profile in profiles if profile.kind == holder.kind)
            for holder in having
            if holder in profiles
        )

    def _rested_on(self, name: str, lane: Lane) -> bool:
        return any(name in each.depends for each in self.worked.lanes[lane].results)

    def _undecided(self, result: Result, lane: Lane) -> None:
        """What was measured without a word about the profile, and each profile holds a value of its own."""
        theirs = [
            each
            for each in self.machine.readings
            if each.quantity == result.target
            and lane.feeder in each.serves
            and deciding(each, lane.feeder) not in self.worked.lanes
        ]
        for each in theirs:
            why = f"it was not said whether this was measured for {each.holder}; it would be {shown(result)}"
            self.left.append(LeftAlone(result.target, why, str(each.holder)))
        if theirs:
            names = ", ".join(str(each.holder) for each in theirs)
            why = f"{names} have a value of their own, and the measured sheet doesn't say for which it was measured"
            kind, name = theirs[0].holder.kind, theirs[0].holder.name
            remedy = f"Write a measured sheet for each that was measured, with of: {{{kind}: {name}}} in it."
            self.doubts.append(Doubt(theirs[0].place, result.label, why, remedy))

    def _taken(self, target: str, lane: Lane) -> bool:
        """Whether a reading is there for a lane's result, or a measured one would move others along with it."""
        reading = self.naming.reading(target, lane)
        if reading is None:
            return False
        if deciding(reading, lane.feeder) not in self.worked.lanes:
            why = f"other filaments share it, and this was measured for {lane.profile} alone"
            left = LeftAlone(target, why, str(reading.holder))
            if left not in self.left:
                self.left.append(left)
        return True

    def _find(self, finding: Finding) -> None:
        self._told.add((finding.rule, finding.holder))
        self.findings.append(finding)

    def twice(self) -> None:
        """A doubt for what both a filament and a print set: each moves from its own old value."""
        kinds: dict[str, dict[str, Change]] = {}
        for change in self.changes:
            kinds.setdefault(change.quantity, {}).setdefault(change.holder.partition(" ")[0], change)
        for name, found in kinds.items():
            if {"filament", "print"} <= found.keys():
                edit = found["print"].edits[0]
                place = next(each.place for each in self.machine.readings if each.place.file == edit.file)
                why = f"{name} is set by filaments and by prints; each is worked out from its own old value"
                settle = "Make sure which of the two the machine carries out."
                self.doubts.append(
                    Doubt(replace(place, line=edit.line, column=edit.column), name, why, settle)
                )


def _differs(result: Result, reading: Reading) -> bool:
    """Whether what stands there is not what was worked out, as far as the uncertainty tells."""
    if result.value is None or reading.value is None or quantity(reading.quantity).protected:
        return False
    return abs(result.value - reading.value) > result.uncertainty


def _never(result: Result, reading: Reading) -> str:
    """Why a reading is not written whatever its new value, "" where it may be."""
    if quantity(reading.quantity).protected:
        return "protected: read and compared, never written"
    if not reading.editable:
        return f"{reading.why_not}; it would be {shown(result)}"
    if result.value is None or reading.value is None:
        return "the file's value is no number that can be replaced"
    if not quantity(reading.quantity).plausible(result.value):
        return f"it would be {shown(result)}, which no machine has: check the sheet"
    low = quantity(reading.quantity).low
    if low is not None and low >= 0 and 0 < abs(result.value) <= result.uncertainty:
        # what may lie on either side of 0 can be near it; what can't is no result then
        return f"it would be {shown(result)}, which is as unsure as it is large, and so no result"
    return ""


def _own_value(
    result: Result, rule: Rule | None, reading: Reading, whose: Whose, swapped: list[int]
) -> ByHand:
    """One reading that serves feeders which want different values."""
    numbers = " and ".join(str(number) for number in swapped)
    place = f"{reading.place.file}:{reading.place.line}"
    others = ", ".join(str(number) for number in reading.serves)
    with_whom = f" with {reading.holder}" if reading.holder.kind in ("filament", "print") else ""
    return ByHand(
        what=f"give feeder {numbers} a {result.label} of its own{with_whom}: {shown(result)}",
        value=result.value,
        unit=result.unit,
        why=f"{reading.text} at {place} serves feeders {others}, which want different values; it was left as it is",
        derivation=result.derivation,
        text=shown(result),
        uncertainty=result.uncertainty,
        cautions=result.cautions,
        warnings=result.warnings,
        verify=result.verify,
        rule=result.rule,
        when=rule.moment if rule is not None else "power off",
        label=result.label,
        holder=whose.holder,
        cause=whose.cause,
    )


def _doubled(result: Result, reading: Reading, machine: Machine) -> Iterable[Doubt]:
    """A quantity set in two files may be carried out twice; retraction often is."""
    others = machine.followers(reading)
    if all(other.place.file == reading.place.file for other in others):
        return
    places = ", ".join(str(other.place) for other in (*others, reading))
    yield Doubt(
        reading.place,
        reading.setting.name,
        f"{result.label} is set in {len(others) + 1} places ({places}); all of them move together",
        "If the machine carries out both, keep one and switch the other off.",
    )
