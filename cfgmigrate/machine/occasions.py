"""The moments at which filament is moved by itself, such as a pause: by the words of a setting that was not understood.

What is pulled or fed at such a moment is no retraction of the print, however long it is. Nothing is read by this.
"""

from __future__ import annotations

from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.words import split

#: words of a pull or a feed at an occasion of its own, which is no retraction
OCCASIONS = frozenset(
    (
        *(
            "pause",
            "paused",
            "wait",
            "waiting",
            "park",
            "parked",
            "end",
            "stop",
            "cancel",
            "change",
            "swap",
            "purge",
        ),
        *(
            "rest",
            "rests",
            "resting",
            "idle",
            "idling",
            "standby",
            "toolchange",
            "switch",
            "switching",
            "switched",
        ),
        *("load", "unload", "cut", "resume", "start", "ram", "prime"),
    )
)


def speaks_of_occasion(unread: Unread) -> bool:
    """Whether a setting's words name a moment at which filament is moved by itself, such as a pause."""
    return not OCCASIONS.isdisjoint(split(unread.setting.name))
