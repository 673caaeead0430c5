"""Keys that are a letter and a number are what the file's remarks call them."""

from __future__ import annotations

from cfgmigrate.dialects import flat
from cfgmigrate.machine import coded_keys
from cfgmigrate.machine.recognise import recognise

LINES = [
    ("C1", "431", "steps per mm of the extruder", "feeder.steps_per_mm"),
    ("C2", "200", "top speed of x, mm/s", "axis.x.max_speed"),
    ("C3", "5.5", "retract length, mm", "retraction.length"),
    ("C4", "40", "retract speed, mm/s", "retraction.speed"),
    ("C10", "340", "load length", "feeder.load_length"),
]
WANTED = {name: float(value) for _, value, _, name in LINES}


def read(text: str) -> dict[str, float]:
    machine = recognise([flat.read("one.conf", text.encode())])
    return {reading.quantity: reading.value for reading in machine.readings}


def test_the_remark_behind_a_coded_key_names_it() -> None:
    assert read("".join(f"{code} = {value} ; {said}\n" for code, value, said, _ in LINES)) == WANTED


def test_a_legend_names_coded_keys_and_comes_before_a_note_behind_the_line() -> None:
    legend = "".join(f"# {code}  {said}\n" for code, _, said, _ in LINES)
    assert read(legend + "".join(f"{code} {value} # from the door\n" for code, value, *_ in LINES)) == WANTED


def test_a_code_that_nothing_explains_is_nothing() -> None:
    assert read("".join(f"{code} = {value}\n" for code, value, *_ in LINES)) == {}


def test_a_remark_takes_the_place_of_no_key_that_has_words() -> None:
    text = "".join(f"fan {code} = {value} ; {said}\n" for code, value, said, _ in LINES)
    assert read(text) == {}


def test_fewer_codes_are_no_manner_of_writing() -> None:
    assert read("C3 = 5.5 ; retract length, mm\nC4 = 40 ; retract speed, mm/s\n") == {}


def test_a_line_whose_legend_and_remark_name_two_things_is_neither() -> None:
    legend = "".join(f"# {code}  {said}\n" for code, _, said, _ in LINES)
    turned = {"C3": "340 ; load length, mm", "C10": "5.5 ; retract length, mm"}
    found = read(legend + "".join(f"{code} {turned.get(code, value)}\n" for code, value, *_ in LINES))
    assert found == {name: value for name, value in WANTED.items() if not name.endswith("length")}


def test_a_line_whose_legend_and_remark_state_two_units_is_not_read() -> None:
    text = "".join(f"# {code}  {said}\n{code} {value}\n" for code, value, said, _ in LINES)
    found = read(text.replace("C4 40\n", "C4 40 ; retract speed, mm/min\n"))
    assert "retraction.speed" not in found and len(found) == len(WANTED) - 1


def test_only_words_that_name_one_thing_and_its_owner_are_a_name() -> None:
    assert coded_keys._named("feeder run current") == "motor.run_current"
    assert [coded_keys._named(words) for words in ("run current", "zum", "")] == ["", "", ""]
