"""Each part of a measured sheet is heard of again: as a value, as a step by hand, or as a question that says why neither."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.workflow.tune import work_out_tuning

FILES = (
    "[feeder]\nsteps per mm = 1061\nmicrosteps = 16\n[retraction]\nlength = 0.8\n[axis z]\nhighest = 232\n"
)


@pytest.mark.parametrize(
    ("part", "why"),
    [
        ("feed: {at_steps_per_mm: 1061 1/mm, asked: 100 mm, moved: [98.4 mm, 98.6 mm, 98.5 mm]}", ""),
        (
            "feed: {at_steps_per_mm: 1061 1/mm, moved: [98.4 mm, 98.6 mm, 98.5 mm]}",
            "measured.feed says too little",
        ),
        ("feed: {at_steps_per_mm: 1061 1/mm}", ""),
        ("lag: {best: 0.045 s}", ""),
        ("lag: {start: 0.045 s}", "measured.lag says too little"),
        (
            "retraction: {start: 0 mm, step: 0.2 mm, best_band: 5}",
            "retraction length was measured: already 0.8",
        ),
        ("resonance: {x: 48 Hz}", "X resonance was measured: no file sets it"),
        ("winding: {cold_resistance: 2.6 ohm}", "measured.winding says too little"),
        (
            "current: {share: 60 %}",
            "measured.current is taken together with new.motor.rated_current, and no swap sheet says that",
        ),
    ],
)
def test_a_part_of_which_nothing_comes_is_a_question(tmp_path: Path, part: str, why: str) -> None:
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "hen.conf").write_text(FILES)
    (tmp_path / "s.yaml").write_text(f"measured:\n  z: {{highest: 230 mm}}\n  {part}\n")
    plan = work_out_tuning([tmp_path / "m"], tmp_path / "s.yaml").plan
    found = [each.why for each in plan.doubts if each.place.line == 3]
    assert [each.startswith(why) for each in found] == [True] * bool(why)
