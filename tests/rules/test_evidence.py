"""Which readings can tell the old drive's files from the new one's."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from rulebench import machine_of, own_rules, reading, sheet_of

from cfgmigrate.machine.model import Machine
from cfgmigrate.rules import library
from cfgmigrate.rules.age import Evidence
from cfgmigrate.rules.engine import Kept, Run, Step
from cfgmigrate.rules.evidence import asked_of_both, evidence, swapped_back
from cfgmigrate.rules.result import Derivation, Result, Status
from cfgmigrate.rules.scope import Scope


def result(value: float | None, uncertainty: float = 0.0, target: str = "feeder.feed_per_turn") -> Result:
    return Result(
        target,
        target,
        "feed",
        "mm",
        value,
        uncertainty,
        Status.COMPUTED,
        "way",
        Derivation("a", "", (), "here"),
    )


def run(machine: Machine, *results: Result) -> Run:
    scope = Scope(machine, sheet_of({}), library.tables())
    return Run(scope, {}, Kept(), {f"rule {at}": Step(each) for at, each in enumerate(results)})


def test_the_swap_the_other_way_round_has_the_sides_changed_over_and_nothing_of_the_carriage() -> None:
    sheet = sheet_of(
        {
            "old.feed_per_turn": "23 mm",
            "new.feed_per_turn": "4 mm",
            "carriage.nozzle_shift.x": "1 mm",
            "clearance.lowest_x": "4 mm",
            "filament.material": "PLA",
        }
    )
    back = swapped_back(sheet)
    assert {name: entry.value for name, entry in back.entries.items() if name.endswith("per_turn")} == {
        "new.feed_per_turn": 23,
        "old.feed_per_turn": 4,
    }
    assert set(back.entries) == {"new.feed_per_turn", "old.feed_per_turn", "filament.material"}


FEED = reading("feeder.feed_per_turn", "23")


@pytest.mark.parametrize(
    ("of_the_old", "there", "both"),
    [
        (result(23), True, True),
        (result(23 * 1.0004), True, True),
        (result(23 * 1.0006), True, False),
        (result(23.9, 3.0), True, True),
        (result(24.1, 3.0), True, False),
        (result(4), True, False),
        (result(None), True, False),
        (result(23, target="feeder.gear_ratio"), True, False),
        (result(23), False, False),
    ],
)
def test_what_the_old_drive_asks_for_as_well_says_nothing_within_a_third_of_its_uncertainty(
    of_the_old: Result, there: bool, both: bool
) -> None:
    machine = Machine((), (FEED,))
    assert asked_of_both(Evidence(FEED, there), [run(machine, of_the_old)]) is both
    assert asked_of_both(Evidence(FEED, there), [run(machine), run(machine, of_the_old)]) is both


def test_of_another_reading_or_one_without_a_number_nothing_is_asked() -> None:
    other = machine_of({"was.feeder.feed_per_turn": "23"})
    assert not asked_of_both(Evidence(FEED, True), [run(other, result(23))])
    silent = replace(FEED, value=None)
    assert not asked_of_both(Evidence(silent, True), [run(Machine((), (silent,)), result(23))])
    assert not asked_of_both(Evidence(FEED, True), [])


@pytest.mark.parametrize(("there", "told"), [(-24.0, []), (-31.0, [False])])
def test_a_probe_s_place_that_stands_already_along_one_axis_says_nothing(
    there: float, told: list[bool]
) -> None:
    """A bracket that was moved back and not sideways has one new figure and one old."""
    machine = machine_of({"was.probe.offset_x": str(there)})
    placed = replace(result(-24, target="probe.offset_x"), way="measured from the new tip")
    found = evidence(own_rules(), run(machine, placed), machine.view())
    assert [each.there for each in found] == told
