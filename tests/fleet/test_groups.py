"""Machines side by side: alike where the same quantities get the same values, whatever dialect they are written in."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cfgmigrate.fleet.forms import VALUE_ITSELF
from cfgmigrate.fleet.groups import Hand, Record, compare, groups, in_common, outliers
from cfgmigrate.fleet.moved import Moved
from cfgmigrate.fleet.pieces import FleetPiece


def moved(quantity: str, value: float | None, text: str = "") -> Moved:
    return Moved(quantity, quantity, "mm", 1.0, "1", value, text or str(value), "computed")


def record(name: str, *changes: Moved, sheet: str = "swap.yaml", error: str = "") -> Record:
    return Record(name, sheet, (name,), changes=changes, error=error)


def test_the_same_values_in_other_spellings_are_alike() -> None:
    (group,) = groups(
        [record("Wren", moved("a", 30.0, "30"), moved("b", 2.0)), record("Knot", moved("b", 2.0), moved("a", 1800 / 60, "1800"))]
    )  # fmt: skip
    assert group.machines == ("Wren", "Knot")


def test_what_records_say_alike_is_kept_once_and_says_what_it_said() -> None:
    """Of records that came from other processes, each with objects of its own."""
    known: dict[object, object] = {}
    made = [
        replace(
            record(name),
            pieces=(FleetPiece("C1", "change C1", "0a", "lag", "4 \N{RIGHTWARDS ARROW} 2"),),
            by_hand=(Hand("tube", "take it off", "before"),),
            settings=tuple(f"feeder {word}" for word in ("lag", "current")),
        )
        for name in ("Wren", "Knot")
    ]
    one, other = kept = [in_common(each, known) for each in made]
    assert kept == made
    assert one.pieces[0] is other.pieces[0]
    assert one.by_hand[0] is other.by_hand[0]
    assert one.settings is other.settings


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


def grown(old: float, value: float) -> Moved:
    return Moved("a", "a", "mm", old, str(old), value, str(value), "computed")


def test_what_becomes_less_by_the_same_on_machines_of_other_sizes_is_alike_and_who_loses_more_stands_out() -> (
    None
):
    sizes = (235.0, 230.0, 250.0, 235.0)
    alike = [record(f"m{at}", grown(old, old - 7)) for at, old in enumerate(sizes)]
    assert len(groups(alike)) == 1 and not outliers(alike)
    (out,) = outliers([*alike, record("Twite", grown(240, 230))])
    assert (out.machine, out.many, out.of) == ("Twite", 4, 5)


def test_what_becomes_the_same_share_of_what_it_was_is_alike_though_files_round() -> None:
    alike = [
        record("m1", grown(2800, 1950)),
        record("m2", grown(3400, 2370)),
        record("m3", grown(3000, 2090)),
    ]
    assert len(groups(alike)) == 1
    assert len(groups([*alike, record("m4", grown(3000, 2600))])) == 2


def test_a_value_that_is_the_same_on_all_is_told_as_that_whatever_it_was() -> None:
    (group,) = groups(
        [record("m1", grown(6, 0.9)), record("m2", grown(7, 0.9)), record("m3", grown(5.5, 0.9))]
    )
    assert group.forms == (VALUE_ITSELF,)


def test_who_lacks_what_nearly_all_others_have_is_told_with_it_packet_or_not() -> None:
    whole = [replace(record(f"m{at}"), settings=("coil current", "steps per mm")) for at in range(5)]
    torn = replace(record("Twite", error="it breaks off"), settings=("steps per mm",))
    assert compare([*whole, torn]).lacking == {"Twite": ("coil current",)}
    assert compare([*whole[:3], torn]).lacking == {}


def test_what_sheets_say_otherwise_is_told_by_what_they_say() -> None:
    said = [
        replace(record(name), differs=(("motor", text),))
        for name, text in (("a", "1 A"), ("b", "2 A"), ("c", "1 A"))
    ]
    assert compare(said).differs == {"motor": {"1 A": ("a", "c"), "2 A": ("b",)}}


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
