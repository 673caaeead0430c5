"""Which gear's teeth stand first in a gear ratio such as `46:15`, where the numbers don't show it.

A feed drive gears down (common practice, no source), so of two counts the larger is the driven gear's. In `1:1` nothing
shows it, and a new ratio written the wrong way round feeds many times too much or too little. Then a person says it in the
site file, or the remark behind the value does: `# motor : wheel`. Where neither does, the ratio is read and never
written.

What this module deliberately does not take for an answer: a ratio of turns, which stands the other way round than one of
teeth, and what the setting's own name says, which may be either.
"""

from __future__ import annotations

from cfgmigrate.dialects.remark_marks import remark_on_line
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.spots import Spot

#: how the two gears of a pair are told
DRIVEN_WORDS = frozenset(
    {
        "driven",
        "big",
        "bigger",
        "biggest",
        "large",
        "larger",
        "hob",
        "hobbed",
        "output",
        "out",
        "second",
        "wheel",
    }
)
DRIVING_WORDS = frozenset(
    {"driving", "driver", "motor", "pinion", "small", "smaller", "input", "in", "first"}
)
#: how a person says it
DRIVEN_FIRST, DRIVING_FIRST = "driven:driving", "driving:driven"
#: how the reason begins for which a ratio is never written
UNTOLD = "which gear's teeth stand first is not said, and 1:1 does not show it"
_WORD = pattern(r"[a-z]+")
_BETWEEN = pattern(r"[:/]|\bto\b|\bby\b")
_OF_TURNS = frozenset(
    {"turn", "turns", "rev", "revs", "revolution", "revolutions", "rpm", "rotation", "rotations", "speed"}
)
#: more of a line is no remark on its value
_LONGEST_REMARK = 200


def order_said(order: str, spot: Spot) -> int:
    """1 where the driven gear's teeth stand first in a value, -1 where the driving gear's do, 0 where that is not said.
    `order` is what the site file says, "" for nothing."""
    if order:
        return 1 if order == DRIVEN_FIRST else -1
    return _of_remark(remark_on_line(spot.document, spot.setting, _LONGEST_REMARK).lower())


def _of_remark(remark: str) -> int:
    """The order of two gears with a sign of a ratio between them."""
    parts = _BETWEEN.split(remark)
    words = [frozenset(_WORD.findall(part)) for part in parts]
    if len(parts) != 2 or not _OF_TURNS.isdisjoint(words[0] | words[1]):
        return 0
    told = [1 * bool(each & DRIVEN_WORDS) - 1 * bool(each & DRIVING_WORDS) for each in words]
    return told[0] if told[0] == -told[1] else 0
