"""A line that nobody understood may be the value that is looked for in vain: it is named, and nothing is read of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.teach import teachable

REST = "[feeder]\nsteps per mm = 96.5\n"
READ = "[axis z]\nhigh end = 240\n"


def found(text: str, file: str = "a.conf", dialect: str = "sectioned") -> list[tuple[str, str]]:
    machine = recognise([read(file, text.encode(), dialect)])
    return [(each.quantity, each.unread.text) for each in perhaps(machine)]


@pytest.mark.parametrize(
    "line",
    [
        "[hoist thing]\nhigh = 262",
        "[mast]\nceiling = 26.2 cm",
        "[zenith]\ngoes to = 262",
        "[room]\nwelkin = 210, 210, 252",
        "[where]\nlift = 252",
        "[frobs]\nwelkin = 262",
    ],
)
def test_a_line_with_a_height_and_no_word_for_anything_else_may_be_the_highest_z(line: str) -> None:
    assert [each for each, _ in found(REST + line)] == ["axis.z.max"]


@pytest.mark.parametrize(
    "line",
    [
        "[bed]\nhot = 245",
        "[lamp]\nlevel = 255",
        "[frobs]\nwelkin = 262 mm/s",
        "[frobs]\nwelkin = 12",
        "[frobs]\nwelkin = 214 ; how far x goes",
        "[spool]\nweight = 250",
        "[frobs]\nquick speed = 200",
        *("[frobs]\n" + "".join(f"cell{n} = {240 + n}\n" for n in range(6)),),
    ],
)
def test_a_word_for_another_thing_another_unit_or_a_table_is_no_height(line: str) -> None:
    assert not found(REST + line)


def test_a_line_that_speaks_of_height_comes_before_those_of_unknown_words() -> None:
    assert [text for _, text in found(REST + "[frobs]\nwelkin = 262\nhigh = 248\n")] == ["[frobs] high = 248"]


@pytest.mark.parametrize(
    ("ends", "third", "meant"),
    [
        ("left_right: {high: 226}\n  front_back: {high: 231}", "bed: {high: 184}", "axis.z.max"),
        ("left_right: [0, 226]\n  front_back: [0, 231]", "bed: [0, 244]", "[axis.z.min, axis.z.max]"),
    ],
)
def test_the_third_of_the_axes_lines_may_be_the_highest_z_whatever_its_words_say_and_can_be_named_so(
    ends: str, third: str, meant: str, tmp_path: Path
) -> None:
    text = f"heat:\n  bed: {{max: 110}}\ntravel:\n  {ends}\n  {third}\n".encode()
    document = read("a.yaml", text, "nested")
    (line,) = teachable(recognise([document]), {})
    assert (line.perhaps, line.meaning.partition(": ")[2]) == ("axis.z.max", meant)
    (names := tmp_path / "names.yaml").write_text(line.meaning + "\n", encoding="utf-8")
    told = recognise([document], read_names(names))
    assert {r.quantity: r.value for r in told.readings}["axis.z.max"] in (184, 244)


def test_where_the_value_was_read_no_other_line_may_be_it() -> None:
    assert not found(READ + REST + "[frobs]\nhigh = 262\n")


@pytest.mark.parametrize(
    ("line", "may"),
    [
        ("[hard stops]\nz highest = 262", True),
        ("[end stops]\nx = 0\ny = 0\nz = 262", True),
        ("[end stops]\npositions = 240, 230, 262", True),
        ("[z]\nend stops = -2, 262", True),
        ("[end stops]\npositions = 240, 230, 0", False),
        ("[end stops]\ny = 230", False),
        ("[z]\nend stop pin = 100", False),
        ("[z]\nend stop speed = 100", False),
        ("[z]\nend stop = 100 ms", False),
    ],
)
def test_where_no_highest_z_was_read_an_end_stop_of_z_may_stand_there(line: str, may: bool) -> None:
    assert bool(found(REST + line)) == may
    assert not found(f"{REST}{READ}{line}")


@pytest.mark.parametrize(("said", "light"), [("axis.z.max", ["axis.z.max"]), ("ignore", [])])
def test_and_what_it_is_can_be_said(tmp_path: Path, said: str, light: list[str]) -> None:
    document = read("a.conf", f"{REST}[hard stops]\nz highest = 262\n".encode(), "sectioned")
    (tmp_path / "names.yaml").write_text(f'"[hard stops] z highest": {said}\n')
    machine = recognise([document], read_names(tmp_path / "names.yaml"))
    assert [each.quantity for each in machine.readings if each.quantity == "axis.z.max"] == light
    assert not perhaps(machine) and not machine.doubts


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("current = 70 ; percent of 1 A", True),
        ("reference = 0.55 V", True),
        ("[axis x]\ncurrent = 70 ; percent of 1 A", False),
        ("[bed]\ncurrent = 70 ; percent of 1 A", False),
        ("[motors]\nsheaf of currents = 600, 700, 700, 820, 4", True),
        ("current = 0.8 A", False),
    ],
)
def test_a_current_that_was_not_read_may_be_the_motors(line: str, told: bool) -> None:
    assert ([each for each, _ in found(READ + REST + line)] == ["motor.run_current"]) is told


@pytest.mark.parametrize(("line", "told"), [("L7 S255", False), ("L7 S255 ; how high the head may go", True)])
def test_a_number_behind_a_code_s_letter_is_a_height_only_where_something_speaks_of_one(
    line: str, told: bool
) -> None:
    assert bool(found(f"M92 E96.5 ; steps per mm of the feeder\n{line}\n", "a.nc", "command")) is told


@pytest.mark.parametrize(
    ("key", "meant"), [("reference volts", "ignore"), ("reference", "motor.run_current")]
)
def test_a_line_in_volts_is_set_with_a_screw_and_never_offered_as_a_current(key: str, meant: str) -> None:
    machine = recognise([read("a.conf", f"{REST}motor driver {key} = 0.60\n".encode(), "sectioned")])
    (line,) = teachable(machine, {})
    assert line.meaning == f'"[feeder] motor driver {key}": {meant}'
    assert ("a screw sets it" in line.by_screw) is (meant == "ignore")


@pytest.mark.parametrize(
    ("line", "may"),
    [
        ("[lead]\nseconds = 0.55", True),
        ("[feeder]\nsqueeze_ms = 510", True),
        ("[strands]\nspring = 0.5 s", True),
        ("[filament]\npressure = 0.58", True),
        ("[door]\nspring = 0.5", False),
        ("[lead]\nmm = 0.5", False),
        ("[lead]\nseconds = 90", False),
        ("[strands]\nspring = 0.5 mm", False),
    ],
)
def test_a_time_with_a_word_that_comes_near_a_lag_may_be_the_lag(line: str, may: bool) -> None:
    assert ("lag.coefficient" in [each for each, _ in found(REST + READ + line)]) == may


@pytest.mark.parametrize("own", ["lag = 0.3\n", ""])
def test_two_letters_of_a_profile_may_be_its_lag_also_where_the_machine_has_one(own: str) -> None:
    texts = {
        "m.conf": f"{READ}[feeder]\nsteps per mm = 96\nretraction = 5\n{own}",
        **{f"filaments/{each}.conf": "retraction = 4\npa = 0.35\n" for each in ("pla", "petg", "tpu", "abs")},
    }
    machine = recognise([read(file, text.encode(), "sectioned") for file, text in texts.items()])
    asked = [each.unread.place.file for each in perhaps(machine) if each.quantity == "lag.coefficient"]
    assert len(asked) == len(texts) - 1


@pytest.mark.parametrize(
    "text",
    [
        "[gnorf]\nsteps for each mm = 754.5",
        "[x axis]\nsteps per mm = 80\n[gnorf]\ncounts a mm = 400",
    ],
)
def test_where_nothing_sets_the_feed_a_line_of_steps_for_each_mm_may_be_it(text: str) -> None:
    assert [each for each, _ in found(text) if each != "axis.z.max"] == ["feeder.steps_per_mm"]


@pytest.mark.parametrize(
    "text",
    [
        f"{REST}[gnorf]\nsteps for each mm = 754.5",
        "[bed]\ncounts for each mm = 400",
        "[gnorf]\nsteps for each mm = 3",
        "[feeder]\nmm per turn = 22.4\n[gnorf]\nsteps for each mm = 754.5",
    ],
)
def test_beside_a_feed_that_is_read_or_of_another_part_it_is_not(text: str) -> None:
    assert "feeder.steps_per_mm" not in [each for each, _ in found(text)]


def test_what_is_counted_for_each_mm_is_no_height() -> None:
    text = "M7301 X80 Y80.12 Z400 U541.3 V548.2 ; counts per mm\n"
    told = found(f"; U wheel west, V wheel east\n{text}", dialect="command")
    assert {each for each, _ in told} <= {"feeder.steps_per_mm"}
