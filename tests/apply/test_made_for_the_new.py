"""A line that a step by hand or a question named, and that was edited since, is told apart from the other edits of a revert."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.apply.file_revert import RevertedItem
from cfgmigrate.apply.made_for_the_new import (
    asked_likewise,
    how_many_asked,
    made_for_the_new,
    steps_of_lines,
    without_repeats,
)

CONFIG = """\
[feeder]
steps per mm = 97.35
microsteps = 16
retraction length = 5.8
direction reversed = no
colour = 3
[load]
load length = 560 ; s
"""
EDITS = (("= no", "= yes"), ("colour = 3", "colour = 4"), ("= 560", "= 62"))
SHEET = """\
old: {drive: tube-fed, tube: {length: 530 mm}}
new: {drive: on the carriage, microsteps: 16, feed_per_turn: 23.0 mm, motor: {step_angle: 1.8 deg}}
"""


@pytest.mark.parametrize("to", [False, True])
def test_an_edit_of_a_line_that_a_step_named_is_asked_about_and_stays(tmp_path: Path, to: bool) -> None:
    mill = tmp_path / "config" / "mill.conf"
    mill.parent.mkdir()
    mill.write_text(CONFIG)
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare([mill.parent], tmp_path / "swap.yaml", out=tmp_path / "p").plan
    api.install(tmp_path / "p", accept_unknown=[each.name for each in plan.lights if each.state == "unknown"])
    edited = CONFIG
    for old, new in EDITS:
        edited = edited.replace(old, new)
        mill.write_text(mill.read_text().replace(old, new))
    report = api.revert_to(mill.parent, "start") if to else api.revert(tmp_path / "p")
    told = [note for note in report.notes if "made for the new drive?" in note]
    step, question = told
    assert step.startswith("mill.conf:5: ") and '"direction reversed = no"' in step and "The step " in step
    assert question.startswith("mill.conf:8: ") and '"load length = 560 ; s"' in question
    assert "The question " in question and mill.read_text() == edited


@pytest.mark.parametrize(
    ("why", "places"),
    [
        ("this is far; likewise line 7, 9", ["a.h:7, 9", "line 7, 9"]),
        ("this is far; likewise b.h:3, line 7", ["a.h:7", "b.h:3, line 7"]),
        ("this is far; likewise the pull (line 7)", ["a.h:7", "the pull (line 7)"]),
        ("this is far, as line 7 is", []),
    ],
)
def test_a_question_is_about_its_other_lines_too(why: str, places: list[str]) -> None:
    assert asked_likewise(why, "a.h") == places


@pytest.mark.parametrize("to", [False, True])
def test_an_edit_of_a_line_that_stood_behind_likewise_or_was_only_named_as_old_is_asked_about(
    tmp_path: Path, to: bool
) -> None:
    mill = tmp_path / "config" / "mill.h"
    mill.parent.mkdir()
    mill.write_text(
        "#define FEED_STEPS_PER_MM 97.35\n#define PULL_BACK_LEN 5.8\n#define PAUSE_PULL 6.0\n#define PLATE 250\n"
        "#define PAUSE_PUSH 6.3\n#define COLOUR 3\n#define COIL_MA_FEED 1100 // mA RMS\n#define GRIP_TO_TIP 590\n"
    )
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare([mill.parent], tmp_path / "swap.yaml", out=tmp_path / "p").plan
    assert any("likewise line 5" in doubt.why for doubt in plan.doubts)
    api.install(tmp_path / "p", accept_unknown=[each.name for each in plan.lights if each.state == "unknown"])
    edits = (("PULL 6.0", "PULL 0.6"), ("PUSH 6.3", "PUSH 0.7"), ("R 3", "R 4"), ("FEED 1100", "FEED 700"))
    for old, new in edits:
        mill.write_text(mill.read_text().replace(old, new))
    report = api.revert_to(mill.parent, "start") if to else api.revert(tmp_path / "p")
    told = [note.partition(": ")[0] for note in report.notes if "made for the new drive?" in note]
    assert sorted(told) == ["mill.h:3", "mill.h:5", "mill.h:7"]


@pytest.mark.parametrize(
    ("present", "line"),
    [
        ("colour = 4\npull = 0.7\n", 6),
        ("pull = 0.7\n", 5),
        ("# for the new one\ncolour = 3\npull = 0.7\n", 5),
    ],
    ids=["line by line", "one line less", "one line more"],
)
def test_where_an_edit_made_lines_more_or_less_the_place_is_that_of_the_edit(present: str, line: int) -> None:
    before = {"mill.conf": b"a = 1\nb = 2\nc = 3\nd = 4\ncolour = 3\npull = 6.3\n"}
    edit = RevertedItem("", "mill.conf", 5, "", "colour = 3\npull = 6.3\n", present, "")
    told, *_ = made_for_the_new(before, [("Pull", ["mill.conf:6: set the pull"])], [edit])
    assert told.startswith(f"mill.conf:{line}: ") and "(line 6)" in told


def test_only_steps_that_name_a_line_tell_of_an_edit() -> None:
    steps = [
        "mill.conf:6: set the pull",
        "Let it cool first",
        "Ratio 3: the old one",
        "parts/a.ini:12, then on",
    ]
    assert steps_of_lines(steps) == [steps[0], steps[3]]


@pytest.mark.parametrize("to", [False, True])
def test_lines_that_were_edited_together_with_such_a_line_are_asked_about_each_and_counted(
    tmp_path: Path, to: bool
) -> None:
    """Found in a made-up folder, whose old motor would have run with the new one's current."""
    mill = tmp_path / "config" / "mill.h"
    mill.parent.mkdir()
    mill.write_text(
        "#define FEED_STEPS_PER_MM 97.35\n#define PULL_BACK_LEN 5.8\n#define COIL_MA_FEED 1100 // mA RMS\n"
        "#define CHOPPER 27\n#define TRIM 0.98\n#define PLATE 250\n#define COLOUR 3\n"
    )
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare([mill.parent], tmp_path / "swap.yaml", out=tmp_path / "p").plan
    api.install(tmp_path / "p", accept_unknown=[each.name for each in plan.lights if each.state == "unknown"])
    for old, new in (
        ("FEED 1100", "FEED 700"),
        ("R 27", "R 10"),
        ("TRIM 0.98", "TRIM 1"),
        ("COLOUR 3", "COLOUR 4"),
    ):
        mill.write_text(mill.read_text().replace(old, new))
    report = api.revert_to(mill.parent, "start") if to else api.revert(tmp_path / "p")
    told = [note for note in report.notes if "made for the new drive" in note]
    assert [note.partition(": ")[0] for note in told] == ["mill.h:3", "mill.h:4", "mill.h:5"]
    assert "edited together with line 3" in told[1] and '"#define CHOPPER 27"' in told[1]
    assert how_many_asked(report.notes).startswith("3 lines may still stand as made for the new drive")


def test_what_is_asked_of_a_line_twice_is_asked_once() -> None:
    asked = 'a.h:3: made for the new drive? The question "{}" named this line; before the swap it was "x = 1" (line 3). If so, write that there again by hand'
    notes = [
        asked.format("one"),
        asked.format("another"),
        "something else",
        asked.format("one").replace("a.h:3", "a.h:4"),
    ]
    assert without_repeats(notes) == (notes[0], notes[2], notes[3])
    assert not how_many_asked(["something else"])
