"""A number that nothing reads, by the remark beside it, is a question and no setting."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

NOTES = [
    ("feed steps per mm", "96.2", "; just a note, the board has its own"),
    ("retraction length", "5.5", "# nothing reads that"),
    ("run current", "0.95", "; so that I don't forget"),
    ("run current", "0.95", "; the driver does not look at it"),
]
READ = [
    ("run current", "0.95", "; it does not use that in standby"),
    ("retraction length", "5.5", "; nobody knows why"),
    ("retraction length", "5.5", "; has no effect on short moves"),
]


@pytest.mark.parametrize(("key", "value", "remark"), NOTES)
def test_what_is_only_noted_is_asked_about_with_its_light(key: str, value: str, remark: str) -> None:
    for text in (f"{key} = {value} {remark}", f"{remark}\n{key} = {value}"):
        machine = recognise([read("a.cfg", f"[feeder]\n{text}\n".encode(), "sectioned")])
        assert not machine.readings
        (doubt,) = machine.doubts
        assert doubt.about and "only a note" in doubt.why and "under meanings" in doubt.remedy


@pytest.mark.parametrize(("key", "value", "remark"), READ)
def test_a_remark_about_something_else_leaves_the_setting(key: str, value: str, remark: str) -> None:
    machine = recognise([read("a.cfg", f"[feeder]\n{key} = {value} {remark}\n".encode(), "sectioned")])
    assert [each.text for each in machine.readings] == [value]
