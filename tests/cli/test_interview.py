"""The interview in a real terminal: several kinds of people, stopped anywhere, and the sheet that they end with."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from types import SimpleNamespace

import pexpect
import pytest

from cfgmigrate import api
from cfgmigrate.cli import interview
from cfgmigrate.cli.next_step import next_steps
from cfgmigrate.plan.interview import FIRST_PACKET, SURER, SheetQuestion
from cfgmigrate.plan.unlocking import Unlock, Workings
from cfgmigrate.rules import library
from cfgmigrate.rules.result import Derivation, Result, Status
from cfgmigrate.sheet.keeping import open_kept
from cfgmigrate.sheet.reader import read_sheet
from cfgmigrate.sheet.schema import ANY_TIME, MOUNTED, sheet_schema

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_configs"
MOST_ANSWERS = 12
PROMPT = re.compile(
    r"(?P<path>(?:old|new|carriage|clearance|filament|surroundings|machine|controller|nozzle|hot|probe|drives|less)[\w.]*)>(?: |\x1b)"
)
END, QUESTION = "Go on with: cfgmigrate (?:sheet|prepare)", r"\d+ of about \d+, ([^\r\n(]*)"
STOP_AT_FIRST_PACKET = "to be surer"
UNKNOWN = "don't know"

Person = Callable[[str, int], str]
"""What a person says to the question for a field; the number says how often that was asked."""


def sheet_of(name: str) -> dict[str, str]:
    """What a person says to each question, by what the sample's sheet says; a question of several fields in one line."""
    schema = sheet_schema()
    read = read_sheet(SAMPLES / "sheets" / f"{name}.yaml")
    said = {path: entry.text for path, entry in read.entries.items()}
    if said.get("carriage.height_as_before") == "yes":
        said |= {"carriage.nozzle_shift.z": "0 mm", "carriage.probe_shift.z": "0 mm"}
    for called, fields in schema.together.items():
        parts = [said.get(path, "?") for path in fields]
        if set(parts) != {"?"}:
            said[called] = " ".join(parts) if schema.fields[fields[0]].numeric else ", ".join(parts)
    stays = {truth for truth in schema.as_before if said.get(truth) == "yes"}
    return {
        **{path: "as before" for truth in stays for path in schema.as_before[truth]},
        **said,
    }


def careful(said: Mapping[str, str]) -> Person:
    return lambda path, _: said.get(path, UNKNOWN)


def sloppy(said: Mapping[str, str]) -> Person:
    """Bare numbers with a comma, slips and questions first."""

    def answer(path: str, times: int) -> str:
        if times == 1:
            return "?"
        if times == 2:
            return "what a day"
        text = said.get(path, UNKNOWN)
        return re.sub(r"(-?\d+)\.(\d+) (?:mm|A|g|deg|ohm)\b", r"\1,\2", text)

    return answer


def undecided(said: Mapping[str, str]) -> Person:
    """Puts everything off once, and then knows it."""
    return lambda path, times: "later" if times == 1 else said.get(path, UNKNOWN)


def estimating(said: Mapping[str, str]) -> Person:
    """Knows numbers only roughly."""
    return lambda path, _: (
        f"about {said[path]}"
        if re.fullmatch(r"\d+(\.\d+)? mm", said.get(path, ""))
        else said.get(path, UNKNOWN)
    )


def without_papers(said: Mapping[str, str]) -> Person:
    """Has a rule and scales, and nothing of any maker."""
    return lambda path, _: UNKNOWN if ".motor.r" in path or ".driver." in path else said.get(path, UNKNOWN)


