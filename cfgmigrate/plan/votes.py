"""What becomes of one reading: changed, left alone with the reason, or left to a person.

The base lane of a feeder decides the machine's and the feeder's values, a profile's own lane what the profile holds.
Where one reading serves several feeders, all of them have a vote, and one that was not swapped votes for what stands
there. Without agreement nothing is written, and a person is told to give the feeder a value of its own. What a machine
has once, whatever its feeders (`of: machine`), is not voted on by those that were not swapped.

Why a value is never written, and what is said instead, is the matter of `never_written.py`; a result that no reading takes is told
by `loose.py`. This module computes no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import UNSET
from msgspec.structs import replace

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Doubt, Likeness, Place, by_file
from cfgmigrate.machine.listings import is_listed
from cfgmigrate.machine.model import Holder, Machine, Reading
from cfgmigrate.machine.precedence import OVERRIDDEN
from cfgmigrate.machine.quantities import known, of_feeder
from cfgmigrate.plan.at_console import console_value
from cfgmigrate.plan.decided import Decided
from cfgmigrate.plan.encoding import EncodedValue, write, write_in_both, write_same
from cfgmigrate.plan.items import Whose, change_of, finding_of, means_the_same, to_write
from cfgmigrate.plan.line_of_its_own import line_of_its_own
from cfgmigrate.plan.model import ByHand, KeptText, LeftAlone
from cfgmigrate.plan.naming import Naming
from cfgmigrate.plan.never_written import stands_already, told_instead, why_not_written
from cfgmigrate.plan.within_limits import within_its_limits
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.rules.passes import Lane, deciding
from cfgmigrate.rules.result import Result
from cfgmigrate.rules.rule import Rule

#: what is asked of a value that several files set
_SET_TWICE = "set in several files"
#: so many places of a value that stays are told
MOST_PLACES_OF_ONE = 6


class Votes:
    """The readings of a machine, settled one by one into `found`."""

    def __init__(self, worked: Worked, naming: Naming, book: Book, machine: Machine, found: Decided) -> None:
        self.worked, self.naming, self.book, self.machine = worked, naming, book, machine
        self.found = found
        self.maybe = _maybe(machine)
        self.files: dict[Holder, list[str]] = {}
        for each in machine.found_profiles:
            self.files.setdefault(each.holder, []).append(each.place.file)

    def settle(self, reading: Reading) -> None:
        """One holder's reading: changed, left alone, or left to a person."""
        votes = self._votes(reading)
        wanted = {number: result for number, (_, result) in votes.items() if result is not None}
        if not wanted:
            return
        number, result = next(iter(wanted.items()))
        lane = votes[number][0]
        whose = Whose(str(reading.holder), self.naming.cause(result, lane))
        named = self.naming.named(result, lane)
        why = why_not_written(self.machine, named, reading)
        pairs = [] if why else self._written(named, reading, lane)
        already = not named.unsettled and ((not why and not pairs) or stands_already(named, reading))
        if already:
            why = f"already {reading.text} at {self._everywhere(reading)}"
        others = [vote for feeder, vote in votes.items() if feeder != number]
        agreed = self._agreed(reading, pairs, others)
        if (why and (agreed or not already)) or agreed:
            if why:
                self.found.left.append(
                    LeftAlone(
                        reading.quantity,
                        why,
                        whose.holder,
                        already,
                        self._kept(reading) if already else UNSET,
                    )
                )
                self.found.find(finding_of(named, whose))
                if not already and (doubt := told_instead(named, reading, why)) is not None:
                    self.found.doubts.append(doubt)
                return
            self._change(named, reading, pairs, whose, tuple(self._sharing(reading, result, lane)))
            return
        for numbers in self._alike(reading, wanted, votes):
            self._one_s_own(reading, numbers, wanted[numbers[0]], votes[numbers[0]][0])

    def _alike(
        self, reading: Reading, wanted: dict[int, Result], votes: dict[int, tuple[Lane, Result | None]]
    ) -> Iterable[list[int]]:
        """The feeders that were swapped, those together that want the same value there; one that has a value of its own
        already needs no other."""
        alike: dict[str, list[int]] = {}
        by_it = {
            number: result
            for number, result in wanted.items()
            if self.naming.reading(reading.quantity, votes[number][0]) is reading
        }
        for number, result in sorted((by_it or wanted).items()):
            alike.setdefault(self.naming.holder(result.rule, votes[number][0]), []).append(number)
        return alike.values()

    def _one_s_own(self, reading: Reading, numbers: list[int], result: Result, lane: Lane) -> None:
        """A value that feeders want for themselves, where others want another: by hand, or what stands there already."""
        named = self.naming.named(result, lane)
        whose = Whose(self.naming.holder(result.rule, lane), self.naming.cause(result, lane))
        never = why_not_written(self.machine, named, reading)
        if never or not self._written(named, reading, lane):
            why = never or f"already {reading.text} at {self._everywhere(reading)}"
            self.found.left.append(
                LeftAlone(
                    reading.quantity, why, whose.holder, not never, UNSET if never else self._kept(reading)
                )
            )
            self.found.find(finding_of(named, whose))
            return
        item = _own_value(named, self.book.rule(result.rule), reading, whose, numbers)
        text = write(named, reading).text
        parts = [
            self._part_of(reading, number, named) or line_of_its_own(self.machine, reading, number, text)
            for number in numbers
        ]
        self.found.by_hand.append(replace(item, steps=(*filter(None, parts), *item.steps)))

    def _everywhere(self, reading: Reading) -> str:
        """Where a value stands, with each place that has it too and stays with it."""
        places = [(each.place.file, each.place.line) for each in self._standing(reading)]
        more = f", and {len(places) - MOST_PLACES_OF_ONE} more" if places[MOST_PLACES_OF_ONE:] else ""
        return by_file(places[:MOST_PLACES_OF_ONE]) + more

    def _standing(self, reading: Reading) -> list[Reading]:
        return [
            each
            for each in (reading, *self.machine.followers(reading))
            if each is reading or (each.value == reading.value and each.setting.state is State.ACTIVE)
        ]

    def _kept(self, reading: Reading) -> tuple[KeptText, ...]:
        """The same with the text of each, for packets of other machines that would write another one there."""
        return tuple(
            KeptText(each.place.file, each.place.line, each.place.column, each.start, each.text)
            for each in self._standing(reading)
        )

    def _part_of(self, reading: Reading, number: int, named: Result) -> str:
        """Where a profile has a part for one feeder alone, into which the value of its own goes; "" where it has none."""
        profile = reading.holder.profile
        own = self.machine.held_by(replace(profile, feeder=number)) if profile is not None else ()
        part = next((each for each in own if each.setting.section != reading.setting.section), None)
        if part is None or not part.setting.section:
            return ""
        text = write(named, reading).text
        place = f"{reading.place.file}:{reading.place.line}"
        return (
            f"{place} stays for the others. Its line, {reading.setting.key} with {text}, goes below "
            f"[{part.setting.section}] in {part.place.file}."
        )

    def _change(
        self,
        named: Result,
        reading: Reading,
        pairs: list[tuple[Reading, EncodedValue]],
        whose: Whose,
        more: tuple[str, ...],
    ) -> None:
        """The change to the files; what the board keeps goes to a person, beside it or alone."""
        told = replace(named, warnings=(*named.warnings, *more))
        kept = [pair for pair in pairs if is_listed(pair[0])]
        self.found.stored += [console_value(named, place, text) for place, text in kept]
        in_files = [pair for pair in pairs if not is_listed(pair[0])]
        if not in_files:
            self.found.find(finding_of(told, whose))
            return
        change = change_of(told, pairs[0][0], pairs, whose)
        starts = {(place.place.file, place.start) for place, _ in in_files}
        edits = tuple(each for each in change.edits if (each.file, each.start) in starts)
        self.found.changes.append(replace(change, edits=edits))
        self.found.doubts += _doubled(named, reading, self.machine)

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
        others: Iterable[tuple[Lane, Result | None]],
    ) -> bool:
        """Whether the other feeders want the same text there."""
        texts = [(place.start, written.text) for place, written in pairs]
        for lane, result in others:
            never = result is None or why_not_written(self.machine, result, reading)
            own = [] if result is None or never else self._written(result, reading, lane)
            if [(place.start, written.text) for place, written in own] != texts:
                return False
        return True

    def _written(self, result: Result, reading: Reading, lane: Lane) -> list[tuple[Reading, EncodedValue]]:
        """The reading and what moves along with it, as they will be written, where they say something else; nothing where
        the reading itself stays, whatever it overrides. What moves along gets the very value that the reading gets, with
        as many digits as that takes."""
        places = [reading, *self.machine.followers(reading)]
        view = self.machine.view(lane.feeder, lane.profile)
        apart = any(abs(place.form.factor) != abs(reading.form.factor) for place in places)
        text = write_in_both(result, reading) if apart else write(result, reading)
        own = within_its_limits(text, result, reading, self.worked.lanes[lane], view)
        same = result if result.value is None else replace(result, value=own.value, uncertainty=0.0)
        if means_the_same(result, reading, own):
            return []
        pairs = [
            (place, own if place is reading else write_same(same, place))
            for place in places
            if place.setting.state is State.ACTIVE and (place is reading or place.editable)
        ]
        return [
            (place, text)
            for place, text in pairs
            # a count of teeth may stay where the ratio does not
            if not means_the_same(result, place, text) and not (place.form.teeth and place.text == text.text)
        ]

    def _sharing(self, reading: Reading, result: Result, lane: Lane) -> Iterator[str]:
        """A word on profiles with another material that have no value of their own, as far as is known: one whose own
        values are in question has them all the same."""
        mine = write(result, reading).text
        in_question = {
            each.holder.profile for each in self.machine.shadowed if each.quantity == reading.quantity
        }
        for other, outcome in self.worked.lanes.items():
            if other.profile is None or other.profile in in_question:
                continue
            if other.feeder != lane.feeder or lane.profile is not None:
                continue
            own = next((each for each in outcome.shared if each.target == reading.quantity), None)
            if (
                own is None
                or self.naming.reading(reading.quantity, other) is not reading
                or own.value is None
            ):
                continue
            if (maybe := self._maybe_own(reading.quantity, other.profile)) is not None:
                yield (
                    f"{other.profile} may have one of its own at {maybe.file}:{maybe.line}, which "
                    "was not taken for it and stays as it is."
                )
            elif (text := write(own, reading).text) != mine:
                yield (
                    f"{other.profile} has no value of its own and shares this one; worked out for it alone it would"
                    f" be {text}. Give it one of its own where that matters."
                )

    def _maybe_own(self, name: str, profile: Holder) -> Place | None:
        """A line of a profile's file that may set the same, and was not understood or is a question."""
        return next(
            (self.maybe[name, path] for path in self.files.get(profile, ()) if (name, path) in self.maybe),
            None,
        )


