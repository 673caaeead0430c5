"""What a file says at its top of the units of names that end or begin alike is the unit of each such name."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise

LINES = "#define RETRACT_Q 480\n#define RETRACT_V 2700\n#define Z_MAX_Q 20000\n#define FEED_TALLY 93000L\n"


def machine(head: str, lines: str = LINES) -> Machine:
    return recognise([read("knot.h", f"{head}\n{lines}".encode(), "header")])


@pytest.mark.parametrize(
    "head",
    [
        "/* whole numbers\n   _Q  hundredths of a mm   (250 = 2.5 mm)\n   _V  mm a minute\n   TALLY  motor steps to one METRE */",
        "// names that end in _Q are hundredths of a mm.\n// all ..._V in mm/min\n// TALLY = steps per metre",
    ],
)
def test_what_a_legend_says_of_an_ending_is_the_unit_of_each_name_that_has_it(head: str) -> None:
    found = machine(head)
    assert {each.quantity: each.value for each in found.every_reading} == {
        "retraction.length": 4.8, "retraction.speed": 45, "axis.z.max": 200, "feeder.steps_per_mm": 93,
    }  # fmt: skip


@pytest.mark.parametrize("line", ["#define PARK_X_Q -400", "#define RETRACT_Q 480"])
def test_an_ending_whose_legend_names_no_known_unit_is_asked_about_with_its_line(line: str) -> None:
    found = machine("// knots\n// _Q  our own hundredths", line)
    assert not found.readings
    (doubt,) = found.doubts
    assert "line 2 says what _Q is" in doubt.why
    assert "so 4.8 mm" in doubt.remedy or "so -4 mm" in doubt.remedy
    assert doubt.remedy.index("unit: mm/100") < doubt.remedy.index("ignore")


def test_a_number_that_is_right_in_another_common_unit_is_asked_about_with_it_first() -> None:
    (doubt,) = machine("", "#define RETRACT 480\n").doubts
    assert "not plausible" in doubt.why
    assert doubt.remedy.index("unit: mm/100") < doubt.remedy.index("ignore")


@pytest.mark.parametrize("head", ["", "// PIN_Q is the paper's", "// _Q is what it is called"])
def test_a_remark_of_no_measure_is_no_legend(head: str) -> None:
    assert [each.value for each in machine(head, "#define PARK_X_Q -4\n").readings] in ([], [-4])


def test_what_one_header_says_of_an_ending_is_asked_of_a_name_that_is_taught_in_another(
    tmp_path: Path,
) -> None:
    texts = {
        "knot.h": "// _H  hundredths of a mm\n#define RETRACT_H 480\n",
        "far.h": "#define REST_X_H -4\n#define REST_Y_H -3\n",
    }
    (tmp_path / "names.yaml").write_text("REST_X_H: park.x\nREST_Y_H: {quantity: park.y, unit: mm}\n")
    documents = [read(path, text.encode(), "header") for path, text in texts.items()]
    found = recognise(documents, read_names(tmp_path / "names.yaml"))
    assert {each.quantity: each.value for each in found.every_reading} == {
        "retraction.length": 4.8,
        "park.y": -3,
    }
    (doubt,) = [each for each in found.doubts if each.place.file == "far.h"]
    assert "line 1 of knot.h says what _H is" in doubt.why


@pytest.mark.parametrize(
    ("head", "line", "value"),
    [
        ("# on the display names that end in _len are mm/10", "retraction_len = 1.2", 1.2),
        ("# the old board had names ending in _len in cm; this one has mm", "retraction_len = 1.2", 1.2),
        ("# every print begins with feeding 20 mm", "feeding steps per mm = 95", 95),
        ("# STEPS   steps per mm", "feeder FULL_STEPS = 200", 200),
        ("# FEEDER: A", "max_speed_FEEDER = 60", 60),
        ("# RETRACT: mm", "speed_RETRACT = 40", 40),
        ("# ..._current: mA rms", "feeder run_current = 900", 0.9),
        ("# ..._current: mA\n# ..._a: ampere", "feeder hold_a = 0.4", 0.4),
        ("# _u  µm", "retraction_length_u = 4800", 4.8),
        (
            "# whole numbers, no points: names that end in _h are hundredths of a mm (not tenths)",
            "retraction_length_h = 480",
            4.8,
        ),
        ("# _l  lengths in mm", "retraction_l = 5", 5),
        ("# names that end in _v are speeds in mm/min", "retraction_speed_v = 2400", 40),
    ],
)
def test_what_is_said_of_another_place_measure_or_print_is_no_legend(
    head: str, line: str, value: float
) -> None:
    found = recognise([read("knot.conf", f"{head}\n[feeder]\n{line}\n".encode(), "sectioned")])
    assert [each.value for each in found.every_reading] == [value]


@pytest.mark.parametrize(
    "head",
    ["_len is no longer cm", "_ln is no longer mm/10", "on the display names that end in _len are in cm"],
)
def test_a_legend_that_is_denied_is_asked_about_and_the_usual_unit_is_offered_too(head: str) -> None:
    key = "length_ln" if "_ln" in head else "len"
    text = f"# {head}\n[feeder]\nretraction_{key} = 1.2\n"
    found = recognise([read("knot.conf", text.encode(), "sectioned")])
    (doubt,) = found.doubts
    assert not found.readings
    assert "with unit: mm" in doubt.remedy or "if it is in mm, so 1.2 mm" in doubt.remedy[:70]


@pytest.mark.parametrize(
    "head",
    [
        "_h  hundredths of a mm; not any more",
        "_h  hundredths of a mm (not in this file)",
        "_h  hundredths of a mm, mm for retractions",
        "_h  hundredths of a mm\n# but not for retractions",
        "_h  mm/100, unless it is a retraction",
        "_h  mm/100 (?)",
        "names that end in _h are hundredths of a mm. Not true since May",
        "Not so: names that end in _h are hundredths of a mm",
        "unless it ends in _h, mm/100",
        "on the display names that end in _h are mm/100",
    ],
)
def test_a_legend_that_is_denied_around_in_doubt_or_for_some_is_asked_about(head: str) -> None:
    """Believed, it makes 0.048 mm of a retraction."""
    text = f"# {head}\n[feeder]\nretraction_length_h = 4.8\n"
    found = recognise([read("knot.conf", text.encode(), "sectioned")])
    (doubt,) = found.doubts
    assert not found.readings and "line 1 says what _H is" in doubt.why


@pytest.mark.parametrize(
    "head",
    [
        "no decimals: _h  hundredths of a mm",
        "_h  hundredths of a mm, never tenths",
        "_h  hundredths of a mm (250 for 2.5 mm)",
        "_h  hundredths of a mm\n# no comma in here",
    ],
)
def test_what_is_denied_of_points_or_other_units_takes_nothing_from_a_legend(head: str) -> None:
    text = f"# {head}\n[feeder]\nretraction_length_h = 480\n"
    found = recognise([read("knot.conf", text.encode(), "sectioned")])
    assert [each.value for each in found.readings] == [4.8]


def test_a_word_of_the_trade_in_the_head_of_another_file_speaks_of_that_file() -> None:
    texts = {
        "knot.h": "#define FEEDER_MAX_SPEED 60\n",
        "lamp.h": "// SPEED: mm/min\n#define LAMP_SPEED 300\n",
    }
    found = recognise([read(path, text.encode(), "header") for path, text in texts.items()])
    assert [(each.place.file, each.value) for each in found.every_reading] == [("knot.h", 60)]
