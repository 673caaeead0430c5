"""How new values are written: the file's unit and form, and no more digits than are meant."""

from __future__ import annotations

import math
import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.machine.quantities import facts, quantity
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.whole_numbers import BY_HEAD, BY_NUMBERS
from cfgmigrate.packet import recompute
from cfgmigrate.plan.encoding import needed_decimals, write, write_in_both, write_same
from cfgmigrate.plan.items import Whose, change_of, means_the_same
from cfgmigrate.plan.writable import is_value
from cfgmigrate.rules.result import Derivation, Result, Status


def result(value: float, uncertainty: float = 0.0, **more: object) -> Result:
    derivation = Derivation("new.x", "", (), "made up")
    return Result(
        "r",
        "feeder.feed_per_turn",
        "",
        "mm",
        value,
        uncertainty,
        Status.COMPUTED,
        "w",
        derivation,
        **more,
    )  # type: ignore[arg-type]


def reading(text: str, form: Form | None = None) -> Reading:
    document = read("a.conf", f"[a]\nb = {text}\n".encode(), "sectioned")
    setting = document.settings[0]
    return Reading(
        "feeder.feed_per_turn",
        1.0,
        text,
        document.place(setting),
        setting.start,
        setting.end,
        form or Form(),
        setting,
    )


@pytest.mark.parametrize(
    ("key", "old", "new"),
    [
        ("reversed", "no", "yes"),
        ("reversed", "False", "True"),
        ("reversed", "ON", "OFF"),
        ("reversed", "0", "1"),
        ("reversed", "1", "0"),
        ("direction", "+1", "-1"),
        ("direction", "-1", "+1"),
        ("direction", "normal", "reversed"),
        ("direction", "Inverted", "Normal"),
    ],
)
def test_the_contrary_of_a_truth_is_written_in_the_manner_of_the_file(key: str, old: str, new: str) -> None:
    def found(text: str) -> Reading:
        (one,) = recognise([read("a.conf", f"[feeder]\n{key} = {text}\n".encode(), "sectioned")]).readings
        assert one.quantity == "feeder.direction"
        return one

    before = found(old)
    assert before.value is not None
    wanted = replace(result(1.0 - before.value), target="feeder.direction")
    written = write(wanted, before)
    assert written.text == new
    assert found(written.text).value == 1.0 - before.value
    assert write(replace(wanted, value=before.value), before).text == old


@pytest.mark.parametrize(
    ("value", "uncertainty", "old", "text"),
    [
        (4.15, 0.0, "32.1", "4.15"),  # an exact value keeps its digits
        (4.15, 0.0, "32.1000", "4.1500"),  # and is padded to those of the file
        (0.35928, 0.07, "5.4", "0.36"),  # half a unit of the last place stays under a third of u
        (774.9, 6.7, "185.20", "774.90"),  # where the file has decimals, with those that are shown
        (288.28, 1.9, "505.3", "288.3"),
        (288.28, 1.9, "505", "288"),
        (1517.3, 40.0, "3400", "1520"),
        (0.45, 0.0, "0.80", "0.45"),
        (659.79381, 0.0, "93", "659.8"),
        (774.9, 700.0, "140", "775"),  # at least three digits stay, or two where the file has no more
        (774.9, 700.0, "139.70", "775.00"),
        (774.9, 700.0, "93", "770"),
        (0.35928, 0.3, "5", "0.36"),
        (0.35928, 0.3, "5.40", "0.359"),
        (95.4, 90.0, "0.00", "95.00"),
    ],
)
def test_a_value_has_as_many_digits_as_are_meant(
    value: float, uncertainty: float, old: str, text: str
) -> None:
    assert write(result(value, uncertainty), reading(old)).text == text


@given(
    st.floats(1e-4, 1e5), st.floats(0, 1e9), st.sampled_from(["140", "93.2", "0.0071", "5", "0.00", "1e3"])
)
def test_no_uncertainty_takes_a_value_below_two_significant_digits(
    value: float, uncertainty: float, old: str
) -> None:
    kept = 0.005 if old in ("140", "93.2") else 0.05
    written = write(result(value, uncertainty), reading(old))
    assert abs(written.value - value) <= kept * value * 1.0001


