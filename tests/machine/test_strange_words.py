"""Words that nobody knows, cut as a person would teach them."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.strange_words import Cuts, is_strange, runs_of


@pytest.mark.parametrize(
    ("piece", "strange"),
    [("zum", True), ("zumklo", True), ("qz", True), ("q", False), ("12", False), ("speed", False), ("accel", False),
     ("spds", False), ("retraction", False)],
)  # fmt: skip
def test_a_word_is_strange_that_is_none_of_the_trade_and_short_for_none(piece: str, strange: bool) -> None:
    assert is_strange(piece) is strange


@pytest.mark.parametrize(
    ("pieces", "runs"),
    [
        (("zum", "klo", "x"), [("zum", "klo")]),
        (("zum", "speed", "klo"), [("zum",), ("klo",)]),
        (("speed", "zum"), [("zum",)]),
        (("speed", "max"), []),
        ((), []),
        (("zum", "", "klo"), [("zum",), ("klo",)]),
    ],
)
def test_strange_words_side_by_side_are_one_run(pieces: tuple[str, ...], runs: list[tuple[str, ...]]) -> None:
    assert list(runs_of(pieces)) == runs


@pytest.mark.parametrize(
    ("runs", "run", "words"),
    [
        ([("zum", "klo")], ("zum", "klo"), [("zum", "klo")]),
        ([("zum", "klo"), ("zum", "dub")], ("zum", "klo"), [("zum",), ("klo",)]),
        ([("zum", "klo"), ("dub", "klo")], ("zum", "klo"), [("zum",), ("klo",)]),
        ([("zum", "klo"), ("zum",)], ("zum", "klo"), [("zum",), ("klo",)]),
        ([("zum", "klo"), ("klo",)], ("zum", "klo"), [("zum",), ("klo",)]),
        ([("zum", "klo"), ("zum", "klo")], ("zum", "klo"), [("zum", "klo")]),
        ([("zum", "klo", "dub"), ("dub",)], ("zum", "klo", "dub"), [("zum", "klo"), ("dub",)]),
        ([("zum", "klo", "dub"), ("zum",)], ("zum", "klo", "dub"), [("zum",), ("klo", "dub")]),
        ([("zum",)], ("zum",), [("zum",)]),
    ],
)
def test_two_that_always_stand_together_are_one_word(
    runs: list[tuple[str, ...]], run: tuple[str, ...], words: list[tuple[str, ...]]
) -> None:
    assert list(Cuts(runs).words(run)) == words
