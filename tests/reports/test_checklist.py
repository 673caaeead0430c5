"""The checklist holds the day's order of work with the machine's own values, safe things first."""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

import cfgmigrate
from cfgmigrate import api
from cfgmigrate.dialects import DIALECTS
from cfgmigrate.knowledge.day import day_order, place_in_day
from cfgmigrate.machine.quantities import known
from cfgmigrate.plan.model import Light, Plan
from cfgmigrate.reports import in_force
from cfgmigrate.reports.checklist import render_checklist
from cfgmigrate.rules import library
from cfgmigrate.rules.rule import MOMENTS

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"

ORDER = [
    "Before you start",
    "Power off and cool",
    "The new drive goes on",
    "Settings made by hand",
    "Put the new values in",
    "First power-on",
    "First moves",
    "First loading",
    "First prints",
    "Tuning",
    "If it has to go back",
]


def part(text: str, title: str) -> str:
    """The text of one part of the day."""
    return re.split(r"^## ", text.split(title, 1)[1], maxsplit=1, flags=re.MULTILINE)[0]


def test_the_day_goes_from_power_off_to_tuning(wren: SimpleNamespace) -> None:
    text = render_checklist(wren.plan)
    places = [text.index(title) for title in ORDER]
    assert places == sorted(places)


def test_every_written_value_stands_in_the_list_with_its_place(wren: SimpleNamespace) -> None:
    install = part(render_checklist(wren.plan), "Put the new values in")
    for change in wren.plan.changes:
        for edit in change.edits:
            (row,) = [line for line in install.split("\n") if f"`{edit.file}:{edit.line}`" in line]
            assert f"`{edit.old}`" in row
            assert f"`{edit.new}`" in row


def test_it_is_said_once_that_comments_beside_new_values_stay_as_they_are(wren: SimpleNamespace) -> None:
    text = render_checklist(wren.plan)
    assert text.count("Comments stay as they are") == 1
    assert "Comments stay as they are" in part(text, "Put the new values in")


def test_each_check_stands_in_the_part_of_the_day_that_its_rule_names(wren: SimpleNamespace) -> None:
    """A packet of an older version names none: an estimate is tuned, and the rest is checked before anything is loaded."""
    text = render_checklist(wren.plan)
    for change in wren.plan.changes:
        here = "Tuning" if change.status.value == "estimate" else "First moves"
        assert change.verify in part(text, here)
        assert text.count(change.verify) == 1
    for when, title in (
        ("power off", "Settings made by hand"),
        ("first loading", "First loading"),
        ("first print", "First prints"),
    ):
        changes = tuple(replace(change, check_at=when) for change in wren.plan.changes)
        text = render_checklist(replace(wren.plan, changes=changes))
        for change in changes:
            assert change.verify in part(text, title)


def test_what_is_checked_later_than_it_is_done_stands_in_both_parts(wren: SimpleNamespace) -> None:
    item = replace(
        wren.plan.by_hand[0],
        what="Write the end stop",
        verify="Home and look",
        when="after install",
        check_at="first move",
    )
    text = render_checklist(replace(wren.plan, by_hand=(item,)))
    assert "Write the end stop" in part(text, "Put the new values in")
    assert "Home and look" not in part(text, "Put the new values in")
    assert "Home and look" in part(text, "First moves")


def test_a_screw_is_set_before_anything_moves_step_by_step_and_its_cautions_stand_with_it(
    wren: SimpleNamespace,
) -> None:
    text = render_checklist(wren.plan)
    hands = part(text, "First power-on")
    assert "Nothing here without power" in part(text, "Settings made by hand")
    said = [
        "0.5091 V",
        "    1. Pull the plug",
        "    2. Plug in, read",
        "slip of the probe",
        "which way the feeder",
    ]
    places = [hands.index(one) for one in said]
    assert places == sorted(places)
    assert text.index("which way the feeder") < text.index("Home x and y only")


def test_the_direction_is_tested_once_with_no_filament_in_the_drive(wren: SimpleNamespace) -> None:
    by_rule = part(render_checklist(wren.plan), "First power-on")
    in_general = part(render_checklist(replace(wren.plan, by_hand=())), "First power-on")
    for text in (by_rule, in_general):
        assert len(re.findall("no filament in the drive", text)) == 1
        assert "don't swap wires under power" in text


def test_the_cautions_of_wiring_are_always_there(empty: Plan) -> None:
    assert "never unplug a motor under power" in render_checklist(empty)


