"""Many machines at once: each gets the packet it would get alone, none stops another, a stopped run goes on."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import deadly
import pytest
from commandline import Runner
from packetbench import seal_anew

import cfgmigrate
from cfgmigrate import api
from cfgmigrate.fleet import run
from cfgmigrate.fleet.file import read_fleet

SAMPLES = Path(__file__).parents[2] / "sample_configs"
WHERE = {**os.environ, "PYTHONPATH": str(Path(cfgmigrate.__file__).parents[1]), "COLUMNS": "90"}
#: seconds until a test gives a process up that should long have ended
PATIENCE = 120.0

posix = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo's machines and sheets, the desk being the current folder."""
    shutil.copytree(SAMPLES, tmp_path / "desk")
    monkeypatch.chdir(tmp_path / "desk")
    return tmp_path / "desk"


def hall(machines: int, more: str = "") -> list[str]:
    """A fleet file of so many machines like Knot, and their names."""
    names = [f"Knot {number}" for number in range(1, machines + 1)]
    for name in names:
        shutil.copytree("knot", name.replace(" ", "-"))
    lines = [f"  {name}: {name.replace(' ', '-')}" for name in names]
    Path("fleet.yaml").write_text(
        "\n".join(["sheet: sheets/knot.yaml", "machines:", *lines, more]), encoding="utf-8"
    )
    return names


