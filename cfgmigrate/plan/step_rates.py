"""How many steps a second the board can send, where a line of the files says so by its name and no rule reads it.

A geared drive takes several times the steps of the old one for each millimetre, so that a top speed which was nothing to the
board becomes more than it can send: the motor then loses its place, or all others wait for it. The sheet has a field for the
board's limit, and its rules keep the top speed within. Where it doesn't say it and the drive is going to take more than such a
line allows, that is a question; where it takes less, the line is told.

The line is never taken for the limit by itself: it may be of another motor, or of all of them together.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import State
from cfgmigrate.files.marks import words_of
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.number_text import measure
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.plan.model import Change
from cfgmigrate.sheet.model import Sheet

FIELD = "controller.max_step_rate"
#: steps a second; what is less is no limit of a board (common practice, no source)
FEWEST_STEPS = 1000.0
_STEPS = frozenset(
    ("pulse", "pulses", "step", "steps", "tick", "ticks", "impulse", "impulses", "microstep", "microsteps")
)
_A_SECOND = frozenset(("rate", "second", "sec", "hz", "khz", "frequency"))
_AT_MOST = frozenset(
    ("limit", "limits", "roof", "ceiling", "cap", "most", "max", "maximum", "highest", "board", "controller")
)
#: what is counted in steps and is no rate of them
_OF_SOMETHING = frozenset(
    ("mm", "turn", "rev", "rotation", "angle", "micro", "fine", "ml", "time", "width", "length")
)
#: what a remark calls a rate of steps: `ticks/s this board can make`
_SAID_BEHIND = pattern(
    r"(?<![a-z])(?:micro ?)?(?:steps?|pulses?|impulses?|ticks?) ?(?:/|per|a|in a|each) ?(?:s|sec|seconds?)(?![a-z/²^\d])|(?<![a-z])(?:step|pulse|tick) ?(?:rate|frequency)(?![a-z])",
    re.IGNORECASE,
)
_NUMBER = pattern(r"(\d{1,3}(?:[ _,']\d{3})+|\d{1,9}(?:\.\d{1,6})?)[ \t]*(k(?:hz)?\b|mhz\b)?", re.IGNORECASE)
_TIMES = {"": 1.0, "k": 1e3, "khz": 1e3, "mhz": 1e6}
_STEPS_PER_MM, _TOP_SPEED = "feeder.steps_per_mm", "feeder.max_speed"


def step_rates(machine: Machine) -> Iterator[tuple[Unread, float]]:
    """The lines that say by their name how many steps a second the board can send, with that number."""
    for unread in machine.unread:
        if rate := _rate(unread, machine):
            yield unread, rate


def _rate(unread: Unread, machine: Machine) -> float:
    """Steps a second by the name of a setting, or by its remark where its name says that it is the most; 0 where they say no such thing."""
    words = frozenset(words_of(unread.setting.name))
    number = _NUMBER.match(unread.setting.value.strip())
    if unread.setting.state is State.INACTIVE or number is None:
        return 0.0
    behind = not words.isdisjoint(_AT_MOST | _A_SECOND) and _SAID_BEHIND.search(_remark(unread, machine))
    if not behind and words.isdisjoint(_STEPS):
        return 0.0
    a_second = behind or not words.isdisjoint(_A_SECOND)
    if not a_second and (words.isdisjoint(_AT_MOST) or not words.isdisjoint(_OF_SOMETHING)):
        return 0.0
    written = (number[2] or ("khz" if "khz" in words else "")).lower()
    rate = float(re.sub(r"[ _,']", "", number[1])) * _TIMES[written]
    return rate if rate >= FEWEST_STEPS else 0.0


def _remark(unread: Unread, machine: Machine) -> str:
    """The remark behind a setting."""
    return remarks_of(machine.document(unread.place.file)).behind(unread.setting)


def asked_of_the_board(machine: Machine, changes: Iterable[Change]) -> tuple[float, float]:
    """How many steps a second the new drive takes at its top speed, and that speed; 0 where one of them is not known."""
    new: dict[str, float] = {}
    for each in changes:  # of several feeders the one that asks for most
        new[each.quantity] = max(each.new.value or 0.0, new.get(each.quantity, 0.0))
    steps = new.get(_STEPS_PER_MM, 0.0)
    standing = [each.value for each in machine.every_reading if each.quantity == _TOP_SPEED and each.value]
    speed = new.get(_TOP_SPEED) or max(standing, default=0.0)
    return steps * speed, speed


def fastest_feed(rate: float, changes: Iterable[Change]) -> float:
    """The feed, mm a second, at which the new drive takes as many steps as that; 0 where its steps are not known."""
    steps = max((each.new.value or 0.0 for each in changes if each.quantity == _STEPS_PER_MM), default=0.0)
    return rate / steps if steps else 0.0


def more_than_the_board_sends(machine: Machine, changes: Sequence[Change], sheet: Sheet) -> Iterator[Doubt]:
    """A question for each such line that the new drive goes beyond, where the sheet doesn't say the limit."""
    if sheet.get(FIELD) is not None:
        return
    asked, speed = asked_of_the_board(machine, changes)
    for unread, rate in step_rates(machine):
        if asked > rate:
            yield Doubt(
                unread.place,
                unread.text,
                f"by its name the most steps a second that the board can send; at {measure(speed, 0.0, 'mm/s')} the new drive takes {asked:.0f} of "
                f"them, more than that: it gets no faster than {fastest_feed(rate, changes):.1f} mm/s",
                f"if it is the most for one motor, say in the sheet: controller: {{max_step_rate: {rate / 1000:g} kHz}}; the top speed "
                "is then kept within it",
            )
