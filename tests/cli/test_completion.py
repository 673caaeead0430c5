"""Words are completed in the real shells, by the very lines that `--help` gives."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import pytest

import cfgmigrate
from cfgmigrate.cli import COMMANDS, COMPLETION

ROOT = Path(__file__).parents[2]
#: seconds until a test gives up on a shell
PATIENCE = 120.0
LINES = {
    "bash": 'eval "$(_CFGMIGRATE_COMPLETE=bash_source cfgmigrate)"',
    "zsh": 'eval "$(_CFGMIGRATE_COMPLETE=zsh_source cfgmigrate)"',
    "fish": "_CFGMIGRATE_COMPLETE=fish_source cfgmigrate | source",
}
#: what is typed before the Tab key, and what stands there after it
TYPED = {
    "a command": ("cfgmigrate surv", "cfgmigrate survey"),
    "another command": ("cfgmigrate prep", "cfgmigrate prepare"),
    "a long option": ("cfgmigrate prepare --fl", "cfgmigrate prepare --fleet"),
    "an option after a file": ("cfgmigrate tune swap.yaml --meas", "cfgmigrate tune swap.yaml --measured"),
    "a file": ("cfgmigrate survey swa", "cfgmigrate survey swap.yaml"),
    "a rule": ("cfgmigrate explain feeder.dire", "cfgmigrate explain feeder.direction"),
    "a trial": ("cfgmigrate trial ret", "cfgmigrate trial retraction"),
    "something seen": ("cfgmigrate guide --seen gaps", "cfgmigrate guide --seen gaps-at-corners"),
    "a dialect": ("cfgmigrate survey --dialect sect", "cfgmigrate survey --dialect sectioned"),
}

pytestmark = [
    pytest.mark.skipif(sys.platform == "win32", reason="POSIX shells"),
    pytest.mark.exhaustive,
]


def shell(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} is not on this machine")
    return found


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Mapping[str, str]:
    """A folder with a file in it, and `cfgmigrate` on the path as if it were installed."""
    (tmp_path / "swap.yaml").touch()
    command = tmp_path / "bin" / "cfgmigrate"
    command.parent.mkdir()
    command.write_text(
        f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m cfgmigrate "$@"\n', encoding="utf-8"
    )
    command.chmod(0o755)
    monkeypatch.chdir(tmp_path)
    return {
        "PATH": f"{command.parent}:{os.environ['PATH']}",
        "PYTHONPATH": str(Path(cfgmigrate.__file__).parents[1]),
        "HOME": str(tmp_path),
        "TERM": "dumb",
        "LC_ALL": "C.UTF-8",
        "PS1": "",
    }


def typed(arguments: list[str], environment: Mapping[str, str], begin: str, text: str) -> str:
    """What stands on a shell's line after `text` and the Tab key, typed on a terminal."""
    import fcntl
    import pty
    import termios

    ours, theirs = pty.openpty()
    run = subprocess.Popen(
        arguments,
        env=dict(environment),
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
        preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
    )
    os.close(theirs)
    seen = ""
    try:
        seen = _until(ours, f"{begin}; echo rea''dy\r", "ready")
        # Tab, then to the line's start: what stands there is put between marks instead of being run
        seen = _until(ours, f"{text}\t\x01echo '<''<' \x05'>''>'\r", r"<< (.*?) *>>")
    finally:
        run.kill()
        run.wait()
        os.close(ours)
    found = re.search(r"^<< (.*?) *>>", seen, re.MULTILINE)
    assert found, seen
    return found[1]


def _until(terminal: int, text: str, wanted: str) -> str:
    os.write(terminal, text.encode())
    seen, end = "", time.monotonic() + PATIENCE
    while not re.search(f"^{wanted}", seen.replace("\r", "\n"), re.MULTILINE):
        assert time.monotonic() < end, seen
        seen += os.read(terminal, 4096).decode("utf-8", "replace")
    return seen.replace("\r", "\n")


@pytest.mark.parametrize("what", TYPED)
def test_bash_completes(what: str, desk: Mapping[str, str]) -> None:
    text, whole = TYPED[what]
    assert typed([shell("bash"), "--norc", "--noprofile", "-i"], desk, LINES["bash"], text) == whole


@pytest.mark.parametrize("what", TYPED)
def test_zsh_completes(what: str, desk: Mapping[str, str]) -> None:
    text, whole = TYPED[what]
    begin = f"bindkey -e; autoload -Uz compinit; compinit -u -D; {LINES['zsh']}"
    assert typed([shell("zsh"), "-f", "-i"], desk, begin, text) == whole


@pytest.mark.parametrize("what", TYPED)
def test_fish_completes(what: str, desk: Mapping[str, str]) -> None:
    text, whole = TYPED[what]
    line = f"{LINES['fish']}; complete -C {shlex.quote(text)}"
    done = subprocess.run(
        [shell("fish"), "--no-config", "-c", line], env=dict(desk), text=True, capture_output=True, check=True
    )
    offered = [words.split("\t")[0] for words in done.stdout.splitlines()]
    assert [text.rpartition(" ")[0] + " " + word for word in offered] == [whole]


def test_every_command_is_offered_with_what_it_does(desk: Mapping[str, str]) -> None:
    line = f"{LINES['fish']}; complete -C 'cfgmigrate '"
    done = subprocess.run(
        [shell("fish"), "--no-config", "-c", line], env=dict(desk), text=True, capture_output=True, check=True
    )
    offered = dict(words.split("\t") for words in done.stdout.splitlines())
    assert set(offered) == set(COMMANDS)
    assert all(offered.values())


def test_the_lines_stand_in_the_help() -> None:
    for line in LINES.values():
        assert line in COMPLETION
