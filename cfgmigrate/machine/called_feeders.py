"""How the files call each feeder: by a side, a name, a label, or a number that is not the one it has here.

Who knows the drives as `[feeder left]` and `[feeder right]` does not know them as 1 and 2. So a sheet may name a feeder as
the files do, and whatever is said of one says that name too. A side counts where it stands beside a word of the feed path
or is a whole level of the path, and not where it is what is left behind. A label is a line `name` or `label` in a feeder's
own section. A number counts where it is another one than the feeder has here: files may count from 0.

One name may be of two feeders: then it is of none, and who uses it is asked. This module settles no feeder's number: that is
the matter of `feeders.py` and `named_feeders.py`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import pairwise

from cfgmigrate.dialects.value import Text, read_value
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.model import Machine, Reading, feeder
from cfgmigrate.machine.words import read_name, split

_LEVEL = pattern(r"[./:]+")
_LABELS = frozenset({"name", "label"})
_LEFT_BEHIND = "runout.distance"
LONGEST_LABEL = 40


@once
def names_of_feeders(machine: Machine) -> Mapping[str, tuple[int, ...]]:
    """The names by which the files, or the site file, tell feeders apart, in small letters; of a name that several share all."""
    found: dict[str, set[int]] = defaultdict(set)
    if len(machine.feeders) < 2:
        return {}
    for name, number in machine.feeder_names.items():
        if not name.isdecimal():
            found[_bare(name)].add(number)
    sections: dict[tuple[str, str], set[int]] = defaultdict(set)
    for number in machine.feeders:
        for each in machine.held_by(feeder(number)):
            sections[each.place.file, each.setting.section].add(number)
            for side in _sides(each):
                found[side].add(number)
    for document in machine.documents:
        for setting in document.settings:
            own = sections.get((document.path, setting.section), set()) if setting.section else set()
            if len(own) == 1 and _LABELS.issuperset(split(setting.key)) and split(setting.key):
                value = read_value(setting.value)
                if isinstance(value, Text) and 0 < len(_bare(value.text)) <= LONGEST_LABEL:
                    found[_bare(value.text)].update(own)
    return {name: tuple(sorted(numbers)) for name, numbers in found.items() if name}


@once
def numbers_in_files(machine: Machine) -> Mapping[str, int]:
    """What the files call feeders by a number: `feeder 0`, `tool 1`; what may be either of two is not among them."""
    found: dict[str, set[int]] = defaultdict(set)
    for name, number in machine.feeder_names.items() if len(machine.feeders) > 1 else ():
        if name.isdecimal():
            found[f"feeder {name}"].add(number)
    for number in machine.feeders if len(machine.feeders) > 1 else ():
        for each in machine.held_by(feeder(number)):
            counted = read_name(each.setting.section, each.setting.key).counted
            if counted is not None and not counted.side:
                found[f"{counted.word} {counted.number}"].add(number)
    return {text: next(iter(numbers)) for text, numbers in found.items() if len(numbers) == 1}


@once
def called(machine: Machine) -> Mapping[int, str]:
    """What each feeder is called by the files, where that is more than its number here."""
    names = {name: of[0] for name, of in names_of_feeders(machine).items() if len(of) == 1}
    return called_by(names, numbers_in_files(machine))


def called_by_holder(machine: Machine) -> dict[str, str]:
    """The same by the holder's name: `feeder 2`."""
    return {str(feeder(number)): name for number, name in sorted(called(machine).items())}


def called_by(names: Mapping[str, int], counted: Mapping[str, int]) -> dict[int, str]:
    """What feeders of these names are called, where that is more than a number: `right`, `tool 1 in the files`."""
    found: dict[int, str] = {}
    for name, number in names.items():
        found.setdefault(number, name)
    for text, number in counted.items():
        if text.rpartition(" ")[2] != str(number):
            found.setdefault(number, f"{text} in the files")
    return found


def _sides(reading: Reading) -> Iterator[str]:
    """The sides that a reading's section and key name."""
    if reading.quantity == _LEFT_BEHIND:
        return
    sides, counted = holder_words().sides, holder_words().counted
    for level in _LEVEL.split(f"{reading.setting.section}.{reading.setting.key}"):
        words = split(level)
        if len(words) == 1 and words[0] in sides and len(words[0]) > 1:
            yield words[0]
    for one, other in pairwise((*split(reading.setting.section), *split(reading.setting.key))):
        for side, word in ((one, other), (other, one)):
            if side in sides and word.removesuffix("s") in counted:
                yield side


def _bare(name: str) -> str:
    return name.strip().strip("\"'").strip().casefold()
