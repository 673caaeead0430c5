"""JSON that the commands print calls quantities by the ids that it called them by from the first release on.

Scripts of others rest on these ids, so they outlive a better name on the screens (`formerly` in quantities.yaml). What
a person or a script types may be either. Packets and histories keep what their own release wrote into them: this is
about what is printed, and changes no text of a user's.
"""

from __future__ import annotations

from typing import Any

from cfgmigrate.machine.quantities import first_id

#: fields whose value is an id, or a list of ids
_OF_IDS = frozenset({"quantity", "quantities", "id", "rule", "rests_on", "depends", "installed"})
#: fields with rows that begin with an id
_OF_ROWS = frozenset({"values", "spans"})


def with_first_ids(data: Any, field: str = "") -> Any:
    """A JSON document with every quantity by its first id. The same where none was ever called otherwise."""
    if isinstance(data, dict):
        keys = map(_first, data) if field == "quantities" else data
        return {
            key: with_first_ids(value, name) for key, (name, value) in zip(keys, data.items(), strict=True)
        }
    if isinstance(data, list | tuple):
        if field in _OF_ROWS:
            return [_row(each) for each in data]
        return [with_first_ids(each, field) for each in data]
    return _first(data) if field in _OF_IDS and isinstance(data, str) else data


def _row(row: Any) -> Any:
    if isinstance(row, list | tuple) and row and isinstance(row[0], str):
        return [_first(row[0]), *row[1:]]
    return with_first_ids(row)


def _first(name: str) -> str:
    """An id, with whatever says whose it is."""
    what, at, holder = name.partition(" @ ")
    return first_id(what) + at + holder
