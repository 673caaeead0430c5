"""One writer at a time in a folder, so that what is compared just before it is written is what is written over.

Several windows, terminals and people may answer at one moment. Who comes second waits, and then finds what the first one
wrote. The system lets go of a folder when a program ends, however it ends, so nothing stays locked.

This module deliberately keeps no file of its own in a person's folder. Where the system can't lock a folder (Windows, some
network file systems) it does nothing, and the comparison before each writing is all there is.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


@contextmanager
def one_at_a_time(folder: Path) -> Iterator[None]:
    """Nobody else who asks for the same folder goes on until this is left. Not to be taken twice by one caller."""
    if sys.platform == "win32":
        yield
        return
    import fcntl

    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        yield  # what can't be opened can't be written in either, and that is told there
        return
    try:
        with suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)
