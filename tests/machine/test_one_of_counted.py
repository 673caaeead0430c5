"""Of drives that are counted in words, one is no more the feeder's than the others."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("lines", "read_", "asked"),
    [
        ("drive one current = 1.2 A rms\ndrive two current = 1.1 A rms", False, True),
        ("motor one current = 1.2 A rms\nmotor three current = 1.1 A rms", False, True),
        ("driveone current = 1.2 A rms\ndrivetwo current = 1.1 A rms", False, True),
        ("feeder i current = 1.2 A rms\nfeeder ii current = 1.1 A rms", False, True),
        ("feeder current = 1.2 A rms\nspare feeder current = 1.1 A rms", False, True),
        ("drive one current = 1.2 A rms", True, False),
        ("drive one current = 1.2 A rms\nlamp two current = 0.3 A", True, False),
        ("drive current = 1.2 A rms\ndrive two teeth = 14", True, False),
    ],
)
def test_one_beside_two_that_is_nobodys_is_a_question(lines: str, read_: bool, asked: bool) -> None:
    text = f"[motors]\n{lines}\n[feeder]\nsteps per mm = 93\n"
    found = recognise([read("m.conf", text.encode(), "sectioned")])
    assert (found.get("motor.run_current") is not None) == read_
    assert any("counted beside it" in doubt.why for doubt in found.doubts) == asked


def test_the_small_feeder_is_no_more_the_feeder_than_the_big_one() -> None:
    found = recognise([read("m.conf", b"big-feeder-steps-per-mm 93\nsmall-feeder-steps-per-mm 95\n", "flat")])
    assert found.get("feeder.steps_per_mm") is None


@pytest.mark.parametrize("other", ["big", "tall", "upstairs"])
def test_nor_than_one_that_goes_by_any_other_word(other: str) -> None:
    text = f"{other} steps per mm = 276\nsmall steps per mm = 141\nx steps per mm = 80\n"
    found = recognise([read("m.txt", text.encode(), "flat")])
    assert [each.quantity for each in found.readings] == ["axis.x.steps_per_mm"]


@pytest.mark.parametrize(
    ("two", "kept"),
    [
        ("[drive two]\ntop current = 1.1 A rms", False),
        ("[drive two]\nrun current = 1.1 A rms", False),
        ("[drive two]\nteeth of it = 14", False),
        ("[lamp two]\nrun current = 0.3 A rms", True),
        ("[drive one]\nshade = green", True),
    ],
)
def test_nor_is_a_drive_that_is_counted_beside_one_of_other_keys(two: str, kept: bool) -> None:
    text = f"[drive one]\ncurrent = 1.2 A rms\nhold current = 0.5 A rms\n{two}\n"
    found = recognise([read("m.conf", text.encode(), "sectioned")])
    read_ = {each.quantity for each in found.readings}
    assert read_ == ({"motor.run_current", "motor.hold_current"} if kept else set())
