"""What follows from measurements, worked out by hand beside each number; and nothing else moves."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache

import pytest
from rulebench import machine_of, sheet_of

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.quantities import known
from cfgmigrate.rules import library
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.passes import Lane
from cfgmigrate.rules.result import Derivation, Input, Result, Status
from cfgmigrate.rules.tuning import following, joined, work_out_tuning
from cfgmigrate.sheet.reader import parse_sheet
from cfgmigrate.sheet.schema import measured_schema

#: Wren's new drive as a swap sheet has it, and what the files hold after the swap
SWAP = {
    "old.drive": "tube-fed",
    "old.tube.length": "365 mm",
    "old.tube.bore": "1.95 mm",
    "old.tube.bend": "170 deg",
    "new.drive": "on the carriage",
    "new.feed_per_turn": "4.85 mm",
    "new.tube.length": "41 mm",
    "new.motor.rated_current": "0.9 A",
    "new.motor.recommended_current": "0.42 A",
    "new.driver.part": "TMC2209",
    "new.driver.set_by": "serial",
    "new.driver.sense_resistor": "0.11 ohm",
    "new.mount.material": "ABS",
    "surroundings.air": "41 degC",
    "carriage.old_mass": "285 g",
    "carriage.new_mass": "372 g",
}
FILES = {
    "was.feeder.feed_per_turn": "4.85",
    "was.feeder.full_steps": "200",
    "was.feeder.microsteps": "16",
    "was.retraction.length": "0.52",
    "was.lag.coefficient": "0.052",
    "was.motor.run_current": "0.42",
    "was.motor.hold_current": "0.21",
    "was.axis.z.max": "249",
    "was.resonance.x": "46",
}
#: IEC 60034-1's own kind of figures: 80 ohm at 20 degC, 100 ohm hot (sources: 83.63 degC with 234.5 K)
WINDING = """
  winding: {cold_resistance: 80 ohm, cold_temperature: 20 degC, hot_resistance: 100 ohm, air: 40 degC, current: 0.1 A}
