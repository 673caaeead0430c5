"""What a command says first of the files, and what stops it: which files are the machine is never guessed."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from commandline import Runner

SAMPLES = Path(__file__).parents[2] / "sample_configs"


@pytest.fixture
def wren(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The sample, with old copies of its live files beside them."""
    monkeypatch.chdir(tmp_path)
    shutil.copytree(SAMPLES / "wren", "wren")
    shutil.copy(SAMPLES / "sheets" / "wren.yaml", "wren.yaml")
    return tmp_path / "wren"


def edited(packet: str = "packet") -> set[str]:
    plan = json.loads(Path(packet, "changes.json").read_bytes())
    return {edit["file"] for change in plan["changes"] for edit in change["edits"]}


def test_old_copies_are_never_edited_and_the_live_files_are(cli: Runner, wren: Path) -> None:
    """Law 9."""
    assert cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "alone").status == 0
    (wren / "old").mkdir()
    for file in [*wren.glob("*.conf")]:
        text = file.read_text().replace("21.3", "23.4")
        (wren / f"{file.stem}_old.conf").write_text(text)
        (wren / "old" / file.name).write_text(text)
        (wren / f"{file.stem} (copy).conf").write_text(text)
    said = cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "packet")
    assert said.status == 0
    assert "kept copies" in said.out and "I take these" in said.out.splitlines()[0]
    assert edited() == edited("alone")
    left = json.loads(Path("packet/changes.json").read_bytes())["inputs"]["left_out"]
    assert {file["role"] for file in left} == {"kept copy"}
    assert cli("verify", "packet").status == 0


def test_what_cant_be_told_stops_who_writes_and_is_shown_by_the_survey(cli: Runner, wren: Path) -> None:
    shutil.copytree(wren, wren / "tuesday")
    before = {path: path.read_bytes() for path in wren.rglob("*") if path.is_file()}
    for command in (
        ("prepare", "wren", "--sheet", "wren.yaml", "-o", "packet"),
        ("trial", "clearance", "wren", "-o", "trial.nc"),
    ):
        said = cli(*command)
        assert (said.status, said.out) == (3, "")
        assert "--machine" in said.err and "cfgmigrate.yaml" in said.err
    assert not Path("packet").exists() and not Path("trial.nc").exists()
    assert {path: path.read_bytes() for path in wren.rglob("*") if path.is_file()} == before
    found = json.loads(cli("survey", "wren", "--json").out)
    assert found["questions"] and {"path", "role", "why", "dialect"} <= set(found["files"][0])
    machine = [word for file in sorted(wren.glob("*.conf")) for word in ("--machine", file)]
    assert cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "packet", *machine).status == 0
    assert not [path for path in edited() if path.startswith("tuesday/")]


def test_a_site_file_is_written_once_read_by_all_and_carried_in_the_packet(cli: Runner, wren: Path) -> None:
    shutil.copy(wren / "feed.conf", wren / "feed_v2.conf")
    assert cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "packet").status == 3
    (wren / "cfgmigrate.yaml").write_text("site: 1\nroles: {feed_v2.conf: kept copy}  # of March\n")
    assert cli("survey", "wren", "--write-site").status == 0
    assert "of March" in (wren / "cfgmigrate.yaml").read_text()
    assert cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "packet").status == 0
    assert Path("packet/site.yaml").read_bytes() == (wren / "cfgmigrate.yaml").read_bytes()
    assert cli("verify", "packet").status == 0
    first = json.loads(Path("packet/changes.json").read_bytes())["hash"]
    with (wren / "cfgmigrate.yaml").open("a") as site:
        site.write("# another line\n")
    assert cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "other").status == 0
    assert json.loads(Path("other/changes.json").read_bytes())["hash"] != first


def test_meanings_of_the_site_file_count_behind_those_of_a_names_file(cli: Runner, wren: Path) -> None:
    with (wren / "feed.conf").open("a") as file:
        file.write("[drive]\none way: 200\n")
    (wren / "cfgmigrate.yaml").write_text('site: 1\nmeanings: {"[drive] one way": axis.x.full_steps}\n')
    Path("names.yaml").write_text('"[drive] one way": ignore\n')

    last = len((wren / "feed.conf").read_text().splitlines())

    def read(*more: str) -> list[str]:
        found = json.loads(cli("survey", "wren", "--json", *more).out)
        return [
            each["quantity"]
            for each in found["readings"]
            if (each["file"], each["line"]) == ("feed.conf", last)
        ]

    assert read() == ["axis.x.full_steps"]
    assert read("--names", "names.yaml") == []


def test_only_what_was_named_is_edited(cli: Runner, wren: Path) -> None:
    (wren / "cfgmigrate.yaml").write_text("site: 1\n")
    said = cli("prepare", "wren/feed.conf", "--sheet", "wren.yaml", "-o", "packet")
    assert said.status == 0
    assert edited() <= {"feed.conf"}
    plan = json.loads(Path("packet/changes.json").read_bytes())
    assert any("was not named" in each["why"] for each in plan["left_alone"])


def test_a_light_whose_value_stands_in_a_file_that_was_not_named_stops_the_install(
    cli: Runner, wren: Path
) -> None:
    (wren / "cfgmigrate.yaml").write_text("site: 1\n")
    assert cli("prepare", "wren/frame.conf", "--sheet", "wren.yaml", "-o", "packet").status == 0
    plan = json.loads(Path("packet/changes.json").read_bytes())
    feed = next(each for each in plan["lights"] if each["light"] == "feed")
    assert feed["state"] == "unknown" and "its file was not named" in feed["why"]
    assert cli("install", "packet").status == 3