def test_what_is_written_by_hand_into_the_files_comes_after_the_install(wren: SimpleNamespace) -> None:
    """An install is refused where a file is no longer what was read, so hands must not be first."""
    item = replace(wren.plan.by_hand[0], what="Set the end stop in your files", when="after install")
    text = part(render_checklist(replace(wren.plan, by_hand=(item,))), "Put the new values in")
    assert text.index("`cfgmigrate install PACKET`") < text.index("Set the end stop in your files")


@pytest.mark.parametrize(
    ("dialect", "said"),
    [
        ("header", "build the controller's program"),
        ("command", "send it the changed lines"),
        ("flat", "Restart the controller"),
    ],
)
def test_how_the_values_get_into_the_machine_goes_by_the_kind_of_the_files(
    dialect: str, said: str, wren: SimpleNamespace
) -> None:
    files = tuple(replace(file, dialect=dialect) for file in wren.plan.files)
    text = part(render_checklist(replace(wren.plan, files=files)), "Put the new values in")
    every = ("build the controller's program", "send it the changed lines", "Restart the controller")
    assert [one for one in every if one in text] == [said]


def test_a_long_instruction_has_its_first_sentence_as_title(wren: SimpleNamespace) -> None:
    text = render_checklist(wren.plan)
    assert (
        "**Test which way the feeder turns.** Turn its direction round in the file if it is wrong.\n" in text
    )


@pytest.mark.parametrize("when", [*MOMENTS, "some other time", ""])
def test_no_by_hand_item_is_lost_whenever_it_is_to_be_done(when: str, wren: SimpleNamespace) -> None:
    item = replace(wren.plan.by_hand[0], what="Turn the little wheel", when=when)
    text = render_checklist(replace(wren.plan, by_hand=(item,)))
    assert text.count("Turn the little wheel") == 1


def test_every_moment_of_the_rule_book_has_its_part_of_the_day() -> None:
    moments = {rule.moment for rule in library.book().rules if rule.by_hand}
    assert moments <= set(MOMENTS)


def test_what_could_damage_the_machine_stands_before_the_first_step(wren: SimpleNamespace) -> None:
    text = render_checklist(wren.plan)
    assert text.index("softens from 55") < text.index("## 1.")


def test_every_step_has_a_box_to_tick(wren: SimpleNamespace) -> None:
    body = render_checklist(wren.plan).split("## 1.", 1)[1]
    steps = [line for line in body.split("\n") if line.startswith("- ")]
    assert len(steps) > 25
    assert all(line.startswith("- [ ] ") for line in steps)


def test_a_plan_without_changes_has_no_empty_parts(empty: Plan) -> None:
    text = render_checklist(empty)
    assert "no screw has to be turned" in text
    assert "nothing to tune" in text
    open_light = Light("current", "machine", "unknown", "no line sets it")
    assert "no screw has to be turned" not in render_checklist(replace(empty, lights=(open_light,)))


def test_the_way_into_force_ends_with_a_comparison_for_every_kind_of_file(wren: SimpleNamespace) -> None:
    """Boards keep settings of their own and prefer them: send, store, read back, compare."""
    for dialect in DIALECTS:
        files = tuple(replace(file, dialect=dialect) for file in wren.plan.files)
        steps = in_force.steps(replace(wren.plan, files=files))
        text = " ".join(steps)
        places = [text.index(word) for word in (" send", "store them", "ask it for the settings", "compare")]
        assert places == sorted(places), dialect
        assert ("build the controller's program" in text) == (dialect == "header")
        for kind in ("install", "tune"):
            whole = render_checklist(replace(wren.plan, files=files, kind=kind))
            assert all(step.partition("`")[0] in whole for step in steps)
    assert in_force.steps(replace(wren.plan, changes=())) == []


def test_a_file_of_saved_values_is_what_the_machine_is_compared_with(wren: SimpleNamespace) -> None:
    files = (replace(wren.plan.files[0], role="saved values"), *wren.plan.files[1:])
    text = " ".join(in_force.steps(replace(wren.plan, files=files)))
    assert f"cfgmigrate compare {files[0].path} DUMP" in text