"""


@lru_cache(maxsize=1)
def book() -> Book:
    return library.tuning_book()


def test_the_book_of_tuning_has_the_text_of_each_of_its_rules_and_comes_without_those_of_the_book() -> None:
    assert {rule.place.file for rule in book().rules} == set(book().sources)
    own = library._own_tuning_rules().own
    assert not own.sources.items() & library.book().sources.items()
    assert (
        own.rules
        and not {rule.name: rule for rule in own.rules}.items()
        & {rule.name: rule for rule in library.book().rules}.items()
    )
    assert book() == library._tuning_book(library.book())


def tuned(measured: str, files: Mapping[str, str] = FILES, swap: Mapping[str, str] = SWAP) -> Outcome:
    own = parse_sheet(f"measured:\n{measured}".encode(), "measured.yaml", measured_schema())
    machine = machine_of(files)
    lane = {Lane(1): joined(own, sheet_of(swap))}
    return work_out_tuning(book(), machine, lane, library.tables()).base


def result(outcome: Outcome, rule: str) -> Result:
    found = outcome.result(rule)
    assert found is not None, [silent for silent in outcome.silent if silent.rule == rule]
    return found


def number(outcome: Outcome, rule: str) -> float:
    value = result(outcome, rule).value
    assert value is not None
    return value


def targets(outcome: Outcome) -> set[str]:
    return {found.target for found in outcome.results if found.target}


# --- feed length ----------------------------------------------------------------------------------------

FEED = "  feed: {at_feed_per_turn: 4.85 mm, asked: 100 mm, moved: [98.7 mm, 98.9 mm, 98.8 mm], reading_error: 0.2 mm}"


def test_less_fed_than_asked_means_a_shorter_feed_per_turn() -> None:
    outcome = tuned(FEED)
    found = result(outcome, "feeder.feed_per_turn")
    # 4.85 mm · 98.8/100 = 4.7918 mm; one reading ± 0.2/√3 mm beats s = 0.1 mm, over √3: 0.066667 mm in 98.8 mm
    assert found.value == pytest.approx(4.7918)
    assert found.uncertainty == pytest.approx(4.85 * 0.0666667 / 100, rel=1e-5)
    assert found.status is Status.MEASURED
    assert [check.value for check in found.cross_checks] == [pytest.approx(4.85)]
    assert targets(outcome) == {"feeder.feed_per_turn"}
    assert not outcome.doubts


def test_less_fed_than_asked_means_more_steps_per_mm() -> None:
    feed = FEED.replace("at_feed_per_turn: 4.85 mm", "at_steps_per_mm: 660 1/mm")
    files = {"was.feeder.steps_per_mm": "660", "was.feeder.full_steps": "200", "was.feeder.microsteps": "16"}
    # 660 · 100/98.8 = 668.0162
    assert number(tuned(feed, files), "feeder.steps_per_mm") == pytest.approx(668.01619, rel=1e-7)


def test_standard_error_and_how_many_repeats_a_wanted_uncertainty_takes() -> None:
    # GUM H.2: s = 0.0071764, s/√5 = 0.0032094. Wanted 0.05 % of 4.999: (0.0071764/4.999/0.0005)² = 8.24, so 9 in all.
    feed = "  feed: {asked: 5 mm, moved: [5.007 mm, 4.994 mm, 5.005 mm, 4.990 mm, 4.999 mm], wanted: 0.05 %}"
    outcome = tuned(feed)
    assert number(outcome, "feed.standard_error") == pytest.approx(0.0032094, rel=1e-4)
    assert number(outcome, "feed.repeats") == 9
    assert number(outcome, "feed.more_repeats") == 4
    assert "4 times more" in " ".join(result(outcome, "feed.more_repeats").warnings)


def test_repeats_that_scatter_more_than_a_reading_errs_are_a_doubt() -> None:
    outcome = tuned(FEED.replace("98.9 mm", "97.0 mm"))
    assert "more than the 0.2 mm" in " ".join(doubt.why for doubt in outcome.doubts)


def test_a_feed_length_far_from_the_makers_figure_is_a_doubt() -> None:
    outcome = tuned(FEED.replace("[98.7 mm, 98.9 mm, 98.8 mm]", "[90.0 mm, 90.1 mm, 89.9 mm]"))
    assert "more than the 3 %" in " ".join(doubt.why for doubt in outcome.doubts)


@pytest.mark.parametrize("moved", ["[98.7 mm, 98.9 mm, 9.88 mm]", "[80 mm, 80.1 mm, 79.9 mm]"])
def test_repeats_far_apart_or_far_from_the_makers_figure_are_not_written(moved: str) -> None:
    """One of three a tenth of the others, and a fifth less than the maker says: there something slips, or is a slip."""
    outcome = tuned(FEED.replace("[98.7 mm, 98.9 mm, 98.8 mm]", moved))
    assert result(outcome, "feeder.feed_per_turn").unsettled and outcome.doubts


@pytest.mark.parametrize(
    ("moved", "meant", "open_still"),
    [
        ("[49 mm, 49 mm]", "no", True),
        ("[49 mm, 49 mm]", "yes", True),
        ("[51 mm, 51 mm]", "no", True),
        ("[89 mm, 89 mm]", "no", True),
        ("[112 mm, 112 mm]", "no", True),
        ("[210 mm, 210 mm]", "yes", True),
        ("[51 mm, 51 mm]", "yes", False),
        ("[112 mm, 112 mm]", "yes", False),
        ("[92 mm, 92 mm]", "no", False),
    ],
)
def test_what_feeds_far_from_what_was_asked_is_not_written_as_tuning_where_nothing_else_says_so(
    moved: str, meant: str, open_still: bool
) -> None:
    """A tenth is no matter of tuning, unless a person says that it is meant so; half or double never is."""
    nothing_known = {name: text for name, text in SWAP.items() if name != "new.feed_per_turn"}
    feed = FEED.replace("[98.7 mm, 98.9 mm, 98.8 mm]", moved).replace(
        "feed: {", f"feed: {{length_meant: {meant}, "
    )
    outcome = tuned(feed, FILES, nothing_known)
    assert bool(result(outcome, "feeder.feed_per_turn").unsettled) is open_still
    steps = feed.replace("at_feed_per_turn: 4.85 mm", "at_steps_per_mm: 660 1/mm")
    files = {"was.feeder.steps_per_mm": "660"}
    outcome = tuned(steps, files, nothing_known)
    assert bool(result(outcome, "feeder.steps_per_mm").unsettled) is open_still


@pytest.mark.parametrize("quantity", ["feeder.steps_per_mm", "feeder.feed_per_turn"])
def test_what_came_out_instead_of_going_in_is_no_length_and_the_direction_is_reversed_by_hand(
    quantity: str,
) -> None:
    feed = FEED.replace("feed: {", "feed: {went: out, at_steps_per_mm: 660 1/mm, ")
    outcome = tuned(feed, {"was.feeder.steps_per_mm": "660", "was.feeder.feed_per_turn": "4.85"})
    assert result(outcome, quantity).unsettled
    assert "went out" in result(outcome, "feeder.sense").hand
    outcome = tuned(feed.replace("went: out", "went: in"), {"was.feeder.feed_per_turn": "4.85"})
    assert outcome.result("feeder.sense") is None


def test_the_direction_alone_is_a_finding_of_its_own() -> None:
    assert result(tuned("  feed: {went: out}"), "feeder.sense").hand


def test_what_was_fed_with_the_old_value_in_force_is_no_fault_where_the_drive_s_figures_say_the_same() -> (
    None
):
    """96.4 · 200/41 = 470.24, and 200 · 16 · 3.5 / (π · 7.6 mm) = 469.09."""
    feed = "  feed: {at_steps_per_mm: 96.4 1/mm, asked: 200 mm, moved: [41 mm], reading_error: 1 mm}"
    gears = {"new.drive_gear.effective_diameter": "7.6 mm", "new.drive_gear.gear_ratio": "42:12"}
    swap = gears | {"new.motor.step_angle": "1.8 deg", "new.microsteps": "16"}
    for files in ({"was.feeder.steps_per_mm": "469"}, {"was.feeder.microsteps": "16"}, {}):
        found = result(tuned(feed, files, swap), "feeder.steps_per_mm")
        assert not found.unsettled and found.value == pytest.approx(470.24, rel=1e-4)
    wrong = swap | {"new.microsteps": "32"}
    assert result(tuned(feed, {}, wrong), "feeder.steps_per_mm").unsettled


@pytest.mark.parametrize("by_now", ["5.6", "4.87"])
def test_from_files_that_were_changed_between_measuring_and_tuning_nothing_follows(by_now: str) -> None:
    """Also where it was little: 4.87 was tuned once already, and the measured sheet still says 4.85."""
    outcome = tuned(FEED, {**FILES, "was.feeder.feed_per_turn": by_now})
    assert "something else was changed" in " ".join(silent.why for silent in outcome.silent)
    assert "feeder.feed_per_turn" not in targets(outcome)


@pytest.mark.parametrize(
    ("in_force", "moved", "held", "slips"),
    [("4.85 mm", "97 mm", False, True), ("4.85 mm", "99 mm", False, False), ("5.3 mm", "91.5 mm", False, False), ("5.3 mm", "93 mm", True, False)],
)  # fmt: skip
def test_what_the_files_have_by_now_is_not_written_over_by_an_older_measurement_nor_slip_taken_for_size(
    in_force: str, moved: str, held: bool, slips: bool
) -> None:
    swap = {**SWAP, "new.drive_gear.effective_diameter": "7.719 mm", "new.drive_gear.gear_ratio": "5:1"}
    feed = f"  feed: {{asked: 100 mm, moved: [{moved}, {moved}, {moved}], at_feed_per_turn: {in_force}}}\n"
    found = result(tuned(feed, swap=swap), "feeder.feed_per_turn")
    assert bool(found.unsettled) is held
    assert any("slip more often than" in each for each in found.warnings) is slips


def test_without_what_was_in_force_nothing_is_worked_out_from_a_length() -> None:
    outcome = tuned(FEED.replace("at_feed_per_turn: 4.85 mm, ", ""))
    assert "feeder.feed_per_turn" not in targets(outcome)


# --- tower, lag, z, resonance -----------------------------------------------------------------------------


def test_the_best_band_of_a_tower() -> None:
    found = result(
        tuned("  retraction: {lowest: 0 mm, more_each: 0.1 mm, best_storey: 5, storeys: 9}"),
        "retraction.length",
    )
    # 0 + 0.1 · (5 − 1); half a step over √3
    assert found.value == pytest.approx(0.4)
    assert found.uncertainty == pytest.approx(0.05 / math.sqrt(3), rel=1e-3)
    assert (found.low, found.high, found.step) == (
        pytest.approx(0.3),
        pytest.approx(0.5),
        pytest.approx(0.05),
    )


@pytest.mark.parametrize(
    ("height", "length"), [("19.4 mm", 0.4), ("22.4 mm", 0.4), ("22.6 mm", 0.5), ("0 mm", 0.0)]
)
def test_the_height_at_which_strings_end(height: str, length: float) -> None:
    tower = (
        f"  retraction: {{lowest: 0 mm, more_each: 0.1 mm, strings_end_at: {height}, storey_height: 5 mm}}"
    )
    assert number(tuned(tower), "retraction.length") == pytest.approx(length)


def test_a_tower_whose_last_band_is_the_best_is_a_doubt() -> None:
    outcome = tuned("  retraction: {lowest: 0 mm, more_each: 0.1 mm, best_storey: 9, storeys: 9}")
    assert "last one" in " ".join(doubt.why for doubt in outcome.doubts)


def test_the_lag_by_its_value_or_by_its_wall() -> None:
    assert number(tuned("  lag: {best: 48 ms}"), "lag.coefficient") == pytest.approx(0.048)
    # 0.02 + 0.005 · (7 − 1)
    assert number(
        tuned("  lag: {start: 0.02 s, step: 5 ms, even_wall: 7, walls: 11}"), "lag.coefficient"
    ) == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("best", "in_force", "asked"),
    [
        ("4.8 ms", "0.052", True),
        ("0.048 ms", "0.052", True),
        ("48 ms", "0.052", False),
        ("0 s", "0.052", False),
        # what is in force is the tube's still
        ("48 ms", "0.55", False),
    ],
)
def test_a_lag_of_less_than_a_sixth_of_the_one_in_force_is_asked_about(
    best: str, in_force: str, asked: bool
) -> None:
    outcome = tuned(f"  lag: {{best: {best}}}", {**FILES, "was.lag.coefficient": in_force})
    assert any("a sixth" in doubt.why for doubt in outcome.doubts) is asked


def test_a_measured_height_lowers_the_limit_and_never_raises_it() -> None:
    swap = {**SWAP, "clearance.keep_clear": "2.5 mm"}
    assert number(tuned("  z: {highest: 250.6 mm}", swap=swap), "axis.z.max") == pytest.approx(248.1)
    higher = tuned("  z: {highest: 270 mm}", swap=swap)
    assert number(higher, "axis.z.max") == pytest.approx(249)
    assert "not raised here" in " ".join(result(higher, "axis.z.max").warnings)


def test_a_measured_height_of_less_than_half_the_limit_is_not_written() -> None:
    assert result(tuned("  z: {highest: 25.06 mm}"), "axis.z.max").unsettled


def test_a_place_to_wait_above_the_new_limit_comes_down_with_it() -> None:
    outcome = tuned("  z: {highest: 250 mm}", {**FILES, "was.park.z": "249"})
    assert number(outcome, "park.z") == pytest.approx(248)  # 2 mm kept clear, common practice


def test_a_measured_resonance_takes_the_place_of_the_scaled_one() -> None:
    outcome = tuned("  resonance: {x: 45.2 Hz}")
    assert number(outcome, "resonance.x") == pytest.approx(45.2)
    assert targets(outcome) == {"resonance.x"}


# --- current and heat ----------------------------------------------------------------------------------------


def test_a_wanted_rise_moves_run_and_hold_current_in_proportion() -> None:
    outcome = tuned("  current: {at: 0.42 A, rise: 0.03 A}")
    assert number(outcome, "motor.run_current") == pytest.approx(0.45)
    assert number(outcome, "motor.hold_current") == pytest.approx(0.225)  # 0.45 · 0.21/0.42
    assert targets(outcome) == {"motor.run_current", "motor.hold_current"}
    assert outcome.result("motor.winding_temperature") is not None
    assert outcome.result("motor.case_temperature") is not None


def test_a_current_that_softens_the_mount_is_not_written_and_what_to_change_is_said() -> None:
    outcome = tuned("  current: {wanted: 0.85 A}")
    assert "motor.run_current" not in targets(outcome)
    assert "Change the mount, the motor or its cooling" in result(outcome, "motor.too_hot").hand


def test_a_current_beyond_the_driver_is_held_at_its_limit() -> None:
    outcome = tuned(
        "  current: {wanted: 2 A}",
        swap={"new.driver.part": "TMC2209", "new.driver.sense_resistor": "0.11 ohm"},
    )
    # TMC2209, 0.11 ohm: 0.325 V / (0.11 + 0.02) ohm / √2 = 1.7678 A (data sheet rev 1.03, chapter 8)
    assert number(outcome, "motor.run_current") == pytest.approx(1.7678, rel=1e-4)
    assert "more than this driver" in " ".join(doubt.why for doubt in outcome.doubts)


def test_a_current_without_anything_known_of_the_motor_is_a_doubt() -> None:
    outcome = tuned("  current: {wanted: 0.45 A}", swap={})
    assert number(outcome, "motor.run_current") == pytest.approx(0.45)
    assert "nothing was checked about its heat" in " ".join(doubt.why for doubt in outcome.doubts)


def test_a_screw_is_turned_by_hand_and_no_file_is_changed() -> None:
    swap = {
        **SWAP,
        "new.driver.part": "A4988",
        "new.driver.set_by": "screw",
        "new.driver.sense_resistor": "0.1 ohm",
    }
    outcome = tuned("  current: {wanted: 0.5 A}", swap=swap)
    assert not targets(outcome) & {"motor.run_current"}
    # A4988 data sheet (4988-DS): 8 · 0.1 ohm · √2 · 0.5 A
    assert number(outcome, "motor.reference_voltage") == pytest.approx(0.565685, rel=1e-5)


def test_the_true_temperature_of_a_winding() -> None:
    outcome = tuned(WINDING)
    found = result(outcome, "winding.true_temperature")
    # 100/80 · (20 + 234.5) − 234.5 = 83.625 degC; with 235: 100/80 · 255 − 235 = 83.75, a rise of 63.75 K over 20 degC
    assert found.value == pytest.approx(83.625)
    assert found.cross_checks[0].value == pytest.approx(83.75)
    assert number(outcome, "winding.rise") == pytest.approx(43.625)


def test_the_thermal_resistance_follows_and_replaces_the_assumed_one() -> None:
    outcome = tuned(WINDING)
    # 43.625 K / (2 · 0.1² A² · 100 ohm) = 21.8125 K/W
    assert number(outcome, "new.motor.thermal_resistance") == pytest.approx(21.8125)
    assert number(outcome, "new.motor.winding_resistance") == pytest.approx(80)
    factor = result(outcome, "motor.heat_factor")
    assert result(outcome, "motor.heat_rate").way == "measured thermal resistance"
    # 2 · 21.8125 · 0.42² · 80 / 254.5
    assert factor.value == pytest.approx(2 * 21.8125 * 0.42**2 * 80 / 254.5)


@pytest.mark.parametrize(
    ("flowed", "in_force", "held"),
    [("0.42 A", "0.42", False), ("0.21 A", "0.42", False), ("4.2 A", "0.42", True), ("0.9 A", "0.42", True), ("0.6 A", None, False), ("4.2 A", None, True)],
)  # fmt: skip
def test_a_current_that_can_not_have_flowed_lifts_no_limit_of_the_mount(
    flowed: str, in_force: str | None, held: bool
) -> None:
    files = {name: value for name, value in FILES.items() if name != "was.motor.run_current"}
    files |= {"was.motor.run_current": in_force} if in_force else {}
    winding = "cold_resistance: 2.6 ohm, cold_temperature: 20 degC, hot_resistance: 3 ohm, air: 40 degC"
    outcome = tuned(f"  winding: {{{winding}, current: {flowed}}}\n  current: {{wanted: 0.85 A}}\n", files)
    assert bool(result(outcome, "new.motor.thermal_resistance").unsettled) is held
    if held:
        run = outcome.result("motor.run_current")
        assert run is None or run.unsettled


def test_at_the_measured_current_the_balance_of_heat_gives_the_measured_temperature_again() -> None:
    outcome = tuned(WINDING, {**FILES, "was.motor.run_current": "0.1"})
    assert number(outcome, "motor.winding_temperature") == pytest.approx(83.625)


def test_at_the_highest_current_the_mount_is_just_at_its_limit() -> None:
    limit = number(tuned(WINDING), "motor.heat_limit")
    outcome = tuned(WINDING, {**FILES, "was.motor.run_current": f"{limit:.12g}"})
    assert number(outcome, "motor.case_temperature") == pytest.approx(number(outcome, "motor.mount_limit"))


def test_a_measured_case_replaces_the_usual_share_of_the_rise() -> None:
    files = {**FILES, "was.motor.run_current": "0.1"}
    outcome = tuned(WINDING + "  case: {temperature: 70 degC}", files)
    assert number(outcome, "const.case_share") == pytest.approx(30 / 43.625)
    case = result(outcome, "motor.case_temperature")
    assert "const.case_share" in case.depends
    assert case.value == pytest.approx(70)


@pytest.mark.parametrize(("moved", "slips"), [("97.2 mm", True), ("99.5 mm", False), ("102.5 mm", False)])
def test_a_new_drive_that_feeds_too_little_is_said_to_slip_more_often_than_to_have_other_gears(
    moved: str, slips: bool
) -> None:
    feed = f"  feed: {{at_steps_per_mm: 319.2 1/mm, asked: 100 mm, moved: [{moved}]}}"
    files = {**FILES, "was.feeder.steps_per_mm": "319.2"}
    gears = {"new.drive_gear.effective_diameter": "10.8 mm", "new.drive_gear.gear_ratio": "44:13"}
    outcome = tuned(feed, files, {**SWAP, **gears})
    assert any("is slip" in each for each in result(outcome, "feeder.steps_per_mm").warnings) is slips


@pytest.mark.parametrize(("case", "stops"), [("92 degC", True), ("61 degC", False)])
def test_a_case_alone_is_held_against_what_the_mount_stands(case: str, stops: bool) -> None:
    """ABS as a mount stands some 73 °C."""
    outcome = tuned(f"  case: {{temperature: {case}}}")
    assert any("Stop printing" in doubt.why for doubt in outcome.doubts) is stops
    assert result(outcome, "motor.case_measured").value == float(case.split()[0])


@pytest.mark.parametrize(("case", "jams"), [("61 degC", True), ("54 degC", False), ("92 degC", False)])
def test_a_case_is_held_against_what_the_filament_stands_where_the_mount_stands_more(
    case: str, jams: bool
) -> None:
    """PLA softens from 55 to 60 °C, at the gear on the motor's shaft."""
    outcome = tuned(f"  case: {{temperature: {case}}}", FILES, {**SWAP, "filament.material": "PLA"})
    assert any("squeezes it flat" in doubt.why for doubt in outcome.doubts) is jams


