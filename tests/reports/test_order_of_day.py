"""The day in a short list: what comes first, who does it, with what, and what is only a start."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace

from cfgmigrate.knowledge.day import tools_of_day
from cfgmigrate.plan.model import ByHand, LeftOut, Light, Plan
from cfgmigrate.reports.card import cards_of
from cfgmigrate.reports.checklist import render_checklist
from cfgmigrate.reports.order_of_day import (
    STOP_HERE,
    by_files,
    left_to_others,
    order_of_day,
    tools,
    what_moved,
)
from cfgmigrate.reports.page import render_page
from cfgmigrate.rules.rule import MOMENTS


def step(rule: str, when: str, label: str, **more: Any) -> ByHand:
    return ByHand(rule=rule, label=label, what=f"Do {label}.", why="", when=when, value=None, unit="", **more)


def of(plan: Plan, *steps: ByHand) -> Plan:
    return replace(plan, by_hand=steps)


def listed(plan: Plan) -> list[tuple[str, str, str]]:
    """Each thing that is told of the day: its part, who, and the words."""
    return [
        (part.title, who, " ".join(filter(None, [text, *(task.label for task in tasks)])))
        for part in order_of_day(plan, cards_of(plan))
        for who, text, tasks in part.parts
    ]


@pytest.mark.parametrize("when", MOMENTS)
def test_a_step_of_whatever_moment_has_its_part_of_the_day(wren: SimpleNamespace, when: str) -> None:
    assert any(
        "heron's perch" in words
        for _, _, words in listed(of(wren.plan, step("work.perch", when, "heron's perch")))
    )


def test_every_item_of_the_plan_that_is_done_or_checked_is_linked(wren: SimpleNamespace) -> None:
    cards = cards_of(wren.plan)
    linked = {
        number
        for part in order_of_day(wren.plan, cards)
        for _, _, tasks in part.parts
        for task in tasks
        for number in task.numbers
    }
    assert linked == {
        card.number for card in (*cards.by_hand, *(each for each in cards.changes if each.check))
    }


def test_work_on_files_is_of_whoever_has_them_and_comes_before_power_and_before_the_plug(
    wren: SimpleNamespace,
) -> None:
    plan = of(
        wren.plan,
        step("files.of_others", "before it moves", "lines of others"),
        step("probe.x_measured", "after install", "probe held to a rule"),
        step("feeder.direction", "power on", "sense of the feeder"),
    )
    told = listed(plan)
    assert [card.rule for card in by_files(cards_of(plan))] == ["files.of_others"]
    assert next(each for each in told if "lines of others" in each[2])[:2] == ("New values in", "files")
    assert next(each for each in told if "held to a rule" in each[2])[1] == "hands"
    assert next(each for each in told if "sense of the feeder" in each[2])[:2] == ("First power", "hands")
    whose = [who for part, who, _ in told if part == "New values in"]
    assert whose == sorted(whose)


def test_the_motor_s_plug_goes_in_once_its_screw_is_set_and_before_what_needs_the_motor(
    wren: SimpleNamespace,
) -> None:
    plan = of(
        wren.plan,
        step("work.perch", "before it moves", "end stops"),
        step("motor.reference_voltage", "before it moves", "screw"),
        step("feeder.direction", "power on", "sense of the feeder"),
    )
    told = [words for _, _, words in listed(plan)]
    assert any(words.endswith("but not its motor's plug") for words in told)
    plug = [words for words in told if "plug" in words and ("in (" in words or words.endswith("plug in"))]
    assert plug == ["then off, unplugged and dark: the plug in"]
    screw = told.index("with the new motor's plug still out screw")
    assert told[screw + 1] == plug[0]
    assert "sense of the feeder" in told[screw + 2]


def test_where_nozzle_and_probe_sit_is_told_in_directions_and_what_stayed_is_not(
    wren: SimpleNamespace,
) -> None:
    swap = (
        ("carriage.nozzle_shift.x", "-4.5 mm"),
        ("carriage.nozzle_shift.y", "0 mm"),
        ("carriage.nozzle_shift.z", "\u22121.2 mm"),
        ("carriage.probe_shift.z", "3 mm ± 0.1 mm"),
    )
    assert what_moved(replace(wren.plan, swap=swap)) == [
        "the nozzle 4.5 mm to lower x and 1.2 mm lower",
        "the probe 3 mm ± 0.1 mm higher",
    ]
    assert what_moved(replace(wren.plan, swap=())) == []


def test_only_files_of_another_machine_are_told_as_not_touched(wren: SimpleNamespace) -> None:
    beside = (LeftOut("knot.ini", "other machine"), LeftOut("diary.txt", "no configuration"))
    assert left_to_others(replace(wren.plan, left_out=beside)) == "knot.ini, of another machine"
    assert left_to_others(replace(wren.plan, left_out=beside[1:])) == ""


def test_a_tool_lies_ready_for_what_asks_for_it_and_for_nothing_else(wren: SimpleNamespace) -> None:
    plan = of(
        wren.plan,
        step("work.level", "first move", "level", verify="A slip of paper drags alike."),
        step("work.spool", "mounting", "spool", verify="It runs off at a light pull."),
    )
    cards = cards_of(replace(plan, changes=()))
    assert [(tool.label, tool.numbers) for tool in tools(cards)] == [("a slip of paper", ("H1",))]
    assert all(word == word.lower() for words in tools_of_day().values() for word in words)


def test_a_packet_of_measurements_has_no_day_of_the_swap(wren: SimpleNamespace) -> None:
    assert order_of_day(replace(wren.plan, kind="tune"), cards_of(wren.plan)) == []


def test_the_page_has_the_day_above_its_lights_and_marks_what_is_a_start(wren: SimpleNamespace) -> None:
    text = render_page(wren.plan, wren.before, wren.after, "0" * 64, "A. Heron")
    assert text.index('id="day-title"') < text.index('id="changes"')
    assert "Files: A. Heron." in text and "~ is a start" in text


def test_a_meter_lies_ready_for_the_screw(wren: SimpleNamespace) -> None:
    screw = step(
        "motor.reference_voltage", "before it moves", "screw", steps=("Set the meter to direct voltage.",)
    )
    found = tools(cards_of(of(wren.plan, screw)))
    assert "a meter" in [tool.label for tool in found]


def test_the_old_setting_of_a_screw_is_read_before_anything_comes_off(wren: SimpleNamespace) -> None:
    screw = step("motor.reference_voltage", "before it moves", "screw")
    told = [words for part, who, words in listed(of(wren.plan, screw)) if (part, who) == ("Before", "hands")]
    assert any("read the voltage at the screw" in words and "H1" in words for words in told)
    other = listed(of(wren.plan, step("work.perch", "before", "heron's perch")))
    assert not any("voltage" in words for _, _, words in other)


def test_the_day_stops_where_the_checklist_stops_and_nowhere_else(wren: SimpleNamespace) -> None:
    plan = of(
        wren.plan,
        step("gears.swapped", "before", "gears the other way round", verify="The packet says it."),
        step("probe.hangs_low", "mounting", "probe below the tip"),
        step("work.perch", "mounting", "heron's perch"),
    )
    told = " / ".join(words for _, _, words in listed(plan))
    assert f"gears the other way round{STOP_HERE}" in told
    assert f"probe below the tip{STOP_HERE}" in told
    assert told.count(STOP_HERE) == render_checklist(plan).count("**Stop here.**") == 2


def test_what_to_do_when_the_gear_turns_the_wrong_way_stands_right_under_its_test(
    wren: SimpleNamespace,
) -> None:
    perch = step("protected.perch", "power on", "heron's perch")
    for tested in ((step("feeder.direction", "power on", "sense of the drive"),), ()):
        lines = render_checklist(of(wren.plan, *tested, perch)).splitlines()
        boxes = [line for line in lines if line.startswith("- [ ]")]
        wrong = [number for number, line in enumerate(boxes) if "turns the wrong way" in line]
        assert len(wrong) == 1, "told once"
        assert ("sense of the drive" if tested else "First test of direction") in boxes[wrong[0] - 1]


def test_an_open_light_stops_the_day_before_it_begins(wren: SimpleNamespace) -> None:
    def first(state: str) -> list[str]:
        plan = replace(wren.plan, lights=(Light("current", "machine", state, "nothing says it"),))
        return [words for part, _, words in listed(plan) if part == "Before"]

    assert any(words.startswith("stop here until") and "current" in words for words in first("unknown"))
    assert not any("stop here" in words for words in first("set"))


def test_what_needs_power_stands_where_there_is_power_or_says_so(wren: SimpleNamespace) -> None:
    told = listed(of(wren.plan, step("files.at_console", "before it moves", "values that the board keeps")))
    assert next(part for part, _, words in told if "the board keeps" in words) == "First power"
    shown = next(part for part, _, words in told if "shows its settings" in words)
    minded = {part.title: part.mind for part in order_of_day(wren.plan, cards_of(wren.plan))}
    assert "needs power: a hand at the switch" in minded[shown]


@pytest.mark.parametrize("words", ["Set the meter to volts.", "Read it by someone with a meter."])
def test_a_meter_lies_ready_for_every_step_that_speaks_of_one(wren: SimpleNamespace, words: str) -> None:
    one = step("work.perch", "mounting", "heron's perch", steps=(words,))
    other = step("work.spool", "mounting", "spool", verify="Its diameter is a parameter of 3 millimeters.")
    cards = cards_of(replace(of(wren.plan, one, other), changes=()))
    assert [(tool.label, tool.numbers) for tool in tools(cards)] == [("a meter", ("H1",))]