def _maybe(machine: Machine) -> dict[tuple[str, str], Place]:
    """The first line of each file that may set a quantity, and was not understood, is a question, or is said to be nothing."""
    found: dict[tuple[str, str], Place] = {}
    for doubt in machine.doubts:
        if doubt.about:
            found.setdefault((doubt.about, doubt.place.file), doubt.place)
    for unread in (*machine.unread, *machine.said_nothing):
        for name in unread.nearest:
            found.setdefault((name, unread.place.file), unread.place)
    return found


def _own_value(
    result: Result, rule: Rule | None, reading: Reading, whose: Whose, swapped: list[int]
) -> ByHand:
    """One reading that serves feeders which want different values."""
    *first, last = (str(number) for number in swapped)
    numbers = f"{', '.join(first)} and {last}" if first else last
    place = f"{reading.place.file}:{reading.place.line}"
    others = ", ".join(str(number) for number in reading.serves)
    with_whom = f" with {reading.holder}" if reading.holder.kind in ("filament", "print") else ""
    return ByHand(
        what=f"give feeder{'s' if first else ''} {numbers} {'an' if result.label[0] in 'aeiou' else 'a'} {result.label} of {'their' if len(swapped) > 1 else 'its'} own{with_whom}: {to_write(result)}",
        value=result.value,
        unit=result.unit,
        why=f"{reading.text} at {place} serves feeders {others}, which want different values; it was left as it is",
        derivation=result.derivation,
        text=to_write(result),
        uncertainty=result.uncertainty,
        cautions=result.cautions,
        warnings=result.warnings,
        verify=result.verify,
        rule=result.rule,
        when=rule.moment if rule is not None else "power off",
        label=result.label,
        steps=_of_one_feeder(reading, swapped),
        holder=whose.holder,
        cause=whose.cause,
    )


