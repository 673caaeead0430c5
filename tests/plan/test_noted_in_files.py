"""Lines of the files that may answer a question are shown beside it, and nobody takes their word for it."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.noted_in_files import noted_in_files

FILE = """\
[board]
most-pulses-per-second = 160000
name = gull
[carriage]
mass = 385
[x_axis]
zero_with = switch
[z_axis]
zero_with = probe
home_speed = 6
[up]
home = by the pin
"""


@pytest.mark.parametrize(
    ("field", "lines"),
    [
        ("controller.max_step_rate", ["most-pulses-per-second = 160000"]),
        ("carriage.old_mass", ["mass = 385"]),
        ("carriage.z_stop", ["[z_axis] zero_with = probe", "[up] home = by the pin"]),
        ("carriage.new_mass", []),
        ("new.tube.length", []),
    ],
)
def test_what_may_answer_a_question_is_shown_with_its_line(field: str, lines: list[str]) -> None:
    machine = recognise([read("m.ini", FILE.encode(), "sectioned")])
    found = noted_in_files(machine, field)
    assert len(found) == len(lines)
    for shown, line in zip(found, lines, strict=True):
        at = FILE.splitlines().index(line.rpartition("] ")[2]) + 1 if "zero_with" not in line else 9
        assert shown.startswith(f"m.ini:{at}: ") and shown.endswith(line)


def test_how_the_files_count_what_is_left_behind_the_sensor_is_shown_with_its_remark() -> None:
    text = b"[runout]\nuse = yes\nleft_after = 570   # 25 to the grip + 545\n"
    machine = recognise([read("m.ini", text, "sectioned")])
    assert noted_in_files(machine, "new.filament_behind_sensor") == (
        "m.ini:3: left_after = 570 # 25 to the grip + 545",
    )