@pytest.mark.parametrize(("uncertainty", "lost"), [(0.0, False), (0.3, True)])
def test_only_of_an_uncertain_value_it_is_said_that_finer_steps_are_lost(
    uncertainty: float, lost: bool
) -> None:
    assert ("are lost in its uncertainty" in write(result(95.4, uncertainty), reading("90")).rounding) is lost


def test_a_limit_is_rounded_to_the_safe_side() -> None:
    assert write(result(186.59, 0.3, round_down=True), reading("210")).text == "186.5"


def test_what_says_the_very_same_keeps_it_where_its_line_has_many_decimals_already() -> None:
    limit = replace(result(1810.0 / 60, round_down=True), unit="mm/s")
    written = write_same(limit, reading("30.546666667", Form("mm/s")))
    assert written.text == "30.166666667"
    assert written.value == pytest.approx(1810.0 / 60, rel=1e-9)


@pytest.mark.parametrize(("value", "own", "text"), [(1696.0 / 60, "50", "28.266667"), (0.75, "1400", "0.75")])
def test_what_says_the_very_same_has_no_more_digits_than_tell_it_apart(
    value: float, own: str, text: str
) -> None:
    written = write_same(result(value), reading(own))
    assert written.text == text
    assert written.value == pytest.approx(value, rel=1e-7)


@pytest.mark.parametrize(
    ("value", "unit", "form", "text", "beside"),
    [
        (39.7, "mm/s", Form("mm/min", 1 / 60), "2340", "39"),  # 2380 would be 39.666667 there
        (42.0, "mm/s", Form("mm/min", 1 / 60), "2520", "42"),
        (0.396, "A", Form("mA", 0.001), "390", "0.39"),
    ],
)
def test_a_limit_that_two_lines_have_in_two_units_is_one_that_a_person_would_type_in_both(
    value: float, unit: str, form: Form, text: str, beside: str
) -> None:
    limit = replace(result(value, round_down=True), unit=unit)
    written = write_in_both(limit, reading("3600", form))
    assert written.text == text and written.value <= value
    assert write_same(replace(limit, value=written.value), reading("60", Form(unit))).text == beside


def test_what_is_no_limit_or_a_small_one_is_not_cut_for_the_line_beside_it() -> None:
    form = Form("mm/min", 1 / 60)
    for one in (result(39.7), result(4.4, round_down=True)):
        speed = replace(one, unit="mm/s")
        assert write_in_both(speed, reading("3600", form)) == write(speed, reading("3600", form))


def test_rounding_down_does_not_lose_a_step_to_binary_fractions() -> None:
    for thousandths in range(1, 2000):
        value = thousandths / 1000
        assert Decimal(write(result(value, round_down=True), reading("0.800")).text) == Decimal(str(value))


def test_a_value_goes_back_into_the_unit_of_the_file() -> None:
    milliamperes = Form(unit="mA", factor=1e-3)
    assert write(result(0.45), reading("800", milliamperes)).text == "450"
    hundredths = Form(unit="mm/100", factor=1e-2)
    pulled = replace(result(0.545, 0.01), target="retraction.length")
    assert write(pulled, reading("580", hundredths)).text == "54", "a whole number, as the file has it"
    assert write(result(5.836, 0.04), reading("77", Form(unit="mm/10", factor=0.1))).text == "58.4", (
        "but of each turn's feed nothing is lost by that"
    )
    assert write(result(0.545), reading("580.0", hundredths)).text == "54.5"
    per_minute = Form(unit="mm/min", factor=1 / 60)
    assert write(result(30.0, 5.0), reading("2400", per_minute)).text == "1800"


@pytest.mark.parametrize("form", [Form("µm", 0.001), Form("mm", 1.0), Form("cm", 10.0)])
def test_nothing_is_not_already_there_where_a_small_unit_has_some_of_it(form: Form) -> None:
    old = replace(reading("60", form), value=form.to_value(60.0))
    written = write(result(0.0), old)
    assert written.text == "0" and not means_the_same(result(0.0), old, written)
    none = replace(reading("0", form), value=0.0)
    assert means_the_same(result(0.0), none, write(result(0.0), none))


def test_a_reciprocal_form_is_written_as_a_reciprocal() -> None:
    step_angle = Form(unit="deg", factor=360.0, reciprocal=True)
    written = write(result(400.0), reading("1.8", step_angle))
    assert (written.text, written.value) == ("0.9", 400.0)


