"""A further line of gears or steps beside the feeder's distance per turn, which nobody understood: `second gear ratio`.

What a motor turn feeds is the distance per turn through all gears that count. Where a line speaks of one more and is
not understood, a new distance and a new ratio may be wrong by the whole of it, so neither is written before it is said
what the line is. A factor of one changes nothing, and how pulses are sent says nothing of how many there are.

This module deliberately does not ask where the files have steps per mm alone: those count every gear already.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, Ratio, read_value
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.context import key_dimension
from cfgmigrate.machine.gear_pairs import TWO_COUNTS
from cfgmigrate.machine.model import Reading, Unread
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name

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
    remedy = (
        f"where it is nothing that counts, say so in a names file ({name_line(unread.setting, 'ignore')}); else write all "
        "gears into one gear ratio, as 14:5 x 2:1, and take this line out"
    )
    return Doubt(unread.place, unread.text, why, remedy)


def _may_count(unread: Unread) -> bool:
    """Whether a setting has a factor and its key speaks of gears or steps."""
    setting = unread.setting
    words = read_name("", setting.key).key
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
