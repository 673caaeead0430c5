"""Each feeder and profile is worked out by its own sheet, and what is scaled from the files' own value is scaled once."""

from __future__ import annotations

import pytest
from lanebench import PETG, SCALED, SHEET, TUBES, TURN, becomes, held, machine, made, once, worked

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.model import MACHINE, Holder, feeder
from cfgmigrate.rules import library
from cfgmigrate.rules.age import Age, Past, Told
from cfgmigrate.rules.book import book_from
from cfgmigrate.rules.engine import Kept
from cfgmigrate.rules.lanes import one_lane, sheet_of, work_out_lanes
from cfgmigrate.rules.passes import Lane
from cfgmigrate.sheet.reader import parse_sheet

# --- whose sheet ----------------------------------------------------------------------------------------------

SEVERAL = """\
filament: {material: PLA}
feeders:
  1: {new: {microsteps: 16}}
  2: {new: {microsteps: 32}}
filaments: {petg black: {material: PETG}}
"""


@pytest.mark.parametrize(
    ("holder", "microsteps", "material"),
    [
        (str(MACHINE), 16, "PLA"),
        (str(feeder(1)), 16, "PLA"),
        (str(feeder(2)), 32, "PLA"),
        (str(PETG), 16, "PETG"),
        (f"{PETG} for feeder 2", 32, "PETG"),
        ("filament tpu soft", 16, "TPU"),
        ("print slow for feeder 2", 32, "PLA"),
    ],
)
def test_what_is_said_of_a_holder_is_its_feeder_s_and_its_filament_s(
    holder: str, microsteps: int, material: str
) -> None:
    of = machine(materials={PETG: "ABS", Holder("filament", "tpu soft"): "TPU"}, feeders=2)
    found = sheet_of(of, parse_sheet(SEVERAL.encode(), SHEET), holder)
    said = found.get("new.microsteps"), found.get("filament.material")
    assert [(each.value or each.word) for each in said if each is not None] == [microsteps, material]


def test_a_sheet_that_tells_of_the_second_feeder_alone_is_what_the_machine_s_values_go_by() -> None:
    sheet = parse_sheet(b"feeder: 2\nnew: {microsteps: 32}\n", SHEET)
    entry = sheet_of(machine(feeders=2), sheet, "machine").get("new.microsteps")
    assert entry is not None and entry.value == 32


def test_a_sheet_of_a_feeder_that_is_not_there_is_refused() -> None:
    with pytest.raises(BadInput, match="feeder 3, and the files have 1, 2"):
        worked(machine(feeders=2), "feeder: 3\n" + TUBES)


@pytest.mark.parametrize(
    ("feeders", "sheet", "swapped"),
    [(0, TUBES, (1,)), (2, "feeders: {2: {values: old}}\n", (1,)), (3, "feeder: 2\n" + TUBES, (2,))],
)
def test_where_nothing_else_is_said_the_swap_is_the_first_feeder_s(
    feeders: int, sheet: str, swapped: tuple[int, ...]
) -> None:
    assert worked(machine(feeders=feeders), sheet).swapped == swapped


def test_what_one_lane_alone_came_to_is_the_swapped_feeder_s_unless_it_is_said_whose() -> None:
    sheet = parse_sheet(("feeder: 2\n" + TUBES).encode(), SHEET)
    outcome = worked(machine(feeders=2), "feeder: 2\n" + TUBES).base
    for lane, wanted in ((None, Lane(2)), (Lane(1, PETG), Lane(1, PETG))):
        found = one_lane(outcome, sheet, lane)
        assert (dict(found.lanes), found.swapped) == ({wanted: outcome}, (wanted.feeder,))
    assert one_lane(outcome, parse_sheet(b"feeders: {2: {values: old}}\n", SHEET)).swapped == (1,)


