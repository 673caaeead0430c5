"""Law 11: what stands under words that nobody knows is never edited; a unit in a remark is a statement."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import read
from cfgmigrate.machine.matching import best_fits
from cfgmigrate.machine.quantities import of_feeder
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import readings_of_name

KEYS = ["steps per mm = 96", "max speed = 50", "max acceleration = 1500", "run current rms = 0.6", "microsteps = 16",
        "retract length = 5", "retract speed = 40", "lag = 0.4", "turn length = 22", "max = 200", "x max = 200",
        "gear ratio = 3:1", "feeder max speed = 40", "direction inverted = yes"]  # fmt: skip
DEVICES = [
    "turntable",
    "air pump",
    "conveyor",
    "camera slider",
    "paste syringe",
    "lifting gate",
    "tape labeller",
]
_FEEDER = (
    "[feeder]\nsteps per mm = 400\nfull steps = 200\nmicrosteps = 16\nmax speed = 50\ncurrent rms = 0.5\n"
)
OTHERS = sorted(
    {
        word
        for name in sorted(vocabulary().strangers)
        for spelling in vocabulary().spelled(name)
        for word in spelling
        if len(spelling) == 1 and len(word) > 3 and vocabulary().foreign(word)
    }
)
#: what stands behind a device's name in a key
MEASURES = [
    "STEPS_PER_MM",
    "SPEED_MAX_MM_S",
    "RUN_MA_PK",
    "MM_PER_TURN",
    "LEN",
    "SPEED",
    "MAX_ACCEL",
    "MICROSTEPS",
]
INVENTED = st.text("bcdfghjklmnpqrtvwz", min_size=5, max_size=9)


@given(
    st.one_of(st.sampled_from(DEVICES), INVENTED), st.lists(st.sampled_from(KEYS), min_size=1, unique=True)
)
def test_known_keys_under_words_that_nobody_knows_give_no_editable_reading(
    section: str, keys: list[str]
) -> None:
    text = _FEEDER + f"[{section}]\n" + "\n".join(keys) + "\n"
    machine = recognise([read("one.ini", text.encode(), "sectioned")])
    for reading in machine.readings:
        assert reading.setting.section == "feeder" or not reading.editable, reading


def cut_short(word: str) -> list[str]:
    """A word's beginnings and its consonants, without those that are a word, or shorthand for one."""
    bones = word[0] + "".join(letter for letter in word[1:] if letter not in "aeiou")
    found = {bones, *(word[:end] for end in range(3, len(word)))}
    made = vocabulary()
    return sorted(each for each in found if each not in made.known and each not in made.shorthand)


@pytest.mark.parametrize("word", OTHERS)
def test_what_may_be_short_for_another_device_is_never_the_feeders(word: str) -> None:
    for short in cut_short(word):
        for measure in MEASURES:
            for section, key in (
                ("", f"{short}_{measure}"),
                (short, measure),
                ("", f"cfg_belt_{short}_{measure}"),
            ):
                meant = {
                    fit.quantity for fit in best_fits(readings_of_name(section, key))[1] if not fit.strange
                }
                assert not any(map(of_feeder, meant)), (section, key, meant)


@pytest.mark.parametrize(
    "text", ["tg_len", "e_max_lt", "x_cp", "e_rt", "hb_speed", "retract_wy", "x_max_mp", "jm_len"]
)
def test_two_letters_are_short_for_nothing_that_the_trade_does_not_write_so(text: str) -> None:
    assert not best_fits(readings_of_name("", text))[1]


def test_fr_is_a_feed_rate() -> None:
    for text, meant in (("E_MAX_FR", "feeder.max_speed"), ("X_MAX_FR", "axis.x.max_speed")):
        assert [fit.quantity for fit in best_fits(readings_of_name("", text))[1]] == [meant]


