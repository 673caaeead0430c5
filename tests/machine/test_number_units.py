"""The unit of a number: what number, key, remark and file say, in this order, and what only one of them can be."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.units import units
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.number_units import in_some_unit, may_be_a_switch, rms_or_peak, stated_unit, unsaid
from cfgmigrate.machine.quantities import facts
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.spots import Spot

HELD = "motor.hold_current"


def spot(
    value: str, beside: str = "", file: str = "", head: str = "", qualifier: str = "", of_file: str = ""
) -> Spot:
    data = f"a = {value}".encode()
    setting = Setting("", "a", value, 4, len(data), 1, 5)
    usual = {units()[file].of: units()[file]} if file else {}
    return Spot(
        Document("wren.ini", data, "flat", (), ()),
        setting,
        unit=units()[beside] if beside else None,
        file_units=usual,
        head_lengths=head,
        qualifier=qualifier,
        file_qualifier=of_file,
    )  # fmt: skip


def number(value: str) -> Number:
    found = read_value(value)
    assert isinstance(found, Number)
    return found


def unit_of(quantity: str, value: str, key: str = "", **beside: str) -> tuple[str | None, str]:
    """The unit that a value is in, None where it is not clear, and the doubt about it."""
    unit, doubts = stated_unit(spot(value, **beside), Fit(quantity, key), facts(quantity), number(value))
    assert len(doubts) < 2
    return unit.unit if unit else None, doubts[0].why if doubts else ""


LENGTH, SPEED, CURRENT = "retraction.length", "retraction.speed", "motor.run_current"


@pytest.mark.parametrize(
    ("quantity", "value", "key", "beside", "unit"),
    [
        (LENGTH, "6 mm", "", {}, "mm"),
        (LENGTH, "0.6 cm", "", {}, "cm"),
        (LENGTH, "6", "mm", {}, "mm"),
        (LENGTH, "6", "", {"beside": "mm"}, "mm"),
        (LENGTH, "6", "", {}, "mm"),
        (LENGTH, "6 mm", "mm", {"beside": "cm"}, "mm"),
        (SPEED, "40", "", {"file": "mm/s"}, "mm/s"),
        (SPEED, "2400", "", {"file": "mm/min"}, "mm/min"),
        (SPEED, "40", "mm/s", {"file": "mm/min"}, "mm/s"),
        (SPEED, "40", "", {"beside": "mm/s", "file": "mm/min"}, "mm/s"),
        (CURRENT, "900", "A", {"beside": "mA"}, "mA"),
        (CURRENT, "0.9", "A", {"beside": "mA"}, "A"),
        (LENGTH, "0", "", {}, "mm"),
        ("feeder.full_steps", "200 steps/turn", "", {}, ""),
        ("feeder.full_steps", "200 steps/rotation", "", {}, ""),
        ("feeder.microsteps", "16 microsteps", "", {}, ""),
        ("feeder.microsteps", "16 x", "", {}, ""),
        ("feeder.min_feed_temperature", "175 degrees", "", {}, "degC"),
    ],
)
def test_number_then_key_then_remark_then_file_say_the_unit(
    quantity: str, value: str, key: str, beside: dict[str, str], unit: str
) -> None:
    assert unit_of(quantity, value, key, **beside) == (unit, "")


@pytest.mark.parametrize(
    ("quantity", "value", "key", "beside", "why"),
    [
        (LENGTH, "6 cm", "mm", {}, "the key says mm and the value says cm"),
        (LENGTH, "6 %", "", {}, "does not say of what"),
        (LENGTH, "6 mA", "", {}, "can't be in mA"),
        ("feeder.full_steps", "200 microsteps", "", {}, "can't be in microsteps"),
        (LENGTH, "6", "", {"head": "inch"}, "the file's head says lengths in inch"),
        (SPEED, "40", "", {"head": "inch"}, "the file's head says lengths in inch"),
    ],
)
def test_what_contradicts_itself_or_is_said_of_other_numbers_is_no_unit(
    quantity: str, value: str, key: str, beside: dict[str, str], why: str
) -> None:
    unit, doubt = unit_of(quantity, value, key, **beside)
    assert unit is None and why in doubt


@pytest.mark.parametrize(
    ("quantity", "value", "beside"),
    [
        (LENGTH, "0", {"head": "inch"}),
        (SPEED, "40", {"head": "inch", "file": "mm/s"}),
        ("lag.coefficient", "0.5", {"head": "inch"}),
    ],
)
def test_inches_in_the_file_s_head_say_nothing_of_0_of_a_measure_that_is_stated_or_of_no_length(
    quantity: str, value: str, beside: dict[str, str]
) -> None:
    _unit, doubt = unit_of(quantity, value, **beside)
    assert "head" not in doubt


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "why"),
    [
        (CURRENT, "900", "mA", "taken as mA, the only plausible one"),
        (CURRENT, "52", None, "not plausible"),  # of so many per cent of an ampere or two
        (SPEED, "2400", "mm/min", "taken as mm/min, the only plausible one"),
        (CURRENT, "0.9", "A", ""),
        (LENGTH, "90000", None, "is not plausible"),
    ],
)
def test_where_nothing_says_it_the_only_plausible_unit_is_taken_and_told(
    quantity: str, value: str, unit: str | None, why: str
) -> None:
    found, doubt = unit_of(quantity, value)
    assert found == unit
    assert (why in doubt) if why else not doubt


@pytest.mark.parametrize(
    ("quantity", "value", "key", "beside", "may_be"),
    [
        (LENGTH, "1", "", {}, True),
        (LENGTH, "0", "", {}, True),
        (LENGTH, "0.00", "", {}, False),
        (LENGTH, "1.0", "", {}, True),
        (LENGTH, "2", "", {}, False),
        (LENGTH, "1 mm", "", {}, False),
        (LENGTH, "1", "mm", {}, False),
        (LENGTH, "1", "", {"beside": "mm"}, False),
        (LENGTH, "1", "", {"beside": "A"}, True),
        (LENGTH, "1", "", {"file": "mm"}, False),
        (LENGTH, "1", "", {"file": "A"}, True),
        (CURRENT, "1", "", {}, True),
        (SPEED, "1", "", {}, True),
        ("axis.x.min", "0", "", {}, False),
        ("feeder.microsteps", "1", "", {}, False),
        ("feeder.steps_per_mm", "1", "", {}, False),
    ],
)
def test_a_lone_0_or_1_of_what_is_never_negative_may_be_a_switch(
    quantity: str, value: str, key: str, beside: dict[str, str], may_be: bool
) -> None:
    why = may_be_a_switch(spot(value, **beside), Fit(quantity, key), facts(quantity), number(value))
    assert bool(why) is may_be


def test_rms_or_peak_is_the_line_s_before_the_file_s_and_only_of_a_current() -> None:
    assert rms_or_peak(spot("1", qualifier="peak", of_file="rms"), facts(CURRENT)) == "peak"
    assert rms_or_peak(spot("1", of_file="rms"), facts(CURRENT)) == "rms"
    assert rms_or_peak(spot("1", qualifier="peak"), facts(LENGTH)) == ""


@pytest.mark.parametrize(
    ("quantity", "qualifier", "value", "asked"),
    [(CURRENT, "", "0.9", True), (CURRENT, "peak", "0.9", False), (CURRENT, "", "0", False), (LENGTH, "", "6", False)],
)  # fmt: skip
def test_a_current_that_is_not_said_to_be_rms_or_peak_is_asked_about(
    quantity: str, qualifier: str, value: str, asked: bool
) -> None:
    found = facts(quantity)
    doubts = unsaid(spot(value), Fit(quantity, "", qualifier), found, found.units[0], number(value))
    assert [("RMS or peak" in each.why) for each in doubts] == [True] * asked


@pytest.mark.parametrize(
    ("quantity", "value", "may"),
    [(CURRENT, 0.9, True), (CURRENT, 900, True), (CURRENT, 90000, False), (LENGTH, 6, True), (LENGTH, -6, False)],
)  # fmt: skip
def test_a_bare_number_can_be_a_quantity_s_in_some_unit_of_the_trade(
    quantity: str, value: float, may: bool
) -> None:
    assert in_some_unit(facts(quantity), value) is may


@pytest.mark.parametrize(
    ("heads", "said"),
    [
        (("# mm, A (RMS)",), "; the head of head0.txt says RMS of its own numbers"),
        (("# mm, A (RMS)", "# A peak"), ""),
        (("# mm",), ""),
    ],
)
def test_the_head_of_another_file_is_named_beside_the_question_and_settles_nothing(
    heads: tuple[str, ...], said: str
) -> None:
    files = [f"{head}\n[axis x]\nmax = {200 + at}\n" for at, head in enumerate(heads)]
    feed = read("feed.txt", b"[feeder]\nrun current = 0.8 A\n", "sectioned")
    others = [read(f"head{at}.txt", text.encode(), "sectioned") for at, text in enumerate(files)]
    (doubt,) = [each for each in recognise([*others, feed]).doubts if each.place.file == "feed.txt"]
    assert doubt.why == f"feeder run current: this file does not say RMS or peak; 0.8 is taken as RMS{said}"


@pytest.mark.parametrize("remark", ["1/100 mm !", "hundredths of a mm", "in 0.01 mm"])
def test_hundredths_of_a_millimetre_are_what_a_remark_calls_so(remark: str) -> None:
    text = f"#define FEEDER_STEPS_PER_MM 96\n#define FEEDER_RETRACTION_LENGTH 580 /* {remark} */\n"
    held = {each.quantity: each for each in recognise([read("m.h", text.encode(), "header")]).readings}
    assert held["retraction.length"].value == pytest.approx(5.8) and held["retraction.length"].editable


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("hold current = 60 %", True),
        ("hold current = 60 % ; of amps, standing still", False),
        ("hold current = 60 % ; of the running current", False),
        ("hold current = 60 % ; of the current", False),
        ("hold current = 60 % ; of the board's most", True),
        ("hold current = 60 % ; of full scale", True),
        ("hold current = 60 % ; not of the current but of the board's 2 A", True),
    ],
)
def test_a_current_at_rest_that_is_a_share_of_the_running_one_follows_it_and_is_not_asked_about(
    line: str, asked: bool
) -> None:
    text = f"[feeder]\nrun current = 0.9 A rms\n{line}\n"
    machine = recognise([read("m.cfg", text.encode(), "sectioned")])
    assert bool([each for each in machine.doubts if "in %" in each.why]) == asked
    assert not machine.unread and [each.about for each in machine.doubts] == (
        [HELD] if asked else ["elsewhere"]
    )
    assert {each.quantity for each in machine.every_reading} == {"motor.run_current"}


@pytest.mark.parametrize("key", ["hold_amps = 0.4", "run_amps = 0.4"])
def test_the_head_s_milliamperes_are_none_of_a_number_that_no_motor_is_held_by(key: str) -> None:
    text = f"# currents in mA rms\n[feeder]\n{key}\n"
    (found,) = recognise([read("m.conf", text.encode(), "sectioned")]).readings
    assert found.value == 0.4


@pytest.mark.parametrize(
    ("head", "line", "offered"),
    [
        ("times in ms", "lag = 0.05", "unit: s}"),  # believed, it is a lag of 0.00005 s
        ("speeds in mm/min", "retraction_speed = 40", "unit: mm/s}"),
        ("currents in mA rms", "run_current = 1.2", "unit: A"),
        ("currents in mA rms", "hold_current = 0.4", "unit: A"),
        ("currents in mA rms", "hold_current = 4", "unit: mA"),
    ],
)
def test_a_number_that_is_usual_but_not_in_the_unit_that_the_file_states_is_asked_about(
    head: str, line: str, offered: str
) -> None:
    found = recognise([read("m.conf", f"# {head}\n[feeder]\n{line}\n".encode(), "sectioned")])
    (doubt,) = found.doubts
    assert not found.readings and offered in doubt.remedy


@pytest.mark.parametrize(
    ("head", "line", "value"),
    [
        ("times in ms", "lag = 50", 0.05),
        ("times in ms", "lag = 5", 0.005),  # unusual in either
        ("speeds in mm/min", "retraction_speed = 2400", 40),
        ("currents in mA rms", "hold_current = 150", 0.15),
    ],
)
def test_a_number_that_is_usual_in_the_unit_that_the_file_states_or_in_none_is_in_that(
    head: str, line: str, value: float
) -> None:
    (found,) = recognise([read("m.conf", f"# {head}\n[feeder]\n{line}\n".encode(), "sectioned")]).readings
    assert found.value == pytest.approx(value)


@pytest.mark.parametrize(
    "line",
    [
        "length = 12 ; tenths of a mm",
        "length = 12 ; in tenths of mm",
        "length = 12 ; 1/10 mm",
        "length = 12 tenths of a mm",
        "length = 120 ; hundredths of a mm",
    ],
)
def test_parts_of_a_mm_behind_a_length_are_not_whole_ones(line: str) -> None:
    (found,) = recognise([read("m.conf", f"[retraction]\n{line}\n".encode(), "sectioned")]).readings
    assert found.value == pytest.approx(1.2)


@pytest.mark.parametrize(
    ("head", "line", "asked"),
    [
        ("coil currents in mA rms", "hold_current = 45", True),
        ("coil currents in mA rms", "hold_current = 60", True),
        ("coil currents in mA rms", "hold_current = 8", True),
        ("coil currents in mA rms", "hold_current = 100", True),
        ("rms currents", "hold_current = 95", True),
        ("coil currents in mA rms", "hold_current = 450", False),
        ("coil currents in mA rms", "hold_current_ma = 85", False),
        ("coil currents in mA rms", "hold_current = 85 ; mA", False),
    ],
)
def test_a_current_at_rest_that_may_be_so_many_per_cent_of_the_running_one_is_asked_about(
    head: str, line: str, asked: bool
) -> None:
    text = f"# {head}\n[feeder]\nrun_current_ma = 1100\n{line}\n"
    found = recognise([read("m.conf", text.encode(), "sectioned")])
    assert [each.about for each in found.doubts] == [HELD] * asked
    assert [each.quantity for each in found.readings] == [CURRENT, *([HELD] * (not asked))]
