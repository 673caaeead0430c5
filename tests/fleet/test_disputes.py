"""Packets of several machines that do not agree on a line of a file that they share: none writes it, each asks."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.apply.disputed_lines import same_number
from cfgmigrate.apply.stopped_fleet import say_not_compared
from cfgmigrate.fleet import run
from cfgmigrate.fleet.job import Job
from cfgmigrate.fleet.run import prepare_fleet
from cfgmigrate.ground.findings import Refused
from cfgmigrate.plan.model import Plan

HOUSE = "# common to heron and teal\n[tug]\ntop feed speed = 66 mm/s\n"
OWN = """[who]
rules = ../common/house.txt

[tug]
retraction length = 5.6 mm

[feeder]
feed per turn = 21.4 mm
full steps = 200
microsteps = 16
"""
SHEET = """machine: hall
old:
  drive: tube-fed
  drive_gear: {external_meshes: 1}
  tube: {length: 410 mm, bore: 1.9 mm, bend: 170 deg}
new:
  drive: on the carriage
  tube: {length: 38 mm, bore: 1.9 mm, bend: 20 deg}
  drive_gear: {effective_diameter: 7.8 ± 0.05 mm, gear_ratio: "49:8", external_meshes: 1}
  motor: {step_angle: 0.9 deg, rated_current: 0.8 A}
  recommended_feed_speed: %s mm/s
