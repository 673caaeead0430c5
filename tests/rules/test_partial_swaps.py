"""A sheet may describe any part of a swap alone: what follows from it is changed, the rest says why not.

Everything else about the machine stays as the files have it, and a second run changes nothing more.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rulebench import own_rules, work_out_given

from cfgmigrate.machine.quantities import quantity
from cfgmigrate.rules.engine import Outcome

FILES = {
    "was.feeder.feed_per_turn": "22.9", "was.feeder.steps_per_mm": "139.7", "was.feeder.full_steps": "200",
    "was.feeder.microsteps": "16", "was.feeder.max_speed": "60", "was.feeder.max_acceleration": "1800",
    "was.feeder.max_feed_length": "520", "was.feeder.load_length": "510", "was.feeder.unload_length": "510",
    "was.motor.run_current": "0.70", "was.motor.hold_current": "0.35", "was.motor.sense_resistor": "0.11",
    "was.retraction.length": "5.4", "was.retraction.speed": "45", "was.retraction.return_speed": "40",
    "was.retraction.extra_on_return": "0.05", "was.retraction.lift": "0.2", "was.lag.coefficient": "0.55",
    "was.lag.averaging": "0.034", "was.axis.z.max": "200", "was.resonance.x": "45", "was.filament.diameter": "1.75",
}  # fmt: skip
ON_CARRIAGE = FILES | {
    "was.retraction.length": "0.4", "was.retraction.speed": "25", "was.lag.coefficient": "0.05",
    "was.feeder.max_feed_length": "120", "was.feeder.load_length": "90", "was.feeder.unload_length": "90",
}  # fmt: skip
PATHS = {
    "old.tube.length": "450 mm", "old.tube.bore": "2.0 mm", "old.tube.bend": "200 deg", "new.tube.length": "45 mm",
    "new.tube.bore": "2.0 mm", "new.tube.bend": "0 deg", "filament.material": "PLA",
}  # fmt: skip
WAY_BACK = {
    "old.drive": "on the carriage", "new.drive": "tube-fed", "old.tube.length": "34 mm", "old.tube.bore": "1.9 mm",
    "old.tube.bend": "0 deg", "new.tube.length": "290 mm", "new.tube.bore": "1.9 mm", "new.tube.bend": "145 deg",
    "filament.material": "PLA",
}  # fmt: skip

# what is described: sheet, files, the quantities that change, the by-hand items
SWAPS: dict[str, tuple[Mapping[str, str], Mapping[str, str], set[str], set[str]]] = {
    "only new gears": (
        {"new.drive_gear.effective_diameter": "7.33 ± 0.06 mm", "new.drive_gear.gear_ratio": "50:9"},
        FILES, {"feeder.feed_per_turn", "feeder.steps_per_mm"},
        {"feeder.direction", "work.gear_play", "work.keep_parts", "work.grip"},
    ),
    "only a motor": (
        {"new.motor.rated_current": "1.0 A", "new.motor.recommended_current": "0.45 A", "new.motor.step_angle": "0.9 deg"},
        FILES, {"feeder.full_steps", "feeder.steps_per_mm", "motor.run_current", "motor.hold_current"},
        {"feeder.direction", "work.motor_coils", "work.keep_parts", "work.pinion", "work.driver_sheet"},
    ),
    "only a driver set over its serial line": (
        {"new.driver.part": "TMC2209", "new.driver.set_by": "serial", "new.driver.sense_resistor": "0.11 ohm", "new.microsteps": "32"},
        FILES, {"feeder.microsteps", "feeder.steps_per_mm"}, set(),
    ),
    "only a driver that delivers less": (
        {"new.driver.max_current": "0.6 A"}, FILES, {"motor.run_current", "motor.hold_current"}, set(),
    ),
    "only a driver set by its screw": (
        {"new.driver.part": "DRV8825", "new.driver.set_by": "screw", "new.driver.sense_resistor": "0.11 ohm"},
        FILES, set(), {"motor.reference_voltage"},
    ),
    "only a shorter tube": (
        PATHS, FILES,
        {"retraction.length", "lag.coefficient", "retraction.extra_on_return", "feeder.max_feed_length", "feeder.load_length", "feeder.unload_length"},
        {"work.guide_tube"},
    ),
    "only the drive's seat": (
        {"new.drive": "on the carriage"}, FILES, {"retraction.speed", "retraction.extra_on_return"},
        {"feeder.direction", "lag.averaging", "lag.to_measure", "retraction.lift", "work.gear_play", "work.keep_old", "work.grip", "work.spare_parts", "work.level"},
    ),
    "the way back from the carriage to a tube": (
        WAY_BACK, ON_CARRIAGE,
        {"retraction.length", "lag.coefficient", "retraction.extra_on_return", "feeder.max_feed_length", "feeder.load_length", "feeder.unload_length"},
        {
            "feeder.direction", "work.gear_play", "work.keep_old", "work.grip", "work.spare_parts", "work.guide_long", "work.wires_off",
        },
    ),
    "only the clearance": ({"clearance.highest_z": "188.5 mm"}, FILES, {"axis.z.max"}, set()),
    "only a mount": ({"new.mount.material": "PLA"}, FILES, set(), {"work.spare_parts"}),
    "only another filament": ({"filament.material": "ABS"}, FILES, set(), set()),
    "only a motor on the same compact drive": (
        {
            "old.drive": "on the carriage", "new.drive": "on the carriage", "old.tube.length": "34 mm", "new.tube.length": "34 mm",
            "new.motor.rated_current": "1.0 A", "new.motor.recommended_current": "0.45 A", "filament.material": "PLA",
        },
        ON_CARRIAGE, {"motor.run_current", "motor.hold_current"},
        {
            "feeder.direction", "work.motor_coils", "work.keep_old", "work.gear_play", "work.grip", "work.spare_parts",
            "work.driver_sheet", "motor.filament_heat",
        },
    ),
    "nothing": ({}, FILES, set(), set()),
}  # fmt: skip
#: by-hand items of the frame and of what is protected; tests of those rules stand elsewhere
ELSEWHERE = ("axis.", "protected.", "probe.", "mesh.", "park.", "resonance.", "machine.")


def changes(outcome: Outcome, files: Mapping[str, str]) -> dict[str, float]:
    """What would be written into the files and is not there yet."""
    return {
        result.target: result.value
        for result in outcome.results
        if result.value is not None and f"was.{result.target}" in files
        and abs(result.value - float(files[f"was.{result.target}"])) > 1e-9 * abs(result.value)
    }  # fmt: skip


def by_hand(outcome: Outcome) -> set[str]:
    rules = {rule.name: rule for rule in own_rules().rules}
    return {
        result.rule
        for result in outcome.results
        if rules[result.rule].by_hand and not result.rule.startswith(ELSEWHERE)
    }


@pytest.mark.parametrize("swap", SWAPS)
def test_what_follows_is_changed_and_nothing_else(swap: str) -> None:
    sheet, files, changed, hands = SWAPS[swap]
    outcome = work_out_given({**sheet, **files})
    assert set(changes(outcome, files)) == changed
    assert by_hand(outcome) == hands


def test_a_wanted_current_that_is_a_question_still_stops_the_hand_where_the_mount_stands_less() -> None:
    outcome = work_out_given({
        "new.driver.set_by": "screw", "new.driver.part": "A4988", "new.driver.sense_resistor": "0.1 ohm",
        "new.motor.recommended_current": "2.5 A", "new.motor.rated_current": "1.1 A", "motor.heat_limit": "0.61 A",
    })  # fmt: skip
    stop = outcome.result("motor.too_hot")
    assert stop is not None and "both currents in the sheet" in stop.warnings[0]
    assert "motor.reference_voltage" not in by_hand(outcome)


SCREWED = {
    "new.driver.set_by": "screw", "new.driver.volts_per_amp": "0.8 V/A", "new.motor.rated_current": "1 A",
    "new.drive": "on the carriage", "old.driver.reference_voltage": "0.96 V",
}  # fmt: skip


@pytest.mark.parametrize(
    ("more", "volts"),
    [
        ({}, 0.52),  # 0.8 V/A · 0.65 A
        (
            {"new.mount.material": "PETG"},
            0.357,
        ),  # 0.8 V/A · 0.446 A, which lets the mount come to 56 °C in air of 45 °C
        ({"new.mount.material": "PETG", "new.motor.recommended_current": "0.75 A"}, 0.357),
    ],
    ids=["no mount", "PETG", "PETG, and a current that the maker recommends"],
)
def test_whoever_says_more_of_the_mount_still_gets_a_voltage_where_a_safe_one_exists(
    more: Mapping[str, str], volts: float
) -> None:
    outcome = work_out_given({**SCREWED, **more})
    found = outcome.result("motor.reference_voltage")
    assert found is not None and found.value == pytest.approx(volts, abs=5e-4)
    assert "motor.too_hot" not in by_hand(outcome)
    assert bool(more) is any("nothing above it is" in text for text in found.warnings)


@pytest.mark.parametrize(
    "less", [{"surroundings.air": "53 degC"}, {"new.driver.set_by": "serial"}], ids=["hot air", "no screw"]
)
def test_nobody_gets_a_voltage_where_the_mount_stands_next_to_nothing_or_no_screw_sets_the_current(
    less: Mapping[str, str],
) -> None:
    outcome = work_out_given({**SCREWED, "new.mount.material": "PETG", **less})
    assert "motor.too_hot" in by_hand(outcome) and "motor.reference_voltage" not in by_hand(outcome)
    assert outcome.result("motor.run_current") is None


@pytest.mark.parametrize(
    ("more", "volts"),
    [
        ({"new.mount.material": "ABS", "surroundings.air": "62 degC"}, None),
        (
            {
                "new.mount.material": "ABS",
                "surroundings.air": "54 degC",
                "new.motor.recommended_current": "0.8 A",
            },
            None,
        ),
        ({"new.mount.material": "PETG", "surroundings.air": "45 degC"}, 0.357),
    ],
    ids=["the air alone", "the motor", "neither, for the mount stands less than the filament"],
)
def test_a_screw_is_set_to_what_the_mount_stands_only_where_the_filament_stays_firm_as_well(
    more: Mapping[str, str], volts: float | None
) -> None:
    """The filament softens at 57.5 °C in the gears, the mount of ABS only later."""
    outcome = work_out_given({**SCREWED, "new.motor.rated_rise": "80 K", "filament.material": "PLA", **more})
    assert "motor.too_hot" not in by_hand(outcome)
    found = outcome.result("motor.reference_voltage")
    assert (found is not None) is (volts is not None)
    assert found is None or found.value == pytest.approx(volts, abs=5e-4)
    assert ("motor.current_to_set" in by_hand(outcome)) is (volts is None)


@pytest.mark.parametrize("swap", SWAPS)
def test_every_rule_that_is_silent_says_why_in_words_that_a_person_can_act_on(swap: str) -> None:
    sheet, files, _, _ = SWAPS[swap]
    outcome = work_out_given({**sheet, **files})
    assert {silent.rule for silent in outcome.silent} | {result.rule for result in outcome.results} == {
        rule.name for rule in own_rules().rules
    }
    for silent in outcome.silent:
        assert 10 < len(silent.why) < 400, f"{silent.rule}: {silent.why}"
        assert silent.why.count("(") <= 4, f"{silent.rule}: {silent.why}"


@pytest.mark.parametrize("swap", SWAPS)
def test_a_second_run_changes_nothing(swap: str) -> None:
    sheet, files, _, _ = SWAPS[swap]
    written = changes(work_out_given({**sheet, **files}), files)
    after = {name: repr(written.get(name.removeprefix("was."), float(text))) for name, text in files.items()}
    assert changes(work_out_given({**sheet, **after}), after) == {}


@pytest.mark.parametrize("swap", SWAPS)
def test_no_value_is_one_that_no_machine_has(swap: str) -> None:
    sheet, files, _, _ = SWAPS[swap]
    for name, value in changes(work_out_given({**sheet, **files}), files).items():
        assert quantity(name).plausible(value), f"{name} = {value}"


def test_the_numbers_of_the_way_back_are_those_of_a_tube_fed_machine() -> None:
    """Common practice, no source: 3 to 6 mm and 0.3 to 1 s through a tube of some 300 mm."""
    found = changes(work_out_given({**WAY_BACK, **ON_CARRIAGE}), ON_CARRIAGE)
    assert 2.5 < found["retraction.length"] < 6
    assert 0.3 < found["lag.coefficient"] < 1


def test_there_and_back_again_comes_to_about_the_same() -> None:
    there = work_out_given({**PATHS, **FILES}).result("retraction.length")
    assert there is not None and there.value is not None
    back = {f"{'new' if name.startswith('old') else 'old' if name.startswith('new') else ''}{name[3:]}": text for name, text in PATHS.items() if name[:3] in ("old", "new")}  # fmt: skip
    again = work_out_given(
        {
            **back,
            "filament.material": "PLA",
            "filament.diameter": "1.75 mm",
            "was.retraction.length": str(there.value),
        }
    )
    result = again.result("retraction.length")
    assert result is not None and result.value is not None
    assert abs(result.value - 5.4) < 2 * result.uncertainty


ON_PATH = (
    "retraction.",
    "lag.",
    "feeder.load_length",
    "feeder.unload_length",
    "feeder.max_feed_length",
    "path.",
)
SAME_PATH = {
    "old.drive": "on the carriage", "new.drive": "on the carriage", "old.tube.length": "34 mm", "new.tube.length": "34 mm",
    "filament.material": "TPU",
}  # fmt: skip
MOTORS = st.fixed_dictionaries(
    {},
    optional={
        "new.motor.rated_current": st.sampled_from(["0.8 A", "1.0 A", "1.5 A"]),
        "new.motor.recommended_current": st.sampled_from(["0.35 A", "0.7 A"]),
        "new.motor.step_angle": st.sampled_from(["1.8 deg", "0.9 deg"]),
        "new.motor.holding_torque": st.sampled_from(["9 N*cm", "40 N*cm"]),
        "new.motor.rotor_inertia": st.sampled_from(["9 g*cm^2", "60 g*cm^2"]),
        "new.motor.winding_inductance": st.sampled_from(["1.6 mH", "9 mH"]),
        "new.mount.material": st.sampled_from(["ABS", "PLA"]),
        "surroundings.air": st.sampled_from(["30 degC", "70 degC"]),
    },
)


@given(motor=MOTORS, where=st.sampled_from([{}, SAME_PATH]), speed=st.integers(46, 200))
def test_a_swap_of_the_motor_alone_changes_nothing_about_the_path(
    motor: dict[str, str], where: dict[str, str], speed: int
) -> None:
    """Unless the feeder can't be as fast as before: then no retraction is faster than it may turn."""
    files = {**ON_CARRIAGE, "was.feeder.max_speed": str(speed)}
    outcome = work_out_given({**where, **motor, **files})
    top = outcome.result("feeder.max_speed")
    slower = top is not None and top.value is not None and top.value < 40
    allowed = {"retraction.speed", "retraction.return_speed"} if slower else set()
    touched = set(changes(outcome, files)) | by_hand(outcome)
    assert {name for name in touched if name.startswith(ON_PATH)} <= allowed


