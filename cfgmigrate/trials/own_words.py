"""Whether a machine has words of its own for what a test script does beside moving: heat, find its ends, count feed from where
it is.

A script is written in words that most machines take (`writer.py`). Where several lines of a machine's files begin with codes
of its maker's or owner's own, and none heats or finds the ends by the usual words, it may know these as something else or
not at all: it would print cold, or move from the wrong place. Then nothing is written until a person says that it knows them.

This module deliberately does not translate: what a machine's own word does exactly stands in no file.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.pattern import pattern

#: so many lines begin with codes of its own where these are a machine's manner of speaking
FEWEST_LINES_ALIKE = 3
_OWN_CODE = pattern(r"^[ \t]*([A-FH-LO-SU-W]\d+)(?=[ \t]+[A-Z\"])", 8)
_USUAL = pattern(r"\b(?:M10[49]|M140|M190|G28)\b")


def refuse_where_words_are_its_own(documents: Iterable[Document]) -> None:
    """Raises Refused with one of the machine's own codes where it may not know the words of a script."""
    own: list[str] = []
    for document in documents:
        text = document.data.decode("latin-1")
        if _USUAL.search(text):
            return
        own += _OWN_CODE.findall(text) if document.dialect == "command" else ()
    if len(own) < FEWEST_LINES_ALIKE:
        return
    raise Refused(
        f"the machine's files have codes of their own, such as {own[-1]}, and none of M104, M109, M140, M190 and G28, in which"
        " this script would heat and find the ends",
        Place("trial"),
        "Nothing was written. If your machine knows those words too, say --usual-words; else print the test by hand, in its own.",
    )
