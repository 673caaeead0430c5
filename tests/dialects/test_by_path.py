"""Lines that set once more what a section set, and name it by its path."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

_BODY = "{}wire drive{}\nsteps per mm = 96\nrun current = 0.9 A\nlag = 0.5\n{}pump{}\nspeed = 4\n"
_HEADS = {"flat": ("== ", " =="), "sectioned": ("[", "]")}


def text(dialect: str, *lines: str, below: str = "what the board keeps") -> bytes:
    heads = _HEADS[dialect]
    return (
        _BODY.format(*heads, *heads) + f"{heads[0]}{below}{heads[1]}\n" + "\n".join(lines) + "\n"
    ).encode()


@pytest.mark.parametrize("dialect", _HEADS)
@pytest.mark.parametrize("sign", [" / ", ".", " > "])
def test_a_line_that_names_a_section_and_its_key_sets_that_once_more(dialect: str, sign: str) -> None:
    found = read(
        "m.cfg",
        text(dialect, f"wire drive{sign}steps per mm = 97", f"wire drive{sign}lag = 0.4", "row 1 = 3"),
        dialect,
    )
    assert [(each.section, each.key, each.saved) for each in found.settings[4:]] == [
        ("wire drive", "steps per mm", True),
        ("wire drive", "lag", True),
        ("what the board keeps", "row 1", False),
    ]
    readings = {each.quantity: each.value for each in recognise([found]).readings}
    assert readings["feeder.steps_per_mm"] == 97
    assert readings["lag.coefficient"] == 0.4


@pytest.mark.parametrize("dialect", _HEADS)
def test_one_such_line_alone_or_one_of_an_unknown_section_is_left_where_it_stands(dialect: str) -> None:
    found = read(
        "m.cfg", text(dialect, "wire drive / lag = 0.4", "mill / lag = 2", "pump / colour = 1"), dialect
    )
    assert {each.section for each in found.settings[4:]} == {"what the board keeps"}


@pytest.mark.parametrize("below", ["for the fair", "speed", "before the rebuild", "kept before the rebuild"])
def test_such_lines_below_words_that_say_nothing_of_keeping_or_are_of_the_past_stay(below: str) -> None:
    found = read("m.cfg", text("flat", "wire drive / lag = 0.4", "pump / speed = 2", below=below))
    assert [(each.section, each.saved) for each in found.settings[4:]] == [(below, False)] * 2


@pytest.mark.parametrize(
    "announced",
    [
        "===== written by the lathe itself, do not write here, counts more than above =====\n= saved 3 May",
        "; from here on the board writes; these go over what stands above",
        "# the machine itself writes what follows",
    ],
)
def test_a_block_may_begin_under_the_last_section_behind_lines_that_announce_it(announced: str) -> None:
    body = _BODY.format("--- ", " (the left) ---", "--- ", " ---")
    below = f"\n{announced}\nmill . tilt = 3\nwire drive . steps per mm = 97\nwire drive . lag = 0.4\n"
    found = read("m.cfg", (body + below).encode(), "flat")
    assert [(each.section, each.key, each.saved) for each in found.settings[3:]] == [
        ("pump", "speed", False),
        ("pump", "mill . tilt", False),
        ("wire drive (the left)", "steps per mm", True),
        ("wire drive (the left)", "lag", True),
    ]


@pytest.mark.parametrize(
    "announced",
    [
        "# written down before the rebuild by the machine itself",
        "# nothing counts more than what stands above",
        "# of the old drive, kept",
        "# to be tried",
        "# the wire drive goes first",
        "# nothing here, I think, is saved",
        "# looks count more for these",
        "# quiet goes over speed",
    ],
)
def test_lines_that_are_announced_as_old_or_not_as_kept_stay_where_they_stand(announced: str) -> None:
    below = f"\n{announced}\nwire drive . steps per mm = 97\nwire drive . lag = 0.4\n"
    found = read("m.cfg", (_BODY.format("--- ", " ---", "--- ", " ---") + below).encode(), "flat")
    assert {each.section for each in found.settings[3:]} == {"pump"}


def test_what_is_said_over_one_section_reaches_no_other_and_one_of_two_names_with_asides_is_not_meant() -> (
    None
):
    saved = "[points]\n# saved by the lathe\np1.x = 3\np2.x = 4\n"
    text = f"{_BODY.format('[', ']', '[', ']')}{saved}[first layer]\nwire drive.lag = 0.4\nwire drive.run current = 0.3 A\n"
    assert {each.section for each in read("m.cfg", text.encode(), "sectioned").settings[-2:]} == {
        "first layer"
    }
    two = "[drive (left)]\nlag = 0.5\npace = 4\n[drive (right)]\nlag = 0.5\npace = 4\n[kept]\n# saved by the lathe\ndrive.lag = 0.4\ndrive.pace = 3\n"
    assert {each.section for each in read("m.cfg", two.encode(), "sectioned").settings[-2:]} == {"kept"}
