"""The lines that may say where the end stop of an axis stands, as steps of the item that has it set by hand.

Such a line is protected by its words, or is of a switch by them; it is never written. The limit at the very place moves
with it. Where there is one, the item doesn't say that no file tells where the end stop stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.document import State
from cfgmigrate.files.found import SITE
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import ALONG_AXIS
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.quantities import PROTECTED
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.words import split
from cfgmigrate.plan.model import ByHand
from cfgmigrate.plan.named_lines import MAY_BE, PLAIN_NUMBER, line_of_reading, may_be
from cfgmigrate.plan.past_the_stop import places_past, same_elsewhere
from cfgmigrate.plan.switch_lines import says_a_side, switch_lines

END_STOPS = "protected.end_stop"
_Z_STOP = "protected.end_stop_z"
#: words of how a switch is wired, in the trade's words: such a number is no place
_WIRED = frozenset(
    [
        "line",
        "pin",
        "port",
        "plug",
        "channel",
        "rest",
        "resting",
        "pulled",
        "pull",
        "level",
        "active",
        "open",
        "closed",
        "type",
        "inverted",
        "reversed",
        "normally",
        "in",
        "input",
        "again",
        "retreat",
        "approach",
        "debounce",
    ]
)
#: what stands at an end stop, besides its axis: of such a line the number is a place
_STANDS_THERE = frozenset(("end", "stop", "carriage", "nozzle", "tip", "position", "x", "y", "z"))
#: words of homing, and of a place that it ends at
_HOMED = frozenset(("home", "homed", "homing"))
_PLACE_OF_IT = frozenset(("position", "pos", "place", "at", "coordinate", "point"))
#: how a rule says that no line of an end stop was read
_NO_FILE_SAYS = pattern(r"No line was understood that says where the ([xyz]) end stop stands\.")


def end_stops(machine: Machine, axis: str, shift: float = 0.0) -> Iterator[str]:
    """The lines with a number that their words protect as an end stop's: of the axis's own section, where its limits
    tell which that is, else where it is named. None of another axis, and none that tells how the switch is wired. With the `shift`
    of the tip by which such an end stop's place is set by hand, the places beyond it, too."""
    limits = [each for each in machine.readings if each.quantity.startswith(f"axis.{axis}.")]
    # a code is no section: it says nothing of where another file has its lines
    of_codes = {each.path for each in machine.documents if each.dialect == "command"}
    sections = {
        (each.place.file, each.setting.section)
        for each in limits
        if each.setting.section and each.place.file not in of_codes
    }
    if any(each.quantity == f"end_stop.{axis}" for each in machine.readings):
        return
    found: list[tuple[str, int, float]] = []
    for reading in machine.every_reading:
        words = set(split(reading.setting.key))
        called = words.union(split(reading.setting.section))
        spoken = axis in called or not called.isdisjoint(ALONG_AXIS[axis])
        # with no limit to tell its section, a filament's switch far off would be taken for the axis's
        own = (reading.place.file, reading.setting.section) in sections if sections else spoken
        own = own and not words & _WIRED and (axis in words or not words & {"x", "y", "z"})
        own = own and _is_of_a_stop(reading) and PLAIN_NUMBER.fullmatch(reading.text) is not None
        if own and not says_a_side(reading.setting.key, float(reading.text)):
            found.append((reading.place.file, reading.place.line, float(reading.text)))
            line = may_be(reading.place, f"{reading.setting.name} = {reading.text}")
            meant = name_line(reading.setting, f"end_stop.{axis}")
            told = (
                ""
                if reading.quantity.startswith(END_STOPS)
                else f" If it is, say so in {SITE}, under meanings: {meant}."
            )
            yield f"{line} It is protected, and was left as it is.{told}"
            yield from (_limit_there(each) for each in limits if _same_number(each, reading.text))
    named = {
        (each.place.file, each.place.line)
        for each in machine.every_reading
        if each.quantity.startswith(END_STOPS)
    }
    for at, setting, number in switch_lines(machine, axis):
        if (at.file, at.line) not in named:
            found.append((at.file, at.line, number))
            text = f"{setting.name} = {setting.value.strip()}"
            meant = name_line(setting, f"end_stop.{axis}")
            yield (
                f"{may_be(at, text)} It is a line of a switch by its words, and was left as it is. If it is, say so in {SITE}, "
                f"under meanings: {meant}."
            )
    known = {(file, line) for file, line, _ in found}
    for unread, number in _homed_to(machine, axis, limits):
        if (unread.place.file, unread.place.line) not in known:
            found.append((unread.place.file, unread.place.line, number))
            line = may_be(unread.place, f"{unread.setting.name} = {unread.setting.value.strip()}")
            yield (
                f"{line} By its words it is the place to which {axis} is homed, and it has the number of a limit; it was left as it is. "
                f"If it is, say so in {SITE}, under meanings: {name_line(unread.setting, f'end_stop.{axis}')}."
            )
    yield from same_elsewhere(machine, axis, found)
    yield from places_past(machine, axis, found, shift)


