"""What the program is at, for an edge that wants to tell: no more than a name that is set while a stage runs.

Whoever works says `with stage("reading frame.conf"):`. Whether and where that is shown is decided at the command
line; in a script nothing is shown. A stage within another takes its place until it ends.

This module prints nothing and knows no terminal.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stage:
    """What runs, and since when (`time.monotonic`, s)."""

    name: str
    since: float


_running: list[Stage] = []
_at_the_end: list[Callable[[], None]] = []


@contextmanager
def stage(name: str) -> Iterator[None]:
    """Say what runs, until the block ends."""
    since = _running[0].since if _running else time.monotonic()
    _running.append(Stage(name, since))
    try:
        yield
    finally:
        _running.pop()
        if not _running:
            for each in _at_the_end:
                each()


def now() -> Stage | None:
    """The innermost stage that runs, since the outermost began; None where none does."""
    return _running[-1] if _running else None


@contextmanager
def called_at_the_end(function: Callable[[], None]) -> Iterator[None]:
    """While the block runs, call this once the outermost stage ends, before anything else is done."""
    _at_the_end.append(function)
    try:
        yield
    finally:
        _at_the_end.remove(function)
