"""A probe's height that is the third number of one list: `offset: [-21.3, 4, 1.9]`.

A line of its own for the height tells its sense by its sign, as the rule for it says. In a list the three may be one place, that
of the probe seen from the nozzle: then a number above zero is where it hangs at rest, higher than the tip, and no height at
which it acts; one below zero is the point of the probe by either sign. A height written in the wrong sense is off by twice the shift, and drives the nozzle into the bed. So where no
remark says what the third number is counted from, it is asked, and the first two are read as ever.

What a person says of the list stays.
"""

from __future__ import annotations

from collections.abc import Sequence

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collection, line_of
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.offsets_turned import remarks_of_offset
from cfgmigrate.machine.spots import name_line

_HEIGHT = "probe.offset_z"
_ALONG_THE_BED = frozenset(("probe.offset_x", "probe.offset_y"))
#: by such words the number is how high the nozzle stands when the probe acts
_ACTS = pattern(
    r"(?i)\b(?:trigger\w*|acts?|fires?|clicks?|trips?|touches|z[^,;.]{0,20}\bheight|height of the (?:nozzle|tip))\b"
)
_WHY = (
    "nothing says what its third number is counted from: how high the nozzle stands when the probe acts, or where the probe "
    "is, seen from the nozzle. A new one in the wrong sense drives the nozzle into the bed, so it stays as it is"
)


def ask_from_where(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Takes back each height of a probe that stands in a list with its offsets and that nothing explains, and asks."""
    heights = [
        each for each in found.readings if each.reading.quantity == _HEIGHT and (each.reading.value or 0) > 0
    ]
    if not heights:
        return
    by_path = {document.path: document for document in documents}
    beside = {
        (each.reading.place.file, each.reading.setting.at)
        for each in found.readings
        if each.reading.quantity in _ALONG_THE_BED
    }
    for each in heights:
        reading, setting = each.reading, each.reading.setting
        document = by_path[reading.place.file]
        if (reading.place.file, setting.at) not in beside or (names and names.find(document, setting)):
            continue
        if any(_ACTS.search(remark) for remark in remarks_of_offset(document, setting)):
            continue
        found.readings.remove(each)
        meant = name_line(setting, "[probe.offset_x, probe.offset_y, probe.offset_z]")
        remedy = (
            "measure it anew before z is homed, and write it by hand; or look up in the maker's handbook which it is. If above zero it "
            f"is the nozzle's height when the probe acts, and below zero the probe's point seen from the nozzle, say so in cfgmigrate.yaml, "
            f"under meanings: {meant}"
        )
        found.doubts.append(Doubt(reading.place, line_of(setting), _WHY, remedy, about=_HEIGHT))
