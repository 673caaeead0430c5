"""What of a machine that a swap reaches no line was read for, where lines are left that nobody understood.

An answer changes no value that was not read, so that nothing more is asked of it. This says what it is, for people. It does
not say that the files have it: a board may keep it, or nobody may have set it.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.machine.model import Machine

_OF_THE_SWAP = {
    "the limits of x": ("axis.x.min", "axis.x.max"),
    "the limits of y": ("axis.y.min", "axis.y.max"),
    "the limit of z": ("axis.z.max",),
    "an acceleration": ("machine.max_acceleration", "axis.x.max_acceleration", "axis.y.max_acceleration"),
    "where the carriage rings": ("resonance.x", "resonance.y"),
    "a retraction": ("retraction.length",),
    "a lag": ("lag.coefficient",),
    "what a motor turn feeds": (
        "feeder.feed_per_turn",
        "feeder.steps_per_mm",
        "feeder.travel_per_motor_turn",
    ),
    "the motor's current": ("motor.run_current", "motor.driver_scale", "motor.reference_voltage"),
}


def not_read(machine: Machine) -> tuple[str, ...]:
    """What no line was read for; () where every number of the files was understood."""
    strange = any(
        each.setting.state is State.ACTIVE and isinstance(read_value(each.setting.value), Number)
        for each in machine.unread
    )
    known = {each.quantity for each in machine.every_reading} if strange else set()
    return tuple(what for what, names in _OF_THE_SWAP.items() if strange and known.isdisjoint(names))
