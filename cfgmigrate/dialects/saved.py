"""The block that a machine itself writes at the end of a sectioned file, behind comment markers.

Its settings override those of the body. It is recognised by its shape alone: it goes to the end of the
file; each of its lines starts with the same marker, a `#` or `;` perhaps with further signs; it opens with
lines that say that its content is saved, and that a machine did it or that it is not to be edited; and what
stands behind the markers reads as sections and settings, with nothing left over. Less than that is what a
person commented out, and is never read.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from cfgmigrate.dialects.grammar import tokens

#: So many lines that speak of saving are tried as the first of the block.
MOST_ANNOUNCEMENTS = 16
_LINE = re.compile(r"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+\Z")
_MARKER = re.compile(r"[#;][#;*!%=~<>|+\-]{0,3}")
_HEADER = re.compile(r"[ \t]*\[[^\[\]\r\n]+\][ \t]*[\r\n]*")
_SAVED = re.compile(r"sav(?:e|ed|ing)(?![a-z])|stored|written|generated", re.IGNORECASE)
_BY_MACHINE = re.compile(
    r"automatic|(?<![a-z])auto(?![a-z])|by the (?:machine|printer|controller|program|software)"
    r"|(?:do not|don't|never) (?:edit|change|touch)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class SavedBlock:
    """Where the block starts, and each line from its first section on: start, content behind the marker, end."""

    start: int
    lines: tuple[tuple[int, int, int], ...]


def find_saved_block(text: str, start: int, end: int) -> SavedBlock | None:
    """The machine-written block at the end of the blank and comment lines `start`..`end`, if there is one."""
    lines = [found.span() for found in _LINE.finditer(text, start, end)]
    announcing = [number for number, line in enumerate(lines) if _SAVED.search(text, *line)]
    blocks = (_block(text, lines[number:]) for number in announcing[:MOST_ANNOUNCEMENTS])
    return next((block for block in blocks if block), None)


def _block(text: str, lines: list[tuple[int, int]]) -> SavedBlock | None:
    """The block that these lines are, all of them, or None."""
    marker = _common_marker([text[start:end] for start, end in lines])
    if not marker:
        return None
    placed = [(start, _content(text, start, end, marker), end) for start, end in lines]
    header = next((n for n, line in enumerate(placed) if _HEADER.fullmatch(text, line[1], line[2])), None)
    if not header or not _BY_MACHINE.search(text, placed[0][0], placed[header][0]):
        return None
    body = placed[header:]
    kinds = {kind for kind, _ in tokens("sectioned", "".join(text[line[1] : line[2]] for line in body))}
    if "SETTING" not in kinds or "UNPLACED" in kinds:
        return None
    return SavedBlock(placed[0][0], tuple(body))


def _common_marker(lines: list[str]) -> str:
    """The marker that all lines but the blank ones start with, "" where they have none in common."""
    markers = {found[0] if (found := _MARKER.match(line)) else "" for line in lines if line.strip()}
    common = min(markers, key=len, default="")
    return common if all(marker.startswith(common) for marker in markers) else ""


def _content(text: str, start: int, end: int, marker: str) -> int:
    """Where the content of a line begins: behind the marker and one blank."""
    if not text.startswith(marker, start, end):
        return start
    behind = start + len(marker)
    return behind + 1 if text[behind:end].startswith((" ", "\t")) else behind
