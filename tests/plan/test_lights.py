"""A light is never better than what was said: no missing field makes it so, and no value that nobody meant."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.ground.findings import Place
from cfgmigrate.knowledge.lights import Wanted, light_kinds
from cfgmigrate.plan.lights import BY_HAND, SET, UNAFFECTED, UNKNOWN, Case, Stand, lights
from cfgmigrate.plan.model import Light
from cfgmigrate.sheet.model import SheetEntry
from cfgmigrate.sheet.schema import sheet_schema
from cfgmigrate.workflow.prepare import work_out

KNOWN = light_kinds()
ASKED = [ask.field for ask in KNOWN.asks]
VALUES = [value for kind in KNOWN.kinds for value in kind.values]
BOTH = ("feeder", "machine")


def said(*paths: str, text: str = "") -> dict[str, SheetEntry]:
    """Fields as a person would say them: yes, or zero where it may be, else an example."""
    found = {}
    for path in paths:
        field = sheet_schema().fields[path]
        word = text or "yes" if field.kind == "truth" else ""
        value = None if word else 0.0 if field.negative and not text else 5.0
        found[path] = SheetEntry(path, text or word or "5", Place("s.yaml", 1, 1), value=value, word=word)
    return found


def kept(*quantities: str) -> dict[str, Stand]:
    return {name: Stand(False, "not known", text="23.4", where="feed.conf:3") for name in quantities}


def done(*quantities: str) -> dict[str, Stand]:
    return {name: Stand(True, "is written", f"{name}", "23.4", "feed.conf:3") for name in quantities}


def one(light: str, case: Case) -> Light:
    return next(each for each in lights([case]) if each.light == light)


def test_a_clearance_as_before_says_nothing_of_a_tip_that_sits_lower() -> None:
    as_before = said("clearance.as_before", "carriage.height_as_before", "carriage.nozzle_shift.z")
    lower = as_before | {
        "carriage.nozzle_shift.z": SheetEntry("", "-4 mm", Place("s.yaml", 1, 1), value=-4.0)
    }
    old = kept("axis.z.max")
    assert one("height", Case("machine", as_before, old, BOTH)).state == UNAFFECTED
    found = one("height", Case("machine", lower, old, BOTH))
    assert found.state == UNKNOWN and "stays 23.4 (feed.conf:3)" in found.why
    assert one("height", Case("machine", lower, done("axis.z.max"), BOTH)).state == SET


def test_a_clearance_as_before_alone_leaves_open_whether_the_tip_sits_lower() -> None:
    found = one("height", Case("machine", said("clearance.as_before"), kept("axis.z.max"), BOTH))
    assert found.state == UNKNOWN and any("nozzle's tip" in line for line in found.missing)


def test_steps_per_mm_without_the_step_angle_leave_no_feed_per_turn_old_in_silence() -> None:
    fields = said("new.drive_gear.gear_ratio", "new.steps_per_mm", "new.microsteps")
    feed = one("feed", Case("machine", fields, kept("feeder.feed_per_turn"), BOTH))
    assert feed.state == UNKNOWN and "stays 23.4 (feed.conf:3)" in feed.why
    (line,) = feed.missing
    assert "the motor's step angle" in line and "1.8 deg is on nearly all labels" in line


def test_with_the_step_angle_and_the_value_written_it_is_set_and_rests_on_the_change() -> None:
    fields = said("new.motor.step_angle", "new.steps_per_mm", "new.microsteps")
    feed = one("feed", Case("machine", fields, done("feeder.feed_per_turn"), BOTH))
    assert (feed.state, feed.rests_on) == (SET, ("feeder.feed_per_turn",))


def test_what_was_taken_as_before_because_nobody_said_otherwise_is_no_answer() -> None:
    for light, name in (("current", "motor.run_current"), ("feed", "feeder.steps_per_mm")):
        assert one(light, Case("machine", said("new.microsteps"), done(name), BOTH)).state == UNKNOWN


def test_one_value_left_old_is_enough() -> None:
    fields = said("new.feed_per_turn", "new.microsteps")
    stands = {**done("feeder.feed_per_turn"), **kept("feeder.full_steps")}
    feed = one("feed", Case("machine", fields, stands, BOTH))
    assert feed.state == UNKNOWN and "full steps" in feed.why and "step angle" in feed.missing[0]


def test_what_no_file_sets_is_by_hand_where_a_person_is_told_it_and_unknown_where_not() -> None:
    case = Case(
        "machine", said("new.recommended_retraction"), {}, BOTH, {"retraction.length": ("r", "set it")}
    )
    assert one("retraction", case) == Light("retraction", "machine", BY_HAND, "set it", (), ("r",))
    bare = one("retraction", Case("machine", said("new.recommended_retraction"), {}, BOTH))
    assert bare.state == UNKNOWN and "no line that I understand sets the" in bare.why


def test_what_each_profile_sets_for_itself_is_asked_of_the_profiles_alone() -> None:
    base = Case("machine", {}, {}, BOTH, elsewhere=("retraction.length",))
    petg = Case("filament petg", {}, kept("retraction.length"))
    found = lights([base, petg])
    assert [(each.name, each.state) for each in found if each.light == "retraction"] == [
        ("retraction", UNAFFECTED),
        ("retraction @ filament petg", UNKNOWN),
    ]
    assert {each.light for each in found if each.holder == "filament petg"} == {"retraction"}


def test_as_before_is_believed_where_it_is_said_and_only_with_yes() -> None:
    case = Case("machine", said("new.path_as_before"), kept("retraction.length"), BOTH)
    assert one("retraction", case).state == UNAFFECTED
    no = Case("machine", said("new.path_as_before", text="no"), kept("retraction.length"), BOTH)
    assert one("retraction", no).state == UNKNOWN


def test_a_code_that_nobody_explained_may_be_what_each_profile_sets_for_itself() -> None:
    base = Case("machine", {}, {}, BOTH, elsewhere=("retraction.length",))
    assert one("retraction", base).state == UNAFFECTED
    open_code = replace(base, strange={"retraction.length": "K40 L4.5 (feed.cmd:21)"})
    light = one("retraction", open_code)
    assert light.state == UNKNOWN and "K40 L4.5 (feed.cmd:21)" in light.why and len(light.missing) == 1
    assert one("retraction", replace(open_code, said=said("new.path_as_before"))).state == UNAFFECTED


def test_a_line_not_understood_may_be_what_each_profile_sets_for_itself() -> None:
    case = Case(
        "feeder 1",
        {},
        {},
        ("feeder",),
        elsewhere=("retraction.length",),
        suspects={"retraction.length": "m.conf:23"},
    )
    assert one("retraction", case).state == UNAFFECTED  # by its number alone
    case = replace(case, beside=case.suspects)
    light = one("retraction", case)
    assert light.state == UNKNOWN and "m.conf:23 may be one too" in light.why
    assert one("retraction", replace(case, said=said("new.path_as_before"))).state == UNAFFECTED


def test_an_offset_of_the_probe_that_is_a_question_leaves_the_height_unknown() -> None:
    case = Case("machine", said("clearance.highest_z"), done("axis.z.max"), BOTH)
    assert one("height", case).state == SET
    assert (
        one("height", replace(case, open={"probe.offset_z": "-2.2 (m.conf:4) or -2.3 (m.conf:9)"})).state
        == UNKNOWN
    )


def test_a_probe_that_has_not_moved_is_unaffected() -> None:
    fields = said("clearance.highest_z", "carriage.nozzle_shift.z", "carriage.probe_shift.z")
    stands = {**done("axis.z.max"), **kept("probe.offset_z")}
    assert one("height", Case("machine", fields, stands, BOTH)).state == SET
    fields.pop("carriage.probe_shift.z")
    assert one("height", Case("machine", fields, stands, BOTH)).state == UNKNOWN


def test_a_feeder_of_which_the_sheet_does_not_tell_is_unaffected() -> None:
    case = Case("feeder 2", {}, kept("feeder.feed_per_turn"), ("feeder",), told=False)
    assert {each.state for each in lights([case])} == {UNAFFECTED}


chosen = st.sets(st.sampled_from(ASKED))


@st.composite
def stands(draw: st.DrawFn) -> dict[str, Stand]:
    names = draw(st.sets(st.sampled_from([value.quantity for value in VALUES])))
    return {name: draw(st.sampled_from([kept, done]))(name)[name] for name in names}


def answers(value: Wanted, fields: set[str]) -> set[tuple[str, ...]]:
    return {names for names in (*value.settle, *value.same) if set(names) <= fields}


@given(chosen, stands())
def test_no_missing_field_makes_a_light_unaffected(fields: set[str], there: dict[str, Stand]) -> None:
    for light in lights([Case("machine", said(*fields), there, BOTH)]):
        kind = next(kind for kind in KNOWN.kinds if kind.name == light.light)
        if light.state == UNAFFECTED:
            assert any(set(names) <= fields for value in kind.values for names in value.same)
        assert (light.state == UNKNOWN) or not light.missing


@given(chosen, chosen, stands())
def test_a_field_more_takes_a_light_away_only_where_it_completes_an_answer(
    before: set[str], more: set[str], there: dict[str, Stand]
) -> None:
    first = lights([Case("machine", said(*before), there, BOTH)])
    second = lights([Case("machine", said(*before, *more), there, BOTH)])
    for old, new in zip(first, second, strict=True):
        if old.state == UNKNOWN != new.state:
            kind = next(kind for kind in KNOWN.kinds if kind.name == old.light)
            assert any(answers(value, before | more) - answers(value, before) for value in kind.values)


@given(chosen, stands())
def test_an_unknown_light_asks_for_what_would_settle_it(fields: set[str], there: dict[str, Stand]) -> None:
    """Answered as it asks, again and again, it comes to an end, with every value's question answered."""
    for _ in range(len(ASKED)):
        asked = {
            ask.field
            for light in lights([Case("machine", said(*fields), there, BOTH)])
            for line in light.missing
            for ask in KNOWN.asks
            if f"({ask.field}:" in line
        }
        if not asked:
            break
        assert not asked <= fields
        fields = fields | asked
    assert not any(light.missing for light in lights([Case("machine", said(*fields), there, BOTH)]))


