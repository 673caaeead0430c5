"""Settings near the feed path that were not understood and whose number is near the old path or the old retraction, or
whose name says in full what can wreck something, with a word more: `retraction length for flexible`.

Each is a doubt with the line of the site file that settles it, the most alarming first, and a handful at most. Where
no file has a retraction and one of them may be it, nobody can say that there is none.

A length of the filament's sensor may be protected by its own words, as a switch's. Where its number is one that the
filament's way may have, it is a doubt too: left old, the machine feeds on over air.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.near_lengths import lengths_of
from cfgmigrate.machine.nearest import said_in_full
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.quantities import PROTECTED
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.teach import WRECKS, teachable
from cfgmigrate.machine.teachable import RETRACTION, Teachable
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name
from cfgmigrate.plan.notes_of_the_old import of_the_way
from cfgmigrate.plan.old_numbers import NEAR_SENSOR, OF_A_SENSOR
from cfgmigrate.plan.values_not_read import of_other_sections
from cfgmigrate.rules.engine import Outcome

#: so many are told at most; `survey` has them all
HANDFUL = 5
_PULL = "retraction.length"
_OF_FILAMENT = frozenset(("filament", "runout", "feeder", "feed", "tube", "drive", "wheel"))
_AXES = frozenset(("x", "y", "z"))
_NUMBER_FIRST = pattern(r"[-+]?\.?\d")
_NUMBER = pattern(r"\d{1,6}(?:\.\d{1,6})?(?:[ \t]*mm)?")


def near_the_old(machine: Machine, outcome: Outcome) -> tuple[Teachable, ...]:
    """What was not understood and is near the old path or retraction by its number, or near another such value by its words,
    the most alarming first."""
    path = outcome.result("path.length_old")
    length = path.value if path is not None and path.value else 0.0
    found = _by_path(machine)
    if length not in found:
        others = of_other_sections(machine)
        found[length] = tuple(
            each
            for each in teachable(machine, lengths_of(machine, length))
            if each.close_to and not (each.says and others.issuperset(each.settings))
        )
    return found[length]


@once
def _by_path(machine: Machine) -> dict[float, tuple[Teachable, ...]]:
    """What was found already, by the length of the old path: an interview tries hundreds of answers, and few are of that."""
    return {}


def doubts_of(found: tuple[Teachable, ...]) -> Iterator[Doubt]:
    """What is asked of these. What only notes the length of the filament's way, and may be no quantity, is told by hand."""
    asked = [each for each in found if each.candidates or not all(map(of_the_way, each.settings))]
    for each in asked[:HANDFUL]:
        first = each.settings[0]
        why = f"this is not understood, and {each.why}; it stays as it is"
        remedy = (
            f"change it by hand; it speaks of an occasion of its own, and is no {each.near.removeprefix('the old ')}"
            if each.near == RETRACTION and each.at_an_occasion
            else each.by_screw
            or f"say what it is in cfgmigrate.yaml, under {each.under}: {each.meaning}, or change it by hand"
        )
        yield Doubt(first.place, first.text, why, remedy)


def protected_lengths(machine: Machine, outcome: Outcome) -> Iterator[Doubt]:
    """The lines that their words protect as a sensor's or a switch's, and whose number is a length that the old way of the
    filament may have from there on."""
    path = outcome.result("path.length_old") or outcome.result("path.tube_old")
    if path is None or not path.value or outcome.result("path.changed") is None:
        return
    for reading in machine.readings:
        setting = reading.setting
        if not reading.quantity.startswith(PROTECTED) or not _NUMBER.fullmatch(reading.text):
            continue
        words = vocabulary().names_in(frozenset(read_name(setting.section, setting.key).words))
        if not OF_A_SENSOR.search(setting.name) or _OF_FILAMENT.isdisjoint(words) or words & _AXES:
            continue
        number = float(reading.text.removesuffix("mm"))
        if NEAR_SENSOR[0] * path.value <= number <= NEAR_SENSOR[1] * path.value:
            why = (
                f"its words protect it as a sensor's, and its number is near the old path of {path.value:g} mm: it may be the "
                "filament that is left behind the sensor; it stays as it is"
            )
            line = name_line(setting, "runout.distance")
            remedy = f"set it by hand to what is left there now; to have it told with its value, say in cfgmigrate.yaml, under meanings: {line}"
            yield Doubt(reading.place, f"{setting.name} = {reading.text}", why, remedy)


def lines_in_doubt(machine: Machine, found: tuple[Teachable, ...]) -> dict[str, Place]:
    """The line in doubt that may set a quantity: by what was read of it, else by all words of its name, or by its number."""
    may_be = (
        (
            _PULL if each.near == RETRACTION else each.perhaps if each.told else each.says,
            each.settings[0].place,
        )
        for each in found
    )
    # of several the most alarming, which comes first
    told = [*(each for each in may_be if each[0]), *_said_elsewhere(machine)]
    return {**dict(reversed(told)), **machine.in_doubt}


def _said_elsewhere(machine: Machine) -> Iterator[tuple[str, Place]]:
    """The lines whose key says in full what can wreck something, below a section that nobody understands."""
    read = {each.quantity for each in machine.every_reading}
    for unread in machine.unread:
        setting = unread.setting
        if setting.state is State.ACTIVE and unread.nearest and _NUMBER_FIRST.match(setting.value):
            for name, over in said_in_full(read_name(setting.section, setting.key)):
                if not over and name in WRECKS and name not in read:
                    yield name, unread.place


def suspects_in(machine: Machine, found: tuple[Teachable, ...]) -> dict[str, str]:
    """Places of settings that may be a quantity and were not taken, by that quantity: what is in doubt, and what may be
    it by its number or its words."""
    places = {name: [place] for name, place in lines_in_doubt(machine, found).items()}
    for each in perhaps(machine):
        if each.quantity not in machine.in_doubt:
            places.setdefault(each.quantity, []).append(each.unread.place)
    lines = {
        name: dict.fromkeys(f"{at.file}:{at.line}" for at in several) for name, several in places.items()
    }
    return {name: " or ".join(each) for name, each in lines.items()}
