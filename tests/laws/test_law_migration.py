"""Laws 3 to 8, over every sample machine with its own sheet and with generated ones.

A generated sheet describes any part of a swap: each field may be missing, and its number is anything that
a person could write there. So most sheets leave some rules without what they need, some ask for nothing
and some for values that stand already.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from cfgmigrate import api
from cfgmigrate.dialects import detect
from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.ground.findings import BadInput, CfgError, Refused
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.lights import UNKNOWN

SAMPLES = data_folder("sample_configs")


def _files(folder: Path) -> list[Path]:
    return [path for path in sorted(folder.rglob("*")) if path.is_file()]


MACHINES = sorted(
    folder.name
    for folder in SAMPLES.iterdir()
    if (SAMPLES / "sheets" / f"{folder.name}.yaml").is_file()
    and any(detect(path.read_bytes()) for path in _files(folder))
)
#: what takes long is done with one sample in the quick tier, and with the others in the exhaustive one
SMALLEST_FIRST = [
    pytest.param(name, marks=() if name == "knot" else pytest.mark.exhaustive) for name in MACHINES
]
#: those whose files say something of a heater
HEATED = [
    name
    for name in MACHINES
    if any(b"heater" in path.read_bytes().lower() for path in _files(SAMPLES / name))
]
#: a generated sheet costs a whole preparation, so fewer of them than of generated lines, and a failing one is
#: shown as it is: making it smaller would take minutes and gain little
FEWER = settings(
    max_examples=max(5, settings().max_examples // 5),
    phases=[Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def sheet_of(machine: str) -> Path:
    return SAMPLES / "sheets" / f"{machine}.yaml"


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a configuration; what the tool keeps beside it (hidden) is not part of it."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    }


def everything_read(machine: Machine) -> dict[str, list[str | float]]:
    """All values of each quantity, in the order of files and lines, in force or not."""
    every: list[Reading] = [*machine.readings, *machine.shadowed]
    for twins in machine.followed.values():
        every += twins
    found: dict[str, list[str | float]] = {}
    for reading in sorted(every, key=lambda one: (one.place.file, one.start)):
        found.setdefault(reading.quantity, []).append(
            reading.text if reading.value is None else reading.value
        )
    return found


@pytest.fixture
def machine_files(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    """A copy of the sample machine that the test is about."""
    folder = tmp_path / "configuration"
    shutil.copytree(SAMPLES / request.getfixturevalue("machine"), folder)
    return folder


# --- generated sheets ----------------------------------------------------------------------------------


def _number(low: float, high: float, unit: str, spread: float = 0.0) -> st.SearchStrategy[str]:
    value = st.integers(round(100 * low), round(100 * high)).map(lambda number: f"{number / 100:g}")
    if not spread:
        return value.map(lambda text: f"{text} {unit}".strip())
    return st.one_of(
        value.map(lambda text: f"{text} {unit}"), value.map(lambda text: f"{text} ± {spread} {unit}")
    )


_GEARS = {
    "effective_diameter": _number(5, 14, "mm", 0.07),
    "gear_ratio": st.builds("{}:{}".format, st.integers(9, 70), st.integers(5, 20)),
    "external_meshes": st.integers(0, 3).map(str),
}
_MOTOR = {
    "rated_current": _number(0.4, 2, "A"),
    "recommended_current": _number(0.2, 1.2, "A"),
    "step_angle": st.sampled_from(["1.8 deg", "0.9 deg"]),
    "winding_resistance": _number(1, 6, "ohm"),
    "holding_torque": _number(5, 45, "N*cm"),
}
_DRIVER = {
    "part": st.sampled_from(["TMC2209", "A4988", "DRV8825", "TMC5160"]),
    "set_by": st.sampled_from(["serial", "screw"]),
    "sense_resistor": _number(0.05, 0.3, "ohm"),
}


def _tube(shortest: float, longest: float) -> dict[str, st.SearchStrategy[str]]:
    return {
        "length": _number(shortest, longest, "mm"),
        "bore": _number(1.85, 2.2, "mm"),
        "bend": _number(0, 300, "deg"),
    }


_WHERE = st.sampled_from(["tube-fed", "on the carriage"])
_FIELDS: dict[str, st.SearchStrategy[str] | dict[str, st.SearchStrategy[str]]] = {
    "old.drive": _WHERE,
    "old.drive_gear": _GEARS,
    "old.tube": _tube(20, 700),
    "old.motor": _MOTOR,
    "new.drive": _WHERE,
    "new.drive_gear": _GEARS,
    "new.feed_per_turn": _number(3, 35, "mm"),
    "new.microsteps": st.sampled_from(["8", "16", "32"]),
    "new.tube": _tube(20, 700),
    "new.motor": _MOTOR,
    "new.driver": _DRIVER,
    "new.mount": {"material": st.sampled_from(["PLA", "ABS", "PETG"])},
    "filament": {"material": st.sampled_from(["PLA", "ABS", "PETG", "TPU"])},
    "surroundings": {"air": _number(15, 65, "degC")},
    "carriage": {"old_mass": _number(150, 600, "g"), "new_mass": _number(150, 600, "g")},
    "carriage.nozzle_shift": {"x": _number(-8, 8, "mm"), "y": _number(-8, 8, "mm")},
    "clearance": {"highest_z": _number(120, 400, "mm"), "keep_clear": _number(0, 6, "mm")},
}


@st.composite
def sheets(draw: st.DrawFn) -> str:
    """The text of a swap sheet with some of the fields, and within a group some of its parts."""
    tree: dict[str, object] = {}
    for path, part in _FIELDS.items():
        if not draw(st.integers(0, 3)):
            continue
        *above, last = path.split(".")
        place = tree
        for step in above:
            place = place.setdefault(step, {})  # type: ignore[assignment]
        if isinstance(part, dict):
            chosen = {name: draw(value) for name, value in part.items() if draw(st.integers(0, 5))}
            if chosen:
                place.setdefault(last, {}).update(chosen)  # type: ignore[attr-defined]
        else:
            place[last] = draw(part)
    return _yaml({"machine": "Whimbrel", **{name: value for name, value in tree.items() if value}})


def _yaml(tree: dict[str, object], depth: int = 0) -> str:
    lines = ""
    for name, value in tree.items():
        lines += "  " * depth + f"{name}:"
        lines += f"\n{_yaml(value, depth + 1)}" if isinstance(value, dict) else f' "{value}"\n'
    return lines


# --- the laws --------------------------------------------------------------------------------------------


def holds_law_3(folder: Path, found: api.Prepared) -> None:
    """The files as they will be, read by themselves, differ in the planned quantities and in no other."""
    before = everything_read(api.read_machine([folder])[1])
    later = folder.parent / "later"
    shutil.rmtree(later, ignore_errors=True)
    for path, data in found.after.items():
        (later / path).parent.mkdir(parents=True, exist_ok=True)
        (later / path).write_bytes(data)
    read = api.read_machine([later])[1]
    after = everything_read(read)
    assert list(after) == list(before)
    differing = {name for name in before if before[name] != after[name]}
    assert differing == {_whole(change.quantity) for change in found.plan.changes}
    held = {(reading.quantity, str(reading.holder)): reading for reading in read.readings}
    for change in found.plan.changes:
        if change.new.value is not None and change.quantity == _whole(change.quantity):
            reading = held.get((change.quantity, change.holder))
            assert reading is not None and reading.value == pytest.approx(change.new.value, rel=1e-9)


def _whole(name: str) -> str:
    """The quantity that a change is part of: a move's height (`script.end.z`) is part of its script."""
    return ".".join(name.split(".")[:2]) if name.startswith("script.") else name


