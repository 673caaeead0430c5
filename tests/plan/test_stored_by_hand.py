"""What was stored at a board's console by hand stands in no listing yet: the measured sheet says what was in force."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

FRAME = "feeder.steps_per_mm = 139.2\naxis.z.highest = 240\nfeeder.microsteps = 16\nfeeder.full_steps = 200\nfeeder.retraction.length_mm = 5.2\n"
LISTING = "ruff> list memory\n-- kept values --\nfeeder.steps_per_mm    139.6\naxis.z.highest    238\nblower.least    18\n"
SWAP = """\
new: {drive: on the carriage, feed_per_turn: 23.0 mm, microsteps: 16, motor: {step_angle: 1.8 deg}}
"""
MEASURED = "sheet: swap.yaml\nmeasured:\n  feed: {at_steps_per_mm: AT 1/mm, asked: 100 mm, moved: [98 mm, 98 mm, 98 mm]}\n"


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A machine whose packet told to store 139.13 in place of the 139.6 of a listing."""
    folder = tmp_path_factory.mktemp("told")
    (folder / "config").mkdir()
    (folder / "config" / "ruff.txt").write_text(FRAME)
    (folder / "config" / "kept.txt").write_text(LISTING)
    (folder / "config" / "cfgmigrate.yaml").write_text(
        'site: 1\nroles: {"kept.txt": saved values, ruff.txt: in force}\n'
    )
    (folder / "swap.yaml").write_text(SWAP.replace("23.0", "4.60"))
    plan = api.prepare([folder / "config"], folder / "swap.yaml", out=folder / "swap").plan
    api.install(
        folder / "swap", accept_unknown=[each.name for each in plan.lights if each.state == "unknown"]
    )
    return folder


def tuned(folder: Path, at: str, name: str) -> Plan:
    (folder / "measured.yaml").write_text(MEASURED.replace("AT", at))
    return api.tune([folder / "config"], folder / "measured.yaml", out=folder / name, replace=True).plan


def steps(plan: Plan) -> list[str]:
    return [step for item in plan.by_hand for step in item.steps]


def test_what_was_told_and_was_in_force_while_measuring_is_taken_as_stored_and_said_so(told: Path) -> None:
    plan = tuned(told, "695.65", "tuned")
    assert any(step.startswith("feeder.steps_per_mm: 695.65 → 709.8") for step in steps(plan))
    (said,) = [each for each in plan.doubts if "taken as stored" in each.why]
    assert said.place.file == "kept.txt" and "139.6" in said.why
    assert not api.verify(told / "tuned")


def test_what_was_measured_with_the_listings_value_asks_whether_the_new_one_was_stored(told: Path) -> None:
    plan = tuned(told, "139.6", "asked")
    assert any(each.why.startswith("Has feeder.steps_per_mm been stored") for each in plan.doubts)


def test_what_no_packet_told_writes_nothing_and_asks_for_a_new_listing(told: Path) -> None:
    plan = tuned(told, "512", "none")
    assert not steps(plan) and any("put that in place of the listing" in each.remedy for each in plan.doubts)


def test_the_starter_asks_instead_of_filling_in_what_the_old_listing_says(told: Path) -> None:
    lines = [line.strip() for line in api.measured_starter([told / "config"]).splitlines()]
    assert "# at_steps_per_mm: 695.65 1/mm" in lines and not any(
        line.startswith("at_steps_per_mm") for line in lines
    )
    assert any("Has feeder.steps_per_mm been stored" in line for line in lines)


def test_a_tuned_value_that_was_stored_too_is_where_the_next_tuning_starts(told: Path) -> None:
    tuned(told, "695.65", "second")
    api.install(told / "second")
    (new,) = [
        step.split(" → ")[1].split(" ")[0]
        for step in steps(tuned(told, "695.65", "twice"))
        if "steps" in step
    ]
    assert any(step.startswith(f"feeder.steps_per_mm: {new} → ") for step in steps(tuned(told, new, "third")))
    api.revert(told / "second")
    assert any("put that in place" in each.remedy for each in tuned(told, new, "back").doubts)
