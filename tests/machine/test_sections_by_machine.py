"""A question about a section beside the one of this machine's name says that it may be another machine's."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.precedence import TO_KNOW
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


def read(folder: Path, memory: str, name: str = "Siskin", site: str = "") -> Machine:
    (folder / "body.h").write_text(f'#define NAME_OF_MACHINE "{name}"\n#define FEEDER_STEPS_MM 318.4\n')
    (folder / "kept.ini").write_text(memory)
    if site:
        (folder / "cfgmigrate.yaml").write_text(site)
    configuration = open_configuration([folder])
    return recognise(configuration, names_said(None, configuration.site))


TWO = "[siskin]\nz switch at = 0.45\n[dunlin]\nz switch at = 2.2\n"


def test_where_the_neighbour_s_switch_acts_is_nothing_of_this_machine(tmp_path: Path) -> None:
    machine = read(tmp_path, TWO)
    found = machine.get("end_stop.z")
    assert found is not None and found.value == 0.45
    (told,) = (each for each in machine.doubts if each.place.line == 4)
    assert "[dunlin] is taken for another machine's" in told.why and told.remedy in TO_KNOW
    assert not any(each.text == "2.2" for each in machine.every_reading)


def test_a_switch_that_only_the_neighbour_s_section_has_is_asked_for(tmp_path: Path) -> None:
    machine = read(tmp_path, "[siskin]\nz ramp = 3\n[dunlin]\nz switch at = 2.2\n")
    assert machine.get("end_stop.z") is None
    (asked,) = (each for each in machine.doubts if each.place.line == 4)
    assert asked.about == "end_stop.z" and asked.remedy not in TO_KNOW
    assert asked.remedy.count("if [dunlin] is another machine's, say ignore") == 1


def test_of_two_sections_that_nobody_s_name_explains_neither_switch_is_taken(tmp_path: Path) -> None:
    machine = read(tmp_path, TWO, name="Plover")
    assert machine.get("end_stop.z") is None
    assert any("which one holds is not clear" in each.why for each in machine.doubts)


def test_a_section_with_a_word_of_the_trade_is_this_machine_s(tmp_path: Path) -> None:
    machine = read(tmp_path, "[siskin]\nz ramp = 3\n[z axis]\nz switch at = 0.45\n")
    found = machine.get("end_stop.z")
    assert found is not None and found.value == 0.45


def test_the_same_switch_in_two_sections_is_one(tmp_path: Path) -> None:
    machine = read(tmp_path, TWO.replace("2.2", "0.45"), name="Plover")
    found = machine.get("end_stop.z")
    assert found is not None and found.value == 0.45


@pytest.mark.parametrize("name", ["Siskin", "Plover"])
def test_that_the_neighbour_s_switch_is_nothing_is_an_answer(tmp_path: Path, name: str) -> None:
    site = 'site: 1\nmeanings: {"[dunlin] z switch at": ignore}\n'
    machine = read(tmp_path, TWO, name, site)
    found = machine.get("end_stop.z")
    assert found is not None and found.value == 0.45
    assert not any(each.text == "2.2" for each in machine.every_reading)
    assert not any(each.place.file.endswith((".yaml", ".ini")) for each in machine.doubts)


def test_of_a_neighbour_s_section_what_guards_heat_may_be_nothing_here_too(tmp_path: Path) -> None:
    memory = "[siskin]\nz ramp = 3\n[dunlin]\nhotend max temperature = 285\n"
    asked = read(tmp_path, memory).doubts
    assert any("say ignore" in each.remedy for each in asked)
    site = 'site: 1\nmeanings: {"[dunlin] hotend max temperature": ignore}\n'
    assert not any(
        "protected by its own words" in each.why for each in read(tmp_path, memory, site=site).doubts
    )


def test_the_only_guard_of_this_machine_s_heat_stays_protected(tmp_path: Path) -> None:
    memory = "[hotend]\nmax temperature = 285\n"
    site = 'site: 1\nmeanings: {"[hotend] max temperature": ignore}\n'
    machine = read(tmp_path, memory, site=site)
    assert any("protected by its own words" in each.why for each in machine.doubts)
    assert any(each.text == "285" for each in machine.every_reading)
