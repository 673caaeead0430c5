"""A gear ratio that stands as two numbers is written through both of them or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting
from cfgmigrate.machine.gear_pairs import count_of_teeth
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.packet.recompute import recompute
from cfgmigrate.packet.reread import unfaithful
from cfgmigrate.plan.model import Plan
from cfgmigrate.workflow.writing_out import Prepared

NAMES = {
    "command": "stint.nc",
    "sectioned": "stint.conf",
    "flat": "stint.cfg",
    "header": "stint.h",
    "nested": "stint.json",
}


def machine(text: str, dialect: str) -> Machine:
    return recognise([read(NAMES[dialect], text.encode(), dialect)])


def ratio(text: str, dialect: str) -> Reading:
    (found,) = (r for r in machine(text, dialect).readings if r.quantity == "feeder.gear_ratio")
    return found


@pytest.mark.parametrize(
    ("dialect", "text", "value"),
    [
        (
            "command",
            "; feeder: teeth on motor, teeth on wheel (1 and 1: wheel on the shaft)\nH3 P20 Q60\n",
            3.0,
        ),
        ("command", "; feeder gear ratio, driven and driving\nH3 P60 Q20\n", 3.0),
        ("command", "; feeder: teeth on the motor\nH3 P20\n; feeder: teeth on the wheel\nH4 P60\n", 3.0),
    ],
)
def test_two_counts_of_teeth_in_words_of_codes_are_one_ratio_that_a_person_sets(
    dialect: str, text: str, value: float
) -> None:
    found = ratio(text, dialect)
    assert (found.value, found.editable) == (value, False)
    assert "driving" in found.why_not


@pytest.mark.parametrize(
    ("dialect", "text", "value"),
    [
        ("sectioned", "[feeder]\nmotor gear = 20\nwheel gear = 60\n", 3.0),
        ("sectioned", "[feeder]\nmotor gear = 20\ndriven gear = 60\n", 3.0),
        ("sectioned", "[feeder]\nteeth on motor = 20\nteeth on wheel = 60\n", 3.0),
        ("flat", "e_gear_motor = 20\ne_gear_wheel = 60\n", 3.0),
        ("header", "#define E_GEAR_MOTOR 20\n#define E_GEAR_WHEEL 60\n", 3.0),
        ("nested", '{"feeder": {"gear": {"motor": 20, "wheel": 60}}}', 3.0),
    ],
)
def test_two_counts_of_teeth_are_one_ratio_and_go_together(dialect: str, text: str, value: float) -> None:
    found, read = machine(text, dialect), ratio(text, dialect)
    both = [read, *found.followers(read)]
    assert [(each.value, each.editable) for each in both] == [(value, True)] * 2
    assert {(each.form.teeth, each.text) for each in both} == {("driven", "60"), ("driving", "20")}
    assert not found.unread


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("command", "; feeder gear ratio\nH3 P1 Q3\n"),
        ("sectioned", "[feeder]\ngear ratio a = 1\ngear ratio b = 3\n"),
        ("sectioned", "[feeder]\ngear ratio in = 3\ngear ratio out = 1\n"),
        ("flat", "e_gear_ratio_up = 1\ne_gear_ratio_down = 3\n"),
    ],
)
def test_which_gear_drives_which_is_asked_where_no_word_says_it(dialect: str, text: str) -> None:
    assert not ratio(text, dialect).editable
    assert [
        d.why for d in machine(text, dialect).doubts if d.why.endswith("which gear drives which is not said")
    ]


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("command", "; feeder: gear ratio\nH3 P3\n"),
        ("command", "H3 E3 ; gear ratio\n"),
        ("sectioned", "[feeder]\ngear ratio = 3\n[feeder 2]\ngear ratio = 1\n"),
        ("flat", "e0_gear_ratio = 3\ne1_gear_ratio = 1\n"),
    ],
)
def test_a_ratio_of_one_number_is_written(dialect: str, text: str) -> None:
    found = [r for r in machine(text, dialect).readings if r.quantity == "feeder.gear_ratio"]
    assert found and all(r.editable for r in found)


FILE = """[axis x]
length_max = 200
[axis y]
length_max = 200
[feeder]
teeth on motor = {}
teeth on wheel = {}
wheel turn feeds = 31.7
microsteps = 32
full steps = 400
"""
SHEET = """old: {{drive: tube-fed}}
new:
  drive: on the carriage
  microsteps: 16
  motor: {{step_angle: 1.8 deg}}
  drive_gear: {{effective_diameter: 12 mm, gear_ratio: {}}}
