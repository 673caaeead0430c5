"""What nobody's words say at a filament, near the machine's retraction by its number, is asked about."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.roles import FileSet
from cfgmigrate.machine.recognise import recognise

_MACHINE = "#define RETRACT_LENGTH 6.4\n#define BELT_STEPS_PER_MM 80\n"


def _asked(lines: str) -> set[int]:
    documents = [read("tern.h", _MACHINE.encode(), "header"), read("reels.txt", lines.encode(), "sectioned")]
    machine = recognise(documents, roles=FileSet({}))
    return {each.place.line for each in machine.doubts if each.about == "retraction.length"}


def test_one_filament_alone_is_asked_about() -> None:
    assert _asked("[PLA plain]\nwarmth = 207\nruckle = 6.1\nruckle_haste = 38\n") == {3}


def test_so_is_another_filament_whose_number_is_far_off() -> None:
    assert _asked("[PLA plain]\nruckle = 6.1\n[TPU]\nruckle = 2.2\n") == {2, 4}


def test_so_is_each_filament_of_a_prints_file() -> None:
    assert _asked("[PLA plain]\nruckle = 6.1\n[PETG]\nruckle = 7.2\nbrim = 0\ninfill_shape = wavy\n") == {
        2,
        4,
    }


@pytest.mark.parametrize(
    "line",
    [
        "ruckle = 40",
        "ruckle = 0.25",
        "ruckle = 6.1 s",
        "ruckle_mm_per_s = 6.1",
        "fan_ruckle = 6.1",
        "layers = 6",
        "seconds = 6",
        "r = 6",
    ],
)
def test_another_number_or_another_measure_is_not(line: str) -> None:
    assert not _asked(f"[PLA plain]\n{line}\n")


def test_a_strange_line_of_no_filament_is_not() -> None:
    assert not _asked("[lantern]\nruckle = 6.1\n")
