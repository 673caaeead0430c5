"""The block that a machine itself writes at the end of a sectioned file, behind comment markers.

Its settings override those of the body. It is recognised by its shape alone: it goes to the end of the
file; each of its lines starts with the same marker, a `#` or `;` perhaps with further signs; what stands
behind the markers reads as sections and settings, with nothing left over; and two of three things are there:
lines before its first section that say that the content is saved, lines that say that a machine did it or
that it is not to be edited, and a marker with signs that no person comments out with. Less than that is
what a person commented out, and is never read; but what comes close is a doubt, since a value that a machine
keeps there would win over the one that is seen.
"""

from __future__ import annotations

import re

from msgspec import Struct

from cfgmigrate.dialects.grammar import tokens
from cfgmigrate.ground.pattern import pattern

#: So many lines that may be the first of the block are tried.
MOST_ANNOUNCEMENTS = 16
_LINE = pattern(r"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+\Z")
_MARKER = pattern(r"[#;][#;*!%=~<>|+\-@&^$?]{0,5}")
_COMPOUND = pattern(r"[#;]{1,3}[*!%=~<>|+\-@&^$?]")
_HEADER = pattern(r"[ \t]*\[[^\[\]\r\n]+\][ \t]*[\r\n]*")
_SAVED = pattern(r"sav(?:e|ed|ing)(?![a-z])|stored|written|generated", re.IGNORECASE)
_BY_MACHINE = pattern(
    r"automatic|(?<![a-z])auto(?![a-z])|by the (?:machine|printer|controller|board|program|software)"
    r"|(?:do not|don't|never) (?:edit|change|touch)",
    re.IGNORECASE,
)


class SavedBlock(Struct, frozen=True):
    """Where the block starts, and each line from its first section on: start, content behind the marker, end."""

    start: int
    lines: tuple[tuple[int, int, int], ...]


class NearlySaved(Struct, frozen=True):
    """Lines that come close to such a block: where the first of them starts and ends, and what it lacks."""

    start: int
    end: int
    why: str


def find_saved_block(text: str, start: int, end: int) -> SavedBlock | NearlySaved | None:
    """The machine-written block that the blank and comment lines `start`..`end` end with, or what comes close."""
    if text.find("[", start, end) < 0:
        return None
    lines = [found.span() for found in _LINE.finditer(text, start, end)]
    said = [number for number, line in enumerate(lines) if _says(text, *line)]
    marked = [number for number, line in enumerate(lines) if _COMPOUND.match(text, *line)]
    nearly = None
    for number in (*said[:MOST_ANNOUNCEMENTS], *marked[:MOST_ANNOUNCEMENTS]):
        found = _block(text, lines[number:])
        if isinstance(found, SavedBlock):
            return found
        nearly = nearly or found or _with_more_below(text, lines[number:])
    return nearly


def _says(text: str, start: int, end: int) -> bool:
    return bool(_SAVED.search(text, start, end) or _BY_MACHINE.search(text, start, end))


def _block(text: str, lines: list[tuple[int, int]]) -> SavedBlock | NearlySaved | None:
    """The block that these lines are, all of them; or what they lack; None where they are nothing like it."""
    marker = _common_marker([text[start:end] for start, end in lines])
    if not marker:
        return None
    placed = [(start, _content(text, start, end, marker), end) for start, end in lines]
    header = next((n for n, line in enumerate(placed) if _HEADER.fullmatch(text, line[1], line[2])), None)
    if header is None:
        return None
    saved = _SAVED.search(text, placed[0][0], placed[header][0])
    by_machine = _BY_MACHINE.search(text, placed[0][0], placed[header][0])
    compound = _COMPOUND.match(marker)
    body = placed[header:]
    kinds = [kind for kind, _ in tokens("sectioned", "".join(text[line[1] : line[2]] for line in body))]
    if "SETTING" not in kinds:
        return None
    enough = bool(saved) + bool(by_machine) + bool(compound) > 1
    if enough and "UNPLACED" not in kinds:
        return SavedBlock(placed[0][0], tuple(body))
    if "UNPLACED" in kinds:
        return (
            NearlySaved(*lines[0], "one of its lines is neither a section nor a setting") if enough else None
        )
    return NearlySaved(*lines[0], "nothing says that a machine saved it") if by_machine or compound else None


def _with_more_below(text: str, lines: list[tuple[int, int]]) -> NearlySaved | None:
    """What comes close to a block because lines with another marker stand below it."""
    found = _MARKER.match(text, *lines[0])
    marker = found[0] if found else ""
    upto = [n for n, line in enumerate(lines, 1) if marker and text.startswith(marker, *line)]
    if not upto or upto[-1] == len(lines) or not isinstance(_block(text, lines[: upto[-1]]), SavedBlock):
        return None
    return NearlySaved(*lines[0], f"lines that do not begin with {marker} stand below it")


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
