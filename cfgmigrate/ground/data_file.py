"""Reading the data files that stand beside this package, with the checks that every one of them needs.

A data file is a YAML mapping whose allowed fields are said here by its reader. What is wrong in one is a
`BadInput` that names the file and the entry. Entries with `@` in their id stand for several, one for each
word in `each`; `expand` makes them.

This module deliberately knows nothing of what the fields mean.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.positioned_yaml import read_data


def load(path: Path, fields: Mapping[str, type]) -> dict[str, Any]:
    """The mapping in a data file, whose top-level `fields` are all there and of their type.

    Raises BadInput where the file is no such mapping.
    """
    name, root = path.name, read_data(path)
    data = root.plain()
    if not isinstance(data, dict):
        raise BadInput("must be a mapping", Place(name))
    for field, kind in fields.items():
        if not isinstance(data.get(field), kind):
            raise BadInput(f"`{field}` is missing or not a {kind.__name__}", Place(name))
    unknown = set(data) - set(fields)
    if unknown:
        raise BadInput(f"there is no field `{sorted(unknown)[0]}` here", Place(name))
    return data


def check_fields(name: str, entry: str, data: object, allowed: frozenset[str]) -> dict[str, Any]:
    """`data` as a mapping with no other than the `allowed` fields. Raises BadInput."""
    if not isinstance(data, dict):
        raise BadInput(f"`{entry}` must be a mapping", Place(name))
    unknown = set(data) - allowed
    if unknown:
        raise BadInput(f"`{entry}` has a field `{sorted(unknown)[0]}` that there is not", Place(name))
    return data


def expand(entry: str, each: list[str] | None) -> Iterator[tuple[str, str]]:
    """The ids an entry stands for, each with what its `@` is ("" where there is none)."""
    if each is None:
        yield entry, ""
        return
    for word in each:
        yield entry.replace("@", word), word
