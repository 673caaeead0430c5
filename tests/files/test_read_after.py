"""Which file is read after which, by what its lines and remarks say."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.flat import read
from cfgmigrate.files.read_after import read_after


@pytest.mark.parametrize(
    ("one", "other", "order"),
    [
        ("read after this = other.txt", "w = 2", "one other"),
        ("then = other.txt", "w = 2", "one other"),
        ("last = other.txt", "w = 2", "one other"),
        ("w = 1", "# short. counts after his", "one other"),
        ("w = 1", "# this file is read last", "one other"),
        ("w = 1", "# wins over one.txt", "one other"),
        ("# other.txt holds over this", "w = 2", "one other"),
        ("# read after other.txt", "w = 2", "other one"),
        ("read before this = other.txt", "w = 2", ""),
        ("read as well = other.txt", "w = 2", ""),
        ("then = gone.txt", "w = 2", ""),
        ("# the narrower one counts over all", "w = 2", ""),
        ("# other.txt no longer counts after this", "w = 2", ""),
        ("# counts last", "# counts last", ""),
        ("w = 1", "# taken over from the shed", ""),
        ("w = 1", "# is last year's", ""),
        ("w = 1", "# the speed of this file counts after the first layer", ""),
        ("w = 1", "# this file comes over from one.txt", ""),
        ("w = 1", "[screen]\nlast opened = one.txt", ""),
        ("[screen]\nthen show = other.txt", "w = 2", ""),
        ("[tests]\nafter a jam try = other.txt", "w = 2", ""),
        ("settings.last = other.txt", "w = 2", ""),
        ("# another.txt wins", "w = 2", ""),
        ("[files]\nread last = other.txt", "w = 2", "one other"),
        ("# the rook's hall\n# this file wins", "w = 2", "other one"),
    ],
)
def test_what_is_read_later_is_told_by_words_of_an_order_that_name_a_file_or_none(
    one: str, other: str, order: str
) -> None:
    files = [read(f"{name}.txt", f"{text}\n".encode()) for name, text in (("one", one), ("other", other))]
    found = read_after(files)
    assert [f"{earlier} {later}".replace(".txt", "") for earlier in found for later in found[earlier]] == (
        [order] if order else []
    )


@pytest.mark.parametrize(
    "said",
    [
        "; Each machine's own file comes AFTER this and wins.",
        "; FOR ALL OF THEM.  Each machine's own file comes\n; AFTER this and wins.",
        "; own files are read last",
        "; the machine's file wins",
        "; theirs wins",
        "; The rook's own file is read later. Wins over these.",
        "; what the board has stored wins over all",
        "; its own file overrides these",
        "; own file: wins",
        "; own file, read last",
        "; nothing here counts last",
        "; what each of them says for itself\n; is read after these",
        "; this is overridden by the own file",
        "; this is overruled by what is in two.txt",
        "; the file of each machine holds over all of them",
        "; it is read after this and wins",
        "; beaten by every other file",
        "; two.txt: wins over these",
        "; the rook's two.txt does\n; not count after this file",
    ],
)
def test_a_remark_that_somebody_else_wins_makes_no_winner_of_the_file_it_stands_in(said: str) -> None:
    both = read("one.txt", f"{said}\nw = 1\n".encode()), read("two.txt", b"w = 2\n")
    assert "one.txt" not in {later for after in read_after(both).values() for later in after}


def test_of_several_the_last_is_read_after_all() -> None:
    texts = {"a": "after this = b.txt\nafter that = c.txt\n", "b": "w = 1\n", "c": "w = 2\n"}
    found = read_after([read(f"{name}.txt", text.encode()) for name, text in texts.items()])
    assert {path: list(later) for path, later in found.items()} == {
        "a.txt": ["b.txt", "c.txt"],
        "b.txt": ["c.txt"],
    }
