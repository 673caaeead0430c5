"""Standard output that takes every text: into any pipe, in any encoding, also one that is closed.

A letter that the encoding doesn't have is written in letters that it has: an arrow as ->, a minus sign as -, what has no
such likeness as its code. Nothing is left out and nothing raises.
"""

from __future__ import annotations

import codecs
import io
import os
import sys

NAME = "cfgmigrate.plain"
LIKENESSES = {
    "→": "->", "←": "<-", "−": "-", "–": "-", "—": "-", "±": "+-", "·": "*", "×": "x", "…": "...", "─": "-", "≤": "<=",
    "≥": ">=", "≈": "~", "²": "^2", "³": "^3", "°": " deg ", "µ": "u", "Ω": "ohm", "√": "sqrt", "π": "pi", "†": "(+)",
    "∞": "inf", "’": "'", "“": '"', "”": '"', "⁰": "^0", "¹": "^1", "⁴": "^4", "⁵": "^5", "⁶": "^6", "⁷": "^7",
    "⁸": "^8", "⁹": "^9", "⁻": "^-",
}  # fmt: skip


def _likeness(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    letters = error.object[error.start : error.end]
    return "".join(LIKENESSES.get(letter, ascii(letter)[1:-1]) for letter in letters), error.end


def take_every_text() -> None:
    """From now on standard output and standard error raise for no letter."""
    codecs.register_error(NAME, _likeness)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=NAME)


class _Found:
    """The answer of the command that runs, before all of it is printed."""

    status = 0


def answers(status: int) -> int:
    """Keeps the exit status that is a command's answer: that nobody reads on does not change it."""
    _Found.status = status
    return status


def answered() -> int:
    """The answer so far; 0 where there is none."""
    return _Found.status


def flush() -> None:
    """Write out what waits. Raises BrokenPipeError where nobody reads any more."""
    sys.stdout.flush()


def let_go() -> None:
    """Nobody reads standard output any more: what the interpreter still writes to it at its end goes nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
