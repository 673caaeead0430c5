"""Letters of a code beside what it sets that measure something, and so count no feeder: `L5.4 V2700 W2100`.

Lines of one code may each be of another feeder, `L5.6 P0` and `L5.1 P1`; then none wins over another, and a value of one must not be
written over the other's. So a letter measures only where that is said or seen of every line that has it: its list calls it a
speed, a length or the like, or its number can count nothing and some line does without it. All else may count: a board's address is large
as well.

Whose each line is, is no matter of this module.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.said_of_letters import of_letter
from cfgmigrate.machine.stated import SURE
from cfgmigrate.machine.told_codes import ToldCodes
from cfgmigrate.machine.words import split

#: no number above it counts feeders, whatever a machine begins with
HIGHEST_NUMBER_OF_A_FEEDER = 255
#: what is measured, as the last word of what a list says of a letter; a position may be that of a selector
_MEASURED = frozenset(split("speed velocity length distance time duration temperature current acceleration"))
#: words by which a list says that a letter chooses, whatever it measures beside
_CHOOSING = frozenset(
    split(
        "which index number no slot lane tool feeder drive motor head plug extruder channel port side axis nozzle spool"
    )
)
_DECIMALS = pattern(r"[-+]?\d*\.\d*[1-9]\d*")
_FIRST_PART = pattern(r"[^,;()]*")


def letters_that_measure(document: Document, told: ToldCodes) -> frozenset[tuple[str, str]]:
    """The letters that count no feeder on any line of their code, with it."""
    found: dict[tuple[str, str], list[Setting]] = defaultdict(list)
    lines: dict[str, set[int]] = defaultdict(set)
    for setting in document.settings:
        if setting.section:
            found[setting.section, setting.key.upper()].append(setting)
            lines[setting.section].add(setting.line)
    return frozenset(
        (code, letter)
        for (code, letter), words in found.items()
        if all(
            _measures(each, of_letter(told, each), len(lines[code]), _on_some(words, lines[code]))
            for each in words
        )
    )


def _on_some(words: Collection[Setting], lines: Collection[int]) -> bool:
    """Whether some line of a code does without a letter: what chooses among several stands on each."""
    return len({each.line for each in words}) < len(lines)


def _measures(setting: Setting, said: Collection[str], lines: int, on_some: bool) -> bool:
    """Whether a word counts no feeder: all that lists say of it measures, and it isn't the number of one of so many lines; or its
    number can't count, and some line does without it; and nobody says that it chooses."""
    if any(not _CHOOSING.isdisjoint(split(words)) for words in said):
        return False
    measured = bool(said) and all(map(_is_measured, said))
    if not setting.value.isdecimal():
        return _DECIMALS.fullmatch(setting.value) is not None and (measured or on_some)
    number = int(setting.value)
    return number > lines if measured else number > HIGHEST_NUMBER_OF_A_FEEDER and on_some


def _is_measured(said: str) -> bool:
    """Whether a list's words for a letter end in what is measured, but for its unit."""
    words = split(SURE.sub(" ", _FIRST_PART.match(said)[0]))  # type: ignore[index]
    return bool(words) and words[-1] in _MEASURED
