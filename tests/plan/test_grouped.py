"""Questions that are one question are told once, and what is no question of the swap is none."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.number_units import NOT_SAID_HERE
from cfgmigrate.machine.precedence import IN_STEP
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.grouped import SET_IN, grouped, of_the_swap, one_for_each_slip, to_know
from cfgmigrate.rules import library

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


def test_one_slip_in_the_sheet_is_one_question_at_the_line_of_the_files() -> None:
    ask = (
        next(rule.twos_say for rule in library.book().rules if rule.twos_say).partition("{")[0]
        + "32 fine steps"
    )
    shown = [
        Doubt(Place("s.yaml", 4, 1), "feed per turn", "twice", ask),
        Doubt(Place("a.txt", 7, 1), "steps", "half", ask),
    ]
    assert one_for_each_slip([ONE, *shown], library.book(), "s.yaml") == (ONE, shown[1])
    assert one_for_each_slip([*reversed(shown), ONE], library.book(), "s.yaml") == (shown[1], ONE)
    others = (ONE, replace(ONE, text="another"))
    assert one_for_each_slip(others, library.book(), "s.yaml") == others


def test_lines_about_which_nothing_has_to_be_done_are_told_once_and_nobody_is_asked() -> None:
    def kept(line: int, value: str) -> Doubt:
        why = f"X maximum stands more than once: {value} is overridden by what the board keeps, 3 at b.txt:{line}"
        return Doubt(Place("a.txt", line, 1), f"high = {value}", why, IN_STEP)

    later = Doubt(
        Place("a.txt", 20, 1), "v = 1", "it stands more than once: 1 is overridden by 2 at a.txt:21", IN_STEP
    )
    (first, second) = to_know([ONE, kept(2, "5"), later, kept(4, "6")])
    assert first.why.endswith("likewise line 4") and first.place.line == 2
    assert second == later
    assert grouped([later, ONE]) == (ONE,)


def test_whether_currents_are_rms_or_peak_is_asked_once_wherever_they_stand() -> None:
    def unsaid(file: str, line: int, label: str = "feeder run current") -> Doubt:
        why = f"{label}: {NOT_SAID_HERE} RMS or peak; {line}00 is taken as RMS"
        return Doubt(Place(file, line, 1), "", why, f"look, then say so: {file}{line}")

    (first, other) = grouped(
        [
            unsaid("a.txt", 4),
            unsaid("b.txt", 7),
            unsaid("a.txt", 9),
            unsaid("a.txt", 5, "feeder hold current"),
        ]
    )
    assert first.why.endswith("400 is taken as RMS; likewise line 9, b.txt:7")
    assert first.remedy == "look, then say so: a.txt4; and so for each of the others"
    assert other.place.line == 5 and "likewise" not in other.why


def test_values_that_the_same_files_set_twice_are_one_question_with_their_names() -> None:
    def twice(label: str, line: int, file: str = "b.txt") -> Doubt:
        return Doubt(
            Place("a.txt", line, 1),
            "",
            f"{label} {SET_IN} 2 places ({file}:{line}:5, a.txt:{line}:1); both",
            "?",
        )

    (first, other) = grouped([twice("length", 4), twice("speed", 6), twice("lift", 8, "c.txt")])
    assert first.why.endswith("both; likewise speed (line 6)") and "length" in first.why
    assert other.place.line == 8


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


def test_what_a_line_may_be_and_what_it_would_become_are_one_question() -> None:
    place = Place("a.txt", 3, 5)
    torn = Doubt(place, "pull = 540", "the words fit load length and filament diameter", "say which")
    comes = Doubt(
        place, "pull", "its words may also mean filament diameter; it would be 50 ± 8 mm", "write 50"
    )
    (one,) = grouped([torn, comes])
    assert one == replace(torn, why=f"{torn.why}; it would be 50 ± 8 mm")
    assert (
        grouped([comes]) == (comes,) and len(grouped([torn, replace(comes, place=Place("a.txt", 4, 5))])) == 2
    )


def test_a_question_of_several_ends_or_of_several_values_by_their_own_old_ones_is_one() -> None:
    def end(line: int, axis: str) -> Doubt:
        why = f"{line} mm was taken as the place over the bed and so on: then say clearance.less_at_low_{axis} in its place."
        return Doubt(Place("a.txt", line, 1), f"{axis.upper()} minimum", why, "Home, then look.")

    def once(file: str, whose: str) -> Doubt:
        why = f"lag of {whose} is worked out from what the files hold, and nothing else tells whose that is"
        return Doubt(Place(file, 6, 1), "carried out once only", why, "Make sure.")

    ends, lags = grouped([end(5, "x"), once("p.txt", "pla"), end(9, "y"), once("q.txt", "petg")])
    assert ends.why.endswith("in its place.; likewise Y minimum by clearance.less_at_low_y (line 9)")
    assert lags.why.endswith("; likewise lag of petg (q.txt:6)")