"""


def prepared(desk: Path, counts: tuple[int, int], told: str, site: str = "") -> Prepared:
    (desk / "stint").mkdir()
    (desk / "stint" / "stint.conf").write_text(FILE.format(*counts))
    if site:
        (desk / "stint" / "cfgmigrate.yaml").write_text(f"site: 1\n{site}")
    (desk / "sheet.yaml").write_text(SHEET.format(told))
    return api.prepare(desk / "stint", desk / "sheet.yaml", out=desk / "packet")


def feed(plan: Plan) -> str:
    return next(each.state for each in plan.lights if each.light == "feed")


@pytest.mark.parametrize(
    ("counts", "told", "edits"),
    [
        ((1, 1), "63:9", {6: "9", 7: "63"}),
        ((17, 51), "60:9", {6: "9", 7: "60"}),
        ((17, 51), "51:11", {6: "11"}),
        ((17, 51), "64:17", {7: "64"}),
        ((17, 51), "14:5 x 2:1", {6: "5", 7: "28"}),
    ],
)
def test_a_pair_of_teeth_is_written_as_the_new_pair_with_the_feed_of_a_turn_of_the_gear(
    tmp_path: Path, counts: tuple[int, int], told: str, edits: dict[int, str]
) -> None:
    plan = prepared(tmp_path, counts, told).plan
    written = {change.quantity: change for change in plan.changes}
    assert {edit.line: edit.new for edit in written["feeder.gear_ratio"].edits} == edits
    assert written["feeder.feed_per_turn"].new.value == pytest.approx(37.7, abs=0.05), "no ratio in it"
    assert feed(plan) == "set"
    packet = read_packet(tmp_path / "packet")
    assert unfaithful(packet) == [] and recompute(packet.plan.to_json()) == []


def test_a_pair_that_is_there_already_stays(tmp_path: Path) -> None:
    plan = prepared(tmp_path, (9, 60), "60:9").plan
    assert "feeder.gear_ratio" not in {change.quantity for change in plan.changes}
    assert feed(plan) == "set"


def test_a_ratio_that_no_two_gears_make_is_written_by_hand_in_both_places(tmp_path: Path) -> None:
    plan = prepared(tmp_path, (17, 51), "6.667:1").plan
    assert "feeder.gear_ratio" not in {change.quantity for change in plan.changes}
    (asked,) = (each for each in plan.doubts if "the teeth of two gears stand here" in each.why)
    assert "Write both numbers by hand" in asked.remedy and "6.667:1" in asked.remedy
    assert "Note the two old ones first" in asked.remedy  # they were never in a packet
    assert feed(plan) == "unknown"


def test_the_words_of_two_gears_against_their_counts_are_not_written(tmp_path: Path) -> None:
    plan = prepared(tmp_path, (51, 17), "60:9").plan
    assert "feeder.gear_ratio" not in {change.quantity for change in plan.changes}
    assert feed(plan) == "unknown"


IGNORED = 'meanings: {"[feeder] teeth on motor": ignore, "[feeder] teeth on wheel": ignore}\n'


def test_gears_that_are_said_to_be_nothing_make_the_distance_per_turn_a_question(tmp_path: Path) -> None:
    plan = prepared(tmp_path, (17, 51), "60:9", IGNORED).plan
    assert "feeder.feed_per_turn" not in {change.quantity for change in plan.changes}
    assert feed(plan) == "unknown"
    (asked,) = (each for each in plan.doubts if "said to be nothing: whether" in each.why)
    assert "teeth on motor" in asked.why and "teeth on wheel" in asked.why
    assert "take" in asked.remedy and "cfgmigrate.yaml" in asked.remedy


def test_gears_of_one_to_one_are_nothing_indeed(tmp_path: Path) -> None:
    plan = prepared(tmp_path, (1, 1), "60:9", IGNORED).plan
    assert "feeder.feed_per_turn" in {change.quantity for change in plan.changes}


@pytest.mark.parametrize(
    ("dialect", "text", "gears", "value"),
    [
        ("sectioned", "[feeder]\nmotor teeth = 20\nwheel teeth = 60\n", ("driven 60", "driving 20"), 3.0),
        ("sectioned", "[feeder]\nwheel teeth = 60\nmotor teeth = 20\n", ("driven 60", "driving 20"), 3.0),
        ("sectioned", "[feeder]\nwheel teeth = 20\nmotor teeth = 20\n", ("driven 20", "driving 20"), 1.0),
    ],
)
def test_the_words_say_which_gear_drives_in_whatever_order_they_stand(
    dialect: str, text: str, gears: tuple[str, ...], value: float
) -> None:
    found = machine(text, dialect)
    each = [one for one in found.every_reading if one.quantity == "feeder.gear_ratio"]
    assert sorted(f"{one.form.teeth} {one.text}" for one in each) == list(gears)
    assert {(one.value, one.editable) for one in each} == {(value, True)}
    data = text.encode()
    assert all(data[one.start : one.end].decode() == one.text for one in each)
    assert all(text.splitlines()[one.place.line - 1][one.place.column - 1 :] == one.text for one in each)


@pytest.mark.parametrize(
    "text",
    [
        "[feeder]\nmotor teeth = 60\nwheel teeth = 20\n",
        "[feeder]\nmotor teeth = 20\nother teeth = 60\n",
        "[feeder]\nteeth a = 20\nteeth b = 60\n",
    ],
)
def test_against_their_words_or_without_them_the_larger_count_is_the_driven_gear_s_and_it_is_asked(
    text: str,
) -> None:
    found = machine(text, "sectioned")
    each = [one for one in found.every_reading if one.quantity == "feeder.gear_ratio"]
    assert [(one.value, one.editable) for one in each] in ([], [(3.0, False)])
    assert any("gear" in doubt.why for doubt in found.doubts) or not each


@pytest.mark.parametrize(
    "text",
    [
        "[feeder]\nmotor teeth = 20.5\nwheel teeth = 60\n",
        "[feeder]\nmotor teeth = 0\nwheel teeth = 60\n",
        "[feeder]\nmotor teeth = 1\nwheel teeth = 9000\n",
    ],
)
def test_counts_that_no_gears_have_are_no_ratio_and_it_is_said_how_to_write_one(text: str) -> None:
    found = machine(text, "sectioned")
    assert not [one for one in found.every_reading if one.quantity == "feeder.gear_ratio"]
    assert any("a gear ratio is read from one line" in doubt.why for doubt in found.doubts)


def test_three_gears_or_those_of_two_sections_are_no_pair() -> None:
    for text in (
        "[feeder]\nmotor teeth = 20\nwheel teeth = 60\nidler teeth = 30\n",
        "[feeder motor]\nteeth = 20\n[feeder wheel]\nteeth = 60\n",
    ):
        found = [
            one for one in machine(text, "sectioned").every_reading if one.quantity == "feeder.gear_ratio"
        ]
        assert not any(one.editable for one in found)


def test_a_ratio_that_stands_beside_the_teeth_is_the_one_that_is_read() -> None:
    text = "[feeder]\nmotor teeth = 20\nwheel teeth = 60\ngear ratio = 60:20\n"
    found = machine(text, "sectioned")
    assert [one.text for one in found.every_reading if one.quantity == "feeder.gear_ratio"] == ["60:20"]


@pytest.mark.parametrize(
    ("remark", "value", "asked"),
    [
        ("feeder gear ratio, driven and driving", 3.0, True),
        ("feeder gear ratio, driving and driven", 3.0, False),
        ("feeder gear ratio, driven", 3.0, True),
        ("feeder gear ratio, driven and driven", 3.0, True),
        ("feeder gear ratio", 3.0, True),
    ],
)
def test_a_remark_says_the_order_of_the_two_numbers_of_a_line_or_it_is_asked(
    remark: str, value: float, asked: bool
) -> None:
    found = machine(f"; {remark}\nH3 P20 Q60\n", "command")
    read = [one for one in found.every_reading if one.quantity == "feeder.gear_ratio"]
    assert all(not one.editable for one in read)
    assert [one.value for one in read] == [pytest.approx(value)]
    assert any(doubt.why.endswith("is not said") for doubt in found.doubts) is asked


@pytest.mark.parametrize(
    ("value", "count"), [("20", 20), ("1", 1), ("0", 0), ("20.5", 0), ("-3", 0), ("a", 0), ("20:60", 0)]
)
def test_a_count_of_teeth_is_a_whole_number_from_1_on(value: str, count: float) -> None:
    assert count_of_teeth(Setting("", "teeth", value, 0, 1, 1, 1)) == count


@pytest.mark.parametrize(
    ("line", "value"),
    [("H3 P1 Q9000", None), ("H3 P20 Q60 R30", 1.5), ("H3 P3", 3.0)],
)
def test_of_a_line_s_numbers_two_counts_of_teeth_are_a_ratio_or_the_first_is_one_by_itself(
    line: str, value: float | None
) -> None:
    read = machine(f"; feeder gear ratio\n{line}\n", "command").every_reading
    assert [one.value for one in read if one.quantity == "feeder.gear_ratio"] == ([value] if value else [])


@pytest.mark.parametrize(
    ("keys", "joined"),
    [
        ("gear ratio a = 1 | gear ratio b = 3", True),
        ("gear a ratio = 1 | gear b ratio = 3", True),
        ("gear ratio = 3 | teeth ratio = 1", False),
        ("gear ratio a = 1 | gear ratio b c = 3", False),
        ("gear ratio 1 = 3 | gear ratio 2 = 1", False),
    ],
)
def test_two_numbers_are_one_ratio_where_their_names_differ_in_a_word_that_is_no_gear_s(
    keys: str, joined: bool
) -> None:
    text = "[feeder]\n" + "\n".join(keys.split(" | ")) + "\n"
    why = [
        each.why_not
        for each in machine(text, "sectioned").every_reading
        if each.quantity == "feeder.gear_ratio"
    ]
    assert any("two numbers are one gear ratio" in each for each in why) is joined


def test_of_three_numbers_a_remark_s_order_of_two_says_nothing() -> None:
    found = machine("; feeder gear ratio, driving and driven\nH3 P20 Q60 R30\n", "command")
    assert any(doubt.why.endswith("is not said") for doubt in found.doubts)


def _gears(lines: str) -> list[tuple[float | None, bool, str]]:
    found = machine(f"[feeder]\nsteps per mm = 848.8\n{lines}\n", "sectioned")
    readings = [each for one in found.readings for each in (one, *found.followers(one))]
    return sorted(
        (each.value, each.editable, each.form.teeth)
        for each in readings
        if each.quantity == "feeder.gear_ratio"
    )


@pytest.mark.parametrize("seat", ["axle", "shaft", "spindle"])
def test_a_motor_s_gear_and_the_larger_one_on_a_shaft_are_written_together(seat: str) -> None:
    both = [(pytest.approx(38 / 12), True, "driven"), (pytest.approx(38 / 12), True, "driving")]
    assert _gears(f"gear motor = 12\ngear {seat} = 38") == both


@pytest.mark.parametrize(
    "lines",
    [
        "gear motor = 38\ngear axle = 12",
        "gear motor = 1\ngear axle = 1",
        "gear shaft = 12\ngear wheel = 38",
        "gear motor shaft = 12\ngear axle = 38",
        "gear motor shaft = 12\ngear shaft = 38",
    ],
)
def test_gears_of_which_the_counts_or_a_motor_s_own_shaft_leave_a_doubt_are_not_written(lines: str) -> None:
    written = {teeth for _, editable, teeth in _gears(lines) if editable}
    assert written <= {"never"}
    assert machine(f"[feeder]\nsteps per mm = 848.8\n{lines}\n", "sectioned").doubts
