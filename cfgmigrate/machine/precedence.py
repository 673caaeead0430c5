"""Several readings of one quantity and holder: which is in force, which move along with it, and which are in doubt.

What is overridden by a known relation follows what overrides it, and is written with it: the same setting on an
earlier line, of one file or of files that include one another, and whatever the board keeps a value of itself, in a
block that it wrote or in a file of saved values, and what a file has that a line names as read after this one; of the ends of
travel only the narrower, since each of two may guard them. A doubt says so where the two differ. In a file that other machines
may read as well it stays: there it holds for them. A 0 that switches something off stays, too, since in step it would switch it
on; it is asked whether that was meant, but beside a later line of the same file.
Of what stands side by side, equal values move together. With unequal values there is a doubt and none is in
force, but for protected quantities, of which the last holds (one end stop by one key in two sections of a file is asked for), and where a
person named the one that is meant. A value that
the board keeps overrides, of several in the files that differ, the one of its own name, else the one that a person named.
What is left beside it is told.
Values of different holders never meet here.

This module deliberately looks at no words and at no file's text.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.files.read_after import ReadAfter
from cfgmigrate.ground.findings import Doubt, Likeness
from cfgmigrate.machine.model import Key, Reading
from cfgmigrate.machine.quantities import PROTECTED, label_of, quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.words import split

#: Two values closer than this, relative to the larger, are the same.
SAME_READING = 1e-6
#: how a doubt begins to say what holds in place of a reading
OVERRIDDEN = "is overridden by"
BOTH_SAID = "both are said to be it"
#: why a line stays that this machine overrides, in a file that others read
ANOTHERS_LINE = "another machine may read this file, and what holds for this one stands elsewhere"
#: why a line stays that switches off what another line sets
OFF_HERE = "this 0 switches it off here, whatever another line sets"
IN_STEP = "nothing has to be done: where one changes, the other is changed with it"
STAYS_FOR_OTHERS = "nothing has to be done for this machine: the line stays as it is, since another machine may read this file"
STAYS_OFF = "nothing has to be done: it stays 0, so that it goes on switching this off"
STAYS_ANOTHERS = (
    "nothing has to be done where it is: the line stays as it is; else say what it is, under meanings"
)
#: the remedies of what is only to be known
TO_KNOW = frozenset((IN_STEP, STAYS_FOR_OTHERS, STAYS_OFF, STAYS_ANOTHERS))
#: the question whether a 0 switches off what another file sets
_WHETHER_OFF = "whether a 0 is meant to switch off what another file sets"
#: what a 0 switches off
_SWITCHED_OFF_BY_A_ZERO = ("lag.", "resonance.", "retraction.")
#: what is protected, and whose old place is reckoned with all the same
_OF_END_STOPS = "end_stop."


#: for a file the ones that are read after it, each with the line that says so
After = Mapping[str, Mapping[str, ReadAfter]]


class Standing(Struct):
    """All readings, settled. `shadowed` are those of which none could be told to hold."""

    in_force: list[Reading] = field(default_factory=list)
    shadowed: list[Reading] = field(default_factory=list)
    followed: dict[Key, tuple[Reading, ...]] = field(default_factory=dict)
    doubts: list[Doubt] = field(default_factory=list)


def alike(one: Reading, other: Reading) -> bool:
    """Whether two readings say the same."""
    if one.value is None or other.value is None:
        return one.text.split() == other.text.split()
    return abs(one.value - other.value) <= SAME_READING * max(abs(one.value), abs(other.value))


def settle(
    readings: Iterable[Reading],
    bundle: Mapping[str, int] | None = None,
    saved: Collection[str] = (),
    named: Callable[[Reading], bool] = lambda reading: False,
    after: After | None = None,
    shared: Collection[str] = (),
    lists: Callable[[str, int], int] = lambda path, start: 0,
) -> Standing:
    """Settles readings that stand in the order of files and lines. `bundle` has one number for files that include
    one another; `saved` are the files that hold what the board keeps; `named` tells what a person said the meaning of;
    `after` has for a file those that are read after it; `shared` are the files that other machines may read, too; `lists` numbers
    those lists of one file of which nobody knows which holds: none is a later word than another."""
    by_key: dict[Key, list[Reading]] = {}
    for reading in readings:
        by_key.setdefault(reading.key, []).append(reading)
    found = Standing()
    for several in by_key.values():
        _settle_one(found, _each_span_once(several), bundle or {}, saved, named, after or {}, shared, lists)
    return found


def _each_span_once(several: list[Reading]) -> list[Reading]:
    """A number that is read under two names is one number."""
    return list({(each.place.file, each.start, each.end): each for each in several}.values())


def _settle_one(
    found: Standing,
    several: list[Reading],
    bundle: Mapping[str, int],
    saved: Collection[str],
    named: Callable[[Reading], bool],
    after: After,
    shared: Collection[str],
    lists: Callable[[str, int], int],
) -> None:
    several, beside = _of_one_name(several, saved, named)
    standing, following = _overridden(several, bundle, saved, after, lists)
    standing, unnamed = _meant(standing, named)
    *others, last = standing
    for left in (*beside, *unnamed):
        found.shadowed.append(left)
        # what is never written and known by its words alone is another thing under other words
        if not left.quantity.startswith(PROTECTED):
            found.doubts.append(_beside(left, last))
    unequal = [other for other in others if not alike(other, last)]
    if unequal and quantity(last.quantity).protected and not _in_two_sections(standing):
        found.shadowed.extend(others)
        others = []
    elif unequal:
        found.doubts.extend(_undecided(reading, last, named) for reading in unequal)
        found.shadowed.extend((*following, *others, last))
        return
    theirs = {
        earlier for earlier, (later, _) in following.items() if _is_anothers(earlier, later, saved, shared)
    }
    off = {earlier for earlier, (later, _) in following.items() if _switches_off(earlier, later)} - theirs
    for earlier, (later, how) in following.items():
        then = STAYS_FOR_OTHERS if earlier in theirs else IN_STEP
        if earlier in off:
            then = _whether_off(earlier) if earlier.place.file != later.place.file else STAYS_OFF
        if earlier in theirs or not alike(earlier, later):
            found.doubts.append(_doubt(earlier, later, how, then))
    found.in_force.append(last)
    if others or following:
        along = (
            replace(each, editable=False, why_not=ANOTHERS_LINE if each in theirs else OFF_HERE)
            if each in theirs or each in off
            else each
            for each in following
        )
        found.followed[last.key] = (*along, *others)


def _in_two_sections(standing: Sequence[Reading]) -> bool:
    """Whether the place of one end stop differs in two sections of a file by the same key, so that one of them may be another
    machine's."""
    seen: dict[tuple[str, str], Reading] = {}
    for each in standing if standing[0].quantity.startswith(_OF_END_STOPS) else ():
        first = seen.setdefault((each.place.file, each.setting.key.casefold()), each)
        if _setting(first) != _setting(each) and not alike(first, each):
            return True
    return False


