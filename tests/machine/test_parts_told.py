"""Names that a file gives to its axes and its filament drive are read as those, where the file itself uses them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.parts_told import parts_told
from cfgmigrate.machine.recognise import recognise

_KEYS = "spar_steps_per_mm = 80\nskid_steps_per_mm = 100\n"


def read_as(text: str, dialect: str = "flat") -> dict[str, float | None]:
    return {
        each.quantity: each.value for each in recognise([read("one.txt", text.encode(), dialect)]).readings
    }


@pytest.mark.parametrize(
    "said",
    [
        "# the spar is X and the skid Y",
        "# X = spar, Y = skid",
        "# spar is left to right (X), skid is front to back (Y)",
        "; spar = X axis; skid = Y axis",
    ],
)
def test_a_remark_names_axes_in_any_order_of_words(said: str) -> None:
    assert read_as(f"{said}\n{_KEYS}") == {"axis.x.steps_per_mm": 80, "axis.y.steps_per_mm": 100}


@pytest.mark.parametrize(
    "said", ["", "# the spar is X", "# spar = X, skid = X", "# the boom is X, the gib is Y"]
)
def test_one_name_two_of_one_axis_and_names_that_the_file_does_not_use_are_none(said: str) -> None:
    assert read_as(f"{said}\n{_KEYS}") == {}


def test_a_heated_part_is_an_axis_only_where_its_section_moves() -> None:
    said = "# beam = X, bed = Y\n"
    moved = f"{said}[beam]\nsteps per mm = 80\n[bed]\nsteps per mm = 80\nmax acceleration = 2100\n"
    assert read_as(moved, "sectioned")["axis.y.max_acceleration"] == 2100
    assert "axis.y.max" not in read_as(f"{said}beam_steps_per_mm = 80\nbed_maximum = 110\n")


def test_an_axis_in_brackets_behind_a_name_is_what_the_key_is_about() -> None:
    text = (
        "lift (z) top speed: 8\nlift (z) uppermost: 240\nsled (x) top speed: 200\nsled (x) rightmost: 230\n"
    )
    assert read_as(text) == {
        "axis.z.max_speed": 8,
        "axis.z.max": 240,
        "axis.x.max_speed": 200,
        "axis.x.max": 230,
    }
    assert "axis.z.max_speed" not in read_as("lift (z) top speed: 8\n")


@pytest.mark.parametrize("filled", [" ", "*", ")"])
def test_a_remark_of_any_length_is_passed_over_and_the_others_are_read(filled: str) -> None:
    """In the square of its length this would take a quarter of an hour."""
    text = f"# X {filled * 200_000} y\n# beam = X, sled = Y\n"
    keys = {((), ("beam", "steps")), ((), ("sled", "steps"))}
    assert parts_told(text, keys, ()) == {("beam",): ("x",), ("sled",): ("y",)}
