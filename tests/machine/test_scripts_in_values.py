"""Scripts in codes of their owner's own that stand among other settings: each of their lines is asked about."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document
from cfgmigrate.files.own_words import as_told
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.files.unread import as_listed
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.own_codes import IN_OWN_CODES
from cfgmigrate.machine.recognise import recognise

LISTED = """walk:
  at: 3
bring:
- heat 210
- L K480 V900      # as far as it goes
- L K30 V120
top: L D255 V500
"""
BRACKETS = """{"walk": {"at": 3},
 "bring": ["heat 210",
  "L K480 V900",
  "L K30 V120"],
 "ends": "L K-640 V90\\nL K5 V90",
 "top": "L D255 V500", "sizes": [1, 2]}
"""
FLAT = "bring = L K480 V900\\nL K30 V120\nwalk = 3\nname = a\nlight = 4\n"


def of(name: str, text: str) -> Document:
    return read(name, text.encode(), "flat" if name.endswith("conf") else "nested")


@pytest.mark.parametrize(
    ("name", "text", "lines"),
    [
        ("a.yml", LISTED, [4, 5, 6]),
        ("a.yml", LISTED.replace("D255", "K255"), [4, 5, 6, 7]),
        ("a.json", BRACKETS, [2, 3, 4, 5]),
        ("a.conf", FLAT, [1]),
    ],
)
def test_each_line_is_asked_about_where_it_stands(name: str, text: str, lines: list[int]) -> None:
    machine = recognise([of(name, text)])
    (role,) = machine.own_scripts
    assert role.own is not None and sorted({use.line for use in role.own.uses}) == lines
    (asked,) = (doubt for doubt in machine.doubts if doubt.why.startswith(IN_OWN_CODES))
    assert f"{name}:{lines[0]}{f'-{lines[-1]}' if lines[1:] else ''} is understood" in asked.why
    assert not any(each.quantity.startswith("script.") for each in machine.readings)


def test_of_lines_whose_words_were_explained_nothing_is_asked() -> None:
    site = parse_site(
        b'site: 1\nmoves: {"a.yml K": filament in, "a.yml L V": mm per minute, "a.yml heat": nothing, "a.yml D": to z}\n',
        "cfgmigrate.yaml",
    )
    machine = recognise([as_told(of("a.yml", LISTED), site.moves)])
    assert [each.place.line for each in machine.readings if each.value is None] == [4, 7]
    assert machine.own_scripts == ()


def test_words_without_numbers_and_lists_of_numbers_are_no_scripts() -> None:
    text = "walk:\n  at: 3\nparts:\n- 80\n- 90\nnames:\n- left\n- right\nnotes:\n- bring 3 bags\n- of 20 kg\n"
    machine = recognise([of("a.yml", text)])
    assert machine.own_scripts == () and not machine.doubts
    assert [each.setting.key for each in machine.unread] == ["at", "notes"]


@pytest.mark.parametrize("meaning", ["retraction.length", "ignore"])
def test_of_lines_of_codes_only_those_are_asked_about_that_have_a_word_nobody_explained(meaning: str) -> None:
    text = 'walk:\n  at: 3\nbring:\n- U31 S5\n- "U31  S5.0"\n- U50 S5\nback: ["U31 S5", "U31 S6 K3"]\n'
    site = parse_site(f"site: 1\ncodes: {{U31.S: {meaning}}}\n".encode(), "cfgmigrate.yaml")
    machine = recognise([as_listed(of("a.yml", text), site)], names_said(None, site))
    (asked,) = (each.why for each in machine.doubts if each.why.startswith(IN_OWN_CODES))
    assert "nothing of a.yml:6-7 is understood" in asked
    (role,) = machine.own_scripts
    assert role.own is not None and {use.text for use in role.own.uses} == {"U50 S5", "U31 S6 K3"}
