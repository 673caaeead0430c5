"""What a remark states of the value beside it: a unit, rms or peak, a share, and in which words."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.stated import in_units, stated, states_anything


@pytest.mark.parametrize(
    ("remark", "unit", "qualifier", "words"),
    [
        ("mm/min", "mm/min", "", "mm/min"),
        ("in mm/s", "mm/s", "", "in mm/s"),
        ("mA rms", "mA", "rms", "mA rms"),
        ("mA, peak", "mA", "peak", "mA peak"),
        ("A, effective", "A", "rms", "A effective"),
        ("mA eff. by the sheet", "mA", "rms", "mA eff by the sheet"),
        ("eff. diameter of the gear", "", "", "eff"),
        ("A r.m.s.", "", "rms", "A r.m.s"),
        ("winding current A rms", "A", "rms", "winding current A rms"),
        ("winding A rms of feeder A peak", "", "rms or peak", "winding A rms of feeder A peak"),
        ("effective diameter of the gear", "", "", "effective diameter of the gear"),
        ("A, not rms", "A", "", "A not rms"),
        ("A, rms and peak", "A", "rms or peak", "A rms and peak"),
        ("A, peak = 1.4 times rms", "A", "", "A peak"),
        ("how fast, slowly, mm/s", "mm/s", "", "how fast"),
        ("how fast, slowly, and not, mm/s", "", "", "how fast"),
        ("5 min without moving", "", "", "5 min without moving"),
        ("minutes", "min", "", "minutes"),
        ("min idle", "min", "", "min idle"),
        ("min speed", "", "", "min speed"),
        ("length in mm", "mm", "", "length in mm"),
        ("length of mm", "mm", "", "length of mm"),
        ("turns in s", "s", "", "turns in s"),
        ("turns s", "", "", "turns s"),
        ("steps per mm", "1/mm", "", "steps per mm"),
        ("a b c d e f g h i", "", "", "a b c d e f g h i"),
        ("a b c d e f g h i j", "", "", ""),
        ("measured to 1/100 mm", "mm", "", "measured to 1/100 mm"),
        ("mm, the length", "mm", "", "mm the length"),
        ("mm, the length of the tube", "mm", "", "mm"),
        ("", "", "", ""),
        ("speed = 40", "", "", ""),
        ("A9 C400", "", "", ""),
    ],
)
def test_a_remark_states_a_unit_and_rms_or_peak_and_what_its_first_words_are(
    remark: str, unit: str, qualifier: str, words: str
) -> None:
    found = stated(remark)
    assert (found.unit.name if found.unit else "", found.qualifier, found.words) == (unit, qualifier, words)


@pytest.mark.parametrize(
    ("text", "anything"),
    [("in mm", True), ("(A)", True), ("effective", True), ("r.m.s.", True), ("peak", True), ("A man", False), ("", False),
     ("effective length", False)],
)  # fmt: skip
def test_a_text_states_a_unit_or_what_a_current_is(text: str, anything: bool) -> None:
    assert states_anything(text) is anything


@pytest.mark.parametrize(
    ("text", "read_as"),
    [
        ("in thousandths of an ampere", "in mA"),
        ("thousandths of a second", "ms"),
        ("thousandth of one amp", "mA"),
        ("thousandths of amperes", "mA"),
        ("thousandths of an inch", "thousandths of an inch"),
        ("mm in a second", "mm per second"),
        ("steps for each mm", "steps per mm"),
        ("mm to the minute", "mm per minute"),
        ("mm A MINUTE here, acceleration mm/s2", "mm per minute here, acceleration mm/s2"),
        ("mm a Second", "mm per second"),
        ("steps a mm  X Y Z E", "steps per mm  X Y Z E"),
        ("the bed steps a mm down", "the bed steps a mm down"),
        ("cubic mm a minute", "cubic mm a minute"),
        ("feeds 4 mm a minute later", "feeds 4 mm a minute later"),
        ("feeds 4 mm a second time", "feeds 4 mm a second time"),
        ("mm/s, gained in a second", "mm/s^2"),
        ("mm per second more every second", "mm/s^2"),
        ("cubic mm in a second", "cubic mm in a second"),
        ("from 5 mm in every direction", "from 5 mm in every direction"),
        ("mm/s, in a second pass", "mm/s, in a second pass"),
    ],
)
def test_units_in_words_are_those_units(text: str, read_as: str) -> None:
    assert in_units(text) == read_as


@pytest.mark.parametrize(
    ("remark", "read_"),
    [
        ("share", False),
        ("a share of the run current", False),
        ("A", True),
        ("A, share it with the team", True),
    ],
)
def test_a_number_whose_remark_calls_it_a_share_is_no_current(remark: str, read_: bool) -> None:
    text = f"[feeder]\nsteps per mm = 96\nrun current = 0.8 A rms\nhold current = 0.5 # {remark}\n"
    machine = recognise([read("m.conf", text.encode(), "sectioned")])
    assert ("motor.hold_current" in {each.quantity for each in machine.readings}) is read_


@pytest.mark.parametrize(
    "behind", ["of the running current", "as a part of the running current", "times run"]
)
def test_a_part_of_the_running_current_is_no_current(behind: str) -> None:
    text = f"[feeder motor]\nrun current = 0.7 ; A rms\nhold current = 0.5 ; {behind}\n"
    found = recognise([read("m.conf", text.encode(), "sectioned")]).readings
    assert [each.quantity for each in found] == ["motor.run_current"]


def test_speeds_that_a_head_counts_by_the_minute_are_read_so() -> None:
    """`mm A MINUTE` of the speeds is no unit of the lengths and of the accelerations beside them."""
    head = "; kept by the board\n; lengths mm, speeds mm A MINUTE here, accelerations mm/s2\n"
    text = head + "[retract]\nlength = 5.6\nspeed = 2700\n"
    found = recognise([read("kept.conf", text.encode(), "sectioned")])
    speed, length = found.get("retraction.speed"), found.get("retraction.length")
    assert speed is not None and speed.value is not None and round(speed.value, 6) == 45 and speed.editable
    assert length is not None and length.value == 5.6
