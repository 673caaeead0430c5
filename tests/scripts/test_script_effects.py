"""Scripts: which moves a swap changes, which it leaves in doubt, and that nothing else in them moves.

The lines are word-address lines as in RS-274 (NISTIR 6556). The checks on whole scripts come from a simulator of
their own below, which shares no code with the reader: it splits lines at blanks and keeps two modes.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import read
from cfgmigrate.files.site import parse_site
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.packet.recompute import recompute
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.planning import plan_changes
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.lanes import one_lane
from cfgmigrate.rules.result import Derivation, Input, Result, Status
from cfgmigrate.scripts.feed_letter import feed_letter
from cfgmigrate.scripts.number_change import scripts_of
from cfgmigrate.scripts.pulls import retraction_doubts
from cfgmigrate.scripts.reading import read_script
from cfgmigrate.sheet.reader import parse_sheet

FRAME = """\
[axis x]
lowest point = -4
highest spot = 240

[axis z]
highest spot = 262

[retraction]
retraction length = 4.6
"""
OLD, NEW = 262.0, 249.0
TUBES = "old:\n  tube: {length: 365 mm}\nnew:\n  tube: {length: 41 mm}\n"


def moves(text: str, dialect: str = "sectioned"):
    data = text.encode()
    return read_script(data, 0, len(data), dialect)


def result(
    target: str, value: float, rule: str = "", unit: str = "mm", of: str = "clearance.highest_z"
) -> Result:
    """A result as a rule would give it, of one input."""
    source = Input(of, "clearance", value, unit, 0.0, "swap.yaml:1")
    way = Derivation(of, f"{value:g}", (source,), "measured")
    return Result(rule or target, target, rule or target, unit, value, 0.0, Status.MEASURED, "measured", way)


@dataclass(frozen=True)
class Swapped:
    """A plan, and the script's file before and after it."""

    plan: Plan
    before: str
    after: str

    def changed(self) -> dict[str, tuple[str, str]]:
        return {
            change.quantity: (change.edits[0].old, change.edits[0].new)
            for change in self.plan.changes
            if change.quantity.startswith("script.")
        }

    def doubts(self) -> list[str]:
        return [f"{doubt.place.line}: {doubt.why}" for doubt in self.plan.doubts]


def swap(
    script: str,
    *results: Result,
    sheet: str = "machine: Wren\n",
    name: str = "script end",
    dialect: str = "sectioned",
    frame: str = FRAME,
) -> Swapped:
    """What a swap does to one script. `script` is a file of its own in the dialects `flat` and `command`."""
    if dialect == "sectioned":
        script = f"[{name}]\nlines =\n" + "".join(f"    {line}\n" for line in script.splitlines())
    before = {"a_frame.conf": frame.encode(), "routines.conf": script.encode("latin-1")}
    documents = [
        read("a_frame.conf", before["a_frame.conf"], "sectioned"),
        read("routines.conf", before["routines.conf"], dialect),
    ]
    outcome = Outcome(tuple(results), (), ())
    said = parse_sheet(sheet.encode(), "swap.yaml")
    plan = plan_changes(one_lane(outcome, said), Book((), {}), recognise(documents), said, "")
    after = {**before}
    for path, edits in edits_by_file(plan.changes).items():
        after[path] = apply_edits(before[path], edits)
    return Swapped(plan, script, after["routines.conf"].decode("latin-1"))


def lower(script: str, **more: object) -> Swapped:
    """The highest z comes down from 262 to 249 mm."""
    return swap(script, result("axis.z.max", NEW), **more)  # type: ignore[arg-type]


def shorten(script: str, name: str = "script load", old: float = 410, new: float = 86) -> Swapped:
    """The filament's path goes from 365 mm of tube to 41 mm, and the hot end's 45 mm."""
    results = result("", old, "path.length_old"), result("", new, "path.length_new")
    return swap(script, *results, sheet=TUBES, name=name)


# --- reading -------------------------------------------------------------------------------------------------


def test_words_may_stand_in_any_case_and_without_blanks_between() -> None:
    """RS-274: letters are case-insensitive, blanks between words mean nothing."""
    (move,) = moves("g90g1x5.Y-.5 z+250F600")
    assert [(target.axis, target.value) for target in move.targets] == [("x", 5.0), ("y", -0.5), ("z", 250.0)]
    assert {target.absolute for target in move.targets} == {True}


def test_a_number_broken_by_blanks_is_not_taken_for_two() -> None:
    """RS-274 reads `g0x +0. 12 34y 7` as x 0.1234, y 7; other machines don't. So nothing is said of x."""
    (move,) = moves("g90 g0x +0. 12 34y 7")
    assert next((target.axis, target.value) for target in move.targets) == ("x", None)


def test_remarks_say_nothing() -> None:
    text = "(G91) G90 ; G91\nG1 Z250 (up; and G91) F600\n; G1 Z260\n# G1 Z261\n"
    (move,) = moves(text)
    assert [(target.value, target.absolute) for target in move.targets] == [(250.0, True)]


def test_modes_last_until_they_are_changed() -> None:
    found = moves("G1 Z1\nG90\nG1 Z2\nG4 P100\nG1 Z3\nG91\nG1 Z4\nM83\nG1 E1\nM82\nG1 E2\n")
    assert [move.targets[0].absolute for move in found if move.targets] == [None, True, True, False]
    assert [move.feed.absolute for move in found if move.feed] == [False, True]


def test_the_mode_of_positions_leaves_the_mode_of_the_feed_unknown_where_they_differ() -> None:
    """Machines disagree on whether G90 is for the feed as well."""
    assert [move.feed.absolute for move in moves("M83\nG90\nG1 E1\nM83\nG91\nG1 E2") if move.feed] == [
        None,
        False,
    ]


