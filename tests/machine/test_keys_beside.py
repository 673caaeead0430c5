"""What the keys beside a setting say of it: marks and initials, tables of limits."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.context import Context
from cfgmigrate.machine.keys_beside import limited
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("piece", "measure"), [("speed", "speed"), ("v", "speed"), ("acceleration", "acceleration"), ("a", "acceleration"), ("length", ""), ("zum", "")]
)  # fmt: skip
def test_a_key_of_one_word_may_be_a_speed_or_an_acceleration(piece: str, measure: str) -> None:
    assert limited(piece) in (measure, "") and (len(piece) == 1 or limited(piece) == measure)


@pytest.mark.parametrize(
    ("keys", "mark"),
    [
        ("kspeed kaccel klag klength ksteps kturn", ""),
        ("k_speed k_accel k_lag k_length k_steps k_turn k_run k_hold", "k"),
        ("x_speed x_accel x_lag x_length x_steps x_turn x_run x_hold", ""),
        ("k_speed m_accel k_lag m_length k_steps m_turn k_run m_hold", ""),
        ("kk_speed kk_accel kk_lag kk_length kk_steps kk_turn kk_run kk_hold", ""),
    ],
)
def test_a_letter_before_nearly_all_keys_below_sections_is_a_mark_unless_it_is_an_axis_s(
    keys: str, mark: str
) -> None:
    text = "[zum]\n" + "".join(f"{key} = 1\n" for key in keys.split())
    assert Context(read("one.ini", text.encode(), "sectioned")).beside.mark == mark


@pytest.mark.parametrize(
    ("keys", "limits"),
    [
        ("xspeed xaccel yspeed yaccel", {"axis.x.max_speed", "axis.x.max_acceleration", "axis.y.max_speed", "axis.y.max_acceleration"}),
        ("xspeed xaccel yspeed", {"axis.x.max_acceleration"}),
        ("xspeed xaccel", {"axis.x.max_acceleration"}),
    ],
)  # fmt: skip
def test_a_table_of_speeds_and_accelerations_of_two_axes_is_one_of_limits(
    keys: str, limits: set[str]
) -> None:
    text = "[motion]\n" + "".join(f"{key} = {900 if 'accel' in key else 120}\n" for key in keys.split())
    found = recognise([read("one.ini", text.encode(), "sectioned")])
    assert {each.quantity for each in found.readings} == limits


@pytest.mark.parametrize(
    ("section", "keys", "limits"),
    [
        ("y", "pace_mm_min = 9000\nramp_mm_s2 = 900\n", {"axis.y.max_speed": 150, "axis.y.max_acceleration": 900}),
        ("cord", "spd_mm_s = 60\naccel_mm_s2 = 900\n", {"feeder.max_speed": 60, "feeder.max_acceleration": 900}),
        ("y", "pace_mm_min = 9000\n", {}),
        ("print", "pace_mm_min = 9000\nramp_mm_s2 = 900\n", {}),
    ],
)  # fmt: skip
def test_a_speed_in_its_unit_beside_an_acceleration_in_its_unit_is_a_limit(
    section: str, keys: str, limits: dict[str, float]
) -> None:
    machine = recognise([read("one.ini", f"[{section}]\n{keys}".encode(), "sectioned")])
    assert {each.quantity: each.value for each in machine.readings} == limits


@pytest.mark.parametrize(
    ("text", "read_as"),
    [
        (b"-- feeder --\nfe_ticks = 96.4  ; ticks a mm\nfe_top = 70\nfe_push = 2600\n", {"feeder.steps_per_mm": 96.4}),
        # nine keys in ten are nearly all, eight are not
        (b"-- feeder --\nfe_ticks = 96.4  ; ticks a mm\n" + b"fe_bell = 3\n" * 8 + b"lid = 4\n", {"feeder.steps_per_mm": 96.4}),
        (b"-- feeder --\nfe_ticks = 96.4  ; ticks a mm\n" + b"fe_bell = 3\n" * 7 + b"lid = 4\nhat = 4\n", {}),
        (b"-- stopfer --\nst_top = 70\nst_near = 3\nst_push = 2600\n", {}),
    ],
)  # fmt: skip
def test_initials_of_a_section_before_all_its_keys_say_nothing_more(
    text: bytes, read_as: dict[str, float]
) -> None:
    machine = recognise([read("m.txt", text, "flat")])
    found = {each.quantity: each.value for each in machine.readings if each.quantity.startswith("feeder.")}
    assert found == read_as


def test_a_push_below_a_section_of_something_else_is_asked_about() -> None:
    text = b"-- side --\nside_near = -2\nside_push = 2400 ; mm/s2\n-- feeder --\nticks a mm = 96.4\n"
    machine = recognise([read("m.txt", text, "flat")])
    assert "feeder.max_acceleration" not in {each.quantity for each in machine.readings}
    assert [each.place.line for each in machine.doubts] == [3]
