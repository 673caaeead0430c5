"""That each profile sets a value for itself is said of the machine only while each one that runs here is known to."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.plan.lights import UNAFFECTED, UNKNOWN
from cfgmigrate.plan.model import Light
from cfgmigrate.workflow.prepare import work_out

FRAME = '#define MACHINE_NAME "Siskin"\n#define FEEDER_STEPS_MM 318.4\n'
SHEET = "values: old\nold: {drive: tube-fed}\nnew: {drive: on the carriage, tube: {length: 22 mm}}\n"
ASH = "[all]\ntemperature = 208\nretraction = 4.8\n"
BIRCH = "[all]\ntemperature = 236\nretraction = 2.9\nretraction speed = 17\n"


def retraction(folder: Path, files: dict[str, str], names: str = "") -> Light:
    (folder / "siskin").mkdir()
    for name, text in {"siskin.h": FRAME, **files}.items():
        (folder / "siskin" / name).write_text(text)
    (folder / "names.yaml").write_text(names)
    (folder / "sheet.yaml").write_text(SHEET)
    said = folder / "names.yaml" if names else None
    plan = work_out([folder / "siskin"], folder / "sheet.yaml", names=said).plan
    return next(each for each in plan.lights if each.name == "retraction")


def test_a_line_said_to_be_nothing_in_a_profile_of_its_own_stays_old_and_the_light_says_so(
    tmp_path: Path,
) -> None:
    light = retraction(
        tmp_path, {"pla.conf": ASH, "gum.conf": BIRCH}, '"gum.conf [all] retraction": ignore\n'
    )
    assert light.state == UNKNOWN and "gum.conf:3 ([all] retraction = 2.9)" in light.why
    assert "retraction speed" not in light.why and light.missing


@pytest.mark.parametrize("lacking", ["", "flow = 97\n"])
def test_a_filament_that_sets_none_beside_others_that_do_is_named(tmp_path: Path, lacking: str) -> None:
    stuff = "[filament ash]\ntemperature = 208\nfan = 90\nretraction = 4.8\n[filament birch]\ntemperature = 231\nfan = 40\n"
    light = retraction(tmp_path, {"stuff.conf": stuff + (lacking or "retraction = 2.9\n")})
    assert light.state == (UNKNOWN if lacking else UNAFFECTED)
    assert ("filament birch has none" in light.why) is bool(lacking)


FRESH = "[all]\ntemperature = 214\nfan = 80\n"


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("pla ash.conf", "[all]\nbased on = pla\ntemperature = 214\n"),
        ("pla ash.conf", "[all]\ninherits = pla.conf\ntemperature = 214\n"),
        ("pla ash.json", '{"parent": "pla", "temperature": 214}\n'),
        ("pla ash.conf", "[all]\nbased on = petg\ntemperature = 214\n"),
    ],
)
def test_a_filament_that_inherits_another_one_s_is_no_gap(tmp_path: Path, file: str, text: str) -> None:
    middle = "[all]\nbuilds on = pla\ntemperature = 236\n"
    light = retraction(tmp_path, {"pla.conf": ASH, "petg.conf": middle, "asa.conf": BIRCH, file: text})
    assert light.state == UNAFFECTED, light.why


@pytest.mark.parametrize(
    "text",
    [
        "[all]\nbased on = house pla\ntemperature = 214\n",
        "[all]\nbased on = petg\ntemperature = 214\n",
        "[all]\nbought from = pla\ntemperature = 214\n",
        "[all]\ncolour = pla\ntemperature = 214\n",
        "[all]\n# based on = pla\ntemperature = 214\nfan = 60\nflow = 97\n",
        "[all]\nbased on = pla ash\ntemperature = 214\n",
    ],
)
def test_one_that_inherits_from_nobody_here_who_has_it_is_named(tmp_path: Path, text: str) -> None:
    light = retraction(
        tmp_path, {"pla.conf": ASH, "asa.conf": BIRCH, "petg.conf": FRESH, "pla ash.conf": text}
    )
    assert light.state == UNKNOWN and "filament pla ash has none" in light.why, light.why


def test_of_several_in_one_file_each_inherits_by_a_line_of_its_own(tmp_path: Path) -> None:
    stuff = "[filament ash]\ntemperature = 208\nfan = 90\nretraction = 4.8\n[filament birch]\ntemperature = 231\nfan = 40\n{}[filament alder]\nbased on = ash\ntemperature = 225\nretraction = 3\n"
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    assert retraction(tmp_path / "a", {"stuff.conf": stuff.format("based on = ash\n")}).state == UNAFFECTED
    assert "filament birch has none" in retraction(tmp_path / "b", {"stuff.conf": stuff.format("")}).why