@pytest.mark.parametrize(
    ("script", "said"),
    [
        ("G91\nG1 E-6\nG90\nG1 E5\n", [False, None]),
        ("M82\nG91\nG1 E-6\n", [None]),
        ("G91\nG92 E0\nG1 E400\n", [None]),
        ("G91\nG1 E25\nG1 E400\nG1 E480\n", [None, None, None]),
        ("G91\nG1 E25\nG1 E400\nG1 E80\n", [False, False, False]),
        ("G91\nG1 E25\nG1 X4\nG1 E400\n", [False, False]),
        ("G91\nM83\nG1 E25\nG1 E400\n", [False, False]),
    ],
)
def test_a_feed_follows_g91_where_nothing_speaks_against_it(script: str, said: list[bool | None]) -> None:
    """ISO 6983-1: G91 is incremental; that the feed follows it is common practice, no source."""
    assert [move.feed.absolute for move in moves(script) if move.feed] == said


def test_m82_in_another_script_of_the_machine_leaves_it_open() -> None:
    def feeds(more: str) -> list[bool | None]:
        files = [
            read("load.nc", b"; load\nG91\nG1 E400\nG1 E80\n", "command"),
            read("go.nc", more.encode(), "command"),
        ]
        return [
            move.feed.absolute for each in scripts_of(recognise(files)) for move in each.moves if move.feed
        ]

    assert feeds("; start\nG28\nG1 X5\n") == [False, False]
    assert feeds("; start\nM82\nG1 X5\n") == [None, None]


def test_that_it_follows_is_said_where_the_feed_is_changed() -> None:
    plan = shorten("G91\nG1 E18 F300\nG1 E410 F3100\nG1 E12 F220\n").plan
    (change,) = plan.changes
    assert "G91 (incremental, ISO 6983-1) is taken to hold for the feed too" in change.says


def test_relative_moves_add_up_from_a_known_place() -> None:
    found = moves("G90\nG1 Z10\nG91\nG1 Z5\nG1 Z-2.5\n")
    assert [move.targets[0].after for move in found] == [10, 15, 12.5]


def test_homing_makes_a_place_unknown() -> None:
    found = moves("G90\nG1 X5 Z10\nG28 X\nG91\nG1 X1 Z1\n")
    assert [target.after for target in found[-1].targets] == [None, 11]


def test_another_origin_is_followed() -> None:
    found = moves("G90\nG1 Z10\nG92 Z0\nG1 Z5\nG53 G1 Z6\n")
    assert [move.targets[0].after for move in found] == [10, 15, 6]


def test_inches_are_twenty_five_point_four_mm() -> None:
    assert moves("G90 G20\nG1 Z2\nG21\nG1 Z2")[0].targets[0].value == pytest.approx(50.8)


def test_the_feed_of_an_absolute_move_is_known_from_where_it_was_set() -> None:
    found = moves("M82\nG1 E5\nG92 E0\nG1 E30\nG1 E100\n")
    assert [move.feed.length for move in found if move.feed] == [None, 30, 70]


@pytest.mark.parametrize("line", ["park_head", "{height}", "G{code}", "M98 P3", "T1", "/G91", "MOVE Z=3"])
def test_after_a_line_that_may_do_anything_the_modes_are_unknown(line: str) -> None:
    assert moves(f"G90\nG1 Z1\n{line}\nG1 Z2\n")[-1].targets[0].absolute is None


def test_in_a_file_of_moves_a_remark_that_names_an_occasion_begins_another_script() -> None:
    text = "(end)\nG90\nG1 Z5\n(up from the part)\nG1 Z8\n(load, through 410 mm of tube)\nG1 Z9\n"
    assert [move.targets[0].absolute for move in moves(text, "command")] == [True, True, None]


@pytest.mark.parametrize("line", ["M104 S210 T0", "M77 row 5 of 10", "M84 X Y", "G4 P100", "M106 S{fan}"])
def test_a_line_that_moves_nothing_leaves_the_modes(line: str) -> None:
    found = moves(f"G90\nG1 Z1\n{line}\nG1 Z2\n")
    assert len(found) == 2 and found[-1].targets[0].absolute is True


# --- moves beyond a new limit --------------------------------------------------------------------------------


def test_a_height_to_park_at_goes_to_the_new_limit() -> None:
    found = lower("G90\nG1 X5 Y228 F7200\nG1 Z255 F800      ; out of the way: 255 mm\n")
    assert found.changed() == {"script.end.z": ("255", "249")}
    assert found.after == found.before.replace("Z255", "Z249")
    change = found.plan.changes[-1]
    assert (change.derivation.formula, change.status) == (
        "min(was.script.end.z, will.axis.z.max)",
        "computed",
    )
    assert [entry.origin for entry in change.derivation.inputs] == [
        "routines.conf:5",
        "a_frame.conf:6, as it will be",
    ]
    assert change.depends == ("axis.z.max",)
    assert "routines.conf:5 (255)" in change.says


def test_the_number_keeps_the_decimals_of_the_file() -> None:
    assert lower("G90\nG1 Z255.00").after.endswith("G1 Z249.00\n")


def test_every_such_move_of_a_script_is_one_change_with_several_edits() -> None:
    found = lower("G90\nG1 Z255\nG1 Z100\nG0 Z 251.5\n")
    assert [edit.new for edit in found.plan.changes[-1].edits] == ["249", "249.0"]
    assert found.after.splitlines()[3:] == ["    G1 Z249", "    G1 Z100", "    G0 Z 249.0"]


