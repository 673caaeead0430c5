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


def test_of_several_the_last_is_read_after_all() -> None:
    texts = {"a": "after this = b.txt\nafter that = c.txt\n", "b": "w = 1\n", "c": "w = 2\n"}
    found = read_after([read(f"{name}.txt", text.encode()) for name, text in texts.items()])
    assert {path: list(later) for path, later in found.items()} == {
        "a.txt": ["b.txt", "c.txt"],
        "b.txt": ["c.txt"],
    }