def test_a_word_cut_short_that_may_be_several_names_nothing_where_no_owner_is_named() -> None:
    for text in ("rt_len = 3.9\n", "rt_steps = 200\n"):
        assert not recognise([read("one.kv", text.encode(), "flat")]).readings


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("[feeder]\nmax speed = 2400 ; mm/min\n", "feeder.max_speed", 40),
        ("[feeder]\nmax speed = 240 ; mm/min\n", None, None),
        ("[retraction]\nspeed = 240 ; mm/min\n", "retraction.speed", 4),
        ("[feeder]\nlag = 900 ; ms\n", "lag.coefficient", 0.9),
        ("[feeder]\nrun current = 1000 ; mA peak\n", "motor.run_current", 0.70710678),
        ("# currents in mA peak\n[feeder]\nrun current = 1000\n", "motor.run_current", 0.70710678),
        ("# speeds in mm/min, lengths in mm\n[retraction]\nspeed = 150\n", "retraction.speed", 2.5),
    ],
)
def test_a_unit_in_a_remark_is_honoured(text: str, name: str | None, value: float | None) -> None:
    machine = recognise([read("one.ini", text.encode(), "sectioned")])
    found = {reading.quantity: reading.value for reading in machine.readings}
    assert found == (pytest.approx({name: value}) if name else {})


@pytest.mark.parametrize(
    ("remark", "value", "editable"),
    [
        ("mA. PEAK not rms!! (rms = peak / 1.414)", 0.70710678, True),
        ("mA peak, instead of rms", 0.70710678, True),
        ("mA, rms or peak as the driver has it", 1, False),
    ],
)
def test_a_current_that_its_remark_calls_both_is_what_it_is_not_denied_to_be(
    remark: str, value: float, editable: bool
) -> None:
    for text, dialect in (
        (f"; current, {remark}\nM906 X1000 E1000\n", "command"),
        (f"[feeder]\nrun current = 1000 ; {remark}\n", "sectioned"),
    ):
        machine = recognise([read("one.txt", text.encode(), dialect)])
        assert {(round(r.value or 0, 6), r.editable) for r in machine.readings} == {
            (round(value, 6), editable)
        }


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("[tool change]\nretract speed = 40\n", None),
        ("[pause]\nrecover speed = 40\n", None),
        ("[tool head]\nmax acceleration = 4000\n", "machine.max_acceleration"),
        ("drive_max_velocity = 40\n", "feeder.max_speed"),
        ("GEAR_NUM = 47\nGEAR_DEN = 19\n", None),
    ],
)
def test_the_longest_thing_comes_first(text: str, name: str | None) -> None:
    machine = recognise([read("one.ini", text.encode())])
    assert [reading.quantity for reading in machine.readings] == ([name] if name else [])


def test_a_lone_count_of_steps_that_a_motor_may_have_in_a_turn_is_a_doubt() -> None:
    machine = recognise([read("one.txt", b"e_steps = 200\ne_microsteps = 16\n", "flat")])
    assert [reading.quantity for reading in machine.readings] == ["feeder.microsteps"]
    assert "full steps" in machine.doubts[0].why
    machine = recognise([read("one.txt", b"e_steps = 200  # per mm\n", "flat")])
    assert [reading.quantity for reading in machine.readings] == ["feeder.steps_per_mm"]


def test_an_axis_called_a_and_a_tool_of_another_trade_are_never_the_feeders() -> None:
    for text in ("a_steps_per_mm", "mill_feed", "mill_max_feed", "drill_max_feed", "divisor"):
        assert not best_fits(readings_of_name("", text))[1], text


@pytest.mark.parametrize(
    ("line", "read_as"),
    [
        ("PIN_ZTOUCH 20", []),
        ("Z_TOUCH_PIN 20", []),
        ("TOUCH_OFF_PIN_Z -1.8", ["probe.offset_z"]),
        ("FEELER_PIN_Z 2", ["probe.offset_z"]),
    ],
)
def test_the_number_of_a_pin_is_no_place_of_what_is_wired_to_it(line: str, read_as: list[str]) -> None:
    machine = recognise([read("board.h", f"#define {line}\n".encode())])
    assert [each.quantity for each in machine.every_reading] == read_as