def test_inches_stay_inches() -> None:
    """249 mm / 25.4 mm = 9.80314… inches, rounded down; 10 inches are 254 mm."""
    found = lower("G20\nG90\nG1 Z10.000\n")
    assert found.changed() == {"script.end.z": ("10.000", "9.803")}


def test_a_move_at_the_limit_stays() -> None:
    found = lower("G90\nG1 Z249\nG1 Z-1\nG1 X900\n")
    assert found.after == found.before and not found.doubts()


def test_a_limit_that_stays_touches_no_script() -> None:
    found = swap("G90\nG1 Z300\n", result("axis.z.max", OLD))
    assert found.after == found.before and not found.doubts()


def test_what_was_beyond_the_old_limit_already_is_in_doubt() -> None:
    found = lower("G90\nG1 Z270\n")
    assert found.after == found.before
    assert found.doubts() == ["4: z goes beyond the new limit of 249 mm, and went beyond the old one"]


def test_without_a_limit_in_the_files_the_measured_one_counts() -> None:
    found = lower("G90\nG1 Z270\n", frame="[axis x]\nhighest spot = 240\n")
    assert found.changed() == {"script.end.z": ("270", "249")}


@pytest.mark.parametrize(
    ("script", "why"),
    [
        ("G1 Z255", "absolute (G90) or relative (G91)"),
        ("G90\nG1 Z{height}", "can't be told for sure ({height})"),
        ("G90\nG1 X5 z{height} F600 ; up, Z249", "can't be told for sure ({height})"),
        ("G90\nG1 Z255 *71", "can't be told for sure (255)"),
        ("G90\nG1 Z240\nG91\nG1 Z10", "goes to 250 mm"),
        ("G91\nG1 Z15 F600", "from above 234 mm"),
        ("G90\nG92 Z0\nG1 Z255", "moved by an unknown amount"),
        ("G90\nG1 Z100\nG92 Z0\nG1 Z151", "goes to 251 mm"),
        ("G90\nfetch_tool\nG1 Z255", "absolute (G90) or relative (G91)"),
    ],
)
def test_what_can_not_be_told_is_a_doubt_with_its_place(script: str, why: str) -> None:
    found = lower(script)
    assert found.after == found.before
    (doubt,) = found.plan.doubts
    assert why in doubt.why and doubt.remedy
    line = found.before.splitlines()[doubt.place.line - 1]
    assert doubt.place.line == len(script.splitlines()) + 2 and line[doubt.place.column - 2] in "zZ"


def test_a_letter_that_stands_twice_says_nothing() -> None:
    found = lower("G90\nG1 Z255 Z3\n")
    assert found.after == found.before and len(found.doubts()) == 2


def test_relative_moves_that_stay_below_the_limit_or_go_down_are_no_doubt() -> None:
    assert not lower("G90\nG1 Z100\nG91\nG1 Z15\nG28\nG1 Z-15\n").doubts()


def test_x_moves_to_both_new_limits() -> None:
    limits = result("axis.x.max", 231), result("axis.x.min", 2)
    found = swap("G90\nG1 X238.5 F6000\nG1 X-1\nG1 X100\n", *limits)
    assert found.changed() == {"script.end.x": ("238.5", "231.0"), "script.end.x_low": ("-1", "2")}
    assert found.after == found.before.replace("238.5", "231.0").replace("X-1", "X2")


@pytest.mark.parametrize("stroke", [("-3", "1.5"), ("-1", "2")])
def test_places_that_a_limit_would_make_one_are_asked_about(stroke: tuple[str, str]) -> None:
    """Both beyond the limit of 2 mm, or one of them just at it: to and fro is then nothing at all."""
    there, back = stroke
    found = swap(f"G90\nG1 X{there} F6000\nG1 X{back}\nG1 X{there}\n", result("axis.x.min", 2))
    assert found.after == found.before
    assert any(f"x goes to {there} and {back} mm" in each for each in found.doubts())


def test_one_place_that_a_script_goes_to_twice_is_one_place_still() -> None:
    found = swap("G90\nG1 X-1 F6000\nG1 X40\nG1 X-1\n", result("axis.x.min", 2))
    assert found.after == found.before.replace("X-1", "X2")


def test_a_script_in_one_line_with_written_out_line_ends() -> None:
    text = r"routine.end=M83\nG1 E-6.2 F2400\nG91\nG1 Z-1\nG90\nG1 Z255 F480\nM104 S0" + "\n"
    found = lower(text, dialect="flat")
    assert found.changed() == {"script.end.z": ("255", "249")} and found.after == text.replace("255", "249")


@pytest.mark.parametrize("end", [r"\n", r"\r\n"])
def test_a_line_of_a_script_in_one_line_is_shown_without_its_written_out_end(end: str) -> None:
    text = "routine.end='G1 Z255 F480" + end + "G90" + end + "G1 X5" + end + "G91" + end + "G1 Z15 F600'\n"
    shown = [doubt.text for doubt in lower(text, dialect="flat").plan.doubts]
    assert shown == ["G1 Z255 F480", "G1 Z15 F600"]


def test_bytes_that_are_not_utf8_do_not_move_the_edit() -> None:
    found = lower("G90\nG1 X1 ; drei\xdfig\nG1 Z255 ; \xb5\n")
    assert found.after == found.before.replace("255", "249")


def test_every_value_comes_out_again_by_the_second_way() -> None:
    found = lower("G90\nG1 Z255\nG1 Z254.5\n")
    assert recompute(found.plan.to_json()) == []
    fed = shorten("M83\nG1 E385 F3000\n")
    assert recompute(fed.plan.to_json()) == []


# --- feeds through the path ----------------------------------------------------------------------------------


