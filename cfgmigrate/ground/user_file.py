"""Bounded reading: the one place where a file's bytes are taken in.

What is no ordinary file (a device that never ends, a pipe that nobody writes to) or larger than its kind can be
is refused before it is read. A file that a person names (a sheet, a rule, a configuration) may be a link, because the
person chose the path; whoever looks into a folder that others can write asks for files that are no links. What
stands in the file is for its own reader to judge.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path

from cfgmigrate.ground.findings import BadInput, Place


class NotRead(Exception):
    """A file that can't or shall not be read: what is wrong with it, and what to do."""

    def __init__(self, what: str, remedy: str = "") -> None:
        super().__init__(what)
        self.what, self.remedy = what, remedy


def read_bounded(path: Path, longest: int, links: bool = True) -> bytes:
    """The bytes of an ordinary file of at most `longest` bytes, through links or not. Raises NotRead."""
    no_links = 0 if links else getattr(os, "O_NOFOLLOW", 0)
    try:
        # looked at first: on some systems opening a device does something already
        _judge(path.stat() if links else path.lstat(), longest)
        flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | no_links
        with os.fdopen(os.open(path, flags), "rb") as file:
            about = os.fstat(file.fileno())
            _judge(about, longest)
            # a buffer of the whole bound for each small file would fill the memory
            return file.read(min(about.st_size, longest) + 1)
    except ValueError:  # a zero byte, which no path has
        raise NotRead("can't be read: no file is called so", "Check its path.") from None
    except OSError as error:
        raise NotRead(
            f"can't be read: {error.strerror or error}", "Check its path and who may read it."
        ) from None


def _judge(about: os.stat_result, longest: int) -> None:
    if not stat.S_ISREG(about.st_mode):
        raise NotRead("is not an ordinary file", "Name a file of plain text.")
    if about.st_size > longest:
        raise NotRead(f"has {about.st_size} bytes, which are too many", "Is it the right file?")


def read_given(path: Path, what: str, longest: int, shown: str = "") -> bytes:
    """The bytes of a file that a person named; `what` names it in errors ("the swap sheet"), `shown` its place.

    Raises BadInput where it can't be read, is no ordinary file, or has more than `longest` bytes.
    """
    try:
        return read_bounded(path, longest)
    except NotRead as error:
        raise BadInput(f"{what} {error.what}", Place(shown or str(path)), error.remedy) from None
