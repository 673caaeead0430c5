"""Letters that keys begin with: a feeder's by the heading above them, another device's by the remark beside one of them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str, dialect: str = "flat") -> Machine:
    return recognise([read("dunlin", text.encode(), dialect)])


def values(text: str) -> dict[tuple[str, str], float | None]:
    return {(reading.quantity, reading.holder.name): reading.value for reading in machine(text).readings}


def block(heading: str, first: str, steps: float) -> str:
    return f"; {heading}\n{first}_STEPS_PER_MM: {steps}\n{first}_MAX_SPEED: 40 ; mm/s\n{first}_RETRACT: 4.4 ; mm\n\n"


BOTH = block("feeder A (on the post)", "QZA", 133) + block("feeder B", "QZB", 402)


def test_letters_that_all_keys_below_a_feeder_s_heading_begin_with_stand_for_it() -> None:
    assert values(BOTH) == {
        ("feeder.steps_per_mm", "1"): 133,
        ("feeder.max_speed", "1"): 40,
        ("retraction.length", "1"): 4.4,
        ("feeder.steps_per_mm", "2"): 402,
        ("feeder.max_speed", "2"): 40,
        ("retraction.length", "2"): 4.4,
    }


def test_a_line_that_is_out_of_force_ends_no_run() -> None:
    assert len(values(BOTH.replace("QZA_MAX_SPEED", ";QZA_MAX_SPEED: 60\nQZA_MAX_SPEED"))) == 6


def test_an_axis_may_stand_in_a_heading_likewise() -> None:
    text = "; x axis\nQK_STEPS_PER_MM: 80\nQK_MAX_SPEED: 200 ; mm/s\nQK_MICROSTEPS: 16\n"
    assert {quantity for quantity, _ in values(text)} == {
        "axis.x.steps_per_mm",
        "axis.x.max_speed",
        "axis.x.microsteps",
    }


@pytest.mark.parametrize(
    "heading",
    [
        "winder A",
        "cake feeder A",
        "feeder of the parrot",
        "feeder A of the mill",
        "feeders A and B",
        "bird feeder",
        "feeder A (not fitted)",
        "feeder A (old)",
        "feeder A (spare)",
        "feeder A (my neighbour's)",
        "feeder A (mothballed)",
        "feeder A (until March)",
        "feeder A (factory values)",
        "feeder A (on the bench)",
        "feeder A (was on the attic printer)",
        "feeder A (of the label winder)",
        "pump",
        "x and y",
        "what hangs on plug 5",
    ],
)
def test_below_any_other_heading_unknown_letters_stand_for_nothing(heading: str) -> None:
    assert not machine(block(heading, "QZA", 133)).readings


def test_letters_that_stand_elsewhere_too_or_before_few_keys_stand_for_nothing() -> None:
    alone = block("feeder", "QZA", 133)
    assert len(machine(alone).readings) == 3
    assert not machine(alone + "; pump\nQZA_IDLE: 4\n").readings
    assert not machine(alone.replace("QZA_RETRACT: 4.4 ; mm\n", "")).readings
    assert not machine(alone.replace("QZA_RETRACT", "VEX_RETRACT")).get("feeder.steps_per_mm")
    assert not machine(alone.replace("; feeder\n", "; feeder\n\n")).get("feeder.steps_per_mm")


def test_letters_of_two_blocks_that_are_headed_alike_stand_for_nothing() -> None:
    assert not machine(block("feeder", "QZA", 133) + block("feeder", "QZB", 402)).readings


def test_what_a_remark_says_of_another_device_holds_for_all_keys_that_begin_with_letters_of_its_word() -> (
    None
):
    text = "REV_CURRENT: 600 ; reversing winder, mA\nREV_STP: 7.5\nREV_VMAX: 6\n"
    assert not machine(text).readings and not machine(text).doubts


@pytest.mark.parametrize("remark", ["", " ; at the winder's plug", " ; feeder, next to the winder"])
def test_a_remark_that_names_no_such_device_takes_nothing_away(remark: str) -> None:
    """Nor does one beside a key of the machine's own."""
    text = f"FEEDER_CURRENT: 600{remark}\nFEEDER_STEPS_PER_MM: 93\n"
    assert machine(text).get("feeder.steps_per_mm")
    own = "E_CURRENT: 600 ; engraver next door has the same, mA\nE_STEPS_PER_MM: 93\n"
    assert machine(own).get("feeder.steps_per_mm")


def test_a_block_of_c_may_be_a_heading_and_a_definition_out_of_force_ends_no_run() -> None:
    text = (
        "/* feeder */\n#define QZA_STEPS_PER_MM 133\n// #define QZA_MICROSTEPS 32\n#define QZA_MICROSTEPS 16\n"
        "#define QZA_RETRACT_MM 4.4\n"
    )
    assert len(machine(text, "header").readings) == 3
    assert not machine(text.replace("feeder", "ifdef FEEDER"), "header").readings
