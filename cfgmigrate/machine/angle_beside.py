"""A motor's full steps whose remark says them once more: `200   # 1.8 deg`.

The remark stays as it is when a number is written, and beside the new one it would be wrong: nobody could tell then which of the
two holds, this program as little as a person. So such a line is read, and a person changes both.
"""

from __future__ import annotations

from cfgmigrate.dialects.value import Number
from cfgmigrate.machine.converted import without_step_angle
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.spots import Said, Spot, never_edited

_BOTH = "the remark beside it says the step angle, too, and would be wrong beside a new number: change both by hand"


def left_with_its_angle(said: Said, spot: Spot, fit: Fit, value: Number) -> Said:
    """What was read, never written where it is a count of full steps beside its own angle."""
    if not fit.quantity.endswith(".full_steps"):
        return said
    remark = remarks_of(spot.document).behind(spot.setting)
    return never_edited(said, _BOTH) if without_step_angle(remark, value.text) != remark else said
