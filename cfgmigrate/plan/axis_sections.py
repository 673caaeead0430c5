"""The sections of a file that are an axis's own by what stands in them, whatever they are called: both ends of its travel do.

A motor's figures there are that axis's motor's. An equal number of the drive's is no sign that they are the drive's: whoever
set the motors that carry a beam to the drive's new current would see the beam come down.

Nothing is read by this.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.ground.once import once
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_ENDS = frozenset(("minimum", "maximum"))
_FEEDS = frozenset(("feeder", "feed", "drive", "retraction", "filament"))
#: words of what has a least and a most, and is no axis
_HEATED = frozenset(
    ("heater", "thermal", "temperature", "hotend", "nozzle", "fan", "chamber", "hottest", "coldest")
)


@once
def axis_sections(document: Document) -> frozenset[str]:
    """The sections with a key for either end, and no word of the feed or of heat in their names."""
    ends: dict[str, set[str]] = {}
    for each in document.settings:
        if each.section and each.state is not State.INACTIVE and len(words := split(each.key)) == 1:
            ends.setdefault(each.section, set()).update(_ENDS & vocabulary().names_in(frozenset(words)))
    return frozenset(
        section
        for section, found in ends.items()
        if found == _ENDS and (_FEEDS | _HEATED).isdisjoint(vocabulary().names_in(frozenset(split(section))))
    )
