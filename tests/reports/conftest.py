"""A hand-built plan for the made-up machine "Wren" of a bird-ringing station, with numbers that agree.

Wren's tube-fed drive comes off and a compact geared drive goes on the carriage. Every value below is worked
out here from the same inputs that the plan names, so that formula, numbers put in and result belong together.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import (
    ByHand,
    Change,
    Edit,
    FileInput,
    Finding,
    LeftAlone,
    NewValue,
    OldValue,
    Plan,
)
from cfgmigrate.rules import dimensions
from cfgmigrate.rules.formula import evaluate, read_expression
from cfgmigrate.rules.result import Contribution, CrossCheck, Derivation, Input, Status

WREN = Path(__file__).with_name("wren")
SHEET = "wren-swap.yaml"
PRACTICE = "common practice, no source"
BEHIND = (
    Contribution("path.push", f"constant: {PRACTICE}", 0.62),
    Contribution("old.tube.bend", f"{SHEET}:6", 0.35),
    Contribution("filament.diameter", "wren.ini:16", 0.03),
)
GIVE = "slack + elastic; the pushing force is common practice, no source"

# name: (label, value, unit, uncertainty, origin)
GIVEN = {
    "new.feed_per_turn": ("maker's figure", 4.15, "mm", 0.02, f"{SHEET}:14"),
    "new.drive_gear.effective_diameter": (
        "effective diameter of the drive gear",
        7.33,
        "mm",
        0.06,
        f"{SHEET}:11",
    ),
    "new.drive_gear.gear_ratio": ("gear ratio of the new drive", 50 / 9, "", 0.0, f"{SHEET}:12"),
    "new.motor.recommended_current": ("current recommended by the maker", 0.45, "A", 0.0, f"{SHEET}:18"),
    "new.motor.rated_current": ("rated current of the new motor", 1.0, "A", 0.0, f"{SHEET}:17"),
    "new.motor.holding_torque": ("holding torque", 9.0, "N*cm", 0.5, f"{SHEET}:20"),
    "new.driver.sense_resistor": ("sense resistor", 0.1, "ohm", 0.001, f"{SHEET}:23"),
    "old.tube.length": ("length of the old tube", 420.0, "mm", 2.0, f"{SHEET}:4"),
    "old.tube.bore": ("bore of the old tube", 2.0, "mm", 0.05, f"{SHEET}:5"),
    "old.tube.bend": ("total bend of the old tube", 200.0, "deg", 20.0, f"{SHEET}:6"),
    "new.tube.length": ("length of the new path", 38.0, "mm", 1.0, f"{SHEET}:25"),
    "new.tube.bore": ("bore of the new path", 2.0, "mm", 0.05, f"{SHEET}:26"),
    "new.tube.bend": ("total bend of the new path", 0.0, "deg", 0.0, f"{SHEET}:27"),
    "filament.diameter": ("filament diameter", 1.75, "mm", 0.02, "wren.ini:16"),
    "filament.stiffness": (
        "stiffness of the filament (PLA)",
        3.6,
        "GPa",
        0.2,
        "constant: maker's sheet of a common PLA",
    ),
    "path.push": ("pushing force while printing", 20.0, "N", 6.0, f"constant: {PRACTICE}"),
    "old.retraction.length": ("old retraction", 5.4, "mm", 0.0, "wren.ini:25"),
    "old.lag.coefficient": ("old lag coefficient", 0.55, "s", 0.0, "wren.ini:31"),
    "old.axis.z.max": ("old Z limit", 200.0, "mm", 0.0, "wren.ini:36"),
    "clearance.highest_z": ("highest Z that was clear", 188.5, "mm", 0.3, f"{SHEET}:31"),
    "clearance.keep_clear": ("to be kept clear", 2.0, "mm", 0.0, f"{SHEET}:32"),
    "surroundings.air": ("air around the carriage", 45.0, "degC", 3.0, f"constant: {PRACTICE}"),
    "motor.usual_rise": ("rise at rated current", 80.0, "K", 8.0, f"constant: {PRACTICE}"),
    "motor.rated_air": ("air at which that rise is meant", 25.0, "degC", 0.0, f"constant: {PRACTICE}"),
    "motor.case_part": ("the case's part of the rise", 0.8, "", 0.1, f"constant: {PRACTICE}"),
    "copper.cold": (
        "temperature that alpha is meant for",
        20.0,
        "degC",
        0.0,
        "constant: 1/(234.5 + 20), IEC 60034-1",
    ),
    "copper.alpha": (
        "copper's rise of resistance",
        0.00393,
        "1/K",
        0.0,
        "constant: 1/(234.5 + 20), IEC 60034-1",
    ),
    "mount.softens": ("PLA softens from", 55.0, "degC", 0.0, "constant: maker's sheet of a common PLA"),
    "feeder.efficiency": ("efficiency of the gears", 0.8, "", 0.1, f"constant: {PRACTICE}"),
}
FORMULAS = {
    "rotation": "new.feed_per_turn",
    "rotation_geometry": "pi * new.drive_gear.effective_diameter / new.drive_gear.gear_ratio",
    "current": "new.motor.recommended_current",
    "path.slack_old": "old.tube.bend * (old.tube.bore - filament.diameter)",
    "path.slack_new": "new.tube.bend * (new.tube.bore - filament.diameter)",
    "path.elastic_old": "path.push * old.tube.length / (filament.stiffness * pi * filament.diameter^2 / 4)",
    "path.elastic_new": "path.push * new.tube.length / (filament.stiffness * pi * filament.diameter^2 / 4)",
    "path.give_old": "path.slack_old + path.elastic_old",
    "path.give_new": "path.slack_new + path.elastic_new",
    "retraction": "old.retraction.length * path.give_new / path.give_old",
    "lag": "old.lag.coefficient * path.give_new / path.give_old",
    "z": "min(old.axis.z.max, clearance.highest_z - clearance.keep_clear)",
    "motor.full_power": "motor.usual_rise * (motor.run_current / new.motor.rated_current)^2"
    " / (1 + copper.alpha * (motor.rated_air + motor.usual_rise - copper.cold))",
    "motor.winding_temperature": "(surroundings.air + motor.full_power * (1 - copper.cold * copper.alpha))"
    " / (1 - copper.alpha * motor.full_power)",
    "motor.case_temperature": "surroundings.air + motor.case_part * (motor.winding_temperature - surroundings.air)",
    "feeder.push_force": "new.motor.holding_torque * motor.run_current / new.motor.rated_current"
    " * new.drive_gear.gear_ratio * feeder.efficiency / (new.drive_gear.effective_diameter / 2)",
    "reference": "motor.run_current * sqrt(2) * 8 * new.driver.sense_resistor",
}
NAME = re.compile(r"[a-z_]+(?:\.[a-z_]+)+")
RELATIVE = {"path.give_new": 0.32, "path.give_old": 0.2}


def worked_out() -> dict[str, float]:
    """Every value in its own unit, each formula worked out in SI base units."""
    values = {name: given[1] for name, given in GIVEN.items()} | {"motor.run_current": 0.45}
    for name, formula in FORMULAS.items():
        base = {given: dimensions.unit(unit_of(given)).to_base(value) for given, value in values.items()}
        values[name] = dimensions.unit(unit_of(name)).from_base(evaluate(read_expression(formula), base))
    return values


def unit_of(name: str) -> str:
    return GIVEN[name][2] if name in GIVEN else UNITS.get(name, "")


def derive(name: str, values: dict[str, float], source: str) -> Derivation:
    formula = FORMULAS[name]
    names = list(dict.fromkeys(NAME.findall(formula)))
    inputs = tuple(make_input(given, values, 1 / len(names)) for given in names)
    put_in = NAME.sub(lambda found: in_words(found[0], values), formula)
    return Derivation(formula, put_in, inputs, source)


def in_words(name: str, values: dict[str, float]) -> str:
    unit = unit_of(name)
    return f"{values[name]:.6g}" + (f" {unit}" if unit else "")


UNITS = {
    "rotation": "mm",
    "rotation_geometry": "mm",
    "current": "A",
    "retraction": "mm",
    "lag": "s",
    "z": "mm",
    "reference": "V",
    "motor.run_current": "A",
    "motor.full_power": "K",
    "motor.winding_temperature": "degC",
    "motor.case_temperature": "degC",
    "feeder.push_force": "N",
} | {f"path.{kind}_{age}": "mm" for kind in ("slack", "elastic", "give") for age in ("old", "new")}


def make_input(name: str, values: dict[str, float], share: float) -> Input:
    if name in GIVEN:
        label, value, unit, uncertainty, origin = GIVEN[name]
        return Input(name, label, value, unit, uncertainty, origin, share if uncertainty else 0.0)
    relative = RELATIVE.get(name, 0.0)
    label = name.replace(".", ": ").replace("_", " ")
    return Input(
        name, label, values[name], UNITS.get(name, ""), relative * values[name], f"rule {name}",
        share if relative else 0.0,
    )  # fmt: skip


def edit_of(files: dict[str, bytes], file: str, key: bytes, old: str, new: str) -> Edit:
    """The edit that replaces the value of the (only) line that begins with `key`."""
    at = next(found.end() for found in re.finditer(rb"(?m)^" + re.escape(key) + rb"\s*[:=]\s*", files[file]))
    before = files[file][:at]
    assert files[file][at : at + len(old)] == old.encode()
    line = before.count(b"\n") + 1
    return Edit(file, line, at - (before.rfind(b"\n") + 1) + 1, at, at + len(old), old, new)


def build() -> SimpleNamespace:
    before = {path.name: path.read_bytes() for path in sorted(WREN.iterdir())}
    values = worked_out()
    changes = tuple(make_changes(before, values))
    edits = [edit for change in changes for edit in change.edits]
    after = {
        path: apply_edits(data, [edit for edit in edits if edit.file == path])
        for path, data in before.items()
    }
    plan = Plan(
        machine="Wren",
        files=tuple(
            FileInput(path, hashlib.sha256(data).hexdigest(), "flat" if path.endswith("flat") else "sectioned")
            for path, data in before.items()
        ),
        sheet_path=SHEET,
        sheet_sha256=hashlib.sha256(b"sheet").hexdigest(),
        rules_sha256=hashlib.sha256(b"rules").hexdigest(),
        changes=changes,
        by_hand=tuple(make_by_hand(values)),
        findings=tuple(make_findings(values)),
        left_alone=(
            LeftAlone("retraction.extra_on_return", "it is 0 and stays 0: nothing oozes that a longer path would take back"),
            LeftAlone("resonance.x", "no file says a resonance, and the sheet has no measured one"),
            LeftAlone("probe.offset_y", "the sheet says carriage.nozzle_shift but no file has a probe offset"),
        ),
        doubts=(
            Doubt(
                Place("wren.ini", 17, 20), "longest feed move: 470",
                "the new path is 38 mm long; whether a load script needs the old length is not known",
                "say it in the names file, or shorten the move",
            ),
            Doubt(
                Place("perches.flat", 3, 18), "retract length = 5.4",
                "the retraction is set here and in wren.ini:25: one of them adds to the other on some machines",
                "keep one and set the other to 0",
            ),
        ),
        swap=(
            ("machine", "Wren"),
            ("old.drive", "tube-fed"),
            ("old.tube.length", "420 mm"),
            ("old.tube.bore", "2.0 mm"),
            ("old.tube.bend", "200 deg"),
            ("new.drive", "on the carriage"),
            ("new.drive_gear.effective_diameter", "7.33 ± 0.06 mm"),
            ("new.drive_gear.gear_ratio", "50:9"),
            ("new.tube.length", "38 mm"),
            ("new.tube.bore", "2.0 mm"),
            ("new.tube.bend", "0 deg"),
            ("new.mount.material", "PLA"),
            ("filament.material", "PLA"),
        ),
        root="wren",
    )  # fmt: skip
    return SimpleNamespace(
        plan=plan, before=before, after=after, packet_hash=hashlib.sha256(b"packet").hexdigest()
    )


def make_changes(before: dict[str, bytes], values: dict[str, float]):
    yield Change(
        "feeder.feed_per_turn", "filament fed by one turn of the motor", "mm", Status.COMPUTED, "maker's figure",
        OldValue(32.1, "32.1", "wren.ini", 12), NewValue(4.15, 0.02, "4.15"),
        derive("rotation", values, "the drive's data sheet, as the sheet has it"),
        "to two digits after the point, as the uncertainty allows",
        (edit_of(before, "wren.ini", b"mm_per_turn", "32.1", "4.15"),),
        says="The motor now turns a small gear through a reduction, so one turn feeds far less.",
        unrounded=4.15,
        cross_checks=(CrossCheck("geometry", values["rotation_geometry"], "0.1 % apart: they agree", 0.034),),
        cautions=("A wrong value feeds too much or too little: measure 100 mm before printing.",),
        verify="Mark the filament 120 mm above the drive, feed 100 mm at 1 mm/s, measure what is left: 20 mm.",
        rule="feeder.feed_per_turn",
    )  # fmt: skip
    yield Change(
        "motor.run_current", "run current of the feeder motor", "A", Status.COMPUTED, "recommended by the maker",
        OldValue(0.80, "0.80", "wren.ini", 21), NewValue(0.45, 0.0, "0.45"),
        derive("current", values, "the drive's data sheet, as the sheet has it"),
        "none needed",
        (edit_of(before, "wren.ini", b"run current", "0.80", "0.45"),),
        says="The small flat motor is rated for less than the one that came off.",
        cautions=("Too much current overheats the motor and softens its mount.", "The maker's data sheet comes first."),
        warnings=("The motor's case reaches about 56 °C; its PLA mount softens from 55 °C.",),
        verify="After 30 minutes of printing, hold a thermometer to the motor's case: below 50 °C for this mount.",
        rule="motor.run_current",
    )  # fmt: skip
    yield Change(
        "retraction.length", "retraction", "mm", Status.ESTIMATE, "scaled by the give of the path",
        OldValue(5.4, "5.4", "wren.ini", 25), NewValue(round(values["retraction"], 2), 0.097, "0.26"),
        replace(derive("retraction", values, GIVE), contributions=BEHIND),
        "to two digits: one digit would lose the value",
        (
            edit_of(before, "wren.ini", b"length", "5.4", "0.26"),
            edit_of(before, "perches.flat", b"retract length", "5.4", "0.26"),
        ),
        says="Retraction takes up what the path gives. The new path gives a twentieth of the old one.",
        unrounded=values["retraction"], low=0.0, high=0.6, step=0.1,
        cross_checks=(
            CrossCheck("bare give of the new path", values["path.give_new"], "a lower bound: 0.17 mm less"),
        ),
        cautions=("Too long a retraction pulls molten filament into the cold path, where it jams.",),
        verify="Print two posts from 0 to 0.6 mm in bands of 0.1 mm and keep the first band without strings.",
        depends=("path.give_new", "path.give_old"),
        rule="retraction.length",
    )  # fmt: skip
    yield Change(
        "lag.coefficient", "lag coefficient", "s", Status.ESTIMATE, "scaled by the give of the path",
        OldValue(0.55, "0.55", "wren.ini", 31), NewValue(round(values["lag"], 3), 0.0099, "0.026"),
        derive("lag", values, GIVE),
        "to three digits, as two significant digits of the uncertainty allow",
        (edit_of(before, "wren.ini", b"coefficient", "0.55", "0.026"),),
        says="The flow follows the feed more closely when there is less give between them.",
        unrounded=values["lag"], low=0.0, high=0.08, step=0.01,
        cautions=("Lower layers need more: measure it at the layer height you print.",),
        notes=("The old value was found at a layer height of 0.2 mm.",),
        verify="Draw lines at changing speed and keep the value with the evenest corners.",
        depends=("path.give_new", "path.give_old"),
        rule="lag.coefficient",
    )  # fmt: skip
    yield Change(
        "axis.z.max", "highest Z", "mm", Status.MEASURED, "measured clearance",
        OldValue(200.0, "200", "wren.ini", 36), NewValue(values["z"], 0.3, "186.5"),
        derive("z", values, "geometry"),
        "down to a tenth of a millimetre",
        (edit_of(before, "wren.ini", b"highest spot", "200", "186.5"),),
        says="The drive stands above the carriage and would meet the frame.",
        cautions=("A limit that is too high drives the carriage into the frame.",),
        verify="Raise Z slowly from 150 mm, in steps, a hand on the switch; stop at the limit and measure what is clear.",
        rule="axis.z.max",
    )  # fmt: skip


def make_by_hand(values: dict[str, float]):
    yield ByHand(
        "Reference voltage of the feeder's driver", values["reference"], "V",
        "the driver's current is set by a screw, so no file can do it",
        derive("reference", values, "A4988 data sheet (4988-DS): I_trip,max = V_ref / (8 · R_s)"),
        uncertainty=0.005,
        cautions=(
            "Measure against the board's ground with nothing else touching; a slip of the probe destroys the driver.",
            "Never unplug a motor while the power is on.",
        ),
        verify="Read the voltage again after the first hour.",
        rule="motor.reference_voltage", when="before it moves",
        steps=("Pull the plug and find the feeder's driver.", "Plug in, read, and write down: was ........ V."),
    )  # fmt: skip
    yield ByHand(
        "Test which way the feeder turns. Turn its direction round in the file if it is wrong.", None, "",
        "the new drive has one external mesh more than the old one, so the filament may run the wrong way",
        text="check",
        cautions=("Keep fingers and hair away from the gears.",),
        verify="Ask for 5 mm at 1 mm/s with no filament in the drive and look which way the gear turns.",
        rule="feeder.direction", when="power on",
    )  # fmt: skip


def make_findings(values: dict[str, float]):
    labels = {
        "path.slack_old": ("slack of the old path", "mm", 0.18),
        "path.elastic_old": ("compression in the old path", "mm", 0.3),
        "path.give_old": ("give of the old path", "mm", 0.35),
        "path.slack_new": ("slack of the new path", "mm", 0.0),
        "path.elastic_new": ("compression in the new path", "mm", 0.028),
        "path.give_new": ("give of the new path", "mm", 0.028),
        "motor.full_power": ("rise at this current, were the winding at 20 °C", "K", 1.2),
        "motor.winding_temperature": ("temperature of the winding", "degC", 3.6),
        "motor.case_temperature": ("temperature of the motor's case", "degC", 3.4),
        "feeder.push_force": ("push force available", "N", 6.8),
    }
    for rule, label, value, unit in (
        ("motor.mount_limit", "highest temperature for the mount", 55.0, "degC"),
        ("motor.driver_limit", "most that the driver delivers", 0.56, "A"),
    ):
        yield Finding(
            rule, label, value, unit, 0.0, Derivation(f"table.{rule}", "", (), "the makers' data sheets")
        )
    for rule, (label, unit, uncertainty) in labels.items():
        warnings = ()
        if rule == "motor.case_temperature":
            warnings = ("The motor's case reaches about 56 °C; its PLA mount softens from 55 °C.",)
        yield Finding(
            rule, label, values[rule], unit, uncertainty, derive(rule, values, PRACTICE), warnings=warnings
        )


@pytest.fixture(scope="session")
def wren() -> SimpleNamespace:
    """`.plan`, `.before`, `.after` (path → bytes) and `.packet_hash`."""
    return build()


HOSTILE = (
    "</script><script>document.title='ran'</script>",
    "<img src=x onerror=\"document.title='ran'\">",
    "\"' onmouseover=alert(1) x='",
    "</td></tr></table></style><style>*{display:none}",
    "<!-- --> ]]> <![CDATA[",
    "{{ 7*7 }} {% raw %}",
    "\x1b[2J\x1b]0;title\x07\x9b31m",
    "\u202egnp.exe\u2066\u2069\u200f",
    "| a | b |\n|---|---|\n# heading\n```\n~~~~",
    "``` `code` **bold** _it_ [link](http://example.org) ![p](x.png) <b>",
    "@everyone #1 www.example.org https://example.org/ a@example.org $x$",
    "[red]rich[/red] [link=http://example.org]x[/link] :smile:",
    "\x00\x08\x7f\u2028\u2029\ufeff",
    "w" * 10_000,
)
EXACT = {"status", "formula", "sha256", "dialect", "unit", "rule", "root"}


@pytest.fixture(scope="session", params=range(len(HOSTILE)), ids=lambda index: f"text{index}")
def hostile(request: pytest.FixtureRequest) -> SimpleNamespace:
    """Wren's plan with a hostile text in every field that a file, a sheet or a rule of the user's can fill."""
    return poison(HOSTILE[request.param])


@pytest.fixture(scope="session")
def harmless() -> SimpleNamespace:
    """What `hostile` is held against: the same places filled with a word that does nothing."""
    return poison("harmless")


@pytest.fixture(scope="session")
def all_hostile() -> SimpleNamespace:
    """The same with all hostile texts at once, the long one apart."""
    return poison(" ".join(HOSTILE[:-1]))


@pytest.fixture(scope="session")
def long_line() -> SimpleNamespace:
    """The same with ten thousand characters without a space."""
    return poison(HOSTILE[-1])


def poison(text: str) -> SimpleNamespace:
    made = build()
    one_line = text.replace("\n", " ").replace("\r", " ").encode()
    before = {path: one_line + b"\n" + data + b"# " + one_line + b"\n" for path, data in made.before.items()}
    shift = len(one_line) + 1

    def spoiled(value, name=""):
        if isinstance(value, dict):
            return {key: spoiled(inner, key) for key, inner in value.items()}
        if isinstance(value, list):
            return [spoiled(inner, name) for inner in value]
        if isinstance(value, str) and name not in EXACT | {"path", "file"}:
            return f"{value} {text}"
        return value

    plan = Plan.from_json(spoiled(made.plan.to_json()))
    changes = []
    for change, sound in zip(plan.changes, made.plan.changes, strict=True):
        edits = tuple(
            replace(edit, line=edit.line + 1, start=edit.start + shift, end=edit.end + shift, new=f"1 {text}")
            for edit in sound.edits
        )
        changes.append(replace(change, edits=edits))
    plan = replace(plan, changes=tuple(changes))
    edits = edits_by_file(plan.changes)
    after = {path: apply_edits(data, edits.get(path, [])) for path, data in before.items()}
    return SimpleNamespace(plan=plan, before=before, after=after, packet_hash=made.packet_hash, text=text)


@pytest.fixture(scope="session")
def empty() -> Plan:
    """A plan in which nothing changes."""
    return Plan(machine="", files=(), sheet_path="s.yaml", sheet_sha256="0" * 64, rules_sha256="1" * 64)
