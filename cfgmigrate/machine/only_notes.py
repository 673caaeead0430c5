"""A setting beside a remark that says that nothing reads it: `steps in a mm = 91.4 ; only a note, the board keeps its own`.

Somebody keeps a number there to remember it. Another one written in its place changes nothing at the machine, and what it was
taken for would count as set. So such a number is not taken: it is a question, unless the user named its key. The remark stands
behind the number, or by itself on the line above.

What is protected is never written, and stays as it is read. That a screw sets a current is the matter of `screw_currents.py`.
"""

from __future__ import annotations

from collections.abc import Sequence

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.remark_marks import LINE_OR_BLOCK_MARK, remark_behind
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collection, line_of
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line

_READS = r"(?:reads?|uses?|looks? at|obeys?|cares? (?:about|for)|takes? notice of|heeds?)"
_THIS = r"(?:this|it|that|these|them|(?:the|this|that) (?:line|number|value|setting))"
#: what a remark says of a line that nothing reads, in small letters
_UNREAD = pattern(
    rb"(?:does not|doesn.?t|do not|don.?t|never|can ?not|can.?t|won.?t|will not) " + f"(?:even )?{_READS} {_THIS}".encode() + rb"\b(?! (?:as|if|when|while|until|before|after|for|on|with|in)\b)"
    rb"|\b(?:nothing|nobody|no one|no part|no board) (?:ever )?(?:reads|uses|looks at|obeys|heeds)\b"
    rb"|\b(?:it is |it's |this is )?(?:only|just|merely|purely) (?:as |meant as )?(?:a (?:note|reminder|memo)|for (?:me|my (?:notes|memory|records?)|the record|information|people))\b"
    rb"|\bso that (?:i|we) (?:can )?(?:remember|know|don.?t forget)\b"
    rb"|\b(?:(?:is|are|gets?) not|isn.?t|never|not) (?:even )?read (?:by|at all|from here)\b"
    rb"|\b(?:has|with|have) no effect\b(?! (?:on|if|when|while|until|before|after|with|in)\b)|\bnote (?:to self|only)\b"
)  # fmt: skip
#: one of these stands in all that says so
_HINTS = (
    b"read", b"use ", b"uses ", b"look", b"obey", b"care", b"notice", b"heed", b"note", b"reminder", b"memo", b"for me", b"for my",
    b"for the record", b"for information", b"for people", b"so that ", b"no effect",
)  # fmt: skip
_ABOVE = pattern(rf"(?:^|\n)[ \t]*{LINE_OR_BLOCK_MARK}([^\r\n]*)\r?\n\Z".encode())


def ask_of_notes(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Turns what is read of lines into questions where a remark says that nothing reads them."""
    by_path = {each.path: each for each in documents if _says_so(each.data)}
    if not by_path:
        return
    for each in tuple(found.readings):
        reading = each.reading
        document = by_path.get(reading.place.file)
        if document is None or reading.value is None or quantity(reading.quantity).protected:
            continue
        if not _is_a_note(document, reading.setting) or (names and names.find(document, reading.setting)):
            continue
        at = reading.place, reading.quantity
        found.doubts[:] = [doubt for doubt in found.doubts if (doubt.place, doubt.about) != at]
        remedy = (
            "set it where the machine takes it from, and say in the sheet how; if the machine does read this line, say in "
            f"cfgmigrate.yaml, under meanings: {name_line(reading.setting, reading.quantity)}"
        )
        why = "its remark says that nothing reads this line; then the number is only a note, and nothing follows it"
        found.doubts.append(
            Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
        )
        found.readings.remove(each)


def _says_so(data: bytes) -> bool:
    small = data.lower()
    return any(hint in small for hint in _HINTS) and _UNREAD.search(small) is not None


def _is_a_note(document: Document, setting: Setting) -> bool:
    line = document.data.rfind(b"\n", 0, setting.start) + 1
    above = _ABOVE.search(document.data[max(0, line - 300) : line])
    remarks = (remark_behind(document, setting), above[1] if above else b"")
    return any(_UNREAD.search(remark.lower()) for remark in remarks)
