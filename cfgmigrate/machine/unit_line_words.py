"""The words of lines that state the unit of other lines: `unit_line_words.yaml`, checked when it is loaded.

How far such a line reaches is the matter of `unit_lines.py`; nothing is decided here.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.units import units

_FILE = "unit_line_words.yaml"


class UnitLineWords(Struct, frozen=True):
    """`unit_line_words.yaml`; `measured` has the measure of each word."""

    measured: Mapping[str, str]
    of_all: frozenset[str]
    whole: frozenset[str]
    metric: frozenset[str]
    inches: frozenset[str]


@compiled
def unit_line_words() -> UnitLineWords:
    """Raises BadInput where the file is wrong."""
    fields = UnitLineWords.__struct_fields__
    data = load(Path(__file__).with_name(_FILE), dict.fromkeys(fields, list) | {"measured": dict})
    if lost := sorted(data["measured"].keys() - {unit.of for unit in units().values()}):
        raise BadInput(f"nothing is measured in `{lost[0]}`", Place(_FILE))
    measured = {word: of for of, words in data["measured"].items() for word in words}
    return UnitLineWords(measured, *(frozenset(data[name]) for name in fields[1:]))
