"""Which letter moves the filament is told by the files."""

from __future__ import annotations

import pytest
from scriptbench import FRAME, TUBES, Swapped, result, swap

from cfgmigrate.dialects import read
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.scripts.feed_letter import feed_letter
from cfgmigrate.scripts.number_change import scripts_of
from cfgmigrate.scripts.pulls import retraction_doubts

LOADING = "(load)\nG91\nG1 A20 F300\nG1 A395 F3000\nG1 A45 F180\nG90\n(pause)\nG91\nG1 A-4.6 F2700\nG1 Z9 F600\nG90\n"


def by_letter(script: str) -> Swapped:
    results = result("", 410, "path.length_old"), result("", 86, "path.length_new")
    return swap(script, *results, sheet=TUBES, dialect="command")


@pytest.mark.parametrize(
    ("before", "behind"),
    [
        ("( A is the feeder. lengths in mm )\nG21\n", ""),
        ("( A = extruder axis )\nG21\n", ""),
        ("", "(begin)\nG1 X90 A15 F900\nG92 A0\n"),
    ],
)
def test_the_files_say_which_letter_moves_the_filament(before: str, behind: str) -> None:
    found = by_letter(before + LOADING + behind)
    assert list(found.changed().values()) == [("395", "71")], (
        "RS-274: G91 is for A as for X, so 395 - (365 - 41)"
    )


def test_a_letter_that_nothing_tells_of_is_no_feed() -> None:
    assert by_letter(LOADING).changed() == {}


def test_where_a_move_has_an_e_that_is_the_feed() -> None:
    found = by_letter("( A is the feeder )\nG21\n" + LOADING + "G1 E4 F300\n")
    assert found.changed() == {}


def test_two_letters_that_may_be_the_feed_are_none() -> None:
    found = by_letter(LOADING + "(begin)\nG1 B5\nG92 A0\nG92 B0\n")
    assert found.changed() == {}


def test_a_pull_by_the_old_retraction_is_told_whatever_its_letter() -> None:
    data = ("( A is the feeder )\nG21\n" + LOADING).encode()
    machine = recognise([read("a.conf", FRAME.encode(), "sectioned"), read("b.nc", data, "command")])
    doubts = [*retraction_doubts(scripts_of(machine), {4.6: 0.6})]
    assert [doubt.text for doubt in doubts] == ["G1 A-4.6 F2700"]


def test_the_letter_of_the_drives_own_values_is_the_scripts_too() -> None:
    """Values that are told by a site file: no remark says what A is."""
    site = parse_site(b"site: 1\ncodes:\n  M933.A: {quantity: feeder.steps_per_mm}\n", "cfgmigrate.yaml")
    data = ("M933 X84 Y86 Z410 A92\n" + LOADING).encode()
    assert feed_letter(recognise([read("b.nc", data, "command")])) == "E"
    assert feed_letter(recognise([read("b.nc", data, "command")], names_said(None, site))) == "A"
