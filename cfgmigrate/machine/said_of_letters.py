"""What lists of letters say of a word of a line, whatever is read of it: its letter's own words, and the pairs by which a list has the
ends of axes.

Others ask it to tell whether a letter measures or only chooses (`measuring_letters.py`), and whether the numbers of a pair bear a list
out (`ends_by_pairs.py`). A list stands behind the line, in the legend, or above it.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import Setting
from cfgmigrate.machine.code_legends import letters_listed, pairs_of
from cfgmigrate.machine.code_words import explains_another_code
from cfgmigrate.machine.lines_of_codes import LinesOfCodes


def of_letter(told: LinesOfCodes, setting: Setting) -> list[str]:
    """What lists of letters say of a word's own letter and of no other one: `V speed out, W speed back`."""
    found = []
    for text in _beside(told, setting):
        listed = letters_listed(text, told.written[setting.line])
        words = listed.letters.get(setting.key.upper()) if listed else None
        if listed and words and list(listed.letters.values()).count(words) == 1:
            found.append(words)
    return found


def pairs_beside(told: LinesOfCodes, setting: Setting) -> list[tuple[str, str]]:
    """The pairs of letters by which what is said of a word's line has the ends of axes."""
    return [pair for text in _beside(told, setting) for pair in pairs_of(text)]


def _beside(told: LinesOfCodes, setting: Setting) -> list[str]:
    """What is said of a word's line: behind it, in the legend, and above it where that is about no other code."""
    code, above = told.line_code.get(setting.line, ""), told.above.get(setting.line, "")
    above = "" if explains_another_code(above, code) else above
    return [each for each in (told.remarks.of_line(setting), told.entry(setting, code), above) if each]
