"""What a remark behind one line says of a key that is no word of the trade, for every line with that key: `gush_ms: 380 # lag
of pressure` tells of the other `gush_ms` too, and of what stands below `gush_ms:`.

It counts only where the remark is short and every word of it names one quantity. It is offered, and never believed: nothing
is read by this.
"""

from __future__ import annotations

from collections.abc import Mapping

from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.matching import fits
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.words import readings_of_name, split

#: characters of a remark that is about nothing but its line
LONGEST_OF_A_KEY = 40
_LEVEL = pattern(r"[./:]+")
_KeyWords = tuple[str, ...]


@once
def said_of_keys(machine: Machine) -> Mapping[_KeyWords, str]:
    """The quantity that remarks say of keys, by the key's words; a key of which two things are said is not among them."""
    found: dict[_KeyWords, set[str]] = {}
    remarks = {document.path: remarks_of(document) for document in machine.documents}
    for unread in machine.unread:
        said = remarks[unread.place.file].behind(unread.setting)
        if said and len(said) <= LONGEST_OF_A_KEY:
            names = readings_of_name("", said)
            meant = {fit.quantity for name in names for fit in fits(name) if not (fit.strange or fit.alone)}
            if meant:
                found.setdefault(tuple(split(unread.setting.key)), set()).update(meant)
    return {key: next(iter(meant)) for key, meant in found.items() if key and len(meant) == 1}


def said_of(machine: Machine, unread: Unread) -> str:
    """The quantity that a remark says of a setting's key, or of the level above it; "" for none."""
    said = said_of_keys(machine)
    above = _LEVEL.split(unread.setting.section)[-1]
    return said.get(tuple(split(unread.setting.key)), "") or said.get(tuple(split(above)), "") if said else ""