def test_where_each_feeder_may_have_a_tip_of_its_own_what_counts_from_one_is_asked_about() -> None:
    rule = made("probe.offset_x", "was.probe.offset_x + carriage.nozzle_shift.x", "was.probe.offset_x",
                "carriage.nozzle_shift.x")  # fmt: skip
    of = machine(held("probe.offset_x", "-28", feeders=2), feeders=2)
    sheet = "feeder: 2\nvalues: old\ncarriage: {nozzle_shift: {x: 1.5 mm}}\n"
    asked = worked(of, sheet, rule)
    assert becomes(asked, "probe.offset_x", Lane(2)) is None
    assert ["carriage.one_nozzle" in doubt.remedy for doubt in asked.doubts] == [True]
    no = sheet.replace("{nozzle", "{one_nozzle: no, nozzle").replace("feeder: 2\nvalues: old\n", "")
    both = (
        "feeders:\n  1: {new: {microsteps: 16}, values: old}\n  2: {new: {microsteps: 16}, values: old}\n"
        + no
    )
    for told in ("feeder: 2\nvalues: old\n" + no, both):
        own = worked(of, told, rule)
        assert [becomes(own, "probe.offset_x", lane) for lane in own.lanes] == [None] * len(own.lanes)
        assert own.doubts == (), "it was answered"
    said = worked(of, sheet.replace("{nozzle", "{one_nozzle: yes, nozzle"), rule)
    assert (becomes(said, "probe.offset_x", Lane(2)), said.doubts) == (-26.5, ())


def test_each_swapped_feeder_is_worked_out_alone_and_with_each_profile() -> None:
    own = [held("retraction.length", text, feeder(at), at) for at, text in ((1, "5"), (2, "6"))]
    of = machine(*own, held("retraction.length", "7", PETG, 3, 2), materials={PETG: ""}, feeders=2)
    found = worked(of, "feeder: 2\nvalues: old\nfilaments: {petg black: {values: old}}\n" + TUBES)
    assert found.swapped == (2,) and list(found.lanes) == [Lane(2), Lane(2, PETG)]
    assert [becomes(found, lane=lane) for lane in found.lanes] == [0.6, 0.7]


def test_a_profile_decides_what_it_holds_and_has_all_else_from_its_feeder() -> None:
    rules = (
        made("retraction.length", "filament.diameter", "filament.diameter"),
        made("feeder.unload_length", "filament.diameter * 10", "filament.diameter"),
    )
    readings = held("retraction.length", "5"), held("feeder.unload_length", "90", line=2)
    of = machine(*readings, held("retraction.length", "6", PETG, 3), materials={PETG: ""})
    sheet = "filament: {diameter: 1.75 mm}\nfilaments: {petg black: {diameter: 2.85 mm}}\n"
    found = worked(of, sheet, *rules)
    assert [becomes(found, lane=lane) for lane in found.lanes] == [1.75, 2.85]
    assert [becomes(found, "feeder.unload_length", lane) for lane in found.lanes] == [17.5, 17.5]


# --- what was scaled is not scaled again ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "value", "doubts"),
    [("values: old\n", 0.5, 0), ("values: new\n", None, 0), ("", 0.5, 1)],
)
def test_a_value_is_scaled_unless_it_is_new_and_where_nothing_tells_that_is_a_doubt(
    said: str, value: float | None, doubts: int
) -> None:
    found = worked(machine(held("retraction.length", "5")), said + TUBES)
    assert becomes(found) == value
    assert len(once(found)) == doubts


def test_what_does_not_move_a_second_time_is_written_whatever_its_age() -> None:
    again = made(
        "retraction.length",
        "min(was.retraction.length, new.tube.length)",
        "was.retraction.length",
        "new.tube.length",
    )
    of = machine(held("retraction.length", "50"))
    assert becomes(worked(of, "values: new\n" + TUBES, again)) == 40
    assert worked(of, TUBES, again).doubts == ()
    assert worked(machine(held("retraction.length", "0")), TUBES, SCALED).doubts == ()


