"""Lines of codes with just the current that the sheet says the old motor had: `M7303 S5 A1.45` beside `old: {run_current: 1.45 A peak}`.

Where a board keeps one line a socket, the letter behind the number of the socket means the current of each motor in turn, so no name
can be given to it, and nothing is read. Its number tells the line all the same. It is only named: the current of the wrong socket
is another motor's. Numbers that many lines have, and round ones, tell nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.rules.lanes import Worked

#: so many lines with one number are named; more of them tell nothing
MOST_WITH_ONE_CURRENT = 3
#: so many digits a number has that tells something
DIGITS_THAT_TELL = 3
#: the units of a line, and a peak beside an effective value
_AS_WRITTEN = (1.0, 1000.0, math.sqrt(2), 1000.0 * math.sqrt(2))
_NEAR = 0.0005


def currents_by_number(machine: Machine, worked: Worked) -> Iterator[Beside]:
    """Each such line."""
    for amperes in dict.fromkeys(_said(worked)):
        found = [
            each
            for each in machine.unread
            if machine.document(each.place.file).dialect == "command"
            and each.setting.state is State.ACTIVE
            and len(each.setting.value.strip().replace(".", "").strip("0")) >= DIGITS_THAT_TELL
            and isinstance(number := read_value(each.setting.value), Number)
            and any(abs(number.value - amperes * by) <= _NEAR * by * amperes for by in _AS_WRITTEN)
        ]
        for each in found if len(found) <= MOST_WITH_ONE_CURRENT else ():
            why = "its number is the run current that the sheet says of the old drive: if it is that, it keeps the old current; see which motor's it is before you set it"
            yield each.place.file, each.place.line, each.text, why


def _said(worked: Worked) -> Iterator[float]:
    """The old currents of the drives that are swapped, in amperes as effective values."""
    for sheet in worked.sheets.values():
        entry = sheet.get("old.run_current")
        if entry is not None and entry.value:
            yield entry.value
