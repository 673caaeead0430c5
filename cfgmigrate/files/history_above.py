"""Whether a history in a folder above counts for a folder: whether it tells of any file in there.

A machine whose files lie in several folders has its history in the one above them all, and other machines may lie in there too. For
those it does not count. Who asks wants to know where a configuration begins, so nothing is believed that would part a
folder from its history: one that can't be read, that waits for an interrupted change to be finished, that does not say which
files it read or changed, or of which a file is no longer where it was, counts for every folder below it.

This module deliberately judges no entry: what a history is worth is told in `store/`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.paths import HISTORY, JOURNAL, KEPT, OWN_FOLDER, read_ordinary, same_name


def counts_for(folder: Path, above: Path) -> bool:
    """Whether the history at `above` may tell of a file in `folder`, which lies below it. Both are without links."""
    own = above / OWN_FOLDER
    try:
        if (own / JOURNAL).exists():
            return True
        entries = list(_entries(own))
        told = {path for entry in entries for path in _paths(entry)}
        edited = {file["path"] for entry in entries for file in entry["files"]}
        if not edited:
            return True
        inside = f"{same_name(folder.as_posix())}/"
        places = {place for path in told for place in (above / path, (above / path).resolve())}
        return any(same_name(place.as_posix()).startswith(inside) for place in places) or not all(
            (above / path).exists() for path in edited
        )
    except (CfgError, OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError, RuntimeError):
        return True


def _entries(own: Path) -> Iterator[Mapping[str, Any]]:
    """All entries of a history, as they are written."""
    first, *lines = _lines(own / HISTORY)
    for bundle in json.loads(first).get("bundles", ()):
        yield from map(json.loads, _lines(own / KEPT / bundle))
    yield from map(json.loads, lines)


def _paths(entry: Mapping[str, Any]) -> Iterator[str]:
    """The files that a step changed, and those that were read for it. Raises KeyError where it does not say them."""
    yield from (file["path"] for file in entry["files"])
    if entry["kind"] in ("install", "tune"):
        yield from entry["reasons"]["inputs"]


def _lines(file: Path) -> list[str]:
    return read_ordinary(file, file.name).decode().splitlines()
