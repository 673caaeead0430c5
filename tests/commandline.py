"""One command line, run in this process as the installed command runs it: what tests of commands share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Said:
    """What one command line gave."""

    status: int
    out: str
    err: str


Runner = Callable[..., Said]
