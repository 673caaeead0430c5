"""A length for loading or unloading that by its name is the quick or the slow part of the way, with the other part beside it.

    load fast = 640      ; through the tube
    load slow = 95       ; through the hot end

The two together are the way. Worked out by itself the quick one may reach into the hot end, at the speed of the tube, and the
slow one is pushed in behind it. So such a length waits, and the other line is named. What the parts should be is not worked out:
how the owner shares the way between them no file says. `first` and `second` may be two feeders as well, and then each is the whole
way of its own: which it is, is asked.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.words import split

#: what each part of the way does, in either direction
HOW_SHARED = {
    "feeder.load_length": "the fast part ends before the hot end, and the slow one does the rest",
    "feeder.unload_length": "the slow part draws the end out of the hot end, and the fast one does the rest",
}
#: how the parts are told apart in names, in the trade's words
_QUICK = frozenset(("fast", "quick", "quickly", "rapid", "first"))
_SLOW = frozenset(("slow", "slowly", "gentle", "second", "last"))
#: words that count feeders as well as parts
_COUNTED = frozenset(("first", "second"))
_LENGTH = pattern(r"(\d{1,5}(?:\.\d{1,6})?)(?:[ \t]*mm|[fF])?")
#: mm; less is what oozed, and no part of the way (common practice, no source)
_A_PART = 8.0


def part_of_a_load(machine: Machine, reading: Reading, text: str) -> str:
    """Why a length that would become `text` waits for its other part; "" where it is the whole way by its name."""
    if reading.quantity not in HOW_SHARED:
        return ""
    other = other_part(machine, reading)
    if other is None:
        return ""
    if not frozenset(split(reading.setting.key)).isdisjoint(_COUNTED):
        return (
            f"it would be {text} for the whole way. But by their names {reading.setting.key} and {reading.place.file}:{other.line} "
            f"({other.key} = {other.value.strip()}) are either two parts of one load or the loads of a first and a second feeder, and which "
            f"no file says. If they are parts, they are the way together: {HOW_SHARED[reading.quantity]}. If they are two feeders', "
            "each is its own feeder's whole way"
        )
    return (
        f"it would be {text} for the whole way, and {reading.setting.key} is a part of it by its name: {reading.place.file}:{other.line} "
        f"({other.key} = {other.value.strip()}) is the other. Together they are the way; {HOW_SHARED[reading.quantity]}"
    )


def other_part(machine: Machine, reading: Reading) -> Setting | None:
    """The setting of the same name but for the word of the part, where a reading is a part of a way by its name."""
    if reading.quantity not in HOW_SHARED:
        return None
    own = frozenset(split(reading.setting.key))
    for here, there in ((_QUICK, _SLOW), (_SLOW, _QUICK)):
        if own.isdisjoint(here):
            continue
        for each in machine.document(reading.place.file).settings:
            if each.section != reading.setting.section or each.state is State.INACTIVE:
                continue
            words = frozenset(split(each.key))
            if words.isdisjoint(there) or words - there != own - here:
                continue
            number = _LENGTH.fullmatch(each.value.strip())
            if number is not None and float(number[1]) >= _A_PART:
                return each
    return None
