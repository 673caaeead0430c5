"""A new file that a command writes where the user says: never over another one, whole or not at all, and one clear error
where it can't be.

Packets and what is kept in a history are not written here (`packet/`, `store/`).
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from cfgmigrate.ground.disk import put_new, remove
from cfgmigrate.ground.findings import Place, Refused


def refuse_taken(*places: Path | None) -> None:
    """Raises Refused where there is something at one of these places already, a link among them, or where two are one."""
    given = [place for place in places if place is not None]
    for place in given:
        if os.path.lexists(place):
            raise Refused("there is a file already", Place(str(place)), "Name another one, or move it away.")
        if [each.resolve() for each in given].count(place.resolve()) > 1:
            raise Refused("two files would have this name", Place(str(place)), "Name each its own.")


def write_new_text(place: Path, text: str, errors: str = "surrogateescape", folders: bool = False) -> None:
    """A text in UTF-8 at a place where nothing is, with its `folders` where these are to be made. Raises Refused where
    there is something by now, or where nothing can be written."""
    try:
        if folders:
            place.parent.mkdir(parents=True, exist_ok=True)
        put_new(place, text.encode("utf-8", errors))
    except FileExistsError:
        refuse_taken(place)
        raise Refused("there is no room for a file here", Place(str(place)), "Name another place.") from None
    except OSError as error:
        why = f"this can't be written: {error.strerror or error}"
        raise Refused(why, Place(str(place)), "Name another place.") from error


def write_new_texts(texts: Mapping[Path, str]) -> None:
    """Several texts that belong together, each where nothing is: all of them or none, and no folder that was made for them.

    Raises Refused."""
    made = [
        folder
        for place in texts
        for folder in (place.parent, *place.parent.parents)
        if not os.path.lexists(folder)
    ]
    written: list[Path] = []
    try:
        for place, text in texts.items():
            write_new_text(place, text, folders=True)
            written.append(place)
    except Refused:
        for place in written:
            with suppress(OSError):
                remove(place)
        for folder in sorted(set(made), key=lambda each: len(each.parts), reverse=True):
            with suppress(OSError):
                folder.rmdir()
        raise
