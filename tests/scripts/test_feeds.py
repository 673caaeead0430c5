"""Feeds of scripts as long as the old path: which become shorter, and which are asked about."""

from __future__ import annotations

import pytest
from scriptbench import TUBES, result, shorten, swap

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.scripts.feeds import feeds_alone, uncounted_feeds
from cfgmigrate.scripts.number_change import scripts_of


def test_that_it_follows_is_said_where_the_feed_is_changed() -> None:
    plan = shorten("G91\nG1 E18 F300\nG1 E410 F3100\nG1 E12 F220\n").plan
    (change,) = plan.changes
    assert "G91 (incremental, ISO 6983-1) is taken to hold for the feed too" in change.says


def test_a_feed_through_the_old_tube_becomes_shorter_by_as_much_as_the_tube() -> None:
    """385 mm − (365 mm − 41 mm) = 61 mm: the 20 mm that had been added stay."""
    found = shorten("M83\nG92 E0\nG1 E24 F300\nG1 E385 F3000\nG1 E45 F240\n")
    assert found.changed() == {"script.load.e": ("385", "61")}
    assert found.after == found.before.replace("385", "61")
    assert not found.doubts()


def test_a_pull_through_the_old_tube_likewise() -> None:
    """−430 mm + 324 mm = −106 mm."""
    found = shorten("M83\nG1 E8 F240\nG1 E-30 F2100\nG1 E-430 F3000\n", "script unload")
    assert found.changed() == {"script.unload.e": ("-430", "-106")}
    assert (
        found.plan.changes[0].derivation.formula
        == "was.script.unload.e + (old.tube.length - new.tube.length)"
    )


def test_an_absolute_feed_that_nothing_builds_on() -> None:
    """From 20 mm to 405 mm are 385 mm; 405 − 324 = 81."""
    assert shorten("M82\nG92 E0\nG1 E20\nG1 E405\nG92 E0\n").changed() == {"script.load.e": ("405", "81")}


@pytest.mark.parametrize(
    ("script", "why"),
    [
        ("G1 E385", "what the script does not say"),
        ("M82\nG1 E385", "what the script does not say"),
        ("M82\nG92 E\nG1 E385", "what the script does not say"),
        ("M82\nG92 E0\nG1 E385\nG1 E430", "which to shorten is not certain"),
        ("M83\nG1 E200\nG1 E200", "2 feeds without another move between come to 400 mm"),
        ("M83\nG1 E400\nG1 E400", "2 feeds without another move between come to 800 mm"),
        ("M83\nG1 E900", "this feeds 900 mm, made for the old path"),
        ("M83\nG1 E385\nG1 E{more}", "which to shorten is not certain"),
    ],
)
def test_feeds_that_can_not_be_told_apart_are_in_doubt(script: str, why: str) -> None:
    found = shorten(script)
    assert found.after == found.before
    assert [why in doubt for doubt in found.doubts()] == [True]


def test_short_feeds_and_feeds_while_an_axis_moves_stay() -> None:
    found = shorten("M83\nG1 E9 F240\nG1 X90 E385 F1200\nG1 E45\n")
    assert found.after == found.before and not found.doubts()


def test_a_long_feed_of_a_script_for_something_else_is_in_doubt() -> None:
    found = shorten("M83\nG1 E400 F200\n", "script rinse")
    assert found.after == found.before
    assert "made for the old path" in found.doubts()[0]


def test_the_remark_before_a_move_says_what_a_file_of_moves_is_for() -> None:
    script = (
        "(end)\nG90\nG1 Z5\n(load, through 365 mm of tube)\nM83\nG1 E385 F2400\n(unload)\nM83\nG1 E-430\n"
    )
    results = result("", 410, "path.length_old"), result("", 86, "path.length_new")
    found = swap(script, *results, sheet=TUBES, dialect="command")
    assert found.after == script.replace("E385", "E61").replace("E-430", "E-106")
    assert len(found.changed()) == 2 and not found.doubts()


@pytest.mark.parametrize(("new", "reaches"), [(335, False), (84, True)])
def test_a_load_that_no_longer_reaches_is_in_doubt(new: float, reaches: bool) -> None:
    results = result("", 79, "path.length_old"), result("", new, "path.length_new")
    found = swap("M83\nG1 E34\nG1 E50\n", *results, sheet=TUBES, name="script load")
    assert found.after == found.before
    assert any("does not reach through the new path" in doubt for doubt in found.doubts()) is not reaches


def test_only_feeds_whose_length_is_known_are_told_with_it_and_no_moves_along_an_axis() -> None:
    text = "G1 E7\nM83\nG1 E9 F240\nG1 X90 E385 F1200\nG1 E-45\n"
    scripts = scripts_of(recognise([read("load.nc", text.encode(), "command")]))
    assert [length for *_, length in feeds_alone(scripts)] == [9, 45]
    assert [value for *_, value in uncounted_feeds(scripts)] == [7]


@pytest.mark.parametrize(
    ("mode", "said"), [("G91\n", "G91 stands before it and holds for the feed too"), ("", "M82, M83, G92")]
)
def test_a_feed_of_unknown_mode_says_what_would_tell_it(mode: str, said: str) -> None:
    found = shorten(f"{mode}G1 E25 F300\nG1 E410 F3300\nG1 X10\n")
    assert not found.changed()
    assert [each for each in found.doubts() if said in each]


def test_and_with_that_it_is_read() -> None:
    assert shorten("G91\nM83\nG1 E25 F300\nG1 X10\nG1 E410 F3300\nG1 X10\n").changed()


def test_of_a_script_that_changes_filament_no_half_is_written() -> None:
    """Filament that goes out by the new way and comes in by the old one is pushed into the hot end; with nothing but a pause
    between the two ways are told apart."""
    out = "M83\nG1 E5 F300\nG1 E-430 F2400\nM0\n"
    both = shorten(f"{out}G1 E430 F1800\n", "filament change")
    assert "E-106" in both.after and "E106" in both.after
    half = shorten(f"{out}G1 E350 F1800\nG1 E60 F300\n", "filament change")
    assert half.after == half.before
    said = half.doubts()
    assert any("2 feeds without another move between come to 410 mm" in each for each in said)
    assert any("it is not written, since line 7 of the same script is a question" in each for each in said)
