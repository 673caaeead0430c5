"""A line that is a value by its name and was not read is asked about, and not left old in silence."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.sectioned import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.values_not_read import values_not_read

MOVED = {"lag.coefficient", "feeder.load_length"}


def asked(text: str) -> dict[int, str]:
    machine = recognise([read("t.conf", text.encode())])
    return {each.place.line: each.about for each in values_not_read(machine, MOVED, machine.doubts)}


@pytest.mark.parametrize("line", ["lag = 0.48 ; mm", "lag = 0.48 mm", "lag = 0.48 ; in seconds per mm/s"])
def test_a_lag_whose_unit_says_another_measure_is_a_question(line: str) -> None:
    assert asked(f"[lag]\n{line}\n") == {2: "lag.coefficient"}


def test_so_is_what_a_name_says_in_full() -> None:
    assert asked("[load]\nload length = 560 ; s\n") == {2: "feeder.load_length"}


@pytest.mark.parametrize(
    "text",
    [
        "[lag]\nlag = 0.48\n",
        "[lag]\nlag = 48 %\n",
        "[lag]\n# lag = 0.48 mm\n",
        "[lag]\nlag = off\n",
        "[lag]\nlag = 0 ; mm\n",
    ],
)
def test_what_was_read_or_is_asked_already_or_says_nothing_is_not(text: str) -> None:
    assert asked(text) == {}


def test_a_motor_below_its_own_head_is_not_asked_about_where_the_feeder_s_has_the_same_key() -> None:
    """`steps a turn` of what lifts the bed; where no feeder's was read, it may be the feeder's still."""
    lift = "[lift, left screw]\nsteps a turn = 200\nspool = 3\n"
    feeder = "[feeder]\nsteps a turn = 400\nsteps per mm = 98\n"
    better = feeder + "[better values]\nsteps a turn = 200\n"
    for text, asked_of in ((feeder + lift, []), (lift, ["steps a turn"]), (better, ["steps a turn"])):
        machine = recognise([read("t.conf", text.encode())])
        found = list(values_not_read(machine, {"feeder.full_steps"}, machine.doubts))
        assert [each.text.split("] ")[1].split(" =")[0] for each in found] == asked_of


def test_what_says_of_nobody_how_fine_it_is_is_not_asked_about_where_the_feeder_s_steps_were_read() -> None:
    """How finely a path is cut for printing is no step of a motor."""
    slicing, feeder = "resolution = 0.015 ; mm\n", "[feeder]\nsteps per mm = 98\n"
    for text, times in ((feeder + "[paths]\n" + slicing, 0), ("[paths]\n" + slicing, 1)):
        machine = recognise([read("t.conf", text.encode())])
        assert len(list(values_not_read(machine, {"feeder.steps_per_mm"}, machine.doubts))) == times
