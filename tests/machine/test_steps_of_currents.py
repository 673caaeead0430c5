"""A line of the feeder whose remark tells a current that its number is not is asked as a step of its driver's."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.perhaps import perhaps
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.teach import teachable

STEP = "#define FEED_CS 27 /* 1.09 A rms */\n"
SCALE = "/* driver step 0..31 (31 = 1.25 A rms) */\n"


def found(text: str) -> list[tuple[str, str]]:
    machine = recognise([read("knot.h", text.encode(), "header")])
    return [(each.quantity, each.unit) for each in perhaps(machine)]


@pytest.mark.parametrize(
    ("text", "meant", "unit"),
    [
        (STEP, "motor.run_current", "(step+1)/32 of 2 A rms"),
        (SCALE + STEP, "motor.run_current", "(step+1)/32 of 1.25 A rms"),
        (
            "#define FEED_CS 27 /* 1.09 A rms (31 = 1250 mA peak) */\n",
            "motor.run_current",
            "(step+1)/32 of 1250 mA peak",
        ),
        ("#define FEED_IDLE_CS 9 /* 390 mA */\n", "motor.hold_current", "(step+1)/32 of 2 A rms"),
    ],
)
def test_a_number_beside_a_current_that_it_is_not_may_be_a_step_of_it(
    text: str, meant: str, unit: str
) -> None:
    assert found(text) == [(meant, unit)]


@pytest.mark.parametrize(
    "line",
    [
        "#define X_CS 27 /* 1.09 A rms */",
        "#define FEED_CS 27 /* as it came */",
        "#define FEED_FAN 27 /* 0.2 A */",
        "#define FEED_FUSE 5 /* 5 A */",
        "#define FEED_TRICK 2.7 /* 1.09 A */",
    ],
)
def test_another_axis_another_part_or_no_current_is_none(line: str) -> None:
    assert not found(line + "\n")


def test_it_is_asked_as_a_current_and_never_by_a_length_that_its_number_is_near() -> None:
    machine = recognise([read("knot.h", (SCALE + STEP).encode(), "header")])
    (asked,) = teachable(machine, {28.0: "the old path"})
    assert asked.meaning == '"FEED_CS": {quantity: motor.run_current, unit: (step+1)/32 of 1.25 A rms}'
    assert "1.09 A rms" in asked.why and not asked.near


def test_what_is_offered_reads_the_step_as_one_more_than_its_number(tmp_path: Path) -> None:
    document = read("knot.h", (SCALE + STEP).encode(), "header")
    (asked,) = teachable(recognise([document]), {})
    (tmp_path / "names.yaml").write_text(asked.meaning + "\n", encoding="utf-8")
    (told,) = recognise([document], read_names(tmp_path / "names.yaml")).readings
    assert told.value == pytest.approx(28 / 32 * 1.25) and told.editable
    assert told.form.to_written(28 / 32 * 1.25) == pytest.approx(27)