def test_where_a_setting_not_understood_may_be_the_retraction_nobody_says_that_no_file_has_one() -> None:
    fields = said("new.tube.length")
    hand = {
        "retraction.length": ("r", "set the retraction length to 0.5 mm where your slicing profile is kept")
    }
    assert one("retraction", Case("machine", fields, {}, BOTH, hand)).state == BY_HAND
    light = one(
        "retraction", Case("machine", fields, {}, BOTH, hand, suspects={"retraction.length": "spool.txt:16"})
    )
    assert light.state == UNKNOWN and "spool.txt:16" in light.why
    stands = done("retraction.length")
    assert (
        one("retraction", Case("machine", fields, stands, BOTH, suspects={"retraction.length": "a:1"})).state
        == SET
    )


def test_a_screw_is_asked_for_its_part_and_resistor_where_the_motor_is_known_and_no_voltage_follows() -> None:
    bare = one("current", Case("machine", said("new.motor.rated_current", "new.driver.set_by"), {}, BOTH))
    assert bare.state == UNKNOWN
    assert [line.partition(" (")[2].partition(":")[0] for line in bare.missing] == [
        "new.driver.part",
        "new.driver.sense_resistor",
    ]


def test_a_mount_that_does_not_stand_the_current_leaves_the_light_unknown_whatever_else_is_told() -> None:
    fields = said("new.motor.rated_current", "new.driver.part", "new.driver.sense_resistor")
    hand = {"motor.reference_voltage": ("v", "turn the screw"), "motor.too_hot": ("h", "change the mount")}
    current = one("current", Case("machine", fields, {}, BOTH, hand))
    assert (current.state, current.why) == (UNKNOWN, "change the mount")
    same = one("current", Case("machine", said("new.motor_as_before"), kept("motor.run_current"), BOTH, hand))
    assert same.state == UNKNOWN


