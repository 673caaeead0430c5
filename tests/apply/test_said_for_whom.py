"""Whom a file is for by its own head: several machines side by side, or all of them; and what only names two."""

from __future__ import annotations

import pytest

from cfgmigrate.apply.said_for_whom import lines_for_whom, names_beside

NAMED = names_beside(
    "Heron",
    ("heron/heron.txt", "common/house.txt", "threads/pla white.conf"),
    ("teal/teal.txt", "siskin/machine.json", "siskin/feeder.json", "notes/diary.md", "threads/petg.conf"),
)


def lines(head: str) -> list[int]:
    return list(lines_for_whom(f"{head}\n\n[tug]\nfar = 5.6\n# for Heron and Teal\n", NAMED))


@pytest.mark.parametrize(
    ("head", "line"),
    [
        ("# what holds for Heron and Teal alike", 1),
        ("# house rules\n; used by Teal, Siskin and Heron", 2),
        ("// Heron + Teal", 1),
        ("/* house rules\n * of heron/teal: mm, mm/s */", 2),
        ("# house rules, for Heron\n# and Teal; mm", 1),
        ("# machines: heron, siskin", 1),
        ("# shared by Heron and Plover (which is at my brother's)", 1),
        ('{\n"note": "retraction of Heron and Teal",', 2),
        ("; common to all three. mm", 1),
        ("# what all printers of the club share", 1),
        ("# the same for both machines", 1),
        ("# every machine takes its filament from here", 1),
    ],
)
def test_a_head_that_names_several_machines_says_whom_the_file_is_for(head: str, line: int) -> None:
    assert lines(head) == [line]


def test_a_file_elsewhere_that_bears_this_machine_s_name_makes_no_other_of_it() -> None:
    named = names_beside("", ("heron/heron.txt",), ("loft/heron_reels.txt",))
    assert not [*lines_for_whom("# heron, the program on the desk takes these\nx = 1\n", named)]


@pytest.mark.parametrize(
    "head",
    [
        "# Heron's own, not for Teal",
        "# Heron, Teal has its own",
        "# of Heron. Teal is in the other room",
        "# Heron: feeder and heater, bed and fan",
        "# Heron, and its diary",
        "# of Heron, PLA and PETG",
        "# as Teal had it before Easter; Heron",
        "# not for all machines",
        "# for both feeders, and for all three axes",
        "# for all three axes of the machine",
        "# Heron, May 2026",
        "# Heron, diary of the winter",
        "# HERON, siskin-like",
        "# heron, the program on the desk takes these",
        "# heron; siskin",
        "# heron - siskin",
        "# Teal and Siskin",
        "# Heron and Plover",
        "# shared by Heron, Bed and Fan",
        "x = 1\n# Heron and Teal",
    ],
)
def test_a_head_that_only_mentions_another_machine_says_nothing_of_the_kind(head: str) -> None:
    assert lines(head) == []


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[all]\nfar = 5.6\n[heron]\nfar = 5\n[teal]\nfar = 6\n", 5),
        ("[all]\nfar = 5.6\n[heron]\nfar = 5\n[plover]\nfar = 6\n", 5),
        ("all:\n  far: 5.6\nheron:\n  far: 5\nteal:  # the long tube\n  far: 6\n", 5),
        ('{\n"all": {\n"far": 5.6\n},\n"heron": {\n"far": 5\n},\n"teal": {\n"far": 6\n}\n}\n', 8),
        ("[all]\nfar = 5.6\n[teal]\nfar = 6\n", None),
        ("[all]\nfar = 5.6\n[heron]\nfar = 5\n[feeder]\nsteps = 96\n[axis x]\nend = 200\n", None),
        ("[heron]\nfar = 5\n[PLA]\nfar = 6\n", None),
        ("[heron feeder]\nfar = 5\n[teal feeder]\nfar = 6\n", None),
        ("[heron]\nfar = 5\n[pinboard]\nnotes = 3\n[drive]\nfar = 6\n", None),
        ("heron:\n  drive:\n    far: 5\nrubberneck:\n  place: 5\n", None),
        ("heron:\n  drive:\n    far: 5\nplover:\n  drive:\n    far: 5\n", 4),
    ],
)
def test_parts_by_the_names_of_this_machine_and_of_others_say_it_too(text: str, line: int | None) -> None:
    assert list(lines_for_whom(text, NAMED)) == ([line] if line else [])


@pytest.mark.parametrize(
    "head",
    [
        "; kerria - sent to the board at every power-up\nS80 X80",
        "(what the board of kerria has stored - saved from the console)\nS80 X80",
    ],
)
def test_a_kept_copy_that_is_called_as_its_original_is_no_other_machine(head: str) -> None:
    named = names_beside(
        "the press", ["kerria_start.nc", "kerria/stored.nc"], ["kerria_start_2025-02.nc", "teal/stored.nc"]
    )
    assert list(lines_for_whom(head, named)) == []


IN_A_ROW = names_beside(
    "", ("bay5/own.h", "common/house.h"), ("bay6/own.h", "bay7/own.h", "b2/own.h", "feeder6.txt", "m2/x.ini")
)


@pytest.mark.parametrize(
    "head",
    [
        "/* bay5, bay6, bay7 (Ida). own.h of each wins */",
        "# anything on bay5, 6, 7. mm, mm/s",
        "# bay5-7 and corner; mm",
        "# bay5, 6. mm",
        "# bay1 to bay9 all read this",
        "# Bay 5 and Bay 6",
        "# read by bay5 and bay8, which is at my brother's",
        "# bay4 and bay5 read this",
        "# all four school printers read this, then their own.h",
    ],
)
def test_names_with_numbers_in_a_row_say_whom_a_file_is_for(head: str) -> None:
    assert list(lines_for_whom(f"{head}\nfar = 5.6\n", IN_A_ROW)) == [1]


@pytest.mark.parametrize(
    "head",
    [
        "# bay5, as measured on 6 and 7 May",
        "# bay5; bay6 has its own",
        "# bay6, bay7: the old ones",
        "# bay5, version 6",
        "# bay5 and bay8",
        "# bay5, 6.5 mm of tube",
        "# bay5, 6 mm of tube",
        "# bay5, 6 May",
        "# feeder5, feeder6",
        "# all other printers read house.txt",
        "# bay5-2026",
    ],
)
def test_a_number_beside_this_machine_s_name_makes_no_row(head: str) -> None:
    assert list(lines_for_whom(f"{head}\nfar = 5.6\n", IN_A_ROW)) == []


@pytest.mark.parametrize("own", ["m1", "m3"])
def test_a_name_of_one_letter_and_a_number_is_one(own: str) -> None:
    named = names_beside("", (f"{own}/x.ini", "shared/motion.ini"), ("m2/x.ini",))
    assert list(lines_for_whom("# read by m1, m2 and m3; mm\nx = 1\n", named)) == [1]
    assert not list(lines_for_whom("# m2 and m4; mm\nx = 1\n", named))
