"""A list of what the board keeps may have a number before each line; what is not understood of a list is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.console_talk import is_listing, without_talk
from cfgmigrate.machine.recognise import recognise

NUMBERED = """\
what the board said on Monday

 1  steps per mm feed: 196.4
 2  coil feed: 0.98
10  pull back: 4.6
11  load fast: 480
"""


def heard(text: str) -> Document:
    return without_talk(read("kept.txt", text.encode(), "flat"))


@pytest.mark.parametrize("mark", ["{}  ", "{}. ", "{}) ", "[{}] ", "({}) "])
def test_the_number_before_a_line_is_no_part_of_its_name(mark: str) -> None:
    names = ("steps per mm feed", "coil feed", "pull back")
    text = "".join(f"{mark.format(at)}{name}: {at}.5\n" for at, name in enumerate(names, 1))
    document = heard(text)
    assert is_listing(text) and not document.doubts
    assert [(each.key, each.value) for each in document.settings] == [
        ("steps per mm feed", "1.5"),
        ("coil feed", "2.5"),
        ("pull back", "3.5"),
    ]


def test_a_numbered_list_that_is_said_to_be_saved_is_read(tmp_path: Path) -> None:
    (tmp_path / "machine.h").write_text("#define FEED_STEPS_PER_MM 190\n#define GRIP_TO_TIP 510\n")
    (tmp_path / "kept.txt").write_text(NUMBERED)
    (tmp_path / "cfgmigrate.yaml").write_text('site: 1\nroles: {"kept.txt": saved values}\n')
    found = recognise(open_configuration([tmp_path]))
    steps = next(each for each in found.readings if each.quantity == "feeder.steps_per_mm")
    assert (steps.place.file, steps.place.line, steps.value) == ("kept.txt", 3, 196.4)


def test_what_is_listed_once_more_under_new_numbers_is_asked_about_and_not_taken() -> None:
    document = heard(NUMBERED + "\nthe headers have\n 1  steps per mm feed: 190.0\n 4  hop: 0.3\n")
    taken = {each.key: each.value for each in document.settings}
    assert taken["steps per mm feed"] == "196.4" and taken["hop"] == "0.3"
    (doubt,) = document.doubts
    assert doubt.place.line == 9 and "kept.txt:9" in doubt.why


def test_a_list_that_is_not_understood_is_said_to_be_none() -> None:
    document = heard("".join(f"store no {at} holds/has, {name}: {at}\n" for at, name in enumerate("abcd")))
    assert not document.settings
    (doubt,) = document.doubts
    assert "4 of its lines" in doubt.why and "what the board keeps of them is not known" in doubt.why


def test_numbers_that_do_not_go_up_are_no_list() -> None:
    document = heard("14 Nov a: 3\n9 Nov b: 4\n2 Nov c: 5\n")
    assert not [each for each in document.settings if "Nov" in each.key]


def test_a_row_of_heights_between_the_lines_is_no_question() -> None:
    document = heard(
        "x max: 270\nfeed steps: 139\n? how is the bed\n-0.04 -0.06: 2\n-0.02 -0.03: 1\n0.1 0.2: 3\n"
    )
    assert [each.key for each in document.settings] == ["x max", "feed steps"] and not document.doubts
