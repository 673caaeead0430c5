"""What can't be told of a value's age, or of the filament that a profile is for, is asked in the lane that it is of."""

from __future__ import annotations

import pytest
from lanebench import ONCE, PETG, PLA, SCALED, SHEET, TUBES, becomes, held, machine, made, once, worked
from rulebench import FILE

from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import Holder
from cfgmigrate.rules.age import Past


def test_what_is_carried_out_once_only_is_one_question_of_all_profiles() -> None:
    tpu = Holder("filament", "tpu")
    also = held("feeder.unload_length", "60", tpu, 3)
    of = machine(
        held("retraction.length", "5", PETG),
        held("retraction.length", "6", tpu, 2),
        also,
        materials={PETG: "", tpu: ""},
    )
    unload = made("feeder.unload_length", "was.feeder.unload_length / 2", "was.feeder.unload_length")
    doubts = worked(of, TUBES.replace(", feed_per_turn: 4.15 mm", ""), SCALED, unload).doubts
    asked = [each.like for each in doubts if each.text == ONCE]
    assert [each.own for each in asked if each] == [
        "retraction length of filament petg black",
        "unload length, retraction length of filament tpu",
    ]
    assert len({(each.question, each.of, each.anywhere) for each in asked if each}) == 1


def test_the_doubt_of_what_is_scaled_stands_at_the_sheet_and_of_a_profile_at_its_value() -> None:
    of = machine(
        held("retraction.length", "5"), held("retraction.length", "6", PETG, 3), materials={PETG: ""}
    )
    found = worked(of, TUBES)
    assert once(found) == [Place(SHEET, 1, 22), Place(FILE, 3, 1)]
    assert [[doubt.place.line for doubt in each.doubts] for each in found.lanes.values()] == [[1], [3]]


def test_where_something_was_installed_before_and_nothing_tells_the_age_it_is_asked_and_not_written() -> None:
    found = worked(
        machine(held("retraction.length", "5")), TUBES, past=Past(installs=True, inputs=frozenset({FILE}))
    )
    (doubt,) = found.doubts
    assert becomes(found) is None
    assert (doubt.place, doubt.remedy.count("values: old")) == (Place(FILE, 1, 1), 1)


@pytest.mark.parametrize(
    ("sheet", "materials", "doubts"),
    [
        ("filament: {material: PLA}\n", {PETG: "PETG"}, 1),
        ("filament: {material: PETG}\n", {PETG: "PETG"}, 0),
        ("filament: {material: PLA}\n", {PETG: "PETG", PLA: "PLA"}, 0),
        ("filament: {material: PLA}\n", {PETG: "PETG", Holder("filament", "abs"): "ABS"}, 2),
        ("filament: {material: PLA}\n", {PETG: ""}, 0),
        ("filament: {material: PLA}\n", {PETG: "porridge"}, 0),
        ("", {PETG: "PETG"}, 0),
        ("filament: {material: PLA}\nfilaments: {petg black: {material: PETG}}\n", {PETG: "PETG"}, 0),
    ],
)
def test_profiles_that_are_all_for_another_filament_than_the_sheet_s_are_a_doubt(
    sheet: str, materials: dict[Holder, str], doubts: int
) -> None:
    found = worked(machine(materials=materials), sheet + TUBES).doubts
    assert len(found) == doubts
    assert [doubt.place.line for doubt in found] == [20, 21][:doubts]
    assert all("is for" in doubt.why for doubt in found)


@pytest.mark.parametrize(("kind", "where"), [("filament", "in the sheet"), ("print", "in cfgmigrate.yaml")])
def test_what_a_filament_is_of_is_said_in_the_sheet_and_of_a_print_in_the_site_file(
    kind: str, where: str
) -> None:
    of = machine(materials={Holder(kind, "slow"): "PETG"})
    (doubt,) = worked(of, "filament: {material: PLA}\n" + TUBES).doubts
    assert where in doubt.remedy
