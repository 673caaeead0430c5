"""A section with a word that nobody knows is read where it says several things that nothing else says, and never edited."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

KEYS = {"steps per mm": "96", "microsteps": "16", "max speed": "40", "gear ratio": "3:1"}
NAMES = ["feeder.steps_per_mm", "feeder.microsteps", "feeder.max_speed", "feeder.gear_ratio"]


def section(name: str, *keys: str) -> str:
    return f"[{name}]\n" + "".join(f"{key} = {KEYS[key]}\n" for key in keys)


def machine(*sections: str) -> Machine:
    return recognise([read("one.ini", "".join(sections).encode(), "sectioned")])


@pytest.mark.parametrize(("many", "there"), [(4, True), (3, True), (2, False), (1, False)])
def test_three_things_make_it_a_manner_of_speaking(many: int, there: bool) -> None:
    found = machine(section("quux feeder", *list(KEYS)[:many]))
    assert [each.quantity for each in found.readings] == (NAMES[:many] if there else [])
    assert not any(each.editable for each in found.readings)
    (doubt,) = found.doubts
    assert "not every word of the section is understood" in doubt.why
    assert (f"{many - 1} more of the section" in doubt.why) is (many > 1)


def test_what_two_such_sections_say_is_neither_one_s() -> None:
    other = section("gruz feeder", "steps per mm")
    assert [each.quantity for each in machine(section("quux feeder", *KEYS), other).readings] == NAMES[1:]
    assert machine(section("quux feeder", *list(KEYS)[:3]), other).readings == ()


def test_where_anything_else_says_one_of_the_things_none_is_read() -> None:
    found = machine(section("quux feeder", *KEYS), section("feeder", "steps per mm"))
    assert [(each.quantity, each.place.line) for each in found.readings] == [("feeder.steps_per_mm", 7)]
    assert [each.setting.key for each in found.unread] == list(KEYS)[1:]


def test_beside_feeders_with_numbers_one_without_is_another_device() -> None:
    numbered = section("feeder 1", *KEYS), section("feeder 2", *KEYS)
    found = machine(*numbered, section("quux tool", *KEYS))
    assert [each.place.line for each in found.readings] == [2, 3, 4, 5, 7, 8, 9, 10]


@pytest.mark.parametrize(("number", "asked"), [("200", False), ("211", True)])
def test_what_lies_between_the_ends_of_an_axis_is_a_place_and_no_end(number: str, asked: bool) -> None:
    found = machine(
        f"[reach]\ny from = 0\ny to = 208\n[quux place]\nlift off y = {number}\ny end = {number}\n"
    )
    assert any("may be Y maximum" in each.why for each in found.doubts) is asked


@pytest.mark.parametrize(
    ("axes", "steps", "read_"),
    [
        ("x_top_rate = 180\n", "feed_steps_per_mm = 95\n", [40]),
        ("x_top_rate = 180\n", "", []),
        ("x_quickest = 180\n", "feed_steps_per_mm = 95\n", []),
    ],
)
def test_a_rate_of_feed_is_the_feeder_s_where_axes_have_the_same_and_its_steps_begin_alike(
    axes: str, steps: str, read_: list[float]
) -> None:
    found = recognise([read("one.conf", f"{axes}{steps}feed_top_rate = 40\n".encode(), "flat")])
    told = [each for each in found.readings if each.quantity.endswith("r.max_speed")]
    assert [each.value for each in told] == read_ and not any(each.editable for each in told)


def test_a_rate_of_feed_is_not_the_feeder_s_where_another_line_says_that_one() -> None:
    lines = b"x_top_rate = 180\nfeed_steps_per_mm = 95\nfeed_top_rate = 40\nfeeder_top_rate = 35\n"
    found = recognise([read("one.conf", lines, "flat")])
    assert [each.value for each in found.readings if each.quantity == "feeder.max_speed"] == [35]
