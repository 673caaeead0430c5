"""A line that says the highest z once more under another name is asked about; the height of another thing is none."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.recognise import recognise

READ = "[axis z]\nhigh end = 250\n"


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("[bed]\ntallest_print = 250", True),
        ("[slicing]\nobject_height_limit = 25 cm", True),
        ("[slicing]\nobject_height_limit = 180", False),
        ("[slicing]\nobject_count_limit = 250", False),
        ("[screen]\nheight = 250", False),
        ("[purge]\ntower height = 250", False),
    ],
)
def test_the_same_height_under_a_name_that_speaks_of_one_is_asked_about(line: str, asked: bool) -> None:
    machine = recognise([read("a.conf", (READ + line).encode(), "sectioned")])
    assert [each.beside.text for each in perhaps(machine) if each.beside] == ["250"] * asked
