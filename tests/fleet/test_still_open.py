"""What is open is told machine by machine, and a machine of another kind is named on the first screen."""

from __future__ import annotations

import json
from pathlib import Path

from tests.commandline import Runner

FILE = """\
[x axis]
lowest = 0
highest = {end}
[z axis]
highest = 240
[filament drive]
steps per mm = 95
full steps = 200
[retraction]
length = 6
"""
FOAM = "".join(
    f"{key} = 3\n"
    for key in (
        "width", "depth", "blade_length", "blade_amps", "feed_slow", "park_place", "post_left", "post_right",
        "hours", "arm_left", "arm_right", "bench", "cut_speed",
    )
)  # fmt: skip
SHEET = """\
old: {drive: tube-fed}
new: {drive: on the carriage, steps_per_mm: 410 1/mm, microsteps: 16}
carriage: {old_mass: 285 g, new_mass: 443 g}
clearance: {less_at_high_x: 9 mm}
"""


def test_each_machine_has_its_list_and_another_kind_has_no_packet(tmp_path: Path, cli: Runner) -> None:
    for name, text in (("ash", FILE.format(end=210)), ("elm", FILE.format(end=212)), ("saw", FOAM)):
        (tmp_path / name).mkdir()
        (tmp_path / name / "set.conf").write_text(text)
    (tmp_path / "swap.yaml").write_text(SHEET)
    machines = "".join(f"  {name}: {{config: {name}, sheet: swap.yaml}}\n" for name in ("ash", "elm", "saw"))
    (tmp_path / "fleet.yaml").write_text(f"machines:\n{machines}")
    done = cli("prepare", "--fleet", tmp_path / "fleet.yaml", "-o", tmp_path / "out")
    screen = " ".join(done.out.split())
    assert done.status == 1
    assert "saw: this does not look like a filament printer" in screen
    assert "no group of machines that are alike" in screen or "1 group of machines" in screen
    assert "Open on each machine" in screen and "height unknown" in screen
    found = {one["machine"]: one for one in json.loads((tmp_path / "out/summary.json").read_text())["open"]}
    assert set(found) == {"ash", "elm"}
    assert "height" in found["ash"]["lights"] and "set.conf:3" in found["ash"]["places"]
    assert "What is open on each machine" in (tmp_path / "out/summary.html").read_text()
