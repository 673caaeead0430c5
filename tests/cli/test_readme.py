"""The README's session is real: each of its commands is run, in order, and prints what the README shows.

In a block marked `console` a line that begins with `$ ` is a command, what follows is its output, and `[…]`
stands for lines left out. `python tests/cli/test_readme.py` puts the present output into the README: every
stretch that is shown keeps its first line and its length.
"""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import chdir, redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import pytest

from cfgmigrate.cli import COMMANDS, run
from cfgmigrate.dialects import DIALECTS

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
BLOCK = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LEFT_OUT = "[…]"


def steps(text: str) -> Iterator[tuple[str, list[str]]]:
    """Every command of the session with the lines that are shown below it."""
    for block in BLOCK.findall(text):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, *shown = part.rstrip("\n").split("\n")
            yield command, shown


def output(command: str) -> list[str]:
    """What a command prints, here and now, without blank lines at both ends and trailing blanks."""
    words = shlex.split(command, comments=True)
    if words[0] == "cfgmigrate":
        shown = StringIO()
        with redirect_stdout(shown), redirect_stderr(shown):
            run(words[1:])
        text = shown.getvalue()
    else:
        done = subprocess.run(
            ["sh", "-c", command],
            text=True,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            check=False,
        )
        text = done.stdout
    return [line.rstrip() for line in text.strip("\n").split("\n")]


def stretches(shown: list[str]) -> list[list[str]]:
    """The lines shown, parted where some were left out."""
    found: list[list[str]] = [[]]
    for line in shown:
        if line == LEFT_OUT:
            found.append([])
        else:
            found[-1].append(line)
    return [stretch for stretch in found if stretch]


def present(shown: list[str], real: list[str]) -> list[str]:
    """The stretches that are shown, as they are now: from the same first line on, equally long."""
    made: list[str] = []
    reached = 0
    for stretch in stretches(shown):
        start = real.index(stretch[0], reached) if stretch[0] in real[reached:] else reached
        if start > reached:
            made.append(LEFT_OUT)
        reached = min(start + len(stretch), len(real))
        made += real[start:reached]
    return made + ([LEFT_OUT] if reached < len(real) and any(real[reached:]) else [])


def prepare_desk(folder: Path) -> None:
    """A folder in which the session can be run as in a fresh clone."""
    shutil.copytree(ROOT / "sample_configs", folder / "sample_configs")


def command_lines() -> list[str]:
    return re.findall(r"^python3 -m venv .*$", README.read_text(encoding="utf-8"), re.MULTILINE)


@pytest.mark.skipif(shutil.which("patch") is None, reason="GNU patch is not on this machine")
@pytest.mark.skipif(sys.platform == "win32", reason="the session is one of a POSIX shell")
def test_every_command_of_the_session_prints_what_is_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    prepare_desk(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("COLUMNS", raising=False)
    session = list(steps(README.read_text(encoding="utf-8")))
    assert {command.split()[1] for command, _ in session if command.startswith("cfgmigrate")} >= {
        "survey",
        "sheet",
        "prepare",
        "verify",
        "install",
        "revert",
    }
    for command, shown in session:
        real = output(command)
        # for a quick look at what has changed: python tests/cli/test_readme.py
        assert present(shown, real) == shown or (shown == [] and real == [""]), command


def test_the_script_in_the_readme_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(ROOT / "sample_configs" / "dunlin", tmp_path / "dunlin")
    shutil.copyfile(ROOT / "sample_configs" / "sheets" / "dunlin.yaml", tmp_path / "swap.yaml")
    monkeypatch.chdir(tmp_path)
    (script,) = re.findall(
        r"^```python\n(.*?)^```$", README.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL
    )
    exec(compile(script, "README.md", "exec"), {})
    assert "feeder.steps_per_mm 202.0 -> 775.0" in capsys.readouterr().out
    for path in (ROOT / "sample_configs" / "dunlin").iterdir():
        assert (tmp_path / "dunlin" / path.name).read_bytes() == path.read_bytes()


def test_two_commands_set_everything_up_one_for_the_demo_and_one_for_the_tests() -> None:
    demo, tests = command_lines()
    assert demo.endswith("cfgmigrate demo")
    assert "pytest" in tests
    for line in (demo, tests):
        assert line.startswith("python3 -m venv .venv && .venv/bin/pip install")


def test_the_check_before_a_change_lands_runs_the_readmes_test_command() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    found = re.search(r"grep -m 1 -E '([^']+)' README\.md", script)
    assert found
    assert [line for line in command_lines() if re.match(found[1], line)] == command_lines()[1:]


def test_every_command_named_in_the_readme_is_there() -> None:
    text = README.read_text(encoding="utf-8")
    named = set(re.findall(r"`cfgmigrate ([a-z]+)", text))
    assert named
    assert named <= set(COMMANDS)


def test_the_readme_is_read_in_a_few_minutes_and_the_evidence_stands_elsewhere() -> None:
    assert len(README.read_bytes()) <= 9 * 1024
    evidence = (ROOT / "tests" / "README.md").read_text(encoding="utf-8")
    for dialect in DIALECTS:
        assert re.search(rf"^\| {dialect} \|(?: [\d.]+ %? ?\|){{4}}$", evidence, re.MULTILINE), dialect


def refresh(folder: Path) -> None:
    """Put what the commands print now into the README."""
    prepare_desk(folder)
    text = README.read_text(encoding="utf-8")
    with chdir(folder):
        made = {command: present(shown, output(command)) for command, shown in steps(text)}

    def block(found: re.Match[str]) -> str:
        inner = "".join(
            f"$ {command}\n" + "".join(f"{line}\n" for line in made[command] if made[command] != [""])
            for command, _ in steps(found[0])
        )
        return f"```console\n{inner}```"

    README.write_text(BLOCK.sub(block, text), encoding="utf-8")


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as place:
        refresh(Path(place))
