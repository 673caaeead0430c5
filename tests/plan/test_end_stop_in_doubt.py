"""Where the tip's shift takes an end stop beyond what was measured to be in the way, nobody is told to add it."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api

HEADER = "#define X_END_STOP {}\n#define LOWEST_X {}\n#define HIGHEST_X 250.0\n"
SHEET = (
    "new: {{drive: on the carriage}}\n"
    "carriage: {{nozzle_shift: {{x: {} mm, y: 0 mm, z: 0 mm}}}}\n"
    "clearance: {{keep_clear: 0 mm, lowest_x: {} mm, highest_x: 244 mm}}\n"
)


def steps_and_limits(folder: Path, stop: str, shift: str, lowest: str) -> tuple[list[str], set[str]]:
    (folder / "m").mkdir()
    (folder / "m" / "a.h").write_text(HEADER.format(stop, stop))
    (folder / "m" / "cfgmigrate.yaml").write_text("site: 1\nmeanings:\n  X_END_STOP: end_stop.x\n")
    (folder / "s.yaml").write_text(SHEET.format(shift, lowest))
    plan = api.work_out(folder / "m", folder / "s.yaml").plan
    told = [
        "\n".join((item.what, *item.steps)) for item in plan.by_hand if "end stop" in item.label and item.rule
    ]
    return told, {change.quantity for change in plan.changes}


def test_nothing_is_added_to_an_end_stop_that_would_lie_beyond_what_touches(tmp_path: Path) -> None:
    """Found in a made-up folder, whose motor would have been driven into a post at homing."""
    (told,), changed = steps_and_limits(tmp_path, "-3.0", "-6", "-4")
    assert "Add nothing" in told and "a.h:1" in told and "-9" not in told
    assert "axis.x.min" not in changed  # -4 lies beyond the limit of -3


def test_the_shift_is_added_where_nothing_is_in_the_way(tmp_path: Path) -> None:
    (told,), _ = steps_and_limits(tmp_path, "-3.0", "-6", "-9.5")
    assert "Add −6 mm" in told and "becomes -9" in told


def checklist(folder: Path, shift: str, lowest: str) -> str:
    steps_and_limits(folder, "-3.0", shift, lowest)
    api.prepare([folder / "m"], folder / "s.yaml", out=folder / "packet")
    return (folder / "packet" / "checklist.md").read_text(encoding="utf-8")


def test_a_doubted_end_stop_is_settled_by_hand_and_unplugged_and_never_by_homing(tmp_path: Path) -> None:
    """The question said to home x first, which is what its own step forbids."""
    text = checklist(tmp_path, "-6", "-4")
    (settle,) = [line for line in text.split("\n") if "Settle the question" in line and "x end stop" in line]
    assert "unplugged, push the carriage by hand until the x switch acts" in settle
    assert "With x and y homed" not in settle
    by_hand = text.split("## 4.", 1)[1].split("## 5.", 1)[0]
    assert by_hand.index("do not home x") < by_hand.index("**stop here**: x is not to be homed")


def test_an_axis_whose_end_stop_is_in_doubt_is_homed_on_a_condition_alone(tmp_path: Path) -> None:
    text = checklist(tmp_path, "-6", "-4")
    (home,) = [line for line in text.split("\n") if "Home x and y only" in line]
    assert "with a hand at the switch; x only if H" in home
    assert "With x homed and the nozzle clear" in text.split("Home x and y only", 1)[1]


def test_an_axis_with_no_doubt_is_homed_on_no_condition(tmp_path: Path) -> None:
    text = checklist(tmp_path, "-6", "-9.5")
    assert "one after the other, with a hand at the switch.\n" in text and "stop here**: x" not in text