def test_gear_stages_are_written_as_stages() -> None:
    form = Form(ratio=True)
    assert write(result(50 / 9, text="50:9"), reading("3:1", form)).text == "50:9"
    assert write(result(3.5), reading("3:1", form)).text == "3.5:1"


@given(st.floats(1e-4, 1e5), st.floats(1e-5, 1e3))
def test_rounding_adds_next_to_nothing_to_the_uncertainty(value: float, uncertainty: float) -> None:
    written = write(result(value, uncertainty), reading("1"))
    assert abs(written.value - value) <= uncertainty / 3 * 1.0001 + 1e-8


@given(st.floats(1e-3, 1e5))
def test_an_exact_value_is_kept_to_one_part_in_ten_thousand(value: float) -> None:
    assert abs(round(value, needed_decimals(value, 0.0)) - value) <= 1e-4 * value


def test_a_reciprocal_close_to_nothing_is_written_too() -> None:
    """-1 and the next number towards zero is 0, which has no reciprocal."""
    written = write(result(-3200.0), reading("-2", Form(factor=3200.0, reciprocal=True)))
    assert (written.text, written.value) == ("-1", -3200.0)


@pytest.mark.parametrize(
    ("value", "uncertainty", "old", "same"),
    [
        (
            21.0,
            0.0,
            21.5,
            False,
        ),  # a probe that is half a millimetre nearer is nearer, though 21 needs no decimals
        (249.0, 0.0, 249.4, False),  # nor does a limit eat up what is kept clear
        (249.0, 0.0, 249.0, True),
        (24.690909, 0.0, 24.692, True),  # one part in ten thousand, by which an exact value may be rounded
        (0.0, 0.0, 0.05, False),
        (775.0, 6.7, 775.3, True),  # lost in its uncertainty
        (775.0, 6.7, 780.0, False),
    ],
)
def test_an_exact_value_means_the_same_only_where_it_is_the_same(
    value: float, uncertainty: float, old: float, same: bool
) -> None:
    was = replace(reading(f"{old}"), value=old)
    new = result(value, uncertainty)
    assert means_the_same(new, was, write(new, was)) is same


@pytest.mark.parametrize(
    ("old", "said", "dialect", "new"),
    [
        ('"1:1"', "35:14 x 40:16", "nested", "6.25:1"),
        ('"3:1"', "46:15", "nested", "46:15"),
        ('"3:1"', "52:11 x 3:1", "nested", "156:11"),
        ('"3:1 x 2:1"', "35:14 x 40:16", "nested", "6.25:1"),
        ("46:15 x 3:1", "35:14 x 40:16", "sectioned", "6.25:1"),
        ("46:15,3:1", "35:14 x 40:16", "sectioned", "35:14,40:16"),
        ("3:1", "35:14 x 40:16", "sectioned", "6.25:1"),
    ],
)
def test_gear_stages_are_written_as_may_be_installed_and_read_back(
    old: str, said: str, dialect: str, new: str
) -> None:
    text = (
        f'{{"feeder": {{"gear ratio": {old}}}}}' if dialect == "nested" else f"[feeder]\ngear ratio = {old}\n"
    )
    (found,) = recognise([read("a", text.encode(), dialect)]).readings
    value = math.prod(int(one) / int(two) for one, two in re.findall(r"(\d+):(\d+)", said))
    written = write(replace(result(value, text=said), target="feeder.gear_ratio"), found)
    assert written.text == new
    assert is_value(written.text)
    assert written.rounding in recompute._UNROUNDED, "verify would take it for no rounding"
    (again,) = recognise([read("a", text.replace(found.text, new).encode(), dialect)]).readings
    assert again.value == pytest.approx(value)


@pytest.mark.parametrize(
    ("unit", "old", "value", "text"),
    [
        ("% of 2 A", "60", 0.52, "26"),
        ("1.9/31 A", "22", 0.585, "9"),
        ("1.9/31 A", "22.0", 0.585, "9.5"),
        (
            "(step+1)/32 of 1.25 A",
            "27",
            0.42,
            "9",
        ),  # 10/32 of 1.25 is 0.39, and 11/32 0.43: more than it may have
        ("(step+1)/32 of 1.25 A", "27", 0.43, "10"),
        ("(step + 1)/32 of 1250 mA", "27", 0.43, "10"),
        ("1/m", "93800", 1497.9, "1497900"),
    ],
)
def test_a_part_of_a_unit_is_counted_in_whole_numbers_where_the_file_s_is_one(
    unit: str, old: str, value: float, text: str
) -> None:
    name = "feeder.steps_per_mm" if unit == "1/m" else "motor.run_current"
    found = facts(name).unit(unit)
    assert found is not None
    about = replace(result(value, round_down=True), target=name, unit=quantity(name).unit)
    written = write(about, reading(old, Form(unit, found.factor)))
    assert written.text == text and written.value == pytest.approx(found.to_value(float(text)))


