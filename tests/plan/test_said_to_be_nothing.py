"""Who says that a line is nothing silences its question, and not the line where it tells of the old drive."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT

FILE = """\
feed_fine 16
feed_per_turn_mm 32.2
feed_ratio 1
feed_trim_v 0.95
retract_mm 6.2
drive_to_tip 560
hall 3
"""
SHEET = """\
old: {drive: tube-fed}
new:
  drive: on the carriage
  path_as_before: no
  drive_gear: {effective_diameter: 8.1 mm, gear_ratio: "47:10"}
  path_length: 64 mm
  motor: {rated_current: 0.8 A, step_angle: 1.8 deg}
  driver: {set_by: screw, volts_per_amp: 0.9 V/A}
"""


def told(folder: Path, *nothing: str) -> dict[int, str]:
    """What is said by hand of each line."""
    (folder / "tern").mkdir()
    (folder / "tern" / "tern.txt").write_text(FILE)
    meanings = "".join(f"  {name}: ignore\n" for name in nothing)
    (folder / "tern" / "cfgmigrate.yaml").write_text(f"site: 1\nmeanings:\n{meanings}")
    (folder / "swap.yaml").write_text(SHEET)
    plan = api.prepare(folder / "tern", folder / "swap.yaml", out=folder / "packet", browsed=False).plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    return {int(step.split(":")[1]): step for step in steps}


@pytest.mark.parametrize(
    ("name", "line", "says"),
    [
        ("feed_trim_v", 4, "it is 0.468 V now"),
        ("retract_mm", 5, "its words are those of retraction length"),
        ("drive_to_tip", 6, "from bite to tip it is 64 mm now"),
    ],
)
def test_a_line_of_the_old_drive_is_told_though_it_is_said_to_be_nothing(
    name: str, line: int, says: str, tmp_path: Path
) -> None:
    """0.9 V/A at 0.65 of 0.8 A is 0.468 V."""
    assert says in told(tmp_path, name)[line]


def test_a_twin_that_is_said_to_be_nothing_is_told_by_its_name_or_by_words_and_a_near_number(
    tmp_path: Path,
) -> None:
    files = tmp_path / "tern"
    files.mkdir()
    (files / "a.txt").write_text(
        "read after this = b.txt\nfs = 196.2\nfr = 6\nlast pull home = 5.6\nhoist reach = 97\nrp = 6\nload length = 690\nsteps mm = 80\n"
    )
    (files / "b.txt").write_text(
        "feeder microsteps = 16\nfeeder full steps = 200\nfs = 197\nfr = 5.5\nretract length = 5.5\nput in fast = 690\nput in fast speed = 70\n"
    )
    (files / "cfgmigrate.yaml").write_text(
        'site: 1\nmeanings: {fs: feeder.steps_per_mm, "b.txt fr": ignore, "a.txt fs": ignore, "last pull home": ignore, '
        '"hoist reach": ignore, rp: ignore, "steps mm": ignore, "put in fast": ignore}\n'
    )
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(files, tmp_path / "swap.yaml", out=tmp_path / "packet", browsed=False).plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    assert any(
        each.startswith("a.txt:2: fs = 196.2 (you said that it is nothing, but it has the same name")
        for each in steps
    )
    assert any(
        each.startswith("a.txt:4: ") and "its number is close to that of the retraction length" in each
        for each in steps
    )
    assert any("put in fast speed = 70 (named after put in fast, which changes" in each for each in steps)
    assert not any(each.startswith(("a.txt:5", "a.txt:6", "a.txt:8")) for each in steps)


def test_a_line_of_nothing_that_changes_stays_silent(tmp_path: Path) -> None:
    assert not {1, 7} & told(tmp_path, "hall", "feed_fine").keys()


@pytest.mark.parametrize("said", [False, True])
def test_a_lone_0_is_offered_to_be_left_off_and_is_no_question_once_that_is_said(
    tmp_path: Path, said: bool
) -> None:
    files = tmp_path / "churn"
    (files / "plastics").mkdir(parents=True)
    (files / "churn.txt").write_text(
        "x_max_mm = 200\ny_max_mm = 200\nfeeder_steps_per_mm = 97\nlag_s = 0.5\n"
    )
    (files / "plastics" / "foam.txt").write_text("nozzle_c = 220\nbed_c = 50\nlag_s = 0\n")
    own = ', "plastics/foam.txt lag_s": ignore' if said else ""
    site = f'site: 1\nroles: {{plastics/foam.txt: profile}}\nmeanings: {{"lag_s": lag.coefficient{own}}}\n'
    (files / "cfgmigrate.yaml").write_text(site)
    (tmp_path / "swap.yaml").write_text(
        "old: {drive: tube-fed}\nnew: {drive: on the carriage, recommended_lag: 0.03 s}\n"
    )
    doubts = api.work_out(files, tmp_path / "swap.yaml").plan.doubts
    told = [each.remedy for each in doubts if each.place.file == "plastics/foam.txt" and "off" in each.why]
    assert len(told) == (not said)
    assert all('{"plastics/foam.txt lag_s": ignore}' in each for each in told)
