"""A motor's direction whose remark alone says how the motor runs, and whose number says no.

    Q31 P0 S1 ; x forwards
    Q31 P1 S0 ; y reversed              y_dir = 0   # reversed

`reversed` may be the name of what the number switches, which is off then, or what the number does, as it is here. So a 0 beside
such a remark is a question, unless it says what numbers mean (`1 = reversed`, `reversed: yes`). A line that sets several motors
has the word as a heading, a verb (`reverse the x motor`) is a name, and so is the word in the key.

This module deliberately does not look for what the code's other lines say.
"""

from __future__ import annotations

import re
from collections import Counter

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collection, line_of
from cfgmigrate.machine.remarks import Remarks
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_TURNED = pattern(
    r"(?:reversed|inverted|flipped|mirrored|swapped|turned (?:round|around)|backwards?|(?:the )?(?:other|wrong) way(?: (?:round|around))?)[ .!]*$",
    re.I,
)
_SAYS_WHAT = pattern(
    r"\d[ \t]*(?:=|:|is|means|for)|(?:=|:)[ \t]*\d|\b(?:yes|no|not|true|false|if|when|or)\b|/|\?", re.I
)


def ask_whether_turned(found: Collection, remarks: Remarks, since: int) -> None:
    """Turns directions of a file, from the number `since` of the collection on, into questions where remark and number may
    disagree."""
    mine = [each for each in found.readings[since:] if each.reading.quantity.endswith(".direction")]
    beside = Counter(each.reading.place.line for each in mine)
    for each in mine:
        reading = each.reading
        remark = remarks.of_line(reading.setting)
        if (
            reading.value == 0
            and not _named(reading.setting)
            and beside[reading.place.line] == 1
            and _TURNED.search(remark)
            and not _SAYS_WHAT.search(remark)
        ):
            found.readings.remove(each)
            why = f"the remark says `{remark[:60]}` and the number is {reading.text}: it may be so, or switched off"
            remedy = "see by a slow move which way the motor turns; what the number means is not told here"
            found.doubts.append(
                Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
            )


def _named(setting: Setting) -> bool:
    """Whether section or key say themselves what is switched."""
    words = frozenset(word for piece in split(setting.name) for word in ways_of(piece)[0])
    return "reverse" in vocabulary().names_in(words)
