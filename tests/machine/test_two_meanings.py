"""A word of a key that means two things is settled by the keys beside it."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.near_words import near_meanings
from cfgmigrate.machine.recognise import recognise


def understood(text: str, dialect: str = "sectioned") -> Machine:
    return recognise([read("one.txt", text.encode(), dialect)])


def read_as(text: str, dialect: str = "sectioned") -> dict[str, float | None]:
    return {each.quantity: each.value for each in understood(text, dialect).readings}


def test_d_with_a_nozzle_is_a_diameter_and_beside_p_and_i_it_is_tuning() -> None:
    assert read_as("[head]\nd_nozzle = 0.4\n") == {"nozzle.diameter": 0.4}
    tuned = read_as("[hotend]\np_nozzle = 22\ni_nozzle = 1.1\nd_nozzle = 94\n")
    assert set(tuned) == {f"heater.hotend.tuning_{letter}" for letter in "pid"}
    named = read_as("noz_d = 0.35\nnoz_p = 16.2\nnoz_i = 0.9\nnoz_d_gain = 71\n", "flat")
    assert named["nozzle.diameter"] == 0.35


def test_feed_is_a_speed_where_the_file_says_so_and_not_what_a_turn_moves() -> None:
    text = "# feeds in mm/min\n[wire feed]\ntop feed = 2700\nfeed per rev = 34.25\n"
    assert read_as(text) == {"feeder.max_speed": 45, "feeder.feed_per_turn": 34.25}
    lengths = "# feeds in mm/min\n[wire feed]\nfeed for loading = 410 ; mm\n"
    assert read_as(lengths) == {"feeder.load_length": 410}, "its own line says a length"
    assert read_as("#define DRAW_BACK_FEED 2400 // mm/min\n", "header") == {"retraction.speed": 40}
    assert read_as("draw back feed = 2.4\n", "flat") == {}, "it may be a length as well"


@pytest.mark.parametrize(
    ("value", "meant"), [(165, "feeder.min_feed_temperature"), (5, "heater.hotend.min_temperature")]
)
def test_a_least_temperature_at_which_plastic_melts_is_that_of_feeding(value: int, meant: str) -> None:
    assert list(read_as(f"[feeder]\nmin temperature = {value}\n")) == [meant]


def test_a_lone_axis_and_bound_counts_where_another_axis_has_it_too() -> None:
    both = "#define XMAX 260\n#define YMAX 255\n"
    assert read_as(both, "header") == {"axis.x.max": 260, "axis.y.max": 255}
    assert read_as("#define XMAX 260\n", "header") == {}


def test_what_is_counted_may_stand_behind_a_count() -> None:
    text = "[feeder]\nmotor steps = 200 step/rev\ninterpolation = 16 microstep\n"
    assert read_as(text) == {"feeder.full_steps": 200, "feeder.microsteps": 16}
    assert read_as("[feeder]\ninterpolation = 1\n") == {}


def test_a_word_that_the_opening_remark_calls_a_measure_is_that_measure() -> None:
    text = "# slew is acceleration\n[feeder]\nslew.max = 2800 mm/s2\n"
    assert read_as(text) == {"feeder.max_acceleration": 2800}
    assert read_as(text.partition("\n")[2]) == {}


def test_a_table_of_units_is_no_table_of_limits() -> None:
    text = '{"units": {"speed": "mm/s", "acceleration": "mm/s^2"}, "axes": {"max_speed": 200}}'
    assert not recognise([read("one.json", text.encode(), "nested")]).doubts


def test_a_sensor_whose_value_is_a_thermistor_is_protected() -> None:
    machine = recognise([read("one.cfg", b"[head]\nsensor = ntc 100k\n", "sectioned")])
    assert [each.quantity.partition(".")[0] for each in machine.readings] == ["protected"]
    assert not recognise([read("one.cfg", b"[head]\nsensor = optical\n", "sectioned")]).readings


def test_a_plastic_of_two_letters_has_the_lag_that_its_line_says_by_its_own_word() -> None:
    machine = recognise([read("one.h", b"#define PA_RETRACT 4\n#define PA_LAG 0.3\n", "header")])
    assert {(each.quantity, each.holder.name) for each in machine.readings} == {
        ("retraction.length", "pa"), ("lag.coefficient", "pa")
    }  # fmt: skip


def test_two_letters_of_a_material_that_may_be_the_lag_s_are_no_profile_and_are_asked_about() -> None:
    machine = recognise([read("one.kv", b"pa_k = 0.38\npa_sm = 0.03\n", "flat")])
    assert not machine.readings
    assert [each[0] for each in near_meanings(machine).values()] == ["lag.coefficient", "lag.averaging"]


@pytest.mark.parametrize("value", ["510 ms", "0.51 s", "0.51"])
def test_a_word_of_the_unit_is_not_taken_for_one_that_stands_beside_the_names_last(value: str) -> None:
    """`pressure lead` and a time, and no `lead time` of a pressure."""
    assert read_as(f"pressureLead = {value}\n", "flat") == {"lag.coefficient": 0.51}


@pytest.mark.parametrize("line", ["feed_max 50", "max_feed 45", "filament_goes_at_most 45"])
def test_the_most_of_a_feed_may_be_its_speed_and_is_asked(line: str) -> None:
    machine = recognise([read("one.txt", f"feed_fine 16\nfeed_acc 3000\n{line}\n".encode(), "flat")])
    assert not {"feeder.max_feed_length", "feeder.max_speed"} & {each.quantity for each in machine.readings}
    (doubt,) = [each for each in machine.doubts if each.place.line == 3]
    assert "longest single feed" in doubt.why and "feeder.max_speed" in doubt.remedy


def test_a_most_that_is_no_speed_is_a_length_all_the_same_and_never_edited() -> None:
    (reading,) = recognise([read("one.txt", b"feed_max 520\n", "flat")]).readings
    assert (reading.quantity, reading.editable) == ("feeder.max_feed_length", False)


@pytest.mark.parametrize("line", ["feed_max_mm 90", "longest_feed 90", "feeder_longest_single_move 90"])
def test_a_word_or_a_unit_of_length_says_which(line: str) -> None:
    assert read_as(f"{line}\n", "flat") == {"feeder.max_feed_length": 90}


def test_a_way_from_grip_to_tip_is_none_to_load_and_one_to_the_nozzle_may_be_either() -> None:
    assert read_as("[filament drive]\nwheel to tip = 585\n") == {"feeder.path_length": 585}
    assert read_as("[filament drive]\nload, wheel to nozzle = 585\n") == {"feeder.load_length": 585}
    machine = recognise([read("one.txt", b"[filament drive]\ngear to nozzle = 585\n", "sectioned")])
    assert not machine.readings
    assert (
        "feeder.path_length" in machine.doubts[0].remedy and "feeder.load_length" in machine.doubts[0].remedy
    )


REEL = "# how fast (mm/s)\nwall_outside = 35\nwall_inside = 50\nfilling = 60\nupper_shell = 40\n"


@pytest.mark.parametrize(
    "text", [REEL, REEL.replace(" (mm/s)", ""), REEL.replace("wall_outside = 35\nwall_inside = 50\n", "")]
)
def test_to_fill_beside_walls_or_below_a_speed_s_unit_is_no_length_to_load(text: str) -> None:
    machine = recognise([read("reel.txt", text.encode(), "flat")])
    assert not [each for each in machine.readings if each.quantity.endswith("load_length")]


def test_to_fill_the_tube_is_a_length_to_load_beside_walls_as_well() -> None:
    text = "walls = 3\nupper_shell = 5\nfilament_fill_length = 480\n"
    machine = recognise([read("reel.txt", text.encode(), "flat")])
    assert machine.get("feeder.load_length").value == 480


def test_a_unit_in_brackets_above_a_run_of_lines_is_theirs_and_keeps_other_measures_out() -> None:
    text = "# how fast (mm/min)\nretraction = 2400\n\n# how much (mm)\nretraction_length = 5\n"
    machine = recognise([read("reel.txt", text.encode(), "flat")])
    assert machine.get("retraction.speed").value == 40
    assert machine.get("retraction.length").value == 5


@pytest.mark.parametrize(
    "line", ["feed back = 5", "feed_back = 30", "feed back = 0.8 mm", "return speed = 30\nfeed back = 5"]
)
def test_what_is_fed_back_is_asked_about_and_is_no_retraction_s_length(line: str) -> None:
    machine = recognise([read("one.txt", f"[retraction]\n{line}\n".encode(), "sectioned")])
    assert "retraction.length" not in {each.quantity for each in machine.readings}
    (doubt,) = machine.doubts
    assert "the speed of either" in doubt.why and "retraction.return_speed" in doubt.remedy


@pytest.mark.parametrize(
    ("section", "key", "asked"), [("haul", "back speed", True), ("haul back", "speed", False)]
)
def test_back_beside_a_speed_below_a_bare_verb_is_asked_about(section: str, key: str, asked: bool) -> None:
    machine = recognise([read("one.txt", f"[{section}]\n{key} = 30 mm/s\n".encode(), "sectioned")])
    assert ("retraction.speed" in {each.quantity for each in machine.readings}) is not asked
    assert any("the speed of either" in doubt.why for doubt in machine.doubts) is asked


@pytest.mark.parametrize("line", ["wire drive draw in: 5", "strand pull in: 480"])
def test_what_is_drawn_in_may_be_loaded_or_drawn_back_and_is_asked(line: str) -> None:
    machine = recognise([read("one.txt", f"{line}\n".encode(), "flat")])
    assert not machine.readings
    assert machine.doubts


def test_thread_in_is_a_verb_and_no_length_in_inches() -> None:
    assert read_as("DRIVE_THREAD_IN 520\nDRIVE_THREAD_OUT 560\n", "flat") == {
        "feeder.load_length": 520,
        "feeder.unload_length": 560,
    }


def test_giving_back_is_a_return_and_back_alone_is_not() -> None:
    assert read_as("[wire drive]\ngive-back-pace = 28 mm/s\n") == {"retraction.return_speed": 28}
    assert read_as("[wire drive]\nback pace = 28 mm/s\n") == {}


@pytest.mark.parametrize(
    ("keys", "quantity_id"),
    [
        ("pull back speed = 40 mm/s\npush along speed = 25 mm/s\n", "retraction.return_speed"),
        ("pull speed = 40 mm/s\npush speed = 25 mm/s\n", "retraction.return_speed"),
        ("pull back speed = 40 mm/s\npush back speed = 25 mm/s\n", "retraction.return_speed"),
        ("push along speed = 25 mm/s\n", ""),
    ],
)
def test_a_push_onwards_is_a_return_beside_a_pull_back(keys: str, quantity_id: str) -> None:
    read_as = {each.quantity for each in understood(f"[feeder]\n{keys}").readings}
    assert read_as - {"retraction.speed"} == ({quantity_id} if quantity_id else set())


@pytest.mark.parametrize(
    ("line", "quantity_id"),
    [
        ("[y]\nrack = 40 steps/mm", "axis.y.steps_per_mm"),
        ("[y]\nrack = 40 mm", ""),
        ("[y]\nbelt = 2", ""),
        ("[y]\nlead_mm_per_turn = 8", "axis.y.travel_per_turn"),
        ("beams.y.highest pace = 90 mm/s", "axis.y.max_speed"),
        ("no. of y.speed = 90 mm/s", ""),
        ("[bed]\nhi_degC = 115", "heater.bed.max_temperature"),
    ],
)
def test_a_part_is_known_by_its_unit_and_a_level_by_its_dot(line: str, quantity_id: str) -> None:
    found = understood(f"{line}\n", "sectioned" if line.startswith("[") else "flat")
    assert [each.quantity for each in found.readings] == ([quantity_id] if quantity_id else [])