def _switches_off(earlier: Reading, later: Reading) -> bool:
    """Whether a line that is overridden switches off what the other one sets."""
    return earlier.value == 0 and bool(later.value) and earlier.quantity.startswith(_SWITCHED_OFF_BY_A_ZERO)


def _whether_off(reading: Reading) -> str:
    """How to settle whether a 0 was meant to switch off what another file sets."""
    line = name_line(reading.setting, "ignore", file=reading.place.file)
    return (
        f"it stays 0, so that nothing is switched on here; say in cfgmigrate.yaml, under meanings: {line},"
        " or, if it is to be on here as well, change it by hand"
    )


def _is_anothers(earlier: Reading, later: Reading, saved: Collection[str], shared: Collection[str]) -> bool:
    """Whether a line that is overridden here may be what holds for another machine. Of what the board keeps, the file's own line
    is still this machine's."""
    return earlier.place.file in shared and later.place.file != earlier.place.file and not _kept(later, saved)


def _of_one_name(
    several: Sequence[Reading], saved: Collection[str], named: Callable[[Reading], bool]
) -> tuple[list[Reading], list[Reading]]:
    """The readings without those of files that differ from the last one that goes by the name of what the board keeps, else
    that a person named; and those."""
    kept = {_words(each) for each in several if each.place.file in saved}
    own = [not _kept(each, saved) and _words(each) in kept for each in several] if kept else []
    if kept and not any(own):
        own = [not _kept(each, saved) and named(each) for each in several]
    same = (
        next((each for each, mine in zip(reversed(several), reversed(own), strict=True) if mine), None)
        if own
        else None
    )
    if same is None:
        return list(several), []
    beside = [
        not _kept(each, saved) and not mine and not alike(each, same)
        for each, mine in zip(several, own, strict=True)
    ]
    return (
        [each for each, aside in zip(several, beside, strict=True) if not aside],
        [each for each, aside in zip(several, beside, strict=True) if aside],
    )