def test_a_value_that_is_scaled_by_another_one_of_the_files_does_not_move_again_once_that_one_is_new() -> (
    None
):
    by_turn = made("retraction.length", "was.retraction.length * new.feed_per_turn / was.feeder.feed_per_turn",
                   "was.retraction.length", "new.feed_per_turn", "was.feeder.feed_per_turn")  # fmt: skip
    of = machine(held("retraction.length", "5"), held("feeder.feed_per_turn", "8.3", line=2))
    assert becomes(worked(of, "values: new\n" + TUBES, by_turn, TURN)) == 2.5
    assert becomes(worked(of, "values: new\n" + TUBES, by_turn)) is None


@pytest.mark.parametrize(("said", "value"), [("values: new", None), ("values: old", 0.5)])
def test_what_is_said_of_a_feeder_is_said_of_the_machine_s_values_that_serve_it(
    said: str, value: float | None
) -> None:
    feeders = f"feeders:\n  1:\n    {said}\n    new: {{tube: {{length: 40 mm}}}}\n    old: {{tube: {{length: 400 mm}}}}\n"
    assert becomes(worked(machine(held("retraction.length", "5")), feeders)) == value


@pytest.mark.parametrize(("turn", "value"), [("23.4", 0.5), ("4.15", None), ("4.1501", None), ("4.16", 0.5)])
def test_beside_a_figure_of_the_new_drive_a_value_is_new_and_beside_one_of_the_old_it_is_old(
    turn: str, value: float | None
) -> None:
    of = machine(held("retraction.length", "5"), held("feeder.feed_per_turn", turn, line=2))
    found = worked(of, TUBES)
    assert becomes(found) == value
    assert once(found) == []
    assert found.base.ages["retraction.length"].age is (Age.NEW if value is None else Age.OLD)


@pytest.mark.parametrize(("old_turn", "value"), [("", None), ("23.4", None), ("4.15", 0.5)])
def test_a_figure_that_both_drives_ask_for_says_nothing_of_the_age_beside_it(
    old_turn: str, value: float | None
) -> None:
    of = machine(held("retraction.length", "5"), held("feeder.feed_per_turn", "4.15", line=2))
    said = f", feed_per_turn: {old_turn} mm" if old_turn else ""
    found = worked(of, TUBES.replace("{length: 400 mm}", "{length: 400 mm}" + said))
    assert becomes(found) == value


def test_while_the_age_is_not_known_no_way_that_rests_on_the_value_calls_it_right() -> None:
    """The probe has not moved, and the tip has: the probe's shift alone would leave the offset as it is."""
    name, text = made("probe.offset_z", "was.probe.offset_z - carriage.nozzle_shift.z", "was.probe.offset_z",
                      "carriage.nozzle_shift.z")  # fmt: skip
    probe = b"  - {way: other, fallback: true, needs: [was.probe.offset_z, carriage.probe_shift.z], formula: was.probe.offset_z + carriage.probe_shift.z, status: computed, source: here}\n"
    rule = (name, text.replace(b"agree:", probe + b"agree:"))
    of = machine(held("probe.offset_z", "-1.62"), held("feeder.feed_per_turn", "4.15", line=2),
                 held("feeder.load_length", "30", line=3))  # fmt: skip
    sheet = TUBES + "carriage: {nozzle_shift: {z: -1 mm}, probe_shift: {z: 0 mm}}\n"
    other = made("feeder.load_length", "new.tube.length / 2", "new.tube.length")
    found = worked(of, sheet, rule, TURN, other)
    assert found.base.ages["probe.offset_z"].age is Age.UNKNOWN
    assert becomes(found, "probe.offset_z") is None


@pytest.mark.parametrize(("turn", "value"), [("4.05", None), ("4.26", 0.5)])
def test_a_figure_stands_there_already_if_it_is_nearer_than_a_third_of_its_uncertainty(
    turn: str, value: float | None
) -> None:
    of = machine(held("retraction.length", "5"), held("feeder.feed_per_turn", turn, line=2))
    assert becomes(worked(of, TUBES.replace("4.15 mm", "4.15 ± 0.31 mm"))) == value


