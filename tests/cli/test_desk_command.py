"""The command that opens the desk: it says where it is, ends by itself, and refuses what it can't be opened for."""

from __future__ import annotations

import shutil
import socket
from pathlib import Path

import pytest
from commandline import Runner

SAMPLES = Path(__file__).parents[2] / "sample_configs"


@pytest.fixture
def config(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SAMPLES / "wren", tmp_path / "wren"))


def test_it_says_its_address_and_ends_when_nobody_uses_it(cli: Runner, config: Path, tmp_path: Path) -> None:
    said = cli("desk", config, "--work", tmp_path, "--no-browser", "--idle", "0.005")
    assert said.status == 0 and "http://127.0.0.1:" in said.out and "so it ended" in said.out
    assert sorted(path.name for path in tmp_path.iterdir()) == ["wren"], "it wrote something"


def test_what_is_no_folder_is_refused(cli: Runner, config: Path, tmp_path: Path) -> None:
    for given in (tmp_path / "nothing", config / "feed.conf"):
        said = cli("desk", given, "--no-browser")
        assert said.status == 2 and "folder" in said.err


def test_a_part_of_a_configuration_is_refused_with_the_whole_named(cli: Runner, tmp_path: Path) -> None:
    whole = Path(shutil.copytree(SAMPLES / "lapwing", tmp_path / "lapwing"))
    (whole / "cfgmigrate.yaml").write_text("site: 1\n")
    said = cli("desk", whole / "reels", "--no-browser")
    assert said.status == 3 and str(whole) in said.err


def test_a_port_that_is_taken_is_told(cli: Runner, config: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        said = cli("desk", config, "--no-browser", "--port", str(taken.getsockname()[1]))
    assert said.status == 3 and "can't be had" in said.err
