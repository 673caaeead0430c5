"""The knowledge tables: every fact with unit, source and how it was seen; and the values of the sources.

Checked from outside: the data sheets' own tables and examples (A4988 data sheet 4988-DS, DRV8825 data sheet SLVSA73C Eq. 1, TMC2209 rev
1.03 chapter 8, TMC5160 rev 1.14 chapter 9), a published example of winding temperature, pint for units.
"""

from __future__ import annotations

import math
from pathlib import Path

import pint
import pytest

from cfgmigrate import knowledge
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.knowledge.tables import (
    HERE,
    SEEN,
    Fact,
    constant,
    constants,
    driver,
    drivers,
    load_constants,
    load_table,
    plastic,
    plastics,
    table,
    table_for,
)
from cfgmigrate.sheet.schema import TABLE_OF, sheet_schema, table_keys

TABLES = ("plastics.yaml", "drivers.yaml")
#: made once: to read the definitions of all units takes a quarter of a second
PINT = pint.UnitRegistry(cache_folder=None)
FACTS = [
    *(pytest.param(fact, id=f"const.{name}") for name, fact in constants().items()),
    *(
        pytest.param(fact, id=f"{key}:{name}")
        for name_of_table in TABLES
        for key, entry in table(name_of_table).entries.items()
        for name, fact in entry.facts.items()
    ),
]


def number(fact: Fact | None) -> float:
    assert fact is not None and fact.value is not None
    return fact.value


def rms(part: str, sense_resistor: float, full_scale: str = "full_scale_voltage", scale: int = 31) -> float:
    """RMS current in A by the scale formula of the header of drivers.yaml."""
    entry = driver(part)
    steps, inside = number(entry.get("scale_steps")), number(entry.get("internal_resistance"))
    return (scale + 1) / steps * number(entry.get(full_scale)) / (sense_resistor + inside) / math.sqrt(2)


@pytest.mark.parametrize("fact", FACTS)
def test_every_fact_has_a_meaning_a_source_and_how_it_was_seen(fact: Fact) -> None:
    assert fact.says.endswith(".") and fact.source and fact.seen in SEEN
    assert fact.place.line > 0
    if fact.seen == "memory":
        assert "from memory" in fact.source
    if fact.seen == "common practice":
        assert "common practice, no source" in fact.source


@pytest.mark.parametrize("fact", FACTS)
def test_every_fact_has_a_unit_that_pint_knows_and_a_sane_uncertainty(fact: Fact) -> None:
    if fact.word:
        assert fact.value is None and not fact.unit
        return
    assert PINT.parse_units(fact.unit) is not None
    around_zero = number(fact) == 0  # a correction that is zero on average is all uncertainty
    assert fact.uncertainty >= 0
    assert fact.uncertainty <= abs(number(fact)) or fact.unit == "degC" or around_zero


@pytest.mark.parametrize("kind", ["material", "part"])
def test_the_sheet_takes_exactly_the_words_that_the_tables_have(kind: str) -> None:
    assert table_keys(TABLE_OF[kind]) == tuple(table_for(kind).entries)
    fields = [field for field in sheet_schema().fields.values() if field.kind == kind]
    assert fields and all(field.choices == tuple(table_for(kind).entries) for field in fields)


@pytest.mark.parametrize("name", TABLES)
def test_a_table_has_no_column_that_no_entry_fills(name: str) -> None:
    filled = {fact for entry in table(name).entries.values() for fact in entry.facts}
    assert filled == set(table(name).columns)


def test_every_plastic_can_be_a_filament_and_what_can_be_a_mount_has_its_margin() -> None:
    for entry in plastics().values():
        assert number(entry.get("modulus")) > 0
        assert (entry.get("softening") is None) == (entry.get("margin") is None)


def test_every_driver_part_has_what_its_formula_needs() -> None:
    needs = {
        "reference": {"reference_gain"},
        "scale": {"full_scale_voltage", "internal_resistance", "scale_steps"},
    }
    for entry in drivers().values():
        formula = entry.get("formula")
        assert formula is not None and needs[formula.word] <= set(entry.facts)


