"""Numbers in calls are told where they are about as long as the old path or retraction, and nothing is changed."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

MACHINE = """\
axis.z.max = 310
feeder.steps_per_mm = 138.5
feeder.full_steps = 200
feeder.microsteps = 16
retraction.length_mm = 5.2
{0}.script = {1}
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 460 mm}}
new: {drive: on the carriage, tube: {length: 32 mm}}
filament: {material: PLA}
clearance: {highest_z: 251 mm, keep_clear: 2 mm}
carriage: {nozzle_shift: {z: 0 mm}}
"""


def told(folder: Path, occasion: str, lines: str) -> list[str]:
    (folder / "machine.txt").write_text(MACHINE.format(occasion, lines))
    (folder / "swap.yaml").write_text(SHEET)
    plan = api.prepare([folder / "machine.txt"], folder / "swap.yaml", out=folder / "packet").plan
    assert not [change for change in plan.changes if change.quantity.startswith("script.")]
    return [f"{doubt.text}: {doubt.why}" for doubt in plan.doubts if "this call's" in doubt.why]


@pytest.mark.parametrize(
    ("occasion", "lines", "said"),
    [
        ("load", "M83\\ntake_in far 500 at 20", "far of 500 is about as long as the old path of 505 mm"),
        ("start", "G28\\nload_wire far 510", "far of 510 is about as long as the old path"),
        ("end", "M84\\nPULL E5", "E of 5 is about as long as the old retraction of 5.2 mm"),
        ("end", "M84\\nMOVE Z255", "Z of 255 is beyond the new limit of 249 mm"),
        ("end", "M84\\nPULL_BACK retraction=5", "retraction of 5 is about as long as the old retraction of 5.2 mm"),
    ],
)  # fmt: skip
def test_a_call_with_an_old_length_is_told(tmp_path: Path, occasion: str, lines: str, said: str) -> None:
    (found,) = told(tmp_path, occasion, lines)
    assert said in found
    assert found.startswith(lines.rpartition("\\n")[2])


@pytest.mark.parametrize(
    ("occasion", "lines"),
    [
        ("load", "M83\\ntake_in far 60 at 20"),
        ("start", "G28\\nflatten the bed, height 510"),
        ("load", "M83\\nG4 P500 ; far 500"),
        ("end", "M84\\nstand by at x 5"),
        ("end", "M84\\nWAIT Z312"),
    ],
)
def test_another_number_is_none_of_its_business(tmp_path: Path, occasion: str, lines: str) -> None:
    assert not told(tmp_path, occasion, lines)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('Q40 "paper 5"', ""),  # a text for the panel, of no letter
        ("Q40 R E5", "this call's"),
        ('Q40 "reel 500"', "this call's 500 is about as long as the old path"),
    ],
)
def test_a_number_in_a_text_that_a_script_shows_is_no_pull(tmp_path: Path, line: str, said: str) -> None:
    (tmp_path / "machine.txt").write_text(MACHINE.format("end", "M84"))
    (tmp_path / "quits.mv").write_text(f"K4 V180\nK-7 V900\n{line}\n")
    (tmp_path / "cfgmigrate.yaml").write_text(
        'site: 1\nroles: {"quits.mv": in force}\nmoves: {"quits.mv K": filament in}\n'
    )
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare([tmp_path], tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    found = [doubt.why for doubt in plan.doubts if "this call's" in doubt.why]
    assert bool(found) is bool(said) and all(said in each and "  " not in each for each in found)
