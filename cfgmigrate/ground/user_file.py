"""Files that a person names beside the configuration: sheets, names, rules, records of a review.

Each is small and plain. What is no ordinary file (a device that never ends, a pipe that nobody writes to)
or larger than its kind can be is refused before it is read; links are followed, because the person chose
the path. What stands in the file is for its own reader to judge.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path

from cfgmigrate.ground.findings import BadInput, Place


def read_given(path: Path, what: str, longest: int) -> bytes:
    """The bytes of the file; `what` names it in errors ("the swap sheet").

    Raises BadInput where it can't be read, is no ordinary file, or has more than `longest` bytes.
    """
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as file:
            about = os.fstat(file.fileno())
            if not stat.S_ISREG(about.st_mode):
                raise BadInput(f"{what} is no ordinary file", Place(str(path)), "Name a file of plain text.")
            if about.st_size > longest:
                raise BadInput(
                    f"{about.st_size} bytes are too many for {what}",
                    Place(str(path)),
                    "Is it the right file?",
                )
            return file.read(longest + 1)
    except OSError as error:
        reason = error.strerror or str(error)
        raise BadInput(f"{what} can't be read: {reason}", Place(str(path)), "Check its path.") from None
