"""What the screw of the feeder's driver was set to before, by the sheet, and the lines of the files that note it.

Such a line is a note: it is not written. A person writes there what the screw is set to now.

What the screw as it was left gives the new motor is told by what the sheet says, else by the notes whose names speak of
nothing but the feeder's driver: 3.3 V may be its logic's. Another driver has another screw, of which nothing is known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from cfgmigrate.dialects.document import State
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split
from cfgmigrate.plan.model import ByHand
from cfgmigrate.plan.named_lines import MOST_UNREAD_LINES, PLAIN_NUMBER, at_line
from cfgmigrate.plan.note_words import note_words
from cfgmigrate.sheet.model import Entries

#: rules that a screw is set by, once its voltage is known, and where the sheet says the old one
SCREW_RULES = frozenset(("motor.reference_voltage", "motor.current_to_set"))
OLD_VOLTAGE = "old.driver.reference_voltage"
#: how it begins to be told that this is too much for the new motor
AS_LEFT = "The screw as it was left"
#: how a step begins that tells an old value which no file holds
WITH_THE_OLD = "With the old drive it was "
#: the currents of which the smaller one is what a voltage is worked out for
_MOST = "motor.current_limit"
_SET_FOR = frozenset(("motor.wanted_current", _MOST))
#: figures on a paper are rounded: so much above what a motor stands is no more than that
_TOLD_APART = 0.02
_VOLTS = frozenset(("volt", "volts", "voltage"))
#: what the name of a driver's voltage may say besides without saying whose it is
_OF_ANY_DRIVER = _VOLTS | {
    "driver",
    "drivers",
    "drive",
    "motor",
    "stepper",
    "reference",
    "ref",
    "screw",
    "set",
    "old",
    "now",
    "v",
}
#: fields of a driver by which a screw of the old one is none of the new one's
_OF_A_DRIVER = ("part", "sense_resistor", "volts_per_amp")
#: V; what is more is no reference voltage of a driver (common practice, no source)
HIGHEST_REFERENCE = 5.0


def old_voltage(machine: Machine, said: Mapping[str, Entries], item: ByHand) -> Iterator[str]:
    """What the screw was set to before, by the sheet, and the lines of the files that note it; and what current that is, by the
    rule of the `item` that says what to set it to."""
    old = next((entries[OLD_VOLTAGE] for entries in said.values() if OLD_VOLTAGE in entries), None)
    if old is not None:
        yield f"{WITH_THE_OLD}{old.text}, by the sheet."
    value = None if old is None else old.value
    notes = [
        (each, why)
        for each in (*machine.unread, *machine.said_nothing)
        if (why := notes_voltage(each, value))
    ]
    for each, why in notes[:MOST_UNREAD_LINES]:
        yield (
            f"{at_line(each.place)} ({each.text}) notes the old one, by {why}. Write there what you set, "
            "if it is a note."
        )
    volts = _volts_before(machine, value)
    if volts and _is_another(said):
        yield (
            "The old driver was another one: where the new one's screw stands is not known. Set it before you plug the motor in."
        )
        return
    for known in volts:
        if current := _current_at(known, item):
            yield (
                f"By the same rule {known:g} V is about {current:.3g} A RMS: that is what the new motor gets as long as the "
                "screw stands there."
            )
    if len(volts) > 1:
        yield "The files note several voltages, and the screw stands at one of them at most: measure it."


def too_much_before(machine: Machine, said: Mapping[str, Entries], item: ByHand) -> str:
    """What is to be said where the screw, as it was left, gives the new motor more than it stands, by the rule of the `item`
    that says what to set it to; "" where it doesn't."""
    old = next((entries[OLD_VOLTAGE] for entries in said.values() if OLD_VOLTAGE in entries), None)
    known = [] if _is_another(said) else _volts_before(machine, None if old is None else old.value)
    volts = max(known, default=0.0)
    current, most = _current_at(volts, item), _input(item, _MOST)
    if not most or current <= most * (1 + _TOLD_APART):
        return ""
    return (
        f"{AS_LEFT}, at {volts:g} V{', the highest that the files note,' if len(known) > 1 else ','} gives the new motor about "
        f"{current:.3g} A RMS, and {most:.3g} A is the most that it stands. Do not run the new motor before the screw is set by a meter. Without one, leave the motor unplugged (pull "
        "the mains plug before you unplug it) until someone with a meter has set it; a turn by eye is no setting."
    )


def _volts_before(machine: Machine, said: float | None) -> list[float]:
    """What the screw was set to before: by the sheet, else by the lines that note it and can be of nothing else."""
    if said is not None:
        return [said]
    notes = [
        each
        for each in (*machine.unread, *machine.said_nothing)
        if notes_voltage(each, None) and _is_plain(each.setting.name, "feeder", "filament")
    ]
    return list(dict.fromkeys(float(each.setting.value.strip()) for each in notes[:MOST_UNREAD_LINES]))


def _is_another(said: Mapping[str, Entries]) -> bool:
    """Whether the sheet says of the old driver anything that the new one has otherwise, by which a screw would set another
    current, or that it is another part."""
    whole = {path: entry for entries in said.values() for path, entry in entries.items()}
    pairs = [
        (whole[f"old.driver.{name}"], whole[f"new.driver.{name}"])
        for name in _OF_A_DRIVER
        if f"old.driver.{name}" in whole and f"new.driver.{name}" in whole
    ]
    return any(
        (old.word or old.text).casefold() != (new.word or new.text).casefold()
        if old.value is None or new.value is None
        else not math.isclose(old.value, new.value, rel_tol=_TOLD_APART)
        for old, new in pairs
    )


def _is_plain(name: str, *allowed: str) -> bool:
    """Whether a name says nothing but that it is a voltage of a driver, or of what is `allowed`."""
    named = vocabulary().names_in
    return all(
        piece in _OF_ANY_DRIVER or not named(frozenset(ways_of(piece)[0])).isdisjoint(allowed)
        for piece in split(name)
    )


def _input(item: ByHand, name: str) -> float:
    inputs = () if item.derivation is None else item.derivation.inputs
    return next((each.value for each in inputs if each.name == name and each.value), 0.0)


def _current_at(volts: float, item: ByHand) -> float:
    """A RMS that a driver's voltage sets, by what a step to set it rests on; 0 where that is not known."""
    if not item.value or item.unit != "V" or item.derivation is None:
        return 0.0
    currents = [each.value for each in item.derivation.inputs if each.name in _SET_FOR and each.value]
    return volts * min(currents) / item.value if currents else 0.0


def notes_voltage(unread: Unread, old: float | None) -> str:
    """By what a setting that was not understood may note the voltage of the feeder's driver, "" where it does not: by its name,
    or by its number where its name says nothing but that it is a voltage, of a driver or of the
    filament. A number is nobody's own, so where a
    name has a word for anything else it is that thing's."""
    pieces, number = split(unread.setting.name), PLAIN_NUMBER.fullmatch(unread.setting.value.strip())
    if number is None or unread.setting.state is State.INACTIVE or _VOLTS.isdisjoint(pieces):
        return ""
    if not 0 < float(number[0]) <= HIGHEST_REFERENCE or not note_words().supplied.isdisjoint(pieces):
        return ""
    spelled = {piece: ways_of(piece)[0] for piece in pieces}
    if "feeder" in vocabulary().names_in(frozenset(word for words in spelled.values() for word in words)):
        return "its name"
    return "its number" if float(number[0]) == old and _is_plain(unread.setting.name, "filament") else ""
