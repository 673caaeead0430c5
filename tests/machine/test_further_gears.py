"""A line of gears or steps that nobody understood, beside the feeder's own, makes its distance per turn a question."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

FEEDER = {
    "sectioned": "[feeder]\nmm per turn = 21.4\ngear ratio = 3:1\n{}\n",
    "flat": "feeder.mm_per_turn = 21.4\nfeeder.gear_ratio = 3:1\n{}\n",
}


def machine(text: str, dialect: str = "sectioned") -> Machine:
    return recognise([read("a.conf", FEEDER[dialect].format(text).encode(), dialect)])


def editable(found: Machine) -> list[bool]:
    names = ("feeder.feed_per_turn", "feeder.gear_ratio")
    return [each.editable for each in found.readings if each.quantity in names]


def asked(found: Machine) -> list[int]:
    return [each.place.line for each in found.doubts if "speaks of gears or steps" in each.why]


@pytest.mark.parametrize(
    ("dialect", "line"),
    [
        ("sectioned", "second gear ratio = 2:1"),
        ("sectioned", "gears ahead of it = 1.5"),
        ("sectioned", "ratio of the whole box: 52:12"),
        ("sectioned", "motor steps halved = 2"),
        ("sectioned", "worm gear teeth = 40"),
        ("flat", "feeder.further_ratio = 2:1"),
        ("flat", "feeder.belt_teeth_factor = 2"),
    ],
)
def test_a_further_factor_is_asked_about_and_nothing_is_edited(dialect: str, line: str) -> None:
    found = machine(line, dialect)
    assert asked(found) == [4 if dialect == "sectioned" else 3]
    assert editable(found) == [False, False]


@pytest.mark.parametrize(
    ("dialect", "line"),
    [
        ("sectioned", "second gear ratio = 1:1"),
        ("sectioned", "second gear = printed"),
        ("sectioned", "# second gear ratio = 2:1"),
        ("sectioned", "step line = 10"),
        ("sectioned", "step pulse duration = 0.000002"),
        ("sectioned", "gear diameter = 11"),
        ("sectioned", "[x]\nsecond gear ratio = 2:1"),
        ("sectioned", "[pump]\nsecond gear ratio = 2:1"),
        ("flat", "x.further_ratio = 2:1"),
    ],
)
def test_what_is_no_factor_of_the_feeder_asks_nothing(dialect: str, line: str) -> None:
    found = machine(line, dialect)
    assert asked(found) == []
    assert editable(found) == [True, True]


def test_what_is_said_to_be_nothing_is_nothing(tmp_path) -> None:
    from cfgmigrate.machine.names import read_names

    (tmp_path / "names.yaml").write_text('"[feeder] second gear ratio": ignore\n')
    document = read("a.conf", FEEDER["sectioned"].format("second gear ratio = 2:1").encode(), "sectioned")
    found = recognise([document], read_names(tmp_path / "names.yaml"))
    assert (asked(found), editable(found)) == ([], [True, True])


@pytest.mark.parametrize(("section", "asks"), [("stock feeder", True), ("feeder stock", False)])
def test_the_initials_of_a_section_make_no_step_of_its_keys(section: str, asks: bool) -> None:
    found = machine(f"[{section}]\nmm per turn = 22.6\nst_soft = 0.62\nst_snap = 8\n")
    assert any("gears or steps" in each.why for each in found.doubts) is asks


def test_a_second_gear_below_gears_still_counts() -> None:
    found = machine("[feeder gears]\nfeed per turn = 23.1\ngear_ratio = 52:15\ngear_second = 3:1\n")
    assert any("gear_second" in each.text for each in found.doubts)