def _words(reading: Reading) -> tuple[str, ...]:
    return tuple(sorted(split(reading.setting.name)))


def _meant(standing: list[Reading], named: Callable[[Reading], bool]) -> tuple[list[Reading], list[Reading]]:
    """What stands, less what differs from that which a person named, where that is one value; and the rest."""
    told = [each for each in standing if named(each)]
    if not told or not all(alike(each, told[-1]) for each in told):
        return standing, []
    return [each for each in standing if alike(each, told[-1])], [
        each for each in standing if not alike(each, told[-1])
    ]


def _overridden(
    several: list[Reading],
    bundle: Mapping[str, int],
    saved: Collection[str],
    after: After,
    lists: Callable[[str, int], int],
) -> tuple[list[Reading], dict[Reading, tuple[Reading, str]]]:
    """The readings that nothing overrides; and those that another one does, with it and how.

    A later line overrides the same setting in the files that include one another, and a block that the machine
    wrote the same setting in any file. What the board keeps in a file of its own overrides all that it doesn't,
    whatever the setting is called, where the two are not far apart."""
    standing: list[Reading] = []
    following: dict[Reading, tuple[Reading, str]] = {}

    def turn(reading: Reading) -> tuple[bool, int]:
        return _kept(reading, saved), sum(reading.place.file in later for later in after.values())

    for reading in sorted(several, key=turn):
        for earlier in list(standing):
            if _in_another_list(earlier, reading, lists):
                continue
            how = _how_overridden(earlier, reading, bundle, saved) or _read_before(earlier, reading, after)
            if how:
                standing.remove(earlier)
                following[earlier] = reading, how
        standing.append(reading)
    return standing, following


def _in_another_list(earlier: Reading, later: Reading, lists: Callable[[str, int], int]) -> bool:
    """Whether two readings stand in two lists of one file, of which nobody knows which one holds."""
    numbers = {lists(each.place.file, each.start) for each in (earlier, later)}
    return earlier.place.file == later.place.file and 0 not in numbers and len(numbers) > 1


def _how_overridden(
    earlier: Reading, later: Reading, bundle: Mapping[str, int], saved: Collection[str]
) -> str:
    """By which relation a later reading overrides an earlier one, for a doubt; "" where it doesn't."""
    same = _setting(earlier) == _setting(later)
    if later.setting.saved and not _kept(earlier, saved) and same:
        return f"{OVERRIDDEN} the block that the machine wrote,"
    if later.place.file in saved and not _kept(earlier, saved):
        # `len` below `[pull]` and `pull.len` are one name
        same = same or _path(earlier) == _path(later)
        return f"{OVERRIDDEN} what the board keeps," if same or not _far_apart(earlier, later) else ""
    files = [bundle.get(each.place.file, each.place.file) for each in (earlier, later)]
    return OVERRIDDEN if same and files[0] == files[1] else ""


