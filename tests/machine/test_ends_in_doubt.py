"""A table is as long as it is, and the most of a motion may be a speed: neither is an axis's end by such a name."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise


def of(text: str) -> Machine:
    return recognise([read("tern.conf", text.encode(), "sectioned")])


def ends(machine: Machine) -> dict[str, float | None]:
    return {each.quantity: each.value for each in machine.readings if each.quantity.startswith("axis.")}


@pytest.mark.parametrize(
    "text",
    [
        "[plate]\nx = 310\ny = 290\n",
        "[machine]\nbed x max = 310\n",
        "[build plate]\nx max = 310\n",
        "[axis x]\ntable high = 310\n",
        "motion.max.x = 310\n",
        "[movement]\nx limit = 310\n",
        "x goes at most = 310\n",
        "[motion]\nmax = 310, 290, 240\n",
    ],
)
def test_it_is_asked_about_and_not_read(text: str) -> None:
    machine = of(text)
    assert not ends(machine)
    assert {doubt.about for doubt in machine.doubts} >= {"axis.x.max"}
    assert all("ignore" in doubt.remedy for doubt in machine.doubts)


@pytest.mark.parametrize("text", ["[plate]\nx max = 310\n", "motion.max.x = 310\n"])
def test_it_is_left_where_another_line_is_the_axis_s_end(text: str) -> None:
    machine = of(f"[axis x]\nmax = 306\n{text}")
    assert ends(machine) == {"axis.x.max": 306} and not machine.doubts


@pytest.mark.parametrize(
    "text",
    [
        "[plate]\nx travel = 306\n",
        "bed reaches to y = 306\n",
        "[bed]\ny min = 0\ny max = 306\n",
        "[motion]\nx min = 0\nx max = 306\n",
        "[motion]\nx max = 306\nx max speed = 200\n",
        "[motion]\nx max = 306 mm\n",
        "x goes as far as at most = 306\n",
        "[motion x]\nrange = 0, 306\n",
    ],
)
def test_it_is_an_end_by_travel_by_the_other_end_or_by_a_speed_beside(text: str) -> None:
    machine = of(text)
    assert 306 in ends(machine).values() and not machine.doubts


def test_what_a_person_says_is_believed(tmp_path: Path) -> None:
    names = tmp_path / "names.yaml"
    names.write_text("'[motion] max.x': axis.x.max\n")
    machine = recognise([read("tern.conf", b"[motion]\nmax.x = 306\n", "sectioned")], read_names(names))
    assert ends(machine) == {"axis.x.max": 306}


@pytest.mark.parametrize(
    ("line", "is_read"),
    [
        ("lower stop = 3", False),
        ("lower stop = 0", True),
        ("lower stop = -3", True),
        ("lower stop = 3 mm", True),
        ("lower stop = 3.5", True),
    ],
)
def test_a_small_whole_number_of_a_stop_may_be_a_pin(line: str, is_read: bool) -> None:
    assert ("axis.x.min" in ends(of(f"[axis x]\n{line}\nupper stop = 210\n"))) == is_read
