"""The three gains of a controller in a line of codes: `M70 T0 P19 I1.2 D70`.

A heater is held at its heat by three numbers, for what is missing, for how long and for how fast it changes: P, I and D, by these
letters wherever the trade writes them (from memory). They stand on one line. By its number alone each of them may look like
anything that a drive has, and who writes a feed speed there has a heater that swings. Beside them stands at most which heater it is;
a line that has more may be a whole drive's, whose letters are these by chance.
"""

from __future__ import annotations

from collections.abc import Mapping

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern

_GAINS = frozenset("PID")
#: which of a few heaters it is
_WHOSE = pattern(r"[0-3]")


def is_a_gain(document: Document, setting: Setting) -> bool:
    """Whether a word of a code is one of a controller's three gains, or the digit beside them that tells which controller's, as
    far as its letters tell."""
    if document.dialect != "command" or (setting.key not in _GAINS and not _WHOSE.fullmatch(setting.value)):
        return False
    words = _words(document).get((setting.section, setting.line), {})
    others = [value for letter, value in words.items() if letter not in _GAINS]
    return words.keys() >= _GAINS and (not others or (len(others) == 1 and bool(_WHOSE.fullmatch(others[0]))))


@once
def _words(document: Document) -> Mapping[tuple[str, int], Mapping[str, str]]:
    """The letters that stand with each code, with their numbers, by its line."""
    found: dict[tuple[str, int], dict[str, str]] = {}
    for setting in document.settings:
        found.setdefault((setting.section, setting.line), {})[setting.key] = setting.value
    return found