def _read_before(earlier: Reading, later: Reading, after: After) -> str:
    """The same where a line names the later one's file as read after the earlier one's. Of two ends of travel only the narrower
    is told by that: a machine that goes by the wider one of them runs into what the other keeps it from."""
    said = after.get(earlier.place.file, {}).get(later.place.file)
    if said is None or (_setting(earlier) != _setting(later) and _far_apart(earlier, later)):
        return ""
    end = later.quantity.rpartition(".")[2]
    if later.quantity.startswith("axis.") and end in ("min", "max"):
        inwards = (later.value or 0.0) - (earlier.value or 0.0)
        if (inwards if end == "min" else -inwards) < 0:
            return ""
    return f"{OVERRIDDEN} what is read after it ({said.where}),"


#: what the board keeps of a value is near it, where it goes by another name: a value so many times as large is another one
FAR_APART = 4.0


def _far_apart(one: Reading, other: Reading) -> bool:
    """Whether two values are too far apart to be one of before and after some tuning."""
    if not one.value or not other.value:
        return False
    ratio = one.value / other.value
    return ratio < 0 or not 1 / FAR_APART <= ratio <= FAR_APART


def _kept(reading: Reading, saved: Collection[str]) -> bool:
    return reading.setting.saved or reading.place.file in saved


def _setting(reading: Reading) -> tuple[str, str]:
    return reading.setting.section.casefold(), reading.setting.key.casefold()


def _path(reading: Reading) -> tuple[str, ...]:
    """The words of a setting's whole name in their order, however they are set apart."""
    return tuple(split(reading.setting.name))


def _doubt(reading: Reading, last: Reading, how: str, then: str) -> Doubt:
    label = label_of(reading)
    place = f"{last.place.file}:{last.place.line}"
    why = f"{label} stands more than once: {reading.text} {how} {last.text} at {place}"
    like = Likeness(
        OVERRIDDEN if then in TO_KNOW else _WHETHER_OFF, of=how, each_its_answer=then not in TO_KNOW
    )
    return Doubt(reading.place, _line(reading), why, then, like=like)


def _undecided(reading: Reading, last: Reading, named: Callable[[Reading], bool]) -> Doubt:
    """The question which of two holds. Where a person said of both that they are it, to say so again would settle nothing: then
    one of them has to be taken back."""
    label = label_of(reading)
    place = f"{last.place.file}:{last.place.line}"
    why = f"{label} is {reading.text} here and {last.text} at {place}; which one holds is not clear"
    keys = {each.setting.name for each in (reading, last)}
    both_said = named(reading) and named(last)
    meant = "ignore" if both_said else reading.quantity
    if len(keys) > 1:
        lines = [name_line(each.setting, meant) for each in (reading, last)]
    elif reading.place.file != last.place.file:
        lines = [name_line(each.setting, meant, file=each.place.file) for each in (reading, last)]
    else:
        return Doubt(
            reading.place, _line(reading), why, "settle it in the file itself: both lines have one name"
        )
    if both_said:
        remedy = (
            f"{BOTH_SAID}; say in cfgmigrate.yaml, under meanings, which one is not: {' or '.join(lines)}"
        )
        return Doubt(reading.place, _line(reading), why, remedy, reading.quantity)
    remedy = f"say in cfgmigrate.yaml, under meanings, which one is meant: {' or '.join(lines)}; the other one stays, and is told"
    return Doubt(reading.place, _line(reading), why, remedy)


def _beside(reading: Reading, last: Reading) -> Doubt:
    """What is left beside the reading that holds."""
    label = label_of(reading)
    place = f"{last.place.file}:{last.place.line}"
    why = f"the {label} is {last.text} at {place}; what this {reading.text} is for is not known, so it stays as it is"
    remedy = f"If it was made for the old drive, change it by hand; else say {name_line(reading.setting, 'ignore')}"
    return Doubt(reading.place, _line(reading), why, remedy)


def _line(reading: Reading) -> str:
    first = reading.setting.value.splitlines()[0] if reading.setting.value else ""
    return f"{reading.setting.key} = {first}"
