"""Which lines of one text are which lines of another.

The answer is a list of opcodes as difflib has them: (tag, i1, i2, j1, j2), where lines i1..i2 of the old
text became lines j1..j2 of the new one. Equal ends are cut off before anything is compared, and where a
few lines were edited and none added, line is held against line: that is what edits of values look like,
and it stays cheap for long files. For the rest, difflib decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from difflib import SequenceMatcher
from itertools import groupby

Opcode = tuple[str, int, int, int, int]


def align(old: Sequence[bytes], new: Sequence[bytes]) -> list[Opcode]:
    """The opcodes from `old` to `new`, in order and without empty ones."""
    shorter = min(len(old), len(new))
    head = next((i for i in range(shorter) if old[i] != new[i]), shorter)
    tail = next((i for i in range(shorter - head) if old[-1 - i] != new[-1 - i]), shorter - head)
    left, right = old[head : len(old) - tail], new[head : len(new) - tail]
    middle: list[Opcode] = _pairwise(left, right) or [*SequenceMatcher(None, left, right).get_opcodes()]
    codes: list[Opcode] = [
        ("equal", 0, head, 0, head),
        *((tag, i1 + head, i2 + head, j1 + head, j2 + head) for tag, i1, i2, j1, j2 in middle),
        ("equal", len(old) - tail, len(old), len(new) - tail, len(new)),
    ]
    return [code for code in codes if code[1] < code[2] or code[3] < code[4]]


def _pairwise(old: Sequence[bytes], new: Sequence[bytes]) -> list[Opcode]:
    """Line against line, where at most a quarter of them differ; else nothing."""
    if len(old) != len(new):
        return []
    same = [one == other for one, other in zip(old, new, strict=True)]
    if same.count(False) * 4 > len(old) + 4:
        return []
    codes: list[Opcode] = []
    reached = 0
    for equal, run in groupby(same):
        end = reached + len(list(run))
        codes.append(("equal" if equal else "replace", reached, end, reached, end))
        reached = end
    return codes
