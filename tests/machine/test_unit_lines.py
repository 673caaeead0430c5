"""Lines that state the unit of others: how far they reach, and what is asked where that is open."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import DIALECTS
from cfgmigrate.dialects.sectioned import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.number_units import UNIT_OF_ITS_PLACE
from cfgmigrate.machine.recognise import recognise

BODY = "[z]\nmax = 25.2\n[retraction]\nlength = 0.55\n[feeder]\nsteps per mm = 96.5\n"


def machine_of(head: str, body: str = BODY) -> Machine:
    return recognise([read("t.conf", f"{head}\n{body}".encode())])


@pytest.mark.parametrize(
    "head",
    [
        "[general]\nlength unit = cm",
        "[general]\nmeasures = cm, s, A",
        "[machine]\nlengths in = cm",
        "units = cm",
        "unit of length: centimetres",
        "[units]\nlength = 1 cm",
        "[basics]\nunits = cm and A",
    ],
)
def test_a_line_about_the_whole_file_states_the_unit_of_all_its_lengths(head: str) -> None:
    machine = machine_of(head)
    assert machine.get("retraction.length").value == pytest.approx(5.5)
    assert machine.get("axis.z.max").value == pytest.approx(252)
    assert machine.get("feeder.steps_per_mm").value == 96.5


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("header", "#define LENGTH_UNIT cm\n#define RETRACTION_LENGTH 0.55\n"),
        ("flat", "general.length_unit=cm\nretraction.length=0.55\n"),
        ("nested", '{"general": {"length unit": "cm"}, "retraction": {"length": 0.55}}'),
    ],
)
def test_it_does_so_in_every_dialect(dialect: str, text: str) -> None:
    (machine,) = (recognise([DIALECTS[dialect].read("t", text.encode())]),)
    assert machine.get("retraction.length").value == pytest.approx(5.5)


@pytest.mark.parametrize("units", ["mm, mm/s, mA", "mm"])
def test_units_at_the_top_of_a_nested_file_are_not_those_of_every_number_beside_them(units: str) -> None:
    text = f'{{"units": "{units}", "lag": 0.48, "retraction": {{"length": 5.5}}}}'
    machine = recognise([DIALECTS["nested"].read("t", text.encode())])
    assert machine.get("lag.coefficient").value == 0.48


def test_in_a_section_of_one_thing_it_is_of_that_section_and_by_a_thing_s_name_of_that_thing() -> None:
    within = machine_of("", "[z]\nmax = 252\n[retraction]\nunit = cm\nlength = 0.55\n")
    named = machine_of("", "retraction unit = cm\nretraction length = 0.55\nz max = 252\n")
    for machine in (within, named):
        assert machine.get("retraction.length").value == pytest.approx(5.5)
        assert machine.get("axis.z.max").value == 252


@pytest.mark.parametrize(
    "head",
    [
        "[machine]\nunit of length = tenths of a mm",
        "[units]\nlength = 0.1 mm",
        "[qux]\nunits = inch",
        "[general]\nimperial = yes",
        "[general]\nmetric = no",
        "[general]\nlength unit = 2",
        "[general]\nworking unit = cm",
        "# all in mm\nunits = cm",
        "units = cm\nlength unit = inch",
    ],
)
def test_what_can_t_be_taken_so_makes_each_length_a_question(head: str) -> None:
    machine = machine_of(head)
    assert machine.get("retraction.length") is None
    assert machine.get("axis.z.max") is None
    assert {"retraction.length", "axis.z.max"} <= set(machine.in_doubt)
    assert machine.get("feeder.steps_per_mm").value == 96.5


@pytest.mark.parametrize(
    "head",
    ["[display]\nunits = inch", "[general]\nunits = mm", "[general]\nmetric = yes", "unit = 2", "edge = in"],
)
def test_units_of_something_else_and_those_that_are_usual_leave_all_lengths_as_they_are(head: str) -> None:
    assert machine_of(head).get("retraction.length").value == 0.55


def test_below_other_lengths_a_speed_and_steps_that_name_no_mm_are_questions() -> None:
    machine = machine_of("units = cm", "[feeder]\nsteps = 965\n[retraction]\nlength = 0.55\nspeed = 40\n")
    assert [each.quantity for each in machine.readings] == ["retraction.length"]


def test_a_number_that_is_nothing_plausible_in_the_stated_unit_is_not_read_in_mm() -> None:
    assert machine_of("units = cm", "[z]\nmax = 1520\n").in_doubt["axis.z.max"].line == 3


def test_the_lengths_of_a_file_beside_it_that_states_none_are_questions() -> None:
    machine = recognise([read("a.conf", b"units = cm\n"), read("b.conf", BODY.encode())])
    doubt = next(each for each in machine.doubts if each.about == "retraction.length")
    assert doubt.why.startswith("a.conf says lengths in cm")


def test_a_length_in_an_opening_remark_states_no_unit_of_the_file() -> None:
    assert machine_of("# a tube of 45 cm").get("retraction.length").value == 0.55


@pytest.mark.parametrize(
    ("text", "read_as"),
    [
        ("[drive unit]\nretract length = 5\nload length = 90 mm\n", {"retraction.length": 5, "feeder.load_length": 90}),
        ("[feeder]\ntravel speed = 9000\nunit = mm/min\nretract speed = 180\nunit = mm/s\n", {}),
        ("[speeds]\nunit = mm/min\ntravel = 9000\n[retraction]\nspeed = 30\n", {"retraction.speed": 30}),
    ],
)  # fmt: skip
def test_a_length_of_a_drive_unit_states_no_unit_two_of_speed_settle_none_and_one_of_a_part_is_of_that(
    text: str, read_as: dict[str, float]
) -> None:
    found = recognise([read("a.conf", ("[axis x]\nmaximum = 210\n" + text).encode())]).readings
    wanted = ("retraction.length", "feeder.load_length", "retraction.speed")
    assert {each.quantity: each.value for each in found if each.quantity in wanted} == read_as


def test_a_zero_is_not_written_where_any_other_number_in_its_place_would_be_asked_for_its_unit() -> None:
    machine = machine_of("units = mm unless the name says so", "[room]\nx = [0, 235]\n")
    lowest = machine.get("axis.x.min")
    assert lowest.value == 0
    assert not lowest.editable
    assert lowest.why_not == UNIT_OF_ITS_PLACE
    assert machine_of("units = mm", "[room]\nx = [0, 235]\n").get("axis.x.min").editable


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("nested", '{"units": "mm, mA peak", "drive": {"run_ma": 1450}}'),
        ("nested", "units: mA (peak)\ndrive:\n  run_ma: 1450\n"),
        ("sectioned", "units = mm, mm/s, mA peak\n[drive]\nrun ma = 1450\n"),
        ("sectioned", "[general]\nunits = mA peak\n[drive]\nrun ma = 1450\n"),
        ("flat", "units=A peak, mm\ndrive.run_ma=1450\n"),
        ("header", '#define UNITS "mm, mA peak"\n#define DRIVE_RUN_MA 1450\n'),
    ],
)
def test_peak_behind_the_unit_of_currents_holds_however_few_units_the_line_has(
    dialect: str, text: str
) -> None:
    machine = recognise([DIALECTS[dialect].read("t", text.encode())])
    assert machine.get("motor.run_current").value == pytest.approx(1.45 / 2**0.5)
    assert not machine.doubts


@pytest.mark.parametrize(
    "text",
    [
        "[general]\nunits = mm, mA\n[drive]\nrun ma = 900\n",
        "[general]\nunits = mA peak, rms A\n[drive]\nrun ma = 900\n",
        "[x]\nunits = mA peak\n[drive]\nrun ma = 900\n",
        "[blorp]\nunits = mA peak\n[drive]\nrun ma = 900\n",
        "hours = peak\n[drive]\nrun ma = 900\n",
        "[general]\nunits = not mA peak\n[drive]\nrun ma = 900\n",
        "; currents mA rms\n[general]\nunits = mm, mA peak\n[drive]\nrun ma = 900\n",
    ],
)
def test_it_is_asked_still_whether_a_current_is_rms_where_no_line_says_it_of_that_one(text: str) -> None:
    machine = recognise([read("t.conf", text.encode())])
    assert machine.get("motor.run_current").value == pytest.approx(0.9)
    assert any("RMS or peak" in each.why for each in machine.doubts)
