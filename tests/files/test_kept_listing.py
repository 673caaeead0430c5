"""A text beside the machine whose lines name its settings and give them other numbers may be what the board keeps."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.files.configuration import Configuration, open_configuration
from cfgmigrate.files.kept_listing import MOST_LISTED_LINES, listed_values
from cfgmigrate.files.roles import Role
from cfgmigrate.files.telling import told_of

HEADER = """\
#define KEEPERS_COUNT 1 /* what was kept at the console comes before this sheet */
#define PULSES_PER_MM { 88.50, 91.20, 640.00, 103.40 }
#define COIL_MA_FILAMENT 950
#define RETRACT_MM 5.5
#define ACROSS_MOST 238.0
#define ACROSS_LEAST -2.0
"""
TALK = """\
wick> hello
Wick is here
wick> what is kept
  pulses_per_mm filament      97.35
  coil_ma filament              930
  retract mm                    5.8
  across most                 238.0
wick> bye
bye, keeper of the long night, come back before the snow
"""
SAME = TALK.replace("97.35", "103.4").replace("930", "950").replace("5.8", "5.5")


def opened(folder: Path, text: str = TALK, site: str = "", name: str = "talk.txt") -> Configuration:
    (folder / "wick.h").write_text(HEADER)
    (folder / name).write_text(text)
    if site:
        (folder / "cfgmigrate.yaml").write_text(f"site: 1\n{site}\n")
    return open_configuration([folder])


@pytest.mark.parametrize("name", ["talk.txt", "console.log"])
def test_it_is_asked_first_with_the_two_lines_that_answer_it(tmp_path: Path, name: str) -> None:
    found = opened(tmp_path, name=name)
    (line,) = [each for each in told_of(found.roles) if "what the board keeps" in each]
    assert f'{{"{name}": saved values}}' in line and f'{{"{name}": no configuration}}' in line
    assert {each.of for each in found.roles[name].holds} == {
        "PULSES_PER_MM",
        "COIL_MA_FILAMENT",
        "RETRACT_MM",
    }


@pytest.mark.parametrize(
    "text",
    [
        SAME,
        "the way is 575 now\n" * 9,
        "retract mm 5.8\nretract mm 6.0\nretract mm 6.2\nso it went on and on\n",
    ],
)
def test_the_same_numbers_prose_and_a_value_tried_again_and_again_are_not_asked_about(
    tmp_path: Path, text: str
) -> None:
    assert not opened(tmp_path, text).roles["talk.txt"].holds


KEPT = "kept in memory, these hold until you say drop it\nacross.most 238.0 mm\nacross.least  -2.0 mm\nretract 5.5 mm\nretract mm 5.5\n"


@pytest.mark.parametrize(("text", "asked"), [(KEPT, True), (KEPT.partition("\n")[2], False)])
def test_a_text_that_says_that_a_board_keeps_it_is_asked_about_though_its_numbers_are_the_same(
    tmp_path: Path, text: str, asked: bool
) -> None:
    """They win as soon as only the files get new ones."""
    holds = opened(tmp_path, text).roles["talk.txt"].holds
    assert {each.of for each in holds} == ({"ACROSS_MOST", "ACROSS_LEAST", "RETRACT_MM"} if asked else set())


ROWS = "wick> list\n{} ..... x 88.50 y 91.20 z 640 filament 97.35\nbye\n"


SHORT = "begin\nkeeps pulses_per_mm 97.35\nkeeps name wick\n"


@pytest.mark.parametrize(
    ("text", "remark"),
    [
        (f"; written by the machine\n{SHORT}", ""),
        (f"; read last\n{SHORT}", ""),
        (SHORT, "/* talk.txt wins over what stands here */\n"),
    ],
)
def test_of_what_is_read_last_and_wins_one_line_is_enough(tmp_path: Path, text: str, remark: str) -> None:
    assert not opened(tmp_path, SHORT).roles["talk.txt"].holds
    (tmp_path / "talk.txt").unlink()
    (tmp_path / "wick.h").unlink()
    (tmp_path / "talk.txt").write_text(text)
    (tmp_path / "wick.h").write_text(remark + HEADER)
    (held,) = open_configuration([tmp_path]).roles["talk.txt"].holds
    assert held.text == "keeps pulses_per_mm 97.35"


def test_what_a_person_calls_saved_values_and_nobody_can_read_wins_all_the_same(tmp_path: Path) -> None:
    talk = f"what the board says of itself\n{SHORT}"
    assert opened(tmp_path, talk, 'roles: {"talk.txt": saved values}').roles["talk.txt"].holds


@pytest.mark.parametrize(("label", "asked"), [("pulses per mm", 1), ("fast mm/s", 1), ("standing at", 0)])
def test_a_row_with_a_number_for_each_axis_is_asked_about_and_a_log_of_places_is_not(
    tmp_path: Path, label: str, asked: int
) -> None:
    found = opened(tmp_path, ROWS.format(label))
    assert [each.line for each in found.roles["talk.txt"].holds] == [2] * asked


def test_rows_that_the_board_keeps_are_read_without_the_talk(tmp_path: Path) -> None:
    found = opened(tmp_path, ROWS.format("pulses per mm"), "roles: {talk.txt: saved values}")
    (read,) = [each for each in found.documents if each.path == "talk.txt"]
    assert [(s.key, s.value) for s in read.settings][-1] == ("filament", "97.35")
    assert not read.doubts


def test_a_listing_has_the_unit_behind_the_number_where_a_file_has_it_in_the_name(tmp_path: Path) -> None:
    (tmp_path / "jar.h").write_text(
        "#define PUSH_AT_ONCE_MM 5\n#define PUSH_LATER_MM_S 8\n#define PULL_WAY_MM 6\n"
    )
    (tmp_path / "talk.txt").write_text("push.at.once 5 mm\npush.later 9 mm/s\npull.way 7.0 mm\n")
    holds = open_configuration([tmp_path]).roles["talk.txt"].holds
    assert {each.of for each in holds} == {"PUSH_LATER_MM_S", "PULL_WAY_MM"}


def test_once_it_is_said_to_be_nothing_it_is_not_asked_again(tmp_path: Path) -> None:
    found = opened(tmp_path, site="roles: {talk.txt: no configuration}")
    assert not found.roles["talk.txt"].holds


def test_once_it_is_said_to_be_saved_values_the_dialect_is_found_by_itself(tmp_path: Path) -> None:
    found = opened(tmp_path, site="roles: {talk.txt: saved values}")
    assert found.roles["talk.txt"].role is Role.SAVED
    (read,) = [each for each in found.documents if each.path == "talk.txt"]
    assert read.dialect == "flat"


def test_saved_values_in_no_dialect_are_told_with_the_line_to_write_and_the_list(tmp_path: Path) -> None:
    found = opened(tmp_path, "so it goes\nand on it goes\n", "roles: {talk.txt: saved values}")
    (line,) = [each for each in told_of(found.roles) if each.startswith("talk.txt")]
    assert 'dialects: {"talk.txt": flat}' in line and "sectioned, header, command, flat, nested" in line


def test_the_interview_asks_it_first_and_either_answer_is_a_line_of_the_site_file(tmp_path: Path) -> None:
    from cfgmigrate.machine.recognise import recognise
    from cfgmigrate.machine.site_questions import site_questions

    first = site_questions(recognise(opened(tmp_path)))[0]
    assert [each.entry["roles"]["talk.txt"] for each in first.answers] == [
        "saved values",
        "no configuration",
        "profile",
    ]


def test_what_a_packet_says_of_it_is_worked_out_again(tmp_path: Path) -> None:
    (tmp_path / "config").mkdir()
    opened(tmp_path / "config")
    (tmp_path / "swap.yaml").write_text(
        "old: {drive: tube-fed}\nnew: {drive: on the carriage, feed_per_turn: 23 mm}\n"
    )
    api.prepare([tmp_path / "config"], tmp_path / "swap.yaml", out=tmp_path / "packet")
    assert api.verify(tmp_path / "packet") == ()


def test_a_long_text_is_looked_at_up_to_a_line(tmp_path: Path) -> None:
    documents = opened(tmp_path).documents
    assert listed_values(TALK.encode(), documents)
    assert not listed_values(b"\n" * MOST_LISTED_LINES + TALK.encode(), documents)


BEATS = """wick? tell all
   (b) from the build   (w) written here, beats the build