def test_a_feed_through_the_old_tube_becomes_shorter_by_as_much_as_the_tube() -> None:
    """385 mm − (365 mm − 41 mm) = 61 mm: the 20 mm that had been added stay."""
    found = shorten("M83\nG92 E0\nG1 E24 F300\nG1 E385 F3000\nG1 E45 F240\n")
    assert found.changed() == {"script.load.e": ("385", "61")}
    assert found.after == found.before.replace("385", "61")
    assert not found.doubts()


def test_a_pull_through_the_old_tube_likewise() -> None:
    """−430 mm + 324 mm = −106 mm."""
    found = shorten("M83\nG1 E8 F240\nG1 E-30 F2100\nG1 E-430 F3000\n", "script unload")
    assert found.changed() == {"script.unload.e": ("-430", "-106")}
    assert (
        found.plan.changes[0].derivation.formula
        == "was.script.unload.e + (old.tube.length - new.tube.length)"
    )


def test_an_absolute_feed_that_nothing_builds_on() -> None:
    """From 20 mm to 405 mm are 385 mm; 405 − 324 = 81."""
    assert shorten("M82\nG92 E0\nG1 E20\nG1 E405\nG92 E0\n").changed() == {"script.load.e": ("405", "81")}


@pytest.mark.parametrize(
    ("script", "why"),
    [
        ("G1 E385", "what the script does not say"),
        ("M82\nG1 E385", "what the script does not say"),
        ("M82\nG92 E0\nG1 E385\nG1 E430", "which to shorten is not certain"),
        ("M83\nG1 E200\nG1 E200", "2 feeds without another move between come to 400 mm"),
        ("M83\nG1 E400\nG1 E400", "2 feeds without another move between come to 800 mm"),
        ("M83\nG1 E900", "this feeds 900 mm, made for the old path"),
        ("M83\nG1 E385\nG1 E{more}", "which to shorten is not certain"),
    ],
)
def test_feeds_that_can_not_be_told_apart_are_in_doubt(script: str, why: str) -> None:
    found = shorten(script)
    assert found.after == found.before
    assert [why in doubt for doubt in found.doubts()] == [True]


def test_short_feeds_and_feeds_while_an_axis_moves_stay() -> None:
    found = shorten("M83\nG1 E9 F240\nG1 X90 E385 F1200\nG1 E45\n")
    assert found.after == found.before and not found.doubts()


def test_a_long_feed_of_a_script_for_something_else_is_in_doubt() -> None:
    found = shorten("M83\nG1 E400 F200\n", "script rinse")
    assert found.after == found.before
    assert "made for the old path" in found.doubts()[0]


def test_the_remark_before_a_move_says_what_a_file_of_moves_is_for() -> None:
    script = (
        "(end)\nG90\nG1 Z5\n(load, through 365 mm of tube)\nM83\nG1 E385 F2400\n(unload)\nM83\nG1 E-430\n"
    )
    results = result("", 410, "path.length_old"), result("", 86, "path.length_new")
    found = swap(script, *results, sheet=TUBES, dialect="command")
    assert found.after == script.replace("E385", "E61").replace("E-430", "E-106")
    assert len(found.changed()) == 2 and not found.doubts()


def test_a_load_that_no_longer_reaches_is_in_doubt() -> None:
    results = result("", 79, "path.length_old"), result("", 335, "path.length_new")
    found = swap("M83\nG1 E34\nG1 E50\n", *results, sheet=TUBES, name="script load")
    assert found.after == found.before and "does not reach through the new path" in found.doubts()[0]


def test_a_pull_about_as_long_as_the_old_retraction_is_in_doubt_where_the_new_one_is_far_shorter() -> None:
    script = "M83\nG1 E-3.9 F2100\nG1 E-20\nG1 E3.9\nG1 E-0.5\n"
    doubt, back = swap(script, result("retraction.length", 0.5)).plan.doubts
    assert (doubt.text, back.text) == ("G1 E-3.9 F2100", "G1 E3.9")
    assert "soft filament" in doubt.why
    assert not swap(script, result("retraction.length", 2.5)).plan.doubts
    assert not swap(script, result("retraction.length", 0.5), name="script unload filament").plan.doubts


def test_a_pull_is_in_doubt_too_where_nothing_says_how_the_script_counts() -> None:
    (doubt,) = swap("G1 E-4 F2400\nG1 E12 F300\n", result("retraction.length", 0.5)).plan.doubts
    assert doubt.text == "G1 E-4 F2400" and "pulls back about as far" in doubt.why


def test_a_pull_by_just_the_old_retraction_length_is_in_doubt() -> None:
    found = swap("M83\nG1 E-4.6 F2100\nG1 E-14.7\nG90\nG1 X5 E4.6\n", result("retraction.length", 0.5))
    assert found.after == found.before
    assert [doubt.split(":")[0] for doubt in found.doubts()] == ["4"]


def test_the_other_half_of_a_pull_is_told_though_an_axis_moves_with_it() -> None:
    script = "M83\nG1 E-4.6 F2100\nG91\nG1 Z3 E-3.7 F900\nG1 X40 E4.6\n"
    first, half = swap(script, result("retraction.length", 0.5)).plan.doubts
    assert (first.place.line, half.place.line) == (4, 6) and "pulls back about as far" in half.why


@pytest.mark.parametrize("mode", ["M82\n", ""])
def test_a_pull_to_a_lower_place_is_told_with_the_number_that_it_leaves(mode: str) -> None:
    """Places are counted since a G92 whether or not M82 says so."""
    script = f"{mode}G90\nG92 E0\nG1 E9 F200\nG1 X40 E31\nG1 E26.4 F2100\nG92 E-4.6\n"
    pull, given = swap(script, result("retraction.length", 0.6)).plan.doubts
    assert (pull.text, given.text) == ("G1 E26.4 F2100", "G92 E-4.6")
    assert "write E30.4 here for E26.4" in pull.remedy


