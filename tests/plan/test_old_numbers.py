"""A line of text holds an old number where it has the very one, or one near it in the same words."""

from __future__ import annotations

import pytest

from cfgmigrate.plan.old_numbers import LONGEST_LINE, OF_THE_OLD_DRIVE, FormerNumber, OldNumbers

PULSES = FormerNumber(103.9, "steps", frozenset({"pulses"}), unit="1/mm")
PULL = FormerNumber(6.2, "retraction", frozenset({"pull", "back"}))
END = FormerNumber(40.0, "highest", frozenset({"reach"}))
GO_ON = FormerNumber(560.0, "way on", frozenset(), unit="mm", called=" go on ")
OLDS = OldNumbers(
    {each.value: (each,) for each in (PULSES, PULL, END, GO_ON)},
    {word: (each,) for each in (PULSES, PULL, END) for word in each.words},
    (610.0,),
    frozenset({"door"}),
    frozenset({"window"}),
    tips=True,
)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("pulses 103.9", "the old steps"),
        ("  feeder door    pulses per mm     104.70", "near the old steps"),
        ("corners nicer than with 6.2", "the old retraction"),
        ("6,2 is enough", "the old retraction"),
        ("reach = 40", "the old highest"),
        ("G1 E595 F2700", "near the old path of 610 mm"),
        ("G1 E-690 F2700 ; out", "near the old path of 610 mm"),
        ("LEFT_AFTER_WATCHER 1040", "near the old path of 610 mm"),
        ("door tip from window tip  y 0.30", "of a tip, and one of several tips has moved"),
        ("K31 D560 ; go on, then stop", "the old way on"),
        ("white tube, 585 mm", "near the old path of 610 mm"),
    ],
)
def test_it_is_pointed_at(line: str, why: str) -> None:
    assert OLDS.said_of(line) == why


@pytest.mark.parametrize(
    "line",
    [
        "K31 D560 ; go once",  # not the whole name
        "K31 D560 ; gone on",
        "K31 D555 ; go on",  # another number
        "bed = 40",  # the same, but short and in other words
        "feeder window pulses per mm 103.9",  # another feeder's
        "X595 Y20",  # as long as the path, and no feed
        "speed 6.3",  # near, in other words
        "version 1.103.9",  # no number
        "pusher steps  612.4 /mm",  # a number of steps is no path, near as it is
        "feed steps 612.4",
        "load speed 600 mm/min",
        "pulses 103.9 ms",  # another measure
        "warm up 103.9",  # a temperature, by its name
        "",
    ],
)
def test_it_is_not(line: str) -> None:
    assert OLDS.said_of(line) == ""


def test_an_equal_number_under_an_unlike_word_is_no_sign() -> None:
    assert OLDS.said_of("walls outer = 6.2") and not OLDS.said_of("walls outer = 6.2", elsewhere=True)
    assert OLDS.said_of("pull = 6.2", elsewhere=True) and OLDS.said_of("walls = 103.9", elsewhere=True)


def test_no_more_than_the_beginning_of_a_long_line_is_looked_at() -> None:
    assert OLDS.said_of("x" * LONGEST_LINE + " pulses 103.9") == ""
    assert OLDS.said_of(" ".join(["1"] * 10**6)) == ""


def test_a_place_on_an_axis_is_no_number_behind_another_letter() -> None:
    front = FormerNumber(214.0, "Y maximum", frozenset({"reach"}), "Y")
    olds = OldNumbers({214.0: (front,)})
    assert olds.said_of("G1 Y214 F6000") == olds.said_of("it went to 214 once") == "the old Y maximum"
    assert not olds.said_of("W70 S214")


def test_a_word_of_every_second_name_makes_no_number_the_old_one() -> None:
    nozzle = FormerNumber(26.0, "probe X offset", frozenset({"right", "nozzle", "probe"}))
    olds = OldNumbers({26.0: (nozzle,)})
    assert olds.said_of("probe_right = 26") and not olds.said_of("nozzle_watch_seconds = 26")


def test_the_name_of_a_file_is_no_word_of_the_drive() -> None:
    assert OF_THE_OLD_DRIVE.search("the drive sits behind") and OF_THE_OLD_DRIVE.search("a new drive.")
    assert not OF_THE_OLD_DRIVE.search("what stands in drive.conf comes later")


def test_the_unit_that_a_name_says_counts_where_the_number_has_none() -> None:
    assert OLDS.said_of("pulses 103.9") and not OLDS.said_of("pulses 103.9", "mm/s")
    assert OLDS.said_of("pulses 103.9 /mm", "mm/s") == "the old steps"


def test_a_temperature_by_the_unit_in_its_name_is_no_old_place_of_the_same_number() -> None:
    olds = OldNumbers({214.0: (FormerNumber(214.0, "Y maximum", frozenset({"high"}), "", "mm"),)})
    hot = ("hot = 214", "#define HOT 214", "hot, 214", "hot_c = 214", "hot end = 214", "nozzle_c = 214")
    assert not any(olds.said_of(line) for line in hot)
    assert all(olds.said_of(line) for line in ("hotel 214", "hot end y = 214", "when hot, go to 214"))
    assert all(
        olds.said_of(line) for line in ("hot end 2 y = 214", "hot 1 off y 214", "y = 214 ; hot, 2 passes")
    )
    assert olds.said_of("rest = 214") == "the old Y maximum"
