"""The third number of a probe's list is a height only where something says what it is counted from."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.machine.heights_in_lists import _WHY
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.recognise import recognise


def machine(text: str, meanings: str = "") -> Machine:
    site = parse_site(f"site: 1\nmeanings: {{{meanings}}}\n".encode(), "cfgmigrate.yaml")
    return recognise([read("m.yaml", text.encode(), "nested")], names_said(None, site))


def held(found: Machine) -> bool:
    return any(each.why == _WHY and each.about == "probe.offset_z" for each in found.doubts)


@pytest.mark.parametrize("third", ["1.9", "0.8"])
@pytest.mark.parametrize("remark", ["", "  # x, y, z in mm", "  # the finger right of the nozzle"])
def test_without_a_word_of_it_the_third_number_is_asked_and_the_others_are_read(
    third: str, remark: str
) -> None:
    found = machine(f"feeler:\n  offset: [-21.3, 4, {third}]{remark}\n  speed: 5\n")
    assert held(found)
    values = {each.quantity: each.value for each in found.readings if each.quantity.startswith("probe.off")}
    assert values == {"probe.offset_x": -21.3, "probe.offset_y": 4.0}


@pytest.mark.parametrize(
    "text",
    [
        "feeler:\n  offset: [-21.3, 4, 1.9]  # z: the height of the nozzle when it acts\n",
        "feeler:\n  offset: [-21.3, 4, -1.9]\n",
        "feeler:\n  offset: [-21.3, 4, -1.9]  # seen from the nozzle\n",
        "feeler:\n  offset x: -21.3\n  offset y: 4\n  offset z: 1.9\n",
        "feeler:\n  offset: [-21.3, 4]\n  offset z: -1.9\n",
    ],
)
def test_where_a_remark_says_it_or_the_height_has_a_line_of_its_own_it_is_read(text: str) -> None:
    found = machine(text)
    assert not held(found) and found.get("probe.offset_z") is not None


def test_a_remark_of_the_other_sense_than_the_sign_says_nothing() -> None:
    assert held(machine("feeler:\n  offset: [-21.3, 4, 1.9]  # seen from the nozzle\n"))


def test_what_a_person_says_of_the_list_stays() -> None:
    meanings = '"[feeler] offset": [probe.offset_x, probe.offset_y, probe.offset_z]'
    found = machine("feeler:\n  offset: [-21.3, 4, 1.9]\n", meanings)
    assert not held(found) and found.get("probe.offset_z") is not None


def test_the_light_of_the_height_is_unknown_and_the_line_is_asked_about(tmp_path: Path) -> None:
    (tmp_path / "m").mkdir()
    text = "x:\n  steps_per_mm: 80\n  max: 220\ny:\n  steps_per_mm: 80\nz:\n  steps_per_mm: 400\n  max: 400\n"
    (tmp_path / "m" / "m.yaml").write_text(text + "feeler:\n  offset: [-21.3, 4, 1.9]\n")
    sheet = "old: {drive: tube-fed}\nnew: {drive: on the carriage}\ncarriage: {nozzle_shift: {x: 1 mm, y: 0 mm, z: -1.2 mm}, "
    (tmp_path / "s.yaml").write_text(sheet + "probe_shift: {x: 0 mm, y: 0 mm, z: 0 mm}, z_stop: probe}\n")
    plan = api.prepare(tmp_path / "m", tmp_path / "s.yaml", out=tmp_path / "p", browsed=False).plan
    assert not [each for each in plan.changes if each.quantity == "probe.offset_z"]
    assert [each.state for each in plan.lights if each.light == "height"] == ["unknown"]
    assert any(each.why == _WHY and each.place.line == 10 for each in plan.doubts)
