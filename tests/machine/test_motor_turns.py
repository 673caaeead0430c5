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
    assert all("names file" in doubt.remedy for doubt in found.doubts)


@pytest.mark.parametrize(
    "key", ["mm per turn", "turn length", "mm per gear turn", "mm per turn of the drive gear"]
)
def test_a_distance_of_the_drive_gear_counts_with_its_ratio(key: str) -> None:
    found = machine(BOTH.format(key=key))
    assert values(found) == {"feeder.feed_per_turn": 10.8, "feeder.gear_ratio": pytest.approx(46 / 15)}
    assert not found.doubts


def test_a_distance_per_motor_turn_alone_has_the_ratio_in_it() -> None:
    assert values(machine("[feeder]\nmm per motor turn: 3.67\n")) == {"feeder.feed_per_turn": 3.67}


def test_a_ratio_of_one_is_no_matter() -> None:
    assert not machine("[feeder]\nmm per motor turn: 22\ngear ratio: 1:1\n").doubts


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
