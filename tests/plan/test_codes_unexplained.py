"""A code of which nobody said anything may be what no line was read for; one that is explained as something else is not."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.codes_unexplained import codes_near, codes_unexplained

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


@pytest.mark.parametrize(
    ("line", "near"),
    [
        ("before   K31 S1.3", {"motor.run_current"}),
        ("before   K31 S1300", {"motor.run_current"}),
        ("before   K31 S40", set()),
        ("before   K31 X1.3", set()),
    ],
)
def test_a_code_of_a_profile_may_set_once_more_what_its_number_is_near(line: str, near: set[str]) -> None:
    frame = b"[feeder]\nrun current = 1150 mA rms\n"
    profile = f"name  clear\nhot   238\nbefore   K44 S0.02\n{line}\n".encode()
    machine = recognise([read("a.ini", frame, "sectioned"), read("clear.reel", profile, "flat")])
    found = dict(codes_near(machine, {"motor.run_current"}))
    assert found == dict.fromkeys(near, "clear.reel:4")
