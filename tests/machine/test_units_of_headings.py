"""Several units that a heading alone on its line has in brackets, for the lines below it up to a gap."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.head_units import units_in_brackets
from cfgmigrate.machine.recognise import recognise

_FILE = """// ---- speeds (mm/min), accelerations (mm/s^2) ----
#define TOP_SPEED_OF_X 12000

// ---- filament {} ----
#define RETRACT_BY 4.9
#define RETRACT_SPEED 37

// ---- more ----
#define PUSH_BACK_SPEED 1500
"""


def _speeds(units: str) -> dict[str, float | None]:
    document = read("one.h", _FILE.format(units).encode(), "header")
    return {each.quantity: each.value for each in recognise([document]).readings if "speed" in each.quantity}


def test_the_units_of_the_nearest_heading_win_up_to_a_gap() -> None:
    assert _speeds("(mm, mm/s)") == {
        "axis.x.max_speed": 200,
        "retraction.speed": 37,
        "retraction.return_speed": 25,
    }


@pytest.mark.parametrize("said", ["", "(mm, roughly)", "(the rear one)"])
def test_without_units_of_its_own_those_of_the_file_stay(said: str) -> None:
    assert "retraction.speed" not in _speeds(said)


@pytest.mark.parametrize(
    "said", ["feeding (mm, left)", "feeding (mm/s, mm/min)", "feeding (mm)", "feeding mm, mm/s", "x (a, b)"]
)
def test_what_is_no_list_of_several_units_states_none(said: str) -> None:
    assert units_in_brackets(said) == {}
