"""What a setting says that a person explained: the person is believed, and the key's own words are still read."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.by_name import said_by_name
from cfgmigrate.machine.context import Context
from cfgmigrate.machine.names import Meaning, Named
from cfgmigrate.machine.spots import Said, Spot

CURRENT, LENGTH, SPEED = "motor.run_current", "retraction.length", "retraction.speed"


def said(line: str, *numbers: Meaning | None, dialect: str = "flat") -> Said:
    document = read("wren.ini", f"{line}\n".encode(), dialect)
    setting = document.settings[-1]
    spoken = Context(document).spoken(setting)
    return said_by_name(Spot(document, setting), Named("a key", Place("names", 1), numbers), spoken)


def told(found: Said) -> list[tuple[str, float | None, str, bool]]:
    return [(each.quantity, each.value, str(each.holder), each.editable) for each in found.readings]


@pytest.mark.parametrize(
    ("line", "meaning", "value"),
    [
        ("zum = 6", Meaning(LENGTH), 6),
        ("zum mm = 6", Meaning(LENGTH), 6),
        ("zum ma = 900", Meaning(CURRENT, "", "rms"), 0.9),
        ("zum ma rms = 900", Meaning(CURRENT), 0.9),
        ("zum ma peak = 900", Meaning(CURRENT), 0.9 / 2**0.5),
        ("zum = 900", Meaning(CURRENT, "mA", "peak"), 0.9 / 2**0.5),
        ("zum mm min = 2400", Meaning(SPEED), 40),
        ("zum mm min = 2400", Meaning(SPEED, "mm/min"), 40),
    ],
)
def test_the_meaning_says_the_unit_else_the_key_does(line: str, meaning: Meaning, value: float) -> None:
    found = said(line, meaning)
    assert told(found) == [(meaning.quantity, pytest.approx(value), "machine", True)] and not found.doubts


def test_what_a_meaning_s_unit_makes_impossible_is_still_a_question_about_that_quantity() -> None:
    assert [each.about for each in said("zum = 6.2", Meaning(LENGTH, "cm")).doubts] == [LENGTH]


@pytest.mark.parametrize(
    ("line", "meaning", "why"),
    [
        ("zum mm min = 40", Meaning(SPEED, "mm/s"), "its key says mm/min and its meaning says mm/s"),
        ("zum ma peak = 900", Meaning(CURRENT, "mA", "rms"), "its key says peak and its meaning says rms"),
    ],
)
def test_a_meaning_against_its_key_is_read_and_not_edited(line: str, meaning: Meaning, why: str) -> None:
    found = said(line, meaning)
    assert [each[3] for each in told(found)] == [False]
    assert found.readings[0].why_not == why
    assert found.doubts[-1].why == why and "in it; else" not in found.doubts[-1].remedy


@pytest.mark.parametrize(
    ("meaning", "edited"),
    [
        (Meaning("feeder.feed_per_turn"), False),
        (Meaning("feeder.feed_per_turn", "mm"), True),
        (Meaning("feeder.steps_per_mm"), True),
    ],
)
def test_a_meaning_that_is_measured_otherwise_than_all_words_of_the_key_say_needs_its_unit(
    meaning: Meaning, edited: bool
) -> None:
    found = said("feeder steps per mm = 93", meaning)
    assert [each[3] for each in told(found)] == [edited] and bool(found.doubts) is not edited


def test_several_numbers_are_what_each_of_them_is_said_to_be() -> None:
    found = said("zum = 6, 40", Meaning(LENGTH), Meaning(SPEED))
    assert [each[:2] for each in told(found)] == [(LENGTH, 6), (SPEED, 40)]
    assert [each[:2] for each in told(said("zum = 6, 40", None, Meaning(SPEED)))] == [(SPEED, 40)]
    assert told(said("zum = 6, 40", None, Meaning(SPEED)))[0][2] == "machine"
    both = said("zum = 6, 5", Meaning(LENGTH), Meaning(LENGTH))
    assert told(both) == [(LENGTH, 6, "feeder 1", True), (LENGTH, 5, "feeder 2", True)]
    ends = said("zum = 210, 200", Meaning("axis.x.max"), Meaning("axis.x.max"))
    assert [each[1:3] for each in told(ends)] == [(210, "machine"), (200, "machine")]


@pytest.mark.parametrize(
    ("line", "numbers", "why"),
    [
        ("zum = 6, 40, 7", (Meaning(LENGTH), Meaning(SPEED)), "different counts of numbers: 2 and 3"),
        ("zum = 6, 40, 7", (Meaning(LENGTH),), "different counts of numbers: 1 and 3"),
        ("zum = 6", (Meaning(LENGTH), Meaning(SPEED)), "different counts of numbers: 2 and 1"),
        ("zum = yes", (Meaning(LENGTH),), "the value can't be"),
    ],
)
def test_what_a_value_can_t_be_is_a_doubt_and_no_reading(
    line: str, numbers: tuple[Meaning, ...], why: str
) -> None:
    found = said(line, *numbers)
    assert not found.readings and why in found.doubts[0].why


def test_a_number_with_a_decimal_comma_is_read_and_not_edited_and_nothing_is_said_of_what_is_ignored() -> (
    None
):
    assert [each[3] for each in told(said("zum = 6,5", Meaning(LENGTH)))] == [False]
    assert said("zum = 6") == Said() and said("zum = 6", None) == Said()


@pytest.mark.parametrize("value", ["G1 X0", "G1 X0, G1 Y0", "whatever"])
def test_a_script_is_the_whole_value(value: str) -> None:
    (found,) = said(f"zum = {value}", Meaning("script.end")).readings
    assert (found.quantity, found.text) == ("script.end", value)


def test_of_several_meanings_the_one_against_the_key_shuts_all_numbers() -> None:
    found = said("zum ma peak = 6, 900", Meaning(LENGTH), Meaning(CURRENT, "mA", "rms"))
    assert [each[3] for each in told(found)] == [False, False]
    assert found.doubts[-1].why == "its key says peak and its meaning says rms"


@pytest.mark.parametrize(
    ("line", "meaning", "asked"),
    [
        ("drive volts = 0.96", Meaning(CURRENT), True),
        ("drive reference voltage = 0.96", Meaning(CURRENT), True),
        ("drive volts = 0.96", Meaning(CURRENT, "A"), False),
        ("zum = 0.96", Meaning(CURRENT), False),
    ],
)
def test_what_its_key_calls_a_voltage_is_no_current_unless_the_meaning_has_a_unit(
    line: str, meaning: Meaning, asked: bool
) -> None:
    found = said(line, meaning)
    assert any("volts" in each.why for each in found.doubts) == asked == (not found.readings)


@pytest.mark.parametrize(
    ("line", "told_as", "unit", "value"),
    [
        ("zum_100mm = 9337", "per 100 mm", "1/dm", 93.37),
        ("zum 10 mm = 934", "per cm", "1/cm", 93.4),
        ("zum_1000mm = 93370", "per m", "1/m", 93.37),
        ("zum mm = 93.4", "", "", 93.4),
    ],
)
def test_a_count_for_so_many_millimetres_needs_its_unit(
    line: str, told_as: str, unit: str, value: float
) -> None:
    steps = "feeder.steps_per_mm"
    bare = said(line, Meaning(steps))
    if told_as:
        assert not bare.readings and f"unit: {told_as}" in bare.doubts[0].remedy
    (reading,) = said(line, Meaning(steps, unit)).readings
    assert reading.value == pytest.approx(value)


@pytest.mark.parametrize(
    ("line", "remedy"),
    [
        ("zum 10 cm = 46380", "unit: per 100 mm"),
        ("zum_per_20cm = 92760", "200 times"),
        ("zum 5 mm = 2319", "5 times"),
    ],
)
def test_a_count_for_a_length_of_its_own_is_not_taken_as_one_for_each(line: str, remedy: str) -> None:
    found = said(line, Meaning("feeder.steps_per_mm"))
    assert not found.readings
    assert remedy in found.doubts[0].remedy
