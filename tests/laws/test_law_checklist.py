"""Every checklist is in the order in which nothing breaks: no check comes after what it protects.

Each law is a pair of lines that a person reads: the first must stand before the second wherever both stand. They are
looked for in the checklists of every sample, and of swaps that are made to need the rarer lines: a lower nozzle on a
switch, a probe that would act too late, the way back, another motor alone, another hot end.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects.grammar import data_folder

SAMPLES = data_folder("sample_configs")
MACHINES = sorted(path.stem for path in (SAMPLES / "sheets").glob("*.yaml"))

#: before, after; by what stands in the line, whatever else it says
BEFORE = [
    ("Print a spare of each printed part", "take the old drive off"),
    ("Photograph the old drive", "take the old drive off"),
    ("Photograph the drive, the motor's wires", "take off what is replaced"),
    ("calipers from a surface of the carriage", "take the old drive off"),
    ("pull the plug", "take the old drive off"),
    ("two coils and compare", "plug the motor in with the machine still unplugged"),
    ("put the new drive on", "see that the new motor is not connected"),
    ("Only now connect the new motor", "which way the drive turns"),
    ("mesh with a little play", "put the new drive on"),
    ("Cut the guide tube a little long", "put the new drive on"),
    ("Stop here.", "Switch on. The machine shows"),
    ("Change the mount, the motor or its cooling", "take the old drive off"),
    ("Find out whether the nozzle's tip has moved", "take the old drive off"),
    ("nothing of the new drive touches the frame", "Switch on."),
    ("Set the z end stop for the new height", "Switch on."),
    ("Set the probe lower", "Switch on."),
    ("cfgmigrate install PACKET", "Switch on. The machine shows"),
    ("reference voltage", "which way the drive turns"),
    ("which way the drive turns", "load filament slowly"),
    ("which way the drive turns", "Home x and y only"),
    ("trip every end stop", "Home x and y only"),
    ("see that the probe acts", "Home x and y only"),
    ("fault protection still stops the heater", "heat it up"),
    ("tuning of the hot end's heater", "load filament slowly"),
    ("Level the bed again", "Stay beside the machine for the whole first print"),
    ("drive z up in steps", "Stay beside the machine for the whole first print"),
    ("move slowly to the new limit", "Stay beside the machine for the whole first print"),
    ("Run the script once", "Stay beside the machine for the whole first print"),
    ("feed 100 mm slowly", "Stay beside the machine for the whole first print"),
    ("the filament ends up where it should", "Stay beside the machine for the whole first print"),
    ("marks that the teeth leave", "Stay beside the machine for the whole first print"),
    ("Home x and y only", "position of a mark on the bed"),
    ("position of a mark on the bed", "Home z, with"),
    ("look that the probe hangs over the bed", "Home z, with"),
    ("Home z, with", "drive the nozzle to the position that the machine names"),
    ("Home z, with", "drive z up in steps"),
    ("drive the nozzle to the position that the machine names", "move slowly to the new limit"),
    ("drive the nozzle to the position that the machine names", "measure the bed map again"),
    ("drive z up in steps", "measure the bed map again"),
    ("move slowly to the new limit", "measure the bed map again"),
    ("marks that the teeth leave", "feed 100 mm slowly"),
    ("feed 100 mm slowly", "the filament ends up where it should"),
    ("feed 100 mm slowly", "Run the script once, hot and loaded"),
    ("feed 100 mm slowly", "Load and unload filament once"),
    ("before the one that loads is tried", "Take the filament out first"),
    ("Settle the question", "prepare again and go on with the new packet"),
    ("prepare again and go on with the new packet", "take the old drive off"),
    ("put the new drive on", "Measure again on the new parts"),
    ("Measure again on the new parts", "cfgmigrate install PACKET"),
    ("Switch on. The machine shows", "ask the hot end for 60"),
    ("ask the hot end for 60", "which way the drive turns"),
    ("something soft under what could sink", "Stay beside the machine for the whole first print"),
    ("A slip of paper just drags under it", "Stay beside the machine for the whole first print"),
    ("Home z, with", "A slip of paper just drags under it"),
    ("Compare the new run current", "Switch on. The machine shows"),
    ("take the old drive off", "Weigh what came off the carriage"),
    ("Weigh what came off the carriage", "cfgmigrate install PACKET"),
    ("pull the plug", "Find out whether the nozzle's tip has moved"),
    ("Lay it out before you cut", "put the new drive on"),
    ("acceleration and corner speed stand at two thirds", "Switch on. The machine shows"),
    ("Move the gear of the old motor's shaft", "put the new parts on"),
    ("Read the checks of this part first", "the filament ends up where it should"),
]  # fmt: skip

#: sheets that need the rarer lines, by what they are about; of Siskin's files
RARER = {
    "a lower nozzle on a switch": "new: {mount: {material: ABS}}\ncarriage: {hot_end_changed: yes, fan_shroud_changed: yes, z_stop: switch below, nozzle_shift: {x: 0 mm, y: 0 mm, z: -2.5 mm}}\n",
    "a probe that would act too late": "carriage: {hot_end_changed: yes, nozzle_shift: {x: 0 mm, y: 0 mm, z: -1.0 mm}, probe_shift: {z: 0 mm}}\n",
    "a probe that still acts first": "carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: 1.0 mm}, probe_shift: {z: 0 mm}, probe_room: 1.5 mm}\n",
    "a probe that may hang lower than the tip": "carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: 1.0 mm}, probe_shift: {z: 0 mm}}\n",
    "another hot end, not measured": "carriage: {hot_end_changed: yes}\n",
    "another motor alone": "new: {motor: {rated_current: 1 A, recommended_current: 0.4 A, step_angle: 0.9 deg}, microsteps: 16}\n",
    "a screw": "new: {motor: {rated_current: 1 A, recommended_current: 0.4 A}, driver: {part: A4988, set_by: screw, sense_resistor: 0.11 ohm}}\n",
    "a mount that gives way": "new: {drive: on the carriage, motor: {rated_current: 1.5 A, winding_resistance: 2.4 ohm}, mount: {material: PLA}}\nsurroundings: {air: 50 degC}\n",
    "a screw, not known": "new: {motor: {rated_current: 1 A}, driver: {set_by: screw}}\n",
    "a lower nozzle, and nobody says what stops z": "carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: -1.0 mm}}\n",
    "flexible filament": "old: {drive: tube-fed, tube: {length: 330 mm}}\nnew: {drive: on the carriage, tube: {length: 40 mm}}\nfilament: {material: TPU}\n",
}  # fmt: skip


def checklist_of(folder: Path, name: str) -> str:
    if name in RARER:
        sheet = folder / "sheet.yaml"
        sheet.write_text(RARER[name])
        api.prepare([SAMPLES / "siskin"], sheet, out=folder / "packet")
    else:
        api.prepare([SAMPLES / name], SAMPLES / "sheets" / f"{name}.yaml", out=folder / "packet")
    return (folder / "packet" / "checklist.md").read_text(encoding="utf-8").split("## 1.", 1)[1]


@pytest.fixture(scope="module")
def checklists(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    return {name: checklist_of(tmp_path_factory.mktemp("day"), name) for name in (*MACHINES, *RARER)}


@pytest.mark.parametrize("name", [*MACHINES, *RARER])
def test_no_check_comes_after_what_it_protects(checklists: dict[str, str], name: str) -> None:
    lines = [line for line in checklists[name].splitlines() if line.strip()]
    for first, then in BEFORE:
        early = [number for number, line in enumerate(lines) if first in line]
        late = [number for number, line in enumerate(lines) if then in line]
        if early and late:
            assert early[0] < late[0], f"{first!r} stands after {then!r}"


def test_every_one_of_these_pairs_is_met_with_somewhere(checklists: dict[str, str]) -> None:
    """A pair of which a line is never written tests nothing."""
    unmet = [
        pair for pair in BEFORE if not any(all(line in text for line in pair) for text in checklists.values())
    ]
    assert not unmet


@pytest.mark.parametrize("name", [*MACHINES, *RARER])
def test_nothing_is_checked_before_it_can_be(checklists: dict[str, str], name: str) -> None:
    """What needs power stands behind the switching on, what needs a homed machine behind the homing, what needs a hot
    nozzle behind the heating."""
    lines = checklists[name].splitlines()
    on, homed, hot = (
        next(number for number, line in enumerate(lines) if said in line)
        for said in ("Switch on. The machine shows", "Home z, with a hand", "heat it up")
    )
    for number, line in enumerate(lines):
        found = re.match(r"(- \[ \] [CH]\d+(?:, [CH]\d+)*\. Check |    - Check: )(.*)", line)
        if found is None or "Prepare again" in line or number > hot:
            continue
        assert number > on or not re.search(
            r"printing temperature|\bdisplay\b|shows the temperature", found[2]
        ), line
        assert number > homed or not re.match(r".*: Home, |Home, ", found[2]), line
        assert not re.search(r"an hour of printing|print a |Print a ", found[2]), line


@pytest.mark.parametrize("name", [*MACHINES, *RARER])
def test_no_checklist_says_both_touch_it_and_do_not(checklists: dict[str, str], name: str) -> None:
    assert not re.search(r"a finger can stay|feel the motor|feel how hot", checklists[name])


def test_a_probe_that_would_act_too_late_gets_no_offset(checklists: dict[str, str]) -> None:
    text = checklists["a probe that would act too late"]
    assert "Set the probe lower on the carriage" in text
    assert "Probe Z offset" not in text


def test_a_nozzle_that_sits_lower_is_told_before_the_machine_is_switched_on(
    checklists: dict[str, str],
) -> None:
    text = checklists["a lower nozzle on a switch"]
    said = text.index("Set the z end stop for the new height of the nozzle")
    assert "2.5 mm" in text[said : said + 200] and said < text.index("Switch on. The machine shows")
    assert "drive the nozzle into the bed" in text


@pytest.mark.parametrize(
    ("name", "step"),
    [
        ("a probe that would act too late", "Set the probe lower on the carriage"),
        ("a mount that gives way", "Change the mount, the motor or its cooling"),
        ("a screw, not known", "Find out what to set the motor's driver to"),
        ("a lower nozzle, and nobody says what stops z", "whether the probe or a switch stops z"),
    ],
)
def test_where_the_day_cannot_go_on_the_checklist_says_stop(
    checklists: dict[str, str], name: str, step: str
) -> None:
    lines = checklists[name].splitlines()
    told = next(number for number, line in enumerate(lines) if step in line)
    behind = [line for line in lines[told + 1 :] if line.startswith("- [ ]")]
    assert behind[0].startswith("- [ ] **Stop here.** Settle ")


def test_a_machine_that_homes_z_with_its_probe_gets_no_switch_to_set(tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.yaml"
    sheet.write_text(
        "carriage: {z_stop: probe, nozzle_shift: {x: 0 mm, y: 0 mm, z: -0.4 mm}, probe_shift: {z: -0.4 mm}}\n"
    )
    packet = api.prepare([SAMPLES / "siskin"], sheet, out=tmp_path / "packet")
    rules = {item.rule for item in packet.plan.by_hand}
    assert not {"protected.end_stop_z", "protected.z_stop"} & rules


@pytest.mark.parametrize("name", [*MACHINES, *RARER])
def test_no_step_is_told_in_full_twice(checklists: dict[str, str], name: str) -> None:
    """A check that comes later than its step names the step by its label."""
    steps = re.findall(r"- \[ \] (H\d+)\. \*\*(.*?)\*\*", checklists[name])
    for number, title in steps:
        later = f"- [ ] {number}. Check **{title.removesuffix('.')}**"
        assert later not in checklists[name] or len(title) < 40


def test_an_old_voltage_is_read_and_turned_down_before_the_new_motor_gets_current(
    checklists: dict[str, str],
) -> None:
    text = checklists["a screw"]
    said = text.index("write it on the bag of the old parts")
    assert (
        text.index("## 2.") < said < text.index("turn it down to less") < text.index("pull the plug. Motors")
    )
    assert "switch on again" in text[text.index("now ........ V") :]
    assert not any(re.search("old voltage", text) for text in checklists.values())


def test_a_question_is_told_how_to_answer_yes_and_no_where_a_name_answers_it(
    checklists: dict[str, str],
) -> None:
    for text in checklists.values():
        by_name = re.search(r"- \[ \] D\d+\..*(?:names file|cfgmigrate\.yaml)", text)
        assert bool(by_name) == ("no is the same name with `ignore`" in text)
        assert ("prepare again and go on with the new packet" in text) == ("Settle the question" in text)


def test_nobody_turns_motors_fast_or_lets_a_hot_nozzle_idle_with_filament(checklists: dict[str, str]) -> None:
    for text in checklists.values():
        assert "Move the carriage by hand" in text and "slowly: a motor that is turned" in text
        assert "hot and idle" not in text


def test_what_is_done_at_each_of_two_drives_says_so(checklists: dict[str, str]) -> None:
    """Both of Bittern's drives go onto the carriage."""
    lines = checklists["bittern"].splitlines()
    for step in (
        "mesh with a little play",
        "two coils and compare",
        "which way the drive turns",
        "marks that the teeth",
    ):
        (line,) = [line for line in lines if step in line and line.startswith("- [ ] H")]
        assert "(For each of: feeder 1, feeder 2.)" in line
    assert not any("(For each of: feeder" in line for line in checklists["wren"].splitlines())


def test_a_drive_that_leaves_the_carriage_has_the_texts_of_that_way(checklists: dict[str, str]) -> None:
    away, onto = checklists["plover"], checklists["wren"]
    for there, elsewhere in (
        ("Cut the tube so long that it reaches", "Cut the guide tube a little long"),
        ("Lay the motor's wires to its new place", "Make the motor's wires long enough for every corner"),
    ):
        assert there in away and elsewhere not in away
        assert elsewhere in onto and there not in onto
    assert "from the roll to the drive" in onto and "from the roll" not in away
