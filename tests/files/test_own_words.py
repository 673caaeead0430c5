"""What the site file says of the words of scripts, put beside the files that have them."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.idle_lines import idle_lines
from cfgmigrate.files.own_words import as_told, is_script_of
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.names import names_said

SCRIPT = b"; at the end\nK-6 V3600\nD185\n!current wire 0.90\n"


def said(*lines: str) -> bytes:
    return b"site: 1\nmoves:\n" + b"".join(f"  {line}\n".encode() for line in lines)


def test_a_line_for_the_file_itself_comes_before_a_pattern() -> None:
    site = parse_site(
        said('"quits/end.mv K": filament out', '"quits/*.mv K": filament in'), "cfgmigrate.yaml"
    )
    assert site.own_words("quits/end.mv") == {"k": "filament out"}
    assert site.own_words("quits/rest.mv") == {"k": "filament in"}
    assert site.own_words("end.mv") == {}


@pytest.mark.parametrize(
    "line",
    ['"end.mv": filament in', '"end.mv K": "?"', '"end.mv K": up', '"end.mv K": {to: z}'],
)
def test_what_says_no_word_or_nothing_of_it_is_refused(line: str) -> None:
    with pytest.raises(BadInput):
        parse_site(said(line), "cfgmigrate.yaml")


def test_of_a_script_only_the_values_that_were_said_are_settings() -> None:
    lines = ('"end.mv K": filament in', '"end.mv current wire": motor.run_current in A rms')
    site = parse_site(said(*lines, '"end.mv D": to z'), "cfgmigrate.yaml")
    document = as_told(read("end.mv", SCRIPT, "command"), site.moves)
    assert [(each.key, each.value, each.line) for each in document.settings] == [("current wire", "0.90", 4)]
    other = as_told(read("rest.mv", SCRIPT, "command"), site.moves)
    assert other.own_words == ()
    with pytest.raises(BadInput):
        names_said(None, parse_site(said('"end.mv K": motor.zeal in A'), "cfgmigrate.yaml"))


def test_a_line_for_a_file_that_is_not_there_is_told_once(tmp_path: Path) -> None:
    site = parse_site(
        said('"quits/*.mw K": filament in', '"quits/*.mw D": to z', '"end.mv K": to z'), "cfgmigrate.yaml"
    )
    (doubt,) = idle_lines(site, tmp_path, ["quits/end.mv", "end.mv"])
    assert doubt.text == "moves: quits/*.mw"


def test_a_word_that_no_script_of_its_file_has_is_told(tmp_path: Path) -> None:
    lines = ('"end.mv K": filament in', '"end.mv Q": to z', '"a.yml L K": to z', '"a.yml M K": to z')
    site = parse_site(said(*lines), "cfgmigrate.yaml")
    listed = read("a.yml", b"walk:\n  at: 3\nend:\n- L K5\n", "nested")
    paths = {each.path: each for each in (read("end.mv", SCRIPT, "command"), listed)}
    found = idle_lines(site, tmp_path, paths, tuple(paths.values()))
    assert [each.text for each in found] == ["moves: end.mv Q", "moves: a.yml M K"]


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        (b"K-6 V3600\nD185\n", True),
        (b"K-6 V3600\n\n\n; at the end\n\nD185\n\n", True),
        (b"K-6 V3600\nD185\nD190\n", False),
        (b"\n; K-6\n\n", False),
        (b"", False),
    ],
    ids=["half", "half of what is no empty line and no remark", "a third", "a remark alone", "nothing"],
)
def test_a_script_is_one_by_the_lines_that_say_something(text: bytes, is_one: bool) -> None:
    assert is_script_of(text, {"k": "filament out"}) is is_one