@pytest.mark.parametrize(("case", "jams"), [("61 degC", True), ("54 degC", False)])
def test_a_case_is_held_against_the_filament_though_nobody_says_how_the_motor_is_mounted(
    case: str, jams: bool
) -> None:
    swap = {name: said for name, said in SWAP.items() if name != "new.mount.material"}
    outcome = tuned(f"  case: {{temperature: {case}}}", FILES, {**swap, "filament.material": "PLA"})
    assert any("squeezes it flat" in doubt.why for doubt in outcome.doubts) is jams
    warned = result(outcome, "motor.case_measured").warnings
    assert any("How the motor is mounted is not said" in each for each in warned)
    assert tuned(f"  case: {{temperature: {case}}}", FILES, swap).result("motor.case_measured") is None


def test_a_current_at_which_the_winding_would_get_hotter_without_end_is_a_doubt() -> None:
    # 2 · 21.8125 K/W · 0.42² A² · 80 ohm / 254.5 K = 2.4, more than 1
    outcome = tuned(WINDING)
    assert "without end" in " ".join(doubt.why for doubt in outcome.doubts)
    assert outcome.result("motor.winding_temperature") is None


def test_a_winding_no_hotter_than_the_air_is_a_doubt_and_gives_no_thermal_resistance() -> None:
    outcome = tuned(WINDING.replace("air: 40", "air: 90"))
    assert "a slip" in " ".join(doubt.why for doubt in outcome.doubts)
    assert outcome.result("new.motor.thermal_resistance") is None


