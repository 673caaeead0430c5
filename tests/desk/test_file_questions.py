"""What the terminal asks about the files is asked in the second room, and kept where the terminal keeps it."""

from __future__ import annotations

import io
import re
import shutil
from pathlib import Path

import pytest
from commandline import Runner
from deskbench import SAMPLES, Answer, Browser, browser_of

from cfgmigrate.desk.session import Desk


def lay(folder: Path) -> Path:
    """Lapwing, where of two filaments nothing says what they are made of."""
    shutil.copytree(SAMPLES / "lapwing", folder / "lapwing")
    for path in (folder / "lapwing" / "reels").glob("*.conf"):
        text = path.read_text()
        if path.stem in ("petg_clear", "asa_green"):
            for word in ("petg", "asa", "PETG", "ASA"):
                text = text.replace(word, "spool")
            path.unlink()
            path.with_name(f"spool_{path.stem.rpartition('_')[2]}.conf").write_text(text)
    return folder / "lapwing"


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    return browser_of(Desk(lay(tmp_path), tmp_path))


def form(page: Answer, where: str) -> dict[str, str]:
    found = re.search(rf'understood/{where}".*?</form>', page.text, re.DOTALL)
    assert found, page.main
    return dict(re.findall(r'type="hidden" name="(stamp|question)" value="([^"]*)"', found[0]))


def test_answers_and_materials_are_kept_as_the_terminal_keeps_them(
    tmp_path: Path, browser: Browser, cli: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = browser.get("understood")
    assert "RMS or peak" in page.main and "What are these filaments made of?" in page.main
    kept = browser.post("understood/question", {**form(page, "question"), "answer": "1"})
    assert "The files were read again" in kept.said
    assert "understood/question" not in kept.text
    said = {**form(kept, "materials"), "material-0": "PETG", "material-1": "ASA"}
    done = browser.post("understood/materials", said)
    assert "Kept: " in done.said and "What are these filaments" not in done.main
    (tmp_path / "other").mkdir()
    lay(tmp_path / "other")
    monkeypatch.chdir(tmp_path / "other")
    monkeypatch.setattr("sys.stdin", io.StringIO("2\nPETG ASA\nstop\n"))
    assert cli("sheet", "lapwing", "--ask", "-o", "swap.yaml").status == 0
    for name in ("lapwing/cfgmigrate.yaml", "swap.yaml"):
        there = [(place / name).exists() for place in (tmp_path, tmp_path / "other")]
        assert there[0] == there[1], name
        if there[0]:
            assert (tmp_path / name).read_bytes() == (tmp_path / "other" / name).read_bytes()


def test_what_nobody_knows_is_not_asked_again_and_no_site_file_is_written(
    tmp_path: Path, browser: Browser
) -> None:
    page = browser.get("understood")
    page = browser.post("understood/question", {**form(page, "question"), "answer": "not known"})
    page = browser.post(
        "understood/materials",
        {**form(page, "materials"), "material-0": "not known", "material-1": "not known"},
    )
    assert "understood/question" not in page.text and "understood/materials" not in page.text
    assert not (tmp_path / "lapwing" / "cfgmigrate.yaml").exists()


@pytest.mark.parametrize("said", [{"answer": "9"}, {"answer": ""}, {"question": "no such", "answer": "0"}])
def test_what_is_no_answer_writes_nothing(tmp_path: Path, browser: Browser, said: dict[str, str]) -> None:
    page = browser.get("understood")
    assert browser.post("understood/question", {**form(page, "question"), **said}).status == 422
    assert (
        browser.post("understood/materials", {**form(page, "materials"), "material-0": "glass"}).status == 422
    )
    assert not (tmp_path / "lapwing" / "cfgmigrate.yaml").exists() and not (tmp_path / "swap.yaml").exists()


def test_materials_go_to_the_filaments_that_were_shown(tmp_path: Path, browser: Browser) -> None:
    page, reels = browser.get("understood"), tmp_path / "lapwing" / "reels"
    spool = next(reels.glob("spool_*.conf"))
    (reels / "a_spool.conf").write_text(spool.read_text())
    found = browser.post("understood/materials", {**form(page, "materials"), "material-0": "ASA"})
    assert found.status == 409 and "somebody changed this" in found.main
    assert not (tmp_path / "lapwing" / "cfgmigrate.yaml").exists() and not (tmp_path / "swap.yaml").exists()
