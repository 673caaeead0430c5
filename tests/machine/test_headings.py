"""A section's heading states the unit of all numbers below it, and clauses that say nothing of what it is about."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.headings import heading
from cfgmigrate.machine.recognise import recognise


def read_as(text: str, dialect: str = "sectioned") -> dict[str, float | None]:
    found = recognise([read("siskin.ini", text.encode(), dialect)])
    return {reading.quantity: reading.value for reading in found.readings}


@pytest.mark.parametrize(
    ("section", "left", "unit", "qualifier"),
    [
        ("top speed mm/min", "top speed", "mm/min", ""),
        ("holding current, mA peak", "holding current", "mA", "peak"),
        ("lag (ms)", "lag", "ms", ""),
        ("mirrored y/n", "mirrored", None, ""),
        ("withdrawal unless a spool says so", "withdrawal", None, ""),
        ("steps per mm", "steps per mm", None, ""),
        ("motor A", "motor A", None, ""),
        ("limits min", "limits min", None, ""),
        ("top_mm_min", "top", "mm/min", ""),
        ("top speed mm min", "top speed", "mm/min", ""),
        ("topSpeedMmMin", "topSpeed", "mm/min", ""),
        ("reach_mm_min", "reach_mm_min", None, ""),  # the least, in mm
        ("limits_mm_min", "limits_mm_min", None, ""),
    ],
)
def test_a_heading_is_parted_into_what_it_is_about_and_the_unit_below(
    section: str, left: str, unit: str | None, qualifier: str
) -> None:
    rest, told = heading(section)
    assert rest == left
    assert (told.unit.name if told.unit else None) == unit
    assert told.qualifier == qualifier


def test_a_table_of_one_kind_of_number_has_the_axes_as_keys() -> None:
    assert read_as("[top speed mm/min]\nx = 12000\ny = 9000\ne = 2400\n") == {
        "axis.x.max_speed": 200,
        "axis.y.max_speed": 150,
        "feeder.max_speed": 40,
    }
    assert read_as("[mirrored y/n]\nx = n\ny = y\n") == {"axis.x.direction": 0, "axis.y.direction": 1}
    assert read_as("[soft limits, mm]\nx lo = -3\nx hi = 190\n") == {"axis.x.min": -3, "axis.x.max": 190}


def test_back_beside_forth_is_the_retraction_and_by_itself_it_is_open() -> None:
    assert read_as("[retraction mm/s]\nback = 42\nforth = 27\n") == {
        "retraction.speed": 42,
        "retraction.return_speed": 27,
    }
    assert read_as("[retraction]\nspeed back = 42 mm/s\n") == {}


def test_a_machines_own_size_is_no_size_that_a_profile_prints() -> None:
    assert "build.x" not in read_as("[machine]\nBuildWidth = 180\n")
    assert read_as("[print]\nbuild width = 180\n") == {"build.x": 180}


def test_the_teeth_of_a_pair_in_two_lines_are_one_ratio_that_both_lines_say() -> None:
    text = b"[feeder]\nmotor gear teeth = 19\ndriven gear teeth = 47\n"
    found = recognise([read("siskin.ini", text, "sectioned")])
    (reading,) = found.readings
    assert [each.text for each in found.followers(reading)] == ["19"]
    assert (reading.quantity, reading.text, reading.editable) == ("feeder.gear_ratio", "47", True)
    assert reading.value == 47 / 19


@pytest.mark.parametrize(("value", "editable"), [("0", False), ("0 s", True), ("0.4", True)])
def test_a_lone_zero_of_a_time_may_be_off_and_is_not_edited(value: str, editable: bool) -> None:
    (reading,) = recognise(
        [read("siskin.ini", f"[lag]\ncoefficient = {value}\n".encode(), "sectioned")]
    ).readings
    assert reading.editable is editable


def understood(text: str, dialect: str = "sectioned") -> dict[tuple[str, str], float | None]:
    machine = recognise([read("one.conf", text.encode(), dialect)])
    return {(str(r.holder), r.quantity): r.value for r in machine.readings}


def test_a_section_about_loading_and_unloading_leaves_it_to_the_key_and_has_no_retraction() -> None:
    found = understood(
        "[when filament is put in or taken out]\npush in: 530 mm\npull out: 575 mm\npush in at: 20 mm/s\n"
    )
    assert {name: value for (_, name), value in found.items()} == {
        "feeder.load_length": 530,
        "feeder.unload_length": 575,
    }


def test_what_a_hop_goes_over_is_no_extra_and_no_lift() -> None:
    found = understood("[when the nozzle hops over a gap]\nretract: 0.7 mm\nretract speed: 35 mm/s\n")
    assert {name: value for (_, name), value in found.items()} == {
        "retraction.length": 0.7,
        "retraction.speed": 35,
    }


def test_heads_by_number_are_feeders_where_the_feed_path_is_spoken_of() -> None:
    text = "".join(
        f"[feeding.head{n}]\nsteps per mm = {90 + n}\ntop speed = {30 + n}\nmicrosteps = 16\n" for n in (1, 2)
    )
    found = understood(text)
    assert {value for (_, name), value in found.items() if name == "feeder.steps_per_mm"} == {91, 92}
    assert understood("[head1]\nmax speed = 60\n[head2]\nmax speed = 50\n") == {}


@pytest.mark.parametrize("linking", ["with", "for", "in"])
def test_a_section_with_a_material_is_its_profile(linking: str) -> None:
    found = understood(f"[retraction]\nlength = 4\n[{linking} PETG]\nretraction = 4.1 mm\n")
    assert {value for (who, name), value in found.items() if "PETG" in who} == {4.1}


def test_abbreviations_are_what_their_file_says() -> None:
    text = (
        "// spm = steps per mm, mApk = milliamps PEAK, yn = 0/1\n"
        "#define spmFeeder 427\n#define mApkFeeder 1000\n#define ynFlipFeeder 1\n#define spmX 80\n#define mmRestX 5\n"
    )
    found = {name: value for (_, name), value in understood(text, "header").items()}
    assert found == {
        "feeder.steps_per_mm": 427,
        "motor.run_current": pytest.approx(0.70710678),
        "feeder.direction": 1,
        "axis.x.steps_per_mm": 80,
        "park.x": 5,
    }


def test_the_letter_f_is_a_rate_and_a_notebook_names_no_device() -> None:
    text = "; notes\nM208 S0 F1500 ; back in\n; --- notebook numbers ---\n#501 = 455 ; load, push in this many mm\n"
    found = {name: value for (_, name), value in understood(text, "command").items()}
    assert found == {"retraction.return_speed": 25, "feeder.load_length": 455}
    text = "; all in mm and mm/s\nM208 S0 F26 ; back in\n"
    assert {name: value for (_, name), value in understood(text, "command").items()} == {
        "retraction.return_speed": 26
    }


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("stepping:   # steps per mm\n  x: 100\n  y: 100\n  wire: 98.5\n", "feeder.steps_per_mm", 98.5),
        ("quickest:   # mm/min, no faster\n  x: 12000\n  y: 9000\n", "axis.x.max_speed", 200),
        ("stepping:   # counted in spring\n  x: 100\n  y: 100\n  wire: 98.5\n", "feeder.steps_per_mm", None),
        ("stepping:\n  x: 100\n  y: 100\n  wire: 98.5\n", "axis.x.max", None),
    ],
)
def test_a_remark_behind_a_heading_is_the_unit_of_the_lines_below_it(
    text: str, quantity: str, value: float | None
) -> None:
    assert read_as(text, "nested").get(quantity) == value


@pytest.mark.parametrize(
    ("key", "quantity"), [("filament diameter", "filament.diameter"), ("nozzle diameter", "nozzle.diameter")]
)
def test_a_heading_of_two_things_is_about_the_one_that_the_key_names(key: str, quantity: str) -> None:
    for head in ("filament and nozzle, mm", "nozzle and filament"):
        found = recognise([read("heron.conf", f"[{head}]\n{key} = 1.2\n".encode(), "sectioned")])
        assert [each.quantity for each in found.every_reading] == [quantity]


@pytest.mark.parametrize(
    "text",
    [
        "[tool change and retract]\nretract length = 12 ; mm\n",
        "[left and right feeder]\nfeeder steps per mm = 420\n",
        "[pump and extruder motor]\nmotor run current = 0.8 ; A rms\n",
    ],
)
def test_a_heading_of_two_other_things_is_about_both(text: str) -> None:
    assert not read_as(text)


def test_a_gear_s_ratio_below_a_heading_of_gears_is_still_the_feeder_s() -> None:
    assert read_as("[extruder and gears]\ngear ratio = 3\n") == {"feeder.gear_ratio": 3}


def test_a_minute_in_a_heading_is_neither_the_least_nor_a_temperature() -> None:
    table = '{"top_mm_min": {"x": 19200, "feed": 2700}, "coldest_feed": {"temperature": 185}}'
    assert read_as(table, "nested") == {
        "axis.x.max_speed": 320,
        "feeder.max_speed": 45,
        "feeder.min_feed_temperature": 185,
    }


def test_what_is_no_temperature_is_not_protected_as_one_but_asked() -> None:
    found = recognise([read("siskin.ini", b"[feed]\ncoldest feed = 2700\n", "sectioned")])
    assert not found.every_reading
    assert [doubt.about for doubt in found.doubts] == ["feeder.min_feed_temperature"]
