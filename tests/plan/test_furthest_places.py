"""Where no limit of an axis was read, the places of scripts that may be out of reach now are named."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.furthest_places import furthest_places
from cfgmigrate.sheet.reader import parse_sheet

FILE = """\
[routine park]
do =
    G90
    G1 X308 Y20 F9000
    G1 X306
    G1 X292
    G91
    G1 X310
[routine wipe]
do =
    G90
    G1 X-10 Y150 F9000
    G1 X4
"""


@pytest.mark.parametrize(
    ("clearance", "lines"),
    [
        ("less_at_high_x: 6 mm", {"m.ini:4 (X308)", "m.ini:5 (X306)"}),
        ("less_at_low_x: 20 mm", {"m.ini:12 (X-10)", "m.ini:13 (X4)"}),
        ("less_at_high_x: 0 mm", set()),
        ("less_at_high_y: 6 mm", set()),
    ],
)
def test_those_nearer_to_the_furthest_than_what_is_lost_are_named(clearance: str, lines: set[str]) -> None:
    machine = recognise([read("m.ini", FILE.encode(), "sectioned")])
    said = parse_sheet(f"clearance: {{{clearance}}}\n".encode(), "s.yaml").entries
    steps = " ".join(furthest_places(machine, "x", said))
    named = {
        part
        for part in (
            "m.ini:4 (X308)",
            "m.ini:5 (X306)",
            "m.ini:6 (X292)",
            "m.ini:8 (X310)",
            "m.ini:12 (X-10)",
            "m.ini:13 (X4)",
        )
        if part in steps
    }
    assert named == lines


def test_where_the_limit_was_read_nothing_has_to_be_looked_for_by_hand() -> None:
    machine = recognise([read("m.ini", f"[x axis]\nhighest spot = 310\n{FILE}".encode(), "sectioned")])
    said = parse_sheet(b"clearance: {less_at_high_x: 6 mm}\n", "s.yaml").entries
    assert not list(furthest_places(machine, "x", said))
