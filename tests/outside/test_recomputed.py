"""Every value of the sample machines' packets, against a sheet on which each was worked out once more.

The sheet is `recomputed.yaml`: plain formulas with the files' and the sheets' numbers put in, a source beside each,
and the judgement whether a practitioner would type the value into that machine. No rule is asked. PyPI `GTC` works
the formulas out and carries the uncertainties (GUM, JCGM 100:2008, 5.1.2), `scipy` solves the balance of heat by
bracketing, `pint` does the arithmetic again with units.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import GTC
import pint
import pytest
from ruamel.yaml import YAML
from scipy.optimize import brentq

from cfgmigrate import api
from cfgmigrate.dialects.grammar import data_folder

SHEET: Mapping[str, Any] = YAML(typ="base", pure=True).load(
    Path(__file__).with_name("recomputed.yaml").read_text(encoding="utf-8")
)
SOURCES, UNCERTAIN = SHEET["sources"], SHEET["uncertain"]
SAMPLES = data_folder("sample_configs")
#: samples with several feeders or profiles; their values are worked out once more by holder in `test_several.py`
BY_HOLDER = {"bittern", "lapwing"}
MACHINES = sorted({path.stem for path in (SAMPLES / "sheets").glob("*.yaml")} - BY_HOLDER)
KINDS = {"changes": "quantity", "by_hand": "rule", "findings": "rule"}
SIDES = {"nearest": ROUND_HALF_EVEN, "up": ROUND_CEILING, "down": ROUND_FLOOR}
UNITS = pint.UnitRegistry()

Entry = Mapping[str, Any]
Formula = Callable[..., Any]


def entries(having: str = "from") -> list[Any]:
    """Machine, kind and name of every entry of the sheet, or of those that have a field."""
    return [
        pytest.param(machine, kind, name, id=f"{machine} {kind} {name}")
        for machine in MACHINES
        for kind in KINDS
        for name, entry in SHEET.get(machine, {}).get(kind, {}).items()
        if having in entry
    ]


@pytest.fixture(scope="module")
def packets(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Path]:
    made = {machine: tmp_path_factory.mktemp("packets") / machine for machine in MACHINES}
    for machine, packet in made.items():
        api.prepare([SAMPLES / machine], SAMPLES / "sheets" / f"{machine}.yaml", out=packet)
    return made


def plan_of(packet: Path) -> Mapping[str, Any]:
    plan: Mapping[str, Any] = json.loads((packet / "changes.json").read_text(encoding="utf-8"))
    return plan


def items_of(packet: Path, kind: str, name: str) -> list[Any]:
    return [item for item in plan_of(packet)[kind] if item[KINDS[kind]] == name]


@cache
def unknowns() -> Mapping[str, Any]:
    return {name: GTC.ureal(float(it["value"]), float(it["u"])) for name, it in UNCERTAIN.items()}


@cache
def calculator(machine: str) -> Formula:
    """Works a formula of this machine's part of the sheet out, with the names that stand there."""
    names: dict[str, Any] = {
        "pi": math.pi, "sqrt": GTC.sqrt, "rad": math.radians, "floor": math.floor, "min": min, "max": max, "abs": abs,
        **unknowns(),
    }  # fmt: skip

    def work_out(formula: str, **more: float) -> Any:
        return eval(formula, {"__builtins__": {}}, {**names, **more})

    for name, formula in SHEET[machine]["numbers"].items():
        names[name] = work_out(formula)
    return work_out


def nominal(found: Any) -> float:
    return float(GTC.value(found))


def spread(found: Any) -> float:
    return float(GTC.uncertainty(found))


def half_a_unit(written: str) -> float:
    return 0.5 * 10.0 ** -len(written.partition(".")[2]) * (1 + 1e-6)


def assert_agree(found: float, written: str, what: str) -> None:
    assert abs(found - float(written)) <= half_a_unit(written), (
        f"{what} is {found!r}, the sheet has {written}"
    )


