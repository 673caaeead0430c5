"""What every function of the API takes: one path or several, and which dialect a file is in.

This module reads nothing: it only puts what was given into one form.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

PathLike = str | Path
Paths = PathLike | Sequence[PathLike]
"""One file or folder, or several."""
Dialects = Mapping[str, str] | None
"""A file's path, or "*" for all files, and the dialect it is in, where that is not to be found out."""


def listed(paths: Paths) -> list[Path]:
    """One path or several as a list: a single text is a path, never a list of its letters."""
    return [Path(paths)] if isinstance(paths, str | Path) else [Path(path) for path in paths]


def optional(path: PathLike | None) -> Path | None:
    """A path that may be missing."""
    return None if path is None else Path(path)


def within(paths: Sequence[Path], files: Sequence[Path]) -> list[Path]:
    """Those of some files that are among these paths, or below them."""
    places = [path.resolve() for path in paths]
    return [file for file in files if any(file.resolve().is_relative_to(place) for place in places)]