@pytest.mark.parametrize(
    ("rule", "was"),
    [
        (made("feeder.microsteps", "new.microsteps", "new.microsteps"), "16"),
        (made("feeder.load_length", "new.tube.length * 0", "new.tube.length"), "0"),
        (made("feeder.unload_length", "will.retraction.length * 2", "will.retraction.length"), "10"),
        (made("feeder.unload_length", "will.retraction.length * 2", "will.retraction.length"), "1"),
    ],
    ids=["a whole number", "zero", "what changes with it", "what changed with it"],
)
def test_what_most_swaps_leave_and_what_rests_on_the_files_own_values_tells_no_age(
    rule: tuple[str, bytes], was: str
) -> None:
    of = machine(held("retraction.length", "5"), held(rule[0].removesuffix(".yaml"), was, line=2))
    sheet = TUBES.replace("feed_per_turn: 4.15 mm", "microsteps: 16")
    found = worked(of, sheet, SCALED, rule)
    assert becomes(found) == 0.5
    assert len(once(found)) == 1


def test_what_rests_on_the_new_drive_alone_through_another_rule_tells_the_age() -> None:
    """The unloading is twice the maker's retraction, whatever the rule for that is called."""
    _, pull = made("retraction.length", "new.recommended_retraction", "new.recommended_retraction")
    rules = (
        ("pull.back.yaml", pull),
        made("feeder.unload_length", "will.retraction.length * 2", "will.retraction.length"),
        made("probe.offset_x", "was.probe.offset_x + carriage.nozzle_shift.x", "was.probe.offset_x",
             "carriage.nozzle_shift.x"),
    )  # fmt: skip
    sheet = "new: {recommended_retraction: 0.4 mm}\ncarriage: {nozzle_shift: {x: 1.5 mm}}\n"
    shifts = {}
    for was in ("0.8", "9"):
        found = worked(
            machine(held("feeder.unload_length", was), held("probe.offset_x", "-28", line=2)), sheet, *rules
        )
        shifts[was] = becomes(found, "probe.offset_x")
    assert shifts == {"0.8": None, "9": -26.5}


USUAL = made(
    "retraction.length", "was.retraction.length * new.tube.length / old.tube.length", "was.retraction.length",
    "new.tube.length", "old.tube.length",
    more="  - {way: usual, needs: [new.recommended_retraction], formula: new.recommended_retraction, status: estimate,"
    " source: here, check_only: true}\n"
    "  - {way: as it was, needs: [old.retraction], formula: old.retraction, status: estimate, source: here,"
    " check_only: true}\n",
)  # fmt: skip


@pytest.mark.parametrize(
    ("was", "value", "told"),
    [("0.5", None, True), ("0.9", None, True), ("0.95", 0.095, False), ("2.6", 0.26, False), ("2.75", 0.275, True),
     ("5", 0.5, True)],
)  # fmt: skip
def test_a_value_near_to_what_is_usual_now_is_new_and_what_the_sheet_says_of_the_old_is_not_usual_now(
    was: str, value: float | None, told: bool
) -> None:
    """0.5 mm is usual now, and 5 mm would become that: three times nearer to one of both, or nothing is told."""
    sheet = TUBES.replace("feed_per_turn: 4.15 mm", "recommended_retraction: 0.5 mm").replace(
        "old: {", "old: {retraction: 5 mm, "
    )
    found = worked(machine(held("retraction.length", was)), sheet, USUAL)
    assert (becomes(found), once(found) == []) == (value, told)


def test_what_was_usual_then_is_told_by_how_a_value_moves_where_it_is() -> None:
    """Below 2 mm it does not move at all; at 2.75 mm, 5 mm is what would become 0.5 mm."""
    _, text = USUAL
    bent = text.replace(
        b"formula: 'was.retraction.length ", b"formula: 'max(was.retraction.length, new.tube.length / 20) "
    )
    assert bent != text
    sheet = TUBES.replace("feed_per_turn: 4.15 mm", "recommended_retraction: 0.5 mm")
    assert (
        once(worked(machine(held("retraction.length", "2.75")), sheet, ("retraction.length.yaml", bent)))
        == []
    )


