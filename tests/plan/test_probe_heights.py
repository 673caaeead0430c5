"""No line that may say how high the tip stands when the probe acts stays old in silence, where another was read as it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

SHEET = """\
new: {{drive: on the carriage}}
carriage: {{probe_with_tip: yes, z_stop: probe, nozzle_shift: {{x: 0 mm, y: 0 mm, z: {} mm}}, probe_shift: {{x: 0 mm, y: 0 mm}}}}
"""


@pytest.mark.parametrize("shift", [-1.6, 0.0])
@pytest.mark.parametrize("other", ["", "#define PROBE_OFFSET_Z -1.74\n"])
def test_such_a_line_is_named_where_the_tip_has_moved(tmp_path: Path, shift: float, other: str) -> None:
    (tmp_path / "m").mkdir()
    text = f"#define FEELER_PACE 4\n#define FEELER_TRIP_Z 1.70   // tip is this high when it trips\n{other}"
    (tmp_path / "m" / "a.h").write_text(text)
    (tmp_path / "s.yaml").write_text(SHEET.format(shift))
    plan = api.work_out(tmp_path / "m", tmp_path / "s.yaml").plan
    steps = [step for item in plan.by_hand for step in item.steps if "a.h:2" in step]
    assert bool(steps) == bool(shift)
    assert not [step for item in plan.by_hand for step in item.steps if "a.h:1" in step]