def whole_steps(low: float, high: float, step: float) -> tuple[float, float, float]:
    """A step of 1, 2 or 5, the largest within `step`; both ends outwards to whole steps. In exact arithmetic."""
    size = next(
        Fraction(10) ** power * digit
        for power in range(6, -9, -1)
        for digit in (5, 2, 1)
        if Fraction(10) ** power * digit <= Fraction(f"{step:.9g}")
    )
    low_steps, high_steps = Fraction(f"{low:.9g}") / size, Fraction(f"{high:.9g}") / size
    return float(math.floor(low_steps) * size), float(math.ceil(high_steps) * size), float(size)


def test_every_sample_is_on_the_sheet() -> None:
    assert sorted(set(SHEET) - {"sources", "uncertain"}) == MACHINES


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("kind", KINDS)
def test_the_sheet_has_what_the_packet_has(packets: Mapping[str, Path], machine: str, kind: str) -> None:
    found = {item[KINDS[kind]] for item in plan_of(packets[machine])[kind]}
    written = set(SHEET[machine][kind])
    assert not found - written, "these were never worked out a second time"
    assert not written - found, "these are no longer in the packet"


@pytest.mark.parametrize(("machine", "kind", "name"), entries())
def test_the_formula_gives_what_the_sheet_says(machine: str, kind: str, name: str) -> None:
    """GTC, from the numbers put in: the value, its uncertainty, the range to try and the second ways."""
    entry, work_out = SHEET[machine][kind][name], calculator(machine)
    assert entry["from"] in SOURCES
    assert kind == "findings" or entry["use"]
    if "word" in entry:
        assert entry.get("because") or work_out(entry["is"]) is True
        return
    found = work_out(entry["is"])
    assert_agree(nominal(found), entry["value"], "the value")
    if "u" in entry:
        assert_agree(spread(found), entry["u"], "its uncertainty")
    else:
        assert spread(found) == 0
    for way, (formula, written) in entry.get("checks", {}).items():
        assert_agree(nominal(work_out(formula)), written, way)
    if "try" in entry:
        asked = (nominal(work_out(formula, v=nominal(found))) for formula in entry["ask"])
        assert whole_steps(*asked) == pytest.approx([float(number) for number in entry["try"]])


@pytest.mark.parametrize(("machine", "kind", "name"), entries())
def test_the_packet_has_what_the_sheet_says(
    packets: Mapping[str, Path], machine: str, kind: str, name: str
) -> None:
    entry, work_out = SHEET[machine][kind][name], calculator(machine)
    items = items_of(packets[machine], kind, name)
    assert items
    for item in items:
        new = item.get("new", item)
        assert item["unit"] == entry["unit"]
        if "word" in entry:
            said = item.get("word") or item["text"]
            assert said.startswith(entry["word"]), "a word may be explained further, but not be another"
            continue
        found = work_out(entry["is"])
        assert_agree(item.get("unrounded", new["value"]), entry["value"], "the packet's value")
        assert new["uncertainty"] == pytest.approx(spread(found), rel=0.005, abs=1e-12)
        assert_range(item, entry)
        assert_checks(item, entry)
        assert_shares(item, found)
        if kind == "changes":
            assert_written(item, entry, nominal(found), spread(found))


def assert_range(item: Entry, entry: Entry) -> None:
    ends = [item.get(name) for name in ("low", "high", "step")]
    if "try" in entry:
        assert ends == pytest.approx([float(number) for number in entry["try"]])
    else:
        assert ends == [None, None, None], "this range was never worked out a second time"


def assert_checks(item: Entry, entry: Entry) -> None:
    written = entry.get("checks", {})
    assert {check["way"] for check in item.get("cross_checks", ())} == set(written)
    for check in item.get("cross_checks", ()):
        assert_agree(check["value"], written[check["way"]][1], check["way"])