def test_a_script_s_moves_are_put_where_it_runs_and_nothing_is_compared_with_it(
    wren: SimpleNamespace,
) -> None:
    """A script in a file of its own sets nothing by being sent, and no machine tells it among its settings."""
    script = replace(wren.plan.files[0], path="stand.nc", dialect="command")
    settings = next(change for change in wren.plan.changes if not change.quantity.startswith("script."))
    edit = replace(settings.edits[0], file="stand.nc")
    moves = replace(settings, quantity="script.park.x", edits=(edit,))
    both = replace(wren.plan, files=(script, *wren.plan.files), changes=(*wren.plan.changes, moves))
    text = " ".join(in_force.steps(both))
    assert "put it there" in text and "(stand.nc)" in text
    assert "compare stand.nc" not in text and in_force.SENT not in text
    (only,) = in_force.steps(replace(both, changes=(moves,)))
    assert only == in_force.SCRIPTS.format(files="stand.nc")


def test_an_unknown_light_is_the_first_thing_to_settle(wren: SimpleNamespace) -> None:
    light = Light("current", "feeder 2", "unknown", "no file sets it", ("tell me the rated current",))
    before = part(render_checklist(replace(wren.plan, lights=(light,))), "Before you start")
    line = next(line for line in before.splitlines() if "feeder 2" in line)
    assert "current" in line and before.index(line) < before.index("A second person")


def test_a_step_that_several_holders_have_alike_is_one_step_that_names_them(wren: SimpleNamespace) -> None:
    """Four filaments, one step: a person measures the lag of each, and reads once how."""
    first = replace(
        wren.plan.by_hand[0], what="Measure the lag", value=None, text="", verify="Print it again"
    )
    holders = ("machine", "filament pla", "filament petg")
    items = tuple(replace(first, holder=holder) for holder in holders)
    other = replace(first, holder="filament tpu", what="Measure the lag of a soft one")
    text = render_checklist(replace(wren.plan, by_hand=(*items, other)))
    assert text.count("**Measure the lag.**") == 1 and text.count("**Measure the lag of a soft one.**") == 1
    (line,) = [line for line in text.splitlines() if "**Measure the lag.**" in line]
    assert (
        line.startswith("- [ ] H1, H2, H3. ")
        and "(For each of: machine, filament pla, filament petg.)" in line
    )


@pytest.fixture(scope="module")
def samples() -> dict[str, str]:
    """The checklist of each sample, by its name."""
    sheets = sorted((SAMPLES / "sheets").glob("*.yaml"))
    return {sheet.stem: render_checklist(api.work_out(SAMPLES / sheet.stem, sheet).plan) for sheet in sheets}


def test_where_the_current_comes_down_the_new_motor_is_plugged_in_once_the_board_has_it(
    samples: dict[str, str],
) -> None:
    """Wren's goes from 0.68 A to 0.4 A."""
    assert "Leave the new motor's plug out" in part(samples["wren"], "## 3. The new drive goes on")
    installed = part(samples["wren"], "## 5. Put the new values in")
    (number,) = re.findall(r"Only now plug the new motor in: the board has its current \((C\d+)\)", installed)
    assert f"{number}. Check **Feeder run current**" in samples["wren"]


def test_where_a_screw_sets_the_current_the_new_motor_is_plugged_in_once_it_is_set(
    samples: dict[str, str],
) -> None:
    """Dunlin's screw stands for the old motor: plug out, power, screw, no power, plug in."""
    text = samples["dunlin"]
    (number,) = re.findall(r"(H\d+)\. \*\*Set the reference voltage", text)
    assert f"out until the driver's screw is set ({number} in part 6)" in part(text, "## 3. The new drive")
    assert "plug the motor in" not in text and "plug the new motor in" not in text.lower()
    first = part(text, "## 6. First power-on")
    assert first.index("Set the reference voltage") < first.index("see that the new motor is not connected")
    assert first.index("see that the new motor is not connected") < first.index(
        "Only now connect the new motor"
    )
    assert first.index("Only now connect the new motor") < first.index("which way the drive turns")


def test_without_a_screw_the_motor_goes_in_with_the_new_drive(samples: dict[str, str]) -> None:
    plugged = [name for name, text in samples.items() if "plug the motor in with the machine still" in text]
    assert plugged and all("Set the reference voltage" not in samples[name] for name in plugged)


def test_where_one_of_two_currents_comes_down_it_is_said_whose_plug_stays_out() -> None:
    plan = api.work_out(SAMPLES / "bittern", SAMPLES / "sheets" / "bittern.yaml").plan
    both = render_checklist(plan)
    assert "Leave the new motor's plug out" in both
    kept = [
        each for each in plan.changes if (each.quantity, each.holder) != ("motor.run_current", "feeder 2")
    ]
    one = render_checklist(replace(plan, changes=tuple(kept)))
    assert (
        "Leave the plug of feeder 1's new motor out" in one and "new motor of feeder 1 in: the board" in one
    )
    assert "Plug the other one in with the machine still unplugged" in one


