"""What all settings of a configuration say, while it is being collected.

Nothing is decided here: `by_words.py` reads settings, `command_lines.py` word-address lines.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from msgspec import Struct, field

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.model import MACHINE, Form, Reading, Unread
from cfgmigrate.machine.names import Named
from cfgmigrate.machine.quantities import MOST_FEEDERS, quantity
from cfgmigrate.machine.spots import Said, Spot
from cfgmigrate.machine.words import Counted, Name


class Collected(Struct, frozen=True):
    """A reading with what is needed to settle it among others.

    `counted` is the feeder that its name speaks of, None for none; `settled` is true where its holder is certain
    already. `alone` and `strange` are those of `matching.Fit`.
    """

    reading: Reading
    measure: str = ""
    counted: Counted | None = None
    settled: bool = False
    alone: bool = False
    strange: bool = False


class Half(Struct, frozen=True):
    """A setting that fits a quantity in a section with words that nobody knows."""

    spot: Spot
    name: Name
    fit: Fit


class Torn(Struct, frozen=True):
    """A setting whose words fit several quantities, which its value doesn't tell apart either."""

    spot: Spot
    name: Name
    fits: tuple[Fit, ...]
    doubt: Doubt


class Collection(Struct):
    """What all settings say, in the order of files and lines."""

    readings: list[Collected] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)
    names_used: set[str] = field(default_factory=set)
    unsure: list[tuple[str, Doubt]] = field(default_factory=list)
    half: list[Half] = field(default_factory=list)
    torn: list[Torn] = field(default_factory=list)
    #: the teeth of one gear each
    gears: list[Half] = field(default_factory=list)
    #: gears of the feeder that a names file says are nothing
    ignored: list[Unread] = field(default_factory=list)
    #: settings that a names file says are nothing
    said_nothing: list[Unread] = field(default_factory=list)
    #: for readings of what stands in another setting's value, by path and number in the file, that of the other
    around: dict[tuple[str, int], tuple[str, int]] = field(default_factory=dict)
    #: whether it is told what a setting that was not understood is nearest to
    tells_near: bool = True

    def take(
        self, said: Said, fit: Fit | None = None, counted: Counted | None = None, settled: bool = False
    ) -> None:
        self.doubts.extend(about(said.doubts, fit))
        self.unsure.extend(said.unsure)
        for reading in said.readings:
            if counted is not None and counted.number >= MOST_FEEDERS:
                self.doubts.append(_past_counting(reading, counted.number))
                continue
            self.readings.append(
                Collected(
                    reading,
                    fit.measure if fit else "",
                    counted,
                    settled or (fit is None and counted is None) or reading.holder != MACHINE,
                    fit.alone if fit else False,
                    fit.strange if fit else False,
                )
            )


def about(doubts: Iterable[Doubt], fit: Fit | None) -> Iterator[Doubt]:
    """Doubts with the quantity that their text may be."""
    return (
        replace(doubt, about=fit.quantity) if fit is not None and not doubt.about else doubt
        for doubt in doubts
    )


def _past_counting(reading: Reading, number: int) -> Doubt:
    why = f"{quantity(reading.quantity).label}: number {number} is more than machines are counted up to"
    return Doubt(reading.place, f"{reading.setting.name} = {reading.text}", why, "check the number")


def may_not_hold(spot: Spot, name: str) -> Doubt:
    why = f"{quantity(name).label}: the files don't say whether this is in force, or an edit would break its line"
    return replace(spot.doubt(why, "settle it in the file itself"), about=name)


def protected_anyway(named: Named) -> Doubt:
    why = "the setting is protected by its own words: no line of meanings can make it anything else"
    return Doubt(named.place, named.key, why, "take the line out again")


def whole(spot: Spot, name: str) -> Reading:
    """A reading whose text is the setting's whole value."""
    setting = spot.setting
    return Reading(name, None, setting.value, spot.place(), setting.start, setting.end, Form(), setting)


def line_of(setting: Setting) -> str:
    first = setting.value.splitlines()[0] if setting.value else ""
    return f"{setting.name} = {first}" if first else setting.name
