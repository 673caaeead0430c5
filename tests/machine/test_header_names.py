"""A value that is another definition's name is read, and edited, where the number stands."""

from __future__ import annotations

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def header(text: str) -> Machine:
    return recognise([read("plover.h", text.encode(), "header")])


def test_a_number_behind_a_name_is_read_where_it_stands() -> None:
    text = "#define STEPS_OF_IT 505.3 // counted\n#define FEEDER_STEPS_PER_MM STEPS_OF_IT\n"
    found = header(text)
    reading = found.get("feeder.steps_per_mm")
    assert reading is not None and reading.value == 505.3
    assert (reading.place.line, text[reading.start : reading.end]) == (1, "505.3")
    assert reading.setting.key == "FEEDER_STEPS_PER_MM"
    assert found.unread == () and found.doubts == ()


def test_names_within_a_list_are_followed_too() -> None:
    found = header("#define ES 505.3\n#define STEPS_PER_MM ( 79.4, 81, 412, ES )\n")
    reading = found.get("feeder.steps_per_mm")
    assert reading is not None and (reading.value, reading.place.line) == (505.3, 1)


def test_a_name_for_a_name_is_followed() -> None:
    found = header("#define A 4.5\n#define B A\n#define PULLBACK_MM B\n")
    reading = found.get("retraction.length")
    assert reading is not None and (reading.value, reading.place.line) == (4.5, 1)


def test_a_number_that_sets_two_quantities_is_a_doubt_and_can_not_be_edited() -> None:
    found = header("#define LIVELY 40\n#define FEEDER_MAX_SPEED LIVELY\n#define Z_MAX_SPEED LIVELY\n")
    assert found.readings == ()
    assert len(found.doubts) == 2 and "to change one changes the other" in found.doubts[0].why


def test_arithmetic_behind_a_name_is_a_doubt() -> None:
    found = header("#define FULL 200\n#define FEEDER_STEPS_PER_MM (FULL * 16 / 7.7)\n")
    assert found.get("feeder.steps_per_mm") is None
    assert any("plain number" in doubt.why for doubt in found.doubts)


def test_names_in_a_circle_end() -> None:
    found = header("#define A B\n#define B A\n#define PULLBACK_MM A\n")
    assert found.get("retraction.length") is None


def test_only_what_is_in_force_is_read_and_what_is_undecided_is_a_doubt() -> None:
    text = (
        "//#define PULLBACK_MM 9\n#define WITH_IT\n#ifdef WITH_IT\n#define PULLBACK_MM 5\n#else\n"
        "#define PULLBACK_MM 6\n#endif\n#if OUTSIDE > 3\n#define STEPS_IN_A_MM 106.7, 106.7, 640, 131\n#endif\n"
    )
    found = header(text)
    reading = found.get("retraction.length")
    assert reading is not None and reading.value == 5
    assert found.get("feeder.steps_per_mm") is None
    assert [doubt.place.line for doubt in found.doubts] == [9]


def test_namespaces_tell_axes_and_feeders_apart() -> None:
    inner = "constexpr float kTopSpeed = {}.0f; // mm/s\n constexpr float kStepsPerMm = {}.0f;\n"
    text = f"namespace motion {{\n namespace x {{\n {inner.format(200, 80)} }}\n namespace y {{\n {inner.format(180, 81)} }}\n }}\nnamespace feeder {{\n {inner.format(60, 412)} }}\n"
    assert {r.quantity: r.value for r in header(text).readings} == {
        "axis.x.max_speed": 200,
        "axis.x.steps_per_mm": 80,
        "axis.y.max_speed": 180,
        "axis.y.steps_per_mm": 81,
        "feeder.max_speed": 60,
        "feeder.steps_per_mm": 412,
    }


def test_a_name_that_stands_in_two_namespaces_is_not_followed() -> None:
    text = "namespace a {\nconstexpr float kIt = 5;\n}\nnamespace b {\nconstexpr float kIt = 6;\n}\n#define PULLBACK_MM kIt\n"
    assert header(text).get("retraction.length") is None
