"""From whose tip a machine with several counts its places, where a file says so: `reference = left`, left being a feeder.

This module decides nothing by it.
"""

from __future__ import annotations

from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.words import split

_REFERENCE = "reference"


def reference_tip(machine: Machine) -> int | None:
    """The feeder that a file calls the reference; None where none does, or several are called so."""
    names = {name.casefold(): number for name, number in machine.feeder_names.items()}
    if not names:
        return None
    found = {
        names[said]
        for document in machine.documents
        for setting in document.settings
        if (said := setting.value.strip("\"' ").casefold()) in names and _REFERENCE in split(setting.key)
    }
    return found.pop() if len(found) == 1 else None
