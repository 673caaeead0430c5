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


@pytest.mark.parametrize(("shift", "said"), [(-1.6, True), (0.0, False)])
def test_the_light_of_the_height_says_which_such_line_is_to_be_measured_anew(
    tmp_path: Path, shift: float, said: bool
) -> None:
    (tmp_path / "m").mkdir()
    text = "#define FEELER_TRIP_Z 1.70   // tip is this high when it trips\n#define PROBE_OFFSET_Z -1.74\n#define Z_MAX 250\n"
    (tmp_path / "m" / "a.h").write_text(text)
    (tmp_path / "s.yaml").write_text(SHEET.format(shift) + "clearance: {less_at_high_z: 0 mm}\n")
    plan = api.work_out(tmp_path / "m", tmp_path / "s.yaml").plan
    (height,) = [light for light in plan.lights if light.light == "height"]
    assert ("a.h:1" in height.why) is said
    assert height.state == "by hand" if said else height.state in ("set", "unaffected")


HEIGHTS = {
    "a.conf": "[feeler]\nkind = inductive\nfires at = 1.45   # nozzle above the glass when it fires\n",
    "b.nc": "; M72 probe from nozzle  X Y, Z = fires at\n; M74 small height  Z\nM72 X-32.0 Y6.0 Z1.41\nM74 Z-0.03\n",
    "cfgmigrate.yaml": "site: 1\nroles: {a.conf: in force, b.nc: saved values}\nmeanings: {'[feeler] fires at': probe.offset_z}\n"
    "codes: {M72.Z: probe.offset_z}\n",
}
WAITING = """\
new: {{drive: on the carriage}}
carriage: {{z_stop: probe, nozzle_shift: {{x: 0 mm, y: 0 mm, z: {} mm}}, probe_shift: {{x: 0 mm, y: 0 mm, z: 0 mm}}}}
"""


@pytest.mark.parametrize(("shift", "named"), [(1.2, True), (0, False)])
def test_while_it_is_not_known_what_the_height_becomes_every_line_that_holds_it_is_named(
    tmp_path: Path, shift: float, named: bool
) -> None:
    """Found in a made-up folder: the light was open, and neither of the lines was on the checklist."""
    (tmp_path / "m").mkdir()
    for name, text in HEIGHTS.items():
        (tmp_path / "m" / name).write_text(text)
    (tmp_path / "s.yaml").write_text(WAITING.format(shift))
    plan = api.work_out(tmp_path / "m", tmp_path / "s.yaml").plan
    assert not [change for change in plan.changes if change.quantity == "probe.offset_z"]
    steps = "\n".join(step for item in plan.by_hand for step in item.steps)
    for line in ("a.conf:3", "b.nc:3", "b.nc:4"):
        assert (line in steps) is named
