"""Every command that looks something up fits one screen on every sample; `--full` has all of it."""

from __future__ import annotations

import itertools
import shutil
from pathlib import Path

import pytest
from commandline import Runner

import cfgmigrate
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
    assert short.count("Caution:") == whole.count("Caution:") > 0


def test_guidance_is_one_screen_and_keeps_every_caution_in_a_line(cli: Runner, desk: Path) -> None:
    said = cli("guide", "wren", "--sheet", "sheets/wren.yaml", "--seen", "irregular wall")
    assert said.status == 0, said.err
    assert len(said.out.splitlines()) <= SCREENFUL
    assert "caution" in cli("guide", "wren", "--seen", "irregular wall", "--full").out
