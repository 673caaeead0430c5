"""A further line of gears or steps beside the feeder's distance per turn, which nobody understood: `second gear ratio`.

What a motor turn feeds is the distance per turn through all gears that count. Where a line speaks of one more and is
not understood, a new distance and a new ratio may be wrong by the whole of it, so neither is written before it is said
what the line is. A factor of one changes nothing, and how pulses are sent says nothing of how many there are.

Nor where a person said that the feeder's gears are nothing, and no ratio is left beside the distance: then that is of a
turn of the motor by what is said, and of the drive gear by what stands there, and a factor of the whole ratio lies
between the two. One of two counts of teeth that is said to be nothing leaves the other, which is asked about.

This module deliberately does not ask where the files have steps per mm alone: those count every gear already.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.dialects.value import Number, Ratio, read_value
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.gear_pairs import TWO_COUNTS
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import MACHINE, Reading, Unread
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import are_initials, read_name, split

_RESTS_ON_IT = frozenset(("feeder.feed_per_turn", "feeder.gear_ratio"))
_GEARS = frozenset(("gear", "ratio", "teeth", "tooth", "reduction", "cog", "cogs", "sprocket", "pinion"))
_STEPS = frozenset(("step", "microstep"))
#: with one of these a line of steps is of the wires and the pulses
_PULSES = frozenset(
    {"pin", "line", "wire", "port", "pulse", "time", "duration", "delay", "rate", "frequency", "speed", "direction",
     "edge", "timer", "setup", "hold", "invert", "inverted", "level", "current", "enable", "channel", "connector",
     "acceleration", "jerk", "mode", "threshold", "loss", "lost", "missed", "counter", "slot", "clock"}
)  # fmt: skip
#: with one of these a line of gears is of none that turns the filament, or of no turning
_NO_FACTOR = frozenset(
    ("diameter", "width", "module", "pitch", "wear", "hours", "age", "noise", "backlash", "number")
)
#: how the reason begins for which a distance is not written whose gears are said to be nothing
SAID_NOTHING = "the gears beside it are said to be nothing"
#: of so many gears beside a distance it is told that they are said to be nothing
MOST_TOLD = 8
#: characters of a factor
LONGEST_FACTOR = 100


def with_further_gears(
    unread: Iterable[Unread], readings: Iterable[Reading], doubts: Iterable[Doubt]
) -> tuple[list[Reading], list[Doubt]]:
    """The readings, the feeder's distance per turn and gear ratio not editable beside a line that may be one more, and
    a doubt for each such line; `doubts` are those that there are already."""
    found, asked = list(readings), list[Doubt]()
    known = {(doubt.place.file, doubt.place.line) for doubt in doubts}
    groups, done = _groups(found), set[int]()
    for each in unread:
        if (each.place.file, each.place.line) in known or not _may_count(each):
            continue
        beside = _beside(each, groups)
        if beside and id(beside) not in done:
            done.add(id(beside))
            why = f"whether {each.setting.key} counts beside it is not settled ({each.place.file}:{each.place.line})"
            for at in (at for at in beside if found[at].editable):
                found[at] = replace(found[at], editable=False, why_not=why)
        if beside:
            asked.append(_doubt(each, found[beside[0]].place))
    return found, asked


def _doubt(unread: Unread, beside: Place) -> Doubt:
    why = (
        "this is not understood and speaks of gears or steps of the feeder: whether it counts beside "
        f"{beside.file}:{beside.line} is not clear"
    )
    if isinstance(read_value(unread.setting.value), Ratio):
        remedy = (
            f"where it is nothing that counts, say so in cfgmigrate.yaml, under meanings ({name_line(unread.setting, 'ignore')}); else "
            "write all gears into one gear ratio, as 14:5 x 2:1, and take this line out"
        )
    else:
        remedy = (
            f"where the machine does not reckon with it, say so in cfgmigrate.yaml, under meanings ({name_line(unread.setting, 'ignore')}); "
            "else set it by hand, and what one turn feeds with it"
        )
    return Doubt(unread.place, unread.text, why, remedy)


def without_gears_said_to_be_nothing(
    ignored: Iterable[Unread], readings: Iterable[Reading], of_motor: Callable[[Reading], bool]
) -> tuple[list[Reading], list[Doubt]]:
    """The readings, the feeder's distance per turn not editable where all gears beside it are said to be nothing, and a
    doubt for each; not where the key itself counts turns of the motor, and not for gears of one to one."""
    found, asked = list(readings), list[Doubt]()
    geared = {each.holder for each in found if each.quantity == "feeder.gear_ratio"}
    groups = _groups(found)
    gears: dict[int, list[Unread]] = {}
    for each in ignored:
        for at in _beside(each, groups):
            if len(several := gears.setdefault(at, [])) < MOST_TOLD:
                several.append(each)
    for at, several in gears.items():
        distance = found[at]
        known = geared & {distance.holder, MACHINE}
        if distance.quantity != "feeder.feed_per_turn" or known or of_motor(distance):
            continue
        if not _is_factor(several):
            continue
        first, place = several[0], distance.place
        lines = " and ".join(f"{each.setting.key} ({each.place.file}:{each.place.line})" for each in several)
        why = (
            f"{lines} said to be nothing: whether {distance.setting.key} ({place.file}:{place.line}) is of a turn of the "
            "motor or of the drive gear is then not clear, so it stays as it is"
        )
        remedy = "take them out of cfgmigrate.yaml or the names file; two counts of teeth are one gear ratio"
        asked.append(Doubt(first.place, first.text, why, remedy))
        nothing = f"{SAID_NOTHING} ({first.place.file}:{first.place.line})"
        found[at] = replace(distance, editable=False, why_not=nothing)
    return found, asked


def _is_factor(gears: Iterable[Unread]) -> bool:
    """Whether gears come to a ratio that is not 1: a ratio does, a lone count of teeth says none."""
    values = [read_value(each.setting.value) for each in gears]
    ratios = [each.value for each in values if isinstance(each, Ratio)]
    counts = [each.value for each in values if isinstance(each, Number)]
    said_ratio = any("ratio" in read_name("", each.setting.key).key for each in gears)
    if any(each != 1 for each in ratios) or (said_ratio and any(each != 1 for each in counts)):
        return True
    return len(counts) > 1 and len(set(counts)) > 1


def _may_count(unread: Unread) -> bool:
    """Whether a setting has a factor and its key speaks of gears or steps."""
    setting = unread.setting
    words = read_name("", _without_initials(setting)).key
    if setting.state is not State.ACTIVE or len(setting.value) > LONGEST_FACTOR:
        return False
    present, measure = vocabulary().names_in(frozenset(words)), key_dimension(words)
    # `second` is a time as well
    gears = bool(present & _GEARS) and not present & _NO_FACTOR and measure in ((), ("time",))
    steps = bool(present & _STEPS) and not present & (_PULSES | _NO_FACTOR) and not measure
    if not gears and not steps:
        return False
    value = read_value(setting.value)
    return isinstance(value, Number | Ratio) and value.value not in (0, 1)


def _without_initials(setting: Setting) -> str:
    """A key without the initials of its own section before it: `st_soft` below `[stamper]` speaks of no step."""
    section, key = split(setting.section), split(setting.key)
    initials = bool(section) and len(key) > 1 and are_initials(key[0], section[-1])
    return " ".join(key[1:] if initials else key)


#: a section of a file; or the feeder of that number, None for any
_Group = tuple[str, str] | int | None


def _groups(readings: Sequence[Reading]) -> dict[_Group, list[int]]:
    """Where those readings stand that rest on gears, by all that a line may say to be beside them. A ratio of two counts of
    teeth has both its lines already."""
    found: dict[_Group, list[int]] = {}
    for at, reading in enumerate(readings):
        if reading.quantity in _RESTS_ON_IT and reading.form.note != TWO_COUNTS and reading.editable:
            section = reading.setting.section
            number = read_name(section, reading.setting.key).number
            places: list[_Group] = [(reading.place.file, section)] if section else []
            for group in (*places, None, *(() if number is None else (number,))):
                found.setdefault(group, []).append(at)
    return found


def _beside(unread: Unread, groups: Mapping[_Group, list[int]]) -> list[int]:
    """The readings that a line stands beside: those of its section, else those of the feeder that it names."""
    section = unread.place.file, unread.setting.section
    if unread.setting.section and section in groups:
        return groups[section]
    name = read_name(unread.setting.section, unread.setting.key)
    present = vocabulary().names_in(frozenset(name.words))
    strange = (vocabulary().things & present) - {"feeder", "feed", "drive", "filament"}
    return groups.get(name.number, []) if "feeder" in present and not strange else []
