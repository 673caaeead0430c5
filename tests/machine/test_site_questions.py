"""What is asked about the files: answers that a person can tell apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.site_questions import silent_filaments, site_questions


def test_which_of_two_lines_holds_is_answered_by_their_names() -> None:
    text = b"#define PULL_MM 4.2\n#define OWN_PULL_MM 4.0\n#define FEEDER_STEPS_PER_MM 452\n"
    (question,) = site_questions(recognise([read("feed.h", text, "header")]))
    assert [each.text for each in question.answers] == [
        "PULL_MM is the retraction length",
        "OWN_PULL_MM is the retraction length",
    ]


def test_of_two_lines_that_are_both_said_to_be_it_one_can_be_taken_back(tmp_path: Path) -> None:
    """To say so of one of them again would settle nothing, and the question would come again."""
    text = b"#define PULL_MM 4.2\n#define OWN_PULL_MM 4.0\n#define FEEDER_STEPS_PER_MM 452\n"
    (tmp_path / "n.yaml").write_text("PULL_MM: retraction.length\nOWN_PULL_MM: retraction.length\n")
    (question,) = site_questions(recognise([read("feed.h", text, "header")], read_names(tmp_path / "n.yaml")))
    assert [(each.key, each.value) for each in question.answers] == [
        ("PULL_MM", "ignore"),
        ("OWN_PULL_MM", "ignore"),
    ]


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("[feeder]\ncoil = 0.8 A\n", "motor.run_current"),
        ("[axes]\ncoil = 0.8, 0.8, 0.9, 0.8\n", "axis.@.run_current"),
    ],
)
def test_a_current_of_which_nobody_says_rms_or_peak_is_asked_with_where_to_look(
    text: str, quantity: str
) -> None:
    (question,) = site_questions(recognise([read("hen.ini", text.encode(), "sectioned")]))
    assert "Where to look: the manual of the board" in question.why
    assert [each.text for each in question.answers] == [
        "it is RMS, also called effective",
        "it is peak, also called maximum",
    ]
    assert [each.value for each in question.answers] == [
        {"quantity": quantity, "unit": "A rms"},
        {"quantity": quantity, "unit": "A peak"},
    ]


@pytest.mark.parametrize(
    ("materials", "silent"),
    [({"grey": "PLA", "clear": ""}, ["clear"]), ({"grey": "", "clear": ""}, ["grey", "clear"]), ({"grey": ""}, []),
     ({"grey": "PLA", "clear": "PETG"}, [])],
)  # fmt: skip
def test_of_several_filaments_those_are_asked_about_whose_material_nobody_says(
    materials: dict[str, str], silent: list[str]
) -> None:
    text = ""
    for name, material in materials.items():
        said = f"material = {material}\n" if material else ""
        text += f"[filament {name}]\n{said}nozzle = 215\nretraction length = 5\n"
    found = silent_filaments(recognise([read("a.ini", text.encode(), "sectioned")]))
    assert [each.holder.name for each in found] == silent


def test_a_line_that_may_be_the_end_of_one_axis_may_be_that_of_another() -> None:
    """To say no to the first would leave the end of an axis unread."""
    text = b"lmax = 250\nfeeder steps per mm = 194\nretraction length = 5\n"
    (question,) = site_questions(recognise([read("hen.txt", text, "flat")]))
    assert [each.value for each in question.answers] == ["axis.z.max", "axis.x.max", "axis.y.max", "ignore"]
    assert question.answers[-1].text == "it is not an axis limit"


@pytest.mark.parametrize(
    ("key", "to_the_tip"), [("[path] eye_to_tip = 657", True), ("[x] home_at = 210", False)]
)
def test_a_length_behind_the_sensor_may_be_one_to_the_tip(key: str, to_the_tip: bool) -> None:
    section, _, line = key.partition(" ")
    text = f"[feeder]\nfull_steps = 200\nsteps_mm = 188\n{section}\n{line}\n"
    asked = site_questions(recognise([read("main.cfg", text.encode(), "sectioned")]))
    answers = [answer.text for question in asked for answer in question.answers]
    assert any("to the drive, or on to the tip" in each for each in answers) is to_the_tip