# --- what tuning never does ------------------------------------------------------------------------------------

EVERYTHING = "\n".join(
    [
        FEED, WINDING, "  retraction: {lowest: 0 mm, more_each: 0.1 mm, best_storey: 5}", "  lag: {best: 0.048 s}",
        "  current: {wanted: 0.45 A}", "  z: {highest: 250.6 mm}", "  resonance: {x: 45.2 Hz}",
    ]
)  # fmt: skip


@pytest.mark.parametrize("part", [part for part in EVERYTHING.splitlines() if part.strip()])
def test_only_what_was_measured_and_what_follows_from_it_moves(part: str) -> None:
    allowed = {
        "feed": {"feeder.feed_per_turn"}, "winding": set(), "retraction": {"retraction.length"},
        "lag": {"lag.coefficient"}, "current": {"motor.run_current", "motor.hold_current"}, "z": {"axis.z.max"},
        "resonance": {"resonance.x"},
    }  # fmt: skip
    assert targets(tuned(part)) == allowed[part.split(":")[0].strip()]


def test_tuning_twice_gives_the_same() -> None:
    first = tuned(EVERYTHING)
    after = {f"was.{found.target}": repr(found.value) for found in first.results if found.target}
    again = tuned(EVERYTHING, {**FILES, **after})
    for found in first.results:
        if found.target:
            assert number(again, found.rule) == pytest.approx(number(first, found.rule), rel=1e-9), found.rule


