"""Lines in codes of their owner's own: each number belongs to the words before it."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.own_lines import own_lines


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("K-6 V3600   ; a short pull", [("k", -6.0), ("v", 3600.0)]),
        ("K-6V3600", [("k", -6.0), ("v", 3600.0)]),
        ("SHOVE 540 @ 20", [("shove", 540.0), ("@", 20.0)]),
        ("rise to = 310", [("rise to", 310.0)]),
        ("go K25 V-3", [("k", 25.0), ("v", -3.0)]),
        ("!current wire 0.90", [("current wire", 0.9)]),
        ("L1 K-{out.far} V{out.quick}", [("l", 1.0), ("k", None), ("v", None)]),
        ("wait 3a 4.5.6", [("wait", None)]),
        ("; K-6", []),
    ],
)
def test_a_number_goes_with_the_words_before_it(line: str, words: list[tuple[str, float | None]]) -> None:
    (found,) = own_lines(line)
    assert [(each.word, each.value) for each in found.words] == words
    assert all(line[each.start : each.end] == each.text for each in found.words)


def test_a_code_that_begins_a_line_tells_its_letters_apart() -> None:
    told = {"l1 k": "filament in", "k": "nothing"}
    first, second = own_lines("L1 K4\nL2 K4\n")
    assert [line.meaning(line.words[1], told) for line in (first, second)] == ["filament in", "nothing"]
    assert (first.number, second.number) == (1, 2)
    (third,) = own_lines("go K4")
    assert third.meaning(third.words[0], {"go k": "filament in"}) == "filament in"
