"""What stands in a file once is known of all its lines: letters that are explained, units below a heading, conventions."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.legends import words_told
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str, dialect: str) -> Machine:
    return recognise([read("dotterel", text.encode(), dialect)])


def values(text: str, dialect: str = "flat") -> dict[str, float | None]:
    return {reading.quantity: reading.value for reading in machine(text, dialect).readings}


def test_a_letter_means_what_the_opening_remark_says() -> None:
    text = "# x y z = axes   f = filament drive   n = nozzle\nx.max.vel=180\ny.max.vel=170\nf.max.vel=45\nf.step/mm=804\nn.dia=.3\n"
    assert values(text) == {
        "axis.x.max_speed": 180,
        "axis.y.max_speed": 170,
        "feeder.max_speed": 45,
        "feeder.steps_per_mm": 804,
        "nozzle.diameter": 0.3,
    }


def test_a_letter_that_is_another_devices_is_not_read() -> None:
    text = "# d = feeder, p = syringe pump\nd.top.speed=45\np.top.speed=30\n"
    assert values(text) == {"feeder.max_speed": 45}


def test_a_remark_that_is_a_unit_holds_for_the_lines_below_it() -> None:
    text = "[How fast it goes]\n# metres per second\nx, at most = 0.2\ny, at most = 0.15\n[Currents]\n# amperes, r.m.s.\nx = 0.6\ny = 0.7\n"
    assert values(text, "sectioned") == pytest.approx(
        {
            "axis.x.max_speed": 200,
            "axis.y.max_speed": 150,
            "axis.x.run_current": 0.6,
            "axis.y.run_current": 0.7,
        }
    )


def test_what_a_nested_file_says_of_its_currents_holds_but_for_those_that_say_otherwise() -> None:
    text = (
        '{"conventions": "Currents are peak values unless followed by (rms).",'
        ' "x": {"run current": "1.0 A"}, "y": {"run current": "1.0 A (rms)"}}'
    )
    assert values(text, "nested") == pytest.approx(
        {"axis.x.run_current": 0.7071068, "axis.y.run_current": 1.0}
    )


def test_inches_are_inches_where_the_file_says_so_and_nothing_where_it_does_not() -> None:
    lines = "#define X_TRAVEL_MAX_IN 10.0\n#define PULL_BACK_IN 0.04\n#define X_RAPID_IPM 472\n"
    assert values("/* IN = INCHES */\n" + lines, "header") == pytest.approx(
        {"axis.x.max": 254, "retraction.length": 1.016, "axis.x.max_speed": 199.813}, rel=1e-4
    )
    assert "axis.x.max" not in values(lines, "header") and "retraction.length" not in values(lines, "header")


def test_an_aside_in_brackets_hides_nothing() -> None:
    text = (
        '{"feeder A (grey, from the fair)": {"steps per mm": 412}, "feeder B (blue)": {"steps per mm": 139}}'
    )
    found = machine(text, "nested")
    assert [(r.value, str(r.holder.name)) for r in found.readings] == [(412, "1"), (139, "2")]


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("filament pulled back before a hop = 4.5 mm", {"retraction.length": 4.5}),
        ("pull back on travel = 4.5 mm", {"retraction.length": 4.5}),
        ("drawn back = 4.5 mm", {"retraction.length": 4.5}),
        ("where the head waits, x = 10", {"park.x": 10}),
    ],
)
def test_forms_of_a_verb_are_the_verb_and_the_move_at_which_it_is_done_is_no_measure(
    line: str, wanted: dict[str, float]
) -> None:
    assert values(line + "\n") == wanted


def test_a_section_that_says_peak_holds_peak_currents() -> None:
    found = machine('{"motor_current_ma_peak": {"x": 1000, "y": 1200}}', "nested").readings
    assert [(r.quantity, r.value) for r in found] == [
        ("axis.x.run_current", pytest.approx(0.7071068)),
        ("axis.y.run_current", pytest.approx(0.8485281)),
    ]


def test_a_time_that_may_be_minutes_is_not_read_as_seconds() -> None:
    assert values("MOTORS_OFF=20\n") == {}
    assert values("MOTORS_OFF=20   # min without a move\n") == {"machine.idle_time": 1200}
    assert values("motors off after = 10 min\n") == {"machine.idle_time": 600}


def test_a_section_may_end_in_the_unit_of_what_stands_in_it() -> None:
    text = '{"travel_limits_mm": {"x": [0, 235], "y": [-1, 230]}, "shaping_hz": {"x": 44.5}, "steps_mm": {"x": 80}}'
    assert values(text, "nested") == {
        "axis.x.min": 0,
        "axis.x.max": 235,
        "axis.y.min": -1,
        "axis.y.max": 230,
        "resonance.x": 44.5,
        "axis.x.steps_per_mm": 80,
    }


def test_steps_per_mm_above_a_run_of_lines_is_no_unit_of_microsteps() -> None:
    text = "# steps per mm\nSTEPS_X=160\nSTEPS_E=655.2\nMICRO_X=32\nMICRO_E=16\nFULLSTEP_E=400\n"
    assert values(text) == {
        "axis.x.steps_per_mm": 160,
        "feeder.steps_per_mm": 655.2,
        "axis.x.microsteps": 32,
        "feeder.microsteps": 16,
        "feeder.full_steps": 400,
    }


def test_a_key_that_repeats_its_sections_word_says_what_the_section_says() -> None:
    assert values("[flow lag]\nlag = 0.62 s\nsmooth over = 0.046 s\n", "sectioned") == {
        "lag.coefficient": 0.62,
        "lag.averaging": 0.046,
    }


def test_a_list_of_words_alone_is_no_list_of_numbers() -> None:
    found = machine('{"coils": {"units": {"current": "mA, rms"}, "current": {"x": 800}}}', "nested")
    assert [(r.quantity, r.value) for r in found.readings] == [
        ("axis.x.run_current", 0.8)
    ] and not found.doubts


@pytest.mark.parametrize(
    ("told", "feeders"),
    [
        ("A is the feeder", {"machine": 97.5}),
        ("A = extruder axis, which moves the filament", {"machine": 97.5}),
        ("axes X Y Z, feeders A and B", {"feeder 1": 97.5, "feeder 2": 98.1}),
        ("extruders: B & A", {"feeder 2": 97.5, "feeder 1": 98.1}),
        ("the feeder rests", {}),
    ],
)
def test_a_letter_is_the_feeder_s_where_the_opening_remark_calls_it_so(
    told: str, feeders: dict[str, float]
) -> None:
    text = f"; {told}\n; Q21 steps per mm\nQ21 X84 A97.5{' B98.1' if len(feeders) > 1 else ''}\n"
    found = machine(text, "command").readings
    assert {
        str(each.holder): each.value for each in found if each.quantity == "feeder.steps_per_mm"
    } == feeders


def test_a_counted_word_of_the_feed_path_keeps_its_meaning_beside_what_is_said_of_it() -> None:
    told = words_told("# two of them: e1 = geared on the head, zg = geared on the head\n")
    assert told == {("zg",): ("geared", "on", "the", "head")}


def test_what_is_explained_by_its_unit_alone_keeps_its_own_word_wherever_it_stands() -> None:
    text = "// cur = A rms, spd = mm/s, ld = mm\n#define X_CUR 0.7\n#define X_CUR_HOLD 0.4\n#define E_CUR_IDLE 0.3\n#define E_HOLD_CUR 0.3\n#define X_SPD_MAX 180\n#define FIL_LD 400\n"
    assert values(text, "header") == {
        "axis.x.run_current": 0.7,
        "axis.x.hold_current": 0.4,
        "motor.hold_current": 0.3,
        "axis.x.max_speed": 180,
        "feeder.load_length": 400,
    }