def test_no_rule_of_tuning_moves_a_files_own_value_again() -> None:
    allowed = {
        "axis.z.max",
        "park.z",
        "motor.hold_current",
        "feeder.max_speed",
    }  # by min, and by a share that stays the same
    for rule in book().rules:
        if rule.sets and rule.sets not in allowed:
            assert all(f"was.{rule.sets}" not in way.needs for way in rule.ways), rule.name


def test_every_rule_that_sets_something_is_one_of_tuning() -> None:
    own = {path.stem for path in library.TUNING.glob("*.yaml")}
    assert {rule.name for rule in book().rules if rule.sets} <= own
    for name in own:
        rule = book().rule(name)
        assert rule is not None
        assert bool(rule.sets) == known(name), name


def test_every_rule_of_tuning_says_its_sources_and_how_to_verify_it() -> None:
    for name in (path.stem for path in library.TUNING.glob("*.yaml")):
        rule = book().rule(name)
        assert rule is not None and rule.says and rule.verify and rule.label
        assert all(way.source for way in rule.ways)
        hurts = name.startswith(("motor.", "axis.", "park.", "winding.", "new.motor.", "feeder."))
        assert rule.cautions or not hurts, name


def test_every_measured_field_is_used_by_some_rule_of_tuning() -> None:
    used = {name for rule in book().rules for name in rule.uses}
    for path in measured_schema().fields:
        assert path in used or not path.startswith("measured."), path


