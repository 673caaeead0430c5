"""What is left of the filament behind its sensor: read by the trade's words, and asked about where they only come near."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.behind_sensor import LEFT_BEHIND, may_be_left_behind
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.site_questions import site_questions


def machine_of(text: str) -> Machine:
    return recognise([read("m.ini", text.encode(), "sectioned")])


def test_a_line_that_may_be_it_by_its_words_is_asked_about_by_itself() -> None:
    asked = site_questions(machine_of("[watcher two]\nfilament-left = 735\n"))
    assert [(each.place, each.answers[0].value) for each in asked] == [("m.ini:2", LEFT_BEHIND)]


@pytest.mark.parametrize(
    ("line", "may_be"),
    [
        ("left = 640", True),
        ("left = 640 mm", True),
        ("length = 88", True),
        ("left = 640 ms", False),
        ("left_s = 64", False),
        ("left = yes", False),
        ("left = 4", False),
        ("quiet = 640", False),
    ],
)
def test_another_measure_a_switch_and_what_is_not_left_are_none(line: str, may_be: bool) -> None:
    (setting,) = read("m.ini", f"[watcher]\n{line}\n".encode(), "sectioned").settings
    assert may_be_left_behind(setting) is may_be


@pytest.mark.parametrize("line", ["lever to nozzle = 705", "feeler until gears = 88 mm"])
def test_a_way_from_the_sensor_s_lever_is_offered_as_that_and_as_no_length_to_load(line: str) -> None:
    (unread,) = machine_of(f"[filament there]\n{line}\n").unread
    assert unread.nearest == (LEFT_BEHIND,) and may_be_left_behind(unread.setting)


@pytest.mark.parametrize("value", ["J7", "735"])
def test_what_no_value_of_a_quantity_can_be_is_not_asked_about_as_that_quantity(value: str) -> None:
    machine = machine_of(f"[watcher two]\nfilament wire = {value}\n")
    assert not machine.doubts and [each.setting.value for each in machine.unread] == [value]
    assert [each.text for each in machine_of("[watcher two]\nfilament wire = 1.75\n").doubts]


@pytest.mark.parametrize(
    ("section", "said", "may_be"),
    [
        ("bench", "", False),
        ("watcher", "", True),
        ("bench", "filament left behind the sensor", True),
        ("bench", "length of it", False),
    ],
)
def test_only_beside_a_sensor_is_a_length_what_is_left_behind_it(
    section: str, said: str, may_be: bool
) -> None:
    (setting,) = read("m.ini", f"[{section}]\nleft = 640\n".encode(), "sectioned").settings
    assert may_be_left_behind(setting, said) is may_be


def test_a_way_from_a_sensor_to_the_tip_is_no_hot_end_s_sensor_and_may_be_named(tmp_path: Path) -> None:
    document = read("m.h", b"#define SENSOR_TO_TIP 513\n", "header")
    assert not recognise([document]).every_reading
    (tmp_path / "names.yaml").write_text(f"SENSOR_TO_TIP: {LEFT_BEHIND}\n")
    (reading,) = recognise([document], read_names(tmp_path / "names.yaml")).every_reading
    assert reading.quantity == LEFT_BEHIND and reading.editable
