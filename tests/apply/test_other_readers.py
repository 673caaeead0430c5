"""A file that several machines read, edited by the packet of one: who else names it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.apply.other_readers import other_readers


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("reel = ../shared/slate grey.txt", True),
        ("include ../shared/slate grey.txt", True),
        ('"reel": "shared/slate grey.txt",', True),
        ("reel = ../lent/slate grey.txt", False),
        ("# reel = ../shared/slate grey.txt", False),
        ("ask Io for ../shared/slate grey.txt", False),
        ("reel = ../shared/slate grey.txt.old", False),
        ("# include ../shared/slate grey.txt", False),
        ("12:30 loaded ../shared/slate grey.txt", False),
    ],
)
def test_a_line_of_another_machine_s_file_that_takes_it_in_is_told(
    line: str, named: bool, tmp_path: Path
) -> None:
    texts = {
        "hall/hall.txt": line,
        "hall/hall before.txt": line,
        "loft/loft.txt": line,
        "shared/slate grey.txt": "x = 1",
    }
    for path, text in texts.items():
        (tmp_path / path).parent.mkdir(exist_ok=True)
        (tmp_path / path).write_text(f"a = 1\n{text}\n")
    found = other_readers(tmp_path, ["shared/slate grey.txt"], ["loft/loft.txt"])
    assert found == ({"shared/slate grey.txt": ("hall/hall.txt:2",)} if named else {})