def assert_shares(item: Entry, found: Any) -> None:
    """What each unknown has to do with the uncertainty: the square of its component over that of the whole."""
    said = {part["name"]: part["share"] for part in item["derivation"].get("contributions", ())}
    if not spread(found):
        assert not said
        return
    shares = {
        UNCERTAIN[name]["of"]: (component / spread(found)) ** 2
        for name, unknown in unknowns().items()
        if (component := GTC.rp.u_component(found, unknown))
    }
    assert sum(shares.values()) == pytest.approx(1)
    for name, share in said.items():
        assert share == pytest.approx(shares.get(name, 0.0), abs=0.001)
    assert sum(said.values()) == pytest.approx(1, abs=0.01), "a part of the uncertainty is not told"


def assert_written(item: Entry, entry: Entry, value: float, u: float) -> None:
    """The text that goes into the file: the value at its step of rounding, to the side that is safe."""
    text, step, side = entry["written"]
    assert item["new"]["text"] == text
    if side == "exact":
        assert Fraction(text.replace(":", "/")) == Fraction(value).limit_denominator(1000)
        return
    per = float(entry.get("per", 1))
    exact = Decimal(f"{value * per:.10g}") / Decimal(step)
    assert float(exact.quantize(Decimal(1), SIDES[side]) * Decimal(step)) == pytest.approx(float(text))
    assert item["new"]["value"] == pytest.approx(float(text) / per)
    if u and side == "nearest":
        assert float(step) / 2 <= u * per / 3, "GUM 7.2.6: a rounding adds next to nothing to u"
    else:
        assert u or side != "nearest" or float(text) / per == pytest.approx(value, rel=2e-4, abs=1e-9)


@pytest.mark.parametrize(("machine", "kind", "name"), entries(having="in_units"))
def test_pint_comes_to_the_same_with_units(machine: str, kind: str, name: str) -> None:
    entry = SHEET[machine][kind][name]
    assert_agree(
        UNITS.parse_expression(entry["in_units"]).to(entry["unit"]).magnitude, entry["value"], "by pint"
    )


def winding_at(current: float, air: float, rated: float) -> float:
    """Where heat made and heat lost balance, found by bracketing: the trade's 80 K at the rated current in air of
    25 °C, copper's resistance in proportion to T + 234.5 °C (second-hand)."""

    def rest(temperature: float) -> float:
        made = (current / rated) ** 2 * (temperature + 234.5) / (25 + 80 + 234.5)
        return 80 * made - (temperature - air)

    return float(brentq(rest, air, 500))


@pytest.mark.parametrize("machine", MACHINES)
def test_the_winding_s_temperature_by_solving_the_balance_of_heat(
    packets: Mapping[str, Path], machine: str
) -> None:
    heat = {name: float(number) for name, number in SHEET[machine]["heat"].items()}
    (finding,) = items_of(packets[machine], "findings", "motor.winding_temperature")
    assert finding["value"] == pytest.approx(
        winding_at(heat["current"], heat["air"], heat["rated"]), abs=1e-6
    )
    for current, winding, case, push in SHEET[machine]["at_other_currents"]:
        solved = winding_at(float(current), heat["air"], heat["rated"])
        assert_agree(solved, winding, f"the winding at {current} A")
        assert_agree(heat["air"] + 0.8 * (solved - heat["air"]), case, f"the case at {current} A")
        force = nominal(calculator(machine)("force")) * float(current) / heat["current"]
        assert_agree(force, push, f"the push at {current} A")


@pytest.mark.parametrize("machine", MACHINES)
def test_the_rows_beside_the_picture_of_heat_and_push(packets: Mapping[str, Path], machine: str) -> None:
    lines = (packets[machine] / "changes.md").read_text(encoding="utf-8").splitlines()
    for current, winding, case, push in SHEET[machine]["at_other_currents"]:
        numbers = (f"{current} A", f"{winding} °C", f"{case} °C", f"{push} N")
        assert any(all(number in line for number in numbers) for line in lines), numbers
