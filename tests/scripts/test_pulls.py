"""Pulls of scripts by an old retraction, or about as long, and what brings them back, are asked about."""

from __future__ import annotations

import pytest
from scriptbench import FRAME, TUBES, result, swap

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.scripts.number_change import scripts_of
from cfgmigrate.scripts.pulls import retraction_doubts


def test_a_pull_about_as_long_as_the_old_retraction_is_in_doubt_where_the_new_one_is_far_shorter() -> None:
    script = "M83\nG1 E-3.9 F2100\nG1 E-20\nG1 E3.9\nG1 E-0.5\n"
    doubt, back = swap(script, result("retraction.length", 0.5)).plan.doubts
    assert (doubt.text, back.text) == ("G1 E-3.9 F2100", "G1 E3.9")
    assert "soft filament" in doubt.why
    assert not swap(script, result("retraction.length", 2.5)).plan.doubts
    assert not swap(script, result("retraction.length", 0.5), name="script unload filament").plan.doubts


def test_a_pull_far_longer_than_old_and_new_retraction_is_in_doubt_where_the_path_becomes_short() -> None:
    path = result("", 410, "path.length_old"), result("", 86, "path.length_new")
    found = swap("G91\nG1 E-14 F900\nG1 E-4.6\n", *path, result("retraction.length", 0.5), sheet=TUBES)
    (long,) = (doubt.why for doubt in found.plan.doubts if doubt.place.line == 4)
    assert "pulls back 14 mm; the longest retraction wanted is 0.5 mm" in long


def test_a_pull_is_in_doubt_too_where_nothing_says_how_the_script_counts() -> None:
    (doubt,) = swap("G1 E-4 F2400\nG1 E12 F300\n", result("retraction.length", 0.5)).plan.doubts
    assert doubt.text == "G1 E-4 F2400" and "pulls back about as far" in doubt.why


def test_a_pull_by_just_the_old_retraction_length_is_in_doubt() -> None:
    found = swap("M83\nG1 E-4.6 F2100\nG1 E-14.7\nG90\nG1 X5 E4.6\n", result("retraction.length", 0.5))
    assert found.after == found.before
    assert [doubt.split(":")[0] for doubt in found.doubts()] == ["4"]


@pytest.mark.parametrize(
    ("back", "lines"),
    [
        ("G1 E4.6 F1800", [5, 9]),  # nothing says any more how it counts, and it is the same number
        ("G1 E4.5 F1800", [5]),  # another number may be of another matter
        ("G1 X40 E4.6 F1800", [5]),  # this prints
    ],
)
def test_what_gives_a_pull_by_just_the_old_length_back_is_named_with_it(back: str, lines: list[int]) -> None:
    """A G90 between the two leaves open how the second one counts."""
    script = f"G90\nG91\nG1 E-4.6 F2100\nG1 Z20 F600\nG90\nG1 X9 Y0 F9000\n{back}\n"
    doubts = [each for each in swap(script, result("retraction.length", 0.5)).plan.doubts if "E" in each.text]
    assert [each.place.line for each in doubts] == lines
    assert len(lines) == 1 or "just as much" in doubts[1].why


@pytest.mark.parametrize("pull", ["G1 E-2.3\nG1 E-2.3", "G1 E-4.6*33", "G1 E-{4.6}", "G1 E[-4.6]"])
def test_a_pull_in_parts_or_by_a_number_that_cannot_be_read_for_sure_is_in_doubt(pull: str) -> None:
    (doubt,) = swap(f"M83\n{pull}\n", result("retraction.length", 0.5)).plan.doubts
    assert pull.splitlines()[-1].startswith(doubt.text)
    assert not swap(
        f"M83\n{pull}\n".replace("4.6", "46").replace("2.3", "23"), result("retraction.length", 0.5)
    ).plan.doubts


def test_the_other_half_of_a_pull_is_told_though_an_axis_moves_with_it() -> None:
    script = "M83\nG1 E-4.6 F2100\nG91\nG1 Z3 E-3.7 F900\nG1 X40 E4.6\n"
    first, half = swap(script, result("retraction.length", 0.5)).plan.doubts
    assert (first.place.line, half.place.line) == (4, 6) and "pulls back about as far" in half.why


@pytest.mark.parametrize("mode", ["M82\n", ""])
def test_a_pull_to_a_lower_place_is_told_with_the_number_that_it_leaves(mode: str) -> None:
    """Places are counted since a G92 whether or not M82 says so."""
    script = f"{mode}G90\nG92 E0\nG1 E9 F200\nG1 X40 E31\nG1 E26.4 F2100\nG92 E-4.6\n"
    pull, given = swap(script, result("retraction.length", 0.6)).plan.doubts
    assert (pull.text, given.text) == ("G1 E26.4 F2100", "G92 E-4.6")
    assert "write E30.4 here for E26.4" in pull.remedy


def test_a_shorter_feed_behind_a_longer_one_is_no_pull_where_lengths_are_counted() -> None:
    script = "M83\nG92 E0\nG1 X40 E31\nG1 E26.4 F200\nG92 E-4.6\n"
    assert not swap(script, result("retraction.length", 0.6)).plan.doubts


def test_what_brings_back_a_pull_in_doubt_is_named_in_whatever_script_it_stands() -> None:
    told = {"park.nc": "M83\nG1 E-4.5 F2700\nG1 X5\n", "go_on.nc": "M83\nG1 X5\nG1 E4.5 F1800\nG1 E8\n"}
    machine = recognise(
        [
            read("a.conf", FRAME.encode(), "sectioned"),
            *(read(path, text.encode(), "command") for path, text in told.items()),
        ]
    )
    doubts = {each.place.file: each for each in retraction_doubts(scripts_of(machine), {5.2: 0.5})}
    assert doubts.keys() == told.keys() and doubts["go_on.nc"].text == "G1 E4.5 F1800"
    assert "park.nc:2 pulls back" in doubts["go_on.nc"].why


def test_what_softens_the_filament_before_it_is_taken_out_brings_no_pull_back() -> None:
    told = {
        "park.nc": "M83\nG1 E-4.5 F2700\nG1 X5\n",
        "out.nc": "; unload\nM83\nG1 E4.5 F300\nG1 E-400 F1800\n",
    }
    machine = recognise([read(path, text.encode(), "command") for path, text in told.items()])
    doubts = list(retraction_doubts(scripts_of(machine), {5.2: 0.5}))
    assert {each.place.file for each in doubts} == {"park.nc"}


@pytest.mark.parametrize(
    ("text", "dialect"),
    [
        ("[reel]\nname = grey\nfinish with = G1 E-5 F1800\n", "sectioned"),
        ('reel:\n  name: grey\n  when done: "G1 E-5 F1800 ; out of the tip"\n', "nested"),
    ],
)
def test_a_move_alone_is_a_script_whatever_its_setting_is_called(text: str, dialect: str) -> None:
    machine = recognise([read("grey", text.encode(), dialect)])
    (doubt,) = retraction_doubts(scripts_of(machine), {5.2: 0.5})
    assert doubt.place.line == 3 and "pulls back" in doubt.why


@pytest.mark.parametrize("value", ["M3 x10", "G1 of two", "G28", "X5 Y6", "G1 E-5 and back"])
def test_a_single_line_that_is_no_whole_move_is_no_script(value: str) -> None:
    machine = recognise([read("grey", f"[reel]\nfinish with = {value}\n".encode(), "sectioned")])
    assert not scripts_of(machine)
