"""What is asked about the files: answers that a person can tell apart."""

from __future__ import annotations

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.site_questions import site_questions


def test_which_of_two_lines_holds_is_answered_by_their_names() -> None:
    text = b"#define PULL_MM 4.2\n#define OWN_PULL_MM 4.0\n#define FEEDER_STEPS_PER_MM 452\n"
    (question,) = site_questions(recognise([read("feed.h", text, "header")]))
    assert [each.text for each in question.answers] == [
        "PULL_MM is the retraction length",
        "OWN_PULL_MM is the retraction length",
    ]
