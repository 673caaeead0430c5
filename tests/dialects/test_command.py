"""What word-address lines say, in files, in console dumps, and in scripts."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.command import OWN_WORDS, likelihood, read
from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.moves import code_of, read_moves


def document(text: str) -> Document:
    return read("knot.nc", text.encode())


def words(text: str) -> list[tuple[str, str, str]]:
    return [(each.section, each.key, each.value) for each in document(text).settings]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("M92 X88 Y88.0 E438.4", [("M92", "X", "88"), ("M92", "Y", "88.0"), ("M92", "E", "438.4")]),
        ("m92x88e-438.4", [("M92", "X", "88"), ("M92", "E", "-438.4")]),
        ("N30 M92 E96 ; E94 before", [("M92", "E", "96")]),
        ("M92 (E94 before) E96 (yes)", [("M92", "E", "96")]),
        ("  M092 E96", [("M92", "E", "96")]),
        ("G01 X.5 F0600", [("G1", "X", ".5"), ("G1", "F", "0600")]),
        ("G38.20 Z-5", [("G38.2", "Z", "-5")]),
        ("M92 T1 E96", [("M92", "T", "1"), ("M92", "E", "96")]),
        ("G90 G1 X5 M8", [("G1", "X", "5")]),
        ("M84 X Y", []),
        ("T1", [("T", "T", "1")]),
        ("X5 Y6", [("", "X", "5"), ("", "Y", "6")]),
        ("; M92 E96", []),
        ("(M92 E96)", []),
        ("%", []),
    ],
)
def test_each_word_of_a_line_is_a_setting_of_its_code(
    line: str, expected: list[tuple[str, str, str]]
) -> None:
    found = document(f"G21\n{line}\nG90\n")
    assert [(each.section, each.key, each.value) for each in found.settings] == expected
    assert found.doubts == ()


def test_blanks_may_stand_within_a_number() -> None:
    """RS-274/NGC (NISTIR 6556, 3.3): `g0x +0. 12 34y 7` means `g0 x+0.1234 y7`."""
    x, y = document("g0x +0. 12 34y 7\n").settings
    assert (x.section, x.key, x.value, x.resolved) == ("G0", "X", "+0. 12 34", "+0.1234")
    assert (y.section, y.key, y.value, y.resolved) == ("G0", "Y", "7", "")


@pytest.mark.parametrize(
    "line",
    [
        "board:  M92 E96.4 X87.25",
        "Answer: M92 E96.4 X87.25",
        "> M92 E96.4 X87.25",
        "<< M92 E96.4 X87.25",
        "knot |M92 E96.4 X87.25",
        "~ M92 E96.4 X87.25",
        "[noon] hears: board:M92 E96.4 X87.25",
        "12:01 > M92 E96.4 X87.25",
    ],
)
def test_a_console_dump_is_read_behind_its_prompts(line: str) -> None:
    found = document(f"board:; what it was told in spring\n{line}\n")
    assert [(each.section, each.key, each.value) for each in found.settings] == [
        ("M92", "E", "96.4"),
        ("M92", "X", "87.25"),
    ]
    assert found.doubts == ()
    assert [found.slice(each.start, each.end) for each in found.settings] == ["96.4", "87.25"]


def test_a_line_with_a_checksum_is_not_edited_and_that_is_a_doubt() -> None:
    found = document("N1 M92 E96*71\nN2 M203 E25*72\n")
    assert [each.state for each in found.settings] == ["undecided", "undecided"]
    assert [(doubt.place.line, "checksum" in doubt.why) for doubt in found.doubts] == [(1, True)]


def test_a_line_that_may_be_skipped_is_undecided() -> None:
    assert [each.state for each in document("/M92 E96\n").settings] == ["undecided"]


@pytest.mark.parametrize("line", ["M77 the net is up", "M77 the E5 net is up", "M78 /ring.nc"])
def test_a_message_is_no_word_and_no_doubt(line: str) -> None:
    found = document(f"M92 E96\n{line}\n")
    assert words(f"M92 E96\n{line}\n") == [("M92", "E", "96")]
    assert found.doubts == ()


@pytest.mark.parametrize("line", ["M92 E96 mm", "lag = 4", "M92 X88 E{steps}", "M92 X88 (open"])
def test_a_line_that_is_not_all_words_has_no_settings_and_is_a_doubt(line: str) -> None:
    found = document(f"G21\n{line}\n")
    assert found.settings == ()
    assert [(doubt.place.line, doubt.text) for doubt in found.doubts] == [(2, line)]


def test_a_row_of_digits_is_read_in_one_way_however_long_it_is() -> None:
    """In all ways of dividing sixty digits it would never come to its end."""
    assert words(f"M117 A#{'7' * 60} is on\nM92 E97.1\n") == [("M92", "E", "97.1")]


def test_a_script_is_read_line_by_line_with_spans() -> None:
    text = "G91 ; relative\n  G1 E-3.5 F2100\n\nG1 Z{lift} F600\nM84 X Y"
    lines = read_moves(text)
    assert [line.code for line in lines] == ["G91", "G1", "G1", "M84"]
    feed = lines[1].get("E")
    assert feed is not None
    assert (feed.value, text[feed.start : feed.end]) == (-3.5, "-3.5")
    assert [line.text for line in lines] == ["", "", "Z{lift} F600", ""]
    assert [(word.letter, word.value) for word in lines[3].words[1:]] == [("X", None), ("Y", None)]
    assert [text[line.start : line.end].strip() for line in lines][1] == "G1 E-3.5 F2100"


@pytest.mark.parametrize(
    ("text", "code"),
    [("g01", "G1"), ("M092", "M92"), ("G38.20", "G38.2"), ("G 0 0", "G0"), ("T0", "T0"), ("X5", "")],
)
def test_codes_have_one_spelling(text: str, code: str) -> None:
    (line,) = read_moves(text)
    assert line.code == code
    if code:
        assert code_of(line.words[0]) == code


def test_prose_is_not_made_of_words() -> None:
    assert likelihood("M92 E96\nG90\nM77 the net is up\n") > 0.8
    assert likelihood("This is a page\nof text. M92 is a code.\n") == 0
    assert likelihood("X5 Y6\n") == 0
    orders = (
        "HOME ALL\nG0 X5 F900\nWARM TIP 0\nG91\nG1 E-5.5 F2400\nG1 Z4 F600\nASK NEW REEL IN?\nMOTORS OFF\n"
    )
    assert likelihood(orders) > 0.75 > likelihood(orders.replace("G1", "Go to"))
    small = "use ochre\nG91\nG1 E-5.5 F2400\nG1 Z4 F600\nheat ochre 0\nplate 0\n"
    assert likelihood(small) > 0.75 > likelihood(small.replace("0\n", "is off now\n"))


OWN = """; heron, settings
REACH X0 Y0 Z0   ; lowest
SPAN X210 Y190 Z140
PULSES X84 Y86 Z410
PULSES U412.5
TOP-SPEED X180 Y160 Z9  ; mm/s
PULL_BACK L0.8 V35
"""


def test_a_makers_own_commands_are_what_the_words_behind_them_belong_to() -> None:
    found = read("heron.nc", OWN.encode())
    assert found.dialect == "command" and not found.doubts
    named = [(s.section, s.key, s.value) for s in found.settings]
    assert named[:2] == [("REACH", "X", "0"), ("REACH", "Y", "0")]
    assert named[-2:] == [("PULL_BACK", "L", "0.8"), ("PULL_BACK", "V", "35")]
    assert all(found.slice(s.start, s.end) == s.value for s in found.settings)


def test_in_a_script_such_a_line_calls_something_and_sets_nothing() -> None:
    script = "G90\nG28\n" + OWN + "G1 X5 F900\n" * 7
    found = read("start.nc", script.encode(), "command")
    assert all(s.section in ("G1", "G90", "G28") for s in found.settings)


@pytest.mark.parametrize("before", ["", "  ", "/", "N10 ", "(a remark) ", "%(a) n3 "])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_makers_own_commands_are_found_whatever_stands_before_them(before: str, end: str) -> None:
    lines = [f"{before}MAXSPEED X{number}{end}" for number in range(OWN_WORDS)]
    assert {each.section for each in document("".join(lines)).settings} == {"MAXSPEED"}
    assert not document("".join(lines[1:])).settings


@pytest.mark.parametrize("count", [1, 9])
def test_a_command_in_words_is_left_alone_and_nobody_is_told_to_take_it_out(count: int) -> None:
    """A line such as `heat tip 0` behind a remark sign leaves a heater on."""
    found = read(
        "end.gc", b"G28\nG1 X5 Y5 F600\nG1 X9 Y9\nG1 X4 Y4\n" * 9 + b"heat tip 0\n" * count, "command"
    )
    assert found.doubts
    assert all("left alone; where it sets a speed" in doubt.remedy for doubt in found.doubts)


def test_the_key_over_a_block_of_script_is_no_command() -> None:
    assert document("bring in: |\n  M83\n  G1 E40 F400\ntake_out: >-\n  G1 E-6 F200\n").doubts == ()


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ('K210 B1 "scripts/load.nc"', False),
        ('K200 "welcome" ; at power-on', False),
        ('K5 "M92 E138"', True),
        ('K100 "the bench" V23', True),
    ],
)
def test_a_name_in_quotes_at_the_end_of_a_line_is_no_question(line: str, asked: bool) -> None:
    assert bool(read("a.nc", f"{line}\n".encode()).doubts) is asked
