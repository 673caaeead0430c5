"""What a board keeps and shows only as a listing: a print-out of names and values, taken down from its console.

Such values win over the files, so they are read, and others follow them. But the listing is no file of the machine: to
edit it changes nothing there. So none of them may be edited; a person stores them at the console. A dump in setting codes
is another thing, since its lines can be sent back as they are.

Of two lists in one file of which nobody knows which one holds (`files/lists_below.py`), none is edited either.

This module decides no value.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document
from cfgmigrate.machine.model import Reading

#: why a value of a listing is not edited
AT_CONSOLE = "this is a listing of what the board keeps: the value is stored at its console"

#: why a value of one of several lists is not edited
WHICH_LIST = "lists of the same settings stand in this file, and which of them holds is not said"


def listings(documents: Iterable[Document], saved: Collection[str]) -> frozenset[str]:
    """The files of saved values that can't be sent back as they are."""
    return frozenset(each.path for each in documents if each.path in saved and each.dialect != "command")


def is_listed(reading: Reading) -> bool:
    """Whether a reading stands in a listing."""
    return reading.why_not == AT_CONSOLE


def read_only(readings: Iterable[Reading], listed: Collection[str]) -> list[Reading]:
    """The readings, those of listings none to be edited."""
    return [
        replace(each, editable=False, why_not=AT_CONSOLE)
        if each.place.file in listed and each.editable
        else each
        for each in readings
    ]


def held_in_lists(readings: Iterable[Reading], lists: Callable[[str, int], int]) -> list[Reading]:
    """The readings, those in one of several lists none to be edited."""
    return [
        replace(each, editable=False, why_not=WHICH_LIST)
        if each.editable and lists(each.place.file, each.start)
        else each
        for each in readings
    ]
