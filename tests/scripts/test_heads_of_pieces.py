"""A remark begins another piece of a script where it names one, and not where it only tells something."""

from __future__ import annotations

import pytest

from cfgmigrate.scripts.heads_of_pieces import occasion_named


@pytest.mark.parametrize(
    ("remark", "occasion"),
    [
        ("(end)", "script.end"),
        ("; ==== 1 WAKE UP (before each print) ====", "script.start"),
        ("(load, through 410 mm of tube)", "script.load"),
        ("; this is what runs at the end", "script.end"),
        ("; end of the print, the bed is still warm then", "script.end"),
        ("; this is what is sent at the end of every print", "script.end"),
        ("; this is what is run to unload filament, hot", "script.unload"),
        ("; the brush is clamped on the beam's left end plate", ""),
        ("; the lamp stands behind the end switch here", ""),
    ],
)
def test_a_sentence_with_the_word_in_its_midst_is_no_head(remark: str, occasion: str) -> None:
    assert occasion_named(remark) == occasion