filament: {material: PLA, diameter: 1.75 mm}
"""
SITE = (
    "site: 1\nroles: {common/house.txt: in force, %s: other machine}\n"
    'shared: {common/house.txt: swapped together}\nmeanings: {"[tug] top feed speed": feeder.max_speed}\n'
)
LINE = "common/house.txt:3"


@pytest.fixture
def hall(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    files = {"common/house.txt": HOUSE, "heron/heron.txt": OWN, "teal/teal.txt": OWN}
    for path, text in files.items():
        (tmp_path / "hall" / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "hall" / path).write_text(text)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "hall" / "cfgmigrate.yaml").write_text(SITE % "none.txt")
    return tmp_path / "hall"


def fleet(heron: float, teal: float) -> dict[str, Plan]:
    Path("hall.yaml").write_text(SHEET % heron, encoding="utf-8")
    machines = "".join(
        f"  {name}:\n    config: [hall/common/house.txt, hall/{name}/{name}.txt]\n"
        f"    differs: {{new: {{recommended_feed_speed: {speed} mm/s}}}}\n"
        for name, speed in {"heron": heron, "teal": teal}.items()
    )
    Path("fleet.yaml").write_text(f"sheet: hall.yaml\nmachines:\n{machines}")
    found = prepare_fleet("fleet.yaml", "out", workers=1)
    assert found.whole, [record.error for record in found.records]
    for name in ("heron", "teal"):
        assert not [each for each in api.verify(f"out/{name}") if "recorded" in each or "comes to" in each]
    return {name: api.open_packet(Path("out", name)).plan for name in ("heron", "teal")}


def written(plan: Plan) -> dict[str, str]:
    return {f"{edit.file}:{edit.line}": edit.new for change in plan.changes for edit in change.edits}


def asked_at(plan: Plan) -> list[str]:
    return [each.why for each in plan.doubts if f"{each.place.file}:{each.place.line}" == LINE]


def asked(plan: Plan) -> list[str]:
    return [each.why for each in plan.doubts if "would win" in each.why]


def test_a_line_that_two_packets_would_write_otherwise_is_asked_by_both_and_written_by_none(
    hall: Path,
) -> None:
    plans = fleet(37, 30)
    for name, own, other, theirs in (("heron", "37", "teal", "30"), ("teal", "30", "heron", "37")):
        assert LINE not in written(plans[name]) and "heron/heron.txt:5" in written(plans["heron"])
        (why,) = asked(plans[name])
        assert f"would write {own} here" in why and f"{other} has {theirs}" in why
        assert any("another machine" in each.why and "37" in each.why for each in plans["heron"].left_alone)


def test_a_line_on_which_both_say_the_same_is_written_by_both(hall: Path) -> None:
    plans = fleet(30, 30)
    assert [written(plan)[LINE] for plan in plans.values()] == ["30", "30"]
    assert not any(map(asked, plans.values()))


def test_a_line_that_is_right_already_for_another_machine_is_asked_and_stays(hall: Path) -> None:
    plans = fleet(37, 66)
    for plan in plans.values():
        assert LINE not in written(plan)
    (why,) = asked(plans["heron"])
    assert "would write 37 here" in why and "teal has 66" in why
    assert not asked(plans["teal"])
    again = prepare_fleet("fleet.yaml", "out", workers=1)
    assert all(record.standing for record in again.records)


def test_the_same_run_again_works_nothing_out_anew_and_one_that_agrees_takes_the_question_back(
    hall: Path,
) -> None:
    fleet(37, 30)
    again = prepare_fleet("fleet.yaml", "out", workers=1)
    assert all(record.standing for record in again.records)
    assert all(LINE in written(plan) for plan in fleet(30, 30).values())


def test_what_another_machine_s_install_wrote_is_not_overwritten_by_the_next_one(hall: Path) -> None:
    for name, speed in {"heron": 37, "teal": 30}.items():
        Path(f"{name}.yaml").write_text((SHEET % speed).replace("hall", name), encoding="utf-8")
    paths = {name: ["hall/common/house.txt", f"hall/{name}/{name}.txt"] for name in ("heron", "teal")}
    first = api.prepare(paths["heron"], "heron.yaml", out="first")
    assert written(first.plan)[LINE] == "37"
    lights = [light.name for light in first.plan.lights if light.state == "unknown"]
    api.install("first", accept_unknown=lights)
    second = api.prepare(paths["teal"], "teal.yaml", out="second").plan
    assert LINE not in written(second) and "teal/teal.txt:5" in written(second)
    (why,) = asked(second)
    assert "heron has 37 here" in why
    # the machine's own install is no other one's
    own = api.prepare(paths["heron"], "heron.yaml", out="own").plan
    assert not asked(own)


def test_what_one_packet_keeps_as_right_is_not_written_over_by_the_other(hall: Path) -> None:
    """Heron's 30 stands there already; teal's packet would raise it to 37."""
    (hall / "common" / "house.txt").write_text(HOUSE.replace("66", "30"))
    plans = fleet(30, 37)
    assert all(LINE not in written(plan) for plan in plans.values())
    (keeps,), (would,) = asked_at(plans["heron"]), asked_at(plans["teal"])
    assert "30 is right here as it stands" in keeps and "teal has 37" in keeps
    assert "would write 37 here" in would and "heron has 30" in would
    again = prepare_fleet("fleet.yaml", "out", workers=1)
    assert all(record.standing for record in again.records)
    # where it is right for both, nothing is asked
    assert not any(map(asked_at, fleet(30, 30).values()))


def test_a_light_is_not_set_whose_line_is_in_dispute(hall: Path) -> None:
    lights = {each.light: each for each in fleet(37, 30)["heron"].lights}
    assert lights["feed"].state == "unknown" and "max_speed" in lights["feed"].why
    assert lights["retraction"].state == "set"


def test_a_packet_of_a_run_that_stopped_before_they_were_compared_is_not_installed(
    hall: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> list[Job]:
        raise KeyboardInterrupt

    monkeypatch.setattr(run, "to_prepare_again", stopped)
    with pytest.raises(KeyboardInterrupt):
        fleet(37, 30)
    assert written(api.open_packet(Path("out", "heron")).plan)[LINE] == "37"
    with pytest.raises(Refused, match="was stopped before it was compared"):
        api.install("out/heron", accept_unknown=[])
    monkeypatch.undo()
    monkeypatch.chdir(hall.parent)
    plan = fleet(37, 30)["heron"]
    assert LINE not in written(plan)
    api.install("out/heron", accept_unknown=[each.name for each in plan.lights if each.state == "unknown"])


def test_of_a_run_that_ended_early_only_those_that_do_not_agree_wait(hall: Path) -> None:
    fleet(37, 30)
    say_not_compared(Path("out"), {"teal"})
    for name, waits in {"heron": False, "teal": True}.items():
        packet = api.open_packet(Path("out", name))
        lights = [each.name for each in packet.plan.lights if each.state == "unknown"]
        if waits:
            with pytest.raises(Refused, match="compared"):
                api.install(Path("out", name), accept_unknown=lights)
        else:
            api.install(Path("out", name), accept_unknown=lights)


def test_texts_of_one_number_agree() -> None:
    assert same_number("0", "0.0") and same_number("1,5", "1.5")
    assert not same_number("37", "30") and not same_number("16", "")