def holds_law_5(found: api.Prepared) -> None:
    """No edit writes what stood there, in the same or in other spelling."""
    for change in found.plan.changes:
        for edit in change.edits:
            assert edit.old != edit.new
            with_numbers = _as_number(edit.old), _as_number(edit.new)
            assert None in with_numbers or with_numbers[0] != with_numbers[1]


def _as_number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def holds_law_6(found: api.Prepared) -> None:
    """Every doubt says where, what and why; everything left alone says why; every value says how."""
    for doubt in found.plan.doubts:
        assert doubt.place.file
        assert doubt.why
        assert doubt.place.line
    for left in found.plan.left_alone:
        assert left.why
    for change in found.plan.changes:
        assert change.derivation.formula
        assert change.derivation.source
        assert all(used.origin for used in change.derivation.inputs)
        assert change.verify


def holds_law_7(found: api.Prepared) -> None:
    """No protected quantity moves, and no byte of a protected setting."""
    assert not [change for change in found.plan.changes if quantity(_whole(change.quantity)).protected]


def only_spans_differ(found: api.Prepared) -> None:
    """Taken out of both versions, the edited values leave the same bytes."""
    for path, before in found.before.items():
        edits = sorted(
            (edit for change in found.plan.changes for edit in change.edits if edit.file == path),
            key=lambda edit: edit.start,
        )
        rest, reached = b"", 0
        rest_after, moved = b"", 0
        for edit in edits:
            rest += before[reached : edit.start] + b"\0"
            rest_after += found.after[path][reached + moved : edit.start + moved] + b"\0"
            reached = edit.end
            moved += len(edit.new.encode()) - (edit.end - edit.start)
        assert rest + before[reached:] == rest_after + found.after[path][reached + moved :]


