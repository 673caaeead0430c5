"""The mark for what is common practice and has no source.

The rule book says of such facts "common practice, no source", in many texts of one plan. A reader needs that
once: the words become a mark, and wherever a report has one, `LEGEND` says what it means. Nothing else of a text
is touched, and a text without the words stays as it is.
"""

from __future__ import annotations

import re

from cfgmigrate.ground.pattern import pattern

MARK = "†"
LEGEND = f"{MARK} common practice: no source is known for it."

# where the words only say of what kind a thing is, the mark stands right behind it
_AFTER = pattern(r"(?<=\w):? common practice, no source\b", re.IGNORECASE)
_ALONE = pattern(r"common practice, no source\b:?", re.IGNORECASE)


def marked(text: str) -> str:
    """The text with the mark in place of the words: `constant: common practice, no source` → `constant †`."""
    if "ractice, no source" not in text:
        return text
    return _ALONE.sub(MARK, _AFTER.sub(f" {MARK}", text))
