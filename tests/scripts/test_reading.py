"""How scripts are read: words, modes and places, as in RS-274 (NISTIR 6556)."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.scripts.number_change import scripts_of
from cfgmigrate.scripts.reading import read_script


def moves(text: str, dialect: str = "sectioned"):
    data = text.encode()
    return read_script(data, 0, len(data), dialect)


def test_words_may_stand_in_any_case_and_without_blanks_between() -> None:
    """RS-274: letters are case-insensitive, blanks between words mean nothing."""
    (move,) = moves("g90g1x5.Y-.5 z+250F600")
    assert [(target.axis, target.value) for target in move.targets] == [("x", 5.0), ("y", -0.5), ("z", 250.0)]
    assert {target.absolute for target in move.targets} == {True}


def test_a_number_broken_by_blanks_is_not_taken_for_two() -> None:
    """RS-274 reads `g0x +0. 12 34y 7` as x 0.1234, y 7; other machines don't. So nothing is said of x."""
    (move,) = moves("g90 g0x +0. 12 34y 7")
    assert next((target.axis, target.value) for target in move.targets) == ("x", None)


def test_remarks_say_nothing() -> None:
    text = "(G91) G90 ; G91\nG1 Z250 (up; and G91) F600\n; G1 Z260\n# G1 Z261\n"
    (move,) = moves(text)
    assert [(target.value, target.absolute) for target in move.targets] == [(250.0, True)]


def test_modes_last_until_they_are_changed() -> None:
    found = moves("G1 Z1\nG90\nG1 Z2\nG4 P100\nG1 Z3\nG91\nG1 Z4\nM83\nG1 E1\nM82\nG1 E2\n")
    assert [move.targets[0].absolute for move in found if move.targets] == [None, True, True, False]
    assert [move.feed.absolute for move in found if move.feed] == [False, True]


def test_the_mode_of_positions_leaves_the_mode_of_the_feed_unknown_where_they_differ() -> None:
    """Machines disagree on whether G90 is for the feed as well."""
    assert [move.feed.absolute for move in moves("M83\nG90\nG1 E1\nM83\nG91\nG1 E2") if move.feed] == [
        None,
        False,
    ]


@pytest.mark.parametrize(
    ("script", "said"),
    [
        ("G91\nG1 E-6\nG90\nG1 E5\n", [False, None]),
        ("M82\nG91\nG1 E-6\n", [None]),
        ("G91\nG92 E0\nG1 E400\n", [None]),
        ("G91\nG1 E25\nG1 E400\nG1 E480\n", [None, None, None]),
        ("G91\nG1 E25\nG1 E400\nG1 E80\n", [False, False, False]),
        ("G91\nG1 E25\nG1 X4\nG1 E400\n", [False, False]),
        ("G91\nM83\nG1 E25\nG1 E400\n", [False, False]),
    ],
)
def test_a_feed_follows_g91_where_nothing_speaks_against_it(script: str, said: list[bool | None]) -> None:
    """ISO 6983-1: G91 is incremental; that the feed follows it is common practice, no source."""
    assert [move.feed.absolute for move in moves(script) if move.feed] == said


def test_m82_in_another_script_of_the_machine_leaves_it_open() -> None:
    def feeds(more: str) -> list[bool | None]:
        files = [
            read("load.nc", b"; load\nG91\nG1 E400\nG1 E80\n", "command"),
            read("go.nc", more.encode(), "command"),
        ]
        return [
            move.feed.absolute for each in scripts_of(recognise(files)) for move in each.moves if move.feed
        ]

    assert feeds("; start\nG28\nG1 X5\n") == [False, False]
    assert feeds("; start\nM82\nG1 X5\n") == [None, None]


def test_relative_moves_add_up_from_a_known_place() -> None:
    found = moves("G90\nG1 Z10\nG91\nG1 Z5\nG1 Z-2.5\n")
    assert [move.targets[0].after for move in found] == [10, 15, 12.5]


def test_homing_makes_a_place_unknown() -> None:
    found = moves("G90\nG1 X5 Z10\nG28 X\nG91\nG1 X1 Z1\n")
    assert [target.after for target in found[-1].targets] == [None, 11]


def test_another_origin_is_followed() -> None:
    found = moves("G90\nG1 Z10\nG92 Z0\nG1 Z5\nG53 G1 Z6\n")
    assert [move.targets[0].after for move in found] == [10, 15, 6]


def test_inches_are_twenty_five_point_four_mm() -> None:
    assert moves("G90 G20\nG1 Z2\nG21\nG1 Z2")[0].targets[0].value == pytest.approx(50.8)


def test_the_feed_of_an_absolute_move_is_known_from_where_it_was_set() -> None:
    found = moves("M82\nG1 E5\nG92 E0\nG1 E30\nG1 E100\n")
    assert [move.feed.length for move in found if move.feed] == [None, 30, 70]


@pytest.mark.parametrize("line", ["park_head", "{height}", "G{code}", "M98 P3", "T1", "/G91", "MOVE Z=3"])
def test_after_a_line_that_may_do_anything_the_modes_are_unknown(line: str) -> None:
    assert moves(f"G90\nG1 Z1\n{line}\nG1 Z2\n")[-1].targets[0].absolute is None


def test_in_a_file_of_moves_a_remark_that_names_an_occasion_begins_another_script() -> None:
    text = "(end)\nG90\nG1 Z5\n(up from the part)\nG1 Z8\n(load, through 410 mm of tube)\nG1 Z9\n"
    assert [move.targets[0].absolute for move in moves(text, "command")] == [True, True, None]


@pytest.mark.parametrize("line", ["M104 S210 T0", "M77 row 5 of 10", "M84 X Y", "G4 P100", "M106 S{fan}"])
def test_a_line_that_moves_nothing_leaves_the_modes(line: str) -> None:
    found = moves(f"G90\nG1 Z1\n{line}\nG1 Z2\n")
    assert len(found) == 2 and found[-1].targets[0].absolute is True


def test_a_list_of_texts_is_a_script_with_a_line_each() -> None:
    text = '["M83", "G1 E500 F900",\n  "G1 Z5"]'
    feed, lift = moves(text, "nested")
    assert feed.feed is not None and feed.feed.length == 500 and feed.feed.absolute is False
    assert text[feed.feed.word.start : feed.feed.word.end] == "500"
    assert [target.value for target in lift.targets] == [5]


@pytest.mark.parametrize("word", ["F{run speed}", "F[brisk]", "F{brisk}", "f(brisk * 60)", "F#3"])
def test_a_speed_that_is_no_number_is_not_known_until_a_number_is_given(word: str) -> None:
    found = moves(f"G90\nM83\nG0 X4 Y249 F9000\nG1 E{{run in}} {word}\nG1 E12\nG1 E35 F240\nG1 E2")
    assert [move.speed for move in found] == [150.0, None, None, 4.0, 4.0]
