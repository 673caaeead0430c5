"""A question about a section beside the one of this machine's name says that it may be another machine's."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.machine.recognise import recognise

SHARED = (
    "[all]\ntemperature = 207\nretraction = 5.1\n[siskin]\nretraction = 4.9\n[dunlin]\nretraction = 6.3\n"
)


def remedies(folder: Path, name: str) -> dict[int, str]:
    (folder / "siskin").mkdir()
    (folder / "siskin" / "body.h").write_text(
        f'#define MACHINE_NAME "{name}"\n#define FEEDER_STEPS_MM 318.4\n'
    )
    (folder / "siskin" / "pla.conf").write_text(SHARED)
    doubts = recognise(open_configuration([folder / "siskin"])).doubts
    return {each.place.line: each.remedy for each in doubts if each.place.file.endswith("pla.conf")}


def test_a_neighbour_s_section_is_left_before_it_is_named(tmp_path: Path) -> None:
    asked = remedies(tmp_path, "Siskin")
    assert asked[7].startswith(
        "[siskin] beside it is this machine's by its name: if [dunlin] is another machine's, say ignore"
    )
    assert "another machine's" not in asked[5]


def test_without_a_section_of_this_machine_s_name_nothing_is_known_of_the_others(tmp_path: Path) -> None:
    asked = remedies(tmp_path, "Plover")
    assert asked and not any("another machine's" in each for each in asked.values())
