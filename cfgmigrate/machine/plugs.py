"""Lines that are named by the plug of the feeder's motor: `M5_MA` in a header, where another file has `[filament drive] motor plug = M5`,
or a remark says `M5 the filament`.

The plug is a letter or two and a number. What its line says is read as if the feeder's word stood in the plug's place. A remark may
be older than the wires, and two files may number the plugs otherwise, so that nothing is read by it: such a line is named and asked about.
A plug that is told of an axis as well is nobody's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.matching import fits
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.quantities import facts, of_feeder
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

_PLUG = pattern(r"[A-Za-z]{1,3}[ _-]?\d{1,2}")
#: `M5 the filament`, `J4 = extruder`, `D3: feeder motor`; of a list of plugs one clause
_TOLD = pattern(
    r"(?<![\w.])(?P<plug>[A-Za-z]{1,3}\d{1,2})[ \t]*(?:[=:]|->|is|for|drives|moves)?[ \t]*(?:the[ \t]+)?(?P<what>[A-Za-z]{1,12}(?:[ \t]+[A-Za-z]{1,12})?)(?!\w)"
)
_REMARK = pattern(r"//[^\r\n]*|/\*[^*]*(?:\*(?!/)[^*]*)*")
_AXES = frozenset("xyz")
#: what has a plug in a feeder's section and is its motor
_OF_A_MOTOR = frozenset(
    ("plug", "socket", "connector", "port", "channel", "output", "slot", "motor", "stepper", "driver", "axis")
)
_OF_ANOTHER = frozenset(("sensor", "switch", "eye", "fan", "heater", "part"))
#: what a filament's own word stands for in a list of plugs
_FED = frozenset(("filament",))
_FEEDER, _PEAK = "feeder", "peak"
#: so much of a file's remarks is looked at
_LONGEST = 20_000


class ByPlug(Struct, frozen=True):
    """A line that is named by the plug of the feeder's motor: the quantity that it may be, its unit as meanings have it, and who told."""

    unread: Unread
    quantity: str
    unit: str
    told: str

    def written(self, value: float) -> str:
        """A value of the quantity as the line would have it: a current by its peak where that is what the line counts."""
        name, _, qualifier = self.unit.partition(" ")
        unit = facts(self.quantity).unit(name) if name else None
        if unit is None:
            return ""
        number = value / unit.to_value(1.0) * (math.sqrt(2) if qualifier == _PEAK else 1.0)
        return f"{number:.3g}" if number < 100 else f"{math.floor(number)}"


@once
def named_by_plug(machine: Machine) -> tuple[ByPlug, ...]:
    """The lines in force that nobody read and that are named by the plug of the feeder's motor."""
    plugs = _plugs(machine)
    return tuple(_named(machine, plugs)) if plugs else ()


def _named(machine: Machine, plugs: dict[tuple[str, ...], str]) -> Iterator[ByPlug]:
    for unread in machine.unread:
        setting = unread.setting
        pieces = tuple(split(setting.key))
        plug = next((each for each in plugs if pieces[: len(each)] == each), ())
        if not plug or setting.state is not State.ACTIVE or len(pieces) == len(plug):
            continue
        found = fits(read_name("", " ".join((_FEEDER, *pieces[len(plug) :]))))
        for fit in found[:1]:
            qualifier = fit.qualifier or remarks_of(machine.document(unread.place.file)).qualifier
            current = fit.quantity.startswith("motor.") and fit.quantity.endswith("_current")
            unit = f"{fit.unit} {qualifier if current else ''}".strip() if fit.unit else ""
            yield ByPlug(unread, fit.quantity, unit, plugs[plug])


def _plugs(machine: Machine) -> dict[tuple[str, ...], str]:
    """The plugs of the feeder's motor, each with who tells so."""
    fed = {(each.place.file, each.setting.section) for each in machine.readings if of_feeder(each.quantity)}
    found: dict[tuple[str, ...], str] = {}
    others: set[tuple[str, ...]] = set()
    for document in machine.documents:
        for place, plug, of_the_feeder in (*_by_lines(document, fed), *_by_remarks(document)):
            words = tuple(split(plug))
            if of_the_feeder:
                found.setdefault(words, f"{place} has {plug} for the feeder's motor")
            else:
                others.add(words)
    return {plug: told for plug, told in found.items() if plug not in others}


def _by_lines(document: Document, fed: set[tuple[str, str]]) -> Iterator[tuple[str, str, bool]]:
    """The plugs that lines give as their value, each with its place, and whether it is the feeder's."""
    for setting in document.settings:
        if setting.state is not State.ACTIVE or not _PLUG.fullmatch(setting.value):
            continue
        key = frozenset(split(setting.key))
        if key.isdisjoint(_OF_A_MOTOR) or not key.isdisjoint(_OF_ANOTHER):
            continue
        named = vocabulary().names_in(key.union(split(setting.section)))
        of_feeder_ = (document.path, setting.section) in fed if setting.section else _FEEDER in named
        place = Place(document.path, setting.line)
        if of_feeder_ or named & _AXES:
            yield f"{place.file}:{place.line}", setting.value, of_feeder_


def _by_remarks(document: Document) -> Iterator[tuple[str, str, bool]]:
    """The same of what a remark of a header says, whose names have no sections that would tell."""
    if document.dialect != "header":
        return
    text = remarks_of(document).text[:_LONGEST]
    told = (each for remark in _REMARK.finditer(text) for each in _TOLD.finditer(text, *remark.span()))
    for found in told:
        words = frozenset(split(found["what"]))
        named = vocabulary().names_in(words) | words
        is_feeder = _FEEDER in named or not _FED.isdisjoint(named)
        if is_feeder or named & _AXES:
            line = text.count("\n", 0, found.start()) + 1
            yield f"{document.path}:{line}", found["plug"], is_feeder
