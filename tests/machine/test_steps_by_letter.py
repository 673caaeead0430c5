"""A line that is named as the axes' steps are, but for its letter, may be the feeder's: it is asked and never read by that."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.recognise import recognise

AXES = "#define STEPS_X 80.0\n#define STEPS_Y 80.0\n#define STEPS_Z 400.0\n#define PULL_LEN 6.0\n"


def maybe(lines: str, axes: str = AXES) -> list[str]:
    machine = recognise((read("wren.h", (axes + lines).encode(), "header"),))
    return [each.unread.setting.name for each in perhaps(machine) if each.quantity == "feeder.steps_per_mm"]


@pytest.mark.parametrize("name", ["Q_STEPS", "STEPS_Q", "STEPS_Q_DRAWN"])
def test_steps_of_a_letter_beside_those_of_the_axes_may_be_the_feeder_s(name: str) -> None:
    assert maybe(f"#define {name} 187.4\n") == [name]


@pytest.mark.parametrize(
    "line",
    ["Q_LIFTS 187.4", "STEPS_LAMP 187.4", "STEPS_Q 0", "FADE_Q 187.4"],
    ids=["another word", "no letter", "no number of steps", "another word behind"],
)
def test_another_line_is_not(line: str) -> None:
    assert maybe(f"#define {line}\n") == []


def test_nor_is_one_beside_steps_of_the_feeder_that_are_read() -> None:
    assert maybe("#define STEPS_Q 187.4\n#define FEEDER_STEPS_PER_MM 93.5\n") == []


def test_nor_where_the_axes_lines_are_named_otherwise() -> None:
    assert maybe("#define Q_STEPS 187.4\n", "#define X_SPMM 80.0\n#define PULL_LEN 6.0\n") == []
