"""Lags in lines of codes within a setting's value that nobody has read, or that somebody said to be nothing: `at begin = M861 S580`.

Such a line wins while it runs. Where its code with its letter is the lag by another line, or its number is the old lag that the same
file has, in milliseconds too, it was made for the old drive: the lag that is written beside it would not be what the machine goes by.
So it is asked about. A wait may have any number. Nothing is written by this.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Doubt, Likeness
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.model import Change

_LAG = "lag.coefficient"
#: seconds in the units that a lag is written in
_UNITS = (1.0, 1000.0)
_SAME = 1e-6
_CODE = pattern(r"(?<![\w.])([A-Za-z]\d{1,5}(?:\.\d+)?)((?:[ \t]+[A-Za-z]\d{1,7}(?:\.\d{1,6})?){1,8})")
_WORD = pattern(r"([A-Za-z])(\d{1,7}(?:\.\d{1,6})?)")
#: a wait is no lag, whatever its number (RS-274)
_WAITS = pattern(r"[Gg]0*4")
#: so much of a value is looked at
_LONGEST_TEXT = 2000


def lags_in_commands(machine: Machine, changes: Sequence[Change]) -> Iterator[Doubt]:
    """A question for each, where the packet writes a lag."""
    written = {(edit.file, edit.start) for change in changes for edit in change.edits}
    lags = [each for each in machine.every_reading if each.quantity == _LAG and each.value]
    moved = [each for each in lags if (each.place.file, each.start) in written]
    if not moved:
        return
    codes = {(each.setting.section.upper(), each.setting.key.upper()) for each in lags}
    taken = {(each.place.file, each.place.line) for each in lags}
    for unread in machine.unread:
        file, line, setting = unread.place.file, unread.place.line, unread.setting
        if setting.state is not State.ACTIVE or (file, line) in taken:
            continue
        for found in _CODE.finditer(setting.value[:_LONGEST_TEXT]):
            if _WAITS.fullmatch(found[1]):
                continue
            words = _WORD.findall(found[2])
            again = any((found[1].upper(), letter.upper()) in codes and float(text) for letter, text in words)
            own = [each.value for each in moved if each.place.file == file and each.value]
            near = any(
                abs(float(text) - value * unit) <= _SAME * value * unit
                for _, text in words
                for value in own
                for unit in _UNITS
            )
            if again or near:
                label = quantity(_LAG).label
                why = f"it may send the old {label} while it runs, and wins then over what is written" + (
                    ", as the same code elsewhere does" if again else ", by its number"
                )
                remedy = f"write here by hand the {label} that is to hold while it runs; at the end of a print, the machine's"
                text = f"{setting.name} = {found[0]}"
                yield Doubt(unread.place, text, why, remedy, like=Likeness("old lag sent", of=file))
                break