@pytest.mark.parametrize("machine", MACHINES)
def test_the_machines_own_sheet_keeps_the_laws(machine_files: Path, machine: str) -> None:
    found = api.work_out([machine_files], sheet_of(machine))
    assert found.plan.changes
    only_spans_differ(found)
    holds_law_3(machine_files, found)
    holds_law_5(found)
    holds_law_6(found)
    holds_law_7(found)


@pytest.mark.exhaustive
@pytest.mark.parametrize("machine", MACHINES)
@FEWER
@given(text=sheets())
def test_any_sheet_keeps_the_laws(machine_files: Path, machine: str, text: str) -> None:
    sheet = machine_files.parent / "any.yaml"
    sheet.write_text(text, encoding="utf-8")
    before = contents(machine_files)
    try:
        found = api.work_out([machine_files], sheet)
    except BadInput as error:
        # the reader may refuse a sheet whose numbers contradict each other; then it says where
        assert error.place is not None and error.place.line
        return
    only_spans_differ(found)
    holds_law_3(machine_files, found)
    holds_law_5(found)
    holds_law_6(found)
    holds_law_7(found)
    assert contents(machine_files) == before


@pytest.mark.parametrize("machine", MACHINES)
def test_prepare_install_revert_gives_the_original_bytes(machine_files: Path, machine: str) -> None:
    before = contents(machine_files)
    packet = api.prepare([machine_files], sheet_of(machine), out=machine_files.parent / "packet")
    assert contents(machine_files) == before
    assert api.verify(packet.folder) == ()
    api.install(packet.folder)
    assert contents(machine_files) == {**before, **packet.after}
    assert contents(machine_files) != before
    api.revert(packet.folder)
    assert contents(machine_files) == before


@pytest.mark.exhaustive
@pytest.mark.parametrize("machine", MACHINES)
@FEWER
@given(text=sheets())
def test_the_way_back_holds_for_any_sheet(
    tmp_path_factory: pytest.TempPathFactory, machine: str, text: str
) -> None:
    place = tmp_path_factory.mktemp("any")
    shutil.copytree(SAMPLES / machine, place / "configuration")
    (place / "any.yaml").write_text(text, encoding="utf-8")
    before = contents(place / "configuration")
    try:
        packet = api.prepare([place / "configuration"], place / "any.yaml", out=place / "packet")
    except BadInput as error:
        assert error.place is not None and error.place.line
        assert not (place / "packet").exists()
        return
    assert api.verify(packet.folder) == ()
    unknown = [light.name for light in packet.plan.lights if light.state == UNKNOWN]
    api.install(packet.folder, accept_unknown=unknown)
    assert contents(place / "configuration") == {**before, **packet.after}
    if packet.plan.changes:
        api.revert(packet.folder)
    assert contents(place / "configuration") == before


@pytest.mark.parametrize("machine", MACHINES)
def test_prepare_on_its_own_result_changes_nothing(machine_files: Path, machine: str) -> None:
    packet = api.prepare([machine_files], sheet_of(machine), out=machine_files.parent / "packet")
    api.install(packet.folder)
    again = api.work_out([machine_files], sheet_of(machine))
    assert again.plan.changes == ()
    assert again.after == again.before


@pytest.mark.parametrize("machine", MACHINES)
def test_a_sheet_that_says_nothing_changes_nothing(machine_files: Path, machine: str) -> None:
    sheet = machine_files.parent / "empty.yaml"
    sheet.write_text(f"machine: {machine}\n", encoding="utf-8")
    found = api.work_out([machine_files], sheet)
    assert found.plan.changes == ()
    assert found.plan.by_hand == ()
    assert found.after == found.before
    assert found.plan.left_alone


@pytest.mark.parametrize("machine", HEATED)
def test_no_rule_of_the_users_own_writes_a_protected_quantity(machine_files: Path, machine: str) -> None:
    protected = [
        reading.quantity
        for reading in api.read_machine([machine_files])[1].readings
        if reading.value is not None and reading.quantity.startswith("heater.")
    ]
    assert protected
    rules = machine_files.parent / "rules"
    rules.mkdir()
    (rules / f"{protected[0]}.yaml").write_text(
        f"sets: {protected[0]}\n"
        "says: hotter is faster\n"
        "ways:\n"
        "  - way: higher\n"
        f"    needs: [was.{protected[0]}]\n"
        f"    formula: 2 * was.{protected[0]}\n"
        "    status: computed\n"
        "    source: from memory\n"
        "verify: wait and see\n"
        "cautions: [hot]\n",
        encoding="utf-8",
    )
    try:
        found = api.work_out([machine_files], sheet_of(machine), rules=rules)
    except CfgError as error:
        assert "protected" in str(error)
    else:
        holds_law_7(found)
        assert protected[0] in {left.quantity for left in found.plan.left_alone}


