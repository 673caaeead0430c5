"""What a value says: its unit, its span, and when it is a doubt instead of a reading."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import readable
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import all_quantities, facts
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.spots import byte_offset


def machine(text: str | bytes, path: str = "wren.ini", dialect: str = "sectioned") -> Machine:
    return recognise([read(path, text.encode() if isinstance(text, str) else text, dialect)])


def value(text: str, quantity: str) -> float:
    found = machine(text).get(quantity)
    assert found is not None and found.value is not None
    return found.value


@pytest.mark.parametrize(
    ("line", "quantity", "expected"),
    [
        ("run current rms = 450 mA", "motor.run_current", 0.45),
        ("run current rms ma = 450", "motor.run_current", 0.45),
        ("run current rms = 0.45", "motor.run_current", 0.45),
        ("run current rms = 0.45 A", "motor.run_current", 0.45),
        ("current peak ma = 640", "motor.run_current", 0.640 / math.sqrt(2)),
        ("peak current = 1.2 A", "motor.run_current", 1.2 / math.sqrt(2)),
        ("hold current = 200 mA", "motor.hold_current", 0.2),
        ("run current = 0.45 A rms", "motor.run_current", 0.45),
        ("run current = 640 mA PEAK", "motor.run_current", 0.640 / math.sqrt(2)),
        ('run current = "640mA peak"', "motor.run_current", 0.640 / math.sqrt(2)),
        ("sense resistor = 110 mΩ", "motor.sense_resistor", 0.11),
        ("retract speed = 30 mm/s", "retraction.speed", 30.0),
        ("retract speed = 1800 mm/min", "retraction.speed", 30.0),
        ("retract speed = 1800 mm per minute", "retraction.speed", 30.0),
        ("retract speed = 3 cm per second", "retraction.speed", 30.0),
        ("retract speed mm/min = 1800", "retraction.speed", 30.0),
        ("retract speed mm s = 30", "retraction.speed", 30.0),
        ("flow lag = 0.05 s", "lag.coefficient", 0.05),
        ("flow lag = 50 ms", "lag.coefficient", 0.05),
        ("lag averaging ms = 46", "lag.averaging", 0.046),
        ("step angle = 1.8", "feeder.full_steps", 200.0),
        ("step angle deg = 0.9", "feeder.full_steps", 400.0),
        ("step angle deg = 7.5", "feeder.full_steps", 48.0),
        ("full steps = 200", "feeder.full_steps", 200.0),
        ("whole steps = 400 /rev", "feeder.full_steps", 400.0),
        ("divisor = 32", "feeder.microsteps", 32.0),
        ("amperes rms = 0.45", "motor.run_current", 0.45),
        ("um per step = 2.4", "feeder.steps_per_mm", 1 / 0.0024),
        ("gear ratio = 46:15", "feeder.gear_ratio", 46 / 15),
        ("gear ratio = 46:15 x 3:1", "feeder.gear_ratio", 138 / 15),
        ("gear ratio = 3", "feeder.gear_ratio", 3.0),
        ("turn length = 2.2 cm", "feeder.feed_per_turn", 22.0),
        ("microsteps = 16", "feeder.microsteps", 16.0),
        ("direction = reversed", "feeder.direction", 1.0),
        ("direction = -1", "feeder.direction", 1.0),
        ("reversed = no", "feeder.direction", 0.0),
        ("invert direction = 1", "feeder.direction", 1.0),
        ('max speed = "70"', "feeder.max_speed", 70.0),
        ("max accel = 2 m/s²", "feeder.max_acceleration", 2000.0),
    ],
)
def test_a_value_is_read_in_the_unit_that_key_or_value_state(
    line: str, quantity: str, expected: float
) -> None:
    found = machine(f"[feeder]\n{line}\n")
    assert value(f"[feeder]\n{line}\n", quantity) == pytest.approx(expected, rel=1e-12)
    assert found.doubts == ()


@pytest.mark.parametrize(
    ("line", "quantity", "expected", "unit"),
    [
        ("run current rms = 450", "motor.run_current", 0.45, "mA"),
        ("retract speed = 1800", "retraction.speed", 30.0, "mm/min"),
        ("max speed = 3000", "feeder.max_speed", 50.0, "mm/min"),
        ("flow lag = 40", "lag.coefficient", 0.04, "ms"),
        ("full steps = 1.8", "feeder.full_steps", 200.0, "deg"),
        ("mm per step = 0.0024", "feeder.steps_per_mm", 1 / 0.0024, "mm per step"),
    ],
)
def test_where_only_another_unit_is_plausible_it_is_taken_and_a_doubt_says_so(
    line: str, quantity: str, expected: float, unit: str
) -> None:
    found = machine(f"[feeder]\n{line}\n")
    reading = found.get(quantity)
    assert reading is not None and reading.value == pytest.approx(expected)
    (doubt,) = found.doubts
    assert (doubt.place.line, unit in doubt.why) == (2, True)
    assert f"unit: {unit}" in doubt.remedy


@pytest.mark.parametrize(
    ("line", "quantity", "why"),
    [
        ("retract speed = 150", "retraction.speed", "mm/s or mm/min"),
        ("max speed = 300", "feeder.max_speed", "mm/s or mm/min"),
        ("turn length = 4000", "feeder.feed_per_turn", "not plausible"),
        ("run current rms = 12", "motor.run_current", "not plausible"),
        ("run current rms = 450 A", "motor.run_current", "not plausible"),
        ("run current rms ma = 0.45", "motor.run_current", "not plausible"),
        ("run current rms ma = 0.45 A", "motor.run_current", "the key says mA"),
        ("microsteps = 15", "feeder.microsteps", "power of two"),
        ("retract length = 4.2 s", "retraction.length", "can't be in s"),
        ("retract length = 50 %", "retraction.length", "does not say of what"),
        ("retract length = 4 + 1", "retraction.length", "plain number"),
        ("retract length =", "retraction.length", "no value"),
        ("turn length = 22, 23, 24, 25, 26, 27, 28, 29, 30, 31", "feeder.feed_per_turn", "a list"),
        ("full steps = 200 Hz", "feeder.full_steps", "can't be in Hz"),
        ("direction = 1", "feeder.direction", "which way round"),
        ("direction = left", "feeder.direction", "which way round"),
        ("step angle = 0", "feeder.full_steps", "zero"),
        ("step angle = 8.89", "feeder.full_steps", "whole number"),
        ("full steps = 40.5", "feeder.full_steps", "whole number"),
        ("gear ratio = 1:50", "feeder.gear_ratio", "not plausible"),
        ("sense = 1", "motor.sense_resistor", "not plausible"),  # which way it turns
    ],
)
def test_a_value_that_can_be_read_in_two_ways_or_in_none_is_a_doubt_and_no_reading(
    line: str, quantity: str, why: str
) -> None:
    found = machine(f"[feeder]\n{line}\n")
    assert found.get(quantity) is None
    assert any(why in doubt.why and doubt.place.line == 2 for doubt in found.doubts), found.doubts


def test_a_current_that_does_not_say_rms_or_peak_is_taken_as_rms_and_doubted() -> None:
    found = machine("[feeder]\nrun current = 0.45\n")
    reading = found.get("motor.run_current")
    assert reading is not None and reading.value == 0.45
    (doubt,) = found.doubts
    assert "RMS or peak" in doubt.why and "unit: A rms" in doubt.remedy


@pytest.mark.parametrize(
    ("line", "value", "doubts"),
    [
        ("run current = 0.45 ; effective, says the board", 0.45, 0),
        ("run current = 0.45 ; A effective", 0.45, 0),
        ("run current = 0.45 ; not effective", 0.45, 1),
        ("run current = 0.45 ; effective from May on", 0.45, 1),
        ("run current = 1 ; A peak, 0.71 effective", 1, 1),
        ("run current = 1 ; A amplitude", 0.7071067811865476, 0),
        ("run current = 1 ; amplitude of the ringing 2", 1, 1),
        ("run current = 1 ; a belt amplitude of 2", 1, 1),
    ],
)
def test_a_remark_that_calls_a_current_effective_or_an_amplitude_says_rms_or_peak(
    line: str, value: float, doubts: int
) -> None:
    found = machine(f"[feeder]\n{line}\n")
    reading = found.get("motor.run_current")
    assert reading is not None and reading.value == value
    assert len(found.doubts) == doubts


def test_zero_is_zero_in_every_unit() -> None:
    found = machine("[feeder]\nflow lag = 0\nretract length = 0.0\n")
    assert [reading.value for reading in found.readings] == [0.0, 0.0]
    assert found.doubts == ()


@pytest.mark.parametrize(
    ("text", "quantity", "expected"),
    [
        ("[feeder]\nrun current rms = 450 mA\n", "motor.run_current", "450"),
        ("[feeder]\ngear ratio = 46:15 x 3:1  # two pairs\n", "feeder.gear_ratio", "46:15 x 3:1"),
        ('[feeder]\nmax speed = "70 mm/s"\n', "feeder.max_speed", "70"),
        ("[axes]\nsteps per mm = 88, 88, 640, 96.5\n", "feeder.steps_per_mm", "96.5"),
        ("[bed map]\nlowest = [12, 20]\n", "mesh.from_y", "20"),
        ("[retraction]\nretract length = {5.5}\n", "retraction.length", "5.5"),
        ("[feeder]\nlag coefficient = 50 µs\nretract length = 4 mm\n", "retraction.length", "4"),
        ("# µ\n[retraction]\nlength = 4.5 ; länge\n", "retraction.length", "4.5"),
    ],
)
def test_a_span_is_exactly_the_number_that_an_edit_would_replace(
    text: str, quantity: str, expected: str
) -> None:
    found = machine(text)
    reading = found.get(quantity)
    assert reading is not None
    document = found.document("wren.ini")
    assert document.data[reading.start : reading.end].decode() == expected == reading.text
    line = text.encode().split(b"\n")[reading.place.line - 1].decode()
    assert line[reading.place.column - 1 :].startswith(expected)


def test_a_span_counts_bytes_where_letters_before_it_take_several() -> None:
    text = '[feeder]\nrun current rms = {"µµ", 450}\n'
    found = machine("[feeder]\nretract length = \u00ab\u00bb\n")
    assert found.get("retraction.length") is None
    raw = "µ450 é".encode()
    assert [byte_offset(raw, count) for count in range(7)] == [0, 2, 3, 4, 5, 6, 8]
    assert machine(text).get("motor.run_current") is None


@given(st.binary(max_size=40))
def test_byte_offsets_follow_the_readable_text_whatever_the_bytes_are(raw: bytes) -> None:
    text = readable(raw)
    for count in range(len(text) + 1):
        at = byte_offset(raw, count)
        if readable(raw[:at]) + readable(raw[at:]) == text:
            assert len(readable(raw[:at])) >= count
    assert byte_offset(raw, len(text)) == len(raw)


NUMBERS = [q for q in all_quantities() if q.kind == "number" and not q.protected]


@given(st.sampled_from(NUMBERS), st.data())
def test_what_a_unit_turns_into_a_value_it_turns_back(quantity: object, data: st.DataObject) -> None:
    """Every form in which a quantity can be written converts both ways."""
    from cfgmigrate.machine.model import Form, Quantity

    assert isinstance(quantity, Quantity)
    unit = data.draw(st.sampled_from(facts(quantity.id).units))
    low, high = quantity.low, quantity.high
    assert low is not None and high is not None
    number = data.draw(st.floats(max(low, 1e-3), high))
    form = Form(unit.unit, unit.factor, unit.reciprocal)
    assert form.to_value(form.to_written(number)) == pytest.approx(number, rel=1e-12)


def test_a_word_behind_the_unit_is_not_part_of_the_span() -> None:
    found = machine("[feeder]\nrun current = ' 640 mA peak'\n").get("motor.run_current")
    assert found is not None and found.text == "640" and found.place.column == 17
    assert not machine("[feeder]\nrun current = 640 mA peak\n").doubts


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("run current peak = 640 mA rms", "the key says peak and the value says rms"),
        ("hold current = 70 %", "is in %, and the file does not say of what"),
    ],
)
def test_what_key_and_value_say_together_can_be_a_doubt(line: str, why: str) -> None:
    found = machine(f"[feeder]\n{line}\n")
    assert not found.readings
    (doubt,) = found.doubts
    assert why in doubt.why


@pytest.mark.parametrize(
    ("line", "quantity", "editable"),
    [
        ("retract length = 1", "retraction.length", False),
        ("retract length = 0", "retraction.length", False),
        ("run current rms = 1", "motor.run_current", False),
        ("flow lag = 0", "lag.coefficient", False),
        ("machine corner speed = 1", "machine.corner_speed", False),
        ("retract length = 2", "retraction.length", True),
        ("retract length = 1 mm", "retraction.length", True),
        ("retract length mm = 1", "retraction.length", True),
        ("retract length = 1 ; mm", "retraction.length", True),
        ("; all lengths in mm\nretract length = 1", "retraction.length", True),
        ("; all currents in A\nretract length = 1", "retraction.length", False),
        ("; all currents in A\n\n; all times in s\n\nretract length = 1", "retraction.length", False),
        ("[axis x]\nlowest spot = 0", "axis.x.min", True),
        ("[axis x]\nlowest spot = 1", "axis.x.min", True),
        ("probe offset x = 1", "probe.offset_x", True),
        ("hotend max temperature = 0", "heater.hotend.max_temperature", True),
        ("feeder gear ratio = 1", "feeder.gear_ratio", True),
    ],
    ids=lambda each: each.replace("\n", " / ") if isinstance(each, str) else None,
)
def test_a_lone_0_or_1_of_a_measure_that_is_never_negative_may_be_a_switch(
    line: str, quantity: str, editable: bool
) -> None:
    """Unless a unit is stated, by the number, the key, the remark or the file for such measures."""
    found = machine(line).get(quantity)
    assert found is not None and found.editable is editable
    assert bool(found.why_not) is not editable


def test_a_current_is_plausible_as_what_it_comes_to_and_not_as_it_is_written() -> None:
    assert value("run current peak = 4.5", "motor.run_current") == pytest.approx(4.5 / math.sqrt(2))
    for line in ("run current peak = 5", "run current peak = 0.05", "run current rms = 4.5"):
        assert machine(line).get("motor.run_current") is None


def test_degrees_of_a_temperature_are_degrees_celsius_and_of_an_angle_are_none() -> None:
    assert value("hotend max temperature = 275 degrees", "heater.hotend.max_temperature") == 275
    assert value("hotend max temperature = 275 °C", "heater.hotend.max_temperature") == 275
    for other in ("275 mm", "275 K"):
        assert machine(f"hotend max temperature = {other}").get("heater.hotend.max_temperature") is None
    assert value("step angle = 1.8 degrees", "feeder.full_steps") == 200


@pytest.mark.parametrize(("text", "note"), [("46:15 x 3:1", "the product of its stages"), ("46:15", "")])
def test_of_several_gear_stages_it_is_said_that_they_are_multiplied(text: str, note: str) -> None:
    found = machine(f"[feeder]\ngear ratio = {text}").get("feeder.gear_ratio")
    assert found is not None and found.converted == note


@pytest.mark.parametrize(("written", "editable"), [("0.00", True), ("0.0", True), ("0", False)])
def test_a_zero_with_decimals_is_a_number_and_no_switch(written: str, editable: bool) -> None:
    found = machine(f"[lag]\ncoefficient = {written}\n").get("lag.coefficient")
    assert found is not None and found.editable is editable


@pytest.mark.parametrize(
    ("line", "quantity"),
    [
        ("[feeder]\nrun current = 640 mA peak", "motor.run_current"),
        ("[feeder]\nrun current rms = 450 mA", "motor.run_current"),
        ("[retraction]\nspeed = 2400 mm/min", "retraction.speed"),
        ("[feeder]\nsteps per mm = 96", "feeder.steps_per_mm"),
        ("[feeder]\nmicrosteps = 1/16", "feeder.microsteps"),
        ("[feeder]\ngear ratio = 3.5", "feeder.gear_ratio"),
    ],
)
def test_the_form_of_a_reading_leads_from_what_is_written_to_its_value_and_back(
    line: str, quantity: str
) -> None:
    found = machine(f"{line}\n").get(quantity)
    assert found is not None and found.value is not None
    written = float(found.text)
    assert found.form.to_value(written) == pytest.approx(found.value)
    assert found.form.to_written(found.value) == pytest.approx(written)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1/16", 16),
        ("1:16", 16),
        ("2/16", None),
        ("1/12", None),
        ("16", 16),
        ("12", None),
        ("16.5", None),
        ("left", None),
    ],
)
def test_microsteps_are_a_power_of_two_or_one_by_it(text: str, value: float | None) -> None:
    found = machine(f"[feeder]\nmicrosteps = {text}\n").get("feeder.microsteps")
    assert (found.value if found else None) == value


@pytest.mark.parametrize("text", ["left", "RIGHT", "min", "none"])
def test_where_something_sits_is_no_position_and_no_doubt(text: str) -> None:
    found = machine(f"[axis x]\nmax = {text}\n")
    assert not found.readings and not found.doubts


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("[lag]\ncoefficient = board", "points elsewhere"),
        ("[retraction]\nlength = =machine", "points elsewhere"),
        ("[retraction]\nlength = as in the leaflet", "must be a plain number"),
        ("[feeder]\nrun current = screw", "a screw on the driver sets it"),
        ("[axis x]\nrun current = screw", ""),
        ("[axis x]\ntravel per turn = +", ""),
        ("[feeder]\nfeed per turn = -", ""),
        ("[lag]\ncoefficient = gnorf", "plain number"),
        ("[feeder]\nsteps per mm = 137.2:420.0", "several numbers stand where"),
        ("[retraction]\nlength = 5;3", "several numbers stand where"),
    ],
)
def test_a_word_in_a_number_s_place_is_taken_for_what_it_says(line: str, why: str) -> None:
    found = machine(line)
    assert not found.readings and [why in doubt.why for doubt in found.doubts] == [True] * bool(why)
    assert not any("elsewhere" in doubt.why and "write the" in doubt.remedy for doubt in found.doubts)


@pytest.mark.parametrize("text", ["as barge", "same as on the barge", "as six"])
def test_a_word_that_says_as_which_other_thing_is_a_question_with_both_ways_out(text: str) -> None:
    (doubt,) = machine(f"[retraction]\nlength = {text}\n").doubts
    assert "it seems to be said elsewhere" in doubt.why and doubt.about == "retraction.length"
    assert "ignore" in doubt.remedy and "write the number" in doubt.remedy
