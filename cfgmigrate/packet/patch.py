r"""Standard unified diffs of bytes, so that a machine without this program can go forward or back.

The format is the one that POSIX describes for `diff -u`, with the header lines that version control adds
for new, removed and oddly named files. Lines end at LF only: CRLF and a lone CR are bytes of the line. A
last line without LF is followed by "\ No newline at end of file". Names with quotes, backslashes, control
characters or bytes outside ASCII are written in double quotes with C escapes.

This module deliberately knows no packet: it takes two byte strings and a name.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from itertools import chain
from typing import Any

from cfgmigrate.packet.align import Opcode, align

PATCH_CONTEXT = 3
_NO_NEWLINE = b"\n\\ No newline at end of file\n"
#: an empty file has no lines to show; version control names its content instead (abbreviated SHA-1)
_EMPTY_MADE, _EMPTY_REMOVED = b"index 0000000..e69de29\n", b"index e69de29..0000000\n"
_ESCAPES = {7: b"a", 8: b"b", 9: b"t", 10: b"n", 11: b"v", 12: b"f", 13: b"r", 34: b'"', 92: b"\\"}


def unified(old: bytes | None, new: bytes | None, path: str) -> bytes:
    """The unified diff from `old` to `new`; empty where they are the same.

    None stands for a file that is not there: the diff then makes or removes it.
    """
    if old == new:
        return b""
    before, after = _name("a/", path), _name("b/", path)
    head = [b"diff --git " + before + b" " + after + b"\n"]
    if old is None:
        head.append(b"new file mode 100644\n")
    if new is None:
        head.append(b"deleted file mode 100644\n")
    hunks = list(_hunks(_lines(old or b""), _lines(new or b"")))
    if not hunks:
        head.append(_EMPTY_MADE if old is None else _EMPTY_REMOVED)
    else:
        head.append(b"--- " + (_ended(before) if old is not None else b"/dev/null") + b"\n")
        head.append(b"+++ " + (_ended(after) if new is not None else b"/dev/null") + b"\n")
    return b"".join(chain(head, hunks))


def patch_of(old: Mapping[str, bytes], new: Mapping[str, bytes]) -> bytes:
    """One patch over several files; a file missing on one side is made or removed."""
    return b"".join(unified(old.get(path), new.get(path), path) for path in sorted({*old, *new}))


def _lines(data: bytes) -> list[bytes]:
    """Lines with their LF; other line ends are part of the line."""
    lines = data.split(b"\n")
    last = lines.pop()
    return [line + b"\n" for line in lines] + ([last] if last else [])


def _hunks(old: Sequence[bytes], new: Sequence[bytes]) -> Iterator[bytes]:
    for group in _Known(align(old, new)).get_grouped_opcodes(PATCH_CONTEXT):
        first, last = group[0], group[-1]
        yield b"@@ -%s +%s @@\n" % (_range(first[1], last[2]), _range(first[3], last[4]))
        for tag, i1, i2, j1, j2 in group:
            if tag == "equal":
                yield from (_line(b" ", line) for line in old[i1:i2])
                continue
            yield from (_line(b"-", line) for line in old[i1:i2])
            yield from (_line(b"+", line) for line in new[j1:j2])


class _Known(SequenceMatcher[bytes]):
    """An alignment that is known already, for difflib to group."""

    def __init__(self, opcodes: list[Opcode]) -> None:
        super().__init__(a=[], b=[])
        self._opcodes = opcodes

    def get_opcodes(self) -> list[Any]:
        return self._opcodes


def _range(start: int, stop: int) -> bytes:
    """A range as the header counts it: from 1, and an empty one stands after the line before it."""
    length = stop - start
    if length == 1:
        return b"%d" % (start + 1)
    return b"%d,%d" % (start + 1 if length else start, length)


def _line(sign: bytes, line: bytes) -> bytes:
    return sign + line if line.endswith(b"\n") else sign + line + _NO_NEWLINE


def _name(side: str, path: str) -> bytes:
    raw = os.fsencode(side + path)
    if all(32 <= byte < 127 and byte not in b'"\\' for byte in raw) and not raw.endswith(b" "):
        return raw
    return b'"' + b"".join(_escaped(byte) for byte in raw) + b'"'


def _escaped(byte: int) -> bytes:
    if byte in _ESCAPES:
        return b"\\" + _ESCAPES[byte]
    return bytes([byte]) if 32 <= byte < 127 else b"\\%03o" % byte


def _ended(name: bytes) -> bytes:
    """A name with blanks is ended by a tab, so that no reader takes its last word for a date."""
    return name + b"\t" if b" " in name and not name.startswith(b'"') else name