def test_an_end_stop_that_a_file_has_is_for_hands_where_a_person_is_told_it() -> None:
    """It is protected and never written; without this, nothing but taking it for granted would let an install through."""
    fields = said("carriage.nozzle_shift.z")
    hand = {"axis.z.max": ("z", "set the limit"), "protected.end_stop_z": ("e", "move the switch")}
    (found,) = lights([Case("machine", fields, kept("end_stop.z"), (), hand)])
    assert (found.state, found.why) == (BY_HAND, "move the switch")


def test_a_z_end_stop_that_is_still_to_be_moved_by_hand_leaves_the_height_to_hands_though_no_file_has_it() -> (
    None
):
    """The highest z is written, and the first homing would drive the nozzle into the bed."""
    told = said("clearance.highest_z", "carriage.nozzle_shift.z", text="3 mm")
    stop = {"protected.end_stop_z": ("H8", "Set the z end stop")}
    written = done("axis.z.max")
    found = one("height", Case("machine", told, written, BOTH, hand=stop))
    assert found.state == BY_HAND and "Set the z end stop" in found.why and "H8" in found.rests_on
    assert one("height", Case("machine", told, written, BOTH)).state == SET
    other = {"protected.end_stop_x": ("H9", "Add 4 mm to the x end stop")}
    assert one("height", Case("machine", told, written, BOTH, hand=other)).state == SET
    assert one("height", Case("machine", said(), kept("axis.z.max"), BOTH, hand=stop)).state == UNKNOWN
    assert one("feed", Case("machine", told, done("feeder.steps_per_mm"), BOTH, hand=stop)).state != BY_HAND


