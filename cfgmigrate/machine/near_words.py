"""What a setting may be whose words come near the trade's and are too weak to read anything by: `FIELD_LEFT`, `GATHER`.

Each such word is tried with what it may stand for, `offered.yaml` has both, in the place where it stands. What is understood
then, with its unit and with a number that is plausible, is offered to a person: usual numbers first. A list gives a meaning
for each of its numbers.

Nothing is read by this.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.ground.side_words import ALONG_AXIS
from cfgmigrate.machine import codes
from cfgmigrate.machine.axis_words import axis_words
from cfgmigrate.machine.by_words import take_setting
from cfgmigrate.machine.collect import definitions_of, spot_of
from cfgmigrate.machine.collection import Collection
from cfgmigrate.machine.context import Context, unit_of
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.quantities import facts, quantity
from cfgmigrate.machine.unit_endings import unit_endings
from cfgmigrate.machine.words import split

#: words of a tip that is not the only one
_ANOTHER = frozenset(("second", "other", "another", "two", "2"))
#: along which axis a word of a side lies, as usual (common practice, no source)
_SIDES = {word: f"_{axis}" for axis, words in ALONG_AXIS.items() for word in words}
#: so many settings are tried at most
MOST_NEAR_TRIED = 300


def near_meanings(machine: Machine) -> dict[tuple[str, int], tuple[str, ...]]:
    """For settings that were not understood, by file and place, what they may be: ids, or a list of them, the likeliest
    first."""
    told = {**axis_words(machine.documents), **unit_endings(machine.documents)}
    contexts = {each.path: Context(each, told) for each in machine.documents if each.dialect != codes.DIALECT}
    defined = definitions_of(machine.documents)
    found: dict[tuple[str, int], tuple[str, ...]] = {}
    tried = [each for each in machine.unread if each.place.file in contexts and _is_near(each)]
    tried = tried[:MOST_NEAR_TRIED]
    taken = {(each.place.file, each.setting.section, each.quantity) for each in machine.every_reading}
    for unread in tried:
        stated = contexts[unread.place.file].spoken(unread.setting).unit
        unit = unit_of(unread.setting.value) or stated
        scored = {name: 0.5 for name in _ids(unread) if unit is None or facts(name).unit(unit.name)}
        for meant in _near(unread):
            context = copy.copy(contexts[unread.place.file])
            context.explained = context.explained.with_words(meant)
            spoken = context.spoken(unread.setting)
            heard = Collection(tells_near=False)
            take_setting(heard, spot_of(context, unread.setting, spoken, defined), None, spoken)
            readings = [each.reading for each in heard.readings]
            if readings and not any(quantity(each.quantity).protected for each in readings):
                text = _meaning(readings, unread)
                again = any(
                    (unread.place.file, unread.setting.section, each.quantity) in taken for each in readings
                )
                scored[text] = max(scored.get(text, -9.0), _usual(readings) - again)
        if scored:
            found[unread.place.file, unread.setting.at] = tuple(
                sorted(scored, key=lambda each: -scored[each])
            )
    return found


def _is_near(unread: Unread) -> bool:
    """Whether a setting has a number and a weak word, and is not about a pin."""
    words = split(unread.setting.name)
    if unread.setting.state is State.INACTIVE or "pin" in words or not _has_numbers(unread.setting.value):
        return False
    return any(word in offered().near for word in words)


def _near(unread: Unread) -> list[Mapping[tuple[str, ...], tuple[str, ...]]]:
    """The ways to put something else in the place of a weak word of a setting's name."""
    words = [word for word in split(unread.setting.name) if word in offered().near]
    return [
        {(word,): meant}
        for word in dict.fromkeys(words)
        for meant in offered().near[word]
        if "." not in meant[0]
    ]


def _ids(unread: Unread) -> list[str]:
    """The ids that a weak word comes near, where the number is a usual one of them."""
    pieces = split(unread.setting.name)
    ids = [meant[0] for word in pieces for meant in offered().near.get(word, ()) if "." in meant[0]]
    sides = {_SIDES[piece] for piece in split(unread.setting.key) if piece in _SIDES}
    along = [name for name in ids if name[-2:] in sides] or ids
    if _ANOTHER.isdisjoint(pieces):
        along = [name for name in along if not name.startswith("tip.")]
    return [name for name in dict.fromkeys(along) if _fits(name, unread)]


def _has_numbers(value: str) -> bool:
    """Whether a value is a number or several, and no mere switch."""
    read = read_value(value)
    items = read.items if isinstance(read, Items) else (read,)
    numbers = [each for each in items if isinstance(each, Number)]
    return len(numbers) == len(items) and any(
        each.value not in (0, 1) or "." in each.text for each in numbers
    )


def _fits(name: str, unread: Unread) -> bool:
    """Whether a lone number is a usual one of a quantity that its words only come near."""
    number = read_value(unread.setting.value)
    return isinstance(number, Number) and offered().is_usual(name, number.value) is True


def _meaning(readings: list[Reading], unread: Unread) -> str:
    ids = [each.quantity for each in readings]
    return ids[0] if len(ids) == 1 else f"[{', '.join(ids)}]"


def _usual(readings: list[Reading]) -> float:
    return sum(_of(readings)) / len(readings)


def _of(readings: list[Reading]) -> Iterator[float]:
    for each in readings:
        usual = offered().is_usual(each.quantity, each.value) if each.value is not None else None
        yield {True: 1.0, False: -1.0, None: 0.0}[usual]
