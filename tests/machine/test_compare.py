"""Two configurations are compared by what they mean, not by how they are written."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import read
from cfgmigrate.machine.compare import Comparison, compare
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def flat(text: str) -> Machine:
    return recognise([read("old.txt", text.encode(), "flat")])


def sectioned(text: str) -> Machine:
    return recognise([read("new.ini", text.encode(), "sectioned")])


def different(comparison: Comparison) -> list[str]:
    return [difference.quantity.id for difference in comparison.differences]


def test_steps_per_mm_and_the_feed_per_turn_that_it_comes_to_are_the_same() -> None:
    """104 = 200 · 16 / 30.76923 (the relation of the design, by hand)."""
    old = flat("feeder.steps_per_mm = 104\n")
    new = sectioned("[feeder]\nfull steps per turn = 200\nmicrosteps = 16\nturn length = 30.76923\n")
    found = compare(old, new)
    assert not found.differ and found.same == 1
    assert not compare(new, old).differ


def test_a_feed_per_turn_that_comes_to_other_steps_is_a_difference_with_its_origin() -> None:
    old = flat("feeder.steps_per_mm = 104\n")
    new = sectioned("[feeder]\nstep angle = 1.8\nmicrosteps = 16\nmm per turn = 21.4\ngear ratio = 11:4\n")
    (difference,) = compare(old, new).differences
    assert difference.quantity.id == "feeder.steps_per_mm"
    assert difference.new.value == pytest.approx(200 * 16 * 11 / 4 / 21.4)
    assert "feed per turn 21.4 (new.ini:4)" in difference.new.origin
    shown = difference.to_json()
    assert shown["new_place"] is None and not shown["old_from"]
    assert shown["new_from"] == [{"file": "new.ini", "line": line} for line in (2, 3, 5, 4)]


def test_a_gear_ratio_folded_into_the_feed_per_turn_is_the_same() -> None:
    found = compare(
        flat("feeder.turn_length = 20\n"),
        sectioned("[feeder]\nmm per turn = 60\ngear ratio = 3:1\n"),
    )
    assert not found.differ and found.same == 1


def test_a_gear_ratio_that_changes_the_feed_is_a_difference() -> None:
    found = compare(
        flat("feeder.turn_length = 20\n"),
        sectioned("[feeder]\nmm per turn = 61\ngear ratio = 3:1\n"),
    )
    assert different(found) == ["feeder.feed_per_turn"]
    assert [reading.quantity for reading in found.only_new] == ["feeder.gear_ratio"]


def test_microsteps_that_differ_are_a_difference_even_where_the_steps_agree() -> None:
    old = flat("feeder.steps_per_mm = 100\nfeeder.microsteps = 16\n")
    new = sectioned("[feeder]\nmicrosteps = 32\nfull steps = 200\nturn length = 64\n")
    assert different(compare(old, new)) == ["feeder.microsteps"]


def test_other_units_and_spellings_of_the_same_value_are_the_same() -> None:
    old = flat(
        "retract_speed_mm_min = 1800\nFEEDER_RMS_MA = 450\nz max = 200\nfeeder.reversed = yes\ne step angle = 1.8\n"
    )
    new = sectioned(
        "[retraction]\nspeed = 30 mm/s\n[feeder]\nrun current rms = 0.45\ndirection = reversed\nfull steps = 200\n"
        "[axis z]\nhighest spot = 200.0\n"
    )
    found = compare(old, new)
    assert not found.differ and found.same == 5


def test_values_written_in_the_same_form_must_agree_exactly() -> None:
    found = compare(flat("retract length = 5.4\n"), sectioned("[retraction]\nlength = 5.42\n"))
    assert different(found) == ["retraction.length"]


def test_converted_values_agree_to_half_a_unit_of_the_last_decimal() -> None:
    assert not compare(
        flat("retract speed = 38.9 mm/s\n"), sectioned("[retraction]\nspeed = 2333 mm/min\n")
    ).differ
    assert compare(
        flat("retract speed = 38.7 mm/s\n"), sectioned("[retraction]\nspeed = 2333 mm/min\n")
    ).differ


def test_protected_differences_come_first() -> None:
    old = flat("bed.max.temp = 100\nfeeder.microsteps = 16\nheater.bed.watch = 20 s\n")
    new = sectioned("[feeder]\nmicrosteps = 32\n[bed]\nmax temp = 110\n[bed heater]\nwatch = 30 s\n")
    found = compare(old, new)
    assert [difference.quantity.protected for difference in found.differences] == [True, True, False]


def test_a_protected_setting_of_no_quantity_is_called_as_in_its_file() -> None:
    old = sectioned("[protection]\ndoor switch = none\n[end switches]\nx switch opens when touched = yes\n")
    new = sectioned("[protection]\ndoor switch = front\n")
    found = compare(old, new).to_json()
    assert [each["label"] for each in found["differences"]] == ["[protection] door switch"]
    assert [each["label"] for each in found["only_old"]] == ["[end switches] x switch opens when touched"]
    assert found["differences"][0]["quantity"].startswith("protected.")


def test_what_only_one_side_says_is_listed_protected_first() -> None:
    old = flat("retract length = 5\nbed.max.temp = 100\nlag coefficient = 0.4\n")
    new = sectioned("[retraction]\nlength = 5\n[feeder]\nmicrosteps = 16\n")
    found = compare(old, new)
    assert [reading.quantity for reading in found.only_old] == [
        "heater.bed.max_temperature",
        "lag.coefficient",
    ]
    assert [reading.quantity for reading in found.only_new] == ["feeder.microsteps"]
    assert found.differ


def test_scripts_with_the_same_moves_are_the_same_whatever_their_order_and_remarks() -> None:
    old = flat("script.end = G91\\nG1 Z10 F600\nscript.corners = G28\\nG1 X30\\nG1 Y40\n")
    new = sectioned(
        "[script corners]\nlines =\n    g28  ; home\n    G1 X30\n    G1 Y40\n[script end]\nlines =\n    G91\n    G1 Z12 F600\n"
    )
    found = compare(old, new)
    assert different(found) == ["script.end"]
    assert found.same == 1 and not found.only_old and not found.only_new


def test_a_second_feeder_is_compared_by_the_same_relation() -> None:
    old = flat("feeder1.steps_per_mm = 104\nfeeder2.steps_per_mm = 400\n")
    new = sectioned(
        "[feeder 1]\nsteps per mm = 104\n[feeder 2]\nfull steps = 200\nmicrosteps = 16\nturn length = 8\n"
    )
    assert not compare(old, new).differ


def test_what_a_machine_with_one_feeder_says_is_the_first_feeders() -> None:
    old = sectioned("[feeder]\nsteps per mm = 104\nmicrosteps = 16\n")
    new = sectioned("[feeder]\nsteps per mm = 94\nmicrosteps = 16\n[feeder 2]\nsteps per mm = 400\n")
    found = compare(old, new)
    assert [(each.quantity.id, str(each.holder)) for each in found.differences] == [
        ("feeder.steps_per_mm", "feeder 1")
    ]
    assert [str(each.holder) for each in found.only_new] == ["feeder 2"]
    assert found.same == 1 and not found.only_old


def test_each_filaments_values_are_compared_with_its_own() -> None:
    text = "[filament pla]\nretraction length = {0}\nlag = 0.5\n[filament tpu]\nretraction length = {1}\nlag = 0.9\n"
    found = compare(sectioned(text.format(5, 2)), sectioned(text.format(5, 3)))
    (difference,) = found.differences
    assert difference.to_json()["holder"] == "filament tpu"
    assert (difference.old.value, difference.new.value) == (2, 3)
    assert found.same == 3


def test_doubts_of_both_sides_are_told() -> None:
    found = compare(flat("retract speed = 150\n"), sectioned("[feeder]\nrun current = 0.4\n")).to_json()
    assert [doubt["side"] for doubt in found["doubts"]] == ["old", "new"]


def test_the_document_has_the_fields_of_the_design() -> None:
    found = compare(flat("z max = 200\nbed.max.temp = 100\n"), sectioned("[axis z]\nmax = 190\n")).to_json()
    assert set(found) >= {"differences", "only_old", "only_new", "same"}
    (difference,) = found["differences"]
    assert {key: difference[key] for key in ("quantity", "unit", "old", "new", "protected")} == {
        "quantity": "axis.z.max",
        "unit": "mm",
        "old": 200.0,
        "new": 190.0,
        "protected": False,
    }
    json.dumps(found)


LINES = {
    "retract length": st.decimals(0, 20, places=2),
    "retract speed mm/s": st.decimals(2, 200, places=1),
    "lag coefficient s": st.decimals(0, 4, places=3),
    "z max mm": st.decimals(10, 3000, places=1),
    "e steps per mm": st.decimals(20, 20000, places=1),
}


@given(st.fixed_dictionaries({}, optional=LINES))
def test_a_configuration_is_the_same_as_itself_in_another_dialect(values: dict[str, object]) -> None:
    old = flat("".join(f"{key} = {value}\n" for key, value in values.items()))
    new = sectioned(
        "[any]\n"
        if not values
        else "".join(f"{key.upper().replace(' ', '_')}: {value}\n" for key, value in values.items())
    )
    found = compare(old, new)
    assert not found.differ and found.same == len(old.readings)
    assert not compare(old, old).differ


def test_settings_that_are_not_understood_are_counted_where_only_one_side_has_them() -> None:
    old = flat("axis.x.max = 300\nflavour.of.day = 12\nsongs = 3\n")
    new = flat("axis.x.max = 300\nflavour.of.day = 14\nsongs =  3\nlamps = 2\n")
    found = compare(old, new)
    assert not found.differ and found.beyond == (1, 2)
    assert found.to_json()["beyond"] == {"old": 1, "new": 2}
    assert compare(old, old).beyond == (0, 0)
