"""The teeth of one gear are no ratio, and nothing is read of them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(lines: str) -> Machine:
    return recognise([read("one.ini", (lines.replace("|", "\n") + "\n").encode(), "sectioned")])


@pytest.mark.parametrize(
    ("lines", "nearest"),
    [
        ("[motion]|teeth = 20, 20, 12", ()),
        ("[motion]|teeth xy = 20, 20", ()),
        ("[feeder]|motor teeth = 20", ("feeder.gear_ratio",)),
    ],
)
def test_of_one_gear_s_teeth_is_told_what_they_are_nearest_to(lines: str, nearest: tuple[str, ...]) -> None:
    found = machine(lines)
    assert not found.readings and not found.doubts
    assert [each.nearest for each in found.unread] == [nearest]
