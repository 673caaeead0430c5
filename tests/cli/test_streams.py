"""Into any pipe, in any encoding, also a closed one: no traceback, no letter lost, and a defect is 70, never 1."""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import cfgmigrate
from cfgmigrate import api
from cfgmigrate.cli import DEFECT, run
from cfgmigrate.cli.progress import FIRST_LINE, SILENT, _Teller
from cfgmigrate.cli.streams import LIKENESSES
from cfgmigrate.ground import progress

ROOT = Path(cfgmigrate.__file__).parents[1]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("streams")
    shutil.copytree(ROOT / "sample_configs" / "knot", folder / "knot")
    shutil.copyfile(ROOT / "sample_configs" / "sheets" / "knot.yaml", folder / "swap.yaml")
    return folder


def piped(folder: Path, encoding: str, *arguments: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "cfgmigrate", *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"},
        stdin=subprocess.DEVNULL, capture_output=True, check=False,
    )  # fmt: skip


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_a_pipe_takes_every_letter_whatever_its_encoding(encoding: str, desk: Path) -> None:
    packet = f"packet-{encoding}"
    ended = piped(desk, encoding, "prepare", "knot", "--sheet", "swap.yaml", "-o", packet, "--full")
    assert ended.returncode == 0 and b"Traceback" not in ended.stderr
    text = ended.stdout.decode(encoding)
    arrow = "→" if encoding == "utf-8" else "->"
    assert f"88.4 per mm {arrow} 280.3 per mm" in text
    assert "?" not in text.replace("  ? ", "").replace(" ? ", "") or encoding == "utf-8"


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_json_loses_nothing_in_a_narrow_encoding(encoding: str, desk: Path) -> None:
    whole = json.loads(piped(desk, "utf-8", "survey", "knot", "--json").stdout)
    assert json.loads(piped(desk, encoding, "survey", "knot", "--json").stdout.decode(encoding)) == whole


@pytest.mark.parametrize(
    "command", [["survey", "knot"], ["survey", "knot", "--json"], ["explain"], ["guide"]]
)
def test_a_pipe_that_nobody_reads_is_no_error(command: list[str], desk: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    ended = subprocess.run(
        [sys.executable, "-m", "cfgmigrate", *command],
        cwd=desk, env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.DEVNULL, stdout=writing, stderr=subprocess.PIPE, check=False,
    )  # fmt: skip
    os.close(writing)
    assert (ended.returncode, ended.stderr) == (0, b"")


def test_what_a_command_found_is_its_status_though_nobody_reads_it(desk: Path) -> None:
    for side in ("old", "new"):
        shutil.copytree(desk / "knot", desk / side, dirs_exist_ok=True)
    api.prepare(desk / "new", desk / "swap.yaml", out=desk / "found packet")
    api.install(desk / "found packet")
    reading, writing = os.pipe()
    os.close(reading)
    ended = subprocess.run(
        [sys.executable, "-m", "cfgmigrate", "compare", "old", "new"],
        cwd=desk, env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.DEVNULL, stdout=writing, stderr=subprocess.PIPE, check=False,
    )  # fmt: skip
    os.close(writing)
    assert ended.returncode == 1 and b"Traceback" not in ended.stderr


def test_no_likeness_is_empty_and_all_are_ascii() -> None:
    assert all(likeness and likeness.isascii() for likeness in LIKENESSES.values())


def test_what_the_program_did_not_foresee_is_told_in_one_line_with_a_report(
    desk: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise KeyError("z\x1b")

    monkeypatch.setattr("cfgmigrate.api.survey", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert run(["survey", str(desk / "knot")]) == DEFECT == 70
    said = capsys.readouterr().err
    assert said.startswith("cfgmigrate: a defect of this program: KeyError: ") and "\x1b" not in said
    (report,) = tmp_path.glob("cfgmigrate-defect-*.txt")
    assert str(report) in said
    assert "Traceback" in report.read_text() and "Traceback" not in said


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_on_a_terminal_what_runs_is_told_after_a_second_and_wiped_away() -> None:
    out = Terminal()
    teller = _Teller(out)
    with progress.stage("reading the files"):
        running = progress.now()
        assert running is not None
        teller.look(running.since + SILENT / 2)
        assert out.getvalue() == ""
        teller.look(running.since + 3)
        assert out.getvalue() == "\rreading the files … 3 s"
    teller.look(0)
    assert out.getvalue().endswith("\r") and progress.now() is None


def test_what_is_printed_behind_a_stage_never_stands_behind_its_line() -> None:
    out = Terminal()
    teller = _Teller(out)
    with progress.called_at_the_end(teller.taken_away):
        with progress.stage("reading the files"):
            running = progress.now()
            assert running is not None
            teller.look(running.since + 3)
        assert out.getvalue().endswith("\r") and not teller.shown


def test_into_a_pipe_a_line_comes_now_and_then() -> None:
    out = io.StringIO()
    teller = _Teller(out)
    with progress.stage("reading the files"), progress.stage("recognising the settings"):
        running = progress.now()
        assert running is not None
        for second in range(int(FIRST_LINE * 9)):
            teller.look(running.since + second)
    assert out.getvalue().splitlines() == [
        f"recognising the settings … {second} s" for second in (10, 20, 40, 80)
    ]