def test_a_shorter_feed_behind_a_longer_one_is_no_pull_where_lengths_are_counted() -> None:
    script = "M83\nG92 E0\nG1 X40 E31\nG1 E26.4 F200\nG92 E-4.6\n"
    assert not swap(script, result("retraction.length", 0.6)).plan.doubts


def test_a_feed_longer_than_the_machine_will_allow_is_in_doubt() -> None:
    frame = FRAME + "\n[feeder]\nlongest feed move = 520\n"
    found = swap("M83\nG1 E150\nG1 E90\n", result("feeder.max_feed_length", 120), frame=frame)
    assert [doubt.split(":")[0] for doubt in found.doubts()] == ["4"]


def test_a_long_feed_of_which_nothing_says_how_it_counts_is_in_doubt_too() -> None:
    """A number that is counted from the start of a print (M82) may be any; one that may be a length may not."""
    frame = FRAME + "\n[feeder]\nlongest feed move = 520\n"
    longest = result("feeder.max_feed_length", 120)
    (doubt,) = swap("G1 E150 F300\nG1 E90\n", longest, frame=frame).plan.doubts
    assert "nothing in the script says M82 or M83" in doubt.why and doubt.text == "G1 E150 F300"
    assert not swap("M82\nG1 E150\n", longest, frame=frame).plan.doubts


def test_a_stretch_of_feeds_is_one_question_with_what_each_part_is_too_long_for() -> None:
    """Three feeds without another move between, made for a path of 410 mm; one by itself that is too long."""
    frame = FRAME + "\n[feeder]\nlongest feed move = 520\n"
    found = swap(
        "G91\nM83\nG1 E190\nG1 E160\nG1 E70\nG1 Z5\nG1 E130\n",
        result("", 410, "path.length_old"),
        result("", 86, "path.length_new"),
        result("feeder.max_feed_length", 120),
        sheet=TUBES,
        name="script load",
        frame=frame,
    )
    stretch, alone = found.doubts()
    assert stretch.startswith("5: ") and "3 feeds" in stretch
    assert "; line 6: this feeds 160 mm in one move" in stretch and "line 7" not in stretch
    assert alone.startswith("9: this feeds 130 mm in one move")


# --- whole scripts, against a simulator of their own ----------------------------------------------------------

NUMBERS = st.integers(-50, 300) | st.floats(-50, 300).map(lambda value: round(value, 2))
WORDS = st.tuples(st.sampled_from("XYZZZE"), NUMBERS)


@st.composite
def lines(draw: st.DrawFn) -> str:
    """One line of a script; each of its letters stands in it once."""
    kind = draw(st.sampled_from(["move", "move", "move", "mode", "other"]))
    if kind == "mode":
        return draw(st.sampled_from(["G90", "G91", "M82", "M83", "G92 E0"]))
    if kind == "other":
        return draw(st.sampled_from(["G28", "M104 S200", "; G1 Z255", "G4 P50", "M84", "", "park_head"]))
    words = dict(draw(st.lists(WORDS, min_size=1, max_size=3)))
    gap = draw(st.sampled_from(["", " "]))
    shown = draw(st.sampled_from(["{:g}", "{:.2f}"]))
    text = draw(st.sampled_from(["G1", "g0", "G01"]))
    text += "".join(f" {letter}{gap}{shown.format(number)}" for letter, number in words.items())
    return text + draw(st.sampled_from(["", " ; Z299", " F600"]))


def simulated(script: str, top: float) -> tuple[str, float]:
    """The script with every certain move above `top` (up to `OLD`) sent to it, and the highest absolute z."""
    absolute: bool | None = None
    out, highest = [], -1e9
    for line in script.split("\n"):
        code = line.partition(";")[0].split()
        if code and code[0] in ("G90", "G91"):
            absolute = code[0] == "G90"
        if code and code[0] == "park_head":
            absolute = None
        if code and code[0].upper() in ("G1", "G0", "G01") and absolute:
            joined = line.partition(";")[0].replace("Z ", "Z")
            number = next((word[1:] for word in joined.split() if word[0] == "Z"), None)
            if number is not None and top < float(number) <= OLD:
                decimals = len(number.partition(".")[2])
                line = line.replace(f"Z{number}", f"Z{top:.{decimals}f}", 1)
                line = line.replace(f"Z {number}", f"Z {top:.{decimals}f}", 1)
                number = str(top)
            if number is not None and float(number) <= OLD:
                highest = max(highest, float(number))
        out.append(line)
    return "\n".join(out), highest


@given(st.lists(lines(), min_size=1, max_size=12))
def test_after_the_swap_no_absolute_move_exceeds_the_limit_and_no_other_byte_has_changed(
    script: list[str],
) -> None:
    text = "\n".join(script)
    found = lower(text)
    wanted, highest = simulated(found.before, NEW)
    assert found.after == wanted
    assert highest <= NEW


@given(st.lists(lines(), min_size=1, max_size=12))
def test_a_second_swap_changes_nothing(script: list[str]) -> None:
    once = lower("\n".join(script))
    own_lines = "\n".join(line.strip() for line in once.after.splitlines()[2:])
    assert not lower(own_lines).changed()


# --- speeds ---------------------------------------------------------------------------------------------------


