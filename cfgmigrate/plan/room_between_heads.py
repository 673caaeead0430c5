"""How near two heads may come, and how far the swapped one gets, where a drive now sits on one of several heads: a step by hand.

A drive on a head stands out from it, towards the other head or the frame. The files may say how far apart heads have to stay,
and where the travel of each head ends and where it waits. How much room the new drive takes no file says and no rule has, so
these lines are shown and nothing is written. Found by words alone: a distance of heads, and ends of an axis that goes by the
swapped feeder's name.

Where all feeders share one nozzle there is one head, and it is a matter of the ends of the axes.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.machine.called_feeders import names_of_feeders
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.words import split
from cfgmigrate.plan.model import ByHand
from cfgmigrate.sheet.model import Sheet

ROOM_BETWEEN_HEADS = "heads.room_between"
#: so many lines are shown
MOST_LINES_OF_HEADS = 12
_HEADS = frozenset(("head", "heads", "carriage", "carriages", "tool", "tools", "toolhead", "toolheads"))
_BETWEEN = frozenset(("between", "gap", "distance", "spacing", "clearance", "closest", "closer", "nearest"))
_APART = "apart"
_AXES = frozenset("xyzuvw")
_ENDS = frozenset(("from", "to", "min", "max", "minimum", "maximum", "low", "high", "lowest", "highest", "least", "most", "end",
                   "ends", "limit", "limits", "left", "right", "reach", "rest", "park", "wait", "home"))  # fmt: skip
_CAUTION = (
    "Power off while you push. Two heads that meet, or a drive that meets the frame, break what is weaker."
)


def room_between_heads(machine: Machine, sheet: Sheet, swapped: Collection[int]) -> tuple[ByHand, ...]:
    """The step by hand; none where no drive comes onto one of several heads, or no line tells of their room."""
    drive, one = sheet.get("new.drive"), sheet.get("carriage.one_nozzle")
    on_a_head = drive is not None and drive.word == "on the carriage"
    if len(machine.feeders) < 2 or not on_a_head or (one is not None and one.word == "yes"):
        return ()
    lines = dict.fromkeys(_lines(machine, swapped))
    if not lines:
        return ()
    item = ByHand(
        "Find out how near the heads may come now, and how far the head with the new drive gets on either side, and set these lines to it",
        None,
        "",
        "The new drive stands out from its head by what no file says. What these lines keep free was measured without it.",
        cautions=(_CAUTION,),
        verify="With the power off, push the heads together by hand, and the one with the new drive to either end and all the way up: "
        "before anything touches, the files stop it.",
        rule=ROOM_BETWEEN_HEADS,
        text="measure it",
        when="before it moves",
        label="room between the heads",
        steps=tuple(lines)[:MOST_LINES_OF_HEADS],
    )
    return (item,)


def _lines(machine: Machine, swapped: Collection[int]) -> Iterator[str]:
    own = {name for name, of in names_of_feeders(machine).items() if set(of) <= set(swapped)}
    for document in machine.documents:
        for setting in document.settings:
            if setting.state is State.ACTIVE and isinstance(read_value(setting.value), Number):
                why = _why(setting, own)
                if why:
                    yield f"{document.path}:{setting.line}: {setting.name} = {setting.value} ({why})"


def _why(setting: Setting, own: Collection[str]) -> str:
    key = frozenset(split(setting.key))
    words = key | frozenset(split(setting.section))
    if words & {_APART} or (words & _BETWEEN and words & _HEADS):
        return "how far apart heads stay"
    if words.intersection(own) and words & _AXES and key & _ENDS:
        return "where the head with the new drive ends or waits"
    return ""
