"""What is a script: lines that the machine runs at an occasion, by the words of their key or by what they are."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.script_role import is_code_line, occasion, script_role
from cfgmigrate.machine.words import read_name


@pytest.mark.parametrize(
    ("key", "value", "role"),
    [
        ("end script", "G1 X0\nG1 Y0", "script.end"),
        ("end script", "G1 X0", "script.end"),
        ("end script", "lower bed\nbeep", "script.end"),
        ("end script", "beep", ""),
        ("end script", "", ""),
        ("end", "G1 X0\nG1 Y0", "script.end"),
        ("at end", "G1 X0", "script.end"),
        ("at end", '"G1 E-4 F900 ; out"', "script.end"),
        ("at end", "M5", ""),
        ("whatever", "G1 X0\nG1 Y0", "script.other"),
        ("whatever", "G1 X0\nbeep\nG1 Y0", "script.other"),
        ("whatever", "G1 X0\nbeep", ""),
        ("whatever", "lower bed\nbeep", ""),
        ("whatever", "G1 X0\\nG1 Y0", "script.other"),
        ("whatever", '["G1 X0", "G1 Y0"]', "script.other"),
        ("whatever", "; park\nG1 X0", ""),
        ("whatever", "; park\n(slowly)\n# and then\nG1 X0\nM5", "script.other"),
        ("whatever", "G1 X0\r\nG1 Y0", "script.other"),
        ("whatever", "N10 G1 X0\nN20 G1 Y0", "script.other"),
        ("whatever", "G1beta\nG1gamma", ""),
        ("whatever", "\n\n", ""),
    ],
)
def test_a_script_is_called_one_or_is_mostly_word_address_lines(key: str, value: str, role: str) -> None:
    assert script_role(read_name("", key), value) == role


@pytest.mark.parametrize(
    ("section", "key", "id"),
    [("", "end", "end"), ("end", "start", "start"), ("end", "lines", "end"), ("", "lines", "other")],
)
def test_the_key_says_the_occasion_before_the_section_does(section: str, key: str, id: str) -> None:
    assert occasion(read_name(section, key)) == f"script.{id}"


@pytest.mark.parametrize(
    ("line", "is_one"),
    [('"G1 X0"', True), (" M104 S0", True), ("t1", True), ("Q1 X0", False), ("G X", False)],
)
def test_a_word_address_line_begins_with_a_letter_and_a_number(line: str, is_one: bool) -> None:
    assert is_code_line(line) is is_one
