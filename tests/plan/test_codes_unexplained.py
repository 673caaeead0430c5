"""A code of which nobody said anything may be what no line was read for; one that is explained as something else is not."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.codes_unexplained import codes_unexplained

HEAD = "; K10 steps per mm   K11 full steps\nK10 X80 Y80 Z800 E188.2\nK11 X200 Y200 Z200 E400\n"


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ("K40 L4.5\n", "K40 L4.5 (feed.nc:4)"),
        ("K40 X4.5\n", None),
        ("K40 L4500\n", None),
        ("; K40 glow of the lamp\nK40 L4.5\n", None),
        ("; K40 knob and retraction\nK40 L4.5\n", "K40 L4.5 (feed.nc:5)"),
        (";K40 L4.5\n", None),
    ],
)
def test_the_first_such_word_is_named_by_what_it_may_set(lines: str, told: str | None) -> None:
    machine = recognise([read("feed.nc", (HEAD + lines).encode(), "command")])
    assert codes_unexplained(machine, ("retraction.length",)).get("retraction.length") == told
