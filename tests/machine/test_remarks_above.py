"""What stands above the lines of a word-address file: remarks of a run, headings of a part, and what is neither."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.remarks_above import Above, alone_on_its_line, remarks_above


@pytest.mark.parametrize(
    ("line", "remark", "at"),
    [
        ("; drive current", "drive current", 2),
        ("  ;drive current ", "drive current", 3),
        ("(drive current)", "drive current", 1),
        ("// drive current", "drive current", 3),
        ("% drive current", "drive current", 2),
        ("## drive current", "drive current", 3),
        ("#5 = 7", "", 0),
        ("A9 C1 ; drive current", "", 0),
        ("; A9 C1.5", "", 0),
        ("; A9 C-1", "", 0),
        ("; A9 current", "A9 current", 2),
        ("", "", 0),
    ],
)
def test_a_remark_alone_on_its_line_is_one_unless_it_is_a_line_out_of_force(
    line: str, remark: str, at: int
) -> None:
    assert alone_on_its_line(line) == (remark, at)


def above(text: str, title: str = "wren", explaining: dict[str, str] | None = None) -> Above:
    codes = {
        number: line.split()[0] for number, line in enumerate(text.splitlines(), 1) if line[:1] in ("A", "B")
    }
    return remarks_above(text, title, codes, explaining or {})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("; current\nA1 C1\nA1 C2\n", {2: "current", 3: "current"}),
        ("; current\nA1 C1\n\nA1 C2\n", {2: "current", 4: ""}),
        ("; current\n\nA1 C1\n", {3: "current"}),
        ("; a file\n; current\n\nA1 C1\n", {4: ""}),
        ("A1 C1\n; speeds\n; current\n\nA1 C1\n", {1: "", 5: "current"}),
        ("; current\nA1 C1\n; speed\nA1 C2\n", {2: "current", 4: "speed"}),
        ("; current\n; A1 C9\nA1 C1\n", {3: "current"}),
        ("; wren's settings\nA1 C1\n", {2: ""}),
        ("; now\n; wren's settings\nA1 C1\n", {3: "wren's settings"}),
        ("; codes\nA1 C1\n", {2: ""}),
        ("; letters\nA1 C1\n", {2: "letters"}),
        ("; LOAD: heat up first\nA1 C1\n", {2: ""}),
        ("; loading: heat up first\nA1 C1\n", {2: "loading: heat up first"}),
    ],
)
def test_a_remark_above_is_of_the_run_below_it_and_not_of_the_file_or_a_script(
    text: str, said: dict[int, str]
) -> None:
    assert above(text, explaining={"codes": "codes", "letters": "letters"}).above == said


def test_a_file_s_name_in_words_of_the_trade_opens_no_remark_of_its_own() -> None:
    assert above("; speed of all\nA1 C1\n", "speed").above == {2: "speed of all"}


@pytest.mark.parametrize(
    ("heading", "part", "remark"),
    [
        ("; --- retraction ---", "retraction", "--- retraction ---"),
        ("; == retraction", "retraction", "retraction"),
        ("; -- retraction, all of it --", "retraction", "-- retraction, all of it --"),
        ("; -- retraction (all of it) --", "retraction ", "retraction "),
        ("; -- retraction (mm) --", "retraction ", "-- retraction (mm) --"),
        ("; === 3) retraction", "retraction", "retraction"),
        ("; -- 2 retractions --", "", "-- 2 retractions --"),
        ("; -- speeds to and fro --", "speeds ", "-- speeds to and fro --"),
        ("; - retraction", "", "- retraction"),
    ],
)
def test_a_remark_behind_dashes_is_the_heading_of_all_that_follows(
    heading: str, part: str, remark: str
) -> None:
    found = above(f"A1 C1\n{heading}\nA1 C1\n\nA1 C1\n")
    assert found.part == {1: "", 3: part, 5: part}
    assert found.above[3] == remark


def test_a_line_of_another_code_below_a_remark_is_a_later_one() -> None:
    found = above("; retraction of all\nA1 C1\nA2 C1\nA1 C2\n\nA2 C2\n")
    assert found.later == {3}
    assert above("A2 C1\n; retraction of all\nA1 C1\n").later == set()


@pytest.mark.parametrize(
    ("remark", "lines", "said"),
    [
        ("Retraction: length, speed", "A1 C1\nA2 C1\n", ["Retraction: length", "Retraction: speed"]),
        ("Retraction: length, speed and lift", "A1 C1\nA2 C1\nA3 C1\n",
         ["Retraction: length", "Retraction: speed", "Retraction: lift"]),
        ("length; speed", "A1 C1\nA2 C1\n", ["length", "speed"]),
        ("retraction, length, speed", "A1 C1\nA2 C1\n", ["retraction: length", "retraction: speed"]),
        ("length of loading and of unloading", "A1 C1\nA2 C1\n", ["length of loading", "length of unloading"]),
        ("length, speed", "A1 C1\nA2 C1\nA1 C2\n", ["length", "speed", "length"]),
        ("length, speed, lift", "A1 C1\n", ["length, speed, lift"]),
        ("lowest spots and then highest spots", "A1 C1\nA1 C2\n", ["lowest spots", "highest spots"]),
        ("low, then high", "A1 C1\nA1 C2\nA1 C3\n", ["low, then high"] * 3),
        ("length, speed", "A1 C1\nA1 C2\n", ["length, speed", "length, speed"]),
        ("length, speed, lift, lag", "A1 C1\nA2 C1\n", ["length, speed, lift, lag"] * 2),
        # what a code is set to is no list of what the codes are
        ("Retraction: 4.6 mm, rather gently", "A1 C1\nA2 C1\n", ["Retraction: 4.6 mm, rather gently"] * 2),
        ("Retraction: length", "A1 C1\nA2 C1\n", ["Retraction: length"] * 2),
    ],
)  # fmt: skip
def test_a_remark_with_as_many_parts_as_codes_below_says_one_of_each(
    remark: str, lines: str, said: list[str]
) -> None:
    found = above(f"A9 C1\n\n; {remark}\n{lines}")
    assert [text for line, text in found.above.items() if line > 3] == said
    if len(set(said)) > 1:
        assert not found.later and {found.part[4], found.part[5]} == {said[0].rpartition(":")[0]}
