"""Moves of scripts beyond a limit that gets tighter: which are written, and which are asked about."""

from __future__ import annotations

import pytest
from scriptbench import FRAME, OLD, lower, result, swap

from cfgmigrate.rules.result import Result


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


@pytest.mark.parametrize(
    ("no_line_of", "stands", "goes_to", "asked"),
    [
        ("lowest point = -5\n", -5, -3, True),
        ("lowest point = -5\n", -5, 3, False),
        ("highest spot = 231\n", 231, 230, False),
        ("highest spot = 231\n", 231, 236, False),
    ],
)
def test_where_no_line_has_the_end_at_an_end_stop_its_place_is_that_end(
    no_line_of: str, stands: int, goes_to: int, asked: bool
) -> None:
    hand = result("", stands + 6, "protected.end_stop_y", of="was.end_stop.y")
    frame = STOPPED.replace(no_line_of, "").replace("position = 231", f"position = {stands}")
    found = swap(f"G90\nG1 Y{goes_to} F6000\n", hand, frame=frame)
    assert found.changed() == {}
    assert bool([each for each in found.doubts() if "not below 1 mm once its end stop" in each]) is asked
    assert asked or found.doubts() == []


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


WIPING = "; rubber {thing} on the post\nG90\nG1 X12 F7200\nG1 X-3 F3600\nG1 X12 F3600\n"


@pytest.mark.parametrize(("thing", "told"), [("lip", True), ("brush", True), ("mark", False)])
def test_what_a_move_goes_to_meet_is_told_to_be_out_of_reach_and_the_move_is_not_changed(
    thing: str, told: bool
) -> None:
    found = swap(WIPING.format(thing=thing), result("axis.x.min", 5.5))
    assert found.changed() == ({} if told else {"script.end.x_low": ("-3", "5.5")})
    said = [
        each
        for each in found.doubts()
        if f"speaks of the {thing}" in each and "out of reach by 8.5 mm" in each
    ]
    assert bool(said) is told


def test_strokes_back_to_what_is_met_are_not_changed_either_and_a_move_elsewhere_is() -> None:
    script = WIPING.format(thing="brush") + 9 * "G4 P10\n" + "G1 X-3\nG1 X12\n"
    found = swap(script, result("axis.x.min", 5.5))
    assert found.changed() == {}
    assert [each for each in found.doubts() if "brush" in each and "likewise line" in each]
    elsewhere = WIPING.format(thing="brush").replace("X-3", "Y-3") + 9 * "G4 P10\n" + "G1 X2\n"
    assert swap(elsewhere, result("axis.x.min", 5.5)).changed() == {"script.end.x_low": ("2", "5.5")}


def test_a_move_to_another_place_does_not_go_to_what_the_line_above_it_meets() -> None:
    """The line above wipes at x = 236; this one goes on to x = 233, and the one behind it wipes again."""
    script = "G90\nG1 X236 F7000 ; brush on the post\nG1 X233 F7000 ; out of the way\nG1 X236 F7000\n"
    (met,) = [each for each in swap(script, result("axis.x.max", 230)).doubts() if "the brush" in each]
    assert met.startswith("4:") and "236 mm" in met and "likewise line 6" in met


def test_a_height_beyond_the_new_end_goes_to_it_whatever_is_met_there() -> None:
    """At the old height the machine would run into its end: the lower one is right, and what is missed there is told."""
    script = "G90\nG1 X12 F7200\nG1 Z224 F700 ; up, to the brush\n"
    found = swap(script, result("axis.z.max", 220))
    assert found.changed() == {"script.end.z": ("224", "220")}
    assert not [each for each in found.doubts() if "was not changed" in each]
