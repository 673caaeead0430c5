"""Whose tip a shift is of: until it is known, what counts from one of several tips is not written."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from rulebench import own_rules, sheet_of

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.rules.age import Age
from cfgmigrate.rules.tips import doubts_of_tips, ways_shut

X = "carriage.nozzle_shift.x"


def machine(many: int = 2, reference: str = "") -> Machine:
    text = f"reference = {reference}\n" if reference else "a = 1\n"
    names = {"wren": 1, "heron": 2}
    document = read("wren.ini", text.encode(), "flat")
    return Machine((document,), (), feeders=tuple(range(1, many + 1)), feeder_names=names)


def shut(given: dict[str, str], of: Machine, swapped: tuple[int, ...]) -> set[str]:
    """The rules that have a way that is shut."""
    found = ways_shut(own_rules(), of, sheet_of(given), swapped)
    assert all(told.age is Age.UNKNOWN and told.why for told in found.values())
    return {rule for rule, _ in found}


@pytest.mark.parametrize(
    ("given", "many", "reference", "swapped", "open_"),
    [
        ({X: "1.5 mm"}, 1, "", (1,), True),
        ({X: "1.5 mm"}, 2, "", (1,), False),
        ({X: "1.5 mm"}, 2, "", (1, 2), True),
        ({X: "1.5 mm"}, 3, "", (1, 2), False),
        ({X: "0 mm"}, 2, "", (1,), True),
        ({}, 2, "", (1,), True),
        ({X: "1.5 mm", "carriage.one_nozzle": "yes"}, 2, "", (1,), True),
        ({X: "1.5 mm", "carriage.one_nozzle": "no"}, 2, "", (1,), False),
        ({X: "1.5 mm", "carriage.one_nozzle": "no"}, 2, "", (1, 2), False),
        ({X: "1.5 mm"}, 2, "wren", (1,), True),
        ({X: "1.5 mm"}, 2, "heron", (1,), False),
        ({X: "1.5 mm", "carriage.one_nozzle": "yes"}, 2, "heron", (1,), True),
    ],
)
def test_a_shift_of_the_tip_shuts_ways_where_it_may_be_of_another_one(
    given: dict[str, str], many: int, reference: str, swapped: tuple[int, ...], open_: bool
) -> None:
    of = machine(many, reference)
    assert (not shut(given, of, swapped)) is open_
    asked = [each.text for each in doubts_of_tips(of, sheet_of(given), swapped)]
    if open_:
        assert not asked
    elif "carriage.one_nozzle" not in given:
        assert asked == [X]


def test_what_is_shut_counts_from_the_tip_and_is_of_its_own_axis() -> None:
    of_x, of_z = (
        shut({X: "1.5 mm"}, machine(), (1,)),
        shut({"carriage.nozzle_shift.z": "1.5 mm"}, machine(), (1,)),
    )
    assert "probe.offset_x" in of_x and "probe.offset_y" not in of_x
    assert not any(name.startswith(("retraction", "feeder", "motor")) for name in of_x | of_z)
    assert of_x != of_z
    only_said = {
        "axis.nozzle_shift",
        "probe.rise",
        "probe.height_unread",
        "protected.z_stop",
        "tips.z",
        "tips.x",
    }
    assert not only_said & (of_x | of_z), "what is only to be found out holds for any tip"


def test_where_each_has_a_tip_of_its_own_the_carriage_s_word_is_asked_for_in_place_of_a_place() -> None:
    given = {"clearance.lowest_x": "4 mm", X: "1.5 mm", "carriage.one_nozzle": "no"}
    doubts = list(doubts_of_tips(machine(), sheet_of(given), (1,)))
    assert [each.text for each in doubts] == ["clearance.lowest_x"]
    assert doubts[0].remedy.endswith("If each has its own, say clearance.less_at_low_x in its place.")
    open_still = {name: text for name, text in given.items() if name != "carriage.one_nozzle"}
    asked = list(doubts_of_tips(machine(), sheet_of(open_still), (1,)))
    assert [each.text for each in asked] == [f"{X}, clearance.lowest_x"], (
        "one question, however much rests on it"
    )
    assert asked[0].remedy.endswith("say clearance.less_at_low_x in place of clearance.lowest_x.")
    assert "1.5 mm, 4 mm" in asked[0].why
    zero = {"clearance.lowest_x": "0 mm"}
    assert [each.text for each in doubts_of_tips(machine(), sheet_of(zero), (1,))] == ["clearance.lowest_x"]


@pytest.mark.parametrize(
    ("reference", "swapped", "said", "why"),
    [
        ("heron", (1,), "", "counts from the tip of feeder 2, the reference"),
        ("", (1,), "", "if each has a tip of its own"),
        ("", (1,), "no", "has 2 feeders, each with a tip of its own"),
    ],
)
def test_the_reason_says_from_which_tip_it_counts_as_far_as_that_is_known(
    reference: str, swapped: tuple[int, ...], said: str, why: str
) -> None:
    given = {X: "1.5 mm", **({"carriage.one_nozzle": said} if said else {})}
    found = ways_shut(own_rules(), machine(2, reference), sheet_of(given), swapped)
    assert found and all(why in told.why for told in found.values())


def test_a_way_that_takes_the_carriage_s_word_stays_open_whichever_tip_has_moved() -> None:
    given = {X: "1.5 mm", "clearance.less_at_low_x": "4 mm"}
    found = ways_shut(own_rules(), machine(), sheet_of(given), (1,))
    by_name = {rule.name: rule for rule in own_rules().rules}
    for rule, way in found:
        needs = next(each.needs for each in by_name[rule].ways if each.name == way)
        assert "clearance.less_at_low_x" not in needs or X in needs, "it takes the carriage's word alone"


@pytest.mark.parametrize(("shift", "many"), [("0.3 mm", 1), ("-0.3 mm", 2)])
def test_how_much_less_far_up_the_carriage_gets_counts_whichever_tip_has_moved(shift: str, many: int) -> None:
    given = {"carriage.nozzle_shift.z": shift, "clearance.less_at_high_z": "24 mm"}
    found = ways_shut(own_rules(), machine(), sheet_of({**given, "carriage.one_nozzle": "no"}), (1,))
    rule = next(each for each in own_rules().rules if each.name == "axis.z.max")
    ways = [way for way in rule.ways if "clearance.less_at_high_z" in way.needs]
    assert sum((rule.name, way.name) not in found for way in ways) == many, (
        "a tip that sits lower now takes from what is written, and one that sits higher adds nothing"
    )


def test_without_rules_nothing_is_shut() -> None:
    assert ways_shut(replace(own_rules(), rules=()), machine(), sheet_of({X: "1.5 mm"}), (1,)) == {}


@pytest.mark.parametrize(
    ("shift", "less", "reference", "with_shift"),
    [
        ("-2 mm", "9 mm", "", True),
        ("2 mm", "9 mm", "", False),
        ("-2 mm", "0 mm", "", False),
        ("-2 mm", "9 mm", "heron", False),
    ],
)
def test_a_limit_that_the_carriage_gets_less_far_to_is_set_within_what_every_tip_reaches(
    shift: str, less: str, reference: str, with_shift: bool
) -> None:
    given = {X: shift, "clearance.less_at_high_x": less, "carriage.one_nozzle": "no"}
    found = ways_shut(own_rules(), machine(2, reference), sheet_of(given), (1,))
    rule = next(each for each in own_rules().rules if each.name == "axis.x.max")
    open_ = {
        X in way.needs
        for way in rule.ways
        if "clearance.less_at_high_x" in way.needs and (rule.name, way.name) not in found
    }
    assert open_ == ({True, False} if with_shift else {False})
