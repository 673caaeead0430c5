"""A command loads the libraries that it works with, and no others: that is most of what it takes to start."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import cfgmigrate
from cfgmigrate.cli import COMMANDS

ROOT = Path(cfgmigrate.__file__).parents[1]
#: the libraries that the program depends on, and what they stand for
TABLES, SHEETS = {"lark"}, {"ruamel.yaml"}
#: what every command reads and writes values with; only --help and --version do nothing of the kind
DATA = {"msgspec"}
#: what works values out, which to look at files needs nothing of
ENGINE = "cfgmigrate.rules.engine"
TERMINAL, PAGES = {"rich.console", "rich.cells"}, {"jinja2"}
WATCHED = [
    "lark",
    "ruamel.yaml",
    "jinja2",
    "deepdiff",
    "pint",
    "uncertainties",
    "rich.console",
    "rich.cells",
    ENGINE,
    "msgspec",
    "matplotlib",
    "asyncio",
    "starlette",
    "uvicorn",
]
RULES = TABLES | SHEETS | {"uncertainties"}
PACKET = RULES | PAGES | {"asyncio"}  # asyncio comes with jinja2

#: what a command may load, by a command line that does its work; the folder has `wren`, `swap.yaml`, `measured.yaml`
#: and, installed or not, `packet`
ALLOWED = {
    "--help": set(),
    "--version": set(),
    "survey wren": TABLES,
    "survey wren --json": TABLES,
    "sheet wren": RULES,
    "sheet wren --all": TABLES,
    "sheet wren --ask": RULES | TERMINAL,
    "desk wren --no-browser --idle 0.01": PAGES | {"asyncio", "starlette", "uvicorn"},
    "prepare wren --sheet swap.yaml -o another": PACKET,
    "prepare wren --sheet swap.yaml -o another --json": PACKET,
    "review packet --as Nobody": TERMINAL,
    "install packet --dry-run": TERMINAL | TABLES,
    "revert packet --dry-run": TERMINAL | TABLES,
    "history wren": TERMINAL,
    "verify packet": PACKET | {"pint"},
    "compare wren wren": TABLES,
    "compare wren wren --json": TABLES,
    "explain": TABLES | TERMINAL,
    "explain feeder.steps_per_mm": TABLES | TERMINAL,
    "status wren": RULES,
    "guide": TABLES,
    "guide wren --seen clicks": RULES | TERMINAL,
    "trial feed wren -o feed.nc": RULES,
    "trial feed wren -o feed.nc --page feed.html": RULES | PAGES | {"asyncio"},
    "tune wren --measured measured.yaml --sheet swap.yaml -o tuned": PACKET,
    "report wren": TABLES | PAGES | {"asyncio"},
    "demo shown": PACKET | TERMINAL | {"pint"},
}
LOOK = f"""
import atexit, sys
atexit.register(lambda: print("loaded:", *(name for name in {WATCHED!r} if name in sys.modules), file=sys.stderr))
from cfgmigrate.cli import main
main()
"""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder where every command line has what it asks for, and where each has run before."""
    folder = tmp_path_factory.mktemp("loads")
    shutil.copytree(ROOT / "sample_configs" / "wren", folder / "wren")
    shutil.copy(ROOT / "sample_configs" / "sheets" / "wren.yaml", folder / "swap.yaml")
    (folder / "measured.yaml").write_text("measured:\n  z: {highest: 250 mm}\n", encoding="utf-8")
    run(folder, "prepare wren --sheet swap.yaml -o packet")
    run(folder, "tune wren --starter measured.yaml --measured measured.yaml -o tuned")
    for line in ("explain", "guide"):  # so that their tables, too, are compiled in a fresh checkout
        run(folder, line)
    return folder


def run(folder: Path, line: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", LOOK, *line.split()],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("line", ALLOWED)
def test_a_command_loads_what_it_works_with(line: str, place: Path) -> None:
    for made in ("another", "tuned", "shown"):
        shutil.rmtree(place / made, ignore_errors=True)
    ended = run(place, line)
    assert "Traceback" not in ended.stderr
    said = ended.stderr.rpartition("loaded:")[2]
    loaded = set(said.split()) - (set() if line.startswith("survey") else {ENGINE})
    assert loaded <= ALLOWED[line] | (set() if line.startswith("--") else DATA), ended.stderr


def test_every_command_is_looked_at() -> None:
    assert {line.split()[0] for line in ALLOWED} - {"--help", "--version"} == set(COMMANDS)


@pytest.mark.parametrize("line", [f"{name} --help" for name in COMMANDS])
def test_the_help_of_a_command_loads_nothing(line: str, place: Path) -> None:
    assert run(place, line).stderr.rpartition("loaded:")[2].strip() == ""
