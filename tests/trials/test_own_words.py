"""A machine that speaks in codes of its own is not given a script in words that it may not know."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Refused
from cfgmigrate.trials.own_words import refuse_where_words_are_its_own

OWN = "; Q10 heats the nozzle and waits\nQ10 S215\nG1 E30 F300\nQ20 P50\nQ30 B1\n"


def test_codes_of_its_own_and_none_of_the_usual_are_refused_with_one_of_them() -> None:
    with pytest.raises(Refused, match="such as Q30"):
        refuse_where_words_are_its_own([read("load.nc", OWN.encode(), "command")])


@pytest.mark.parametrize(
    "text",
    [
        OWN + "M104 S215\n",
        OWN + "G28 X\n",
        "M92 X88 E431\nG1 E30 F300\nT0\n",
        "X10 Y20\nF300 E4\n",
        "Q10 S215\nQ20 P50\n",
    ],
)
def test_any_other_machine_is_taken_to_know_the_words(text: str) -> None:
    refuse_where_words_are_its_own([read("load.nc", text.encode(), "command")])


def test_a_usual_word_in_any_file_shows_that_it_knows_them() -> None:
    files = [read("load.nc", OWN.encode(), "command"), read("main.conf", b"start = M104 S200\n", "flat")]
    refuse_where_words_are_its_own(files)
