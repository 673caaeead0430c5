"""Which lines a remark is about: the one before it, those below, or all of the file."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import DIALECTS, read
from cfgmigrate.machine.remarks import Remarks


def remarks(text: str, dialect: str = "sectioned") -> Remarks:
    return Remarks(read("wren.ini", text.encode(), dialect))


@pytest.mark.parametrize(
    ("text", "below"),
    [
        ("# mm/s\na = 1\nb = 2\n", ["mm/s", "mm/s"]),
        ("a = 1\n# all speeds in mm/s\nb = 2\n", ["", "mm/s"]),
        ("# how fast (mm/s)\na = 1\n", ["mm/s"]),
        ("# how fast\na = 1\n", [""]),
        ("# mm/s\na = 1\n\nb = 2\n", ["mm/s", ""]),
        ("# mm/s\na = 1\n[c]\nb = 2\n", ["mm/s", ""]),
        ("# mm/s\na = 1\n# others\nb = 2\n", ["mm/s", ""]),
        ("# mm/s\n# mA\na = 1\n", ["mA"]),
        ("# A rms\na = 1\n", ["A rms"]),
        ("# A r.m.s.\na = 1\n", ["A rms"]),
        ("# m\na = 1\n", [""]),
        ("# A\na = 1\n", ["A"]),
        ("# all the currents that are of the motors of this machine in the whole of its life are in (mA)\na = 1\n", [""]),
    ],
)  # fmt: skip
def test_a_unit_alone_above_a_run_of_lines_is_of_each_up_to_a_gap_or_the_next(
    text: str, below: list[str]
) -> None:
    found = remarks(text)
    said = [found.below_heading(each) for each in found.document.settings]
    assert [f"{each.unit.name} {each.qualifier}".strip() if each.unit else "" for each in said] == below


@pytest.mark.parametrize(
    ("text", "dialect", "behind"),
    [
        ("a = 1 # mm/s\n", "sectioned", "mm/s"),
        ("a = 1 ; mm/s -----\n", "sectioned", "mm/s"),
        ("a = 1\n", "sectioned", ""),
        ("#define A 1 // mm/s\n", "header", "mm/s"),
        ("#define A 1 /* mm/s */\n", "header", "mm/s"),
        ("#define A 1 /* mm/s **/\n", "header", "mm/s"),
        ("A9 C1 (mm/s)\n", "command", "mm/s"),
        ("A9 C1 ; mm/s ***\n", "command", "mm/s"),
        ("a = 1 # µm\n", "sectioned", "µm"),
        ("a = 1 # thousandths of an amp\n", "sectioned", "mA"),
    ],
)
def test_a_remark_behind_a_value_has_neither_sign_nor_line_about_it(
    text: str, dialect: str, behind: str
) -> None:
    found = remarks(text, dialect)
    assert found.behind(found.document.settings[-1]) == behind
    if dialect != "header":
        assert {found.of_line(each) for each in found.document.settings} == {behind}


#: a remark at the top and one behind a value, with the marks of each dialect
TOP_AND_BEHIND = {
    "sectioned": "# lengths in mm\na = 1 # mm/s\n",
    "flat": "; lengths in mm\na = 1 ; mm/s\n",
    "header": "// lengths in mm\n#define A 1 // mm/s\n",
    "command": "; lengths in mm\nA9 C1 ; mm/s\n",
    "nested": "# lengths in mm\na: 1 # mm/s\n",
}


@pytest.mark.parametrize("dialect", DIALECTS)
def test_units_in_remarks_are_seen_in_every_dialect(dialect: str) -> None:
    """Or a number in mm/min is taken for one in mm/s, and nothing says so."""
    assert dialect in TOP_AND_BEHIND, "a dialect needs the marks of its remarks here, and in remark_marks.py"
    found = remarks(TOP_AND_BEHIND[dialect], dialect)
    assert set(found.units) == {"length"}
    last = found.document.settings[-1]
    assert found.behind(last) == found.of_line(last) == "mm/s"


@pytest.mark.parametrize(
    ("text", "dialect", "units", "qualifier", "feeds"),
    [
        ("# lengths mm, currents in A rms\na = 1\n", "sectioned", {"length", "current"}, "rms", False),
        ("# currents in A rms, unless peak is said\na = 1\n", "sectioned", {"current"}, "rms", False),
        ("# currents in A rms or peak\na = 1\n", "sectioned", {"current"}, "", False),
        ("# lengths mm, motor currents as effective values\na = 1\n", "sectioned", {"length"}, "rms", False),
        ("# currents in A, effective from 3 June\na = 1\n", "sectioned", {"current"}, "", False),
        ("# lengths mm, amperes (effective)\na = 1\n", "sectioned", {"current", "length"}, "rms", False),
        ("# Currents are effective immediately\na = 1\n", "sectioned", set(), "", False),
        ("# currents in mA, wheel effective 10 mm\na = 1\n", "sectioned", {"current", "length"}, "", False),
        ("# feeds in mm/min\na = 1\n", "sectioned", {"speed"}, "", True),
        ("# rapids, feeds and traverses are in mm/min\na = 1\n", "sectioned", {"speed"}, "", True),
        ("# speed = 4 mm/s\na = 1\n", "sectioned", set(), "", False),
        ("a = 1\n# lengths mm\n", "sectioned", {"length"}, "", False),
        ("a = 1\nb = 1\n\n\n# lengths mm\n", "sectioned", set(), "", False),
        ("\ufeff# lengths mm\na = 1\n", "sectioned", {"length"}, "", False),
        ("/* lengths mm\n * currents in A\n */\n#define A 1\n", "header", {"length", "current"}, "", False),
        ('{"about": "all lengths are in mm", "a": 1}', "nested", {"length"}, "", False),
        ('{"about": "in mm", "a": 1}', "nested", set(), "", False),
        ('{"c": {"about": "all lengths are in mm"}, "a": 1}', "nested", set(), "", False),
    ],
)
def test_what_a_file_says_at_its_top_is_of_all_its_lines(
    text: str, dialect: str, units: set[str], qualifier: str, feeds: bool
) -> None:
    found = remarks(text, dialect)
    assert (set(found.units), found.qualifier, found.feeds) == (units, qualifier, feeds)
