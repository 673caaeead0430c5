"""Where nothing in a sheet tells old files from new ones, and values are moved from what the files hold."""

from __future__ import annotations

from rulebench import work_out_given

ONCE = "carried out a second time"
SHIFTED = {"was.probe.offset_x": "-28", "carriage.nozzle_shift.x": "1.5 mm"}


def doubts(given: dict[str, str]) -> list[str]:
    return [doubt.why for doubt in work_out_given(given).doubts if ONCE in doubt.why]


def test_a_sheet_that_only_moves_what_the_files_hold_says_that_it_may_be_carried_out_once() -> None:
    (why,) = doubts(SHIFTED)
    assert "probe X offset" in why


def test_a_sheet_with_a_figure_of_the_new_drive_can_tell() -> None:
    assert not doubts({**SHIFTED, "was.feeder.feed_per_turn": "23.4", "new.feed_per_turn": "4.15 mm"})


def test_a_sheet_that_moves_nothing_has_nothing_to_tell() -> None:
    assert not doubts({"was.probe.offset_x": "-28", "carriage.nozzle_shift.x": "0 mm"})
