"""A 0 by which a script switches something off: `M861 S0` before it parks, where another line sets the lag to 0.66 s.

It is no value of the drive's, whatever else says one, and a later line of it is no later word on that: written with the others it
would switch on what the script has off. So it stays, and what other lines set is taken from those alone. A lag of 0 is none at
all; a retraction of 0 may be the machine's only word on it, and is taken for that where it stands alone.

What the board keeps is no script, though it may be in codes: there a 0 is what holds. This module changes no other reading.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cfgmigrate.ground.findings import Doubt, Likeness
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.precedence import STAYS_OFF
from cfgmigrate.machine.quantities import label_of

_LAG = "lag."
_RETRACTION = "retraction."


def without_what_scripts_switch_off(
    readings: Sequence[Reading], in_script: Callable[[Reading], bool]
) -> tuple[list[Reading], list[Reading], list[Doubt]]:
    """The readings, those that only switch something off in a script, and what is told of these."""
    zeros = [each for each in readings if _is_zero(each) and in_script(each)]
    if not zeros:
        return list(readings), [], []
    set_elsewhere = {each.key for each in readings if each.value}
    off = [each for each in zeros if each.quantity.startswith(_LAG) or each.key in set_elsewhere]
    left = {id(each) for each in off}
    return [each for each in readings if id(each) not in left], off, [_told(each) for each in off]


def _is_zero(reading: Reading) -> bool:
    return reading.value == 0 and reading.quantity.startswith((_LAG, _RETRACTION))


def _told(reading: Reading) -> Doubt:
    why = f"the {label_of(reading)} is switched off here by a 0, whatever it is elsewhere"
    return Doubt(reading.place, reading.text, why, STAYS_OFF, like=Likeness(STAYS_OFF, of=reading.quantity))
