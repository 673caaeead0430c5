"""A value of which the board may keep another one, in codes that nobody explained, is not written beside it in silence."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.ground.findings import Doubt

HEADER = "#define TREMOR_X_HZ 52.5\n#define TREMOR_Y_HZ 44.0\n#define FEEDER_STEPS_PER_MM 139.6\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 500 mm}}
new: {drive: on the carriage, feed_per_turn: 23.0 mm, microsteps: 16, motor: {step_angle: 1.8 deg}}
machine_kind: moving bed
carriage: {old_mass: 300 g, new_mass: 480 g, height_as_before: yes}
"""


def asked(folder: Path, kept: str, role: str = "saved values") -> list[Doubt]:
    config = folder / "config"
    config.mkdir()
    (config / "machine.h").write_text(HEADER)
    (config / "console.txt").write_text(kept)
    (config / "cfgmigrate.yaml").write_text(f'site: 1\nroles: {{"console.txt": {role}}}\n')
    (folder / "sheet.yaml").write_text(SHEET)
    plan = api.prepare([config], folder / "sheet.yaml", out=folder / "packet").plan
    assert any(each.quantity == "resonance.x" for each in plan.changes)
    return [doubt for doubt in plan.doubts if doubt.why.startswith("this may be the X resonance ")]


@pytest.mark.parametrize("role", ["saved values", "in force"])
def test_a_kept_frequency_under_its_heading_is_asked_about_where_the_header_s_is_written(
    tmp_path: Path, role: str
) -> None:
    kept = "M7012 X82 Y82 Z410\n; tremor, Hz and damping\nM7047 X F52.9 D0.08\nM7047 Y F44.0 D0.12\n"
    (doubt,) = asked(tmp_path, kept, role)
    assert (doubt.place.file, doubt.place.line) == ("console.txt", 3)


@pytest.mark.parametrize(
    "kept",
    [
        "; tremor, Hz and damping\nM7047 Y F52.5 D0.12\n",
        "; lamp\nM7047 X F52.5 D0.12\n",
        "; tremor\nM7047 X F5.25\n",
    ],
)
def test_a_line_of_another_axis_thing_or_size_is_not_asked_about(tmp_path: Path, kept: str) -> None:
    assert not asked(tmp_path, "M7012 X82 Y82 Z410\n" + kept)
