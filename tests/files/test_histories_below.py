"""Folders of several machines, each with its history, are told where somebody asks in the folder above."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from cfgmigrate import api
from cfgmigrate.cli import group
from cfgmigrate.files.histories_below import histories_below
from cfgmigrate.ground.findings import Refused


def with_history(*folders: Path) -> None:
    for folder in folders:
        (folder / ".cfgmigrate").mkdir(parents=True)
        (folder / ".cfgmigrate" / "history.jsonl").write_text('{"format": 1, "entries": 0, "last": ""}\n')


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    with_history(tmp_path / "row" / "wren", tmp_path / "dunlin")
    (tmp_path / "siskin" / ".cfgmigrate").mkdir(parents=True)
    return tmp_path


def test_each_folder_below_that_has_one_is_found_in_order(shop: Path) -> None:
    assert histories_below(shop) == ("dunlin", "row/wren")
    assert histories_below(shop / "dunlin") == ()


def test_hidden_folders_and_packets_are_passed_over(shop: Path) -> None:
    (shop / "packet" / "before").mkdir(parents=True)
    (shop / "packet" / "changes.json").touch()
    with_history(shop / "packet" / "after", shop / ".away" / "wren")
    assert histories_below(shop) == ("dunlin", "row/wren")


def test_where_the_folder_has_one_itself_those_below_are_not_told(shop: Path) -> None:
    with_history(shop)
    assert histories_below(shop) == ()


@pytest.mark.parametrize("command", ["history", "report"])
def test_who_asks_above_is_told_where(shop: Path, command: str) -> None:
    said = " ".join(CliRunner().invoke(group, [command, str(shop)]).output.split())
    assert "There is no history here, but one in dunlin, row/wren" in said


def test_status_above_tells_where(shop: Path) -> None:
    for each in ("dunlin", "row/wren"):
        (shop / each / "machine.conf").write_text("[feeder]\nsteps_per_mm: 96\nmax_speed: 40\n")
    said = " ".join(CliRunner().invoke(group, ["status", str(shop)]).output.split())
    assert "There is no history here, but one in dunlin, row/wren" in said


def test_going_back_above_is_refused_with_where(shop: Path) -> None:
    """Nothing to take back would be a wrong answer."""
    with pytest.raises(Refused, match="dunlin, row/wren"):
        api.revert_to(shop, "start")
    assert api.history(shop).to_json()["below"] == ["dunlin", "row/wren"]
    assert not api.revert_to(shop / "dunlin", "start").files
