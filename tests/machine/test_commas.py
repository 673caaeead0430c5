"""`5,5` may be one number or two: where one number belongs it is never taken for two in silence."""

from __future__ import annotations

from pathlib import Path

import pytest
from feederbench import spelled

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise


def machine(text: str, dialect: str = "sectioned") -> Machine:
    return recognise([read("redstart.ini", text.encode(), dialect)])


@pytest.mark.parametrize(
    ("line", "remedy"),
    [
        ("[feeder]\nmm per turn = 7,82", "write 7.82;"),
        ("[feeder]\ngear ratio = 3,5", "write 3.5;"),
        ("[feeder]\nretraction length: 5,5", "write 5.5;"),
        ("[feeder]\nrun current: 0,62", "write 0.62;"),
        ("[feeder]\nmax feed length: 1,200", "write 1.200 or 1200;"),
        ("[nozzle]\ndiameter: 0,4", "write 0.4;"),
        ("[axis x]\nhighest spot: 221,5", "write 221.5;"),
        ("[probe]\noffset x: -24,5", "write -24.5;"),
        ("[probe]\noffset z: 1,88", "write 1.88;"),
        ("[axes]\nmax accel: 2400,5", "write 2400.5;"),
    ],
)
def test_one_number_with_a_comma_is_a_doubt_that_says_what_to_write(line: str, remedy: str) -> None:
    found = machine(line + "\n")
    assert found.readings == ()
    (doubt,) = found.doubts
    assert doubt.place.line == 2 and remedy in doubt.remedy


@pytest.mark.parametrize("value", ["5, 4", "5 4", "[5,4]", "{ 5,4 }", "5.0,4.0"])
def test_what_can_only_be_a_list_is_one_number_for_each_feeder(value: str) -> None:
    found = machine(f"[feeder]\nretraction length: {value}\n")
    assert [(spelled(reading), reading.value) for reading in found.readings] == [
        ("retraction.length", 5.0),
        ("retraction2.length", 4.0),
    ]
    assert found.doubts == ()


@pytest.mark.parametrize(
    ("key", "first"), [("[mesh]\nmin", "mesh.from_x"), ("[probe]\noffset", "probe.offset_x")]
)
def test_where_two_numbers_belong_they_are_two(key: str, first: str) -> None:
    found = machine(f"{key}: 12,14\n").get(first)
    assert found is not None and found.value == 12.0


def test_a_key_that_names_one_axis_has_no_list_for_all() -> None:
    assert machine("[probe]\noffset z: 1, 88\n").readings == ()
    whole = machine("z probe offset xyz: 1, 2, 3\n", "flat")
    assert [reading.value for reading in whole.readings] == [1.0, 2.0, 3.0]


def test_who_names_the_line_as_one_quantity_says_that_it_is_one_number_and_writes_the_new_one_by_hand(
    tmp_path: Path,
) -> None:
    (tmp_path / "names.yaml").write_text(
        "draw_back: retraction.length\nlongest_feed: feeder.max_feed_length\n"
    )
    names = read_names(tmp_path / "names.yaml")
    text = "draw_back = 6,1   # a comma is fine\nlongest_feed = 1,200\n"
    found = recognise([read("reel.txt", text.encode(), "flat")], names)
    (reading,) = found.readings
    assert (reading.quantity, reading.value, reading.text) == ("retraction.length", 6.1, "6,1")
    assert not reading.editable and "by hand" in reading.why_not
    assert [doubt.place.line for doubt in found.doubts] == [2]