filament pulses per mm   97.35   w  4 Mar
retract                   5.5    b
least across             -2.0    b
"""


def test_a_listing_may_say_things_in_another_order_and_when_each_was_written(tmp_path: Path) -> None:
    text = BEATS.replace("filament pulses per mm", "coil_ma filament 930  w  4 Mar\nretract mm")
    held = opened(tmp_path, text).roles["talk.txt"].holds
    assert {each.of for each in held} == {"COIL_MA_FILAMENT", "RETRACT_MM", "ACROSS_LEAST"}


LETTERED = "> show\n< pace X80 Y80 A{}\n< draw A5.6 F2600\n< far X212 Y210\n< okay A97\n"
PACES = (
    b"#define X_PACE 80L\n#define Y_PACE 80L\n#define FEED_PACE 95L\n#define DRAW 5.5\n#define X_FAR 210\n"
)


@pytest.mark.parametrize(("pace", "named"), [("97", True), ("415", False)])
def test_rows_of_letters_give_the_settings_whose_word_they_have_and_whose_numbers_are_near(
    pace: str, named: bool
) -> None:
    found = listed_values(LETTERED.format(pace).encode(), [read("m.h", PACES, "header")])
    assert ("FEED_PACE" in {each.of for each in found}) is named and "X_FAR" in {each.of for each in found}
    assert not listed_values(b"pace A97\nok X210 Y80\n", [read("m.h", PACES, "header")])
