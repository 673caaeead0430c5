"""JSON on a screen acts on nothing, and is the same JSON."""

from __future__ import annotations

import json
import sys
import unicodedata

import pytest

from cfgmigrate.cli import options
from cfgmigrate.ground.plain_json import inert_json

ACTING = [
    chr(code)
    for code in range(sys.maxunicode + 1)
    if unicodedata.category(chr(code)) in {"Cc", "Cf", "Zl", "Zp"}
]


def test_no_character_that_acts_is_left_and_nothing_is_lost() -> None:
    data = {f"a{letter}b": [letter, f"é{letter}漢"] for letter in ACTING}
    text = inert_json(json.dumps(data, indent=2, ensure_ascii=False))
    assert json.loads(text) == data
    assert not {letter for letter in text if letter != "\n"}.intersection(ACTING)
    assert "é" in text and "漢" in text


def test_letters_of_every_script_stay_as_they_are() -> None:
    text = json.dumps(["naïve", "Ж", "שלום", "😀"], ensure_ascii=False)
    assert inert_json(text) == text


def test_every_command_s_json_goes_through_it(capsys: pytest.CaptureFixture[str]) -> None:
    options.print_json({"said": "left\u202etfel \x9b31m \x7f \u200b"})
    shown = capsys.readouterr().out
    assert r"\u202e" in shown and r"\u009b" in shown and r"\u007f" in shown and r"\u200b" in shown
    assert json.loads(shown) == {"said": "left\u202etfel \x9b31m \x7f \u200b"}
