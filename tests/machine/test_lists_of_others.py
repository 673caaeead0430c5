"""A list of codes is another machine's where its title says so, whatever else the title says of this one."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.lists_of_others import is_of_another, still_of_another
from cfgmigrate.machine.recognise import recognise

LINES = "C61 X81 Y82 Z405 E103.5\nC62 X170 Y160 Z8 E41\n"


@pytest.mark.parametrize(
    "title",
    [
        "codes of the old machine (the new ones are below)",
        "codes of the old machine, for the new ones see below",
        "codes of the old machine, not of this one",
        "codes of the old board (this one has others)",
        "codes and letters of the old machine",
        "codes of the old machine and its pump",
        "codes of the mill and the lathe",
        "this is the list of the former printer",
        "the old machine's codes, and some of its habits",
        "codes of the old machine, as I remember them",
        "codes of the laser, kept here for comparison",
        "codes of the laser, not used here",
        "codes of the old machine, now in the cellar",
        "codes of the old machine, the new one does not have the same",
        "codes of the old machine (too old for anybody)",
        "codes of the old machine, by the same maker",
        "codes of the old machine and new notes on them",
    ],
)
def test_what_a_title_says_of_this_machine_makes_the_other_ones_list_not_this_ones(title: str) -> None:
    assert is_of_another(title)
    found = recognise(
        [read("m.nc", f"; {title}\n; C61 steps per mm\n; C62 top speed mm/s\n\n{LINES}".encode(), "command")]
    )
    assert not found.readings
    assert [each.place.line for each in found.doubts if "another machine's" in each.why] == [5]


@pytest.mark.parametrize(
    "title",
    [
        "codes for the old board and this one",
        "codes of the old machine and of the new one",
        "what the codes mean on my second machine and here",
        "codes of the old machine, still valid",
        "codes of the old machine, used here too",
        "codes of the old machine (the new one has the same)",
        "codes of the old machine, the same as here",
        "codes of the old board, this board takes them all",
        "codes of the old board; this board knows these",
        "same codes as on the other printer",
        "codes of the old and the new machine",
        "codes of the new controller, not those of the old",
    ],
)
def test_a_title_that_says_the_codes_are_the_same_here_is_this_machine_s(title: str) -> None:
    assert not is_of_another(title)


@pytest.mark.parametrize(
    "further", ["(the new ones are below)", "written down by Jo", "power and focus = C90"]
)
def test_a_further_line_of_such_a_title_leaves_the_list_the_other_one_s(further: str) -> None:
    text = f"; codes of the old machine\n; {further}\n; C61 steps per mm\n; C62 top speed mm/s\n\n{LINES}"
    assert not recognise([read("m.nc", text.encode(), "command")]).readings


@pytest.mark.parametrize(
    "further", ["and mine:", "my codes:", "the new ones:", "codes of this machine", "and of this one"]
)
def test_a_title_of_this_machine_s_own_list_ends_the_other_one_s(further: str) -> None:
    assert not still_of_another("codes of the old machine", further)
    text = f"; codes of the old machine\n; C61 fan\n; {further}\n; C61 steps per mm\n; C62 top speed mm/s\n\n{LINES}"
    found = {each.quantity for each in recognise([read("m.nc", text.encode(), "command")]).readings}
    assert {"feeder.steps_per_mm", "feeder.max_speed"} <= found


def test_a_list_with_dashes_before_its_codes_is_the_other_one_s_as_well() -> None:
    text = f"; codes of the laser\n; - C61 steps per mm\n; - C62 top speed mm/s\n\n{LINES}"
    assert not recognise([read("m.nc", text.encode(), "command")]).readings