def _homed_to(machine: Machine, axis: str, limits: Sequence[Reading]) -> Iterator[tuple[Unread, float]]:
    """The lines of nobody that say the place of homing along an axis, `X_HOME_POS`, and have the number of a limit there."""
    ends = {each.value for each in limits if each.quantity.endswith((".min", ".max"))}
    for unread in machine.unread:
        words, value = frozenset(split(unread.setting.key)), unread.setting.value.strip()
        said = frozenset(split(unread.setting.name))
        if unread.setting.state is not State.ACTIVE or PLAIN_NUMBER.fullmatch(value) is None:
            continue
        of_axis = axis in said and said.isdisjoint({"x", "y", "z"} - {axis})
        of_place = not words.isdisjoint(_HOMED) and not words.isdisjoint(_PLACE_OF_IT)
        if of_axis and of_place and not words & _WIRED and float(value) in ends:
            yield unread, float(value)


def shift_of(item: ByHand) -> float:
    """By how much such an item has the place of an end stop of x or y set elsewhere, in mm."""
    inputs = item.derivation.inputs if item.derivation is not None and item.rule != _Z_STOP else ()
    name = f"carriage.nozzle_shift.{item.rule[-1]}"
    return next((each.value for each in inputs if each.name == name and each.value is not None), 0.0)


def _is_of_a_stop(reading: Reading) -> bool:
    """Whether a line is protected as an end stop's: `switch`, or as a place of what stands at one: `carriage at switch`."""
    if reading.quantity.startswith(END_STOPS):
        return True
    words = reading.quantity.removeprefix(PROTECTED).split("_")
    return reading.quantity.startswith(PROTECTED) and "stop" in words and _STANDS_THERE.issuperset(words)


def _same_number(limit: Reading, text: str) -> bool:
    """Whether a limit stands at the very place of an end stop."""
    return limit.quantity.endswith((".min", ".max")) and limit.value == float(text)


def _limit_there(limit: Reading) -> str:
    return f"If it is, {line_of_reading(limit)} is the limit at this end stop and moves by the same."


def goes_to(reading: Reading, stop: float | None, item: ByHand) -> str:
    """What a line becomes that says where the end stop stands, or the limit there."""
    if stop is not None and _is_moved(item):
        return ", stays as it is where the switch is moved"
    if stop is not None and item.value is not None and _is_another_number(reading, stop):
        return f", becomes {(reading.value or 0.0) + item.value - stop:g}"
    there = (
        stop is not None and reading.value == stop and reading.text and PLAIN_NUMBER.fullmatch(reading.text)
    )
    in_mm = there and float(reading.text) == reading.value
    return f", becomes {item.value:g}" if in_mm and item.value is not None else ""


def _is_another_number(reading: Reading, stop: float) -> bool:
    """Whether a line says where the same end stop stands, with another number than the line in force, which moves by as much."""
    plain = reading.quantity.startswith("end_stop.") and PLAIN_NUMBER.fullmatch(reading.text) is not None
    return plain and reading.value is not None and float(reading.text) == reading.value != stop


def _is_moved(item: ByHand) -> bool:
    """Whether an item is of a switch that is moved with the tip, so that its lines stay: what is told of it does not start from the
    end stop's old place, though the files have it."""
    named = {each.name for each in item.derivation.inputs} if item.derivation is not None else set()
    return item.rule == _Z_STOP and "was.end_stop.z" not in named


def ends_at(item: ByHand, stop: float | None) -> tuple[str, ...]:
    """The limits that may go with the end stop of such an item. The bed is where it was, whatever the tip does: at the top the lowest
    z has nothing to do with it, and near the bed the highest."""
    if item.rule != _Z_STOP or stop is None:
        return ("min", "max")
    if _is_moved(item):
        return ("min",)
    return ("min", "max") if item.value is None else ("max",)


def with_its_lines(item: ByHand) -> ByHand:
    """The same item, which doesn't say that no file tells where an end stop stands where a line may be the one."""
    lines = [step.removeprefix(MAY_BE).partition(". ")[0] for step in item.steps if step.startswith(MAY_BE)]
    if not lines or not any(_NO_FILE_SAYS.search(each) for each in item.warnings):
        return item
    said = f"Where the \\1 end stop stands may be said by {' or '.join(lines)}."
    return replace(item, warnings=tuple(_NO_FILE_SAYS.sub(said, each) for each in item.warnings))
