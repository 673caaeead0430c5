"""A number behind a name of its own is edited only where nothing else goes by that name."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read as read_any
from cfgmigrate.dialects.header import read
from cfgmigrate.dialects.sectioned import read as sections
from cfgmigrate.machine.constants import NUMBER_OF
from cfgmigrate.machine.recognise import recognise

LINES = """\
#define REACH 90            // mm, as the bench says
#define LONGEST_FEED_LENGTH REACH
#define FEEDER_STEPS_PER_MM 97.5
#define AXIS_X_MAX 210
#define AXIS_Y_MAX 200
"""


def longest_feed(more: str):
    machine = recognise([read("a.h", (LINES + more).encode())])
    (reading,) = [each for each in machine.readings if each.quantity == "feeder.max_feed_length"]
    return reading


@pytest.mark.parametrize(
    "more",
    ["", "// REACH is the bench's\n", "#ifndef REACH\n#endif\n", "#if defined(REACH)\n#endif\n"],
)
def test_a_number_that_one_line_alone_goes_by_is_edited_where_it_stands(more: str) -> None:
    reading = longest_feed(more)
    assert (reading.editable, reading.place.line, reading.text) == (True, 1, "90")


@pytest.mark.parametrize(
    "more",
    [
        "#define HOTTEST_NOZZLE (REACH*3)\n",
        "#define WHEEL_COUNT REACH\n",
        "#if REACH > 80\n#endif\n",
        "static const int wait = REACH / 3;\n",
        "#define FURTHER \\\n  (10 + REACH)\n",
        "#define PUSH(x) ((x) + REACH)\n",
    ],
)
def test_a_number_that_anything_else_goes_by_is_shown_and_not_edited(more: str) -> None:
    reading = longest_feed(more)
    assert (reading.editable, reading.value) == (False, 90.0)
    assert reading.why_not == f"{NUMBER_OF}REACH, which line 6 of a.h uses too"


def test_a_name_between_the_two_counts_too() -> None:
    more = "#define BENCH REACH\n#undef LONGEST_FEED_LENGTH\n#define LONGEST_FEED_LENGTH BENCH\n#define OTHER (2*BENCH)\n"
    assert longest_feed(more).why_not == f"{NUMBER_OF}BENCH, which line 9 of a.h uses too"


@pytest.mark.parametrize(
    ("value", "editable"),
    [
        ("${feeder:longest feed}", False),
        ("%(longest feed)s", False),
        ("${feeder:Longest_Feed}", False),
        ("${bed:longest feed}", True),
        ("278", True),
    ],
)
def test_a_number_that_a_reference_elsewhere_takes_is_not_edited(value: str, editable: bool) -> None:
    text = f"[feeder]\nlongest feed = 520\n[axis x]\nmax = 210\n[heater]\nmax temperature = {value}\n"
    reading = recognise([sections("a.conf", text.encode())]).get("feeder.max_feed_length")
    assert (reading.value, reading.editable) == (520, editable)


def test_a_formula_of_the_files_own_names_is_not_to_be_written_out_as_a_number() -> None:
    text = "#define E_TURN 3200\n#define E_FEED 22.1\n#define FEEDER_STEPS_PER_MM (E_TURN / E_FEED)\n"
    doubt = next(
        each
        for each in recognise([read("feed.h", text.encode(), "header")]).doubts
        if "plain number" in each.why
    )
    assert "follows by itself where its parts (E_TURN, E_FEED) are changed" in doubt.remedy
    alone = recognise([read("feed.h", b"#define FEEDER_STEPS_PER_MM (3200 / E_FEED)\n", "header")])
    (doubt,) = alone.doubts
    assert "would no longer follow what it is made of" in doubt.remedy
    (doubt,) = recognise([sections("a.conf", b"[feeder]\nlongest feed = 9 mm3 a second\n")]).doubts
    assert '"[feeder] longest feed": ignore' in doubt.remedy


ALIASED = b"""\
feeders:
  left:
    lag seconds: 0.5
    retraction: &pull
      length: 4.8
      speed: 45
  right:
    lag seconds: 0.5
    retraction: *pull
"""


def test_a_flow_of_plastic_is_neither_the_longest_feed_nor_the_fastest() -> None:
    found = recognise([sections("a.conf", b"[plastic]\nname = grey\nhot = 212\nmost = 7 mm3/s\n")])
    assert not found.doubts and not [each for each in found.readings if each.quantity.startswith("feeder")]


def test_a_value_that_an_alias_brings_in_is_read_for_both_and_edited_for_none() -> None:
    machine = recognise([read_any("a.yaml", ALIASED)])
    found = {
        (str(each.holder), each.quantity): (each.value, each.place.line, each.editable)
        for each in machine.every_reading
        if each.quantity.startswith("retraction")
    }
    assert found == {
        ("feeder 1", "retraction.length"): (4.8, 5, False),
        ("feeder 1", "retraction.speed"): (45, 6, False),
        ("feeder 2", "retraction.length"): (4.8, 9, False),
        ("feeder 2", "retraction.speed"): (45, 9, False),
    }
    assert all(each.why_not.startswith(NUMBER_OF) for each in machine.readings if not each.editable)
    assert sum(each.editable for each in machine.readings) == 2


def test_an_anchor_that_no_alias_takes_up_keeps_nothing_from_being_edited() -> None:
    machine = recognise([read_any("a.yaml", ALIASED.replace(b"*pull", b"{length: 5, speed: 45}"))])
    assert all(each.editable for each in machine.readings)
