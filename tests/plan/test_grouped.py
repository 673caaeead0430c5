"""Questions that are one question are told once, and what is no question of the swap is none."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Doubt, Likeness, Place
from cfgmigrate.machine.precedence import IN_STEP
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.grouped import grouped, of_the_swap, one_for_each_slip
from cfgmigrate.rules import library
from cfgmigrate.rules.cross_checks import ANOTHER_COUNT

ONE = Doubt(Place("a.txt", 3, 5), "G1 E9", "this pushes by as much", "Look at it.")


def test_what_says_the_very_same_is_told_once_with_all_lines() -> None:
    found = grouped([ONE, replace(ONE, place=Place("a.txt", 9, 5)), replace(ONE, place=Place("a.txt", 7, 5))])
    assert [(each.place.line, each.why) for each in found] == [
        (3, "this pushes by as much; likewise line 7, 9")
    ]


def test_what_says_something_else_or_stands_in_another_file_is_told_by_itself() -> None:
    doubts = (
        ONE,
        replace(ONE, why="this pulls"),
        replace(ONE, place=Place("b.txt", 3, 5)),
        replace(ONE, remedy=""),
    )
    assert grouped(doubts) == doubts


def test_doubts_of_one_question_are_told_once_however_they_are_worded() -> None:
    def alike(line: int, own: str, file: str = "a.txt", **more: bool) -> Doubt:
        like = Likeness("?", "both", own, **more)
        return Doubt(Place(file, line, 1), "", f"{own} in {line} words", "mend it", like=like)

    (first, other) = grouped([alike(4, "length"), alike(6, "speed"), alike(8, "lift", "b.txt")])
    assert first.why == "length in 4 words; likewise speed (line 6)"
    assert other.place.file == "b.txt"
    (one,) = grouped([alike(4, "", anywhere=True), alike(8, "lift", "b.txt", anywhere=True)])
    assert one.why.endswith("; likewise lift (b.txt:8)")
    apart = [
        alike(4, "", each_its_answer=True),
        replace(alike(9, "", each_its_answer=True), remedy="mend that"),
    ]
    (each,) = grouped(apart)
    assert each.remedy == "mend it; and so for each of the others"


def test_one_slip_in_the_sheet_is_one_question_at_the_line_of_the_files() -> None:
    like = Likeness(ANOTHER_COUNT, of="Is it 32?")
    shown = [
        Doubt(Place("s.yaml", 4, 1), "feed per turn", "twice", "Is it 32?", like=like),
        Doubt(Place("a.txt", 7, 1), "steps", "half", "Is it 32?", like=like),
    ]
    assert one_for_each_slip([ONE, *shown], "s.yaml") == (ONE, shown[1])
    assert one_for_each_slip([*reversed(shown), ONE], "s.yaml") == (shown[1], ONE)
    others = (ONE, replace(ONE, text="another"))
    assert one_for_each_slip(others, "s.yaml") == others


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """What is told of a machine that gives cause for each question twice at least."""
    folder = tmp_path_factory.mktemp("questions")
    (folder / "config").mkdir()
    (folder / "config" / "frame.conf").write_text(
        "[x]\nlowest = 0\nhighest = 235\n[y]\nlowest = 0\nhighest = 235\n"
        "[feeder]\nsteps per mm = 131.6\nrun current = 0.8 A\nretraction length = 5\n"
        "[x]\nhighest = 230\n[y]\nhighest = 220\n"
    )
    (folder / "config" / "drive.conf").write_text(
        "[feeder]\nretraction length = 5\nrun current = 0.8 A\nmax feed = 700\n"
    )
    (folder / "sheet.yaml").write_text(
        "old: {drive: tube-fed, tube: {length: 460 mm, bore: 2 mm}}\n"
        "new: {drive: on the carriage, tube: {length: 32 mm}, feed_per_turn: 5.2 mm, microsteps: 16,"
        " motor: {rated_current: 0.8 A, recommended_current: 0.4 A}}\n"
        "carriage: {nozzle_shift: {x: -5 mm, y: -3 mm}}\n"
        "clearance: {highest_x: 220 mm, highest_y: 215 mm}\n"
    )
    plan = api.prepare([folder / "config"], folder / "sheet.yaml", out=folder / "packet").plan
    assert not any("overridden" in each.why for each in plan.doubts)
    return [f"{each.why} {each.remedy}" for each in (*plan.doubts, *plan.notes)]


@pytest.mark.parametrize(
    ("question", "ends"),
    [
        ("overridden by", "; likewise line 6 "),
        ("RMS or peak", "; likewise frame.conf:9 "),
        ("set in 2 places", "; likewise retraction length (line 10) "),
        ("place over the bed", "; likewise Y maximum by clearance.less_at_high_y (line 14) "),
        ("max feed", "the words fit maximum feed speed and longest single feed; it would be 177.0 ± 8.0 mm "),
    ],
)
def test_what_asks_the_same_of_several_lines_asks_it_once(told: list[str], question: str, ends: str) -> None:
    """Whoever makes such a doubt says what it is like: else it is told twice here."""
    (one,) = [each for each in told if question in each]
    assert ends in one


FILES = """\
[axis x]
highest spot = 268
[feeder near]
steps per mm = 138.5
retraction length = 5.2
odd = 5.2
[retraction resting near]
length = 9
[feeder far]
steps per mm = 137.5
retraction length = 5.4
odd = 5.4
"""


def test_lines_of_a_feeder_that_was_not_swapped_are_no_questions(tmp_path: Path) -> None:
    (tmp_path / "config").mkdir()
    (tmp_path / "config" / "machine.txt").write_text(FILES)
    site = "site: 1\nfeeders: {near: {known_as: [near]}, far: {known_as: [far]}}\n"
    (tmp_path / "config" / "cfgmigrate.yaml").write_text(site)
    new = "{old: {drive: tube-fed, tube: {length: 460 mm}}, new: {drive: on the carriage, tube: {length: 32 mm}}}"
    (tmp_path / "sheet.yaml").write_text(f"feeders:\n  far: {new}\n")
    plan = api.prepare([tmp_path / "config"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    asked = {each.place.line for each in (*plan.doubts, *plan.notes) if each.place.file == "machine.txt"}
    assert 12 in asked and not asked & {4, 5, 6, 8}


def test_what_stands_more_than_once_and_is_never_written_is_no_question_of_a_swap() -> None:
    """Nothing is changed with it: a heater's figures stay, and a tip's place is told where it is set by hand."""
    text = b"[hotend]\nmax temperature = 285\n[feeder]\nmax speed = 90\n[hotend]\nmax temperature = 280\n[feeder]\nmax speed = 80\n"
    machine = recognise([read("m.ini", text, "sectioned")])
    twice = [Doubt(Place("m.ini", line, 5), "", "it stands more than once", IN_STEP) for line in (2, 4)]
    assert [each.place.line for each in of_the_swap(twice, machine, (1,), library.book())] == [4]


def test_what_is_open_of_an_axis_and_no_rule_looks_at_is_no_question_of_a_swap() -> None:
    machine = recognise([read("m.ini", b"[x]\nhighest = 235\n", "sectioned")])
    asked = [
        Doubt(Place("m.ini", 2), "", "?", about=name)
        for name in ("axis.x.hold_current", "axis.x.max", "motor.run_current")
    ]
    assert [each.about for each in of_the_swap(asked, machine, (1,), library.book())] == [
        "axis.x.max",
        "motor.run_current",
    ]