def contents(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def summary(folder: str = "out") -> dict[str, object]:
    found: dict[str, object] = json.loads(Path(folder, "summary.json").read_bytes())
    return found


@pytest.mark.exhaustive
def test_each_packet_is_byte_for_byte_the_one_that_prepare_writes_for_the_machine_alone(
    cli: Runner, desk: Path
) -> None:
    several = {path.stem for path in Path("sheets").glob("*.yaml") if "feeders:" in path.read_text("utf-8")}
    machines = sorted(path.stem for path in Path("sheets").glob("*.yaml") if path.stem not in several)
    lines = "".join(f"  {name}: {{config: {name}, sheet: sheets/{name}.yaml}}\n" for name in machines)
    Path("fleet.yaml").write_text(f"machines:\n{lines}", encoding="utf-8")
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out", "--pages")
    assert (said.status, said.err) == (0, "")
    for name in machines:
        alone = cli("prepare", name, "--sheet", f"out/sheets/{name}.yaml", "-o", f"alone/{name}")
        assert alone.status == 0
        assert contents(Path("out", name)) == contents(Path("alone", name))
        # the shared sheet's own values are all there: what changes is the same as by the sheet itself
        own = api.work_out([name], f"sheets/{name}.yaml").plan
        assert [(one.quantity, one.new) for one in own.changes] == [
            (one.quantity, one.new) for one in api.open_packet(Path("out", name)).plan.changes
        ]


def test_a_sheet_of_several_feeders_is_refused_by_its_machine_and_stops_no_other(
    cli: Runner, desk: Path
) -> None:
    Path("fleet.yaml").write_text(
        "machines:\n  Two: {config: bittern, sheet: sheets/bittern.yaml}\n"
        "  One: {config: knot, sheet: sheets/knot.yaml}\n",
        encoding="utf-8",
    )
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    assert said.status == 1 and "cfgmigrate: Two: " in said.err and "for the first feeder" in said.err
    assert [machine["name"] for machine in summary()["machines"] if machine["error"]] == ["Two"]  # type: ignore[attr-defined]
    assert api.verify(Path("out", "One")) == ()


def test_a_packet_that_was_sealed_anew_is_prepared_anew_and_notes_in_it_stay(cli: Runner, desk: Path) -> None:
    (name,) = hall(1)
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status == 0
    packet = Path("out", name)
    whole = contents(packet)
    (packet / "notes.txt").write_text("weighed twice")
    index = json.loads((packet / "changes.json").read_bytes())
    index["changes"][0]["label"] = "Something else"
    (packet / "changes.json").write_bytes(json.dumps(index).encode())
    seal_anew(packet)
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    assert said.status == 0 and "stood there already" not in said.out
    assert (packet / "notes.txt").read_text() == "weighed twice"
    (packet / "notes.txt").unlink()
    assert {path: data for path, data in contents(packet).items() if path != "changes.json"} == {
        path: data for path, data in whole.items() if path != "changes.json"
    }
    assert api.verify(packet) == ()
    assert (
        "1 packet stood there already, and was not"
        in cli("prepare", "--fleet", "fleet.yaml", "-o", "out").out
    )


def test_one_broken_machine_stops_none_of_the_others(cli: Runner, desk: Path) -> None:
    names = hall(2, "  Nowhere: nowhere\n  Odd: {config: Odd}\n  Unsheeted: {config: knot, sheet: no.yaml}\n")
    Path("Odd").mkdir()
    Path("Odd", "picture.png").write_bytes(b"\x89PNG\r\n\x1a\n\0\0")
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    assert said.status == 1
    for broken in ("Nowhere", "Odd", "Unsheeted"):
        assert f"cfgmigrate: {broken}: " in said.err
    found = {machine["name"]: machine for machine in summary()["machines"]}  # type: ignore[attr-defined]
    assert [name for name in found if found[name]["error"]] == ["Nowhere", "Odd", "Unsheeted"]
    assert "there is no such file or folder" in found["Nowhere"]["error"]["text"]
    page = Path("out", "summary.html").read_text(encoding="utf-8")
    assert "nowhere" in page and "there is no such file or folder" in page
    for name in names:
        assert api.verify(Path("out", name)) == ()


def test_a_worker_that_dies_takes_only_its_machine_along(desk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    hall(3, f"  {deadly.DEADLY}: knot\n")
    monkeypatch.setattr(run, "prepare_one", deadly.dies_of_one)
    found = cfgmigrate.prepare_fleet("fleet.yaml", "out", workers=2)
    assert [record.name for record in found.records if not record.done] == [deadly.DEADLY]
    assert "ended from outside" in found.records[-1].error


def test_what_stands_there_for_the_same_inputs_is_not_worked_out_again(cli: Runner, desk: Path) -> None:
    names = hall(2)
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status == 0
    before = contents(Path("out"))
    times = {name: Path("out", name, "changes.json").stat().st_mtime_ns for name in names}
    again = cli("prepare", "--fleet", "fleet.yaml", "-o", str(desk / "out"))
    assert (again.status, again.err) == (0, "")
    assert "2 packets stood there already" in again.out
    assert {name: Path("out", name, "changes.json").stat().st_mtime_ns for name in names} == times
    assert contents(Path("out")) == before
    # names that can't be read are no reason to believe what stands there
    Path("ff").mkdir()
    Path("fleet.yaml").write_text("names: ff\n" + Path("fleet.yaml").read_text("utf-8"), encoding="utf-8")
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status != 0


def test_pages_for_a_browser_come_when_asked_for_and_the_rest_of_a_packet_is_the_same(
    cli: Runner, desk: Path
) -> None:
    name, _ = hall(2)
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    assert said.status == 0 and "--pages" in said.out
    assert not list(Path("out").rglob("changes.html"))
    assert 'href="Knot' not in Path("out", "summary.html").read_text(encoding="utf-8")
    assert api.verify(Path("out", name)) == () and api.unverified(Path("out", name)) == ()
    without = api.open_packet(Path("out", name))

    asked = cli("prepare", "--fleet", "fleet.yaml", "-o", "out", "--pages")
    assert asked.status == 0 and "--pages" not in asked.out
    assert cli("prepare", "Knot-1", "--sheet", f"out/sheets/{name}.yaml", "-o", "alone").status == 0
    assert contents(Path("out", name)) == contents(Path("alone"))
    assert api.open_packet(Path("out", name)).hash == without.hash
    assert 'href="Knot%201/changes.html"' in Path("out", "summary.html").read_text(encoding="utf-8")
    assert "2 packets stood there" in cli("prepare", "--fleet", "fleet.yaml", "-o", "out", "--pages").out


def test_a_mended_sheet_replaces_every_packet_but_an_installed_one_which_stays_and_is_told(
    cli: Runner, desk: Path
) -> None:
    first, second = hall(2)
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status == 0
    assert cli("install", f"out/{first}").status == 0
    before = {name: contents(Path("out", name)) for name in (first, second)}
    sheet = Path("sheets", "knot.yaml")
    sheet.write_text(sheet.read_text("utf-8") + "\nsurroundings: {air: 31 degC}\n", encoding="utf-8")
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out", "--replace")
    assert (said.status, said.err) == (0, "")
    assert contents(Path("out", first)) == before[first] and contents(Path("out", second)) != before[second]
    found = {machine["name"]: machine for machine in summary()["machines"]}  # type: ignore[attr-defined]
    assert found[first]["installed"] and "is installed and stays" in found[first]["notes"][0]
    assert not found[second]["installed"] and not found[second]["notes"]
    assert f"{first}: its packet is installed and stays" in " ".join(said.out.split())
    page = Path("out", "summary.html").read_text(encoding="utf-8")
    assert f"Installed: {first}." in page and "Nothing was installed" not in page


def test_a_run_that_makes_nothing_leaves_the_summary_of_one_that_did(cli: Runner, desk: Path) -> None:
    names = hall(2)
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status == 0
    before = contents(Path("out"))
    for name in names:
        shutil.rmtree(name.replace(" ", "-"))
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    assert said.status == 1 and "stays as an earlier run left it" in " ".join(said.out.split())
    assert contents(Path("out")) == before


def test_the_packet_of_a_machine_that_left_the_fleet_is_told(cli: Runner, desk: Path) -> None:
    _, second = hall(2)
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status == 0
    text = Path("fleet.yaml").read_text("utf-8")
    Path("fleet.yaml").write_text(text.replace(f"  {second}: Knot-2\n", ""), encoding="utf-8")
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    assert said.status == 0 and f"the fleet doesn't name: {second}" in " ".join(said.out.split())
    assert summary()["beside"] == [second]
    assert f"name: {second}." in Path("out", "summary.html").read_text(encoding="utf-8")


def test_names_that_machines_share_raise_no_question_where_only_another_one_needs_them(
    cli: Runner, desk: Path
) -> None:
    first, _ = hall(2)
    Path("names.yaml").write_text('"[lamp] strength": ignore\n', encoding="utf-8")
    alone = cli("prepare", "Knot-1", "--sheet", "sheets/knot.yaml", "--names", "names.yaml", "-o", "alone")
    assert alone.status == 0
    assert "is called this" in Path("alone", "changes.json").read_text("utf-8")
    said = cli("prepare", "--fleet", "fleet.yaml", "--names", "names.yaml", "-o", "out")
    assert said.status == 0
    assert said.err.splitlines() == [
        "cfgmigrate: names.yaml:1:1: no machine has a setting called [lamp] strength"
    ]
    assert "is called this" not in Path("out", first, "changes.json").read_text("utf-8")
    assert api.verify(Path("out", first)) == ()
    assert (
        "2 packets stood there"
        in cli("prepare", "--fleet", "fleet.yaml", "--names", "names.yaml", "-o", "out").out
    )


def started(*arguments: str, ready: Callable[[], bool]) -> subprocess.Popen[str]:
    """A fleet's run of its own, once it is as far as `ready` says."""
    run = subprocess.Popen(
        [sys.executable, "-m", "cfgmigrate", "prepare", "--fleet", "fleet.yaml", "-o", "out", *arguments],
        env=WHERE,
        text=True,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    waited(lambda: ready() or run.poll() is not None)
    return run


def waited(until: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE
    while not until():
        assert time.monotonic() < end
        time.sleep(0.005)


def packets() -> set[str]:
    return {path.parent.name for path in Path("out").glob("[!.]*/changes.json")}


def nobody_left(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return True
    return False


@posix
@pytest.mark.exhaustive
def test_after_a_kill_nothing_is_half_written_no_process_is_left_and_the_next_run_goes_on(
    cli: Runner, desk: Path
) -> None:
    names = hall(6)
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status == 0
    whole = contents(Path("out"))
    shutil.rmtree("out")

    run = started("--workers", "2", ready=lambda: len(packets()) >= 2)
    run.kill()
    run.communicate()
    assert run.returncode == -signal.SIGKILL
    waited(lambda: nobody_left(run.pid))

    there = packets()
    assert 2 <= len(there) < len(names)
    assert not Path("out", "summary.json").exists()
    for name in there:
        assert api.verify(Path("out", name)) == ()
    times = {name: Path("out", name, "changes.json").stat().st_mtime_ns for name in there}

    again = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    assert (again.status, again.err) == (0, "")
    assert f"{len(there)} packets stood there already" in again.out
    assert {name: Path("out", name, "changes.json").stat().st_mtime_ns for name in there} == times
    assert contents(Path("out")) == whole
    assert not list(Path("out").glob(".packet-*"))


@posix
@pytest.mark.exhaustive
def test_ctrl_c_finishes_what_is_begun_says_what_was_not_reached_and_can_go_on(
    cli: Runner, desk: Path
) -> None:
    names = hall(8)
    run = started("--workers", "1", ready=lambda: bool(packets()))
    os.killpg(run.pid, signal.SIGINT)
    out, err = run.communicate(timeout=PATIENCE)
    assert (run.returncode, out) == (1, "")
    assert err.startswith("Stopped.") and "Traceback" not in err
    waited(lambda: nobody_left(run.pid))
    machines = summary()["machines"]
    reached = {machine["name"] for machine in machines if not machine["unreached"]}  # type: ignore[attr-defined]
    assert reached == packets() and 0 < len(reached) < len(names)
    again = cli("prepare", "--fleet", "fleet.yaml", "-o", "out", "--json")
    assert again.status == 0
    assert json.loads(again.out)["counts"]["packets"] == len(names)


@posix
@pytest.mark.exhaustive
def test_two_runs_do_not_work_in_one_folder(cli: Runner, desk: Path) -> None:
    hall(6)
    run = started("--workers", "1", ready=lambda: bool(packets()))
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    run.kill()
    run.communicate()
    assert said.status == 3
    assert "another run is working on this fleet" in said.err


@posix
@pytest.mark.exhaustive
def test_a_bar_shows_how_far_it_is_on_a_terminal_and_nowhere_else(desk: Path) -> None:
    import pty

    hall(2)
    arguments = [sys.executable, "-m", "cfgmigrate", "prepare", "--fleet", "fleet.yaml", "-o"]
    quiet = subprocess.run([*arguments, "one"], env=WHERE, text=True, capture_output=True, check=True)
    assert quiet.stderr == ""
    ours, theirs = pty.openpty()
    environment = {**WHERE, "TERM": "xterm"}
    shown = subprocess.Popen(
        [*arguments, "two"], env=environment, text=True, stdout=subprocess.PIPE, stderr=theirs
    )
    os.close(theirs)
    seen = b""
    try:
        while part := os.read(ours, 4096):
            seen += part
    except OSError:  # the other end is closed
        pass
    out, _ = shown.communicate()
    os.close(ours)
    assert shown.returncode == 0
    assert b"0/2" in seen and b"2/2" in seen
    assert "2/2" not in out and "Every machine has its packet" in out


def test_the_fleet_file_in_the_readme_is_one(tmp_path: Path) -> None:
    readme = (SAMPLES.parent / "README.md").read_text(encoding="utf-8")
    (text,) = re.findall(r"^```yaml\n(.*?)^```$", readme, re.MULTILINE | re.DOTALL)
    (tmp_path / "fleet.yaml").write_text(text, encoding="utf-8")
    machines = {machine.name: machine for machine in read_fleet(tmp_path / "fleet.yaml").machines}
    assert list(machines) == ["Wren", "Siskin", "Dunlin"]
    assert machines["Dunlin"].differs["carriage.old_mass"] == "310 g"
    assert machines["Dunlin"].differs["clearance.highest_z"] is None


WRONG = {
    "config and fleet": ("prepare knot --fleet fleet.yaml -o out", 2, "a fleet file says itself"),
    "sheet and fleet": ("prepare --sheet s.yaml --fleet fleet.yaml -o out", 2, "a fleet file says itself"),
    "neither": ("prepare -o out", 2, "the configuration's files must be given"),
    "no sheet": ("prepare knot -o out", 2, "a swap sheet must be given"),
    "no fleet file": ("prepare --fleet nothing.yaml -o out", 2, "nothing.yaml: the fleet file can't be read"),
    "a folder in use": ("prepare --fleet fleet.yaml -o wren", 3, "in use for something else"),
    "among the files": ("prepare --fleet fleet.yaml -o Knot-1/packets", 2, "among the files of Knot 1"),
    "a file in the way": ("prepare --fleet fleet.yaml -o fleet.yaml", 3, "something else is in the way"),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_a_wrong_call_is_one_error_and_writes_nothing(wrong: str, cli: Runner, desk: Path) -> None:
    hall(1)
    before = contents(desk)
    line, status, told = WRONG[wrong]
    said = cli(*line.split())
    assert (said.status, said.out) == (status, "")
    assert told in said.err
    assert contents(desk) == before


def test_a_sheet_for_all_that_cannot_be_read_is_one_error_and_writes_nothing(cli: Runner, desk: Path) -> None:
    hall(3)
    Path("sheets", "knot.yaml").write_text("machine: [\n", encoding="utf-8")
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    assert (said.status, said.out) == (2, "")
    assert said.err.startswith("cfgmigrate: sheets/knot.yaml:2:1: ") and said.err.count("not YAML") == 1
    assert not Path("out").exists()


def test_machines_of_one_folder_by_the_fleet_file_that_is_offered(cli: Runner, desk: Path) -> None:
    """Two machines beside each other: refused alone, with a fleet file that can be saved as it is."""
    Path("shed").mkdir()
    shutil.copy("knot/settings.nc", "shed/heron.nc")
    text = Path("knot/settings.nc").read_text()
    Path("shed/otter.nc").write_text(re.sub(r"(?<=[XYZE])\d+", lambda found: f"{found[0]}1", text))
    said = cli("prepare", "shed", "--sheet", "sheets/knot.yaml", "-o", "packet")
    assert said.status == 3
    offered = re.search(r"^ *sheet: swap\.yaml\n(?: .*\n)+", said.err, re.MULTILINE)
    assert offered is not None
    lines = [line.strip(" ") for line in offered[0].splitlines()]
    lines = [line if line in ("sheet: swap.yaml", "machines:") else f"  {line}" for line in lines]
    Path("shed/fleet.yaml").write_text("\n".join(lines) + "\n")
    shutil.copy("sheets/knot.yaml", "shed/swap.yaml")
    assert [each.machine for each in read_fleet(Path("shed/fleet.yaml")).machines] == [
        (Path("shed/heron.nc"),),
        (Path("shed/otter.nc"),),
    ]
    assert cli("prepare", "--fleet", "shed/fleet.yaml", "-o", "packets").status == 0
    for name in ("heron", "otter"):
        plan = json.loads(Path(f"packets/{name}.nc/changes.json").read_bytes())
        touched = {edit["file"] for change in plan["changes"] for edit in change["edits"]}
        assert touched == {f"{name}.nc"}


def test_a_packet_is_made_anew_where_the_site_file_says_something_else(cli: Runner, desk: Path) -> None:
    hall(1)
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "packets").status == 0
    Path("Knot-1/cfgmigrate.yaml").write_text("site: 1\n")
    before = Path("packets", "Knot 1", "changes.json").read_bytes()
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "packets").status == 0
    assert Path("packets", "Knot 1", "changes.json").read_bytes() != before