def test_of_several_ways_the_one_that_won_says_what_a_figure_rests_on() -> None:
    _, text = made(
        "feeder.unload_length", "new.tube.length * 2", "new.tube.length",
    )  # fmt: skip
    other = b"ways:\n  - {way: longer, needs: [was.retraction.length], formula: was.retraction.length, status: computed," \
            b" source: here, when: new.tube.length > old.tube.length}\n"  # fmt: skip
    rule = "feeder.unload_length.yaml", text.replace(b"ways:\n", other)
    of = machine(held("retraction.length", "5"), held("feeder.unload_length", "80", line=2))
    assert becomes(worked(of, TUBES, SCALED, rule)) is None


def test_the_age_of_a_profile_s_values_is_its_own() -> None:
    of = machine(
        held("retraction.length", "5"), held("retraction.length", "6", PETG, 3), materials={PETG: ""}
    )
    lanes = Lane(1), Lane(1, PETG)
    for said, wanted in (
        ("filaments: {petg black: {values: new}}\n", [0.5, None]),
        ("filaments: {petg black: {values: old}}\nvalues: new\n", [None, 0.6]),
        ("values: new\n", [None, 0.6]),
    ):
        found = worked(of, said + TUBES)
        assert [becomes(found, lane=lane) for lane in lanes] == wanted, said
        ages = [found.lanes[lane].ages["retraction.length"].age for lane in lanes]
        assert ages == [Age.NEW if each is None else Age.OLD for each in wanted], said


def test_an_age_that_was_told_before_counts_as_it_is() -> None:
    told = {("retraction.length", "machine"): Told(Age.NEW, "so it was told")}
    assert becomes(worked(machine(held("retraction.length", "5")), TUBES, past=Past(stated=told))) is None


# --- what a profile has from the pass without one -------------------------------------------------------------


@pytest.mark.parametrize(("profiles", "value"), [("2500", 1875), ("1000", 1000)])
def test_a_profile_sees_what_becomes_of_a_value_where_no_profile_is_on(profiles: str, value: float) -> None:
    """300 g of carriage become 480 g: 3000 mm/s² become 1875, and a profile's own are no more than that."""
    name, text = made("axis.x.max_acceleration", "min(was.axis.x.max_acceleration, shared.axis.x.max_acceleration)",
                      "was.axis.x.max_acceleration", "shared.axis.x.max_acceleration",
                      more="  - {way: by mass, needs: [was.axis.x.max_acceleration, carriage.old_mass, carriage.new_mass],"
                      " formula: was.axis.x.max_acceleration * carriage.old_mass / carriage.new_mass, status: computed,"
                      " source: here}\n")  # fmt: skip
    readings = [held("axis.x.max_acceleration", "3000"), held("axis.x.max_acceleration", profiles, PETG, 3)]
    sheet = (
        "values: old\nfilaments: {petg black: {values: old}}\ncarriage: {old_mass: 300 g, new_mass: 480 g}\n"
    )
    found = worked(machine(*readings, materials={PETG: ""}), sheet, (name, text))
    assert becomes(found, name.removesuffix(".yaml"), Lane(1)) == 1875
    assert becomes(found, name.removesuffix(".yaml"), Lane(1, PETG)) == value


def test_what_a_profile_has_from_the_pass_without_one_follows_another_answer() -> None:
    rules = (
        made("feeder.load_length", "new.feed_per_turn * 10", "new.feed_per_turn"),
        made("retraction.length", "shared.feeder.load_length / 10", "shared.feeder.load_length"),
    )
    of = machine(
        held("feeder.load_length", "90"), held("retraction.length", "6", PETG, 3), materials={PETG: ""}
    )
    book, kept = book_from(dict(rules), library.vocabulary()), Kept()
    for turn in (4, 5, 5, 4):
        sheet = parse_sheet(f"new: {{feed_per_turn: {turn} mm}}\n".encode(), SHEET)
        found = work_out_lanes(book, of, sheet, library.tables(), kept=kept)
        assert becomes(found, lane=Lane(1, PETG)) == turn
