"""A line whose name says all that a dangerous value is called, and a word more, is told whatever its number."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

FILE = """\
feeder-steps-per-mm 202.0
feeder-microsteps 32
retraction-length 6.2
lag-seconds 0.82
x-highest 210
{}
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, feed_per_turn: 4.85 mm, motor: {step_angle: 1.8 deg}, microsteps: 32, tube: {length: 40 mm}}
"""


def plan_of(folder: Path, line: str) -> Plan:
    (folder / "config").mkdir()
    (folder / "config" / "a.txt").write_text(FILE.format(line))
    (folder / "swap.yaml").write_text(SHEET)
    return api.work_out(folder / "config", folder / "swap.yaml").plan


def asked(plan: Plan) -> list[str]:
    return [doubt.why for doubt in plan.doubts if doubt.place.line == 6]


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("retraction-length-for-flexible 1.1", "retraction length"),
        ("stored-feeder-steps-per-mm 99", "feeder steps per mm"),
        ("lag-seconds-flexible 0.05", "lag coefficient"),
        ("feeder-steps-per-mm-petg 55", "feeder steps per mm"),
    ],
)
def test_a_name_with_a_word_more_is_told_whatever_its_number(tmp_path: Path, line: str, what: str) -> None:
    (why,) = asked(plan_of(tmp_path, line))
    assert why.startswith(f"this is not understood, and its name says the {what} and more")


@pytest.mark.parametrize(
    "line", ["home-retraction-length 4", "fan-steps-per-mm 99", "retraction-colour-of-lamp blue", "retries 3"]
)
def test_another_things_line_is_not(tmp_path: Path, line: str) -> None:
    assert asked(plan_of(tmp_path, line)) == []
