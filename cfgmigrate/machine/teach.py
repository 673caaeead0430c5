"""Numbers that were not understood, as lines that teach them: what a person only takes the `#` away from.

Listed are settings with a number, in sections that speak of the machine's feed path, its axes or its drivers, or whose
words come close to a quantity. Those whose number is near one that matters (the old path's length, the old retraction)
come first. Of several settings that differ in nothing but the letter of an axis there is one line, with `@` for it.

Nothing is read by this; how such lines are kept is the matter of the site file.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.machine.matching import names_owner
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.remarks import Remarks
from cfgmigrate.machine.words import read_name, vocabulary

#: a number within this part of one that matters is near it
NEAR = 0.25
_AXIS = re.compile(r"(?<![A-Za-z])[xyzXYZ](?![A-Za-z])|(?<=[a-z_\W])[XYZ](?=[A-Z_\W]|$)")
_RELEVANT = frozenset({"feeder", "feed", "drive", "filament", "retraction", "lag", "nozzle"})


@dataclass(frozen=True, slots=True)
class Teachable:
    """A setting to teach: the name as a meaning has it (with `@` for several axes), its number, its remark, the
    ids that it may be, the likeliest first, and all settings that the line would teach."""

    pattern: str
    value: float
    text: str
    remark: str
    candidates: tuple[str, ...]
    settings: tuple[Unread, ...]

    def line(self) -> str:
        """The line of the site file, taken out of force: a person takes the `#` away."""
        meant = self.candidates[0] if self.candidates else "QUANTITY"
        pattern = self.pattern.replace("\\", "\\\\").replace('"', '\\"')
        others = f", or {' or '.join(self.candidates[1:])}" if self.candidates[1:] else ""
        said = f"; {self.remark}" if self.remark else ""
        return f'# "{pattern}": {meant}    # {self.text}{others}{said}'


def teachable(machine: Machine, near: Iterable[float] = ()) -> tuple[Teachable, ...]:
    """What may be taught of a machine. `near` are numbers that matter, in mm: lengths of the old path and the old
    retraction."""
    wanted = [each for each in near if each > 0]
    remarks = {document.path: Remarks(document) for document in machine.documents}
    groups: dict[tuple[str, str], list[tuple[Unread, Number]]] = {}
    for unread in machine.unread:
        value = read_value(unread.setting.value)
        if isinstance(value, Number) and _relevant(unread):
            groups.setdefault((unread.place.file, _AXIS.sub("@", unread.setting.name)), []).append(
                (unread, value)
            )
    found = []
    for (file, pattern), group in groups.items():
        unread, number = group[0]
        single = len(group) == 1
        found.append(
            Teachable(
                unread.setting.name if single else pattern,
                number.value,
                unread.setting.value,
                remarks[file].behind(unread.setting),
                unread.nearest if single else _for_axes(unread.nearest),
                tuple(each for each, _ in group),
            )
        )
    return tuple(sorted(found, key=lambda each: (_distance(each.value, wanted), not each.candidates)))


def _relevant(unread: Unread) -> bool:
    name = read_name(unread.setting.section, unread.setting.key)
    present = vocabulary().names_in(frozenset(name.words))
    return bool(unread.nearest) or names_owner(name.words) or not present.isdisjoint(_RELEVANT)


def _for_axes(ids: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(re.sub(r"(?<=axis\.)[xyz](?=\.)|(?<=_)[xyz]$", "@", each) for each in ids))


def _distance(value: float, wanted: list[float]) -> bool:
    """False, which stands first, where a number is near one that matters."""
    return not any(abs(value - each) <= NEAR * each for each in wanted)
