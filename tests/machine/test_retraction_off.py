"""A 0 is a retraction that is off only under a name that says a retraction; what may be one is asked about."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

LENGTH = "retraction.length"


def header(*lines: str) -> Machine:
    text = "".join(f"#define {line}\n" for line in lines)
    return recognise([read("feed.h", text.encode(), "header")])


def asked(machine: Machine) -> set[int]:
    return {doubt.place.line for doubt in machine.doubts if doubt.about == LENGTH}


@pytest.mark.parametrize("line", ["OOZE_GUARD 0", "OOZE_STOP 0", "STRING_CONTROL 0", "BACKUP 0", "RELIEF 0"])
def test_a_0_under_a_guard_s_or_another_part_s_name_is_no_retraction_that_is_off(line: str) -> None:
    found = header(line)
    assert found.get(LENGTH) is None
    assert asked(found) <= {1}


def test_lines_that_may_be_the_retraction_are_named_beside_such_a_0() -> None:
    found = header("DRAW_ON 1", "DRAW_LENGTH 5.8", "OOZE_GUARD 0", "SLOT_DRAW_LIST { 5.8, 6.6, 5.2 }")
    assert found.get(LENGTH) is None
    assert asked(found) == {2, 3, 4}
    assert LENGTH in found.in_doubt  # which keeps its light unknown


@pytest.mark.parametrize(
    "line", ["RETRACT 0", "RETRACTION_LENGTH 0", "PULL_BACK_MM 0", "E_DRAWBACK_MM 0", "REWIND_LENGTH 0.0"]
)
def test_a_0_that_plainly_says_a_retraction_is_off(line: str) -> None:
    found = header(line)
    reading = found.get(LENGTH)
    assert reading is not None and reading.value == 0
    assert not asked(found)


@pytest.mark.parametrize(
    "line",
    ["DRAW_MM_PER_MIN 9", "CURRENT_DRAW 4", "DRAW_LIFT 4", "DRAW_LENGTH 58", "DRAW_LOGO_LIST { 1, 4 }"],
)
def test_what_is_drawn_otherwise_is_no_question(line: str) -> None:
    assert not asked(header(line))


def test_no_other_line_is_asked_about_where_a_retraction_is_read() -> None:
    assert not asked(header("RETRACT_LENGTH 5.5", "DRAW_LENGTH 5.8"))
