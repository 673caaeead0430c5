"""The folders below one that have a history of their own.

Who names a folder of several machines asks about none of them: each has its own history in its own folder. That nothing was
installed there would be a wrong answer, so the folders are told in its place.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from cfgmigrate.files.pattern import is_packet
from cfgmigrate.ground.paths import HISTORY, OWN_FOLDER

#: so many files and folders are looked at
MOST_LOOKED_AT = 20_000


def histories_below(folder: Path) -> tuple[str, ...]:
    """The folders below, relative and in order; none where the folder itself has one, or had one begun."""
    return () if (folder / OWN_FOLDER).is_dir() else tuple(_found(folder))


def _found(folder: Path) -> Iterator[str]:
    looked = 0
    for place, folders, files in os.walk(folder):
        inside = Path(place)
        looked += len(folders) + len(files)
        if looked > MOST_LOOKED_AT:
            return
        if inside != folder and _has_one(inside):
            yield inside.relative_to(folder).as_posix()
        folders[:] = sorted(
            name for name in folders if not name.startswith(".") and not is_packet(inside / name)
        )


def _has_one(folder: Path) -> bool:
    try:
        return (folder / OWN_FOLDER / HISTORY).exists()
    except OSError:  # nobody here may look
        return False
