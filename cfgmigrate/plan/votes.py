"""What becomes of one reading: changed, left alone with the reason, or left to a person.

The base lane of a feeder decides the machine's and the feeder's values, a profile's own lane what the profile holds.
Where one reading serves several feeders, all of them have a vote, and one that was not swapped votes for what stands
there. Without agreement nothing is written, and a person is told to give the feeder a value of its own. What a machine
has once, whatever its feeders (`of: machine`), is not voted on by those that were not swapped.

A result that no reading takes is told by `loose.py`. This module computes no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Doubt, Likeness, Place, by_file
from cfgmigrate.machine.by_words import BY_HAND_ALONE
from cfgmigrate.machine.constants import BY_ALIAS, NUMBER_OF
from cfgmigrate.machine.ends_in_doubt import is_of_a_table
from cfgmigrate.machine.further_gears import SAID_NOTHING
from cfgmigrate.machine.gear_order import UNTOLD
from cfgmigrate.machine.gear_pairs import TWO_COUNTS
from cfgmigrate.machine.listings import is_listed
from cfgmigrate.machine.model import Holder, Machine, Reading
from cfgmigrate.machine.motor_turns import RATIO_UNSETTLED
from cfgmigrate.machine.precedence import OVERRIDDEN
from cfgmigrate.machine.quantities import known, of_feeder, quantity
from cfgmigrate.plan.at_console import console_value
from cfgmigrate.plan.decided import Decided
from cfgmigrate.plan.encoding import EncodedValue, counts_of_teeth, write, write_same
from cfgmigrate.plan.items import Whose, change_of, finding_of, means_the_same, shown, to_write
from cfgmigrate.plan.line_of_its_own import line_of_its_own
from cfgmigrate.plan.model import ByHand, LeftAlone
from cfgmigrate.plan.naming import Naming
from cfgmigrate.plan.within_limits import within_its_limits
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.lanes import Lane, Worked, deciding
from cfgmigrate.rules.result import Result
from cfgmigrate.rules.rule import Rule

#: how a reason begins for which a worked-out value is dropped; that is told, and not only listed as left alone
DROPPED = "it would be "
#: what is asked of a value that several files set
_SET_TWICE = "set in several files"
NOT_WRITTEN = "The old value stays, and nothing says that it is right for the new drive. Mend the sheet, or set it by hand."
SAY_WHAT_IT_IS = (
    "Write {value} there by hand, or say in cfgmigrate.yaml what this setting is and prepare again."
)
BY_HAND_ONCE = "Write {value} there by hand. Once it stands there, this is not asked again."
#: so many places of a value that stays are told
MOST_PLACES_OF_ONE = 6
TAKE_OUT = "Take the lines of its gears out of cfgmigrate.yaml, and prepare again."
WRITE_OUT = (
    "Write out in place of the alias what it stands for, so that each has a number of its own, here {value} for {name}; "
    "then prepare again."
)
WHICH_FIRST = (
    "Is it {one}:{two} or {two}:{one}? Say which gear's teeth come first: in a remark behind the value (# motor : wheel, or "
    '# wheel : motor), or in cfgmigrate.yaml by meanings: {{"{name}": {{quantity: {what}, order: driving:driven}}}}, or '
    "driven:driving; then prepare again."
)
RATIO_FIRST = (
    "Settle that line first, and prepare again: {value} is right here only where no gear ratio counts."
)
OF_ITS_OWN = "Give each of the two a number of its own, {value} for {name}, and prepare again."
#: the quantities that say how far prints may reach, which a table's own length may be given as
_BUILDS = frozenset(("build.x", "build.y"))
OF_A_TABLE = "by its name this is the length of the table itself, which stays"
IF_LAID_OUT = (
    "If prints are laid out by this number, write {} there by hand; else nothing has to be done here, and prints that reach "
    "further are laid out anew."
)
BOTH_BY_HAND = (
    "Write both numbers by hand, each in its own place: driven to driving it is {}. Note the two old ones first: no packet will "
    "know them, and no revert writes them back. Then say values: old in the sheet, as the other values are still the old "
    "drive's, and prepare again."
)


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
        why = self._why_not(named, reading)
        pairs = [] if why else self._written(named, reading, lane)
        already = not named.unsettled and ((not why and not pairs) or _stands_already(named, reading))
        if already:
            why = f"already {reading.text} at {self._everywhere(reading)}"
        agreed = self._agreed(reading, pairs, votes)
        if (why and (agreed or not already)) or agreed:
            if why:
                self.found.left.append(LeftAlone(reading.quantity, why, whose.holder, already))
                self.found.find(finding_of(named, whose))
                if why.startswith(DROPPED):
                    self.found.doubts.append(Doubt(reading.place, reading.setting.name, why, NOT_WRITTEN))
                elif not (already or named.unsettled) and _differs(named, reading):
                    remedy = _remedy(named, reading)
                    end = _comes_to(named)
                    comes_to = end if why.endswith(end) else ""
                    self.found.doubts.append(
                        Doubt(reading.place, reading.setting.name, why, remedy, comes_to=comes_to)
                    )
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
        why = self._why_not(named, reading)
        if why or not self._written(named, reading, lane):
            why = why or f"already {reading.text} at {self._everywhere(reading)}"
            self.found.left.append(
                LeftAlone(reading.quantity, why, whose.holder, not self._why_not(named, reading))
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
        places = [
            (each.place.file, each.place.line)
            for each in (reading, *self.machine.followers(reading))
            if each is reading or (each.value == reading.value and each.setting.state is State.ACTIVE)
        ]
        more = f", and {len(places) - MOST_PLACES_OF_ONE} more" if places[MOST_PLACES_OF_ONE:] else ""
        return by_file(places[:MOST_PLACES_OF_ONE]) + more

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
        votes: dict[int, tuple[Lane, Result | None]],
    ) -> bool:
        """Whether every feeder wants the same text there."""
        texts = [(place.start, written.text) for place, written in pairs]
        for lane, result in votes.values():
            never = result is None or self._why_not(result, reading)
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
        own = within_its_limits(write(result, reading), result, reading, self.worked.lanes[lane], view)
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

    def _why_not(self, result: Result, reading: Reading) -> str:
        """Why a reading is not written, "" where it may be: also because another line has it too and must not be edited, for
        half of what moves together is not written."""
        if why := _never(result, reading):
            return why
        for each in self.machine.followers(reading):
            stays = each.setting.state is State.ACTIVE and not each.editable and not is_listed(each)
            if stays and _differs(result, each):
                at = f"{each.place.file}:{each.place.line}"
                return f"{at} sets it too and can't be written: {each.why_not}{_comes_to(result)}"
        return ""

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
                    "is not understood and stays as it is."
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
    """The first line of each file that may set a quantity, and was not understood or is a question."""
    found: dict[tuple[str, str], Place] = {}
    for doubt in machine.doubts:
        if doubt.about:
            found.setdefault((doubt.about, doubt.place.file), doubt.place)
    for unread in machine.unread:
        for name in unread.nearest:
            found.setdefault((name, unread.place.file), unread.place)
    return found


def _differs(result: Result, reading: Reading) -> bool:
    """Whether what stands there is not what was worked out, as far as the uncertainty tells."""
    if result.value is None or reading.value is None or quantity(reading.quantity).protected:
        return False
    return abs(result.value - reading.value) > result.uncertainty


def _stands_already(result: Result, reading: Reading) -> bool:
    """Whether what is never written is what is wanted as it stands, as a person has written it."""
    if reading.editable or quantity(reading.quantity).protected or is_listed(reading):
        return False
    if (
        result.value is None
        or reading.value is None
        or reading.why_not.startswith((SAID_NOTHING, BY_HAND_ALONE))
    ):
        return False
    return means_the_same(result, reading, write(result, reading))


def _comes_to(result: Result) -> str:
    """The end of a reason for which a line is not written: what it would become."""
    return f"; {DROPPED}{shown(result)}"


def _never(result: Result, reading: Reading) -> str:
    """Why a reading is not written whatever its new value, "" where it may be."""
    if quantity(reading.quantity).protected:
        return "protected: read and compared, never written"
    if not reading.editable and not is_listed(reading):
        return f"{reading.why_not}{_comes_to(result)}"
    if result.unsettled:
        return result.unsettled
    if result.value is None or reading.value is None:
        return "the file's value is no number that can be replaced"
    if reading.form.teeth and reading.value != result.value and counts_of_teeth(result) is None:
        return f"the teeth of two gears stand here, and the sheet tells no two counts{_comes_to(result)}"
    if not quantity(reading.quantity).plausible(result.value):
        return f"it would be {shown(result)}, which no machine has: check the sheet"
    if reading.quantity in _BUILDS and is_of_a_table(reading.setting.name):
        return OF_A_TABLE
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
        what=f"give feeder {numbers} {'an' if result.label[0] in 'aeiou' else 'a'} {result.label} of {'their' if len(swapped) > 1 else 'its'} own{with_whom}: {to_write(result)}",
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


def _remedy(named: Result, reading: Reading) -> str:
    """What to do where a number is worked out for a setting that is not edited."""
    if reading.quantity in _BUILDS and is_of_a_table(reading.setting.name):
        return IF_LAID_OUT.format(to_write(named))
    if reading.form.note == TWO_COUNTS:
        return BOTH_BY_HAND.format(named.text or to_write(named))
    if reading.why_not.startswith(SAID_NOTHING):
        return TAKE_OUT
    if reading.why_not == UNTOLD and named.value is not None:
        two, one = counts_of_teeth(named) or (to_write(named), "1")
        return WHICH_FIRST.format(one=one, two=two, name=reading.setting.name, what=reading.quantity)
    if reading.why_not.startswith(NUMBER_OF) and BY_ALIAS in reading.why_not:
        return WRITE_OUT.format(value=to_write(named), name=reading.setting.key)
    if reading.why_not.startswith(NUMBER_OF):
        return OF_ITS_OWN.format(value=to_write(named), name=reading.setting.key)
    if reading.why_not.startswith(RATIO_UNSETTLED):
        return RATIO_FIRST.format(value=to_write(named))
    by_hand = reading.why_not == BY_HAND_ALONE
    return (BY_HAND_ONCE if by_hand else SAY_WHAT_IT_IS).format(value=to_write(named))
