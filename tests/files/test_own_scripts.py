"""A text of which nothing can be read may be a script: its numbers are handed on with their words, and never believed."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.own_scripts import is_run, own_script

SCRIPT = b"; letters: D up-down  K wire mm, V = mm/min\nK-6 V3600\nD+20 V800 ; clear\nL1 K4 V600\nhonk\n"


def test_its_numbers_are_handed_on_with_their_words_and_with_what_remarks_explain() -> None:
    found = own_script(SCRIPT)
    assert found is not None
    assert [(each.line, each.word, each.number) for each in found.uses[:4]] == [
        (2, "k", -6.0), (2, "v", 3600.0), (3, "d", 20.0), (3, "v", 800.0)
    ]  # fmt: skip
    assert [each.word for each in found.uses if each.head] == ["l"]
    assert {each.word: each.says for each in found.legend} == {"d": "up-down", "k": "wire mm", "v": "mm/min"}


@pytest.mark.parametrize(
    "text",
    [
        b"weighs 1.05\nhot 248\nplate 100\nflow 0.98\n",
        b"asked the panel for 200 mm\nit went 41 mm\nso the wheel is new\n",
        b"K-6 V3600\n",
        b"K-6 V3600\nK-6 V3600\n\0",
    ],
    ids=["names and numbers", "prose", "one line", "no text"],
)
def test_what_does_not_say_the_same_words_again_is_none(text: bytes) -> None:
    assert own_script(text) is None


@pytest.mark.parametrize(
    ("path", "runs"),
    [("quits/a.mv", True), ("load.mv", True), ("odd.mv", False), ("old/load.mv", False), ("load_backup.mv", False)],
)  # fmt: skip
def test_a_file_is_run_by_its_name_or_by_a_setting(path: str, runs: bool) -> None:
    settings = read("a.ini", b"[at]\nend = quits/a.mv\n", "sectioned")
    assert is_run(path, [settings]) is runs
