"""A sheet or a profile of another machine than the files' is asked about, and nothing is installed meanwhile."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.ground.findings import Refused
from cfgmigrate.workflow.tune import work_out_tuning

FEED = "[feeder]\nmm per turn = 21.4\ngear ratio = 3:1\n[retraction]\nlength = 5.5\n"
NAME = "[machine]\nname = Plover\n"
TRAYS = "[profile]\nname = trays\nfor machine = {name}\n[print]\nlayer height = 0.2\nwalls = 3\n[retraction]\nlength = 5.8\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new:
  drive: on the carriage
  drive_gear: {effective_diameter: 8 mm, gear_ratio: "50:9"}
  tube: {length: 40 mm}
"""


def prepared(folder: Path, sheet: str, files: dict[str, str], root: str = "config"):
    for path, text in files.items():
        (folder / root / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / root / path).write_text(text)
    (folder / "swap.yaml").write_text(f"machine: {sheet}\n{SHEET}" if sheet else SHEET)
    return api.prepare(folder / root, folder / "swap.yaml", out=folder / "packet")


def asked(plan) -> dict[str, str]:
    return {each.holder: each.why for each in plan.lights if each.light == "machine"}


def test_a_sheet_of_another_machine_is_asked_about(tmp_path: Path) -> None:
    packet = prepared(tmp_path, "Dotterel", {"a.conf": FEED + NAME})
    why = "the files call the machine Plover, and the sheet is for Dotterel"
    assert asked(packet.plan) == {"machine": f"{why} (a.conf:7)"}
    assert [(each.place.line, each.why) for each in packet.plan.doubts if each.text == "Plover"] == [(7, why)]
    with pytest.raises(Refused, match="the sheet is for Dotterel"):
        api.install(packet.folder)
    assert not api.verify(packet.folder)


@pytest.mark.parametrize(
    ("sheet", "root"),
    [("Plover", "config"), ("plover in the shed", "config"), ("", "config"), ("Attic", "attic")],
)
def test_the_machines_own_sheet_is_not(tmp_path: Path, sheet: str, root: str) -> None:
    assert asked(prepared(tmp_path, sheet, {"a.conf": FEED + NAME}, root).plan) == {}


def test_files_that_give_no_name_ask_nothing(tmp_path: Path) -> None:
    assert asked(prepared(tmp_path, "Plover", {"a.conf": FEED}).plan) == {}


@pytest.mark.parametrize(("sheet", "name"), [("Plover", ""), ("", NAME), ("Plover", NAME)])
def test_a_profile_for_another_machine_is_asked_about(tmp_path: Path, sheet: str, name: str) -> None:
    files = {"a.conf": FEED + name, "prints/trays.conf": TRAYS.format(name="Dotterel")}
    packet = prepared(tmp_path, sheet, files)
    ((holder, why),) = asked(packet.plan).items()
    assert holder == "print trays"
    assert why == "this profile is for Dotterel, and the machine is Plover (prints/trays.conf:3)"
    with pytest.raises(Refused, match="this profile is for Dotterel"):
        api.install(packet.folder)


def test_the_name_of_the_folder_helps_no_profile_where_the_sheet_has_another(tmp_path: Path) -> None:
    files = {"a.conf": FEED, "prints/trays.conf": TRAYS.format(name="Dotterel")}
    packet = prepared(tmp_path, "Plover", files, "dotterel")
    assert list(asked(packet.plan)) == ["print trays"]


def test_a_profile_for_this_machine_is_not(tmp_path: Path) -> None:
    files = {"a.conf": FEED, "prints/trays.conf": TRAYS.format(name="Dotterel; Plover")}
    assert asked(prepared(tmp_path, "Plover", files).plan) == {}


def test_where_profiles_alone_name_machines_the_odd_one_is_asked_about(tmp_path: Path) -> None:
    names = ("Plover", "Plover", "Dotterel")
    files = {
        f"prints/{n}.conf": TRAYS.format(name=name).replace("trays", f"trays {n}")
        for n, name in enumerate(names)
    }
    assert list(asked(prepared(tmp_path, "", {"a.conf": FEED, **files}).plan)) == ["print trays 2"]


def test_what_the_site_file_says_to_be_a_profile_is_one(tmp_path: Path) -> None:
    site = "site: 1\nroles: {prints/trays.conf: profile}\n"
    files = {"a.conf": FEED, "prints/trays.conf": TRAYS.format(name="Dotterel"), "cfgmigrate.yaml": site}
    packet = prepared(tmp_path, "Plover", files)
    assert asked(packet.plan) == {}
    assert any(change.holder == "print trays" for change in packet.plan.changes)
    assert not api.verify(packet.folder)


@pytest.mark.parametrize(("own", "followed"), [("Dotterel", "Plover"), ("Plover", "Dotterel")])
def test_a_measured_sheet_of_another_machine_or_one_that_follows_such_is_asked_about(
    tmp_path: Path, own: str, followed: str
) -> None:
    root = tmp_path / "config"
    root.mkdir()
    (root / "a.conf").write_text(FEED + NAME)
    (tmp_path / "swap.yaml").write_text(f"machine: {followed}\n{SHEET}")
    (tmp_path / "m.yaml").write_text(
        f"sheet: swap.yaml\nmachine: {own}\nmeasured: {{retraction: {{best: 0.6 mm}}}}\n"
    )
    plan = work_out_tuning(root, tmp_path / "m.yaml").plan
    assert asked(plan) == {
        "machine": "the files call the machine Plover, and the sheet is for Dotterel (a.conf:7)"
    }
    assert any("the sheet is for Dotterel" in doubt.why for doubt in plan.doubts)


@pytest.mark.parametrize("called", ["Wren", "Dotterel"])
def test_a_trial_by_the_sheet_of_another_machine_says_so_first(tmp_path: Path, called: str) -> None:
    (tmp_path / "swap.yaml").write_text(f"machine: {called}\n")
    facts = dict(
        api.trial(
            "clearance", data_folder("sample_configs") / "wren", sheet=tmp_path / "swap.yaml"
        ).written.facts
    )
    assert ("the sheet is for Dotterel" in facts.get("look first", "")) is (called == "Dotterel")
