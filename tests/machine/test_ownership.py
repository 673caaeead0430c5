"""Whose a value is: the feeder's whose name its section has, wherever that stands, and nobody else's."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.collect import Collected
from cfgmigrate.machine.model import Form, Holder, Reading
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.ownership import each_number_for_itself, with_owner
from cfgmigrate.machine.recognise import recognise

TWO = "".join(f"[feeder {name}]\nsteps per mm = 96\nretraction length = 5\n" for name in ("wren", "heron"))


@pytest.mark.parametrize(
    ("lines", "quantity", "holder"),
    [
        ("[filament change heron]\nload length = 80 mm\n", "feeder.load_length", "feeder 2"),
        ("[heron retraction]\nspeed = 40 mm/s\n", "retraction.speed", "feeder 2"),
        ("[retraction of wren]\nspeed = 40 mm/s\n", "retraction.speed", "feeder 1"),
        ("[lag heron]\ncoefficient = 0.05 s\n", "lag.coefficient", "feeder 2"),
        ("[heron]\nfeeder max speed = 40 mm/s\n", "feeder.max_speed", "feeder 2"),
        ("[axis x, beside heron]\nmax speed = 200 mm/s\n", "axis.x.max_speed", "machine"),
    ],
)
def test_what_stands_below_a_feeder_s_name_is_that_feeder_s_where_each_has_its_own(
    lines: str, quantity: str, holder: str
) -> None:
    found = recognise([read("one.ini", (TWO + lines).encode(), "sectioned")])
    assert {str(each.holder) for each in found.readings if each.quantity == quantity} in ({holder}, set())
    assert holder == "machine" or any(each.quantity == quantity for each in found.readings)


def test_without_such_feeders_the_same_word_says_nothing_of_whose_it_is() -> None:
    text = b"[feeder]\nsteps per mm = 96\n[retraction]\nlength = 5 mm\n"
    assert {str(each.holder) for each in recognise([read("one.ini", text, "sectioned")]).readings} == {
        "machine"
    }


def collected(
    quantity: str = "motor.run_current",
    line: int = 1,
    measure: str = "current",
    alone: bool = False,
    strange: bool = False,
    at: int = 0,
    **more: object,
) -> Collected:
    setting = Setting("", f"key {line}", "1", 10 * line + at, 10 * line + at + 1, line, 1)
    made = Reading(quantity, 1.0, "1", Place("one.ini", line), setting.start, setting.end, Form(), setting)
    return Collected(replace(made, **more), measure, alone=alone, strange=strange)


@pytest.mark.parametrize(
    ("readings", "kept", "asked"),
    [
        ([collected(alone=True)], [1], []),
        ([collected(alone=True, strange=True)], [], [1]),
        ([collected(alone=True), collected(line=2)], [2], [1]),
        ([collected(alone=True), collected(line=2, alone=True)], [], [1, 2]),
        ([collected(alone=True), collected("retraction.speed", 2, "speed")], [1, 2], []),
        ([collected(), collected(line=2)], [1, 2], []),
        ([collected(alone=True), collected("motor.hold_current")], [1], []),
        ([collected(strange=True)], [1], []),
    ],
)
def test_what_nothing_says_an_owner_of_is_read_where_it_is_the_only_one_of_its_measure(
    readings: list[Collected], kept: list[int], asked: list[int]
) -> None:
    found, doubts = with_owner(readings)
    assert [each.reading.place.line for each in found] == kept
    assert [each.place.line for each in doubts] == asked
    assert all("nothing says what it belongs to" in each.why for each in doubts)


def shared(*readings: Collected) -> tuple[list[str], list[str], list[str]]:
    own, both, doubts = each_number_for_itself([each.reading for each in readings])
    return [each.quantity for each in own], [each.quantity for each in both], [each.why for each in doubts]


LENGTH, SPEED, GUARD = "retraction.length", "retraction.speed", "protected.runout"


def test_a_number_that_sets_two_quantities_is_written_for_neither() -> None:
    own, both, doubts = shared(collected(LENGTH), collected(SPEED), collected(LENGTH, 2))
    assert (own, both) == ([LENGTH], [LENGTH, SPEED]) and len(doubts) == 2
    assert all("is the same number as" in each for each in doubts)
    assert shared(collected(LENGTH), collected(LENGTH)) == ([LENGTH, LENGTH], [], [])
    of_two = collected(LENGTH), collected(LENGTH, holder=Holder("feeder", "2"))
    assert shared(*of_two)[1] == [LENGTH, LENGTH] and "of feeder 2" in shared(*of_two)[2][0]


def test_what_is_never_edited_anyway_shares_its_number_without_a_doubt() -> None:
    shut = {"editable": False, "why_not": "so"}
    assert shared(collected(LENGTH, **shut), collected(SPEED, **shut)) == ([LENGTH, SPEED], [], [])
    assert shared(collected(LENGTH, **shut), collected(SPEED))[1] == [LENGTH, SPEED]
    own, both, doubts = shared(collected(LENGTH), collected(GUARD))
    assert (own, both, len(doubts)) == ([GUARD], [LENGTH], 1)


def holders(
    text: str, dialect: str = "sectioned", quantity: str = "retraction.length"
) -> dict[str, tuple[float | None, bool]]:
    found = recognise([read("one.ini", text.encode(), dialect)])
    return {
        str(each.holder): (each.value, each.editable) for each in found.readings if each.quantity == quantity
    }


FEEDERS = "[feeder]\nsteps per mm = 96\n[feeder 2]\nsteps per mm = 438\n"
REEL = "[reel petg]\nnozzle temperature = 240\nretraction length = {}\n"


@pytest.mark.parametrize(
    ("value", "held_by"),
    [
        ("4, 5", {"filament petg for feeder 1": (4, True), "filament petg for feeder 2": (5, True)}),
        ("4", {"filament petg": (4, True)}),
    ],
)
def test_each_entry_of_a_profile_s_list_is_for_one_feeder(
    value: str, held_by: dict[str, tuple[float, bool]]
) -> None:
    assert holders(FEEDERS + REEL.format(value)) == held_by


@pytest.mark.parametrize(
    ("feeders", "value", "many"),
    [(FEEDERS, "4, 5, 6", "3 values stand here and the files tell of 2 feeders"),
     ("", "4, 5", "2 values stand here and the files tell of 1 feeder")],
)  # fmt: skip
def test_a_profile_s_list_that_is_not_as_long_as_there_are_feeders_is_not_edited(
    feeders: str, value: str, many: str
) -> None:
    found = recognise([read("one.ini", (feeders + REEL.format(value)).encode(), "sectioned")])
    held = [each for each in found.every_reading if each.quantity == LENGTH]
    assert held and all(not each.editable and each.why_not.startswith(f"{many}:") for each in held)


@pytest.mark.parametrize(
    ("lines", "held_by"),
    [
        ("[retraction]\nlength = 4\n", {"machine": (1, 2)}),
        ("[retraction]\nlength = 4\n[retraction 2]\nlength = 5\n", {"feeder 1": (1,), "feeder 2": (2,)}),
        (
            "[retraction]\nlength = 4\n[feeder 2]\nretraction length = 5\n",
            {"machine": (1,), "feeder 2": (2,)},
        ),
    ],
)
def test_the_machine_s_own_value_serves_the_feeders_that_have_none(
    lines: str, held_by: dict[str, tuple[int, ...]]
) -> None:
    found = recognise([read("one.ini", (FEEDERS + lines).encode(), "sectioned")])
    assert {str(each.holder): each.serves for each in found.readings if each.quantity == LENGTH} == held_by


RUNOUT = "[feeder wren]\nsteps per mm = 96\nretraction length = 5\n[feeder heron]\nsteps per mm = 96\nretraction length = 5\n"


@pytest.mark.parametrize(
    ("section", "held_by"),
    [
        ("watcher heron", "feeder 2"),
        ("watcher wren", "feeder 1"),
        ("watcher right", "feeder 2"),
        ("watcher left", "feeder 1"),
        ("watcher left right", "machine"),
        ("watcher", "machine"),
    ],
)
def test_what_is_left_is_on_no_side_and_of_the_feeder_or_the_side_that_the_section_names(
    section: str, held_by: str
) -> None:
    site = parse_site(
        f'site: 1\nmeanings:\n  "[{section}] filament left": runout.distance\n'.encode(), "cfgmigrate.yaml"
    )
    text = f"{RUNOUT}[{section}]\nfilament left = 20 mm\n"
    found = recognise([read("one.ini", text.encode(), "sectioned")], names_said(None, site))
    assert [str(each.holder) for each in found.every_reading if each.quantity == "runout.distance"] == [
        held_by
    ]


def test_a_profile_s_value_serves_all_feeders_though_one_has_its_own() -> None:
    text = FEEDERS + REEL.format(4) + "[feeder 2]\nretraction length = 5\n"
    found = recognise([read("one.ini", text.encode(), "sectioned")])
    assert {str(each.holder): each.serves for each in found.readings if each.quantity == LENGTH} == {
        "filament petg": (1, 2),
        "feeder 2": (2,),
    }


@pytest.mark.parametrize(
    "text",
    [
        "[axis across]\nmotor amps = 0.9\n",
        "[gantry]\nrun current = 0.9\n",
        "[motor]\nrun current = 0.9\n[ribbon pusher]\nmotor amps = 0.75\n",
    ],
)
def test_a_current_of_nobody_is_no_feeders_below_an_axis_or_beside_one_that_was_not_understood(
    text: str,
) -> None:
    found = recognise([read("heron", text.encode(), "sectioned")])
    assert found.get("motor.run_current") is None


def test_the_only_current_of_all_is_the_feeders() -> None:
    found = recognise([read("heron", b"[motor]\nrun current = 0.9\n", "sectioned")])
    assert found.get("motor.run_current") is not None


@pytest.mark.parametrize(
    ("lines", "quantity"),
    [
        ("microsteps = 16", "feeder.microsteps"),
        ("[motors]\nmicrosteps = 16", "feeder.microsteps"),
        ("[all motors]\nrun current = 0.9", "motor.run_current"),
        ("[stepper drivers]\nrun current = 0.9", "motor.run_current"),
        ("[axes and feeder]\nrun current = 0.9", "motor.run_current"),
        ("[feeder, axes]\nrun current = 0.9", "motor.run_current"),
        ("[feeder + axes]\nrun current = 0.9", "motor.run_current"),
    ],
)
def test_a_lone_number_that_the_axes_need_as_well_is_asked_about(lines: str, quantity: str) -> None:
    axes = "".join(f"[{axis}]\nfull steps = 200\nmm per turn = 40\n" for axis in "xyz")
    found = recognise([read("heron", f"{lines}\n{axes}".encode(), "sectioned")])
    assert found.get(quantity) is None
    assert any("may set the axes' motors too" in each.why for each in found.doubts)
