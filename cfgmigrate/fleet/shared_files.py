"""Files that packets of a fleet edit and that are not one machine's alone: several packets edit them, or other files name them.

Such a file has one value for all who read it, so whoever installs one machine's packet decides for the others, too. What is
said of it is worded as it is with one packet (`apply/other_readers.py`). Nothing is worked out here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from cfgmigrate.apply.other_readers import GETS_THE_NEW, sentences
from cfgmigrate.fleet.groups import Record

WHAT_TO_DO = (
    "Install one machine's packet, then run this again: the others' are for files that are others by then. "
    "A file has one value for all of them."
)


class SharedFile(Struct, frozen=True):
    """An edited file by its whole path, the machines whose packets edit it, and the lines beside these machines that name it."""

    path: str
    machines: tuple[str, ...]
    places: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """Who else reads it, and what to do; "" where only packets of this fleet edit it."""
        return "".join(sentences({self.path: self.places}, GETS_THE_NEW)) if self.places else ""

    def to_json(self) -> dict[str, Any]:
        return {"path": self.path, "machines": list(self.machines), "named_at": list(self.places)}


def shared_files(records: Sequence[Record]) -> tuple[SharedFile, ...]:
    """The edited files that are not one machine's alone, in the order of the fleet."""
    machines: dict[str, list[str]] = {}
    places: dict[str, dict[str, None]] = {}
    for record in records:
        for path in record.edited:
            machines.setdefault(path, []).append(record.name)
        for path, lines in record.readers:
            places.setdefault(path, {}).update(dict.fromkeys(lines))
    return tuple(
        SharedFile(path, tuple(names), tuple(places.get(path, ())))
        for path, names in machines.items()
        if len(names) > 1 or path in places
    )