def test_a_feed_faster_than_the_feeder_may_turn_from_now_on_is_told() -> None:
    """F stays in force for the lines after it: 2700 mm/min are 45 mm/s, 240 mm/min are 4 mm/s. What feeds nothing is not fast."""
    frame = FRAME + "\n[feeder]\nmax speed = 70 mm/s\n"
    script = "M83\nG1 E-4 F2700\nG1 E4\nG1 E9 F240\nG1 X20 E1 F3000\nG1 E0 F9000"
    found = swap(script, result("feeder.max_speed", 24, unit="mm/s"), frame=frame)
    told = [doubt for doubt in found.doubts() if "the feeder may turn at 24 mm/s" in doubt]
    (both,) = told
    assert both.startswith("4:") and "likewise line 5" in both and "45 mm/s" in both


def test_a_feed_faster_than_a_drive_on_the_carriage_usually_draws_back_is_a_question_once_a_script() -> None:
    """3200 mm/min are 53.3 mm/s, at 5 mm a turn 10.7 turns of the motor a second; 2400 are 40 mm/s, which is usual."""
    drives = "old: {drive: tube-fed}\nnew: {drive: on the carriage}\n"
    turn = result("", 5, "feeder.travel_per_motor_turn")
    script = "M83\nG1 E40 F3200\nG1 E-9 F2400\nG1 E9 F3000\nG1 X20 E1 F6000"
    (told,) = swap(script, turn, sheet=drives).doubts()
    assert (
        told.startswith("4: this feeds at 53.3 mm/s (10.7 motor turns a second)")
        and "likewise line 6" in told
    )
    assert "usually feeds at 40 mm/s at most" in told
    assert not swap(script, turn, sheet=drives.replace("tube-fed", "on the carriage")).doubts()
    assert not swap(
        script, turn, sheet=drives.replace("carriage}", "carriage, recommended_feed_speed: 60 mm/s}")
    ).doubts()


def test_where_the_feeder_keeps_its_speed_no_script_is_too_fast() -> None:
    assert swap("M83\nG1 E-4 F2700").doubts() == []


def test_a_list_of_texts_is_a_script_with_a_line_each() -> None:
    text = '["M83", "G1 E500 F900",\n  "G1 Z5"]'
    feed, lift = moves(text, "nested")
    assert feed.feed is not None and feed.feed.length == 500 and feed.feed.absolute is False
    assert text[feed.feed.word.start : feed.feed.word.end] == "500"
    assert [target.value for target in lift.targets] == [5]


# --- another letter moves the filament ------------------------------------------------------------------------

LOADING = "(load)\nG91\nG1 A20 F300\nG1 A395 F3000\nG1 A45 F180\nG90\n(pause)\nG91\nG1 A-4.6 F2700\nG1 Z9 F600\nG90\n"


def by_letter(script: str) -> Swapped:
    results = result("", 410, "path.length_old"), result("", 86, "path.length_new")
    return swap(script, *results, sheet=TUBES, dialect="command")


@pytest.mark.parametrize(
    ("before", "behind"),
    [
        ("( A is the feeder. lengths in mm )\nG21\n", ""),
        ("( A = extruder axis )\nG21\n", ""),
        ("", "(begin)\nG1 X90 A15 F900\nG92 A0\n"),
    ],
)
def test_the_files_say_which_letter_moves_the_filament(before: str, behind: str) -> None:
    found = by_letter(before + LOADING + behind)
    assert list(found.changed().values()) == [("395", "71")], (
        "RS-274: G91 is for A as for X, so 395 - (365 - 41)"
    )


def test_a_letter_that_nothing_tells_of_is_no_feed() -> None:
    assert by_letter(LOADING).changed() == {}


def test_where_a_move_has_an_e_that_is_the_feed() -> None:
    found = by_letter("( A is the feeder )\nG21\n" + LOADING + "G1 E4 F300\n")
    assert found.changed() == {}


def test_two_letters_that_may_be_the_feed_are_none() -> None:
    found = by_letter(LOADING + "(begin)\nG1 B5\nG92 A0\nG92 B0\n")
    assert found.changed() == {}


def test_a_pull_by_the_old_retraction_is_told_whatever_its_letter() -> None:
    data = ("( A is the feeder )\nG21\n" + LOADING).encode()
    machine = recognise([read("a.conf", FRAME.encode(), "sectioned"), read("b.nc", data, "command")])
    doubts = [*retraction_doubts(scripts_of(machine), {4.6: 0.6})]
    assert [doubt.text for doubt in doubts] == ["G1 A-4.6 F2700"]


def test_the_letter_of_the_drives_own_values_is_the_scripts_too() -> None:
    """Values that are told by a site file: no remark says what A is."""
    site = parse_site(b"site: 1\ncodes:\n  M933.A: {quantity: feeder.steps_per_mm}\n", "cfgmigrate.yaml")
    data = ("M933 X84 Y86 Z410 A92\n" + LOADING).encode()
    assert feed_letter(recognise([read("b.nc", data, "command")])) == "E"
    assert feed_letter(recognise([read("b.nc", data, "command")], names_said(None, site))) == "A"


STOPPED = (
    FRAME
    + """
[axis y]
lowest point = -5
highest spot = 231
end stop position = 231
"""
)


@pytest.mark.parametrize("also", [(), (result("axis.y.max", 231),)], ids=["silent", "as it was"])
def test_what_goes_beyond_a_limit_that_is_set_by_hand_is_told_and_not_written(
    also: tuple[Result, ...],
) -> None:
    hand = result("", 225, "protected.end_stop_y", of="was.end_stop.y")  # the tip has moved by −6 mm: 231 − 6
    found = swap("G90\nG1 Y220 F6000\nG1 Y228 F6000\n", hand, *also, frame=STOPPED)
    assert found.changed() == {}
    (doubt,) = [each for each in found.doubts() if "goes to 228 mm" in each]
    assert doubt.startswith("5: ") and "225 mm once its end stop is set by hand" in doubt


