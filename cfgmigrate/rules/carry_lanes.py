"""Carrying over by holder: each value of the new files is taken from the same holder of the old ones.

A feeder goes with the feeder of the same number and a profile with the profile of the same name; where one side has
a single profile, it goes with what the other side has without any. A holder without a counterpart keeps what it
has, and that is told: its value may be anybody's, and is not scaled as if it were the old machine's.

`meant` is the machine that the new files are meant to describe, for the rule book to start from; `with_carried` adds
what no rule touches to the lanes. How one value follows from the old files is in `carry.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.machine.collection import line_of
from cfgmigrate.machine.model import MACHINE, FlatMachine, Holder, Key, Machine, Reading
from cfgmigrate.machine.quantities import of_feeder, quantity, relations
from cfgmigrate.rules.age import Past
from cfgmigrate.rules.carry import RULE, Carried, open_values, result_of, said, values_of
from cfgmigrate.rules.carry_open import NOT_CARRIED, counted_for
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.passes import Lane, deciding
from cfgmigrate.rules.result import Silent
from cfgmigrate.sheet.model import Sheet, folded


class Carrying(Struct, frozen=True, dict=True):
    """An old configuration, the new one that it is carried over into, and the old one's name."""

    source: Machine
    target: Machine
    label: str

    def feeder_of(self, number: int) -> int | None:
        """The old machine's feeder that goes with one of the new."""
        return number if number in (self.source.feeders or (1,)) else None

    def profile_of(self, profile: Holder | None) -> Holder | None:
        """The old machine's profile that goes with one of the new, or with none."""
        theirs = self.source.profiles
        if profile is not None:
            same = next((each for each in theirs if folded(each) == folded(profile)), None)
            if same is not None:
                return same
        alone = profile is None or len(self.target.profiles) == 1
        return theirs[0] if alone and len(theirs) == 1 else None

    def has_counterpart(self, holder: Holder) -> bool:
        if holder.kind == "feeder":
            return self.feeder_of(int(holder.name)) is not None
        if holder == MACHINE:
            return True
        return self.profile_of(holder) is not None or (
            len(self.target.profiles) == 1 and not self.source.profiles
        )

    def view(self, lane: Lane) -> FlatMachine:
        """The old machine as it is in a lane of the new one. A feeder that it has not got shows the first one's
        view, of which only what a machine has once counts."""
        number = self.feeder_of(lane.feeder) or 1
        return self.source.view(number, self.profile_of(lane.profile))

    @cached_property
    def lanes(self) -> Mapping[Lane, Mapping[str, Carried]]:
        """For each lane of the new machine what it decides and takes over, by quantity."""
        lanes = [
            Lane(number, profile)
            for number in self.target.feeders or (1,)
            for profile in (None, *self.target.profiles_serving(number))
        ]
        return {lane: dict(self._decided(lane)) for lane in lanes}

    def _decided(self, lane: Lane) -> Iterator[tuple[str, Carried]]:
        here = self.target.view(lane.feeder, lane.profile)
        for name, carried in values_of(self.view(lane), here).items():
            reading = here.get(name)
            if reading is None or deciding(reading, lane.feeder) != lane:
                continue
            once = not of_feeder(name) and lane.profile is None
            if once or (self.feeder_of(lane.feeder) and self.has_counterpart(reading.holder)):
                yield name, carried

    @cached_property
    def open_ones(self) -> Mapping[Lane, Mapping[str, str]]:
        """For each lane why values that it decides are as the new files have them and a question, by quantity: what the old
        files say can't simply stand there, or they say nothing of what a light is about."""
        return {lane: dict(self._open_in(lane)) for lane in self.lanes}

    def _open_in(self, lane: Lane) -> Iterator[tuple[str, str]]:
        here, old = self.target.view(lane.feeder, lane.profile), self.view(lane)
        asked = open_values(old, here)
        for name, reading in here.by_quantity.items():
            if (
                deciding(reading, lane.feeder) != lane
                or reading.key in self.by_key
                or quantity(name).protected
            ):
                continue
            if name in asked:
                yield name, asked[name]
            elif name in _of_lights() and old.get(name) is None and reading.value is not None:
                yield (
                    name,
                    f"{self.label} says nothing of it, and {reading.text} is the new configuration's own",
                )

    @cached_property
    def by_key(self) -> Mapping[Key, Carried]:
        """What each reading of the new machine takes over; the first lane that decides it counts."""
        found: dict[Key, Carried] = {}
        for lane, values in self.lanes.items():
            here = self.target.view(lane.feeder, lane.profile)
            for name, carried in values.items():
                found.setdefault((name, here.by_quantity[name].holder), carried)
        return found

    def held_there(self, reading: Reading) -> tuple[Holder, tuple[int, ...]] | None:
        """Whose one of the old machine's readings is on the new one, and which feeders it serves there."""
        there = self.target.feeders or (1,)
        serves = there if not of_feeder(reading.quantity) else tuple(n for n in reading.serves if n in there)
        holder = reading.holder
        if holder.kind == "feeder" and len(there) == 1:
            holder = MACHINE
        elif holder.kind in ("filament", "print"):
            own = holder.profile
            same = (each for each in self.target.profiles if self.profile_of(each) == own)
            holder = next(same, MACHINE if self.profile_of(None) == own else holder)
            if holder != MACHINE and holder not in self.target.profiles:
                return None
            if holder != MACHINE:
                holder = replace(holder, feeder=reading.holder.feeder)
        return (holder, serves) if serves else None


