"""After a kill in the middle of an install, the next command puts the files in order and says so; and a Ctrl-C while a command is still
being loaded ends it with a word."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import cfgmigrate
from cfgmigrate.cli import run
from cfgmigrate.ground.findings import Refused

SAMPLES = Path(__file__).parents[2] / "sample_configs"

KILLED = """
import os, signal, sys
import cfgmigrate
from cfgmigrate.store import transaction

real, put_in = transaction.put_in, []

def killed_after_two(*of):
    real(*of)
    put_in.append(of)
    if len(put_in) == 2:
        os.kill(os.getpid(), signal.SIGKILL)

transaction.put_in = killed_after_two
cfgmigrate.install(sys.argv[1])
"""


@pytest.fixture
def half_written(tmp_path: Path) -> Path:
    """Wren's files, two of four of them installed when the process was killed."""
    shutil.copytree(SAMPLES / "wren", tmp_path / "wren")
    packet = cfgmigrate.prepare(
        [tmp_path / "wren"], SAMPLES / "sheets" / "wren.yaml", out=tmp_path / "packet"
    )
    done = subprocess.run([sys.executable, "-c", KILLED, str(packet.folder)], check=False)
    assert done.returncode == -9
    return tmp_path


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_half_written_files_are_never_read(half_written: Path) -> None:
    before, after = files(half_written / "packet" / "before"), files(half_written / "packet" / "after")
    assert files(half_written / "wren") not in (before, after)
    with pytest.raises(Refused, match="interrupted"):
        cfgmigrate.survey([half_written / "wren"])


@pytest.mark.parametrize("command", ["survey", "history", "sheet"])
def test_the_next_command_puts_them_in_order_and_says_so(
    half_written: Path, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([command, str(half_written / "wren")]) == 0
    assert "An interrupted install was found and" in capsys.readouterr().err
    before, after = files(half_written / "packet" / "before"), files(half_written / "packet" / "after")
    assert files(half_written / "wren") in (before, {**before, **after})


INTERRUPTED = """
import sys

class Interrupting:
    def find_spec(self, name, path=None, target=None):
        if name == wanted:
            raise KeyboardInterrupt

wanted = sys.argv.pop()
sys.meta_path.insert(0, Interrupting())
from cfgmigrate.__main__ import main
main()
"""


@pytest.mark.parametrize("loading", ["click", "cfgmigrate.cli.progress", "cfgmigrate.cli.survey"])
def test_a_command_that_is_interrupted_while_it_is_loaded_ends_with_a_word(loading: str) -> None:
    line = [sys.executable, "-c", INTERRUPTED, "survey", str(SAMPLES / "wren"), loading]
    done = subprocess.run(line, capture_output=True, text=True, check=False)
    assert done.returncode == 3 and done.stderr.strip() in ("Stopped.", "Stopped; nothing was changed.")


def test_who_stops_an_install_whose_files_are_written_is_not_told_that_nothing_was_changed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(SAMPLES / "wren", tmp_path / "wren")
    sheet = str(SAMPLES / "sheets" / "wren.yaml")
    cfgmigrate.prepare(tmp_path / "wren", sheet=sheet, out=tmp_path / "packet")
    real = cfgmigrate.install

    def stopped(*given: Any, **more: Any) -> None:
        if "late" in when:
            real(*given, **more)
        raise KeyboardInterrupt

    monkeypatch.setattr("cfgmigrate.api.install", stopped)
    when = ["early"]
    assert run(["install", str(tmp_path / "packet")]) == 3
    assert capsys.readouterr().err.strip().endswith("Stopped; nothing was changed.")
    when = ["late"]
    assert run(["install", str(tmp_path / "packet")]) == 0
    assert "after the files were written" in capsys.readouterr().err
    assert len(cfgmigrate.history(tmp_path / "wren")) == 1
    when = ["early"]
    assert run(["install", str(tmp_path / "packet")]) == 3


def test_the_command_begins_where_an_interrupt_is_met() -> None:
    project = (Path(__file__).parents[2] / "pyproject.toml").read_text()
    assert 'cfgmigrate = "cfgmigrate.__main__:main"' in project
