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
    """Found in a folder of a user, whose motor would have been driven into a post at homing."""
    (told,), changed = steps_and_limits(tmp_path, "-3.0", "-6", "-4")
    assert "Add nothing" in told and "a.h:1" in told and "-9" not in told
    assert "axis.x.min" not in changed  # -4 lies beyond the limit of -3


def test_the_shift_is_added_where_nothing_is_in_the_way(tmp_path: Path) -> None:
    (told,), _ = steps_and_limits(tmp_path, "-3.0", "-6", "-9.5")
    assert "Add −6 mm" in told and "becomes -9" in told
