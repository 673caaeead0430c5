"""A machine of another kind that stands in the list of printers gets no packet unless somebody says that it is one."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.ground.findings import Refused
from cfgmigrate.plan.other_kind import is_other_kind

#: a plotter of sheet foam: motors, a feed, a current, and nothing that has to do with filament
FOAM = """\
width_of_bench 610
depth_of_bench 420
left_post_steps_mm 310
right_post_steps_mm 310
left_post_max 280
right_post_max 280
blade_length 655
blade_amps 2.2
feed_max 14
feed_acc 55
feed_slow 4
park_x 0
park_y 310
hours 388
"""
SHEET = """\
old: {drive: tube-fed}
new:
  drive: on the carriage
  steps_per_mm: 426.7 1/mm
  microsteps: 16
  motor: {rated_current: 0.8 A, step_angle: 1.8 deg}
carriage: {old_mass: 285 g, new_mass: 443 g}
"""


def prepared(folder: Path, text: str, **more: list[str]) -> Path:
    (folder / "foam").mkdir()
    (folder / "foam" / "bench.txt").write_text(text)
    (folder / "swap.yaml").write_text(SHEET)
    return api.prepare(folder / "foam", folder / "swap.yaml", out=folder / "packet", **more).folder  # type: ignore[arg-type]


def test_what_has_no_drive_no_hot_end_and_no_z_is_refused_and_told_how_to_answer(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="does not look like a filament printer") as refused:
        prepared(tmp_path, FOAM)
    assert "--machine bench.txt" in str(refused.value) and not (tmp_path / "packet").exists()


def test_who_says_that_it_is_one_is_believed(tmp_path: Path) -> None:
    assert prepared(tmp_path, FOAM, machine=["bench.txt"]).is_dir()


@pytest.mark.parametrize(
    "line",
    [
        "z_max 180",
        "nozzle_top 265",
        "tip_heat 240",
        "extruder_amps 0.9",
        "filament_end 500",
        "retract_mm 5",
        "lag_ms 500",
    ],
)
def test_one_line_of_drive_hot_end_or_z_makes_it_a_printer(line: str, tmp_path: Path) -> None:
    assert prepared(tmp_path, f"{FOAM}{line}\n").is_dir()


def test_a_few_lines_and_keys_that_are_no_words_tell_nothing(tmp_path: Path) -> None:
    few = "".join(f"{line}\n" for line in FOAM.splitlines()[:5])
    numbers = "".join(f"N{number}={number}\n" for number in range(40))
    for text in (few, numbers):
        (tmp_path / "part.txt").write_text(text)
        assert not is_other_kind(api.survey(tmp_path / "part.txt").machine)


def test_a_way_back_is_every_machine_s(tmp_path: Path) -> None:
    (tmp_path / "bench.txt").write_text(f"{FOAM}return_pace 40\n")
    assert is_other_kind(api.survey(tmp_path / "bench.txt").machine)
