"""Where nothing in a sheet tells old files from new ones, and values are moved from what the files hold."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from rulebench import FILE, reading, work_out_given

from cfgmigrate.machine.model import MACHINE, Holder, Reading, feeder
from cfgmigrate.rules.age import Age, Evidence, Past, Told, age_of, by_value, remedy
from cfgmigrate.rules.result import Derivation, Result, Status

ONCE = "carried out a second time"
SHIFTED = {"was.probe.offset_x": "-28", "carriage.nozzle_shift.x": "1.5 mm"}


def doubts(given: dict[str, str]) -> list[str]:
    return [doubt.why for doubt in work_out_given(given).doubts if ONCE in doubt.why]


def test_a_sheet_that_only_moves_what_the_files_hold_says_that_it_may_be_carried_out_once() -> None:
    (why,) = doubts(SHIFTED)
    assert "probe X offset" in why


def test_a_sheet_with_a_figure_of_the_new_drive_can_tell() -> None:
    assert not doubts({**SHIFTED, "was.feeder.feed_per_turn": "23.4", "new.feed_per_turn": "4.15 mm"})


def test_a_sheet_that_moves_nothing_has_nothing_to_tell() -> None:
    assert not doubts({"was.probe.offset_x": "-28", "carriage.nozzle_shift.x": "0 mm"})


def test_a_lag_that_is_already_what_the_new_path_asks_for_is_not_scaled_once_more() -> None:
    given = {
        "was.lag.coefficient": "0.063",
        "was.feeder.feed_per_turn": "21.4",
        "new.feed_per_turn": "24.7 mm",
        "old.tube.length": "365 mm",
        "old.tube.bore": "1.95 mm",
        "new.tube.length": "41 mm",
        "new.tube.bore": "1.95 mm",
        "filament.material": "PLA",
        "filament.diameter": "1.75 mm",
    }
    lag = "lag coefficient would be scaled from this value, and is not written"
    found = work_out_given(given)
    assert any(each.why.startswith(lag) for each in found.doubts), [each.why for each in found.doubts]
    given["was.lag.coefficient"] = "0.46"
    assert not any(each.why.startswith(lag) for each in work_out_given(given).doubts)


# --- one reading ------------------------------------------------------------------------------------------------

PETG, SLOW = Holder("filament", "petg"), Holder("print", "slow")


def length(text: str = "5", holder: Holder = MACHINE) -> Reading:
    return replace(reading("retraction.length", text, 3), holder=holder)


def scaled(value: float | None) -> Result:
    """What a reading would become by being scaled."""
    return Result(
        "retraction.length", "retraction.length", "retraction", "mm", value, 0.0, Status.COMPUTED, "scaled",
        Derivation("was * share", "", (), "here"),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("value", "age"),
    [
        (0.4, Age.NEW),
        (1.0, Age.NEW),
        (1.73, Age.NEW),
        (1.74, None),
        (5.19, None),
        (5.2, Age.OLD),
        (30.0, Age.OLD),
    ],
)
def test_a_value_is_of_the_drive_to_which_it_is_nearer_by_a_factor_of_three(
    value: float, age: Age | None
) -> None:
    """1 mm is usual now, and 9 mm would become that: √3 and √27 are three times nearer to one than to the other."""
    assert by_value(value, scaled(value / 9), [1.0], 1 / 9) == age
    assert by_value(value, scaled(value / 9), [0.0, 1.0], 1 / 9) == age


@pytest.mark.parametrize(
    ("value", "becomes", "usual", "slope"),
    [
        (5.0, 0.5, [], 0.1),
        (5.0, 0.5, [0.0], 0.1),
        (5.0, None, [1.0], 0.1),
        (5.0, 0.0, [1.0], 0.1),
        (5.0, -0.5, [1.0], 0.1),
        (0.0, 0.5, [1.0], 0.1),
        (-5.0, 0.5, [1.0], 0.1),
        (5.0, 0.5, [1.0], 0.0),
        (5.0, 0.5, [1.0], -0.1),
        (1.0, 100.0, [1.0], 1.0),
    ],
)
def test_where_nothing_usual_or_nothing_positive_is_known_a_value_tells_nothing(
    value: float, becomes: float | None, usual: list[float], slope: float
) -> None:
    assert by_value(value, scaled(becomes), usual, slope) is None


def test_of_several_usual_values_the_nearest_counts_on_either_side() -> None:
    assert by_value(2.0, scaled(2 / 9), [1.0, 2.0], 1 / 9) is Age.NEW
    assert by_value(9.0, scaled(1.0), [0.1, 1.0], 1 / 9) is Age.OLD


def test_values_below_one_are_told_apart_like_all_others() -> None:
    assert by_value(0.5, scaled(0.05), [0.06], 0.1) is Age.OLD
    assert by_value(0.07, scaled(0.007), [0.06], 0.1) is Age.NEW


def at(start: int, end: int, file: str = FILE) -> tuple[str, int, int]:
    return file, start, end


@pytest.mark.parametrize(
    ("span", "told"),
    [
        (at(0, 1), True),
        (at(0, 5), True),
        (at(1, 2), False),
        (at(0, 0), False),
        (at(0, 1, "other.conf"), False),
    ],
)
def test_what_the_history_says_is_said_of_the_readings_that_it_touches(
    span: tuple[str, int, int], told: bool
) -> None:
    one, said = length(), Told(Age.UNKNOWN, "another sheet")
    assert (one.start, one.end) == (0, 1)
    assert Past(written={span: said}).of(one) == (said if told else None)
    found = Past(taken=frozenset({span}), written={at(0, 1): said}).of(one)
    assert found is not None and found.age is (Age.OLD if told else Age.UNKNOWN)
    stated = Told(Age.NEW, "told before")
    assert Past(taken=frozenset({span}), stated={("retraction.length", "machine"): stated}).of(one) == stated


@pytest.mark.parametrize(
    ("installs", "inputs", "holders", "holder", "unseen"),
    [
        (False, {"other.conf"}, set(), MACHINE, False),
        (True, None, set(), MACHINE, False),
        (True, {"other.conf"}, set(), MACHINE, True),
        (True, {FILE}, set(), MACHINE, False),
        (True, {FILE}, set(), feeder(2), False),
        (True, {FILE}, {str(PETG)}, PETG, False),
        (True, {FILE}, {str(PETG)}, SLOW, True),
        (True, {"other.conf"}, {str(PETG)}, PETG, True),
    ],
)
def test_installs_never_saw_a_file_or_a_profile_that_they_did_not_read(
    installs: bool, inputs: set[str] | None, holders: set[str], holder: Holder, unseen: bool
) -> None:
    past = Past(
        installs=installs, inputs=None if inputs is None else frozenset(inputs), holders=frozenset(holders)
    )
    assert past.never_seen(length(holder=holder)) is unseen


def beside(there: bool, holder: Holder = MACHINE) -> Evidence:
    return Evidence(replace(reading("feeder.feed_per_turn", "4.2", 1), holder=holder), there)


SEEN = Past(installs=True, inputs=frozenset({FILE}))


@pytest.mark.parametrize(
    ("past", "said", "usual", "evidence", "age", "why"),
    [
        (Past(written={at(0, 1): Told(Age.NEW, "entry 1")}), "old", [], [], Age.NEW, "entry 1"),
        (Past(foreign={at(0, 1): "of another machine"}), "old", [], [], Age.OLD, "the sheet says"),
        (Past(), "new", [0.5], [beside(False)], Age.NEW, "the sheet says"),
        (Past(foreign={at(0, 1): "of another machine"}), "", [0.5], [], Age.UNKNOWN, "of another machine"),
        (Past(foreign={at(0, 2): "of another machine"}), "", [0.5], [], Age.OLD, "usual for the old drive"),
        (Past(), "", [0.5], [beside(True)], Age.OLD, "usual for the old drive"),
        (Past(installs=True), "", [], [beside(True)], Age.OLD, "before knew of it"),
        (Past(), "", [], [beside(True)], Age.NEW, "beside figures of the new drive (feeder.feed_per_turn)"),
        (SEEN, "", [], [beside(False)], Age.OLD, "beside figures of the old drive (feeder.feed_per_turn)"),
        (Past(), "", [], [beside(True), beside(False)], Age.UNKNOWN, "and others of the old"),
        (Past(), "", [], [], Age.OLD, "nothing was installed here before"),
        (Past(), "", [], [beside(False, PETG)], Age.OLD, "nothing was installed here before"),
        (Past(), "", [], [beside(True, PETG)], Age.UNKNOWN, "nothing tells whether it is still"),
        (SEEN, "", [], [], Age.UNKNOWN, "was migrated by hand then"),
    ],
)
def test_the_age_of_a_reading_rests_on_the_first_that_tells_it(
    past: Past, said: str, usual: list[float], evidence: list[Evidence], age: Age, why: str
) -> None:
    """The history, the sheet, the value itself, what the same holder has beside it; what tells nothing is not guessed."""
    told = age_of(length(), scaled(0.5), past, said, usual, evidence, 0.1)
    assert told.age is age and why in told.why
    assert told.once_only is (why == "nothing was installed here before")


def test_how_to_settle_it_is_said_for_the_holder() -> None:
    assert remedy(MACHINE).startswith("Say in the sheet, with `values: old`")
    assert "below `feeders: {2: …}`" in remedy(feeder(2))
    assert "below `filaments: {petg: …}`" in remedy(PETG)


TUNED = {
    "was.retraction.length": "0.7",
    "was.feeder.feed_per_turn": "21.4",
    "new.drive": "on the carriage",
    "new.feed_per_turn": "24.7 mm",
    "old.tube.length": "430 mm",
    "old.tube.bore": "1.95 mm",
    "new.tube.length": "12 mm",
    "filament.material": "PLA",
    "filament.diameter": "1.75 mm",
}


def test_a_value_that_was_tuned_above_its_bound_is_not_cut_back_to_it() -> None:
    """0.7 mm behind hardly any tube may be the new drive's already; 5.6 mm can't be, and begins at the bound."""
    found = work_out_given(TUNED)
    said = "retraction length would be scaled from this value, and is not written"
    assert any(each.why.startswith(said) for each in found.doubts), [each.why for each in found.doubts]
    found = work_out_given({**TUNED, "was.retraction.length": "5.6"})
    result = found.result("retraction.length")
    assert result is not None and result.value == 0.5
    assert not any(each.why.startswith(said) for each in found.doubts)
