"""A further line of gears or steps beside the feeder's distance per turn, which nobody understood: `second gear ratio`.

What a motor turn feeds is the distance per turn through all gears that count. Where a line speaks of one more and is
not understood, a new distance and a new ratio may be wrong by the whole of it, so neither is written before it is said
what the line is. A factor of one changes nothing, and how pulses are sent says nothing of how many there are.

This module deliberately does not ask where the files have steps per mm alone: those count every gear already.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, Ratio, read_value
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.context import key_dimension
from cfgmigrate.machine.gear_pairs import TWO_COUNTS
from cfgmigrate.machine.model import Reading, Unread
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name, read_name

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
    found, asked = list(readings), []
    known = {(doubt.place.file, doubt.place.line) for doubt in doubts}
    for each in unread:
        if (each.place.file, each.place.line) in known or not _may_count(each):
            continue
        beside = [at for at, reading in enumerate(found) if _is_beside(reading, each)]
        for at in beside:
            if found[at].editable:
                where = f"{each.place.file}:{each.place.line}"
                why = f"whether {each.setting.key} counts beside it is not settled ({where})"
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


def _is_beside(reading: Reading, unread: Unread) -> bool:
    """Whether a reading rests on the gears that a line speaks of: it stands in the same section, or the line names the
    feeder. A ratio of two counts of teeth has both its lines."""
    if reading.quantity not in _RESTS_ON_IT or reading.form.note == TWO_COUNTS:
        return False
    same = (reading.place.file, reading.setting.section) == (unread.place.file, unread.setting.section)
    name = read_name(unread.setting.section, unread.setting.key)
    if same and unread.setting.section:
        return True
    own = read_name(reading.setting.section, reading.setting.key)
    return _names_the_feeder(name) and name.number in (None, own.number)


def _names_the_feeder(name: Name) -> bool:
    words = frozenset(name.words)
    present = vocabulary().names_in(words)
    return "feeder" in present and (vocabulary().things & present) <= {"feeder", "feed", "drive", "filament"}
