"""Lists that are a table over the list beside them, and lists that are one value of each feeder."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    "text",
    [
        "[lag]\nspeeds: 20, 60, 120\nvalues: 0.55, 0.62, 0.66\n",
        "[lag]\nspeed: 120, 60\ncoefficient: 0.55, 0.62\n",
        "[retraction]\nflows: 2, 6, 9\nlengths: 5, 5.5, 6\n",
    ],
)
def test_a_list_over_the_speeds_beside_it_is_asked_about_and_makes_no_feeders(text: str) -> None:
    found = recognise([read("wren.ini", text.encode(), "sectioned")])
    assert not found.readings and found.feeders == (1,)
    assert ["a table over" in doubt.why for doubt in found.doubts] == [True]


@pytest.mark.parametrize(
    "text",
    [
        "[retraction]\nlength: 5, 5.5\nspeed: 40, 45\n",
        "[lag]\nspeeds: 20, 60, 120\nvalues: 0.55, 0.62\n",
        "[feeder]\nsteps_per_mm: 93, 97\ntool: 0, 1\n",
    ],
)
def test_a_list_beside_another_feeder_quantity_or_no_such_list_is_one_value_of_each_feeder(text: str) -> None:
    assert recognise([read("wren.ini", text.encode(), "sectioned")]).feeders == (1, 2)