def _of_one_feeder(reading: Reading, swapped: list[int]) -> tuple[str, ...]:
    """How to say that a profile is for one feeder alone, as many are."""
    kind, name = reading.holder.kind, reading.holder.name
    if kind not in ("filament", "print"):
        return ()
    whose = f'{{"{reading.place.file}": {{{kind}: {name}, feeders: [{swapped[0]}]}}}}'
    return (
        f"If it only ever runs in one feeder, none of this is needed: say so in cfgmigrate.yaml, for feeder {swapped[0]} by "
        f"profiles: {whose}, and prepare again.",
    )


def _doubled(result: Result, reading: Reading, machine: Machine) -> Iterable[Doubt]:
    """A quantity set in two files may be carried out twice; retraction often is. Not where one is known to override the
    other, such as what the board keeps: that is told already, and none of the two is to be switched off."""
    overridden = {doubt.place for doubt in machine.doubts if doubt.asks(OVERRIDDEN)}
    kept = reading.place.file in machine.saved
    others = [
        other
        for other in machine.followers(reading)
        if other.place not in overridden and (other.place.file in machine.saved) == kept
    ]
    if all(other.place.file == reading.place.file for other in others):
        return
    places = ", ".join(str(other.place) for other in (*others, reading))
    yield Doubt(
        reading.place,
        reading.setting.name,
        f"{result.label} is set in {len(others) + 1} places ({places}); all of them move together",
        "If the machine carries out both, keep one and switch the other off.",
        like=Likeness(
            _SET_TWICE, of=", ".join(each.place.file for each in (*others, reading)), own=result.label
        ),
    )
