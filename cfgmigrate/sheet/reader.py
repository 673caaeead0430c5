"""Reading a swap sheet: YAML in, a checked `Sheet` out, or one error that lists every line that is wrong.

The fields are those of the schema (`fields.py`); a sheet of several feeders or filaments has groups of them
(`several.py`). Only text that is not YAML at all stops at the first place. Whether the fields suffice for a rule is
the rule's business.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.ground.positioned_yaml import LONGEST_YAML, Node, read_marked
from cfgmigrate.ground.user_file import read_given
from cfgmigrate.sheet.fields import SheetReading, Wrong, compare, read_section, sum_up
from cfgmigrate.sheet.model import Sheet, SheetEntry
from cfgmigrate.sheet.schema import Schema, measured_schema, sheet_schema
from cfgmigrate.sheet.several import NO_NAMES, Known, read_parts


def read_sheet(path: Path, known: Known = NO_NAMES) -> Sheet:
    """The swap sheet in a file. `known` are the names by which it may call feeders and profiles.

    Raises BadInput where it can't be read or a field is wrong."""
    return parse_sheet(read_given(path, "the swap sheet", LONGEST_YAML), str(path), known=known)


def read_measured(path: Path, known: Known = NO_NAMES) -> Sheet:
    """The measured sheet in a file. Raises BadInput likewise."""
    return parse_sheet(
        read_given(path, "the measured sheet", LONGEST_YAML), str(path), measured_schema(), known=known
    )


def parse_sheet(source: bytes, path: str, schema: Schema | None = None, known: Known = NO_NAMES) -> Sheet:
    """The swap sheet in these bytes; `path` is its name in errors and in `Entry.place`.

    `schema` is the swap sheet's own where not given. Raises BadInput: the place is the first wrong line's,
    and the message lists them all.
    """
    reading = SheetReading(schema or sheet_schema())
    parts = read_parts(read_marked(source, path), reading, known)
    sheet = Sheet(path, source, reading.entries, parts.feeder, parts.filament, parts.feeders, parts.profiles)
    for feeder in sheet.swapped or (1,):
        for profile in (None, *parts.profiles):
            compare(sheet.lane(feeder, profile).entries, reading)
    if reading.wrong:
        raise one_error(in_order(reading))
    return sheet


def read_fields(node: Node, schema: Schema | None = None) -> tuple[dict[str, SheetEntry], tuple[Wrong, ...]]:
    """The fields of a tree that tells of one feeder, and what is wrong in it, in the order of the lines."""
    reading = SheetReading(schema or sheet_schema())
    read_section("", node, reading)
    sum_up(reading)
    compare(reading.entries, reading)
    return reading.entries, in_order(reading)


def in_order(reading: SheetReading) -> tuple[Wrong, ...]:
    return tuple(sorted(dict.fromkeys(reading.wrong), key=lambda wrong: wrong.place))


def one_error(wrong: Sequence[Wrong]) -> BadInput:
    """All of it as one error, at the first place."""
    first, *others = wrong
    if not others:
        return BadInput(first.what, first.place, first.remedy)
    lines = "".join(f"\n{other.place}: {other}" for other in others)
    return BadInput(f"{first}{lines}", first.place)