@pytest.mark.parametrize(
    "tower",
    [
        "start: 0 mm, step: 1 mm, best_band: 9",
        "start: 0 mm, step: 0.1 mm, best_band: 60",
        "start: 0 mm, step: 1 mm, best_height: 40 mm, band_height: 5 mm",
    ],
)
def test_a_retraction_that_no_drive_on_the_carriage_bears_is_not_written(tower: str) -> None:
    outcome = tuned(f"  retraction: {{{tower}}}")
    assert outcome.result("retraction.length") is None
    assert "Print the tower again" in result(outcome, "retraction.too_long").hand
    assert any("it is not written" in doubt.why for doubt in outcome.doubts)


def test_the_same_tower_on_a_tube_is_written() -> None:
    tube = {**SWAP, "new.drive": "tube-fed"}
    files = {**FILES, "was.retraction.length": "6"}
    outcome = tuned("  retraction: {lowest: 0 mm, more_each: 1 mm, best_storey: 9}", files, tube)
    assert number(outcome, "retraction.length") == pytest.approx(8)  # 0 + 1 · (9 − 1)
    assert outcome.result("retraction.too_long") is None and not outcome.doubts


def test_a_retraction_of_many_times_the_old_one_is_a_doubt() -> None:
    nothing_known = {name: text for name, text in SWAP.items() if name != "new.drive"}
    outcome = tuned("  retraction: {lowest: 0 mm, more_each: 1 mm, best_storey: 9}", FILES, nothing_known)
    assert any("more than three times the 0.52 mm" in doubt.why for doubt in outcome.doubts)


