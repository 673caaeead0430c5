"""A history with every name as it is called now, so that one made by an earlier release can be held against
what this one works out.

Only what is compared is renamed: the names of values, and the fields of the sheet that moved them. The history itself
stays as it was written, word for word; this is a copy to think with.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from msgspec.structs import replace

from cfgmigrate.ground.later import Later
from cfgmigrate.rules.former_names import present_name
from cfgmigrate.store.entries import HistoryEntry
from cfgmigrate.store.history import History

#: a history has the same few names again and again
_present = lru_cache(maxsize=4096)(present_name)


def in_present_words(past: History) -> History:
    """The history, its values and the fields in its reasons by their names of now."""
    same: set[str] = set()
    return replace(past, entries=tuple(_entry(entry, same) for entry in past.entries))


def _entry(entry: HistoryEntry, same: set[str]) -> HistoryEntry:
    """An entry in the words of now; `same` are names that are called so still, as far as that was looked up."""
    reasons = entry.reasons
    if reasons is not None:
        entry = replace(entry, reasons=Later(lambda: _reasons(reasons)))
    names = {name for name, _, _ in entry.values}
    names.update(span.name for file in entry.files for span in file.spans)
    same.update(name for name in names - same if _present(name) == name)
    if names <= same:
        return entry
    files = tuple(
        replace(file, spans=tuple(replace(span, name=_present(span.name)) for span in file.spans))
        for file in entry.files
    )
    values = tuple((_present(name), old, new) for name, old, new in entry.values)
    return replace(entry, files=files, values=values)


def _reasons(reasons: Mapping[str, Any]) -> dict[str, Any]:
    found = dict(reasons)
    if "said" in found:
        found["said"] = _fields(found["said"])
    if "changes" in found:
        found["changes"] = [_change(change) for change in found["changes"]]
    if held := found.get("held"):
        why = {_present(str(name)): text for name, text in held.get("why", {}).items()}
        found["held"] = {**held, "why": why, "files": [_file(file) for file in held.get("files", ())]}
    return found


def _change(change: Mapping[str, Any]) -> dict[str, Any]:
    named = {key: _present(str(change[key])) for key in ("id", "quantity") if key in change}
    cause = {"cause": _fields(change["cause"])} if "cause" in change else {}
    return {**change, **named, **cause}


def _fields(pairs: Any) -> list[list[str]]:
    return [[_present(str(path)), str(text)] for path, text in pairs]


def _file(file: Mapping[str, Any]) -> dict[str, Any]:
    return {**file, "spans": [[_present(str(name)), *places] for name, *places in file.get("spans", ())]}