@pytest.mark.parametrize(
    ("value", "uncertainty", "more", "text"),
    [
        (42.5, 10.0, {}, "42"),  # next to nothing of what is uncertain anyway
        (571.43, 0.0, {}, "571"),
        (26.7, 0.0, {"round_down": True}, "26"),
        (0.8, 0.0, {}, "0.8"),  # 1 would be another length
        (0.83, 0.2, {}, "0.83"),
    ],
)
def test_a_number_of_a_file_of_whole_numbers_stays_whole_where_that_loses_little(
    value: float, uncertainty: float, more: dict[str, bool], text: str
) -> None:
    place = reading("410", Form(whole=BY_NUMBERS))
    about = replace(result(value, uncertainty, **more), target="feeder.max_speed", unit="mm/s")
    made = write(about, place)
    assert made.text == text
    told = change_of(about, place, [(place, made)], Whose())
    assert any("whole numbers only" in each for each in told.warnings) is ("." in text)


@pytest.mark.parametrize(
    ("by", "uncertainty", "text", "warned"),
    [
        (BY_NUMBERS, 0.0, "103.4", "takes a point"),
        (BY_NUMBERS, 0.05, "103.4", "takes a point"),
        (BY_NUMBERS, 5.0, "103", ""),
        (BY_HEAD, 0.0, "103", "wrong by 0.39 %"),
        (BY_HEAD, 5.0, "103", ""),
    ],
)
def test_steps_per_mm_lose_their_decimals_only_by_what_a_file_says_and_then_that_is_told(
    by: str, uncertainty: float, text: str, warned: str
) -> None:
    """Every print feeds as much too little; six whole numbers may be whole by chance."""
    about = replace(result(103.4, uncertainty), target="feeder.steps_per_mm", unit="1/mm")
    place = reading("93", Form(whole=by))
    made = write(about, place)
    told = change_of(about, place, [(place, made)], Whose()).warnings
    assert made.text == text
    assert [warned in each for each in told] == [True] * bool(warned)


@pytest.mark.parametrize(("uncertainty", "text"), [(0.02, "226.4"), (0.0, "226.4"), (1.0, "226")])
def test_a_feed_per_turn_is_cut_to_a_whole_tenth_only_where_that_is_lost_in_its_uncertainty(
    uncertainty: float, text: str
) -> None:
    """Every move is wrong by as much."""
    tenths = facts("feeder.feed_per_turn").unit("mm/10")
    assert tenths is not None
    written = write(result(22.64, uncertainty), reading("312", Form("mm/10", tenths.factor)))
    assert written.text == text


@pytest.mark.parametrize(
    ("file", "dialect", "line", "text"),
    [
        ("a.h", "header", "#define FEEDER_GEAR_RATIO 60.0/20.0", "52.0/15.0"),
        ("a.h", "header", "#define FEEDER_GEAR_RATIO 60 / 20", "52.0 / 15.0"),
        ("a.conf", "sectioned", "[feeder]\ngear ratio = 60/20", "52/15"),
        ("a.conf", "sectioned", "[feeder]\ngear ratio = 60:20", "52:15"),
        ("a.h", "header", "#define FEEDER_GEAR_RATIO (60/20)", ""),
    ],
)
def test_a_ratio_stays_the_division_that_it_is_and_one_in_brackets_is_left_to_a_person(
    file: str, dialect: str, line: str, text: str
) -> None:
    """Two whole numbers are divided without their rest in C (ISO/IEC 9899, 6.5.5)."""
    (old,) = recognise([read(file, f"{line}\n".encode(), dialect)]).every_reading
    assert old.editable is bool(text)
    new = replace(result(52 / 15), target="feeder.gear_ratio", unit="", text="52:15")
    assert not text or write(new, old).text == text