def test_strings_up_to_the_top_of_a_tower_are_a_doubt() -> None:
    outcome = tuned(
        "  retraction: {lowest: 0 mm, more_each: 0.1 mm, strings_end_at: 40 mm, storey_height: 5 mm, storeys: 9}"
    )
    assert any("at the top of the tower" in doubt.why for doubt in outcome.doubts)


@pytest.mark.parametrize(
    "measured",
    [
        "retraction: {lowest: 0 mm, more_each: 0.1 mm, strings_end_at: 190 mm, storey_height: 5 mm, storeys: 9}",
        "retraction: {lowest: 0 mm, more_each: 0.1 mm, best_storey: 14, storeys: 9}",
        "lag: {start: 0 s, step: 0.001 s, even_wall: 60, walls: 11}",
    ],
)
def test_what_lies_outside_of_the_test_piece_is_refused(measured: str) -> None:
    with pytest.raises(BadInput, match="lies outside of what was printed"):
        tuned(f"  {measured}")


def step(rule: str, inputs: str = "", depends: tuple[str, ...] = ()) -> Result:
    given = tuple(Input(name, name, 1.0, "mm", 0.0, "here") for name in inputs.split())
    derivation = Derivation("a", "1", given, "here")
    return Result(rule, "", rule, "mm", 1.0, 0.0, Status.MEASURED, "it", derivation, depends=depends)


