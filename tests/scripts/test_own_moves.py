"""Scripts in codes of their owner's own: what the user says of their words makes them scripts like any other."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from commandline import Runner
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.scripts.number_change import scripts_of
from cfgmigrate.scripts.own_moves import feeders_by_letter, read_own_script

FRAME = (
    "[axis z]\nhighest spot = 210\n[feeder]\nturn length = 22.9 mm\n[retraction]\nretraction length = 5.2\n"
)
SWAP = """machine: Plover
old: {drive: tube-fed, path_length: 465 mm}
new: {drive: on the carriage, path_length: 40 mm, feed_per_turn: 5.1 mm, recommended_retraction: 0.8 mm,
  motor: {rated_current: 0.8 A}}
filament: {material: PLA}
clearance: {highest_z: 180 mm, keep_clear: 2 mm}
"""
#: the same moves in two owners' codes, and what each says of its words
LETTERS = (
    "swap.mv",
    "; wire out and in\nK-480 V3600\nHONK 3\nK470 V3000\nD+20\nD200 V800\nD190 B-4\n",
    {"K": "filament in", "D": "to z", "V": "mm per minute", "B": "nothing"},
)
WORDS = (
    "swap.mv",
    "tug 480 @ 60 # out\nhonk 3\nshove 470 @ 50\nclimb 20\nrise to 200\nrise to 190\n!current wire 1.10\n",
    {"tug": "filament out", "shove": "filament in", "rise to": "to z", "climb": "by z", "@": "mm per second",
     "current wire": "motor.run_current in A rms"},
)  # fmt: skip


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "config").mkdir()
    Path("swap.yaml").write_text(SWAP)
    Path("config/frame.conf").write_text(FRAME)
    return tmp_path


def say(file: str, words: dict[str, str]) -> None:
    lines = "".join(f'  "{file} {word}": {meaning}\n' for word, meaning in words.items())
    Path("config/cfgmigrate.yaml").write_text(f"site: 1\nroles: {{frame.conf: in force}}\nmoves:\n{lines}")


@pytest.mark.parametrize(
    ("script", "after"),
    [
        (LETTERS, LETTERS[1].replace("K-480", "K-55").replace("K470", "K45").replace("D200", "D178").replace("D190", "D178")),
        (WORDS, WORDS[1].replace("tug 480", "tug 55").replace("shove 470", "shove 45").replace("to 200", "to 178").replace("to 190", "to 178").replace("1.10", "0.52")),
    ],
    ids=["letters", "words"],
)  # fmt: skip
def test_told_words_are_worked_out_edited_and_taken_back_as_in_any_script(
    desk: Path, cli: Runner, script: tuple[str, str, dict[str, str]], after: str
) -> None:
    file, text, words = script
    Path("config", file).write_text(text)
    say(file, words)
    said = cli("prepare", "config", "--sheet", "swap.yaml", "-o", "packet", "--json")
    assert said.status == 0, said.err
    assert Path("packet/after", file).read_text() == after
    assert "a relative move of 20 mm" in said.out
    assert "this feeds at 60 mm/s" in said.out
    assert cli("verify", "packet").status == 0
    open_lights = [each["light"] for each in json.loads(said.out)["lights"] if each["state"] == "unknown"]
    accepted = [each for name in open_lights for each in ("--accept-unknown", name)]
    installed = cli("install", "packet", *accepted)
    assert installed.status == 0, installed.err
    assert Path("config", file).read_text() == after
    assert cli("revert", "packet").status == 0
    assert Path("config", file).read_text() == text


@pytest.mark.parametrize(
    ("file", "before", "between", "behind"),
    [
        ("frame.conf", f"{FRAME}[script]\nchange =\n  ", "\n  ", "\n"),
        ("swap.yml", "walk:\n  at: 3\nchange:\n- ", "   # a step\n- ", "\n"),
        ("swap.yml", "walk:\n  at: 3\n  change: |\n    ", "\n    ", "\n"),
        ("swap.json", '{"walk": {"at": 3},\n "change": [\n  "', '",\n  "', '"]}\n'),
        ("swap.json", '{"walk": {"at": 3}, "change": "', "\\n", '"}\n'),
    ],
    ids=["sectioned", "list behind dashes", "text in lines", "list of texts", "one text"],
)
def test_the_same_words_explain_a_script_that_stands_in_a_configuration(
    file: str, before: str, between: str, behind: str
) -> None:
    text = f"{before}{between.join(LETTERS[1].splitlines()[1:])}{behind}"
    document = read(file, text.encode(), "sectioned" if file.endswith("conf") else "nested")
    (script,) = scripts_of(recognise([replace(document, own_words=tuple(told_of(LETTERS[2])))]))
    words = [each.feed.word if each.feed else each.targets[-1].word for each in script.moves]
    assert [(word.letter, text[word.start : word.end]) for word in words] == [
        ("K", "-480"), ("K", "470"), ("D", "+20"), ("D", "200"), ("D", "190")
    ]  # fmt: skip
    assert script.line(words[1].start) == text[: words[1].start].count("\n") + 1


def test_what_is_changed_in_a_list_is_a_word_of_one_of_its_lines(desk: Path, cli: Runner) -> None:
    text = (
        'walk: {at: 3, by: 4, to: 5}\nchange:\n- K-480 V3600 # out\n- HONK 3\n- "K470 V3000"\n- wire I1.10\n'
    )
    Path("config/swap.yml").write_text(text)
    say("swap.yml", {**LETTERS[2], "wire I": "motor.run_current in A rms"})
    assert cli("prepare", "config", "--sheet", "swap.yaml", "-o", "packet").status == 0
    for old, new in (("K-480", "K-55"), ("K470", "K45"), ("I1.10", "I0.52")):
        text = text.replace(old, new)
    assert Path("packet/after/swap.yml").read_text() == text
    assert cli("verify", "packet").status == 0


def told_of(words: dict[str, str]) -> list[tuple[str, str]]:
    return [(word.casefold(), meaning) for word, meaning in words.items()]


def test_a_word_left_unexplained_that_is_as_long_as_the_old_path_is_told(desk: Path, cli: Runner) -> None:
    Path("config", WORDS[0]).write_text(WORDS[1])
    say(WORDS[0], {word: meaning for word, meaning in WORDS[2].items() if word != "tug"})
    said = cli("prepare", "config", "--sheet", "swap.yaml", "-o", "packet", "--json")
    assert "this call's tug of 480 is about as long as the old path" in said.out
    assert "shove 45" in Path("packet/after", WORDS[0]).read_text()


@pytest.mark.parametrize(
    ("lines", "fed", "speeds"),
    [
        ("V 6000\nP 480\n", [480.0], [100.0]),
        ("U -6\n", [-6.0], [None]),
        ("U 6\n", [-6.0], [None]),
        ("PUSH (into the hot end) 540 @ 20\nPUSH 540mm\n", [540.0, None], [None, None]),
    ],
)
def test_a_speed_holds_on_a_minus_says_out_by_itself_and_a_number_written_otherwise_is_a_move(
    lines: str, fed: list[float | None], speeds: list[float | None]
) -> None:
    told = {"p": "filament in", "push": "filament in", "u": "filament out", "v": "mm per minute"}
    document = replace(read("a.mv", lines.encode(), "flat"), own_words=tuple(told.items()))
    whole = Setting("", "a.mv", lines, 0, len(lines), 1, 1)
    script = Reading("script.load", None, lines, Place("a.mv", 1, 1), 0, len(lines), Form(), whole)
    found = read_own_script(document, script)
    assert [each.feed and each.feed.length for each in found] == fed
    assert [each.speed for each in found] == speeds


BIRDS = "[feeder wren]\nsteps per mm = 96\n[feeder heron]\nsteps per mm = 96\n"


@pytest.mark.parametrize(("letter", "lines"), [("H", [2, 3, 5]), ("K", [1, 2, 3, 4, 5])])
def test_a_letter_that_one_feeders_name_begins_with_moves_that_one(
    desk: Path, letter: str, lines: list[int]
) -> None:
    """The wren stays. Of a letter that no name begins with nobody knows whose it is."""
    Path("config/frame.conf").write_text(BIRDS)
    Path("config/nap.mv").write_text(
        "W-15 V3600\nH-15 W-15 V3600\nH14.6 V3600\nW14.6 V3600\nH-9 V600\n".replace("H", letter)
    )
    say("nap.mv", {"W": "filament in", letter: "filament in", "V": "mm per minute"})
    Path("swap.yaml").write_text(f"feeder: heron\n{SWAP}")
    asked = [each for each in api.work_out("config", "swap.yaml").plan.doubts if each.place.file == "nap.mv"]
    told = [each for each in asked if "wanted is 0.8 mm" in each.why or "as much as" in each.why]
    places = {each.place.line for each in told}
    places |= {
        int(line) for each in told for line in re.findall(r"\d+", each.why.partition("likewise line")[2])
    }
    assert sorted(places) == lines


@pytest.mark.parametrize(
    ("told", "of"),
    [
        ({"W": "filament in", "D": "filament in"}, {"w": 1, "d": 2}),
        ({"W": "filament in", "D": "filament out"}, {}),
        ({"W": "filament in"}, {}),
    ],
)
def test_letters_move_the_feeders_that_begin_with_them_where_each_of_them_feeds(
    told: dict[str, str], of: dict[str, int]
) -> None:
    assert feeders_by_letter(told, {"window": 1, "door": 2}) == of


def test_a_move_that_feeds_nothing_pushes_no_pull_back(tmp_path: Path) -> None:
    script = "[script.start]\ntext =\n  M83\n  G92 E0\n  G1 E0 F1800\n  G1 E5 F1800\n"
    (tmp_path / "a.ini").write_text(FRAME + script)
    (tmp_path / "swap.yaml").write_text(SWAP)
    assert not [
        each
        for each in api.work_out(tmp_path / "a.ini", tmp_path / "swap.yaml").plan.doubts
        if "pulls back" in each.why
    ]


@pytest.mark.parametrize("first", ["; mm and mm/min. W = feeder.\n", ""])
def test_a_script_in_the_standards_codes_keeps_its_axes_where_only_its_feeding_letter_is_said(
    desk: Path, first: str
) -> None:
    script = f"{first}G21\nG90\nG0 Z205 F600\nG91\nG1 W-460 F3000\nG1 W450 F3000\nG90\n"
    Path("config/swap.mv").write_text(script)
    say("swap.mv", {"W": "filament in"})
    plan = api.prepare("config", "swap.yaml", out="packet").plan
    told = [(edit.line, edit.old) for each in plan.changes for edit in each.edits if edit.file == "swap.mv"]
    at = 4 if first else 3
    asked = {doubt.place.line for doubt in plan.doubts if doubt.place.file == "swap.mv"}
    assert (at, "205") in told
    assert {at + 2, at + 3} & ({line for line, _ in told} | asked)


STANDARD = "; {} = the drive\nG90\nG0 Z205 F600\nG91\nG1 {}-460 F3000\nG1 {}450 F3000\nG90\nM61 S3\n"


@pytest.mark.parametrize("letter", ["D", "K", "Q"])
@pytest.mark.parametrize("besides", [{}, {"S": "nothing"}])
def test_whichever_letter_is_said_to_feed_the_axes_keep_their_checks(
    desk: Path, letter: str, besides: dict[str, str]
) -> None:
    Path("config/swap.mv").write_text(STANDARD.format(*[letter] * 3))
    say("swap.mv", {letter: "filament in", **besides})
    plan = api.prepare("config", "swap.yaml", out="packet").plan
    told = {edit.line for each in plan.changes for edit in each.edits if edit.file == "swap.mv"}
    asked = {doubt.place.line for doubt in plan.doubts if doubt.place.file == "swap.mv"}
    assert {3, 5, 6} <= told | asked


def test_an_axis_of_the_standards_is_asked_about_where_other_words_were_said_to_be_another_owners(
    desk: Path,
) -> None:
    Path("config/swap.mv").write_text(STANDARD.format("D", "D", "D"))
    say("swap.mv", {"D": "filament in", "F": "mm per second"})
    plan = api.prepare("config", "swap.yaml", out="packet").plan
    assert [doubt for doubt in plan.doubts if doubt.place.file == "swap.mv" and doubt.place.line == 3]


def test_a_letter_of_an_owners_own_codes_makes_them_no_script_of_the_standard(desk: Path) -> None:
    Path("config/swap.mv").write_text("R1 K-460 V3000\nR1 K450 V3000\nR2 D200\n")
    say("swap.mv", {"K": "filament in", "V": "mm per minute", "D": "to z"})
    plan = api.prepare("config", "swap.yaml", out="packet").plan
    assert {edit.old for each in plan.changes for edit in each.edits if edit.file == "swap.mv"} >= {
        "200",
        "450",
    }
