"""Whether a reading holds the old drive's value or the new one's already, so that nothing is scaled twice.

A value that is scaled from the files' own old one (5 mm of retraction become 0.3 mm) must not be scaled once more
when the program is run again on its own result. Old, new or unknown is a matter of one reading, never of a machine:
a profile may have been forgotten when the machine was migrated. What is asked, in this order:

1. the history: an install wrote this reading, and by the same cause or another;
2. the sheet, where it says that a feeder's or a filament's values are old or new;
3. the value itself: is it nearer, by a factor of three, to what the new path asks for or to what the old one did; one
   that is the new path's, where nothing was ever installed and all else of its holder is the old drive's, is a question;
4. what else the same holder has: figures of the new drive, or of the old one;
5. where nothing was ever installed and nothing new is anywhere: old, and that is a doubt.

Otherwise it is not known, and the value is not written. This module judges finished passes through the book and
reads no file; the history comes as a value.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum

from msgspec import Struct, field

from cfgmigrate.machine.model import Holder, Reading
from cfgmigrate.rules.result import Result

#: two values this close mean the same (relative)
SAME = 5e-4
#: how many times nearer a value has to be to one side than to the other
NEARER = 3.0


class Age(StrEnum):
    OLD = "old"
    NEW = "new"
    UNKNOWN = "unknown"


class Told(Struct, frozen=True):
    """The age of a reading, why it is thought so, and whether nothing but the first run speaks for it."""

    age: Age
    why: str = ""
    once_only: bool = False


Span = tuple[str, int, int]
"""A stretch of a file: path, first byte, the one behind the last."""


class Past(Struct, frozen=True):
    """What the history tells of the files that are worked on. `written` has what installs put there by another cause
    than this sheet's: for each stretch whether the sheet's old side is what that install made new (OLD: a further
    swap) or not (UNKNOWN), with the reason. `taken` are stretches that hold the old text again because this very
    swap was installed there, `held` those that it held back. `inputs` are the files that were read for the installs
    that stand (None: it isn't known), `installs` is true where any stands."""

    written: Mapping[Span, Told] = field(default_factory=dict)
    taken: frozenset[Span] = frozenset()
    installs: bool = False
    inputs: frozenset[str] | None = frozenset()
    #: the feeders and profiles that those files held
    holders: frozenset[str] = frozenset()
    #: stretches of another machine's value, with why that can't be the one that the sheet tells of
    foreign: Mapping[Span, str] = field(default_factory=dict)
    #: ages that were told before and count as they are, by quantity and holder
    stated: Mapping[tuple[str, str], Told] = field(default_factory=dict)

    def of(self, reading: Reading) -> Told | None:
        """What the history says of one reading; None where it says nothing."""
        told = self.stated.get((reading.quantity, str(reading.holder)))
        if told is not None:
            return told
        span = (reading.place.file, reading.start, reading.end)
        if any(_meets(span, other) for other in self.taken):
            return Told(Age.OLD, "the old text, as it stood before this swap was installed")
        return next((told for other, told in self.written.items() if _meets(span, other)), None)

    def why_foreign(self, reading: Reading) -> str:
        """Why a reading is another machine's; "" where nothing says so."""
        return self.foreign.get((reading.place.file, reading.start, reading.end), "")

    def never_seen(self, reading: Reading) -> bool:
        """Whether installs stand and none of them read this reading's file, or knew the profile in it."""
        if not self.installs or self.inputs is None:
            return False
        profile = reading.holder.profile
        return reading.place.file not in self.inputs or (
            profile is not None and str(profile) not in self.holders
        )


NO_PAST = Past()


def _meets(one: Span, other: Span) -> bool:
    return one[0] == other[0] and (one[1:] == other[1:] or (one[1] < other[2] and other[1] < one[2]))


class Evidence(Struct, frozen=True):
    """A reading whose new value rests on nothing that the files are to change: does it hold that value already?"""

    reading: Reading
    there: bool


def by_value(value: float, result: Result, usual_now: Sequence[float], slope: float) -> Age | None:
    """By what a value is itself: `result` is what it would become, and grows by `slope` with it. Ways that ask nothing
    of the old value say what is usual now; what was usual then is what would become that. None where it is near to neither."""
    now = [usual for usual in usual_now if usual > 0]
    if not now or not result.value or value <= 0 or result.value <= 0:
        return None
    then = [value + (usual - result.value) / slope for usual in now] if slope > 0 else []
    if not any(usual > 0 for usual in then):
        return None
    from_new = min(abs(math.log(value / usual)) for usual in now)
    from_old = min(abs(math.log(value / usual)) for usual in then if usual > 0)
    if from_old - from_new >= math.log(NEARER):
        return Age.NEW
    return Age.OLD if from_new - from_old >= math.log(NEARER) else None


def age_of(
    reading: Reading,
    result: Result,
    past: Past,
    said: str,
    usual_now: Sequence[float],
    evidence: Sequence[Evidence],
    slope: float,
) -> Told:
    """The age of a reading that `result` would scale. `said` is what the sheet says of its holder's values ("" for
    nothing), `usual_now` what ways say that ask nothing of the old value, `evidence` that of all holders,
    and `slope` how much `result` grows with the reading."""
    told = past.of(reading)
    if told is not None:
        return told
    if said in (Age.OLD, Age.NEW):
        return Told(Age(said), f"the sheet says that the values of {reading.holder} are {said}")
    if why := past.why_foreign(reading):
        return Told(Age.UNKNOWN, why)
    there, lacking = (
        [each.reading for each in evidence if each.there is side and each.reading.holder == reading.holder]
        for side in (True, False)
    )
    if reading.value is not None and (age := by_value(reading.value, result, usual_now, slope)) is not None:
        usual = f"{reading.text} is what is usual for the {age} drive"
        if age is Age.NEW and lacking and not there and not past.installs:
            return Told(
                Age.UNKNOWN, f"{usual}, but it stands beside figures of the old one ({named(lacking)})"
            )
        return Told(age, usual)
    if past.never_seen(reading):
        return Told(Age.OLD, "nothing that was installed before knew of it")
    if there and not lacking:
        return Told(Age.NEW, f"it stands beside figures of the new drive ({named(there)})")
    if lacking and not there:
        return Told(Age.OLD, f"it stands beside figures of the old drive ({named(lacking)})")
    if not there and not past.installs and not any(each.there for each in evidence):
        return Told(Age.OLD, "nothing was installed here before", once_only=True)
    why = "nothing tells whether it is still the old drive's"
    if there:
        why = f"it stands beside figures of the new drive ({named(there)}) and others of the old ({named(lacking)})"
    elif past.installs:
        why = "something was installed here before, and nothing tells whether this value was migrated by hand then"
    return Told(Age.UNKNOWN, why)


def named(readings: Iterable[Reading]) -> str:
    return ", ".join(reading.quantity for reading in readings)


def remedy(holder: Holder) -> str:
    """How a person settles an unknown age."""
    if holder.kind == "machine":
        return "Say in the sheet, with `values: old` or `values: new`, which drive's values the files hold."
    return f"Say in the sheet, below `{holder.kind}s: {{{holder.name}: …}}`, `values: old` or `values: new`."
