"""What no reading takes: a finding, something to do by hand, a value that no file sets, and where a rule is silent.

It is told once where lanes have it in common, and else by the lane that it is of. This module computes no value.
"""

from __future__ import annotations

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import MACHINE, Machine
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.decided import Decided
from cfgmigrate.plan.items import Whose, finding_of, hand_item, shown
from cfgmigrate.plan.model import LeftAlone
from cfgmigrate.plan.naming import Naming
from cfgmigrate.rules.age import Age
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.passes import Lane, deciding
from cfgmigrate.rules.result import Result


class Loose:
    """The results of the lanes that no reading takes, told lane by lane into `found`."""

    def __init__(self, worked: Worked, naming: Naming, book: Book, machine: Machine, found: Decided) -> None:
        self.worked, self.naming, self.book, self.machine = worked, naming, book, machine
        self.found = found

    def tell(self, lane: Lane) -> None:
        """What a lane came to that no reading takes."""
        outcome = self.worked.lanes[lane]
        there = {each.quantity for each in self.machine.readings if lane.feeder in each.serves}
        for result in outcome.results:
            target = result.target
            holder = self.naming.holder(result.rule, lane)
            if (result.rule, holder) in self.found.told:
                continue
            if target and self.naming.reading(target, lane) is not None:
                if self._left_to_others(target, lane) and self._rested_on(result.rule, lane):
                    # what rests on it is told, and must be found to come from somewhere
                    self.found.told.add((result.rule, holder))
                    whose = Whose(holder, self.naming.cause(result, lane))
                    self.found.find(finding_of(self.naming.named(result, lane), whose))
                continue
            self.found.told.add((result.rule, holder))
            rule = self.book.rule(result.rule)
            named, whose = self.naming.named(result, lane), Whose(holder, self.naming.cause(result, lane))
            held = target in there
            if result.unsettled and target:
                self.found.find(finding_of(named, whose))
                self.found.leave_once(LeftAlone(target, result.unsettled, holder))
                continue
            if rule is not None and (rule.by_hand if not target else rule.elsewhere and not held):
                self.found.by_hand.append(hand_item(named, rule, whose))
                continue
            if held and self._each_profile_has(target, lane) and not self._rested_on(result.rule, lane):
                self._undecided(result, lane)
                continue  # a second number beside theirs would be read as a value to type
            self.found.find(finding_of(named, whose))
            if target and quantity(target).protected:
                self.found.left.append(
                    LeftAlone(target, "protected: read and compared, never written", holder)
                )
            elif target and not held:
                at = self.machine.in_doubt.get(target)
                sets = f"{at.file}:{at.line} may set it and is a question" if at else "no file sets it"
                self.found.left.append(LeftAlone(target, f"{sets}; it would be {shown(result)}", holder))
            elif target:
                self._undecided(result, lane)
        for silent in outcome.silent:
            reading = self.naming.reading(silent.quantity, lane) if silent.quantity else None
            if lane.profile is not None and (reading is None or reading.holder.profile != lane.profile):
                continue
            if lane.profile is None and self._speaks_in_a_profile(silent.rule, lane):
                continue  # "no file has it" would be said beside the line that has it
            holder = str(reading.holder if reading is not None else MACHINE)
            told = outcome.ages.get(silent.quantity)
            already = told is not None and told.age is Age.NEW
            left = LeftAlone(silent.quantity or silent.rule, silent.why, holder, already)
            self.found.leave_once(left)

    def _each_profile_has(self, target: str, lane: Lane) -> bool:
        """Whether all filaments, or all prints, of a lane's feeder set this themselves."""
        having = {
            each.holder.profile or each.holder
            for each in self.machine.readings
            if each.quantity == target and lane.feeder in each.serves
        }
        profiles = self.machine.profiles_serving(lane.feeder)
        return any(
            having.issuperset(profile for profile in profiles if profile.kind == holder.kind)
            for holder in having
            if holder in profiles
        )

    def _rested_on(self, name: str, lane: Lane) -> bool:
        return any(name in each.depends for each in self.worked.lanes[lane].results)

    def _speaks_in_a_profile(self, rule: str, lane: Lane) -> bool:
        """Whether something is to be done by hand by this rule for a profile that this lane's feeder serves."""
        known = self.book.rule(rule)
        return (
            known is not None
            and bool(known.by_hand)
            and any(
                other.feeder == lane.feeder and any(each.rule == rule for each in outcome.results)
                for other, outcome in self.worked.lanes.items()
                if other.profile is not None
            )
        )

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
            self.found.left.append(LeftAlone(result.target, why, str(each.holder)))
        if theirs:
            names = list(dict.fromkeys(str(each.holder) for each in theirs))
            have = "have a value of their own" if len(names) > 1 else "has a value of its own"
            why = f"{', '.join(names)} {have}, and the measured sheet doesn't say for which it was measured"
            kind, name = theirs[0].holder.kind, theirs[0].holder.name
            remedy = f"Write a measured sheet for each that was measured, with of: {{{kind}: {name}}} in it."
            self.found.doubts.append(Doubt(theirs[0].place, result.label, why, remedy))

    def _left_to_others(self, target: str, lane: Lane) -> bool:
        """Whether the reading of a lane's result is shared with lanes that nobody measured, so that it stays as it is."""
        reading = self.naming.reading(target, lane)
        if reading is None or deciding(reading, lane.feeder) in self.worked.lanes:
            return False
        why = f"other filaments share it, and this was measured for {lane.profile} alone"
        self.found.leave_once(LeftAlone(target, why, str(reading.holder)))
        return True
