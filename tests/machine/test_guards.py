"""What watches over a hot part is protected, however few of its words say so, and no names file makes it anything else."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects.flat import read
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise


def machine_with(folder: Path, key: str, meaning: str):
    (folder / "names.yaml").write_text(f"{key}: {meaning}\n")
    return recognise([read("a.txt", f"{key} = 28\n".encode())], read_names(folder / "names.yaml"))


@pytest.mark.parametrize(
    "key", ["guard.nozzle.within", "bed.guard.strays", "watch hot end for", "supervised.tip.span", "safeguard_bed_k"]
)  # fmt: skip
def test_a_guard_of_a_hot_part_is_never_written(tmp_path: Path, key: str) -> None:
    machine = machine_with(tmp_path, key, "feeder.feed_per_turn")
    assert machine.get("feeder.feed_per_turn") is None
    assert any("protected by its own words" in doubt.why for doubt in machine.doubts)


def test_a_guard_of_something_else_is_what_a_names_file_says(tmp_path: Path) -> None:
    machine = machine_with(tmp_path, "spool guard reach", "runout.distance")
    assert machine.get("runout.distance").value == 28


@pytest.mark.parametrize(
    "name",
    ["feeder.filament_switch.filament_after_switch_mm", "filament_switch.length_after_switch_mm", "feeders.filament_switch.length_left_after_switch_mm"],
)  # fmt: skip
def test_what_the_section_calls_by_two_words_the_key_may_call_by_one(name: str) -> None:
    machine = recognise([read("a.txt", f"{name} = 702\n".encode())])
    assert machine.get("runout.distance").value == 702


@pytest.mark.parametrize("name", ["filament switch.x switch mm", "end switch.filament after switch mm"])
def test_a_further_thing_beside_it_stays_another(name: str) -> None:
    assert recognise([read("a.txt", f"{name} = 702\n".encode())]).get("runout.distance") is None
