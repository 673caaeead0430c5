"""A distance per motor turn beside a gear ratio: nothing is taken for the drive gear's distance in silence."""

from __future__ import annotations

from pathlib import Path

import pytest
from feederbench import values

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise

BOTH = "[feeder]\n{key}: 10.8\ngear ratio: 46:15\n"


def machine(text: str, names: str = "", tmp_path: Path | None = None) -> Machine:
    settled = None
    if tmp_path is not None:
        (tmp_path / "names.yaml").write_text(names)
        settled = read_names(tmp_path / "names.yaml")
    return recognise([read("wren.ini", text.encode(), "sectioned")], settled)


@pytest.mark.parametrize(
    "key",
    [
        "mm per motor turn",
        "distance_per_motor_revolution",
        "filamentPerStepperRotation",
        "mm per turn of the motor",
        "travel per motor shaft turn",
    ],
)
def test_a_distance_per_motor_turn_beside_a_gear_ratio_is_a_doubt_at_both(key: str) -> None:
    found = machine(BOTH.format(key=key))
    assert values(found) == {}
    assert [reading.place.line for reading in found.shadowed] == [2, 3]
    assert [doubt.place.line for doubt in found.doubts] == [2, 3]
    assert "wren.ini:3" in found.doubts[0].why and "wren.ini:2" in found.doubts[1].why
    assert all("under meanings" in doubt.remedy for doubt in found.doubts)


@pytest.mark.parametrize(
    "key", ["mm per turn", "turn length", "mm per gear turn", "mm per turn of the drive gear"]
)
def test_a_distance_of_the_drive_gear_counts_with_its_ratio(key: str) -> None:
    found = machine(BOTH.format(key=key))
    assert values(found) == {"feeder.feed_per_turn": 10.8, "feeder.gear_ratio": pytest.approx(46 / 15)}
    assert not found.doubts


def test_a_distance_per_motor_turn_alone_has_the_ratio_in_it() -> None:
    assert values(machine("[feeder]\nmm per motor turn: 3.67\n")) == {"feeder.feed_per_turn": 3.67}


MOTORS = [
    "{key}: 22 # filament for one turn of the MOTOR\ngear ratio: 1:1\n",
    "# millimetres for each motor turn\n{key}: 22\ngear ratio: 1:1\n",
    "mm per motor turn: 22\ngear ratio: 1:1\n",
]


@pytest.mark.parametrize("lines", MOTORS)
def test_beside_a_ratio_of_one_the_words_say_that_a_distance_is_of_the_motors_turn(lines: str) -> None:
    found = machine("[feeder]\n" + lines.format(key="mm per turn"))
    assert values(found) == {"feeder.feed_per_turn": 22}
    (doubt,) = found.doubts
    assert "turn of the motor" in doubt.why and doubt.text == "gear ratio = 1:1"


def test_a_taught_ratio_of_one_leaves_a_distance_the_motors_where_its_remark_says_so(tmp_path: Path) -> None:
    text = "S205 E1:1 ; wheels, shaft : motor\nS206 E33.61 ; filament for one turn of the MOTOR, for the picture\n"
    names = "'[S205] E': {quantity: feeder.gear_ratio, order: driven:driving}\n'[S206] E': {quantity: feeder.feed_per_turn, unit: mm}\n"
    (tmp_path / "names.yaml").write_text(names)
    found = recognise([read("wren.cmd", text.encode(), "command")], read_names(tmp_path / "names.yaml"))
    assert values(found) == {"feeder.feed_per_turn": 33.61}
    assert [doubt.place.line for doubt in found.doubts] == [1]


@pytest.mark.parametrize(
    "remark",
    [
        "one turn of the motor",
        "for a motor revolution, all gears in it",
        "a turn of the stepper, not of the wheel",
        "counts turns of the motor",
        "of the motor",
        "gears included",
        "the gears are in it",
        "incl. gear ratio",
    ],
)
def test_a_remark_of_the_motors_turn_beside_a_gear_ratio_is_a_doubt_at_both(remark: str) -> None:
    found = machine(f"[feeder]\nmm per turn: 10.8 ; {remark}\ngear ratio: 46:15\n")
    assert values(found) == {}
    assert [doubt.place.line for doubt in found.doubts] == [2, 3]


@pytest.mark.parametrize(
    "remark",
    [
        "of the drive gear, not for a turn of the motor",
        "200 steps for each motor turn",
        "three turns of the motor",
        "gears not included",
        "without the gears",
        "with gear oil",
        "",
        "motor",
    ],
)
def test_a_remark_that_does_not_say_it_of_the_number_is_no_matter(remark: str) -> None:
    found = machine(f"[feeder]\nmm per turn: 10.8 ; {remark}\ngear ratio: 46:15\n")
    assert set(values(found)) == {"feeder.feed_per_turn", "feeder.gear_ratio"}
    assert not found.doubts


def test_a_ratio_of_one_beside_a_distance_of_no_ones_turn_is_no_matter() -> None:
    assert not machine("[feeder]\nmm per turn: 22\ngear ratio: 1:1 # wheel : motor\n").doubts


def test_a_section_of_the_motor_is_not_a_turn_of_it() -> None:
    assert not machine("[feeder motor]\nmm per turn: 10.8\ngear ratio: 46:15\n").doubts


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        ('"[feeder] gear ratio": ignore', {"feeder.feed_per_turn": 10.8}),
        (
            '"[feeder] mm per motor turn": feeder.feed_per_turn',
            {"feeder.feed_per_turn": 10.8, "feeder.gear_ratio": pytest.approx(46 / 15)},
        ),
    ],
)
def test_a_names_file_settles_it_either_way(names: str, expected: dict[str, float], tmp_path: Path) -> None:
    found = machine(BOTH.format(key="mm per motor turn"), names + "\n", tmp_path)
    assert values(found) == expected
    assert not found.doubts


def test_another_feeders_ratio_is_no_matter() -> None:
    text = "[feeder]\nmm per motor turn: 3.67\n[feeder 2]\nmm per turn: 10\ngear ratio: 3:1\n"
    assert set(values(machine(text))) == {
        "feeder.feed_per_turn",
        "feeder2.feed_per_turn",
        "feeder2.gear_ratio",
    }


@pytest.mark.parametrize("before", ["", "\ufeff", "\n", "# wren\n"])
def test_a_remark_on_the_first_line_of_a_file_counts_as_any_other(before: str) -> None:
    text = (
        f"{before}# filament for one turn of the motor\nfeeder_mm_per_turn = 22\nfeeder_gear_ratio = 46:15\n"
    )
    found = recognise([read("wren.txt", text.encode(), "flat")])
    assert values(found) == {} and len(found.doubts) == 2
