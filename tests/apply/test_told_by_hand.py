"""A shift by hand that an earlier packet told is not told a second time once it is made."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.apply.told_by_hand import not_told_again, told_before
from cfgmigrate.plan.model import ByHand, Plan
from cfgmigrate.rules.result import Derivation, Input
from cfgmigrate.store.entries import HistoryEntry

CONFIG = """\
[axis x]
end stop position = 237.4
lowest = -2.5
highest = 300

[feeder]
steps per mm = 97.35
microsteps = 16
retraction length = 5.8
run out distance = 646
"""
SITE = """\
site: 1
meanings: {"[axis x] end stop position": end_stop.x, "[feeder] run out distance": runout.distance}
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 530 mm}, path_length: 575 mm}
new:
  drive: on the carriage
  path_length: 58 mm
  microsteps: 16
  feed_per_turn: 23.0 mm
  motor: {step_angle: 1.8 deg}
carriage: {nozzle_shift: {x: 4 mm, y: 0 mm, z: 0 mm}}
"""
END, OUT = "protected.end_stop_x", "runout.to_measure"


def installed(folder: Path) -> Path:
    config = folder / "config"
    config.mkdir()
    (config / "mill.conf").write_text(CONFIG)
    (config / "cfgmigrate.yaml").write_text(SITE)
    first = planned(folder, "first")
    assert {END, OUT} <= {each.rule for each in first.by_hand}
    api.install(
        folder / "first", accept_unknown=[each.name for each in first.lights if each.state == "unknown"]
    )
    return config / "mill.conf"


def planned(folder: Path, name: str, more: str = "", rest: bool = False) -> Plan:
    (folder / "swap.yaml").write_text(SHEET.replace("  microsteps", f"{more}  microsteps"))
    return api.prepare([folder / "config"], folder / "swap.yaml", out=folder / name, rest=rest).plan


def edited(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def test_what_was_done_by_hand_is_not_told_again_and_it_says_why(tmp_path: Path) -> None:
    file = installed(tmp_path)
    edited(file, "237.4", "241.4")
    edited(file, "646", "88")
    rest = planned(tmp_path, "second", "  recommended_retraction_speed: 35 mm/s\n", rest=True)
    assert not {END, OUT} & {each.rule for each in rest.by_hand}
    why = {each.quantity: each.why for each in rest.left_alone if each.quantity in (END, OUT)}
    assert "Do it no second time" in why[END] and "from 237.4 mm; 241.4 mm stands there now" in why[END]
    assert "88 mm stands there now" in why[OUT]
    assert api.verify(tmp_path / "second") == ()


def test_what_was_not_done_yet_is_told_again_as_it_was(tmp_path: Path) -> None:
    installed(tmp_path)
    rest = planned(tmp_path, "second", "  recommended_retraction_speed: 35 mm/s\n", rest=True)
    (again,) = [each for each in rest.by_hand if each.rule == END]
    assert again.value == pytest.approx(241.4)


def test_where_something_else_stands_no_new_sum_is_told(tmp_path: Path) -> None:
    file = installed(tmp_path)
    edited(file, "237.4", "239")
    rest = planned(tmp_path, "second", "  recommended_retraction_speed: 35 mm/s\n", rest=True)
    (again,) = [each for each in rest.by_hand if each.rule == END]
    assert again.value is None and "239 mm stands there" in again.what and "243" not in again.what
    assert api.verify(tmp_path / "second") == ()


def entry(number: int, *by_hand: dict[str, object]) -> HistoryEntry:
    reasons = {"by_hand": list(by_hand)}
    return HistoryEntry(number, "install", "", f"packet {number}", "Wren", (), (), "", reasons=reasons)


def shift(*old: tuple[str, float]) -> ByHand:
    inputs = tuple(Input(name, name, value, "mm", 0.0, "mill.conf:2") for name, value in old)
    return ByHand(
        "move the end stop",
        241.4,
        "mm",
        "it moved",
        rule=END,
        derivation=Derivation("given", "given", inputs, ""),
    )


def test_only_what_started_from_an_old_value_counts_as_told_and_the_first_that_told_it() -> None:
    first, later = (
        {"rule": END, "what": "", "was": [["was.end_stop.x", x]], "value": x + 4} for x in (237.4, 9)
    )
    bare = ({"what": "turn the screw"}, {"rule": OUT, "was": []}, {"was": [["was.end_stop.x", 5.0]]})
    (told,) = told_before([entry(1, *bare, first), entry(2, later)])
    assert (told.rule, told.was, told.entry.number) == (END, (("was.end_stop.x", 237.4),), 1)


def test_what_starts_from_no_old_value_any_more_is_told_as_it_is() -> None:
    (told,) = told_before([entry(1, {"rule": END, "was": [["was.end_stop.x", 237.4]], "value": 241.4})])
    before = {(END, shift().holder): told}
    for item in (shift(), shift(("was.end_stop.x", 237.4))):
        assert not_told_again([item], before) == ([item], [])
    (look,), left = not_told_again([shift(("was.other", 237.4))], before)
    assert look.value is None and look.what.startswith("Look at") and left == []