#: TMC2209 data sheet rev 1.03, chapter 8: ohm, A RMS, at full scale
TMC2209_ROWS = [
    (1.00, 0.23), (0.82, 0.27), (0.75, 0.30), (0.68, 0.33), (0.50, 0.44), (0.47, 0.47), (0.39, 0.56), (0.33, 0.66),
    (0.27, 0.79), (0.22, 0.96), (0.18, 1.15), (0.15, 1.35), (0.12, 1.64), (0.10, 1.92), (0.075, 2.4),
]  # fmt: skip


@pytest.mark.parametrize(("resistor", "current"), TMC2209_ROWS)
def test_the_tmc2209_s_facts_give_each_row_of_its_data_sheet(resistor: float, current: float) -> None:
    digits = 1 if current == 2.4 else 2
    assert round(rms("TMC2209", resistor), digits) == current


def test_the_tmc2209_s_ranges_and_reference_give_the_recomputed_values() -> None:
    assert rms("TMC2209", 0.11) == pytest.approx(1.7678, abs=5e-5)
    assert rms("TMC2209", 0.11, "full_scale_voltage_low") == pytest.approx(0.9791, abs=5e-5)
    reference = 1.2 / number(driver("TMC2209").get("full_scale_reference"))
    assert rms("TMC2209", 0.11) * reference == pytest.approx(0.8485, abs=5e-5)


#: TMC5160 data sheet rev 1.14, chapter 9: ohm, A RMS; its table fits 0.33 V and not the 0.325 V of its text
TMC5160_ROWS = [(0.22, 1.1), (0.15, 1.6), (0.12, 2.0), (0.10, 2.3), (0.075, 3.1), (0.066, 3.5), (0.050, 4.7), (0.033, 7.1), (0.022, 10.6)]  # fmt: skip


@pytest.mark.parametrize(("resistor", "current"), TMC5160_ROWS)
def test_the_tmc5160_s_facts_give_its_data_sheet_s_table_within_what_the_table_is_off(
    resistor: float, current: float
) -> None:
    assert rms("TMC5160", resistor) == pytest.approx(current, rel=0.06)


@pytest.mark.parametrize(
    ("part", "resistor", "voltage", "peak"),
    [
        ("A4988", 0.2, 1.6, 1.0),
        ("A4988", 0.1, 0.8, 1.0),
        ("A4988", 0.05, 0.4, 1.0),
        ("DRV8825", 0.25, 2.5, 2.0),
        ("DRV8825", 0.2, 1.25, 1.25),
    ],
)
def test_the_reference_gains_give_the_data_sheets_examples(
    part: str, resistor: float, voltage: float, peak: float
) -> None:
    assert voltage / (number(driver(part).get("reference_gain")) * resistor) == pytest.approx(peak)


def test_the_drv8825_s_step_rate_binds_before_its_pulses_do() -> None:
    part = driver("DRV8825")
    by_pulses = 1e3 / (number(part.get("min_pulse_high")) + number(part.get("min_pulse_low")))
    assert number(part.get("max_step_rate")) == 250 < by_pulses == pytest.approx(263, abs=0.5)


def test_copper_warms_as_in_the_published_example() -> None:
    """80 ohm at 20 degC and 100 ohm hot are 83.63 degC with k = 234.5 (second-hand)."""
    k = number(constant("copper_coefficient"))
    assert 100 / 80 * (k + 20) - k == pytest.approx(83.63, abs=0.006)
    assert number(constant("copper_zero_resistance")) == -k
    assert 1 / (k + 20) == pytest.approx(0.00393, abs=5e-6)


def test_what_the_data_sheets_of_plastics_say() -> None:
    """PLA grade 4043D: 3.6 GPa, 55 to 60 degC; ABS grade GP-22: 2.35 GPa, 172 degF; PC grade 2405: 2.4 GPa."""
    assert [number(plastic(key).get("modulus")) for key in ("PLA", "ABS", "PC")] == [3.6, 2.35, 2.4]
    assert 55 <= number(plastic("PLA").get("softening")) <= 60
    by_pint = PINT.Quantity(172, "degF").to("degC").magnitude
    assert number(plastic("ABS").get("softening")) == pytest.approx(by_pint, abs=0.05)


def test_what_softens_under_load_below_its_glass_transition_counts_as_soft_there() -> None:
    """PETG bends under 1.8 MPa at 63 to 70 degC, and its glass transition is near 80 degC (both from memory)."""
    softening = plastic("PETG").facts["softening"]
    assert 63 <= number(softening) <= 70 and "deflection" in softening.source


