"""The text of a script that stands in a setting's value, without what belongs to the file around it.

A script is one value of several lines, a list of texts, or one text with its line ends written out. Quotes, brackets, the
dashes and the numbers of a list, and the file's own remarks are no part of it: blanks stand in their place, so that
every character stays where it was. What the lines do is not known here.
"""

from __future__ import annotations

import re

from cfgmigrate.dialects import DIALECTS
from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.pattern import pattern

#: a line end written out as a backslash and an n; quotes and line joints around a text
_WRITTEN_END = pattern(r"\\(?:r\\)?[nr]")
#: the brackets of a list of texts, and what stands from one of them to the next
_LIST = pattern(r"([ \t]*\[)(?=\s*[\"']).*(\][ \t\r\n]*)", re.DOTALL)
_NEXT_TEXT = pattern(r"([\"'])[ \t\r\n]*,[ \t\r\n]*\1")
#: the number by which a file names one line of a script, where each line is a setting
_NUMBERED = pattern(r"([\r\n])([ \t]*[\"']?\d{1,5}[\"']?[ \t]*[=:][ \t]*)")
_AROUND = str.maketrans({'"': " ", "'": " ", "\\": " "})
#: what stands before each text of a list behind dashes, from its second line on
_DASH = pattern(r"([\r\n])([ \t]*-[ \t]+)")
#: a remark behind such a text, and a list in brackets of texts without quotes
_BEHIND = pattern(r"(?<=[ \t])#[^\r\n]*")
_PLAIN_LIST = pattern(r"\[[^\[\]{}\"'\r\n]*\]")


def script_of(document: Document, setting: Setting) -> str:
    """The script in a setting's value."""
    return script_alone(document.data[setting.start : setting.end].decode("latin-1"), document.dialect)


def script_alone(text: str, dialect: str) -> str:
    """The text with line ends in place of written-out ones, and blanks in place of what belongs to the file
    around it, so that every character stays where it was."""
    remark = DIALECTS[dialect].remark
    if remark is not None:
        text = remark.sub(lambda found: re.sub(r"[^\r\n]", " ", found[0]), text)
    if dialect == "command":
        return text
    if dialect == "nested" and _DASH.search(text):
        text = _BEHIND.sub(lambda found: " " * len(found[0]), text)
        text = _DASH.sub(lambda found: found[1] + " " * len(found[2]), text)
    text = _NUMBERED.sub(lambda found: found[1] + " " * len(found[2]), text)
    if dialect == "nested" and _PLAIN_LIST.fullmatch(text):
        text = f" {text[1:-1]} ".replace(",", "\n")
    if listed := _LIST.fullmatch(text):
        text = " " * listed.end(1) + text[listed.end(1) : listed.start(2)] + " " * len(listed[2])
    for ending in (_NEXT_TEXT, _WRITTEN_END):
        text = ending.sub(lambda found: " " * (len(found[0]) - 1) + "\n", text)
    return text.translate(_AROUND)
