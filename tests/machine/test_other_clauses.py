"""What a remark says of another thing or time is said of none of the lines."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("head", "lag"), [("times in ms", 0.002), ("the fan times are in ms", 2.0), ("the lag of the old one was in ms", 2.0)]
)  # fmt: skip
def test_a_unit_that_a_head_says_of_another_thing_or_time_is_not_the_files(head: str, lag: float) -> None:
    text = f"# {head}\n[feeder]\nsteps per mm = 93\nlag = 2\n"
    found = recognise([read("m.conf", text.encode(), "sectioned")]).readings
    assert [each.value for each in found if each.quantity == "lag.coefficient"] == [lag]
