"""Settings below a line that looks like the head of a section and is none in the file's dialect: `<mill>`, `{mill}`, `== mill ==`.

A person's own signs around a name begin a new part of the machine for them. Read as if the line were not there, what stands
below is taken for the part above, and a motor gets another one's current. So whatever was read below such a line, up to the
next section, is a question.

This module deliberately reads no such line as a section: what the machine makes of it is not known.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line

#: dialects of a setting a line
_LINES = ("sectioned", "flat")
_HEAD = pattern(r"\s*[<({\[*=~|/\\>+-]{1,20}[ \t]*(\w[\w .-]{0,40}?)[ \t]*[>)}\]*=~|/\\<+:-]{0,20}\s*")


def ask_below_strange_lines(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Turns readings below such lines into questions, but for those that a person named, and protected ones."""
    heads = {document.path: _heads(document) for document in documents if document.dialect in _LINES}
    by_path = {document.path: document for document in documents}
    if not any(heads.values()):
        return
    kept: list[Collected] = []
    for each in found.readings:
        file, setting = each.reading.place.file, each.reading.setting
        head = _above(heads.get(file, []), each.reading.start)
        named = names is not None and names.find(by_path[file], setting)
        if not head or named or quantity(each.reading.quantity).protected:
            kept.append(each)
        else:
            found.doubts.append(_asked(head, each))
    found.readings[:] = kept


def _heads(document: Document) -> list[tuple[int, str]]:
    """Where such lines end, each with its text; and where a section begins again, with none."""
    found = []
    for piece in document.pieces:
        if piece.kind == "unplaced":
            text = document.slice(piece.start, piece.end)
            if _HEAD.fullmatch(text):
                found.append((piece.end, text.strip()))
        elif piece.kind in ("header", "title"):
            found.append((piece.end, ""))
    return found if any(text for _, text in found) else []


def _above(heads: Sequence[tuple[int, str]], at: int) -> str:
    before = bisect_right(heads, at, key=lambda each: each[0])
    return heads[before - 1][1] if before else ""


def _asked(head: str, each: Collected) -> Doubt:
    reading = each.reading
    why = f"this would be {quantity(reading.quantity).label}, but it stands below `{head}`, which may begin another part; nothing was taken from it"
    remedy = f"if it is that, say so in cfgmigrate.yaml, under meanings: {name_line(reading.setting, reading.quantity)}; if not: ignore"
    return Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
