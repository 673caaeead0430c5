"""Every command that looks something up fits one screen on every sample; `--full` has all of it."""

from __future__ import annotations

import itertools
import re
import shutil
from pathlib import Path

import pytest
from commandline import Runner

import cfgmigrate
import cfgmigrate.cli
from cfgmigrate import api
from cfgmigrate.ground.findings import Refused
from cfgmigrate.reports.sections import SCREENFUL

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"
MACHINES = sorted(path.stem for path in (SAMPLES / "sheets").glob("*.yaml"))


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(SAMPLES, tmp_path, dirs_exist_ok=True)
    return tmp_path


@pytest.mark.parametrize("width", ["80", "100", "120"])
@pytest.mark.parametrize("machine", MACHINES)
def test_a_survey_is_one_screen_with_its_next_step_and_full_has_every_reading(
    machine: str, width: str, cli: Runner, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", width)
    lines = cli("survey", machine).out.splitlines()
    assert len(lines) <= SCREENFUL and max(map(len, lines)) <= int(width)
    assert lines[-1] == f"  cfgmigrate sheet {machine} -o swap.yaml"
    strange = "Looks relevant, but was not understood" in lines
    assert strange == any(line.startswith(f"  cfgmigrate survey {machine} --write-site") for line in lines)
    assert len(cli("survey", machine, "--full").out.splitlines()) > len(lines)


def test_a_comparison_of_any_two_samples_is_one_screen(cli: Runner, desk: Path) -> None:
    for one, other in itertools.pairwise(MACHINES):
        said = cli("compare", one, other)
        assert said.status == 1
        assert len(said.out.splitlines()) <= SCREENFUL
        assert len(cli("compare", one, other, "--full").out.splitlines()) > SCREENFUL


def test_a_rule_is_told_shorter_and_never_without_its_cautions(cli: Runner) -> None:
    short, whole = cli("explain", "retraction.length").out, cli("explain", "retraction.length", "--full").out
    assert len(short.splitlines()) < len(whole.splitlines())
    cautions = {line for line in whole.splitlines() if line.startswith("Caution:")}
    assert cautions and all(caution in " ".join(short.split()) for caution in cautions)


def test_the_list_of_rules_and_every_rule_fit_one_screen(
    cli: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    listed = cli("explain").out.splitlines()
    assert len(listed) <= SCREENFUL and max(map(len, listed)) <= 80
    names = sorted({rule.name for rule in (*api.explain(), *api.tuning_rules())})
    for name in names:
        told = name.partition(".")[2]
        assert told in " ".join(listed) or re.sub(r"(?<![a-z])[xy](?![a-z])", "@", told) in " ".join(
            listed
        ), name
        assert len(cli("explain", name).out.splitlines()) <= SCREENFUL, name


def test_guidance_is_one_screen_and_keeps_every_caution_in_a_line(cli: Runner, desk: Path) -> None:
    said = cli("guide", "wren", "--sheet", "sheets/wren.yaml", "--seen", "irregular wall")
    assert said.status == 0, said.err
    assert len(said.out.splitlines()) <= SCREENFUL
    assert "caution" in cli("guide", "wren", "--seen", "irregular wall", "--full").out


@pytest.mark.parametrize("machine", MACHINES)
def test_a_preparation_is_one_screen_with_the_files_that_it_takes(
    machine: str, cli: Runner, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    said = cli("prepare", machine, "--sheet", f"sheets/{machine}.yaml", "-o", "packet")
    assert sum(-(-len(line) // 80) or 1 for line in said.out.splitlines()) <= SCREENFUL


def test_while_a_light_is_unknown_what_settles_it_is_offered_first_and_no_install_that_would_be_refused(
    cli: Runner, desk: Path
) -> None:
    Path("said.yaml").write_text("new: {drive: on the carriage}\n")
    said = cli("prepare", "wren", "--sheet", "said.yaml", "-o", "packet").out
    following = said.partition("Next")[2].splitlines()[1:]
    assert following[0].split() == [
        "settle",
        "cfgmigrate",
        "sheet",
        "wren",
        "--ask",
        "-o",
        "said.yaml",
        "(then",
        "prepare",
        "again)",
    ]
    assert "refused while" in following[2]
    quiet = cli("prepare", "wren", "--sheet", "said.yaml", "-o", "again", "-q").out
    assert "Settle it first: cfgmigrate sheet wren --ask" in quiet
    settled = cli("prepare", "wren", "--sheet", "sheets/wren.yaml", "-o", "whole").out
    assert "settle   " not in settled and "install  cfgmigrate install whole" in settled


@pytest.mark.parametrize("machine", MACHINES)
def test_at_a_terminal_a_sheet_and_a_record_are_told_on_one_screen(
    machine: str, cli: Runner, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    cli("prepare", machine, "--sheet", f"sheets/{machine}.yaml", "-o", "packet")
    cli("install", "packet")
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    sheet, record = cli("sheet", machine).out.splitlines(), cli("report", machine).out.splitlines()
    assert len(sheet) <= SCREENFUL and f"  cfgmigrate sheet {machine} --ask" in "\n".join(sheet)
    assert len(record) <= SCREENFUL and max(map(len, record)) <= 80
    assert f"cfgmigrate report {machine} -o record" in " ".join(record)
    assert cli("report", machine, "--full").out.startswith("# Record of")


def test_options_to_be_copied_are_shown_to_the_last_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    names = " ".join(f'--accept-unknown "retraction @ filament {number}"' for number in range(20))

    def refuse(*_: object, **__: object) -> None:
        raise Refused("not known", remedy=f"At your own risk: {names}")

    monkeypatch.setattr(cfgmigrate.cli.group, "main", refuse)
    assert cfgmigrate.cli.run(["status"]) == 3
    assert names in capsys.readouterr().err
