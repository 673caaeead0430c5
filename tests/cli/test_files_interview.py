"""The first part of the interview: what the files leave open is asked once, and kept where it belongs."""

from __future__ import annotations

import io
import shutil
from pathlib import Path

import pytest
from commandline import Runner

from cfgmigrate import api
from cfgmigrate.files.site_reading import site_at

ROOT = Path(__file__).parents[2]


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(ROOT / "sample_configs" / "lapwing", tmp_path / "lapwing")
    for path in (tmp_path / "lapwing" / "reels").glob("*.conf"):
        text = path.read_text()
        if path.stem in ("petg_clear", "asa_green"):
            for word in ("petg", "asa", "PETG", "ASA"):
                text = text.replace(word, "spool")
            path.unlink()
            path.with_name(f"spool_{path.stem.rpartition('_')[2]}.conf").write_text(text)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def talked(cli: Runner, monkeypatch: pytest.MonkeyPatch, *lines: str) -> str:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    said = cli("sheet", "lapwing", "--ask", "-o", "swap.yaml")
    assert said.status == 0, said.err
    return said.out


def silent() -> list[str]:
    from cfgmigrate.machine.site_questions import silent_filaments

    return [each.holder.name for each in silent_filaments(api.read_machine(["lapwing"])[1])]


def test_an_answer_of_one_key_goes_into_the_site_file_and_is_not_asked_again(
    cli: Runner, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = talked(cli, monkeypatch, "what", "2", "PETG ASA", "stop")
    assert "RMS or peak" in out and "1 of 1, about the files: feed.conf:14" in out
    found = next(
        each for each in api.read_machine(["lapwing"])[1].readings if each.quantity == "motor.run_current"
    )
    assert found.value == pytest.approx(0.74 / 2**0.5, rel=1e-3)
    assert "about the files" not in talked(cli, monkeypatch, "stop")


def test_materials_are_one_table_and_go_to_the_files_that_they_are_of(
    cli: Runner, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = silent()
    assert len(names) == 2
    out = talked(cli, monkeypatch, "1", "petg", "no such stuff", "ASA", "stop")
    assert f"{names[0]}: PETG" in out and "! " in out
    assert {each.material for each in site_at(desk / "lapwing").profiles} == {"PETG", "ASA"}
    assert not silent()


def test_what_nobody_knows_stays_open_and_is_not_asked_again_and_what_is_put_off_is(
    cli: Runner, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    talked(cli, monkeypatch, "don't know", "- -", "stop")
    assert not (desk / "lapwing" / "cfgmigrate.yaml").exists()
    assert "about the files" not in talked(cli, monkeypatch, "stop").casefold()
    (desk / "swap.yaml").unlink()
    talked(cli, monkeypatch, "later", "later", "stop")
    assert "about the files" in talked(cli, monkeypatch, "stop")


def test_the_way_back_goes_beyond_the_session_to_the_first_answer(
    cli: Runner, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    talked(cli, monkeypatch, "1", "PETG ASA", "1", "don't know", "stop")
    out = talked(cli, monkeypatch, "back", "back", "back", "stop")
    asked = [line.partition(">")[0] for line in out.splitlines() if "> " in line]
    assert asked[1] != asked[2] and "There is nothing to go back to" in out
    text = (desk / "swap.yaml").read_text()
    assert "tube-fed" not in text and "not known" not in text and "machine: lapwing" in text


def test_a_slip_asks_for_what_takes_a_multimeter_with_its_cautions_and_not_for_what_is_known(
    cli: Runner, desk: Path
) -> None:
    said = cli("sheet", "lapwing", "--slip")
    assert "new.motor.winding_resistance: ___" in said.out and "unplugged" in said.out
    assert "tube" not in said.out and max(map(len, said.out.splitlines())) <= 78
    Path("swap.yaml").write_text("new: {motor: {winding_resistance: 2.1 ohm}}\n")
    assert "new.motor.winding_resistance" not in cli("sheet", "lapwing", "--slip").out


def test_nothing_said_twice_puts_the_materials_off(
    cli: Runner, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = talked(cli, monkeypatch, "1", "", "", "stop")
    assert out.count(f"{silent()[0]} …> ") == 2
    assert len(silent()) == 2, "nothing was said of either"


def test_a_question_mark_or_a_word_that_is_no_plastic_is_answered_with_what_is_asked_for(
    desk: Path, cli: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = " ".join(talked(cli, monkeypatch, "1", "?", "rubber", "stop").split())
    assert said.count("most often TPU") == 2 and "'?' is not" not in said


@pytest.mark.parametrize(
    ("text", "role", "refused"),
    [
        ("stuff: TPU\nand then I wrote\n# so\n  hello: there\npull back  6.0\nI did so\n", "profile", True),
        (
            "stuff: TPU\nand then I wrote\n# so\n  hello: there\npull back  6.0\nI did so\n",
            "no configuration",
            False,
        ),
        ("name  clear\nhot  238\npull  3600 um\nhop  0.2 mm\n", "profile", False),
    ],
)
def test_an_answer_that_the_program_would_refuse_is_not_kept(
    tmp_path: Path, text: str, role: str, refused: bool
) -> None:
    """A text that reads as none of the dialects can't be taken as a profile: what is prepared would be refused for it."""
    from cfgmigrate.files.configuration import open_configuration
    from cfgmigrate.workflow.site import can_not_be_read

    (tmp_path / "machine.txt").write_text("[filament drive]\nsteps one mm = 92.6\npull back = 6.0\n")
    (tmp_path / "tpu.notes").write_text(text)
    found = can_not_be_read(open_configuration([tmp_path]), {"roles": {"tpu.notes": role}})
    assert bool(found) is refused
