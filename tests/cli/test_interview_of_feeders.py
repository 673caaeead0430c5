"""The interview on a machine with two feeders: which are swapped and which alike is asked once, then each is asked about."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Mapping
from pathlib import Path

import pexpect
import pytest

from cfgmigrate import api
from cfgmigrate.sheet.reader import read_sheet

pytestmark = pytest.mark.exhaustive
ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_configs"
END, SURER = "Go on with: cfgmigrate (?:sheet|prepare)", "to be surer"
PROMPT = r"(?:\n|\r)([\w:.]+|the same)> "
#: what Bittern's owner knows of the machine and of its first feeder
KNOWN = {
    "which": "1",
    "nozzle_shift": "as before",
    "probe_shift": "as before",
    "clearance.highest_z": "271.0",
    "1:old.tube.length": "460",
    "1:old.tube.bend": "210",
    "1:drives": "tube-fed, on the carriage",
    "1:new.feed_per_turn": "5.12",
    "1:new.tube.length": "38",
    "1:new.motor.step_angle": "1.8",
    "1:new.motor.rated_current": "0.8",
    "1:new.microsteps": "16",
}


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(SAMPLES / "bittern", tmp_path / "bittern")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def talked(said: Mapping[str, str]) -> list[str]:
    """One session up to the first packet; gives what was asked, in order."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "dumb", "NO_COLOR": "1"}
    talk = pexpect.spawn(
        sys.executable, ["-m", "cfgmigrate", "sheet", "bittern", "--ask"],
        env=env, encoding="utf-8", dimensions=(24, 80), timeout=120,
    )  # fmt: skip
    asked: list[str] = []
    surer = False
    while True:
        found = talk.expect([END, SURER, PROMPT])
        if found == 0:
            talk.wait()
            return asked
        if found == 1:
            surer = True
            continue
        if surer:
            talk.sendline("stop")
            continue
        asked.append(talk.match.group(1))
        talk.sendline(said.get(asked[-1], "don't know"))


def changed(folder: Path) -> dict[str, set[str]]:
    plan = api.prepare([folder / "bittern"], folder / "swap.yaml", out=folder / "packet").plan
    found: dict[str, set[str]] = {}
    for change in plan.changes:
        found.setdefault(change.holder, set()).add(change.quantity)
    assert [light.name for light in plan.lights if light.state == "unknown"] == []
    return found


def test_two_that_are_swapped_alike_are_asked_about_once_but_for_what_each_has_elsewhere(desk: Path) -> None:
    asked = talked({**KNOWN, "feeders": "1 2", "the same": "yes", "2:old.tube.length": "520"})
    assert asked.count("feeders") == asked.count("the same") == 1
    assert {name for name in asked if name.startswith("2:")} <= {"2:old.tube.length", "2:old.tube.bend"}
    sheet = read_sheet(desk / "swap.yaml")
    assert sheet.swapped == (1, 2)
    assert [sheet.feeders[number]["old.tube.length"].value for number in (1, 2)] == [460, 520]
    assert sheet.feeders[2]["new.feed_per_turn"].value == 5.12
    found = changed(desk)
    assert found["feeder 1"] == found["feeder 2"] >= {"feeder.steps_per_mm", "retraction.length"}


def test_two_that_are_swapped_otherwise_are_asked_about_each(desk: Path) -> None:
    own = {f"2:{name.removeprefix('1:')}": text for name, text in KNOWN.items() if name.startswith("1:")}
    own |= {"2:new.feed_per_turn": "5.33", "2:old.tube.length": "520"}
    asked = talked({**KNOWN, **own, "feeders": "both", "the same": "no"})
    assert {"1:new.tube.length", "2:new.tube.length", "2:new.feed_per_turn"} <= set(asked)
    assert len(asked) - asked.count("which") == len({name for name in asked if name != "which"})
    turns = [read_sheet(desk / "swap.yaml").feeders[number]["new.feed_per_turn"].value for number in (1, 2)]
    assert turns == [5.12, 5.33]
    assert {"feeder 1", "feeder 2"} <= changed(desk).keys()


def test_one_that_is_swapped_alone_has_a_plain_sheet_that_says_which(desk: Path) -> None:
    own = {name.removeprefix("1:"): text for name, text in KNOWN.items()}
    asked = talked({**own, "feeders": "2"})
    assert "the same" not in asked and not [name for name in asked if ":" in name]
    sheet = read_sheet(desk / "swap.yaml")
    assert sheet.plain and sheet.swapped == (2,)
    found = changed(desk)
    assert "feeder 2" in found and "feeder 1" not in found


def test_what_was_said_of_the_feeders_is_not_asked_again(desk: Path) -> None:
    first = talked({"feeders": "1 2", "the same": "no", "1:old.tube.length": "stop"})
    again = talked({**KNOWN, "feeders": "1", "the same": "yes"})
    assert {"feeders", "the same"} <= set(first) and not {"feeders", "the same"} & set(again)
    assert any(name.startswith("2:") for name in again)