def test_what_follows_from_a_measurement_and_what_that_rests_on_are_kept_in_their_order() -> None:
    ground, own = step("ground"), step("own", "measured.length", ("ground",))
    behind, apart = step("behind", "", ("own",)), step("apart", "new.tube.length")
    aside = step("aside", "", ("apart",))
    assert following((ground, apart, own, aside, behind)) == (ground, own, behind)
    assert following((ground, apart, aside)) == ()


@pytest.mark.parametrize(
    ("measured", "files", "rule", "wanted"),
    [
        ("  retraction: {best: 0.65 mm}\n", {}, "retraction.length", 0.65),
        ("  retraction: {best_speed: 30 mm/s}\n", {}, "retraction.speed", 30),
        # no feed is faster than the feeder's limit
        ("  retraction: {best_speed: 30 mm/s}\n", {"was.feeder.max_speed": "24"}, "retraction.speed", 24),
        # 0.5 · 0.9 A
        ("  current: {share: 50 %}\n", {}, "new.motor.measured_current", 0.45),
        ("  current: {share: 50 %}\n", {}, "motor.run_current", 0.45),
    ],
)
def test_what_was_found_best_is_taken_as_it_was_found(
    measured: str, files: Mapping[str, str], rule: str, wanted: float
) -> None:
    assert math.isclose(number(tuned(measured, {**FILES, **files}), rule), wanted)


def test_a_best_length_too_long_for_a_carriage_is_asked_to_be_measured_again() -> None:
    outcome = tuned("  retraction: {best: 6.5 mm}\n")
    assert outcome.result("retraction.length") is None and number(outcome, "retraction.too_long") == 6.5


@pytest.mark.parametrize("speed", ["1800 mm/min", "10 mm/s", "100 mm/s"])
def test_a_speed_more_than_three_times_apart_from_the_files_is_held_back(speed: str) -> None:
    outcome = tuned(f"  retraction: {{best_speed: {speed}}}\n", {**FILES, "was.retraction.speed": "31"})
    assert bool(result(outcome, "retraction.speed").unsettled) is (speed != "1800 mm/min")


@pytest.mark.parametrize("said", ["yes", "no"])
def test_a_speed_far_from_the_files_is_written_where_it_is_said_to_be_meant(said: str) -> None:
    measured = f"  retraction: {{best_speed: 100 mm/s, speed_meant: {said}}}\n"
    found = result(tuned(measured, {**FILES, "was.retraction.speed": "31"}), "retraction.speed")
    assert bool(found.unsettled) is (said == "no") and found.value == 100


@pytest.mark.parametrize("said", ["yes", "no"])
def test_a_length_less_than_a_sixth_of_the_files_is_held_back_until_it_is_said_to_be_meant(said: str) -> None:
    found = result(tuned(f"  retraction: {{best: 0.052 mm, length_meant: {said}}}\n"), "retraction.length")
    assert bool(found.unsettled) is (said == "no") and found.value == 0.052


def test_a_carriage_s_first_length_after_that_of_a_tube_is_not() -> None:
    files = {**FILES, "was.retraction.length": "5.2"}
    assert not result(tuned("  retraction: {best: 0.5 mm}\n", files), "retraction.length").unsettled


def test_a_share_of_a_rated_current_that_no_sheet_tells_moves_nothing() -> None:
    swap = {path: text for path, text in SWAP.items() if path != "new.motor.rated_current"}
    assert tuned("  current: {share: 50 %}\n", swap=swap).result("motor.run_current") is None


@pytest.mark.parametrize(("speed", "new"), [("41.2", 39.79), ("30", 30.0)])
def test_a_feed_that_was_measured_lowers_the_top_speed_to_what_the_steps_a_second_allow(
    speed: str, new: float
) -> None:
    """0.8 · 60 000 / 1206.3 = 39.79 mm/s"""
    feed = "  feed: {asked: 100 mm, moved: 100 mm, at_steps_per_mm: 1206.3 1/mm}\n"
    files = {"was.feeder.steps_per_mm": "1206.3", "was.feeder.max_speed": speed, "was.retraction.speed": "45"}
    outcome = tuned(feed, files, {"new.drive": "on the carriage", "controller.max_step_rate": "60 kHz"})
    assert number(outcome, "feeder.max_speed") == pytest.approx(new, abs=0.01)
    warnings = result(outcome, "feeder.max_speed").warnings
    assert any("bring it down by hand" in each for each in warnings) is (new < 45)