@pytest.mark.parametrize("machine", HEATED)
def test_no_names_file_makes_a_protected_setting_writable(machine_files: Path, machine: str) -> None:
    read = api.read_machine([machine_files])[1]
    heater = next(reading for reading in read.readings if reading.quantity == "heater.hotend.max_temperature")
    names = machine_files.parent / "names.yaml"
    names.write_text(f'"{heater.setting.name}": axis.z.max\n', encoding="utf-8")
    try:
        found = api.work_out([machine_files], sheet_of(machine), names=names)
    except CfgError as error:
        assert error.place is not None
    else:
        edits = [edit for change in found.plan.changes for edit in change.edits]
        assert (heater.place.file, heater.place.line) not in {(edit.file, edit.line) for edit in edits}


@pytest.mark.parametrize("machine", MACHINES)
def test_a_packet_stands_alone(machine_files: Path, machine: str) -> None:
    before = contents(machine_files)
    made = api.prepare([machine_files], sheet_of(machine), out=machine_files.parent / "packet")
    api.install(made.folder)
    # another place, another folder for the configuration, no sheet anywhere near
    elsewhere = machine_files.parent / "elsewhere"
    shutil.move(machine_files, elsewhere / "files")
    shutil.move(made.folder, elsewhere / "packet")
    assert api.verify(elsewhere / "packet") == ()
    api.revert(elsewhere / "packet", root=elsewhere / "files")
    assert contents(elsewhere / "files") == before


@pytest.mark.parametrize("machine", SMALLEST_FIRST[::2])
def test_one_changed_byte_in_any_file_of_a_packet_is_named(machine_files: Path, machine: str) -> None:
    packet = api.prepare([machine_files], sheet_of(machine), out=machine_files.parent / "packet").folder
    for path in sorted(path for path in packet.rglob("*") if path.is_file()):
        data = path.read_bytes()
        path.write_bytes(data[:-2] + bytes([data[-2] ^ 1]) + data[-1:])
        assert any(path.name in fault for fault in api.verify(packet)), path
        with pytest.raises(Refused, match=path.name):
            api.install(packet)
        path.write_bytes(data)
    assert api.verify(packet) == ()


def test_changes_json_has_the_fields_that_others_rely_on(tmp_path: Path) -> None:
    """Formats 1 and 2: fields may be added, none renamed or taken away."""
    folder = tmp_path / "configuration"
    shutil.copytree(SAMPLES / "dunlin", folder)
    packet = api.prepare([folder], sheet_of("dunlin"), out=tmp_path / "packet").folder
    found = json.loads((packet / "changes.json").read_text(encoding="utf-8"))
    assert found["format"] == 2
    assert found["inputs"]["program"].keys() == {"version", "knowledge"}
    assert all({"role", "includes"} <= set(file) for file in found["inputs"]["files"])
    assert "lights" in found and "left_out" in found["inputs"]
    for kind, name in (("changes", "quantity"), ("by_hand", "what"), ("findings", "rule")):
        assert all((one["id"], one["holder"]) == (one[name], "machine") for one in found[kind])
        assert all(isinstance(one["cause"], list) for one in found[kind])
    assert all({"cautions", "verify"} <= set(one) for one in found["findings"])
    assert {"inputs", "changes", "by_hand", "left_alone", "doubts", "hash"} <= set(found)
    assert {"path", "sha256", "dialect"} <= set(found["inputs"]["files"][0])
    assert {"path", "sha256"} <= set(found["inputs"]["sheet"])
    assert "sha256" in found["inputs"]["rules"]
    for change in found["changes"]:
        assert {"quantity", "label", "unit", "status", "way", "old", "new", "derivation"} <= set(change)
        assert {"rounding", "cross_checks", "cautions", "verify", "edits"} <= set(change)
        assert {"value", "text", "file", "line"} <= set(change["old"])
        assert {"value", "uncertainty", "text"} <= set(change["new"])
        assert {"formula", "substituted", "inputs", "source"} <= set(change["derivation"])
        for used in change["derivation"]["inputs"]:
            assert {"name", "value", "unit", "uncertainty", "origin"} <= set(used)
        for edit in change["edits"]:
            assert {"file", "line", "column", "old", "new"} <= set(edit)
    assert found["by_hand"]
    for item in found["by_hand"]:
        assert {"what", "value", "unit", "why", "derivation"} <= set(item)
