"""What a console said of the values that the board keeps, as a person copied it: names and numbers between talk.

`feeder.steps  449.800 /mm` is a value. What stands around it is none: the prompt with what was typed, `ok`, a table of
heights, a list of what lies on the card. So of such a text only lines that begin with a name and go on with a number are
settings, and those with `=` between; a typed one counts where the board itself listed that name, since it was stored after
that. What is passed over is no question: nobody is to mend a console's talk.

This module is asked for texts that a person said to hold saved values, and for no others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.files.kept_listing import is_row_of_axes
from cfgmigrate.ground.pattern import pattern

#: so many of a text's lines are a name, a number and a unit where it is a listing, and such a part of all
FEWEST_KEPT_LINES, KEPT_PART = 3, 0.3
_WORD = r"[A-Za-z][A-Za-z_\d]*(?:[._/-][A-Za-z_\d]+)*"
_NAME = rf"{_WORD}(?:[ \t]+{_WORD}){{0,3}}"
_A_NUMBER = r"[-+]?\d{1,9}(?:\.\d{1,9})?"
_KEPT_LINE = pattern(
    rf"[ \t]*{_NAME}[ \t]*[=:]?[ \t]*{_A_NUMBER}(?:[ \t]*\.\.+[ \t]*{_A_NUMBER})?[ \t]*[A-Za-z/%°²^\d]{{0,8}}[ \t\r]*\Z"
)
_LISTED_NAME = pattern(rf"{_NAME}\Z")
_TYPED = pattern(rf"[>$#:][ \t]*({_NAME})\Z")
#: the longest line that is looked at
LONGEST_KEPT_LINE = 200


def is_listing(text: str) -> bool:
    """Whether enough lines of a text are a name and a number, with or without a unit, or one is a row of all axes."""
    lines = [line for line in text.splitlines() if line.strip()]
    short = [line for line in lines if len(line) <= LONGEST_KEPT_LINE]
    if any(map(is_row_of_axes, short)):
        return True
    found = sum(1 for line in short if _KEPT_LINE.match(line))
    return found >= FEWEST_KEPT_LINES and found >= KEPT_PART * len(lines)


def without_talk(document: Document) -> Document:
    """A flat document of saved values with the settings that the board listed, and without questions about its talk."""
    listed = {each.key.casefold() for each in document.settings if _LISTED_NAME.match(each.key)}
    return replace(document, settings=tuple(_kept(document, listed)), doubts=())


def _kept(document: Document, listed: set[str]) -> Iterable[Setting]:
    settings = tuple(document.settings)
    on_a_line = Counter(each.line for each in settings)
    for each in settings:
        if each.section and on_a_line[each.line] > 1:
            yield each  # of a row
        elif _LISTED_NAME.match(each.key):
            # a path is a whole name, which is typed without the title above it
            yield replace(each, section="") if "." in each.key else each
        elif (typed := _TYPED.match(each.key)) and typed[1].casefold() in listed:
            yield replace(each, key=typed[1])
        elif not typed and document.data[: each.start].rstrip(b" \t").endswith(b"="):
            yield each