PEOPLE = {
    "careful": careful, "sloppy": sloppy, "undecided": undecided, "estimating": estimating,
    "without papers": without_papers,
}  # fmt: skip


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("plover", "dunlin"):
        shutil.copytree(SAMPLES / name, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def started(name: str, term: str = "dumb") -> pexpect.spawn:
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": term, "NO_COLOR": "1"}
    arguments = ["-m", "cfgmigrate", "sheet", name, "--ask"]
    return pexpect.spawn(
        sys.executable, arguments, env=env, encoding="utf-8", dimensions=(24, 80), timeout=120
    )


def talked(
    name: str, person: Person, kill_at: int = 0, times: dict[str, int] | None = None
) -> tuple[bool, list[str]]:
    """One session, until the first packet may be made, or killed at a question: whether it came to its end, and the
    fields that were asked for."""
    talk, asked, stage = started(name), [], ""
    times = {} if times is None else times
    try:
        while True:
            found = talk.expect([END, QUESTION, PROMPT])
            if found == 0:
                return True, asked
            if found == 1:
                stage = talk.match.group(1)
                continue
            path = talk.match.group("path")
            asked.append(path)
            if len(asked) == kill_at:
                talk.kill(signal.SIGKILL)
                return False, asked
            times[path] = times.get(path, 0) + 1
            talk.sendline("stop" if stage.startswith(STOP_AT_FIRST_PACKET) else person(path, times[path]))
            talk.readline()  # what was typed, as the terminal shows it
    finally:
        talk.close(force=True)


def unknown_lights(name: str) -> set[str]:
    plan = api.work_out([name], "swap.yaml").plan
    return {light.name for light in plan.lights if light.state == "unknown"}


@pytest.mark.exhaustive
@pytest.mark.parametrize(("kind", "name"), [*((kind, "plover") for kind in PEOPLE), ("careful", "dunlin")])
def test_every_kind_of_person_comes_to_a_packet_where_the_facts_allow_it(
    kind: str, name: str, desk: Path
) -> None:
    said = sheet_of(name)
    done, asked = talked(name, PEOPLE[kind](said))
    *first_packet, _ = dict.fromkeys(asked)
    answered = [path for path in first_packet if PEOPLE[kind](said)(path, 3) != UNKNOWN]
    assert done and len(answered) <= MOST_ANSWERS
    if kind == "careful":
        assert len(first_packet) <= MOST_ANSWERS
    if kind == "without papers":
        assert unknown_lights(name) == {"current"}
    else:
        assert not unknown_lights(name)


@pytest.mark.exhaustive
def test_killed_at_every_question_it_goes_on_to_the_same_sheet(desk: Path) -> None:
    said = sheet_of("plover")
    _, asked = talked("plover", careful(said))
    whole = Path("swap.yaml").read_bytes()
    Path("swap.yaml").unlink()
    times: dict[str, int] = {}
    for _ in range(len(asked)):
        # one answer a session, and killed at the question behind it
        done, _ = talked("plover", careful(said), kill_at=2, times=times)
        if done:
            break
    assert talked("plover", careful(said), times=times)[0]
    assert Path("swap.yaml").read_bytes() == whole


@pytest.mark.exhaustive
def test_a_terminal_that_can_edit_lines_comes_to_the_same_sheet(desk: Path) -> None:
    said = sheet_of("plover")
    talked("plover", careful(said))
    whole = Path("swap.yaml").read_bytes()
    Path("swap.yaml").unlink()
    talk = started("plover", "xterm")
    stage = ""
    while talk.expect([END, QUESTION]) == 1:
        stage = talk.match.group(1)
        talk.expect(PROMPT)
        path = talk.match.group("path")
        talk.send(("stop" if stage.startswith(STOP_AT_FIRST_PACKET) else said.get(path, UNKNOWN)) + "\r")
    talk.close(force=True)
    assert Path("swap.yaml").read_bytes() == whole


@pytest.mark.parametrize("how", ["c", "d"])
def test_an_interrupted_interview_has_kept_what_was_said(how: str, desk: Path) -> None:
    talk = started("plover")
    talk.expect(PROMPT)
    path = talk.match.group("path")
    talk.sendline(sheet_of("plover")[path])
    talk.expect(QUESTION)
    talk.expect(PROMPT)
    talk.sendcontrol(how)
    talk.expect(pexpect.EOF)
    talk.close()
    fields = sheet_schema().together.get(path, (path,))
    assert {*fields} <= read_sheet(Path("swap.yaml")).entries.keys() and "Traceback" not in talk.before


def test_lines_of_a_pipe_are_answers_one_by_one_and_the_end_is_no_error(desk: Path) -> None:
    lines = "?\nback\nnonsense\n1\n310\n"
    ended = subprocess.run(
        [sys.executable, "-m", "cfgmigrate", "sheet", "plover", "--ask", "-o", "mine.yaml"],
        env={**os.environ, "PYTHONPATH": str(ROOT)}, input=lines, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ended.returncode == 0 and "taken as 310" in ended.stdout and "\x1b" not in ended.stdout
    assert all(len(line) <= 80 for line in ended.stdout.splitlines())
    assert len(read_sheet(Path("mine.yaml")).entries) == 4


@pytest.mark.exhaustive
def test_prepare_offers_to_ask_for_what_is_missing(desk: Path) -> None:
    Path("swap.yaml").write_text("new: {drive: on the carriage}\n")
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "dumb", "NO_COLOR": "1"}
    line = ["-m", "cfgmigrate", "prepare", "plover", "--sheet", "swap.yaml", "-o", "packet"]
    talk = pexpect.spawn(sys.executable, line, env=env, encoding="utf-8", dimensions=(24, 80), timeout=120)
    talk.expect(r"\[y/N\]")
    talk.sendline("y")
    talk.expect(PROMPT)
    talk.sendline("stop")
    talk.expect(END)
    talk.expect(pexpect.EOF)
    talk.close()
    assert talk.exitstatus == 0 and Path("packet/changes.json").exists()


def test_what_is_left_is_not_asked_for_ever_where_it_is_put_off_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    field = sheet_schema().fields["new.tube.length"]
    left = SheetQuestion(field, FIRST_PACKET, MOUNTED, Unlock(field.path), 1)
    monkeypatch.setattr(interview, "_next", lambda bench, kept: left)
    asked: list[str] = []

    def later(prompt: str) -> str:
        asked.append(prompt)
        return "later"

    kept = interview.interview(None, open_kept(tmp_path / "swap.yaml", "Stint"), "stint", later)  # type: ignore[arg-type]
    assert len(asked) == 2 and "put off twice" in capsys.readouterr().out
    assert set(kept.later) == {field.path}


@pytest.mark.parametrize(("length", "told"), [(-9.0, True), (62.0, False)])
def test_a_length_that_can_t_be_is_told_as_such(
    length: float, told: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    way = Derivation("old.path_length", "", (), "")
    found = Result(
        "feeder.load_length", "feeder.load_length", "load length", "mm", length, 0.4, Status.ESTIMATE, "", way
    )
    interview._follows((found,))
    assert ("which can't be" in capsys.readouterr().out) is told


def test_where_a_light_stays_unknown_the_line_in_the_way_and_what_nobody_knew_are_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "tern.conf").write_text(
        "axis_x_max = 200\naxis_y_max = 200\nfeeder_gear_ratio = none, wheel sits on the motor\nfeeder_run_current = 0.9 A\n"
    )
    machine = api.read_machine([tmp_path])[1]
    bench = Workings(library.book(), machine, library.tables())
    (tmp_path / "swap.yaml").write_text("old: {drive: tube-fed}\nnew: {drive: on the carriage}\n")
    interview.interview(bench, open_kept(tmp_path / "swap.yaml", "Tern"), "tern", lambda prompt: "don't know")
    told = " ".join(capsys.readouterr().out.rpartition("Nothing more to ask")[2].split())
    assert "feed: " in told and "tern.conf:3" in told
    assert "new.motor.rated_current, left open here, would settle: current" in told


@pytest.mark.parametrize(("next_one", "again"), [(None, True), (SURER, True), (FIRST_PACKET, False)])
def test_what_nobody_knew_and_a_light_hangs_on_is_asked_again_by_the_next_sitting(
    next_one: str | None, again: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once all else for a first packet is said, and only what a light hangs on, with what is asked in the same breath."""
    (tmp_path / "tern.conf").write_text("[axis z]\nhighest spot = 180\n[feeder]\nturn length = 22.9\n")
    bench = Workings(library.book(), api.read_machine([tmp_path])[1], library.tables())
    shift = [f"carriage.nozzle_shift.{axis}" for axis in "xyz"]
    notes = f"# not known: {', '.join([*shift, 'carriage.old_mass'])}\n"
    path = tmp_path / "swap.yaml"
    path.write_text(
        f"old: {{drive: tube-fed}}\nnew: {{drive: on the carriage, feed_per_turn: 4.9 mm}}\n{notes}"
    )
    question = next_one and SimpleNamespace(stage=next_one)
    monkeypatch.setattr(interview, "_next", lambda bench, kept: question)
    kept = interview._asked_again(bench, open_kept(path, "Tern"))
    assert kept.declined == (("carriage.old_mass",) if again else (*shift, "carriage.old_mass"))
    assert (shift[2] in path.read_text()) is not again


@pytest.mark.parametrize(("strange", "told"), [("[deck]\nreach = 305\n", True), ("", False)])
def test_what_no_line_was_read_for_is_said_where_lines_are_left(
    tmp_path: Path, strange: str, told: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "tern.conf").write_text(f"[feeder]\nturn length = 22.9\nretraction length = 4.6\n{strange}")
    bench = Workings(library.book(), api.read_machine([tmp_path])[1], library.tables())
    (tmp_path / "swap.yaml").write_text("old: {drive: tube-fed}\nnew: {drive: on the carriage}\n")
    interview.interview(bench, open_kept(tmp_path / "swap.yaml", "Tern"), "tern", lambda prompt: "don't know")
    said = " ".join(capsys.readouterr().out.rpartition("Nothing more to ask")[2].split())
    assert ("No line was read for the limits of x, the limits of y" in said) is told
    assert ("cfgmigrate survey tern --write-site offers the lines" in said) is told
    assert "a retraction" not in said.partition(". Where")[0]


def test_once_nothing_is_left_to_ask_the_same_command_is_not_what_comes_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "tern.conf").write_text("[feeder]\nturn length = 22.9\nretraction length = 4.6\n")
    bench = Workings(library.book(), api.read_machine([tmp_path])[1], library.tables())
    (tmp_path / "swap.yaml").write_text("old: {drive: tube-fed}\nnew: {drive: on the carriage}\n")
    monkeypatch.setattr(interview, "_next", lambda bench, kept: None)
    interview.interview(bench, open_kept(tmp_path / "swap.yaml", "Tern"), "tern", lambda prompt: "don't know")
    end = " ".join(capsys.readouterr().out.rpartition("Kept in")[2].split())
    assert "Go on with: cfgmigrate prepare tern" in end and "--ask" not in end


@pytest.mark.parametrize("there", [True, False])
def test_nothing_is_said_to_be_kept_in_a_file_that_is_not_there(
    there: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if there:
        (tmp_path / "swap.yaml").write_text("old: {drive: tube-fed}\n")
    interview.tell_how_to_go_on(open_kept(tmp_path / "swap.yaml", "Tern"), "tern")
    said = " ".join(capsys.readouterr().out.split())
    assert said.startswith("Kept in" if there else "Nothing was kept in") and "Go on with: " in said


def test_a_part_that_stays_is_no_part_that_is_not_one_of_the_words(
    capsys: pytest.CaptureFixture[str],
) -> None:
    field = sheet_schema().fields["new.driver.part"]
    question = SheetQuestion(field, FIRST_PACKET, ANY_TIME, Unlock(field.path), 1)
    assert interview._ask(question, 1, lambda prompt: "As before", False) == "don't know"
    assert "The same one as before" in capsys.readouterr().out


@pytest.mark.parametrize(
    "said", ["There is no probe.", "I don’t have a probe", "without a probe", "There isn't one!"]
)
def test_that_there_is_no_probe_is_an_answer_to_where_it_sits(
    said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    field = sheet_schema().fields["carriage.probe_offset.x"]
    question = SheetQuestion(field, FIRST_PACKET, ANY_TIME, Unlock(field.path), 1)
    assert interview._ask(question, 1, lambda prompt: said, False) == "don't know"
    assert "nothing to measure" in capsys.readouterr().out


@pytest.mark.parametrize("asked", [True, False])
def test_the_interview_is_named_as_what_settles_a_light_only_where_an_answer_is_asked_for(
    asked: bool,
) -> None:
    first = next_steps(Path("packet"), ["height"], "cfgmigrate sheet tern --ask", asked=asked)[0]
    assert ("--ask" in first) is asked and ("packet/changes.md" in first) is not asked


def test_a_line_of_the_files_that_may_answer_a_question_stands_beside_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    field = sheet_schema().fields["carriage.old_mass"]
    noted = ("tern.conf:4: [carriage] mass = 385",)
    question = SheetQuestion(field, FIRST_PACKET, ANY_TIME, Unlock(field.path), 1, noted=noted)
    interview._ask(question, 1, lambda prompt: "don't know", False)
    assert "In the files: tern.conf:4: [carriage] mass = 385" in capsys.readouterr().out