@given(motor=MOTORS, accel=st.integers(100, 20000), push=st.floats(20, 90))
def test_no_limit_comes_out_as_nothing_or_as_unsure_as_it_is_large(
    motor: dict[str, str], accel: int, push: float
) -> None:
    given_ = {**motor, **FILES, "was.feeder.max_acceleration": str(accel), "feeder.push_force": f"{push} N"}
    result = work_out_given(
        {"new.motor.holding_torque": "9 N*cm", "new.motor.rotor_inertia": "9 g*cm^2", **given_}
    ).result("feeder.max_acceleration")
    if result is not None:
        assert result.value is not None and result.value > 0
        assert push >= 1.5 * 40


@given(
    limit=st.integers(6, 80), pull=st.integers(10, 90), prime=st.integers(10, 90),
    where=st.sampled_from([{}, {"new.drive": "on the carriage"}, WAY_BACK, SAME_PATH]),
)  # fmt: skip
def test_written_speeds_meet_the_feeders_limit(
    limit: int, pull: int, prime: int, where: dict[str, str]
) -> None:
    files = {**FILES, "was.retraction.speed": str(pull), "was.retraction.return_speed": str(prime)}
    outcome = work_out_given({**where, **files, "new.recommended_feed_speed": f"{limit} mm/s"})
    speeds = {
        **{name.removeprefix("was."): float(text) for name, text in files.items()},
        **changes(outcome, files),
    }
    for name in ("retraction.speed", "retraction.return_speed"):
        assert speeds[name] <= limit
        result = outcome.result(name)
        assert result is None or result.high is None or result.high <= limit
