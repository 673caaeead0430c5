"""A number whose remark says that it is 1 or -1: `FEED_TURN 1 /* 1 or -1 */` is a sense of turning and no length.

By its name it was the feed for a turn, of 1 mm, and everything of the feed was measured by that. Which way a motor turns is told
by no file; a step by hand tests it. So such a line is a question, and nothing is taken of it, whatever its name says.

This module deliberately does not say what the sign turns round.
"""

from __future__ import annotations

from collections.abc import Sequence

from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.quantities import facts, quantity
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.spots import Spot, name_line

_ONE, _LESS = r"\+?[ ]?1(?:\.0*)?", r"[-\u2212][ ]?1(?:\.0*)?"
_BETWEEN = r"[ \t]*(?:or|/|\||,[ \t]*or|,)[ \t]*"
#: both of them and nothing else of numbers around
_SIGN = pattern(
    rf"(?i)(?<![\w.+-])(?:{_ONE}{_BETWEEN}{_LESS}|{_LESS}{_BETWEEN}{_ONE}|(?P<about>(?:\+/-|\u00b1)[ ]?1))(?![\w.,]?\d)(?!\w)"
)
#: a length that is of something that turns
_OF_A_TURN = "feeder.feed_per_turn"
_WITH_A_LEEWAY = frozenset(("length", "time"))


def sign_said(spot: Spot, best: Sequence[Fit]) -> Doubt | None:
    """The question about a setting of 1 or -1 whose remark says that it is one of these two, where its name says a number
    (`best`); None for any other."""
    value = read_value(spot.setting.value)
    meant = next((fit.quantity for fit in best if quantity(fit.quantity).kind == "number"), "")
    if not meant or not isinstance(value, Number) or abs(value.value) != 1:
        return None
    said = list(_SIGN.finditer(remarks_of(spot.document).behind(spot.setting)))
    leeway = meant != _OF_A_TURN and not _WITH_A_LEEWAY.isdisjoint(facts(meant).measures)
    if not any(each["about"] is None or not leeway for each in said):
        return None  # `+/- 1` behind a length is how far off it may be
    label = quantity(meant).label
    why = f"its remark says that it is 1 or -1: which way round something goes, and no {label}; nothing was taken from it"
    remedy = (
        "leave it until the step that tests which way the drive turns; if it is that number all the same, say in "
        f"cfgmigrate.yaml, under meanings: {name_line(spot.named, meant)}"
    )
    return spot.doubt(why, remedy)
