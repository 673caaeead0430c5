"""After the swap on a machine with several feeders or filaments: measurements, scripts and hints name what they mean."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from commandline import Runner

TWO = """[axis x]
lowest point = 0
highest spot = 250
[axis y]
lowest point = 0
highest spot = 220
[axis z]
lowest point = 0
highest spot = 240
[feeder]
turn length = 4.71
max speed = 60
[feeder 2]
turn length = 4.83
max speed = 60
[retraction]
length = 0.6
[retraction 2]
length = 0.8
[nozzle]
diameter = 0.4
[filament]
diameter = 1.75
[heater nozzle]
max temperature = 280
[heater bed]
max temperature = 110
"""
TOOLS = """[routine start]
lines = G28
    T0
    M109 S215
    M190 S60
[routine end]
lines = T1
    M104 S0
    T0
"""
FILAMENTS = """[filament pla]
material = PLA
nozzle = 210
retraction length = 0.6
[filament petg]
material = PETG
nozzle = 235
retraction length = 0.9
"""
FEED = "feed: {at_feed_per_turn: 4.83 mm, asked: 100 mm, moved: [98 mm, 98 mm, 98 mm], reading_error: 0.2 mm}"
TOWER = "retraction: {start: 0 mm, step: 0.1 mm, best_band: 6, bands: 9}"


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "config").mkdir()
    return tmp_path


def write(text: str, measured: str = "") -> None:
    Path("config/machine.conf").write_text(text)
    Path("measured.yaml").write_text(measured)


def changes(packet: str) -> dict[tuple[str, str], str]:
    found = json.loads(Path(packet, "changes.json").read_bytes())["changes"]
    return {(change["quantity"], change["holder"]): change["new"]["text"] for change in found}


def tuned(cli: Runner, packet: str) -> dict[tuple[str, str], str]:
    said = cli("tune", "config", "--measured", "measured.yaml", "-o", packet)
    assert said.status == 0, said.err
    assert cli("verify", packet).status == 0
    return changes(packet)


def test_what_was_measured_at_one_feeder_changes_that_one_alone(cli: Runner, desk: Path) -> None:
    write(TWO, f"of: {{feeder: 2}}\nmeasured:\n  {FEED}\n  {TOWER}\n")
    assert tuned(cli, "second") == {
        ("feeder.feed_per_turn", "feeder 2"): "4.733",  # 4.83 · 98/100 = 4.7334
        ("retraction.length", "feeder 2"): "0.5",
    }


def test_a_measurement_that_names_no_feeder_is_asked_about(cli: Runner, desk: Path) -> None:
    write(TWO, f"measured:\n  {FEED}\n")
    said = cli("tune", "config", "--measured", "measured.yaml", "-o", "packet")
    assert said.status == 3 and "of: {feeder: 1}" in said.err and not Path("packet").exists()
    write(TWO, f"of: {{feeder: 3}}\nmeasured:\n  {FEED}\n")
    assert cli("tune", "config", "--measured", "measured.yaml", "-o", "packet").status == 2


def test_a_tower_of_one_filament_changes_that_filament_alone(cli: Runner, desk: Path) -> None:
    feeder = "[feeder]\nturn length = 4.83\n"
    write(feeder + FILAMENTS, f"of: {{filament: PETG}}\nmeasured:\n  {TOWER}\n  {FEED}\n")
    assert tuned(cli, "petg") == {("retraction.length", "filament petg"): "0.5"}
    write(feeder + FILAMENTS, f"measured:\n  {TOWER}\n  {FEED}\n")
    assert tuned(cli, "shared") == {("feeder.feed_per_turn", "machine"): "4.733"}
    doubts = json.loads(Path("shared/changes.json").read_bytes())["doubts"]
    assert any("of: {filament: pla}" in doubt["remedy"] for doubt in doubts)


def test_a_feed_that_is_left_to_others_is_still_in_the_packet_of_what_rests_on_it(
    cli: Runner, desk: Path
) -> None:
    swap = "new: {motor: {rated_current: 0.9 A, winding_inductance: 2 mH}, driver: {supply_voltage: 24 V}}\n"
    Path("swap.yaml").write_text(swap)
    drive = "[feeder]\nturn length = 4.83\nfull steps = 200\nmicrosteps = 16\n"
    write(drive + FILAMENTS, f"sheet: swap.yaml\nof: {{filament: PETG}}\nmeasured:\n  {TOWER}\n  {FEED}\n")
    assert tuned(cli, "petg") == {("retraction.length", "filament petg"): "0.5"}
    found = json.loads(Path("petg/changes.json").read_bytes())
    told = {each["rule"] for each in found["findings"]}
    assert {"feeder.feed_per_turn", "feeder.travel_per_motor_turn"} <= told
    assert any("other filaments share it" in each["why"] for each in found["left_alone"])


def test_with_a_single_filament_nothing_has_to_be_named(cli: Runner, desk: Path) -> None:
    alone = FILAMENTS[: FILAMENTS.index("[filament petg]")]
    write("[feeder]\nturn length = 4.83\n" + alone, f"measured:\n  {TOWER}\n  {FEED}\n")
    assert tuned(cli, "packet") == {
        ("feeder.feed_per_turn", "machine"): "4.733",
        ("retraction.length", "filament pla"): "0.5",
    }


def test_a_starter_names_what_it_is_for_and_says_its_files(cli: Runner, desk: Path) -> None:
    write(TWO)
    assert cli("tune", "config", "--starter", "new.yaml").status == 3
    said = cli("tune", "config", "--starter", "new.yaml", "--feeder", "2")
    assert said.status == 0 and "I take" in said.err
    text = Path("new.yaml").read_text()
    assert "\n  feeder: 2\n" in text and "at_feed_per_turn: 4.83 mm" in text


@pytest.mark.parametrize(("feeder", "line"), [("1", "T0"), ("2", "T1")])
def test_a_trial_takes_the_tool_as_the_machines_own_scripts_do(
    cli: Runner, desk: Path, feeder: str, line: str
) -> None:
    write(TWO + TOOLS)
    said = cli("trial", "feed", "config", "-o", "feed.nc", "--feeder", feeder)
    assert said.status == 0, said.err
    lines = Path("feed.nc").read_text().splitlines()
    assert f"{line} ; take this feeder" in lines


def test_a_trial_that_can_not_tell_the_tool_is_refused(cli: Runner, desk: Path) -> None:
    write(TWO)
    hot = ("--nozzle", "215", "--bed", "60")
    said = cli("trial", "feed", "config", "-o", "feed.nc", *hot)
    assert said.status == 3 and "--feeder 1" in said.err
    said = cli("trial", "feed", "config", "-o", "feed.nc", "--feeder", "2", *hot)
    assert said.status == 3 and "--feeder-line" in said.err and not Path("feed.nc").exists()
    stated = ("--feeder", "2", "--feeder-line", "TAKE B")
    assert cli("trial", "feed", "config", "-o", "feed.nc", *stated, *hot).status == 0
    assert "TAKE B ; take this feeder" in Path("feed.nc").read_text()


def test_a_tower_starts_from_the_filaments_own_values(cli: Runner, desk: Path) -> None:
    write(
        TWO.replace("[feeder 2]", "[feeder quux]").replace("[retraction 2]\nlength = 0.8\n", "") + FILAMENTS
    )
    hot = ("--nozzle", "235", "--bed", "60")
    said = cli("trial", "retraction", "config", "-o", "tower.nc", "--filament", "petg", *hot)
    assert said.status == 0, said.err
    assert cli("trial", "retraction", "config", "-o", "b.nc", "--filament", "asa", *hot).status == 2


def test_hints_go_by_the_filament_that_is_looked_at(cli: Runner, desk: Path) -> None:
    write("[feeder]\nturn length = 4.83\n" + FILAMENTS)
    told = {
        name: cli("guide", "config", "--seen", "stringing", "--filament", name).out
        for name in ("pla", "petg")
    }
    assert "0.6 mm" in told["pla"] and "0.9 mm" in told["petg"]


def test_compare_says_its_files_and_takes_one_that_is_in_force(cli: Runner, desk: Path) -> None:
    write(TWO)
    Path("other").mkdir()
    Path("other/machine_old.conf").write_text(TWO.replace("4.83", "4.9"))
    Path("other/machine.conf").write_text(TWO)
    said = cli("compare", "config", "other")
    assert said.status == 0 and said.err.count("I take") == 2 and "machine_old.conf" not in said.out
    assert cli("compare", "config", "other", "--machine", "other/machine_old.conf").status == 1


LOAD = """[routine load]
lines = G28
    T0
    M83
    G1 E430 F1800
    T1
    M83
    G1 E430 F1800