def test_who_reads_the_motor_s_heat_is_told_at_how_much_to_switch_off(samples: dict[str, str]) -> None:
    """ABS stands 72.8 ± 3 °C as a mount, and PLA, which is printed, softens from 55 to 60 °C at the gear on the motor's shaft."""
    assert (
        "Above 57 °C, from which the filament softens in its gears, switch off; its mount stands 72 °C."
        in part(samples["wren"], "## 9.")
    )


def test_a_script_that_feeds_is_not_run_before_there_is_filament(samples: dict[str, str]) -> None:
    """Dunlin's end script draws 6.2 mm of filament back."""
    assert "End script" not in part(samples["dunlin"], "## 7. First moves")
    assert "Run the script once, hot and loaded," in part(samples["dunlin"], "## 8. First loading")


def test_the_order_of_a_part_names_only_what_there_is() -> None:
    rules = {rule.name for rule in library.book().rules}
    for moment, names in day_order().items():
        assert moment in MOMENTS
        for name in names:
            there = rules | {name for name in [name] if known(name)}
            assert name.startswith("script.") or any(
                each.startswith(name) if name.endswith(".") else each == name for each in there
            ), name
    assert place_in_day("first move", "probe.offset_x") < place_in_day("first move", "mesh.to_x")
    assert place_in_day("first move", "mesh.to_x") < place_in_day("first move", "anything else")
    assert place_in_day("first move", "probe.x_unread") < place_in_day("first move", "work.level")
    assert (
        library.book().rule("protected.heater_tuning").moment != "first move"
    )  # it is hot, and the paper at z = 0 comes cold


@pytest.mark.parametrize("sample", ["wren", "dunlin"])
def test_what_is_tuned_comes_in_the_order_in_which_one_does_it(sample: str) -> None:
    samples = Path(api.__file__).parents[1] / "sample_configs"
    found = api.work_out([samples / sample], samples / "sheets" / f"{sample}.yaml")
    text = render_checklist(found.plan)
    part = text[text.index("## 10. Tuning") :]
    order = ("X resonance", "X maximum acceleration", "Lag coefficient", "Retraction length")
    places = [part.find(f"**{label}") for label in order]
    assert -1 not in places and places == sorted(places)


# --- one thing, one line -------------------------------------------------------------------------------------


def test_a_caution_of_several_things_stands_once_at_the_head_of_their_part(wren: SimpleNamespace) -> None:
    changes = tuple(
        replace(
            change, check_at="first loading", verify=f"Look at it, no. {number}", cautions=("It is hot.",)
        )
        for number, change in enumerate(wren.plan.changes)
    )
    text = render_checklist(replace(wren.plan, changes=changes))
    loading = part(text, "8. First loading")
    numbers = ", ".join(f"C{number}" for number in range(1, len(changes) + 1))
    assert f"**Caution** for {numbers}: It is hot." in loading
    assert text.count("It is hot.") == 1 and loading.index("It is hot.") < loading.index("- [ ]")


def test_a_caution_of_one_thing_stands_below_it(wren: SimpleNamespace) -> None:
    first, *others = (replace(change, check_at="first loading", cautions=()) for change in wren.plan.changes)
    changes = (replace(first, cautions=("Only this one is hot.",)), *others)
    assert "    - Caution: Only this one is hot." in render_checklist(replace(wren.plan, changes=changes))


def test_checks_in_the_same_words_are_one_check_with_every_value(wren: SimpleNamespace) -> None:
    alike = {"verify": "Go there slowly", "check_at": "first move", "cautions": (), "warnings": ()}
    one, two = (
        replace(change, quantity=f"axis.{axis}.max", **alike)
        for change, axis in zip(wren.plan.changes[:2], "xy", strict=True)
    )
    text = render_checklist(replace(wren.plan, changes=(one, two)))
    (line,) = [line for line in text.splitlines() if "Go there slowly" in line]
    assert line.startswith("- [ ] C1, C2. Check ") and line.count("**") == 4
    feeders = tuple(replace(one, holder=f"feeder {number}") for number in (1, 2))
    text = render_checklist(replace(wren.plan, changes=feeders))
    (line,) = [line for line in text.splitlines() if "Go there slowly" in line]
    assert line.count("**") == 2 and "(feeder 1: " in line and "; feeder 2: " in line


