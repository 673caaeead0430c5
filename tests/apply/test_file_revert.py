"""Of several steps on one value a conflict says what an answer puts back: what stood before the oldest of them."""

from __future__ import annotations

from cfgmigrate.apply.file_revert import Answers, Returning
from cfgmigrate.plan.edits import FileStep, Span

NAME = "retraction.length"


def step(old: bytes, new: bytes) -> FileStep:
    before, after = (b"# reel\npull = " + each for each in (old, new))
    span = Span(NAME, 14, len(before) - 1, 14, len(after) - 1)
    return FileStep("reel.ini", "flat", before, after, (span,))


WAY = (step(b"0.80\n", b"0.60\n"), step(b"0.45\n", b"0.80\n"), step(b"4.8\n", b"0.45\n"))


def test_a_conflict_over_several_steps_names_the_value_that_force_puts_back() -> None:
    asked, forced = (Returning("reel.ini", b"# reel\npull = 0.7\n") for _ in range(2))
    for each in WAY:
        asked.take_back(each, Answers())
        forced.take_back(each, Answers(force=frozenset((NAME,))))
    (conflict,) = asked.conflicts()
    assert (conflict.old, conflict.installed, conflict.present) == ("4.8", "0.60", "0.7")
    assert [each.old for each in forced.restored()] == ["4.8"]


def test_a_conflict_in_a_file_that_is_gone_says_what_stood_there() -> None:
    gone = Returning("reel.ini", None)
    gone.take_back(WAY[0], Answers())
    (conflict,) = gone.conflicts()
    assert (conflict.old, conflict.installed, conflict.present) == ("0.80", "0.60", None)
