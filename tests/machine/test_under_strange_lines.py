"""Below a line that looks like the head of a section and was not read as one nothing is taken for the part above."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("line", "read_"),
    [("<mill>", False), ("{ mill }", False), ("== mill ==", False), (">> mill", False), ("what a day", True)],
)
def test_what_stands_below_a_strange_head_is_a_question(line: str, read_: bool) -> None:
    text = f"[feeder]\nmm per turn = 22.6\n{line}\nfeeder current = 0.82 A rms\n[z]\nmaximum = 240\n"
    machine = recognise([read("a.conf", text.encode(), "sectioned")])
    found = {each.quantity for each in machine.readings}
    assert ("motor.run_current" in found) is read_
    assert {"feeder.feed_per_turn", "axis.z.max"} <= found
    assert any("may begin another part" in each.why for each in machine.doubts) is not read_


def test_a_lone_head_in_brackets_of_a_flat_file_is_one_too() -> None:
    machine = recognise([read("a.txt", b"{mill}\nfeeder current = 0.82 A rms\nz maximum = 240\n", "flat")])
    assert not machine.readings
