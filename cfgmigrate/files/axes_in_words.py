"""The axes of a file that calls them by words of its own.

A machine may say `across`, `along` and `up`, where others say x, y and z. What shows it is that three things or more
of one file are set in just the same words, among them what only a motor has; other things may have some of these words, too.
Which axis is which is not asked here; that they are axes is enough to tell a machine from a profile, and one machine from
another.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.marks import words_of

#: so many things with so many settings of the same words, and so many of them a motor's own, are axes
FEWEST_AXES, SAME_SETTINGS, OF_A_MOTOR = 3, 4, 2
#: more things than this are no axes
MOST_AXES = 5
#: what only a motor that moves something has
OF_MOTORS = frozenset(
    ("motor", "current", "amps", "step", "steps", "pulse", "pulses", "microstep", "microsteps", "driver")
)


def axes_in_words(document: Document) -> frozenset[tuple[str, str]]:
    """Each such axis with the words of each setting that all of them have; none where no three things are alike."""
    heads: dict[tuple[str, ...], set[str]] = {}
    for setting in document.settings:
        words = words_of(setting.section), words_of(setting.key)
        head, tail = (" ".join(words[0]), words[1]) if words[0] else (words[1][:1], words[1][1:])
        name = head if isinstance(head, str) else "".join(head)
        if name and tail:
            heads.setdefault(tail, set()).add(name)
    alike = {frozenset(names) for names in heads.values() if FEWEST_AXES <= len(names) <= MOST_AXES}
    found: set[tuple[str, str]] = set()
    for names in alike:
        tails = [tail for tail, those in heads.items() if those >= names]
        tails = tails if len(tails) >= SAME_SETTINGS else []
        if sum(not OF_MOTORS.isdisjoint(tail) for tail in tails) >= OF_A_MOTOR:
            found |= {(name, " ".join(tail)) for name in names for tail in tails}
    return frozenset(found)
