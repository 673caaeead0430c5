"""A letter measures where its list says so, or where its number can't count; else it may count feeders."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise


def asked(text: str) -> bool:
    found = recognise([read("m.nc", text.encode(), "command")])
    return any("another feeder" in doubt.why for doubt in found.doubts)


@pytest.mark.parametrize("letters", ["L length, V out, W back", "L length mm, V speed, W speed"])
def test_large_numbers_count_no_feeder_and_the_later_line_wins(letters: str) -> None:
    text = f"; M6106 retract: {letters}\nM6106 L5.40 V2700 W2100\nM6106 L5.20\n"
    found = recognise([read("m.nc", text.encode(), "command")])
    assert not asked(text)
    assert [each.value for each in found.readings if each.quantity == "retraction.length"] == [5.2]


def test_what_a_list_says_above_another_code_is_said_of_no_letter_of_this_one() -> None:
    assert asked("; C71 retraction length (L), mm\nC71 L5.6 P7\n; C72 fan: P speed, L length\nC71 L5.1 P8\n")


def test_words_of_one_letter_that_are_another_s_say_nothing_of_it() -> None:
    assert asked("; C71 retraction length (L) and (P), mm\nC71 L5.6 P7\nC71 L5.1 P8\n")


@pytest.mark.parametrize(
    "text",
    [
        "; B74 E feed steps per mm\nB74 P1.1 E415\nB74 P1.2 E430\n",
        "; B74 retract: L length mm, P board\nB74 P300 L4.4\nB74 P301 L4.1\n",
        "; B74 retract: L length mm, P address\nB74 P300 L4.4\nB74 P301 L4.1\n",
    ],
)
def test_a_letter_that_stands_on_every_line_may_count_whatever_its_numbers_are(text: str) -> None:
    assert asked(text)