def test_an_end_stop_that_does_not_stop_z_is_not_asked_for() -> None:
    place = Place("s.yaml", 1, 1)
    fields = said("carriage.nozzle_shift.z")
    fields["carriage.z_stop"] = SheetEntry("carriage.z_stop", "probe", place, value=None, word="probe")
    (found,) = lights([Case("machine", fields, kept("end_stop.z"))])
    assert (found.state, found.why) == (UNAFFECTED, "the sheet says carriage.z_stop: probe")


def test_a_probe_that_stops_z_and_whose_offset_nobody_read_leaves_the_height_unknown_whatever_else_is_told() -> (
    None
):
    """The limit is worked out and written; the first homing would still go by an old offset."""
    fields = said("clearance.highest_z", "carriage.nozzle_shift.z", "carriage.probe_shift.z", text="5")
    hand = {"probe.height_unread": ("p", "find how high the tip stands when the probe acts")}
    (found,) = [
        each
        for each in lights([Case("machine", fields, done("axis.z.max"), BOTH, hand)])
        if each.light == "height"
    ]
    assert (found.state, found.why) == (UNKNOWN, "find how high the tip stands when the probe acts")


def test_a_value_that_is_a_question_is_unknown_though_each_profile_sets_it() -> None:
    asked = {"retraction.length": "5.8 (a.json:3) or 14 (a.json:9)"}
    case = Case("feeder 1", {}, {}, ("feeder",), elsewhere=("retraction.length",), open=asked)
    found = one("retraction", case)
    assert found.state == UNKNOWN
    assert "a.json:3" in found.why
    same = replace(case, said=said("new.path_as_before"))
    assert one("retraction", same).state == UNAFFECTED


def test_a_way_that_is_begun_may_be_finished_by_another_one_too() -> None:
    """The maker's leaflet has the feed for a turn more often than a diameter."""
    case = Case("machine", said("new.drive_gear.gear_ratio"), kept("feeder.feed_per_turn"), ("feeder",))
    asked = " ".join(one("feed", case).missing)
    assert (
        "new.drive_gear.effective_diameter" in asked
        and "or tell me" in asked
        and "new.feed_per_turn" in asked
    )


def test_a_profile_with_full_steps_alone_feeds_no_surer_than_the_feeder_it_runs_with() -> None:
    fields = said("new.motor.step_angle")
    base = Case("machine", fields, kept("feeder.feed_per_turn"), BOTH)
    profile = Case("filament tar", fields, done("feeder.full_steps"), rests_on=("machine",))
    found = {each.holder: each for each in lights([base, profile]) if each.light == "feed"}
    assert found["machine"].state == UNKNOWN
    assert found["filament tar"].state == UNKNOWN and "machine" in found["filament tar"].why
    whole = said("new.motor.step_angle", "new.steps_per_mm", "new.microsteps")
    base = Case("machine", whole, done("feeder.feed_per_turn"), BOTH)
    profile = Case("filament tar", whole, done("feeder.full_steps"), rests_on=("machine",))
    found = {each.holder: each for each in lights([base, profile]) if each.light == "feed"}
    assert found["filament tar"].state == SET and found["filament tar"].rests_on == ("feeder.full_steps",)


def test_a_profile_whose_lines_contradict_each_other_keeps_its_light() -> None:
    lines = {"retraction.length": "4.7 (a.conf:3) or 5.0 (b.conf:3)"}
    (found,) = lights([Case("filament ABS", said("new.tube.length"), {}, open=lines)])
    assert (found.name, found.state) == ("retraction @ filament ABS", UNKNOWN)
    assert "4.7 (a.conf:3) or 5.0 (b.conf:3)" in found.why


def test_a_value_that_is_written_by_half_of_what_is_asked_is_not_said_to_stay() -> None:
    case = Case("machine", said("carriage.nozzle_shift.z"), done("axis.z.max"), of=("machine",))
    (light,) = (each for each in lights([case]) if each.light == "height")
    assert light.state == UNKNOWN and "stays" not in light.why and "in part" in light.why


