"""The swap sheet's fields, as `schema.yaml` has them. Pint is the reference for what is a unit."""

from __future__ import annotations

from pathlib import Path

import pint
import pytest

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.units import units
from cfgmigrate.knowledge.tables import constant
from cfgmigrate.sheet.fields import read_value
from cfgmigrate.sheet.schema import SCHEMA, Field, load_schema, sheet_schema

FIELDS = list(sheet_schema().fields.values())
#: made once: to read the definitions of all units takes a quarter of a second
PINT = pint.UnitRegistry(cache_folder=None)


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: field.path)
def test_every_field_has_a_meaning_and_an_example_that_reads(field: Field) -> None:
    assert field.says.endswith(".") and field.example
    entry = read_value(field, field.example, Place("s.yaml", 1, 1))
    assert entry.path == field.path and entry.unit == field.unit
    if field.numeric:
        assert entry.value is not None and field.low <= entry.value <= field.high and not entry.word
    else:
        assert entry.value is None and entry.word


@pytest.mark.parametrize("field", [field for field in FIELDS if field.unit], ids=lambda field: field.path)
def test_every_unit_is_one_that_pint_knows_and_that_needs_no_pint(field: Field) -> None:
    assert PINT.parse_units(field.unit) is not None
    assert field.unit in units()


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: field.path)
def test_only_fields_that_say_so_may_be_negative(field: Field) -> None:
    assert field.negative == (field.low < 0)


def test_every_quantity_that_files_may_say_exists_and_has_the_field_s_unit() -> None:
    quantities = pytest.importorskip("cfgmigrate.machine.quantities")
    reading = [field for field in FIELDS if field.reads]
    assert len(reading) > 10
    for field in reading:
        assert quantities.quantity(field.reads).unit == field.unit, field.path


def test_every_group_stands_in_one_piece_so_that_the_sheet_names_it_once() -> None:
    for section in sheet_schema().sections:
        inside = [path.startswith(f"{section}.") for path in sheet_schema().fields]
        first = inside.index(True)
        assert all(inside[first : first + sum(inside)]), section


def test_the_old_and_the_new_motor_have_the_same_fields() -> None:
    schema = sheet_schema()
    for part in ("motor", "driver", "drive_gear"):
        assert schema.names_in(f"old.{part}") == schema.names_in(f"new.{part}")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("kind: word, choices: [moving bed", "kind: wort, choices: [moving bed", "no kind 'wort'"),
        ("machine: {kind: text,", "machine: {kindd: text,", "no property 'kindd'"),
        ("machine: {kind: text,", "machine: {", "machine has no unit"),
        ("low: 0.5, high: 500, reads: retraction.speed", "low: x, high: 500", "must be numbers"),
        ("old.motor: {alike: motor}", "old.motor: {alike: motr}", "no list 'motr'"),
        ("above: filament.diameter", "above: filament.diametr", "no field filament.diametr"),
        ("\n  nozzle: Where", "\n  nozle: Where", "heading"),
        ("old.path_length: {", "old.drive_gear.efficiency: {", "twice"),
        ("\nalike:", "\nalikes:", "alike is missing"),
    ],
)
def test_a_schema_that_breaks_its_own_syntax_is_refused(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    text = SCHEMA.read_text(encoding="utf-8")
    assert old in text
    wrong = tmp_path / "schema.yaml"
    wrong.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadInput, match=said) as caught:
        load_schema(wrong)
    assert caught.value.place is not None and caught.value.place.line > 0


@pytest.mark.parametrize(
    ("field", "name"), [("drive_gear.gear_ratio", "greatest_ratio"), ("motor.step_angle", "widest_step")]
)
def test_what_is_rare_at_the_bench_is_what_the_rules_hold_back(field: str, name: str) -> None:
    assert sheet_schema().fields[f"new.{field}"].rare_beyond == constant(name).value
