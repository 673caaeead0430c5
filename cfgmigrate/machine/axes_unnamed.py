"""Ends of axes that the files call by words of their own: `across_lowest`, `along_highest`.

Such a line says of itself that it is the end of an axis, and only which one is not told. Left unread it would keep a limit
that the swap may change, in silence. So it is asked: a word that says nothing by itself may be explained once, as x, y
or z, for all names that have it; of any other word each line is asked about by itself.

Nothing is read by this.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.files.axes_in_words import axes_in_words
from cfgmigrate.files.marks import words_of
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary

#: words that say nothing by themselves, and name an axis in many homes
ACROSS = frozenset(("across", "along"))
_ENDS = {"minimum": "min", "lowest": "min", "maximum": "max", "highest": "max", "farthest": "max"}
#: what the end of an axis may be called besides
_PLAIN = frozenset(
    ("end", "limit", "limits", "travel", "reach", "place", "spot", "position", "axis", "at", "the")
)
#: of so many lines at most each is asked about by itself
MOST_ASKED = 6
WHICH = "this is the end of an axis by its words, and which of x, y and z"


def axes_unnamed(documents: Sequence[Document], unread: Iterable[Unread]) -> Iterator[Doubt]:
    """A doubt for each word that names an axis so, with the lines, and for each such line of another word."""
    own = {document.path: {name for name, _ in axes_in_words(document)} for document in documents}
    several: dict[str, list[Unread]] = {}
    alone: list[tuple[Unread, str]] = []
    for each in unread:
        word, end = _end_of(each, own.get(each.place.file, set()))
        if not word:
            continue
        if word in ACROSS:
            several.setdefault(word, []).append(each)
        else:
            alone.append((each, end))
    for word, lines in several.items():
        first = lines[0]
        others = [f"{each.place.file}:{each.place.line}" for each in lines[1:MOST_ASKED]]
        also = f"; so is {', '.join(others)}" if others else ""
        remedy = f"say it in cfgmigrate.yaml, under words: {{{word}: x}}, or y, or z"
        yield Doubt(first.place, first.text, f"{WHICH} `{word}` is the files do not say{also}", remedy)
    for each, end in alone[:MOST_ASKED]:
        offered = ", or ".join(name_line(each.setting, f"axis.{axis}.{end}") for axis in "xyz")
        remedy = f"say it in cfgmigrate.yaml, under meanings: {offered}"
        yield Doubt(each.place, each.text, f"{WHICH} that is the files do not say", remedy)


def _end_of(each: Unread, axes: set[str]) -> tuple[str, str]:
    """The word by which a line names an axis, and which end of it the line is; "" twice for any other line."""
    if each.setting.state is not State.ACTIVE or not isinstance(read_value(each.setting.value), Number):
        return "", ""
    words = words_of(each.setting.name)
    word = next((word for word in words if word in ACROSS or word in axes), "")
    head = tuple(word.split()) or next(
        (named for axis in axes if words[: len(named := tuple(axis.split()))] == named), ()
    )
    if not head:
        return "", ""
    rest = [other for other in words if other not in head]
    ends = {
        _ENDS[name] for other in rest for name in vocabulary().names_in(frozenset((other,))) & _ENDS.keys()
    }
    strange = [
        other
        for other in rest
        if other not in _PLAIN and vocabulary().names_in(frozenset((other,))).isdisjoint(_ENDS)
    ]
    return (" ".join(head), ends.pop()) if len(ends) == 1 and not strange else ("", "")
