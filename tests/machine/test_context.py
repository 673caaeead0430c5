"""What stands beside a key says what it is: a unit in the key, and the keys of its section."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.ground.units import units
from cfgmigrate.machine.asides import without_site
from cfgmigrate.machine.context import Context, Spoken, unit_of, words_said
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("section", "keys", "read_as"),
    [
        ("axis x", "speed acceleration", {"axis.x.max_speed", "axis.x.max_acceleration"}),
        ("axis x", "speed", set()),
        ("axis x", "speed quux", set()),
        ("feeder", "speed acceleration", {"feeder.max_speed", "feeder.max_acceleration"}),
        ("feeder", "speed", set()),
        ("speed", "x y", {"axis.x.max_speed", "axis.y.max_speed"}),
        ("speed", "x y feeder", {"axis.x.max_speed", "axis.y.max_speed", "feeder.max_speed"}),
        ("speed", "x", set()),
        ("retraction", "speed", {"retraction.speed"}),
        ("lamp", "speed acceleration", set()),
    ],
)
def test_speeds_are_limits_where_they_stand_beside_accelerations_or_for_several_axes(
    section: str, keys: str, read_as: set[str]
) -> None:
    text = f"[{section}]\n" + "".join(
        f"{key} = {900 if key == 'acceleration' else 40}\n" for key in keys.split()
    )
    found = recognise([read("one.ini", text.encode(), "sectioned")])
    assert {each.quantity for each in found.readings} == read_as


def test_a_rest_beside_a_current_is_one() -> None:
    for keys, read_as in (("rest = 0.4 A rms\ncurrent = 0.8 A rms\n", True), ("rest = 4\nwait = 8\n", False)):
        found = recognise([read("one.ini", f"[feeder driver]\n{keys}".encode(), "sectioned")])
        assert ("motor.hold_current" in {each.quantity for each in found.readings}) is read_as


@pytest.mark.parametrize(
    ("value", "unit"),
    [
        ("6 mm", "mm"),
        ("[6 mm, 7 mm]", "mm"),
        ("6", ""),
        ("0.9 A rms", "A"),
        ("0.9 A (peak)", "A"),
        ("40 mm per second", "mm/s"),
        ("-4 mm", "mm"),
        ("some mm", ""),
        ("mm", ""),
        ("40 zums", ""),
        ("[]", ""),
    ],
)
def test_a_value_states_the_unit_behind_its_number_or_its_first(value: str, unit: str) -> None:
    found = unit_of(value)
    assert (found.name if found else "") == unit


def test_a_remark_and_a_unit_say_words_beside_a_name_each_once() -> None:
    assert words_said("", None) == ()
    assert words_said("", units()["mm/s"]) == ("speed",)
    assert words_said("the speed", units()["mm/s"]) == ("the", "speed")
    assert words_said("", units()["1/mm"]) == ("step", "per", "mm")


def spoken(text: str, at: int = -1, dialect: str = "sectioned") -> Spoken:
    context = Context(read("one.ini", text.encode(), dialect))
    return context.spoken(context.document.settings[at])


@pytest.mark.parametrize(
    ("text", "unit", "qualifier"),
    [
        ("a = 5 # mm\n", "mm", ""),
        ("a = 5 # A rms\n", "A", "rms"),
        ("[currents rms]\na = 5\n", "", "rms"),
        ("[currents rms peak]\na = 5\n", "", ""),
        ("# mm/s\nhow fast = 5\n", "mm/s", ""),
        ("# mm/s\nhow fast = 5 # mm/min\n", "mm/min", ""),
        ("# steps per mm\nmicrosteps = 5\n", "", ""),
        ("# steps per mm\nx = 5\n", "1/mm", ""),
        ("zum_IN = 5\n", "", ""),
        ("# taken by a rule in inches\n\nLENGTH_IN = 5\n", "inch", ""),
        ("# taken by a rule in inches\n\nlength_in = 5\n", "inch", ""),
        ("# taken by a rule in inches\n\nLENGTH_in = 5\n", "", ""),
        ("# taken by a rule in inches\n\nlengthin = 5\n", "", ""),
        ("# taken by a rule in inches\n\nab_in = 5\n", "", ""),
    ],
)
def test_a_remark_a_heading_or_the_key_s_end_state_the_unit_of_a_line(
    text: str, unit: str, qualifier: str
) -> None:
    found = spoken(text)
    assert (found.unit.name if found.unit else "", found.qualifier) == (unit, qualifier)


@pytest.mark.parametrize(
    "text",
    ["a = 5 # % of the nozzle\n", "a = 5 # per cent\n", "length_IN = 5 # \n".replace("length", "LENGTH")],
)
def test_a_share_and_inches_in_a_file_that_says_nothing_of_them_are_nothing(text: str) -> None:
    assert not spoken(text).names


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("order = x, y, z, e\nsteps = 1\n", "xyze"),
        ("# lists are z, y, x\nsteps = 1\n", "zyx"),
        ("order = x, y, z\nsteps = 1 # z, y, x\n", "zyx"),
        ("order = first\nsteps = 1\n", ""),
        ("other = x, y, z\nsteps = 1\n", ""),
    ],
)
def test_an_order_is_said_by_the_line_the_opening_remark_or_a_setting_of_its_own(
    text: str, order: str
) -> None:
    assert spoken(text).order == order


@pytest.mark.parametrize(
    ("section", "plain"),
    [
        ("rear bracket: filament motor and its tube", "filament motor"),
        ("carriage: left side, feeler", "feeler"),
        ("head, nozzle", "nozzle"),
        ("lamp: nozzle", "lamp: nozzle"),
        ("left rail: shutter", "left rail: shutter"),
        ("left beam, x", "left beam, x"),
    ],
)
def test_where_a_part_sits_is_no_word_of_what_it_is(section: str, plain: str) -> None:
    assert without_site(section) == plain


@pytest.mark.parametrize(("other", "said"), [("", 1), ("#define FEEDER_B_STEPS_MM 95\n", 0)])
def test_beside_a_feeder_b_an_a_is_no_symbol_of_acceleration(other: str, said: int) -> None:
    text = f"#define FEEDER_A_STEPS_MM 93\n#define FEEDER_A_MAX 1500\n{other}"
    found = recognise([read("one.h", text.encode(), "header")])
    assert sum(each.quantity == "feeder.max_acceleration" for each in found.readings) == said


def test_a_key_a_is_the_same_in_the_section_of_feeder_a_as_in_that_of_feeder_b() -> None:
    lines = "[feeder a]\nsteps per mm = 93\na = 1500\n[feeder b]\nsteps per mm = 93\na = 1600\n"
    found = recognise([read("one.conf", lines.encode(), "sectioned")])
    assert not [each for each in found.readings if each.quantity == "motor.run_current"]
