"""A motor's full steps whose remark says them once more: `200   # 1.8 deg`.

The remark stays as it is when a number is written, and beside the new one it would be wrong: nobody could tell then which of the
two holds, this program as little as a person. So such a line is read, and a person changes both. The same goes for a current of
which a limit with its own number says whether it is RMS or peak: `0.6   ; max 0.6 A peak` says nothing of 0.73.
"""

from __future__ import annotations

from cfgmigrate.dialects.value import Number
from cfgmigrate.machine.converted import without_step_angle
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.rms_or_peak import of_line, of_own_limit
from cfgmigrate.machine.spots import Said, Spot, never_edited

_BOTH = "the remark beside it says the step angle, too, and would be wrong beside a new number: change both by hand"
_LIMIT = "the remark beside it has this very number as a limit, and by it alone tells RMS from peak: change both by hand"


def left_with_its_angle(said: Said, spot: Spot, fit: Fit, value: Number) -> Said:
    """What was read, never written where it is a count of full steps beside its own angle, or a current beside itself as a limit."""
    remark = remarks_of(spot.document).behind(spot.setting)
    if fit.quantity.endswith("_current") and not of_line(remark) and of_own_limit(remark, value.text):
        return never_edited(said, _LIMIT)
    if not fit.quantity.endswith(".full_steps"):
        return said
    return never_edited(said, _BOTH) if without_step_angle(remark, value.text) != remark else said
