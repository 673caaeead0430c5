"""A line that is the end of an axis by its words is never left in silence, whatever the files call the axis."""

from __future__ import annotations

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.site_questions import site_questions

AXES = "".join(
    f"{axis}_motor_angle = 1.8\n{axis}_current = 850\n{axis}_fine_steps = 16\n{axis}_speed = 150\n"
    f"{axis}_lowest = {low}\n{axis}_highest = {high}\n"
    for axis, low, high in (("across", -12, 236), ("along", -5, 224), ("mast", 0, 214))
)


def asked(text: str) -> dict[int, str]:
    """What is asked about the end of an axis, by its line."""
    machine = recognise([read("lamp.conf", text.encode(), "flat")])
    return {each.place.line: each.remedy for each in machine.doubts if "the end of an axis" in each.why}


def test_a_word_that_means_nothing_is_asked_about_once_for_all_its_lines() -> None:
    found = asked(AXES)
    assert found[5].endswith("under words: {across: x}, or y, or z")
    assert found[11].endswith("under words: {along: x}, or y, or z") and not {6, 12} & found.keys()


def test_an_axis_by_another_word_is_asked_about_line_by_line() -> None:
    found = asked(AXES)
    assert '"mast_lowest": axis.z.min' in found[17] and '"mast_highest": axis.x.max' in found[18]


def test_an_axis_below_a_heading_of_all_axes_is_asked_about_too() -> None:
    own = "    motor angle: 1.8\n    current: 850\n    fine steps: 16\n    speed: 150\n    highest: 212\n"
    text = "moves:\n" + "".join(f"  {name}:\n{own}" for name in ("spar", "deck", "mast"))
    machine = recognise([read("lamp.yaml", text.encode(), "nested")])
    found = [each.place.line for each in machine.doubts if "the end of an axis" in each.why]
    assert found == [7, 13, 19]


def test_the_end_of_something_else_is_no_axis() -> None:
    assert not asked("across_lowest_speed = 20\nfilament_across_max = 1.8\nplate_highest = 110\nacross = 4\n")


def test_the_answer_is_a_word_of_the_site_file() -> None:
    machine = recognise([read("lamp.conf", AXES.encode(), "flat")])
    first = site_questions(machine)[0]
    assert [answer.entry for answer in first.answers] == [{"words": {"across": axis}} for axis in "xyz"]
