"""Of two lines with the same code the last one counts, also where only the earlier one says what it sets."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.recognise import recognise

LAG = "S342 E0.48 ; lag coefficient, seconds\n"
RETRACTION = "S340 L5.0 V50 ; pull back: length mm, speed mm/s\n"


def machine(text: str) -> Machine:
    return recognise([read("heron.cmd", text.encode(), "command")])


def lag(found: Machine) -> Reading:
    return next(each for each in found.readings if each.quantity == "lag.coefficient")


def test_a_code_that_stands_again_without_clear_words_counts_and_is_asked_about() -> None:
    held = lag(machine(LAG + RETRACTION + "S342 E0.52 ; tried in May, better\n"))
    assert (held.value, held.place.line, held.editable) == (0.52, 3, False)
    assert "only line 1 says what this code sets" in held.why_not
    assert "S342.E: {quantity: lag.coefficient, unit: s}" in held.why_not


def test_of_three_lines_of_a_code_the_third_counts() -> None:
    held = lag(machine(LAG + "S342 E0.5\nS342 E0.52 ; better\n"))
    assert (held.value, held.place.line) == (0.52, 3) and not held.editable


@pytest.mark.parametrize("later", ["E0.52 R2 ; of the second one", "E520 ; better, ms", "E0.52 ; bed"])
def test_a_later_line_that_does_not_go_with_the_earlier_one_makes_that_a_question(later: str) -> None:
    found = machine(f"{LAG}S342 {later}\n")
    held = lag(found)
    assert (held.value, held.editable) == (0.48, False)
    assert "stands again at line 2" in held.why_not
    assert 2 in [each.setting.line for each in found.unread if each.setting.key == "E"]


def test_a_later_line_may_name_the_very_thing() -> None:
    found = machine(f"{LAG}\n; ---- tried in May, better\nS342 E0.52 ; lag, seconds\nS370 L24 ; wind\n")
    held = lag(found)
    assert (held.value, held.editable) == (0.52, False)


def test_a_line_of_a_code_that_no_other_follows_is_written() -> None:
    assert lag(machine(LAG + RETRACTION + "S343 E0.52 ; better\n")).editable


def test_a_later_line_that_is_taken_out_of_force_changes_nothing() -> None:
    held = lag(machine(LAG + "; S342 E0.52\n"))
    assert (held.value, held.editable) == (0.48, True)
