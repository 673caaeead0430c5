"""A value that says of each of its numbers what it is is a setting for each."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read, sectioned
from cfgmigrate.dialects.labelled import labelled, row
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("value", "parts"),
    [
        ("x:300 y:220 z:250", [("x", "300"), ("y", "220"), ("z", "250")]),
        ("x=0.8 e=0.5", [("x", "0.8"), ("e", "0.5")]),
        ("x 2000, y 1500 , z -60", [("x", "2000"), ("y", "1500"), ("z", "-60")]),
        ("X 88 Y 91 E 431.5", [("X", "88"), ("Y", "91"), ("E", "431.5")]),
        ("{len = 5.5 mm, speed = 40 mm/s}", [("len", "5.5 mm"), ("speed", "40 mm/s")]),
        ("( x .5 y 2 )", [("x", ".5"), ("y", "2")]),
        ("out 40 / back 30", [("out", "40"), ("back", "30")]),
    ],
)
def test_each_number_stands_behind_its_label(value: str, parts: list[tuple[str, str]]) -> None:
    found = labelled(value, 0, len(value))
    assert [(label, value[start:end]) for label, start, end in found] == parts


@pytest.mark.parametrize(
    "value",
    ["G1 X10 Y20", "x:1 x:2", "50:11", "x:300", "5 of 7", "max 300 min 20", "len 5.5 mm at 40 mm/s", "{x 1, y 2", "", "a b", "no 5, 6"],
)  # fmt: skip
def test_any_other_value_is_one_value(value: str) -> None:
    assert labelled(value, 0, len(value)) == []


def test_a_labelled_list_of_a_section_is_read_and_each_number_is_edited_alone() -> None:
    data = b"[travel]\nsmallest = x:0 y:-2 z:0\n[motion]\nsteps_per_mm = x 88, y 91, z 640, e 431.5 # mine\n"
    document = sectioned.read("one.ini", data)
    assert [(s.key, s.value) for s in document.settings if s.section == "motion"] == [
        ("steps_per_mm x", "88"), ("steps_per_mm y", "91"), ("steps_per_mm z", "640"), ("steps_per_mm e", "431.5"),
    ]  # fmt: skip
    assert {r.quantity: (r.value, data[r.start : r.end]) for r in recognise([document]).readings} == {
        "axis.x.min": (0, b"0"), "axis.y.min": (-2, b"-2"), "axis.z.min": (0, b"0"),
        "axis.x.steps_per_mm": (88, b"88"), "axis.y.steps_per_mm": (91, b"91"), "axis.z.steps_per_mm": (640, b"640"),
        "feeder.steps_per_mm": (431.5, b"431.5"),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("line", "of", "parts"),
    [
        ("ticks/mm ..... x 64.5 y 64.5 z 512 feed 88.25", "ticks/mm", "x=64.5 y=64.5 z=512 feed=88.25"),
        ("held ticks/mm left 64 mid 60 feed 88", "held ticks/mm", "left=64 mid=60 feed=88"),
        ("held ticks/mm x 64.5 y 64.5", "held ticks/mm", "x=64.5 y=64.5"),
        (
            "[11:02] held pace mm/s2: left 900, mid 800, feed 3100",
            "held pace mm/s2",
            "left=900 mid=800 feed=3100",
        ),
        ("coil = x .65 A y .65 A feed .5 A", "coil", "x=.65 y=.65 feed=.5"),
    ],
)
def test_a_line_may_be_a_row_of_names_and_numbers(line: str, of: str, parts: str) -> None:
    label, found = row(line, 0, len(line))
    assert (label, " ".join(f"{name}={line[start:end]}" for name, start, end in found)) == (of, parts)


@pytest.mark.parametrize(
    "line",
    ["layer 3 of 10 time 20 left 30", "at x 4", "went on to 4 and by 9", "G1 X4 Y5", "a x 4 x 5 y 6", "x 4 y 5", "so it goes"],
)  # fmt: skip
def test_any_other_line_is_none(line: str) -> None:
    assert row(line, 0, len(line)) == ("", [])


@pytest.mark.parametrize(("dialect", "before"), [("flat", "z max = 250"), ("command", "M921 X900 Y900")])
def test_a_row_is_a_setting_for_each_name_and_the_drive_s_is_asked_about(dialect: str, before: str) -> None:
    """Its label has a word that nobody knows, so nothing is written; but it is told, and by what it may be."""
    text = f"{before}\nwick ticks/mm .... x 64.5 y 64.5 z 512 feed 88.25 ; as it was\n"
    document = read("hen", text.encode(), dialect)
    assert [(s.section, s.key, s.value) for s in document.settings][-1] == ("wick ticks/mm", "feed", "88.25")
    machine = recognise([document])
    (doubt,) = [each for each in machine.doubts if each.about == "feeder.steps_per_mm"]
    assert doubt.place.line == 2
    assert not any(each.editable for each in machine.readings if each.place.line == 2)