def test_a_value_that_is_set_is_unknown_where_another_line_may_be_it_too() -> None:
    wanted = next(value for value in VALUES if value.quantity == "retraction.length")
    case = Case("machine", said(*wanted.settle[0]), done("retraction.length"), BOTH)
    assert one("retraction", case).state == SET
    found = one("retraction", replace(case, beside={"retraction.length": "feed.conf:4"}))
    assert found.state == UNKNOWN and "feed.conf:4" in found.why

    typed = {"retraction.length": Stand(True, "", text="5.2", where="kept.txt:7", console="5.2 → 0.4")}
    assert one("retraction", replace(case, stands=typed)).state == BY_HAND
    beside = replace(case, stands=typed, beside={"retraction.length": "feed.conf:4"})
    assert one("retraction", beside).state == UNKNOWN


def test_a_motor_as_before_with_another_rated_current_is_none() -> None:
    stays = said("new.motor_as_before")
    case = Case("machine", stays, kept("motor.run_current"), BOTH)
    assert one("current", case).state == UNAFFECTED
    new = said("new.motor.rated_current", text="0.7")
    assert one("current", replace(case, said=stays | new)).state == UNKNOWN
    alike = new | {"old.motor.rated_current": new["new.motor.rated_current"]}
    assert one("current", replace(case, said=stays | alike)).state == UNAFFECTED


def test_a_path_as_before_with_another_tube_or_a_drive_elsewhere_is_none() -> None:
    stays = said("new.path_as_before")
    case = Case("machine", stays, kept("retraction.length"), BOTH)
    assert one("retraction", case).state == UNAFFECTED
    new, old = said("new.tube.length", text="40"), said("old.tube.length", text="40")
    assert one("retraction", replace(case, said=stays | new)).state == UNKNOWN
    assert one("retraction", replace(case, said=stays | new | old)).state == UNAFFECTED
    here = {"new.drive": SheetEntry("new.drive", "", Place("s.yaml", 1, 1), word="on the carriage")}
    assert one("retraction", replace(case, said=stays | here)).state == UNKNOWN
    there = {"old.drive": here["new.drive"]}
    assert one("retraction", replace(case, said=stays | here | there)).state == UNAFFECTED
    there = {"old.drive": replace(here["new.drive"], word="tube-fed")}
    assert one("retraction", replace(case, said=stays | here | there)).state == UNKNOWN


def test_a_file_that_nobody_understood_leaves_no_light_set() -> None:
    lower = said("clearance.as_before", "carriage.nozzle_shift.z") | {
        "carriage.nozzle_shift.z": SheetEntry("", "-4 mm", Place("s.yaml", 1, 1), value=-4.0)
    }
    alone = Case("machine", lower, done("axis.z.max"), BOTH)
    assert one("height", alone).state == SET
    found = one("height", replace(alone, silent="nothing in boot.run is understood"))
    assert found.state == UNKNOWN
    assert "boot.run" in found.why


def test_a_light_tells_a_value_as_it_is_and_as_it_will_be_with_its_unit(tmp_path: Path) -> None:
    (tmp_path / "hen.conf").write_text(
        "[feeder]\nsteps per mm = 96\nmicrosteps = 16\nrun current ma rms = 800\nretraction length = 5\n"
    )
    (tmp_path / "sheet.yaml").write_text("new: {steps_per_mm: 426.7 1/mm, microsteps: 16}\n")
    plan = work_out([tmp_path / "hen.conf"], tmp_path / "sheet.yaml").plan
    told = {light.light: light.why for light in plan.lights}
    assert told["feed"] == "feeder steps per mm: 96 → 426.7 per mm (hen.conf:2)"
    assert "feeder run current stays 800 mA RMS (hen.conf:4)" in told["current"]
    assert "retraction length stays 5 mm (hen.conf:5)" in told["retraction"]


def test_a_profile_whose_own_retraction_could_not_be_read_has_an_unknown_light(tmp_path: Path) -> None:
    machine = (
        "[axis x]\nmax = 230\n[axis y]\nmax = 220\n[feeder]\nsteps per mm = 97\n[retraction]\nlength = 4.7\n"
    )
    (tmp_path / "printer" / "filaments").mkdir(parents=True)
    (tmp_path / "printer" / "main.conf").write_text(machine)
    for name, length in (("grey", "5.1"), ("blue", "printer + 0.4")):
        text = f"name = {name}\nmaterial = PLA\nretraction length = {length}\nlag = 0.5 s\n"
        (tmp_path / "printer" / "filaments" / f"{name}.conf").write_text(text)
    (tmp_path / "swap.yaml").write_text(
        "old: {drive: tube-fed, path_length: 600 mm}\nnew: {drive: on the carriage, path_length: 60 mm}\n"
    )
    plan = api.prepare(tmp_path / "printer", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    states = {each.holder: each.state for each in plan.lights if each.light == "retraction"}
    assert states["filament blue"] == "unknown" and states["filament grey"] == "set"