def meant(carrying: Carrying) -> Machine:
    """The new files' machine with the old files' values: what the rules start from.

    Quantities that only the old files have are known too, so that rules can use them, but for those that
    the new files divide up differently.
    """
    source, target, label = carrying.source, carrying.target, carrying.label
    readings = []
    for reading in target.readings:
        carried = carrying.by_key.get(reading.key)
        if carried is None:
            readings.append(reading)
            continue
        first = carried.inputs[0]
        place = Place(f"{label}/{first.place.file}", first.place.line, first.place.column)
        text = first.text if len(carried.inputs) == 1 and first.quantity == reading.quantity else ""
        readings.append(replace(reading, value=carried.value, text=text, place=place))
    here = {reading.quantity for reading in readings}
    apart = {name for relation in relations() for name in relation.carriers}
    for reading in source.readings:
        there = carrying.held_there(reading) if reading.quantity not in here | apart else None
        if there is not None:
            place = Place(f"{label}/{reading.place.file}", reading.place.line)
            readings.append(replace(reading, place=place, holder=there[0], serves=there[1]))
    profiles = tuple(
        replace(each, material=each.material or _material(carrying, each.holder))
        for each in target.found_profiles
    )
    return replace(target, readings=tuple(readings), shadowed=(), followed={}, found_profiles=profiles)


def _material(carrying: Carrying, profile: Holder) -> str:
    theirs = carrying.profile_of(profile)
    return carrying.source.material(theirs) if theirs is not None else ""


def past_of(carrying: Carrying) -> Past:
    """That what was not carried over is not the old machine's: no rule may scale it as if it were."""
    foreign = {}
    for reading in carrying.target.readings:
        if reading.key not in carrying.by_key:
            span = reading.place.file, reading.start, reading.end
            foreign[span] = (
                f"it stands in the new configuration, and {carrying.label} says nothing of it for {reading.holder}"
            )
    return Past(foreign=foreign)


