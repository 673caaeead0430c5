"""What went wrong, told as a part of a longer sentence."""

from __future__ import annotations

import pytest

from cfgmigrate.ground.findings import BadInput, Place, Refused, in_one_line


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (BadInput("no such unit", Place("a.conf", 3), "Write mm."), "a.conf:3: no such unit"),
        (Refused("two\n  lines."), "two lines"),
        (ValueError(), "ValueError"),
        (ValueError("word " * 100), f"{('word ' * 40).strip()} …"),
    ],
)
def test_an_error_within_a_sentence_is_one_line_without_what_to_do_elsewhere(
    error: Exception, said: str
) -> None:
    assert in_one_line(error) == said
