"""Whatever a command writes where it is told: no file of the user's is written over, and no place brings a defect."""

from __future__ import annotations

from pathlib import Path

import pytest
from commandline import Runner

SAMPLES = Path(__file__).parents[2] / "sample_configs"
WREN, SHEET = SAMPLES / "wren", SAMPLES / "sheets" / "wren.yaml"
WRITES = {
    "compare --markdown": ["compare", WREN, WREN, "--markdown"],
    "compare --page": ["compare", WREN, WREN, "--page"],
    "report": ["report", WREN, "-o"],
    "sheet": ["sheet", WREN, "-o"],
    "tune --starter": ["tune", WREN, "--starter"],
    "trial": ["trial", "feed", WREN, "--sheet", SHEET, "-o"],
    "trial --page": ["trial", "feed", WREN, "--sheet", SHEET, "-o", "new.nc", "--page"],
}


@pytest.mark.parametrize("command", WRITES)
def test_a_place_that_can_not_be_written_is_one_clear_error(
    command: str, cli: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    mine = tmp_path / "mine.html"
    mine.write_text("mine")
    for place in (mine, mine / "below.html", Path("/proc/none.html")):
        said = cli(*WRITES[command], place)
        assert said.status == 3, (place, said)
    assert mine.read_text() == "mine"


def test_a_demo_that_has_no_place_is_one_clear_error(cli: Runner) -> None:
    said = cli("demo", "/proc/none")
    assert said.status == 3 and "Name another folder" in said.err