def test_a_range_has_half_its_width_over_the_root_of_three_as_uncertainty() -> None:
    """JCGM 100:2008, 4.3.7."""
    friction, softening = constant("tube_friction"), plastic("PLA").facts["softening"]
    assert number(friction) == pytest.approx((0.04 + 0.10) / 2)
    assert friction.uncertainty == pytest.approx(0.03 / math.sqrt(3), abs=5e-4)
    assert softening.uncertainty == pytest.approx(2.5 / math.sqrt(3), abs=0.06)


def test_an_origin_says_how_far_to_trust_it() -> None:
    assert constant("usual_rise").origin == "common practice, no source"
    assert driver("A4988").facts["reference_gain"].origin.endswith("(second-hand)")
    assert plastic("PLA").facts["modulus"].origin == "data sheet of PLA grade 4043D, tensile modulus"


@pytest.mark.parametrize("find", [constant, plastic, driver])
def test_what_no_table_has_is_a_key_error(find: object) -> None:
    with pytest.raises(KeyError):
        find("nonesuch")  # type: ignore[operator]


@pytest.mark.parametrize(
    ("name", "old", "new", "said"),
    [
        ("plastics.yaml", "modulus: {value: 3.6,", "modulis: {value: 3.6,", "no field 'modulis'"),
        ("plastics.yaml", "value: 3.6, uncertainty: 0.2, unit: GPa", "value: 3600, uncertainty: 0.2, unit: MPa", "a value in GPa"),
        ("plastics.yaml", "value: 3.6, uncertainty", "value: stiff, uncertainty", "no such number"),
        ("plastics.yaml", "value: 3.6, uncertainty: 0.2", "value: 3.6, uncertainty: -0.2", "no such number"),
        ("plastics.yaml", "value: 3.6,", "value: nan,", "no such number"),
        ("plastics.yaml", "seen: read, note", "seen: somewhere, note", "needs a source, and seen"),
        ("plastics.yaml", 'source: "data sheet of PLA grade 4043D, tensile modulus", ', "", "needs a source"),
        ("plastics.yaml", "value: 3.6, uncertainty: 0.2, unit: GPa", "value: 3.6", "has no unit"),
        ("plastics.yaml", "value: 3.6, ", "", "either a value or a word"),
        ("plastics.yaml", "modulus: {unit: GPa, says", "modulus: {units: GPa, says", "takes says"),
        ("plastics.yaml", "    label: polylactide\n", "", "has no label"),
        ("plastics.yaml", "\nentries:", "\nentrys:", "entries is missing"),
        ("plastics.yaml", "  ABS:\n", "  PLA:\n", "second time"),
        ("drivers.yaml", "formula: {word: reference,", "formula: {word: referense,", "one of the words reference, scale"),
        ("drivers.yaml", "formula: {word: reference,", "formula: {word: reference, words: x,", "no property"),
        ("constants.yaml", "value: 80,", "wert: 80,", "no property"),
        ("constants.yaml", 'usual_rise: {says: "The winding\'s rise at the rated current, both phases on, at standstill.", ', "usual_rise: {", "needs a value and says"),
    ],
)  # fmt: skip
def test_a_table_that_breaks_its_own_syntax_is_refused_where_it_does(
    tmp_path: Path, name: str, old: str, new: str, said: str
) -> None:
    text = (HERE / name).read_text(encoding="utf-8")
    assert old in text
    wrong = tmp_path / name
    wrong.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadInput, match=said) as caught:
        (load_constants if name == "constants.yaml" else load_table)(wrong)
    assert caught.value.place is not None and caught.value.place.file == name and caught.value.place.line > 0


def test_no_text_says_to_feel_the_heat_of_a_motor_that_others_say_not_to_touch() -> None:
    """Half of the texts say "do not test the heat with a finger"; none may say the contrary."""
    folder = Path(knowledge.__file__).parent
    for path in sorted([*folder.rglob("*.yaml"), *(folder.parent / "sheet").glob("*.yaml")]):
        text = " ".join(path.read_text(encoding="utf-8").split())
        for said in ("back of the hand", "feel the heat", "finger can stay", "before you touch it"):
            assert said not in text, (path.name, said)
