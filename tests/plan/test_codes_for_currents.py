"""The code for a new current is told in the question about it, where a remark has the formula and all that is in it."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.planning import plan_changes
from cfgmigrate.rules import library
from cfgmigrate.rules.lanes import work_out_lanes
from cfgmigrate.sheet.reader import parse_sheet

SHEET = b"""\
new:
  motor: {rated_current: 1.0 A, recommended_current: 0.62 A, step_angle: 1.8 deg}
  driver: {part: TMC2209, set_by: serial, sense_resistor: 0.11 ohm}
"""
FORMULA = "I = (n + 1) / 32 * Vref / (Rsense + 0.02) / sqrt2"


def planned(text: str) -> Plan:
    document = read("heron.h", f"#define FEED_PULSES_PER_MM 140.2\n\n{text}\n".encode(), "header")
    machine, sheet, book = recognise([document]), parse_sheet(SHEET, "sheet.yaml"), library.book()
    worked = work_out_lanes(book, machine, sheet, library.tables())
    return plan_changes(worked, book, machine, sheet, ".")


def told(text: str) -> str:
    plan = planned(text)
    assert not any(each.quantity == "motor.run_current" for each in plan.changes)
    (doubt,) = [each for each in plan.doubts if each.about == "motor.run_current"]
    return doubt.why


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"// {FORMULA}, Vref 0.325 V, Rsense 0.11 ohm\n#define FEED_CURRENT 24", "24 sets 1.38 A RMS now; for 0.62 A RMS the code is 10, which sets 0.608 A, and 11"),
        (f"#define SENSE_VREF_V 0.325\n#define FEED_RSENSE_OHM 0.11\n#define FEED_CURRENT 24 // {FORMULA}", "the code is 10"),
        ("#define FEED_CURRENT 24 // code n means (n+1)*50 mA", "the code is 11, which sets 0.6 A"),
        ("#define FEED_CURRENT 24 // mA = (code + 1) * 50, RMS", "24 sets 1.25 A RMS now; for 0.62 A RMS the code is 11"),
        ("#define FEED_CURRENT 24 // code n × 50 mA RMS", "the code is 12, which sets 0.6 A"),
    ],
)  # fmt: skip
def test_the_code_is_the_largest_that_sets_no_more(text: str, said: str) -> None:
    assert said in told(text)


@pytest.mark.parametrize(
    "text",
    [
        f"#define FEED_CURRENT 24 // {FORMULA}",
        f"#define X_RSENSE 0.11\n#define Y_RSENSE 0.15\n#define VREF 0.325\n#define FEED_CURRENT 24 // {FORMULA}",
        "#define FEED_CURRENT 24 // code n means (n+1)*50",
        "#define FEED_CURRENT 24 // code n means (n+1)*50 mA peak",
        "#define FEED_CURRENT 24 // code n means (n+1)*500 mA",
        "#define FEED_CURRENT 12 // code n of 0..15 means (n+1)*30 mA",
        "#define FEED_CURRENT 24 // code n: 1000 mA / (n + 1)",
        "#define FEED_CURRENT 24 // code, 0..31",
    ],
)
def test_what_can_t_be_worked_out_for_sure_is_not_told(text: str) -> None:
    why = told(text)
    assert "a code for the driver" in why and "the code is" not in why


def test_the_light_of_the_current_is_not_set() -> None:
    plan = planned("#define FEED_CURRENT 24 // code n means (n+1)*50 mA")
    (light,) = [each for each in plan.lights if each.light == "current"]
    assert light.state == "unknown"