def test_values_that_are_tuned_in_the_same_words_are_one_line_with_where_each_begins(
    wren: SimpleNamespace,
) -> None:
    change = replace(wren.plan.changes[0], check_at="tuning", verify="Print a tower", cautions=())
    holders = ("machine", "filament pla", "filament petg")
    changes = tuple(replace(change, holder=holder) for holder in holders)
    text = part(render_checklist(replace(wren.plan, changes=changes)), "10. Tuning")
    assert text.count("Print a tower") == 1 and text.count("best: ____") == 3
    assert "filament petg: starts at" in text


def test_a_long_step_that_is_the_same_for_another_axis_is_pointed_to(wren: SimpleNamespace) -> None:
    long = "Both limits of {} move with the tip, by the same shift, and nothing else does. " * 2
    items = tuple(
        replace(wren.plan.by_hand[0], what=f"Set the {axis} end", steps=(long.format(axis, axis),))
        for axis in "xy"
    )
    text = render_checklist(replace(wren.plan, by_hand=items))
    assert text.count("Both limits of x") == 2 and "Both limits of y" not in text
    assert "As step 1 of H1, for y." in text


def test_each_step_at_the_machine_has_a_place_for_what_was_found(wren: SimpleNamespace) -> None:
    """Who has no computer writes it there: what is for the sheet behind the step, what is only seen behind its check."""
    by_hand = tuple(
        replace(item, what=f"{item.what} and write it in the sheet under clearance.highest_z")
        if number
        else item
        for number, item in enumerate(item for item in wren.plan.by_hand if item.verify)
    )
    lines = render_checklist(replace(wren.plan, by_hand=by_hand)).splitlines()
    for at, line in enumerate(lines):
        if re.match(r"- \[ \] H\d", line) and ("in the sheet" in line or ". Check " in line):
            assert line.endswith("found: ____")
        if line.startswith("    - Check: "):
            step = next(one for one in reversed(lines[:at]) if one.startswith("- [ ] "))
            assert line.endswith("found: ____") is ("in the sheet" not in step)


def test_a_value_is_told_at_the_machine_in_the_unit_that_its_line_has(tmp_path: Path) -> None:
    (tmp_path / "hen.conf").write_text(
        "[feeder]\nrun current a peak = 1.10\nlag ms = 540\nlag averaging ms = 40\n"
        "[machine]\ncorner speed mm/min = 540\nx max acceleration = 3000\n"
    )
    (tmp_path / "sheet.yaml").write_text(
        "machine_kind: moving head\nold: {drive: tube-fed, tube: {length: 400 mm, bore: 2 mm}}\n"
        "new: {drive: on the carriage, tube: {length: 30 mm, bore: 2 mm}, motor: {recommended_current: 0.5 A}}\n"
        "filament: {material: PLA, diameter: 1.75 mm}\ncarriage: {old_mass: 300 g, new_mass: 450 g}\n"
    )
    text = render_checklist(api.work_out([tmp_path / "hen.conf"], tmp_path / "sheet.yaml").plan)
    assert "Check **Feeder run current** (0.7 A peak)" in text
    assert "The corner speed of 540 mm/min stays" in text and "try about 360 mm/min" in text
    assert "The lag averaging of 40 ms stays" in text and "try 20 ms" in text
    assert re.search(r"\*\*Lag coefficient\*\* \(starts at [\d.]+ ms, try \d+ ms to", text)


def test_names_of_several_stand_in_a_row() -> None:
    from cfgmigrate.reports.checklist import _in_a_row

    assert _in_a_row(["feeder 1", "feeder 2", "feeder 3"]) == "feeder 1, feeder 2 and feeder 3"
    assert _in_a_row(["H2"]) == "H2" and _in_a_row([]) == ""


def test_a_motor_that_is_plugged_in_late_has_its_wire_looked_at_again(tmp_path: Path) -> None:
    """The wire hung loose when the carriage was moved to the corners the first time."""
    api.prepare([SAMPLES / "wren"], SAMPLES / "sheets" / "wren.yaml", out=tmp_path / "p")
    values = part((tmp_path / "p" / "checklist.md").read_text(encoding="utf-8"), "Put the new values in")
    assert values.index("Only now plug the new motor in") < values.index("to every corner once more")