def with_carried(worked: Worked, carrying: Carrying, sheet: Sheet) -> Worked:
    """The lanes with what is carried over besides what the rules set; the lanes of feeders that were not swapped have
    nothing else. What is not carried over is told in the first lane."""
    lanes, sheets = dict(worked.lanes), dict(worked.sheets)
    first = next(iter(lanes))
    for lane, values in carrying.lanes.items():
        outcome = lanes.get(lane, Outcome((), (), ()))
        results = tuple(
            result_of(found, carrying.label)
            for name, found in values.items()
            if name not in outcome.by_target
        )
        asked = {n: why for n, why in carrying.open_ones[lane].items() if n not in outcome.by_target}
        told = {result.target for result in results} | asked.keys()
        lanes[lane] = replace(
            outcome,
            results=(*outcome.results, *results),
            silent=(
                *(each for each in outcome.silent if each.quantity not in told),
                *(Silent(RULE, name, f"{NOT_CARRIED}{why}") for name, why in asked.items()),
            ),
            doubts=(*outcome.doubts, *_asked(carrying, lane, asked, values)),
        )
        sheets.setdefault(lane, sheet.lane(lane.feeder, lane.profile))
    set_by_rules = {name for outcome in worked.lanes.values() for name in outcome.by_target}
    lanes[first] = replace(
        lanes[first],
        silent=(*lanes[first].silent, *_not_carried(carrying, set_by_rules)),
        doubts=(*lanes[first].doubts, *carrying.source.doubts),
    )
    return Worked(lanes, sheets, worked.swapped)


def _of_lights() -> frozenset[str]:
    return frozenset(value.quantity for kind in light_kinds().kinds for value in kind.values)


def _asked(
    carrying: Carrying, lane: Lane, asked: Mapping[str, str], values: Mapping[str, Carried]
) -> Iterator[Doubt]:
    """A doubt at the line of each value that stays and is a question, or is carried over and rests on one."""
    here, old = carrying.target.view(lane.feeder, lane.profile), carrying.view(lane)
    remedy = f"Look it up in {carrying.label} and at the machine, and write here by hand what is right."
    counted = counted_for(old, here, {name: each.value for name, each in values.items()})
    for name, why in (*asked.items(), *counted.items()):
        reading = here.by_quantity[name]
        yield Doubt(reading.place, line_of(reading.setting), why, remedy, about=name)


def _not_carried(carrying: Carrying, set_by_rules: set[str]) -> Iterator[Silent]:
    open_there = {name for asked in carrying.open_ones.values() for name in asked}
    taken = {id(reading) for carried in carrying.by_key.values() for reading in carried.inputs}
    for reading in carrying.source.readings:
        if reading.quantity in set_by_rules | open_there or id(reading) in taken:
            continue
        why = _why_not(reading, carrying)
        if why:
            yield Silent(RULE, reading.quantity, why)


def _why_not(reading: Reading, carrying: Carrying) -> str:
    name, place = reading.quantity, f"{carrying.label}/{reading.place.file}:{reading.place.line}"
    was = f"it is {reading.text.splitlines()[0] if reading.text else ''!s} at {place}"
    there = carrying.held_there(reading)
    if there is None or not carrying.target.feeders:
        return f"the new configuration has no {reading.holder}; {was}"
    holder, serves = there
    if holder.kind == "feeder" and int(holder.name) not in carrying.target.feeders:
        return f"the new configuration has no {reading.holder}; {was}"
    profile = holder.profile
    new = carrying.target.view(serves[0], profile).get(name)
    if new is None:
        values = carrying.lanes.get(Lane(serves[0], profile), {})
        if any(name in relation.carriers and said(relation, values) for relation in relations()):
            return ""
        return f"the new configuration has no place for it; {was}"
    if reading.value is not None and new.value is not None and reading.value == new.value:
        return ""
    if reading.text.split() == new.text.split():
        return ""
    if quantity(name).protected:
        return f"protected, never carried over: {was}, and {new.text} at {new.place}; look at it by hand"
    if reading.value is None:
        return f"a text is not carried over: {was}; look at it by hand"
    return f"for {reading.holder} the new configuration has no value of its own; {was}"
