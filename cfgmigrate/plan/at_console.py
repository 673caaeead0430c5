"""What a person stores at the board's console, where a listing of saved values is all that there is of them.

The board prefers what it keeps to its files, so a value that only the files get stays old in force. Each such value is told
by the name that the listing has for it, with what it is and what it becomes; together they are one thing to do.

This module works out no value, and knows no board's words for storing one.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.encoding import EncodedValue
from cfgmigrate.plan.identity import WHOLE_MACHINE, name_of
from cfgmigrate.plan.model import ByHand
from cfgmigrate.rules.result import Result, Status

STORE_RULE = "files.at_console"
#: `ConsoleValue.text` taken apart
_TOLD = pattern(
    r"(?P<name>[^→\r\n]{1,200}): (?P<old>[^→\r\n]{1,80}) → (?P<new>[^\r\n(]{1,80}) "
    r"\([^\r\n]{0,300}; (?P<file>[^;\r\n]{1,300}):\d{1,9}\)"
)
_WHAT = "Store these values at the board's console, each by its name, then have it keep them"
_WHY = (
    "The board prefers what it keeps to its files, so until then each of these old values wins over the new one. What is "
    "here of them is a "
    "listing ({files}): to edit that changes nothing on the machine, so it was left as it is. To go back, store the old "
    "values again."
)
_OPEN = (
    "{name}: {old} is the old drive's ({label}; {at}). Its new value is still open, and a question or a step here tells why; "
    "once it is settled, store it too."
)
_VERIFY = (
    "What the board keeps wins over the files until it is stored anew or forgotten. Switch the machine off and on, have the "
    "board list what it keeps, and compare each of these lines."
)


class ConsoleValue(Struct, frozen=True):
    """A value that a person stores at the console: the reading of the listing, what it becomes, and whose result it is."""

    reading: Reading
    written: EncodedValue
    label: str
    estimate: bool = False

    @property
    def text(self) -> str:
        """By name, old → new, with where the listing has it."""
        place = self.reading.place
        start = "; a start, to be tuned" if self.estimate else ""
        return (
            f"{self.reading.setting.name}: {self.reading.text} → {self.written.text} "
            f"({self.label}{start}; {place.file}:{place.line})"
        )


def console_value(result: Result, reading: Reading, written: EncodedValue) -> ConsoleValue:
    """The value of a listing that a result is for."""
    return ConsoleValue(reading, written, result.label, result.status is Status.ESTIMATE)


def to_store(values: Sequence[ConsoleValue], still_open: Sequence[Reading] = ()) -> tuple[ByHand, ...]:
    """The thing to do that names all of them, in the order of files and lines; none where there are none. What a listing
    says twice is told as it says it last. Behind them stand those of which the new value is `still_open`."""
    waiting = tuple(
        _OPEN.format(
            name=each.setting.name,
            old=each.text,
            label=quantity(each.quantity).label,
            at=f"{each.place.file}:{each.place.line}",
        )
        for each in still_open
    )
    if not values and not waiting:
        return ()
    in_order = sorted(values, key=lambda each: (each.reading.place.file, each.reading.place.line))
    last = {_named(each): each for each in in_order}
    ordered = [each for each in in_order if last[_named(each)] is each]
    readings = (*(each.reading for each in ordered), *still_open)
    files = ", ".join(dict.fromkeys(each.place.file for each in readings))
    item = ByHand(
        _WHAT,
        None,
        "",
        _WHY.format(files=files),
        rule=STORE_RULE,
        text=f"{len(readings)} values" if len(readings) > 1 else "one value",
        when="before it moves",
        label="values that the board keeps",
        verify=_VERIFY,
        steps=(*(each.text for each in ordered), *waiting),
    )
    return (item,)


def _named(value: ConsoleValue) -> tuple[str, str, str]:
    reading = value.reading
    return reading.place.file, reading.setting.name.casefold(), reading.quantity


def told_values(item: ByHand) -> list[tuple[str, str, str, str]]:
    """What a step tells to store, as `ConsoleValue.text` has it: file, name, old and new text."""
    found = (_TOLD.fullmatch(step) for step in item.steps) if item.rule == STORE_RULE else ()
    return [(each["file"], each["name"], each["old"], each["new"]) for each in found if each is not None]


#: the id of that thing to do
TO_STORE = name_of(_WHAT, WHOLE_MACHINE)
