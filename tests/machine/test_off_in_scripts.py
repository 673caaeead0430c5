"""What a script switches off by a 0 stays off, and says nothing of what other lines set."""

from __future__ import annotations

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.precedence import STAYS_OFF
from cfgmigrate.machine.recognise import recognise

_LAG = "lag.coefficient"
_SAID = "; lag of the flow behind the feed, s"
_SETTINGS = b"[feeder]\nlag of flow s = 0.66\nretraction length = 5.2\n"


def machine(script: str, settings: bytes = _SETTINGS) -> Machine:
    documents = [read("machine.ini", settings, "sectioned"), read("end.txt", script.encode(), "command")]
    return recognise(documents)


def held(found: Machine, quantity: str) -> list[float | None]:
    return [each.value for each in found.readings if each.quantity == quantity]


def told(found: Machine) -> list[int]:
    return [doubt.place.line for doubt in found.doubts if doubt.remedy == STAYS_OFF]


def test_a_script_that_switches_the_lag_off_is_no_question_and_not_written_along() -> None:
    found = machine(f"G28\nH5 T0 {_SAID}\nG1 X5 F3000\n")
    assert held(found, _LAG) == [0.66]
    assert told(found) == [2]
    assert not [along for each in found.readings for along in found.followers(each)]


def test_the_lag_of_a_script_s_start_holds_though_its_end_switches_it_off() -> None:
    found = machine(
        f"G28\nH5 T0.66 {_SAID}\nG1 X5 F3000\nH5 T0 {_SAID}\n", b"[feeder]\nretraction length = 5.2\n"
    )
    assert held(found, _LAG) == [0.66]
    assert told(found) == [4]


def test_a_lag_that_a_script_only_switches_off_is_none_that_could_be_written() -> None:
    found = machine(f"G28\nH5 T0 {_SAID}\nG1 X5 F3000\n", b"[feeder]\nretraction length = 5.2\n")
    assert held(found, _LAG) == []
    assert told(found) == [2]


def test_what_a_settings_file_has_at_0_is_still_its_word() -> None:
    found = machine("G28\n", b"[feeder]\nlag of flow s = 0\n")
    assert held(found, _LAG) == [0]
    assert not told(found)
