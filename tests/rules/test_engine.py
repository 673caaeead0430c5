"""The engine: the first open way wins, the others check it, and every value keeps what it rests on.

From outside: the `uncertainties` package's own arithmetic is the engine's, so correlation is held here against
numbers worked out by hand (GUM, JCGM 100:2008, 5.1 and 5.2); see also tests/outside.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest
from rulebench import (
    FILE,
    LENGTHS,
    SHEET,
    book_of,
    machine_of,
    own_rules,
    result_of,
    rule,
    sheet_of,
    silent,
    way,
    work_out_given,
)

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.rules import library
from cfgmigrate.rules.age import Age
from cfgmigrate.rules.engine import Kept, Outcome, Run, Step, one_pass
from cfgmigrate.rules.result import Status
from cfgmigrate.rules.scope import Scope


def test_the_first_way_whose_needs_are_known_wins_and_the_others_check_it() -> None:
    ways = (
        way("new.steps_per_mm * new.tube.length^2", "new.steps_per_mm, new.tube.length", "unknown")
        + way("new.tube.length * 2", "new.tube.length", "double", status="estimate")
        + way("new.path_length", "new.path_length", "measured", status="measured")
    )
    found = result_of("path.x", LENGTHS, path__x=rule(ways))
    assert (found.way, found.status, found.value) == ("double", Status.ESTIMATE, pytest.approx(80))
    assert [(check.way, check.value) for check in found.cross_checks] == [("measured", pytest.approx(80))]
    assert "the same" in found.cross_checks[0].note


def test_a_way_whose_condition_does_not_hold_is_not_open() -> None:
    ways = way(
        "new.tube.length", "new.tube.length", "long", ", when: new.tube.length > old.tube.length"
    ) + way("old.tube.length", "old.tube.length", "old")
    assert result_of("path.x", LENGTHS, path__x=rule(ways)).way == "old"


def test_a_check_only_way_never_wins_and_a_fallback_never_checks() -> None:
    ways = (
        way("new.tube.length * 3", "new.tube.length", "check", ", check_only: true")
        + way("new.tube.length", "new.tube.length", "it")
        + way("old.tube.length", "old.tube.length", "less", ", fallback: true")
    )
    found = result_of("path.x", LENGTHS, path__x=rule(ways))
    assert found.way == "it" and [check.way for check in found.cross_checks] == ["check"]
    only = rule(way("new.tube.length", "new.tube.length", "check", ", check_only: true"))
    outcome = work_out_given(LENGTHS, book_of(path__x=only))
    assert outcome.result("path.x") is None and outcome.silent[0].rule == "path.x"


def test_ways_further_apart_than_measuring_explains_are_a_doubt_at_the_first_place() -> None:
    ways = way("new.tube.length", "new.tube.length", "one") + way(
        "new.path_length / 1.9", "new.path_length", "two"
    )
    close = work_out_given(LENGTHS, book_of(path__x=rule(ways, more="agree: 6 %")))
    apart = work_out_given(LENGTHS, book_of(path__x=rule(ways, more="agree: 5 %")))
    assert not close.doubts
    (doubt,) = apart.doubts
    assert (doubt.place.file, doubt.place.line) == (SHEET, 6)
    assert "5.3 % apart, more than the 5 % that" in doubt.why
    (check,) = apart.results[0].cross_checks
    assert check.note == "here; 5.3 % away"


def test_rules_are_worked_out_after_what_they_rest_on_whatever_their_names() -> None:
    found = work_out_given(
        {"new.tube.length": "40 mm"},
        book_of(
            a__last=rule(way("b.middle + c.first", "b.middle, c.first")),
            b__middle=rule(way("2 * c.first", "c.first")),
            c__first=rule(way("new.tube.length", "new.tube.length")),
        ),
    )
    assert [result.rule for result in found.results] == ["c.first", "b.middle", "a.last"]
    last = found.result("a.last")
    assert last is not None and last.value == pytest.approx(120) and last.depends == ("b.middle", "c.first")


def test_will_is_what_a_quantity_becomes_else_what_it_was() -> None:
    rests = rule(way("will.retraction.length * 2", "will.retraction.length"))
    sets = rule(way("new.recommended_retraction", "new.recommended_retraction"), sets="retraction.length")
    given = {"was.retraction.length": "5", "new.recommended_retraction": "0.4 mm"}
    assert result_of("a.b", given, a__b=rests, retraction__length=sets).value == pytest.approx(0.8)
    assert result_of("a.b", given, a__b=rests).value == pytest.approx(10)


# --- uncertainty ----------------------------------------------------------------------------------------------


def test_independent_uncertainties_add_as_squares() -> None:
    found = result_of(
        "path.x",
        LENGTHS,
        path__x=rule(way("new.tube.length + old.tube.length", "new.tube.length, old.tube.length")),
    )
    assert found.uncertainty == pytest.approx(math.hypot(2, 5))
    assert [(part.name, round(part.share, 3)) for part in found.derivation.contributions] == [
        ("old.tube.length", 0.862), ("new.tube.length", 0.138),  # 25/29 and 4/29
    ]  # fmt: skip


def test_what_is_divided_by_itself_has_no_uncertainty() -> None:
    found = result_of(
        "path.x", LENGTHS, path__x=rule(way("new.tube.length / new.tube.length", "new.tube.length"), unit="")
    )
    assert (found.value, found.uncertainty) == (1, pytest.approx(0, abs=1e-15))


def test_what_two_rules_have_in_common_is_counted_once() -> None:
    """The force is in both gives; their ratio does not depend on it, their sum does twice."""
    files = {
        "a__one": rule(way("2 * new.tube.length", "new.tube.length")),
        "a__two": rule(way("3 * new.tube.length", "new.tube.length")),
        "a__ratio": rule(way("a.two / a.one", "a.one, a.two"), unit=""),
        "a__sum": rule(way("a.two + a.one", "a.one, a.two")),
        "a__difference": rule(way("a.two - a.one", "a.one, a.two")),
    }
    outcome = work_out_given(LENGTHS, book_of(**files))
    spread = {result.rule: result.uncertainty for result in outcome.results}
    assert spread["a.ratio"] == pytest.approx(0, abs=1e-15)
    assert spread["a.sum"] == pytest.approx(10) and spread["a.difference"] == pytest.approx(2)
    total = outcome.result("a.sum")
    assert total is not None and [part.name for part in total.derivation.contributions] == ["new.tube.length"]


def test_the_give_of_old_and_new_path_share_force_and_stiffness() -> None:
    """With straight tubes, and neither hot end nor melt, the ratio of both is that of the lengths, and nothing else is
    left in it."""
    given = {
        "new.tube.length": "45 ± 1e-9 mm", "new.tube.bore": "2 mm", "new.tube.bend": "0 deg", "old.tube.length": "450 ± 1e-9 mm",
        "old.tube.bore": "2 mm", "old.tube.bend": "0 deg", "filament.material": "PLA", "filament.diameter": "1.75 ± 0.05 mm",
        "was.retraction.length": "5.5", "const.push_force": "40 ± 15 N", "const.tube_scaling": "1",
        "const.melt_pull": "0 mm", "const.hot_end_cold": "0 mm",
    }  # fmt: skip
    result = work_out_given(given).result("retraction.length")
    assert result is not None and result.value == pytest.approx(0.55)
    assert result.uncertainty == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("formula", "spread"),
    [("min(new.tube.length, old.tube.length)", 2), ("max(new.tube.length, old.tube.length)", 5)],
)
def test_the_least_and_the_most_keep_their_own_uncertainty(formula: str, spread: float) -> None:
    assert (
        result_of(
            "path.x", LENGTHS, path__x=rule(way(formula, "new.tube.length, old.tube.length"))
        ).uncertainty
        == spread
    )


def test_a_whole_number_has_none() -> None:
    ways = way("floor(old.tube.length / new.tube.length + 0.5)", "old.tube.length, new.tube.length")
    found = result_of("path.x", LENGTHS, path__x=rule(ways, unit=""))
    assert (found.value, found.uncertainty) == (10, 0)


def test_a_temperature_keeps_its_own_size_of_degree() -> None:
    ways = way("surroundings.air + new.motor.rated_rise", "surroundings.air, new.motor.rated_rise")
    given = {"surroundings.air": "113 ± 9 degF", "new.motor.rated_rise": "80 ± 3 K"}
    found = result_of("path.x", given, path__x=rule(ways, unit="degC"))
    assert found.value == pytest.approx(125) and found.uncertainty == pytest.approx(math.hypot(5, 3))


# --- errors, ranges, origins ----------------------------------------------------------------------------------


def test_a_division_by_zero_is_an_error_that_names_rule_formula_and_numbers() -> None:
    text = rule(way("new.path_length / new.tube.length", "new.path_length, new.tube.length"), unit="")
    with pytest.raises(BadInput) as caught:
        work_out_given({"new.path_length": "80 mm", "new.tube.length": "0 mm"}, book_of(path__x=text))
    assert "path.x divides by zero" in str(caught.value) and "80 mm / 0 mm" in str(caught.value)
    assert caught.value.place is not None and caught.value.place.line


def test_the_range_to_try_is_in_numbers_that_a_person_would_set() -> None:
    more = "range: {low: this.value / 2, high: this.value * 2, step: this.value / 10}"
    found = result_of(
        "path.x",
        {"new.tube.length": "38 mm"},
        path__x=rule(way("new.tube.length", "new.tube.length"), more=more),
    )
    assert (found.low, found.high, found.step) == (18, 76, 2)  # 19 to 76 by 3.8


def test_origins_say_line_of_file_line_of_sheet_source_or_rule() -> None:
    ways = way(
        "was.retraction.length + new.tube.length + const.feed_reserve + b.c",
        "was.retraction.length, new.tube.length, const.feed_reserve, b.c",
    )
    files = {"path__x": rule(ways), "b__c": rule(way("new.path_length", "new.path_length"))}
    given = {"was.retraction.length": "5", "new.tube.length": "40 mm", "new.path_length": "80 mm"}
    origins = {item.name: item.origin for item in result_of("path.x", given, **files).derivation.inputs}
    assert origins["was.retraction.length"] == f"{FILE}:1" and origins["new.tube.length"].startswith(
        f"{SHEET}:"
    )
    assert origins["const.feed_reserve"].startswith("constant: common practice, no source")
    assert origins["b.c"] == "rule b.c"


# --- values that are scaled from the old one are scaled once --------------------------------------------------

SWAP = {
    "old.tube.length": "450 mm", "old.tube.bore": "2.0 mm", "old.tube.bend": "200 deg", "new.tube.length": "45 mm",
    "new.tube.bore": "2.0 mm", "new.tube.bend": "0 deg", "filament.material": "PLA", "filament.diameter": "1.75 mm",
    "new.drive": "on the carriage", "new.feed_per_turn": "4.15 mm", "new.motor.recommended_current": "0.45 A",
    "new.drive_gear.external_meshes": "1", "old.drive_gear.external_meshes": "0", "clearance.highest_z": "188.5 mm",
}  # fmt: skip
FILES = {
    "was.feeder.feed_per_turn": "22.9", "was.feeder.max_feed_length": "520", "was.feeder.load_length": "520",
    "was.motor.run_current": "0.7", "was.motor.hold_current": "0.35", "was.retraction.length": "5.5",
    "was.retraction.speed": "45", "was.retraction.return_speed": "40", "was.retraction.extra_on_return": "0.05",
    "was.lag.coefficient": "0.55", "was.axis.z.max": "200", "was.feeder.max_speed": "60",
}  # fmt: skip


def ages(outcome: Outcome) -> set[Age]:
    """How old the readings are that would be scaled."""
    return {told.age for told in outcome.ages.values()}


def changed(outcome: Outcome) -> dict[str, float]:
    """What the results would write."""
    return {
        result.target: result.value
        for result in outcome.results
        if result.target and result.value is not None
    }


def after(files: Mapping[str, str], outcome: Outcome) -> dict[str, str]:
    """The files with the results written into them."""
    written = changed(outcome)
    return {name: repr(written.get(name.removeprefix("was."), float(text))) for name, text in files.items()}


def test_a_second_run_on_its_own_result_gives_the_same_values() -> None:
    first = work_out_given(SWAP | FILES)
    assert ages(first) == {Age.OLD} and changed(first)["retraction.length"] == pytest.approx(
        0.5569, abs=0.0001
    )
    files = after(FILES, first)
    second = work_out_given(SWAP | files)
    assert ages(second) == {Age.NEW}
    for name, value in changed(second).items():
        assert value == pytest.approx(float(files.get(f"was.{name}", value)), rel=1e-9)
    for kept in ("retraction.length", "lag.coefficient"):
        assert "taken to be the new drive's already" in silent(kept, second)
    assert not second.doubts


def test_the_same_holds_with_values_rounded_as_a_file_has_them() -> None:
    first = work_out_given(SWAP | FILES)
    files = {name: f"{float(text):.3g}" for name, text in after(FILES, first).items()}
    second = work_out_given(SWAP | files)
    assert ages(second) == {Age.NEW} and "retraction.length" not in changed(second)


@pytest.mark.parametrize(
    "held", ["was.feeder.max_feed_length", "was.motor.run_current", "was.retraction.extra_on_return"]
)
def test_one_change_held_back_does_not_make_the_others_move_twice(held: str) -> None:
    files = after(FILES, work_out_given(SWAP | FILES)) | {held: FILES[held]}
    outcome = work_out_given(SWAP | files)
    assert "retraction.length" not in changed(outcome) and "lag.coefficient" not in changed(outcome)
    assert outcome.ages["retraction.length"].age is Age.NEW
    assert outcome.ages["lag.coefficient"].age is not Age.OLD


def test_a_single_figure_put_in_by_hand_does_not_make_an_old_value_new() -> None:
    """A long retraction is that of a long tube, whatever else was put in by hand."""
    outcome = work_out_given(SWAP | FILES | {"was.feeder.feed_per_turn": "4.15"})
    assert outcome.ages["retraction.length"].age is Age.OLD
    assert changed(outcome)["retraction.length"] == pytest.approx(0.5569, abs=0.0001)


def test_what_can_not_be_told_to_be_old_or_new_is_not_written_and_asked_about() -> None:
    """A retraction between that of a long and that of a short tube, among figures of both drives."""
    mixed = {"was.feeder.feed_per_turn": "4.15", "was.retraction.length": "1.2"}
    outcome = work_out_given(SWAP | FILES | mixed)
    assert outcome.ages["retraction.length"].age is Age.UNKNOWN
    assert "retraction.length" not in changed(outcome) and "not written" in silent(
        "retraction.length", outcome
    )
    (doubt,) = [doubt for doubt in outcome.doubts if "retraction length" in doubt.why]
    assert doubt.place.file == "machine.conf" and "values: old" in doubt.remedy


def test_the_old_value_in_the_sheet_can_be_scaled_any_number_of_times() -> None:
    sheet = SWAP | {"old.retraction": "5.5 mm", "old.lag": "0.55 s"}
    files = FILES
    for _ in range(3):
        outcome = work_out_given(sheet | files)
        assert changed(outcome)["retraction.length"] == pytest.approx(0.5569, abs=0.0001)
        assert changed(outcome)["lag.coefficient"] == pytest.approx(0.06537, abs=0.0001)
        files = after(files, outcome)


def test_every_result_of_the_whole_book_comes_with_its_derivation() -> None:
    outcome = work_out_given(SWAP | FILES)
    assert len(outcome.results) + len(outcome.silent) == len(own_rules().rules)
    for result in outcome.results:
        assert result.derivation.formula and result.derivation.source and result.verify
        assert all(item.origin for item in result.derivation.inputs)
    assert all(silent.why for silent in outcome.silent)


def test_nothing_follows_exactly_from_common_practice_however_many_rules_stand_between() -> None:
    """What was said to be computed is an estimate then; without the constant, and measured, it stays as it is."""
    wanted = way(
        "new.motor.rated_current * const.current_fraction", "new.motor.rated_current, const.current_fraction"
    )
    chosen = way("path.a", "path.a")
    given = {"new.motor.rated_current": "0.9 A"}
    files = {"path__a": rule(wanted, unit="A", says="A."), "path__b": rule(chosen, unit="A", says="B.")}
    assert result_of("path.b", given, **files).status is Status.ESTIMATE
    told = {"path__b": rule(way("new.motor.rated_current", "new.motor.rated_current"), unit="A")}
    assert result_of("path.b", given, **told).status is Status.COMPUTED
    seen = {**files, "path__b": rule(way("path.a", "path.a", status="measured"), unit="A", says="B.")}
    assert result_of("path.b", given, **seen).status is Status.MEASURED


@pytest.mark.parametrize(
    ("whole", "by_way", "down", "up"),
    [
        ("", "", False, False),
        ("down", "", True, False),
        ("up", "", False, True),
        ("", "down", True, False),
        ("", "up", False, True),
        ("down", "up", False, True),
        ("up", "down", True, False),
    ],
)
def test_the_safe_side_is_the_way_s_own_else_the_rule_s(
    whole: str, by_way: str, down: bool, up: bool
) -> None:
    more = f"round: {whole}" if whole else ""
    ways = way("new.tube.length", "new.tube.length", more=f", round: {by_way}" if by_way else "")
    found = result_of("path.x", LENGTHS, path__x=rule(ways, more=more))
    assert (found.round_down, found.round_up) == (down, up)


@pytest.mark.parametrize(("most", "end"), [("43.27 mm", 43.2), ("45.1 mm", 45), ("41.3 mm", 41.3)])
def test_the_most_itself_is_rounded_down_to_a_figure_finer_than_the_step(most: str, end: float) -> None:
    """The value is 41.3 mm and the step 5 mm."""
    more = f"range: {{low: this.value / 2, high: this.value * 2, step: 0.13 * this.value, most: {float(most.split()[0]) / 41.3:.15g} * this.value}}"
    found = result_of(
        "path.x",
        {"new.tube.length": "41.3 mm"},
        path__x=rule(way("new.tube.length", "new.tube.length"), more=more),
    )
    assert (found.low, found.high, found.step) == (20, end, 5)


@pytest.mark.parametrize(
    ("low", "high", "step", "most", "found"),
    [
        ("0.13 mm", "0.98 mm", "0.1 mm", "", (0.1, 1.0, 0.1)),
        ("0.13 mm", "0.98 mm", "0.099 mm", "", (0.1, 1.0, 0.05)),
        ("0.13 mm", "0.98 mm", "0.2 mm", "", (0.0, 1.0, 0.2)),
        ("0.13 mm", "0.98 mm", "0.49 mm", "", (0.0, 1.0, 0.2)),
        ("0.13 mm", "0.98 mm", "0.5 mm", "", (0.0, 1.0, 0.5)),
        ("0.3 mm", "0.9 mm", "0.1 mm", "", (0.3, 0.9, 0.1)),
        ("13 mm", "98 mm", "10 mm", "", (10, 100, 10)),
        ("13 mm", "98 mm", "10 mm", "95 mm", (10, 90, 10)),
        ("13 mm", "98 mm", "10 mm", "90 mm", (10, 90, 10)),
        ("13 mm", "98 mm", "10 mm", "100 mm", (10, 100, 10)),
        ("13 mm", "98 mm", "10 mm", "45.67 mm", (10, 40, 10)),
        ("13 mm", "98 mm", "50 mm", "45.67 mm", (0, 45, 50)),
        ("13 mm", "98 mm", "50 mm", "41 mm", (0, 41, 50)),
        ("13 mm", "98 mm", "0 mm", "", (13, 98, 0)),
        ("-13 mm", "98 mm", "-10 mm", "", (-13, 98, -10)),
    ],
)
def test_a_range_is_in_numbers_that_a_person_would_set_and_never_past_the_most(
    low: str, high: str, step: str, most: str, found: tuple[float, float, float]
) -> None:
    """The value is 40 mm: where no whole step lies between it and the most, the most itself, rounded down, is the end."""
    at = {
        name: text.split()[0]
        for name, text in (("low", low), ("high", high), ("step", step), ("most", most))
        if text
    }
    written = ", ".join(f"{name}: {float(text) / 40:.12g} * this.value" for name, text in at.items())
    out = result_of(
        "path.x",
        LENGTHS,
        path__x=rule(way("new.tube.length", "new.tube.length"), more=f"range: {{{written}}}"),
    )
    assert (out.low, out.high, out.step) == found


def test_what_another_pass_decides_is_that_one_s_and_what_rests_on_it_sees_it() -> None:
    """A profile that shares a value with others takes it as it is decided for all, and keeps what it would have been."""
    book = book_of(
        a__first=rule(way("new.tube.length", "new.tube.length")),
        b__last=rule(way("a.first * 2", "a.first")),
    )
    kept = Kept()

    def run(length: str, decided: Mapping[str, Step]) -> Run:
        given = {"new.tube.length": length}
        scope = Scope(machine_of(given), sheet_of(given), library.tables())
        return one_pass(book, scope, kept, decided=decided)

    def values(run: Run) -> list[float | None]:
        return [result.value for result in run.results]

    base = run("40 mm", {})
    assert values(base) == pytest.approx([40, 80]) and not base.would
    shared = {"a.first": base.steps["a.first"]}
    other = run("70 mm", shared)
    assert values(other) == pytest.approx([40, 80])
    assert [step.result.value for step in other.would.values() if step.result] == pytest.approx([70])
    assert [result.value for result in other.outcome().shared] == pytest.approx([70])
    assert values(run("70 mm", {})) == pytest.approx([70, 140])
    assert not one_pass(book, base.scope, kept, decided=shared).would, "the very same step"


#: what stands beside the slips below
TO_A_TUBE = {"old.drive": "on the carriage", "new.drive": "tube-fed"}
AT_16 = {"new.motor.step_angle": "1.8 deg", "new.microsteps": "16", "was.feeder.steps_per_mm": "131.6"}
PROBE = {
    "was.probe.offset_x": "-28", "was.probe.offset_y": "17.5",
    "carriage.nozzle_shift.x": "1.5 mm", "carriage.nozzle_shift.y": "-4 mm",
}  # fmt: skip
CURRENTS = {
    "was.motor.run_current": "0.74",
    "was.motor.hold_current": "0.37",
    "was.motor.sense_resistor": "0.11",
}


@pytest.mark.parametrize(
    ("sets", "given"),
    [
        (
            "feeder.steps_per_mm",
            {
                "new.drive_gear.gear_ratio": "10:35",
                "new.steps_per_mm": "63.3 1/mm",
                "new.microsteps": "16",
                "was.feeder.steps_per_mm": "140",
            },
        ),
        ("feeder.gear_ratio", {"new.drive_gear.gear_ratio": "1:3.5", "was.feeder.gear_ratio": "3"}),
        ("resonance.x", {"carriage.old_mass": "24 g", "carriage.new_mass": "351 g", "was.resonance.x": "44"}),
        (
            "resonance.x",
            {"carriage.old_mass": "3.51 kg", "carriage.new_mass": "351 g", "was.resonance.x": "44"},
        ),
        (
            "machine.max_acceleration",
            {
                "carriage.old_mass": "24 g",
                "carriage.new_mass": "351 g",
                "was.machine.max_acceleration": "3000",
            },
        ),
        *(
            (each, {**given, **TO_A_TUBE, "carriage.old_mass": "214 g", "carriage.new_mass": "338 g"})
            for each, given in (
                ("resonance.x", {"was.resonance.x": "44"}),
                ("machine.max_acceleration", {"was.machine.max_acceleration": "3000"}),
                (
                    "axis.y.max_acceleration",
                    {"was.axis.y.max_acceleration": "3000", "machine_kind": "moving head"},
                ),
            )
        ),
        ("feeder.steps_per_mm", AT_16 | {"new.feed_per_turn": "51.2 mm"}),
        ("feeder.steps_per_mm", AT_16 | {"new.feed_per_turn": "0.512 mm", "new.drive_gear.gear_ratio": "5"}),
        ("feeder.steps_per_mm", AT_16 | {"new.steps_per_mm": "6250 1/mm"}),
        ("feeder.feed_per_turn", {"new.feed_per_turn": "0.512 mm", "was.feeder.feed_per_turn": "22.9"}),
        *(
            (f"probe.offset_{axis}", PROBE | given)
            for axis in "xy"
            for given in (
                {f"carriage.probe_shift.{axis}": {"x": "-28 mm", "y": "17.5 mm"}[axis]},
                {"carriage.probe_offset.x": "21.5 mm", "carriage.probe_offset.y": "-29.5 mm"},
                {"carriage.probe_offset.x": "-2.95 mm", "carriage.probe_offset.y": "2.15 mm"},
            )
        ),
        (
            "runout.distance",
            {
                "was.runout.distance": "120",
                "old.path_length": "410 mm",
                "new.path_length": "86 mm",
                "new.filament_behind_sensor": "1200 mm",
            },
        ),
        (
            "retraction.length",
            {
                "was.retraction.length": "6.4",
                "old.retraction": "0.64 mm",
                "new.recommended_retraction": "0.4 mm",
            },
        ),
        *(
            (each, CURRENTS | given)
            for each in ("motor.run_current", "motor.hold_current")
            for given in (
                {"new.motor.rated_current": "9.5 A", "new.motor.winding_resistance": "2.5 ohm"},
                {"new.motor.rated_current": "9.5 A"},
                {"new.motor.rated_current": "0.95 A", "new.motor.recommended_current": "4.4 A"},
                {
                    "new.motor.recommended_current": "0.44 A",
                    "new.driver.part": "A4988",
                    "new.driver.set_by": "serial",
                },
                {"new.motor.recommended_current": "0.44 A", "new.driver.sense_resistor": "0.05 ohm"},
            )
        ),
    ],
)
def test_what_a_slip_in_the_sheet_would_make_of_a_value_is_a_question(
    sets: str, given: Mapping[str, str]
) -> None:
    """Gears that turn the drive gear faster than its motor, and a carriage of five times the mass; what other figures of the
    sheet or the files deny, and what no drive has."""
    found = work_out_given(given, library.book())
    (result,) = (each for each in found.results if each.target == sets)
    # what a driver is has no decimal point, and a shift that is an offset has it in its place
    of_another_kind = any(each.startswith(("new.driver.", "carriage.probe_shift.")) for each in given)
    asked = ("other way round", "a slip" if of_another_kind else "decimal point")
    assert result.unsettled and any(word in doubt.why for word in asked for doubt in found.doubts)


@pytest.mark.parametrize(
    ("sets", "given"),
    [
        (
            "feeder.steps_per_mm",
            AT_16 | {"new.feed_per_turn": "4.85 mm", "new.drive_gear.gear_ratio": "56:11"},
        ),
        ("probe.offset_x", PROBE | {"carriage.probe_offset.x": "-12 mm", "carriage.probe_offset.y": "31 mm"}),
        (
            "motor.hold_current",
            CURRENTS | {"new.motor.rated_current": "0.14 A", "new.motor.winding_resistance": "55 ohm"},
        ),
        (
            "motor.hold_current",
            CURRENTS | {"new.motor.rated_current": "0.8 A", "new.driver.sense_resistor": "0.12 ohm"},
        ),
    ],
)
def test_what_is_rare_and_denied_by_nothing_is_no_question(sets: str, given: Mapping[str, str]) -> None:
    (result,) = (each for each in work_out_given(given, library.book()).results if each.target == sets)
    assert not result.unsettled


def test_a_hand_is_told_no_number_that_rests_on_a_question() -> None:
    """But what it has to find out first."""
    screw = {
        "new.driver.part": "DRV8825",
        "new.driver.set_by": "screw",
        "new.driver.sense_resistor": "0.1 ohm",
    }
    for rated, told in (("0.95 A", "motor.reference_voltage"), ("9.5 A", "motor.current_to_set")):
        found = work_out_given(screw | {"new.motor.rated_current": rated}, library.book())
        assert [
            each for each in ("motor.reference_voltage", "motor.current_to_set") if found.result(each)
        ] == [told]


def test_nothing_rests_on_what_no_machine_has() -> None:
    found = work_out_given(CURRENTS | {"new.motor.measured_current": "0.03 A"}, library.book())
    held = {each.target: each.unsettled for each in found.results if each.target}
    assert "feeder run current, which is a question" in held["motor.hold_current"]


def test_an_old_tube_as_short_as_a_drive_on_the_carriage_has_one_is_to_be_looked_at_again() -> None:
    given = {"old.drive": "tube-fed", "new.drive": "on the carriage", "new.tube.length": "40 mm"}
    looked_at = [
        work_out_given({**given, "old.tube.length": length}, library.book()).result("tubes.swapped")
        for length in ("54 mm", "540 mm")
    ]
    assert looked_at[0] is not None and looked_at[1] is None