def test_a_switch_that_is_moved_with_the_tip_leaves_the_limit_where_it_is() -> None:
    """The figure is the way that the switch is moved: counted from it, the tip's lowest place is the old one."""
    low = FRAME.replace("highest spot = 262", "highest spot = 262\nlowest point = 0\nend stop position = 0")
    by_hand = result("", 2.3, "protected.end_stop_z", of="carriage.nozzle_shift.z")
    assert swap("G90\nG1 Z0.3 F600\n", by_hand, frame=low).doubts() == []
    place = result("", 2.3, "protected.end_stop_z", of="was.end_stop.z")
    assert swap("G90\nG1 Z0.3 F600\n", place, frame=low).doubts() != []


def test_beyond_a_low_limit_is_told_as_below_it() -> None:
    hand = result("", 1, "protected.end_stop_y", of="was.end_stop.y")  # the tip has moved by 6 mm: −5 + 6
    low = STOPPED.replace("end stop position = 231", "end stop position = -5")
    (doubt,) = swap("G90\nG1 Y0 F6000\n", hand, frame=low).plan.doubts
    assert "y goes to 0 mm here, and not below 1 mm once its end stop is set" in doubt.why
    assert doubt.remedy.endswith("so that y is not below 1 mm.")


def test_a_mode_that_an_unknown_line_put_in_doubt_is_not_told_as_one_that_nobody_said() -> None:
    (doubt,) = lower("G90\nheat tip 205\nG1 Z255 F600\n").doubts()
    assert doubt.startswith(
        "5: this may be absolute (G90) or relative (G91), since it is not known what a line does"
    )
    (doubt,) = lower("heat tip 205\nG1 Z255 F600\n").doubts()
    assert "nothing in the script says whether" in doubt


def test_a_limit_that_widens_by_hand_takes_nothing() -> None:
    hand = result("", 237, "protected.end_stop_y", of="was.end_stop.y")
    assert swap("G90\nG1 Y228 F6000\n", hand, frame=STOPPED).doubts() == []


def test_what_brings_back_a_pull_in_doubt_is_named_in_whatever_script_it_stands() -> None:
    told = {"park.nc": "M83\nG1 E-4.5 F2700\nG1 X5\n", "go_on.nc": "M83\nG1 X5\nG1 E4.5 F1800\nG1 E8\n"}
    machine = recognise(
        [
            read("a.conf", FRAME.encode(), "sectioned"),
            *(read(path, text.encode(), "command") for path, text in told.items()),
        ]
    )
    doubts = {each.place.file: each for each in retraction_doubts(scripts_of(machine), {5.2: 0.5})}
    assert doubts.keys() == told.keys() and doubts["go_on.nc"].text == "G1 E4.5 F1800"
    assert "park.nc:2 pulls back" in doubts["go_on.nc"].why


def test_what_softens_the_filament_before_it_is_taken_out_brings_no_pull_back() -> None:
    told = {
        "park.nc": "M83\nG1 E-4.5 F2700\nG1 X5\n",
        "out.nc": "; unload\nM83\nG1 E4.5 F300\nG1 E-400 F1800\n",
    }
    machine = recognise([read(path, text.encode(), "command") for path, text in told.items()])
    doubts = list(retraction_doubts(scripts_of(machine), {5.2: 0.5}))
    assert {each.place.file for each in doubts} == {"park.nc"}


@pytest.mark.parametrize(
    ("text", "dialect"),
    [
        ("[reel]\nname = grey\nfinish with = G1 E-5 F1800\n", "sectioned"),
        ('reel:\n  name: grey\n  when done: "G1 E-5 F1800 ; out of the tip"\n', "nested"),
    ],
)
def test_a_move_alone_is_a_script_whatever_its_setting_is_called(text: str, dialect: str) -> None:
    machine = recognise([read("grey", text.encode(), dialect)])
    (doubt,) = retraction_doubts(scripts_of(machine), {5.2: 0.5})
    assert doubt.place.line == 3 and "pulls back" in doubt.why


@pytest.mark.parametrize("value", ["M3 x10", "G1 of two", "G28", "X5 Y6", "G1 E-5 and back"])
def test_a_single_line_that_is_no_whole_move_is_no_script(value: str) -> None:
    machine = recognise([read("grey", f"[reel]\nfinish with = {value}\n".encode(), "sectioned")])
    assert not scripts_of(machine)


WIPING = "; rubber {thing} on the post\nG90\nG1 X12 F7200\nG1 X-3 F3600\nG1 X12 F3600\n"


@pytest.mark.parametrize(("thing", "told"), [("lip", True), ("brush", True), ("mark", False)])
def test_what_a_move_goes_to_meet_is_told_to_be_out_of_reach(thing: str, told: bool) -> None:
    found = swap(WIPING.format(thing=thing), result("axis.x.min", 5.5))
    assert found.changed() == {"script.end.x_low": ("-3", "5.5")}
    said = [
        each
        for each in found.doubts()
        if f"speaks of the {thing}" in each and "out of reach by 8.5 mm" in each
    ]
    assert bool(said) is told


@pytest.mark.parametrize(
    ("mode", "said"), [("G91\n", "G91 stands before it and holds for the feed too"), ("", "M82, M83, G92")]
)
def test_a_feed_of_unknown_mode_says_what_would_tell_it(mode: str, said: str) -> None:
    found = shorten(f"{mode}G1 E25 F300\nG1 E410 F3300\nG1 X10\n")
    assert not found.changed()
    assert [each for each in found.doubts() if said in each]


def test_and_with_that_it_is_read() -> None:
    assert shorten("G91\nM83\nG1 E25 F300\nG1 X10\nG1 E410 F3300\nG1 X10\n").changed()


# --- a tube that is gone -------------------------------------------------------------------------------------

