"""A line of the feeder whose number is a step of its driver's current: `FEED_CS 27 /* 1.09 A rms */`.

No word of its name says so, and the number is none of amperes; the remark behind it tells what current it was. Left old it
heats the new motor with the old one's current, whatever another line sets. So it is asked as a current, in steps. How many
there are, and what the topmost gives, is offered where a remark of these files says it: `31 = 1.25 A rms`.

Nothing is read by this: how a driver counts is for a person to say. A current is (step + 1) / steps of the full scale by the
data sheets of such parts (`knowledge/drivers.yaml`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct

from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name

_AMPERES = pattern(
    r"(?<![\w.])(?P<number>\d{1,4}(?:\.\d{1,4})?)[ ]?(?P<unit>m?A)(?![A-Za-z])(?:[ ]?(?P<word>rms|peak))?"
)
#: the topmost step and what it gives
_TOPMOST = pattern(
    r"(?<![\w.])(?P<top>7|15|31|63|127|255)[ ]?(?:=|is|gives)[ ]?(?P<full>\d{1,4}(?:\.\d{1,4})?)[ ]?(?P<unit>m?A)(?![A-Za-z])"
    r"(?:[ ]?(?P<word>rms|peak))?"
)
_OF_FEEDING = frozenset(("feeder", "feed", "extruder"))
_OTHERS = frozenset(("x", "y", "z", "sense", "limit", "bed", "heater", "fan"))
_REST = "hold"
#: the topmost step that a register of a driver has
_MOST_STEPS = 255
#: an example, where no remark says what the topmost step gives
_SAY_YOURS = "(step+1)/32 of 2 A rms"


class CurrentStep(Struct, frozen=True):
    """Such a line, what it seems to set, what its remark says, and the unit to offer."""

    quantity: str
    unread: Unread
    told: str
    unit: str


def steps_of_currents(machine: Machine, lines: Iterable[Unread]) -> Iterator[CurrentStep]:
    """The `lines` that are a step of the current of the feeder's driver by their remark."""
    for each in lines:
        value = read_value(each.setting.value)
        if (
            not isinstance(value, Number)
            or value.unit
            or value.decimals
            or not 0 <= value.value <= _MOST_STEPS
        ):
            continue
        words = frozenset(read_name(each.setting.section, each.setting.key).words)
        named = words | vocabulary().names_in(words)
        if named.isdisjoint(_OF_FEEDING) or named & _OTHERS or words & offered().elsewhere:
            continue
        remark = remarks_of(machine.document(each.place.file)).behind(each.setting)
        said = _AMPERES.search(remark)
        if said is None or float(said["number"]) in (0.0, value.value):
            continue
        unit = _topmost(remark) or _topmost_anywhere(machine)
        full = "" if unit else ", with the steps and the full scale of your own driver"
        told = f"its remark speaks of {said[0]}, which its number is not, so that it may be a step of the driver's{full}"
        meant = "motor.hold_current" if _REST in named else "motor.run_current"
        yield CurrentStep(meant, each, told, unit or _SAY_YOURS)


@once
def _topmost_anywhere(machine: Machine) -> str:
    """The same of the first file that says it; no line asks for it again."""
    return next((found for one in machine.documents if (found := _topmost(remarks_of(one).text))), "")


def _topmost(text: str) -> str:
    """The unit of a step, by what a text says of the topmost one; "" where it says nothing."""
    found = _TOPMOST.search(text)
    if found is None:
        return ""
    return f"(step+1)/{int(found['top']) + 1} of {found['full']} {found['unit']} {found['word'] or 'rms'}"
