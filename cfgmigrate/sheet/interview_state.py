"""What an interview notes in its sheet beside the answers, each in a comment line: what nobody knows, what was put off,
what was asked, which questions about the files were left open, and the feeders whose swap is told.

A line is such a note only where all of it can be read as one. Any other comment that begins alike ("# later: ask for the
drawing") is a person's own remark, and stays where it is.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.sheet.schema import sheet_schema

_LISTS = {"not known": "declined", "later": "later", "asked": "asked"}
_LEFT, _FEEDERS = "left open in the files", "feeders swapped"
_LINE = pattern(rf"^# ({'|'.join((*_LISTS, _LEFT, _FEEDERS))}): (.*)$\n?", re.MULTILINE)
_FEEDER_LIST = pattern(r"[0-9]{1,2}(?:, [0-9]{1,2})*")
_NAME = pattern(r"([0-9]{1,2}:)?([^:]+)")


class InterviewState(Struct, frozen=True):
    """The notes of a sheet. `declined`, `later` and `asked` are fields, `left` questions about the files."""

    declined: tuple[str, ...] = ()
    later: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    feeders: tuple[int, ...] = ()


def state_in(text: str) -> InterviewState:
    """The notes in a sheet's text."""
    found: dict[str, tuple[Any, ...]] = {}
    for kind, said in _LINE.findall(text):
        field = _LISTS.get(kind) or ("left" if kind == _LEFT else "feeders")
        found[field] = tuple(dict.fromkeys((*found.get(field, ()), *(_read(kind, said) or ()))))
    return InterviewState(**found)


def without_state(text: str) -> str:
    """A sheet's text without its notes; remarks of a person stay."""
    return _LINE.sub(lambda line: "" if _read(line[1], line[2]) else line[0], text)


def state_lines(state: InterviewState) -> str:
    """The notes as they stand in a sheet."""
    lists = {kind: getattr(state, field) for kind, field in _LISTS.items()}
    lines = [f"# {kind}: {', '.join(names)}\n" for kind, names in lists.items() if names]
    lines += [f"# {_LEFT}: {json.dumps(state.left)}\n"] if state.left else []
    lines += [f"# {_FEEDERS}: {', '.join(map(str, state.feeders))}\n"] if state.feeders else []
    return "".join(lines)


def _read(kind: str, said: str) -> tuple[Any, ...] | None:
    """What a line notes; None where it is no note."""
    said = said.strip()
    if kind == _LEFT:
        return _strings(said)
    if kind == _FEEDERS:
        return tuple(map(int, said.split(", "))) if _FEEDER_LIST.fullmatch(said) else None
    names = tuple(_fields(said))
    return None if None in names else names


def _fields(said: str) -> Iterator[str | None]:
    """The fields of a line, each by the name that it has now, None for what is none."""
    schema = sheet_schema()
    for each in said.split(", "):
        named = _NAME.fullmatch(each)
        path = schema.formerly.get(named[2], named[2]) if named else ""
        yield (named[1] or "") + path if named and path in schema.fields else None


def _strings(said: str) -> tuple[str, ...] | None:
    """The strings of a JSON list; names of questions may hold any sign."""
    try:
        names = json.loads(said)
    except (ValueError, RecursionError):
        return None
    fits = isinstance(names, list) and all(isinstance(name, str) for name in names)
    return tuple(names) if fits else None