"""
SWAP = """machine: Heron
feeder: 2
old: {drive: tube-fed, tube: {length: 380 mm, bore: 2 mm, bend: 180 deg}}
new: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}}
filament: {material: PLA, diameter: 1.75 mm}
"""


@pytest.mark.parametrize(("script", "new"), [(LOAD, "90"), (LOAD.replace("    T0\n", ""), "90")])
def test_a_script_feeds_through_the_path_of_the_tool_in_force(
    cli: Runner, desk: Path, script: str, new: str
) -> None:
    """430 mm through 380 mm of tube; the second feeder's has 340 mm less, and the first one's stays."""
    write(TWO + TOOLS + script)
    Path("swap.yaml").write_text(SWAP)
    said = cli("prepare", "config", "--sheet", "swap.yaml", "-o", "packet")
    assert said.status == 0, said.err
    lines = Path("packet/after/machine.conf").read_text().splitlines()
    assert [line.strip() for line in lines if "G1 E" in line] == ["G1 E430 F1800", f"G1 E{new} F1800"]
    assert cli("verify", "packet").status == 0


def test_a_slip_goes_into_a_sheet_that_calls_its_feeder_as_the_files_do(cli: Runner, desk: Path) -> None:
    Path("hen.conf").write_text(
        "".join(f"[feeder {side}]\nsteps per mm = 96\nretraction length = 5\n" for side in ("left", "right"))
    )
    Path("swap.yaml").write_text("feeder: right\n")
    Path("slip.txt").write_text("old.motor.winding_resistance: 2.4 ohm\n")
    said = cli("sheet", "hen.conf", "--filled", "slip.txt")
    assert said.status == 0, said.err
    assert Path("swap.yaml").read_text().startswith("feeder: right\nold:")
