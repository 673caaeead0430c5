"""Machines side by side: alike where the same quantities get the same values, whatever dialect they are written in."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.fleet.groups import Hand, Moved, Record, compare, groups, outliers


def moved(quantity: str, value: float | None, text: str = "") -> Moved:
    return Moved(quantity, quantity, "mm", 1.0, "1", value, text or str(value), "computed")


def record(name: str, *changes: Moved, sheet: str = "swap.yaml", error: str = "") -> Record:
    return Record(name, sheet, (name,), changes=changes, error=error)


def test_the_same_values_in_other_spellings_are_alike() -> None:
    (group,) = groups(
        [record("Wren", moved("a", 30.0, "30"), moved("b", 2.0)), record("Knot", moved("b", 2.0), moved("a", 1800 / 60, "1800"))]
    )  # fmt: skip
    assert group.machines == ("Wren", "Knot")


@pytest.mark.parametrize(
    "other", [(moved("a", 2.1),), (moved("b", 2.0),), (), (moved("a", 2.0), moved("b", 1.0))]
)
def test_another_value_another_quantity_or_one_more_is_not_alike(other: tuple[Moved, ...]) -> None:
    assert len(groups([record("Wren", moved("a", 2.0)), record("Knot", *other)])) == 2


def test_the_largest_group_comes_first() -> None:
    one, two = moved("a", 1.0), moved("a", 2.0)
    found = groups([record("Wren", one), record("Knot", two), record("Twite", two)])
    assert [group.machines for group in found] == [("Knot", "Twite"), ("Wren",)]


def test_who_gets_another_value_than_most_with_the_same_sheet_stands_out() -> None:
    usual, other = moved("a", 1.0), moved("a", 3.0)
    (found,) = outliers([record("Wren", usual), record("Knot", usual), record("Twite", other)])
    assert (found.machine, found.here, found.usual, found.many, found.of) == ("Twite", other, usual, 2, 3)


def test_who_gets_no_value_where_most_get_one_stands_out_and_the_other_way_round() -> None:
    one = moved("a", 1.0)
    (without,) = outliers([record("Wren", one), record("Knot", one), record("Twite")])
    assert (without.machine, without.here, without.usual) == ("Twite", None, one)
    (alone,) = outliers([record("Wren"), record("Knot"), record("Twite", one)])
    assert (alone.machine, alone.here, alone.usual) == ("Twite", one, None)


def test_half_is_no_majority_and_another_sheet_is_another_matter() -> None:
    one, two = moved("a", 1.0), moved("a", 2.0)
    assert outliers([record("Wren", one), record("Knot", two)]) == ()
    assert outliers([record("Wren", one), record("Knot", one), record("Twite", two, sheet="own.yaml")]) == ()


def test_a_machine_without_a_packet_is_in_no_group() -> None:
    found = compare([record("Wren", moved("a", 1.0)), record("Knot", error="it can't be read")])
    assert [group.machines for group in found.groups] == [("Wren",)]


def test_what_is_to_be_done_by_hand_is_told_once_with_all_who_need_it() -> None:
    turn = Hand("screw", "Set 0.3 V", "power on")
    machines = [Record(name, "s", (), by_hand=(turn,)) for name in ("Wren", "Knot")]
    machines.append(Record("Twite", "s", (), by_hand=(Hand("screw", "Set 0.4 V", "power on"),)))
    assert compare(machines).hands == {"screw": {"Set 0.3 V": ("Wren", "Knot"), "Set 0.4 V": ("Twite",)}}


VALUES = st.dictionaries(st.sampled_from("abc"), st.sampled_from([1.0, 2.0, 3.0]), max_size=3)


@given(st.lists(VALUES, min_size=1, max_size=9))
def test_every_machine_is_in_one_group_and_a_group_stands_out_as_one(values: list[dict[str, float]]) -> None:
    records = [
        record(f"m{number}", *(moved(name, value) for name, value in machine.items()))
        for number, machine in enumerate(values)
    ]
    found = groups(records)
    assert sorted(name for group in found for name in group.machines) == sorted(one.name for one in records)
    out = {
        one.name: {(o.quantity, o.here and o.here.value) for o in outliers(records) if o.machine == one.name}
        for one in records
    }
    for group in found:
        assert len({frozenset(out[name]) for name in group.machines}) == 1
    # told by counting: a value that most have never stands out
    for one in outliers(records):
        here = one.here.value if one.here else None
        assert 2 * sum(machine.get(one.quantity) == here for machine in values) < len(values)