#: 18 + 350 + 52 mm for a path of 410 mm, of which 86 mm are left: 420 less 324 are 96
IN_PARTS = "G1 E18 F300\nG1 E350 F3100\nG1 E52 F220\n"


@pytest.mark.parametrize("mode", ["", "G91\n", "M83\n"])
def test_a_feed_through_a_tube_that_is_gone_is_told_to_be_needed_no_further_than_the_new_path(
    mode: str,
) -> None:
    (told,) = shorten(mode + IN_PARTS).doubts()
    assert "come to 420 mm, made for the old path" in told
    (remedy,) = (each.remedy for each in shorten(mode + IN_PARTS).plan.doubts)
    assert remedy.startswith("Write 26 here by hand, for 350.") and "96 mm are enough" in remedy


@pytest.mark.parametrize(
    ("script", "said"),
    [
        (  # 20 + 420 + 50 for 465 mm, of which 85 are left: 490 less 380 are 110, so 40 are left of the 420
            "M82\nG92 E0\nG1 E20 F300\nG1 E440 F3000\nG1 E490 F200\nG92 E0\n",
            "Write E60 for E440 here by hand, and E110 for E490 in line 7: these are places, not lengths.",
        ),
        (
            "M82\nG92 E0\nG1 E10 F300\nG1 E410 F3000\nG92 E0\nG1 E60 F200\n",
            "Write E30 for E410 here by hand: these are places, not lengths.",
        ),
        (
            "M82\nG92 E0\nG1 E20 F300\nG1 E440 F3000\nG1 E490 F200\nG1 X5\nG1 E488 F200\n",
            "in line 7, and all that stands behind them and counts from the same zero changed by -380 too:",
        ),
        (
            "M82\nG92 E0\nG1 E60 F300\nG1 E440 F3000\nG1 E490 F200\nG92 E0\n",
            "the other feeds of this stretch come to 110 mm. Write E110 for E490 in line 7: these are places",
        ),
        (
            "M82\nG92 E0\nG1 E-20 F300\nG1 E-440 F3000\nG1 E-490 F200\nG92 E0\n",
            "Write E-60 for E-440 here by hand, and E-110 for E-490 in line 7: these are places",
        ),
        ("M83\nG1 E10 F300\nG1 E400 F3000\nG1 E60 F200\n", "Write 20 here by hand, for 400."),
    ],
    ids=["places", "another zero behind", "goes on", "no longer needed", "pulled", "lengths"],
)
def test_of_absolute_feeds_the_places_are_named_that_stand_there_and_are_to_stand_there(
    script: str, said: str
) -> None:
    remedies = [each.remedy for each in shorten(script, old=465, new=85).plan.doubts]
    assert any(said in each for each in remedies), remedies


def test_where_the_other_moves_reach_from_bite_to_tip_the_one_through_the_tube_is_no_longer_needed() -> None:
    """9 forward, then 14 + 90 + 380 back: 475 for 410; of 86 mm now, the others pull 95."""
    found = shorten("G1 E9 F300\nG1 E-14 F2200\nG4 P900\nG1 E-90 F500\nG1 E-380 F2300\n", "script unload")
    (told,) = found.plan.doubts
    assert not found.changed() and told.text == "G1 E-380 F2300"
    assert told.remedy.startswith("Take this move out by hand, it is no longer needed")
    assert "come to 95 mm" in told.remedy and "151 mm are enough" in told.remedy


def test_a_move_to_be_taken_out_is_not_told_to_be_slower() -> None:
    drives = "old: {drive: tube-fed, tube: {length: 365 mm}}\nnew: {drive: on the carriage, tube: {length: 41 mm}}\n"
    path = result("", 410, "path.length_old"), result("", 86, "path.length_new")

    def said(feeds: str) -> list[str]:
        plan = swap(f"M83\n{feeds}", *path, sheet=drives, name="script unload").plan
        return [f"{each.text}: {each.remedy[:8]}" for each in plan.doubts]

    assert said("G1 E-95\nG1 E-330 F3000\n") == ["G1 E-330 F3000: Take thi"]
    assert said("G1 E-50\nG1 E-350 F3000\n") == ["G1 E-350 F3000: Write -3", "G1 E-350 F3000: Write F2"]


def test_what_comes_to_two_old_paths_is_no_move_through_one_tube() -> None:
    (told,) = shorten("M83\nG1 E400\nG1 E400").plan.doubts
    assert told.remedy.startswith("Change it by hand")


def test_a_move_to_another_place_does_not_go_to_what_the_line_above_it_meets() -> None:
    """The line above wipes at x = 236; this one goes on to x = 233, and the one behind it wipes again."""
    script = "G90\nG1 X236 F7000 ; brush on the post\nG1 X233 F7000 ; out of the way\nG1 X236 F7000\n"
    (met,) = [each for each in swap(script, result("axis.x.max", 230)).doubts() if "the brush" in each]
    assert met.startswith("4:") and "236 mm" in met and "likewise line 6" in met


def test_of_a_script_that_changes_filament_no_half_is_written() -> None:
    """Filament that goes out by the new way and comes in by the old one is pushed into the hot end; with nothing but a pause
    between the two ways are told apart."""
    out = "M83\nG1 E5 F300\nG1 E-430 F2400\nM0\n"
    both = shorten(f"{out}G1 E430 F1800\n", "filament change")
    assert "E-106" in both.after and "E106" in both.after
    half = shorten(f"{out}G1 E350 F1800\nG1 E60 F300\n", "filament change")
    assert half.after == half.before
    said = half.doubts()
    assert any("2 feeds without another move between come to 410 mm" in each for each in said)
    assert any("it is not written, since line 7 of the same script is a question" in each for each in said)
