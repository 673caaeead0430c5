"""A machine with two feeders at the desk: which are swapped is asked first, and each is then asked about in turn."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from deskbench import SAMPLES, Answer, Browser, desk_at

from cfgmigrate import api
from cfgmigrate.sheet.keeping import open_kept, with_feeders
from cfgmigrate.sheet.reader import read_sheet

#: what Bittern's owner knows of the machine and of its first feeder
KNOWN = {
    "1:old.drive": "tube-fed",
    "1:old.tube.length": "460 mm",
    "1:new.drive": "on the carriage",
    "1:new.feed_per_turn": "5.12 mm",
    "1:new.tube.length": "38 mm",
}


def say_feeders(browser: Browser, swapped: list[str], **same: str) -> Answer:
    found = re.search(r'swap/feeders">.*?name="stamp" value="(\w+)"', browser.get("swap").text, re.DOTALL)
    assert found
    more = {f"same-{number.removeprefix('f')}": other for number, other in same.items()}
    return browser.post("swap/feeders", {"stamp": found[1], "swapped": swapped, **more})


def say(browser: Browser, name: str, said: str, do: str = "keep") -> Answer:
    number = name.rpartition(":")[0]
    stamp = browser.get(f"swap?feeder={number}&more={name}").stamp_of(name)
    return browser.post("swap/answer", {"path": name, "answer": said, "do": do, "stamp": stamp})


def test_nothing_is_asked_before_it_is_said_which_feeders_are_swapped(tmp_path: Path) -> None:
    page = desk_at(tmp_path, "bittern").get("swap")
    assert page.status == 200 and "Which feeders are swapped?" in page.main
    assert 'name="path"' not in page.text and not (tmp_path / "swap.yaml").exists()


@pytest.mark.parametrize("same", [None, 1])
def test_which_are_swapped_and_which_alike_is_kept_as_the_terminal_keeps_it(
    tmp_path: Path, same: int | None
) -> None:
    browser = desk_at(tmp_path, "bittern")
    assert "Kept" in say_feeders(browser, ["1", "2"], f2=str(same or "")).said
    by_terminal = with_feeders(open_kept(tmp_path / "other.yaml", "bittern"), {1: None, 2: same})
    assert (tmp_path / "swap.yaml").read_bytes() == by_terminal.present


def test_each_feeder_is_asked_about_and_what_is_taken_over_is_told(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, "bittern")
    say_feeders(browser, ["1", "2"], f2="1")
    for name, said in KNOWN.items():
        assert "Kept" in say(browser, name, said).said, name
    page = browser.get("swap?feeder=2")
    assert "Taken over from another feeder: 460 mm" in page.main
    assert re.search(r'class="field taken-over" id="field-2:old.tube.length"', page.text)
    assert 'id="field-1:old.tube.length"' not in page.text
    assert "feeder 1" in page.main and "feeder 2" in page.main
    page = say(browser, "2:old.tube.length", "520")
    assert re.search(r'class="field said" id="field-2:old.tube.length"', page.text), (
        "the form stays feeder 2's"
    )
    sheet = read_sheet(tmp_path / "swap.yaml")
    assert [sheet.feeders[number]["old.tube.length"].value for number in (1, 2)] == [460, 520]
    assert sheet.feeders[2]["new.feed_per_turn"].value == 5.12
    say(browser, "2:old.tube.length", "", "take back")
    assert read_sheet(tmp_path / "swap.yaml").feeders[2]["old.tube.length"].value == 460


def test_what_each_feeder_has_elsewhere_is_asked_with_what_is_taken_over(tmp_path: Path) -> None:
    text = (SAMPLES / "sheets" / "bittern.yaml").read_text()
    own = "    old:\n      tube: {length: 520 mm, bore: 2.0 mm, bend: 240 deg}\n"
    assert own in text
    (tmp_path / "swap.yaml").write_text(text.replace(own, ""))
    page = desk_at(tmp_path, "bittern").get("swap/ahead")
    assert 'name="path" value="2:old.tube.length"' in page.text
    assert "Taken over from another feeder: 460 mm" in page.main


def test_what_the_machine_has_once_stands_at_the_top(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, "bittern")
    say_feeders(browser, ["1", "2"])
    stamp = browser.get("swap?feeder=2").stamp_of("carriage.new_mass")
    said = {"path": "carriage.new_mass", "answer": "431", "do": "keep", "stamp": stamp, "feeder": "2"}
    page = browser.post("swap/answer", said)
    assert "Kept" in page.said and 'aria-current="page">feeder 2' in page.text
    assert read_sheet(tmp_path / "swap.yaml").entries["carriage.new_mass"].value == 431


def test_the_second_feeder_alone_is_swapped(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, "bittern")
    say_feeders(browser, ["2"])
    assert read_sheet(tmp_path / "swap.yaml").swapped == (2,)
    page = browser.get("swap")
    assert "this sheet is about feeder 2" in page.main and 'name="path"' in page.text


def test_a_sheet_of_one_feeder_becomes_one_of_both_and_loses_nothing(tmp_path: Path) -> None:
    shutil.copy(SAMPLES / "sheets" / "wren.yaml", tmp_path / "swap.yaml")
    before = read_sheet(tmp_path / "swap.yaml")
    browser = desk_at(tmp_path, "bittern")
    assert "this sheet is about feeder 1, because it names none" in browser.get("swap").main
    assert "Kept" in say_feeders(browser, ["1", "2"]).said
    after = read_sheet(tmp_path / "swap.yaml")
    flat = after.about(1).entries
    assert {path: (entry.value, entry.word) for path, entry in flat.items()} == {
        path: (entry.value, entry.word) for path, entry in before.entries.items()
    }
    assert after.tells_of(1) and not after.tells_of(2)


def test_a_feeder_that_has_answers_is_not_left_out_in_silence(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, "bittern")
    say_feeders(browser, ["1", "2"])
    say(browser, "2:new.tube.length", "38")
    before = (tmp_path / "swap.yaml").read_bytes()
    found = say_feeders(browser, ["1"])
    assert found.status == 422 and "feeder 2 is left out" in found.main
    assert (tmp_path / "swap.yaml").read_bytes() == before


@pytest.mark.parametrize(
    "said", [{"swapped": []}, {"swapped": ["3"]}, {"swapped": ["1", "2"], "same-1": "2", "same-2": "1"}]
)
def test_what_is_no_answer_about_feeders_writes_nothing(tmp_path: Path, said: dict[str, object]) -> None:
    browser = desk_at(tmp_path, "bittern")
    stamp = browser.get("swap").stamps()[0]
    assert browser.post("swap/feeders", {"stamp": stamp, **said}).status == 422
    assert not (tmp_path / "swap.yaml").exists()


def test_a_packet_of_both_feeders_is_that_of_the_command(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, "bittern")
    say_feeders(browser, ["1", "2"], f2="1")
    for name, said in KNOWN.items():
        say(browser, name, said)
    browser.post("packet", {"stamp": browser.get("packet").stamps()[0], "name": "packet"})
    plan = api.open_packet(tmp_path / "packet").plan
    wanted = api.work_out([tmp_path / "bittern"], tmp_path / "swap.yaml")
    assert {(each.quantity, each.holder) for each in plan.changes} == {
        (each.quantity, each.holder) for each in wanted.plan.changes
    }
    assert {"feeder 1", "feeder 2"} <= {each.holder for each in plan.changes}
