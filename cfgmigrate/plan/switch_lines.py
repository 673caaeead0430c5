"""Lines that by their words say where a switch of an axis acts, though nothing read them as its end stop: `left switch clicks at`.

The switch is protected or strange, so it is never written. Where the end of travel beside it came nearer, homing would drive the
carriage to a place that it no longer gets to, or, with a switch that was moved along, all that follows would lie beside its place
by the difference. That belongs to what is dangerous: it is a step by hand before the first homing.

Which side a word names is common practice; a line that names no axis is left to others. How a switch is wired is no place.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.number_text import measure
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import ALONG_AXIS
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import PROTECTED, quantity
from cfgmigrate.machine.words import split
from cfgmigrate.plan.model import ByHand
from cfgmigrate.scripts.limits import Limit

SWITCHES_BEYOND = "files.switches_beyond"
_IN_DOUBT = pattern(r"axis\.([xy])\.stop_doubt")
#: mm by which a switch may act beyond an end of travel: where it clicks is no place to go to
_AS_GOOD_AS = 5.0
_NUMBER = pattern(r"([-+]?\d{1,6}(?:\.\d{1,6})?)(?:[ \t]*mm)?")
_SWITCH = pattern(
    r"(?i)(?<![a-z])(?:(?:end|limit|stop|home)[ _-]?(?:stops?|switch(?:es)?)|switch(?:es)?|microswitch|stops?|bumpers?|clicks?|trips?|homes|home[ _-]at)(?![a-z])"
)
#: a key that in the section of an axis alone says where its switch acts
_STOPS_AT = pattern(r"(?:homes?|homed|homing|switch|stops?|clicks?|trips?) at")
#: words of how a switch is wired or gone to, of what has switches of its own, and of heat: a chip stops when it is too hot. The hot end's side is a place
_NO_PLACE = pattern(
    r"(?i)(?<![a-z])(?:pins?|ports?|plugs?|channel|level|active|open|closed|type|inverted|normally|speed|back ?off|touch|times?|filament|eye"
    r"|runout|fan|lamps?|door|probe|bounce|delay|wait|current|retract|acceleration|heater|bed"
    r"|(?:hot|warm|cold|cool)(?![ _-]?(?:ends?[ _-]?)?sides?(?![a-z]))|heat|temp|temperature|thermal|overheat|chip"
    r"|debounce|hysteresis|travel|distance|force|bits|kind|emergency|power|main|again|retreat|approach|input|in$)(?![a-z])"
)
#: which end, and no place there: of such a line -1, 0 or 1 is a side
_SAYS_A_SIDE = frozenset(("side", "dir", "direction", "sign", "towards", "toward", "which", "way", "sense"))
_SIDES = (-1.0, 0.0, 1.0)
_LOW, _HIGH = frozenset(("left", "front", "min", "low")), frozenset(("right", "back", "rear", "max", "high"))


def axis_in_doubt(item: ByHand) -> str | None:
    """The axis of whose end stop such an item says that its new place is in doubt."""
    told = _IN_DOUBT.fullmatch(item.rule)
    return told[1] if told is not None else None


def says_a_side(key: str, number: float) -> bool:
    """Whether a line of a switch says at which end it is: `stop side = -1`."""
    return number in _SIDES and not _SAYS_A_SIDE.isdisjoint(split(key))


def switch_lines(machine: Machine, axis: str) -> Iterator[tuple[Place, Setting, float]]:
    """Each line that by its words says where a switch of an axis acts, with its number in mm."""
    names = frozenset((axis, *(word for word in ALONG_AXIS[axis] if word in _LOW | _HIGH)))
    others = frozenset(word for each, words in ALONG_AXIS.items() if each != axis for word in (each, *words))
    seen = [(each.place, each.setting) for each in (*machine.unread, *machine.said_nothing)]
    seen += [
        (each.place, each.setting) for each in machine.every_reading if each.quantity.startswith(PROTECTED)
    ]
    for place, setting in seen:
        words = frozenset(split(setting.key))
        number = _NUMBER.fullmatch(setting.value.strip())
        called = " ".join(split(setting.key))
        if number is None or setting.state is State.INACTIVE or words & others:
            continue
        of_its_section = names.issuperset(split(setting.section) or ("",)) and _STOPS_AT.fullmatch(called)
        if not words & names and not of_its_section:
            continue
        in_mm = key_dimension(tuple(split(setting.key))) in ((), ("length",))
        if says_a_side(setting.key, float(number[1])):
            continue
        if in_mm and _SWITCH.search(called) and not _NO_PLACE.search(called):
            yield place, setting, float(number[1])


def switches_beyond(
    machine: Machine, limits: Iterable[Limit], by_hand: Collection[ByHand]
) -> Iterator[ByHand]:
    """A step by hand for the switches that act beyond an end which came nearer; none for an axis whose end stop is told
    by a step of its own."""
    own = {axis_in_doubt(each) or each.rule.removeprefix("protected.end_stop_") for each in by_hand}
    beyond = [
        (place, setting, limit)
        for limit in limits
        if limit.old is not None and limit.origin and limit.axis in "xy" and limit.axis not in own
        for place, setting, at in switch_lines(machine, limit.axis)
        if limit.beyond(at)
        and limit.allowed_before(at + (-_AS_GOOD_AS if limit.upper else _AS_GOOD_AS))
        and not _at_the_other_end(setting, upper=limit.upper)
    ]
    if not beyond:
        return
    steps = tuple(
        f"{place.file}:{place.line} ({setting.name} = {setting.value.strip()}): the {quantity(limit.quantity).label} becomes "
        f"{measure(limit.value, 0.0, 'mm')}."
        for place, setting, limit in beyond
    )
    lines = ", ".join(
        f"{place.file}:{place.line} ({setting.name} = {setting.value.strip()})"
        for place, setting, _ in beyond
    )
    yield ByHand(
        "Set where the switch acts, in the line of the switch, by hand and before the first homing",
        None,
        "",
        "By its words the line says where a switch acts, and the end of travel beside it comes nearer. Lines of switches are never "
        "written by this tool.",
        warnings=(
            f"Left as it is, {lines} is beyond the new end of travel: homing drives the carriage to a place that it no longer gets to, or, "
            "where the switch or its flag was moved along, everything after homing lies beside its place by the difference.",
        ),
        cautions=(
            "Home with a hand at the switch the first time, at low speed, and with nothing on the bed.",
        ),
        verify="With the power off, push the carriage until the switch clicks and measure where the tip stands over the bed: the line says the same.",
        rule=SWITCHES_BEYOND,
        when="after install",
        label="place of a switch",
        steps=steps,
    )


def told_lines(machine: Machine, axis: str, by_hand: Collection[ByHand]) -> Iterator[tuple[str, int]]:
    """The lines of an axis's switches that a step of such items names."""
    said = " ".join(
        step
        for each in by_hand
        if each.rule in (SWITCHES_BEYOND, f"protected.end_stop_{axis}") or axis_in_doubt(each) == axis
        for step in each.steps
    )
    for place, setting, _ in switch_lines(machine, axis):
        if f"{place.file}:{place.line}" in said and setting.name in said:
            yield place.file, place.line


def _at_the_other_end(setting: Setting, *, upper: bool) -> bool:
    """Whether a name says that the switch is at the other end."""
    words = frozenset(split(setting.key))
    here, there = (_HIGH, _LOW) if upper else (_LOW, _HIGH)
    return bool(words & there) and not words & here
