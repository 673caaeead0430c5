"""Every spelling of an include line, at every place, takes in the same file, and the machine knows it.

What is included below a setting overrides it, what is included above is overridden: the reading in force, which is
the one that gets edited, is the test of who was found.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.configuration import Configuration, open_configuration
from cfgmigrate.files.resolver import IncludeFault, Resolver, among, record_of, recorded
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.packet.reread import read_as

SPELLINGS = {
    "plain": "feed/parts/a.txt",
    "dotted": "./feed/./parts/a.txt",
    "up and down": "../rig/feed/parts/a.txt",
    "absolute": "{root}/feed/parts/a.txt",
    "star": "feed/parts/*.txt",
    "question mark": "feed/parts/?.txt",
    "class": "feed/parts/[a-c].txt",
    "any depth": "feed/**/*.txt",
    "any depth from the top": "**/a.txt",
    "absolute pattern": "{root}/feed/parts/*.txt",
    "folder": "feed/parts",
    "folder with a slash": "feed/parts/",
    "link to the file": "link.txt",
    "link to the folder": "way/a.txt",
    "backslashes": "feed\\parts\\a.txt",
}
LINES = {
    "bare": ("flat", "include {}"),
    "colon": ("flat", "include: {}"),
    "equals": ("flat", "include = {}"),
    "quotes": ("flat", 'include "{}"'),
    "single quotes": ("flat", "include = '{}'"),
    "exclamation mark": ("flat", "!include {}"),
    "at": ("flat", "@include {}"),
    "per cent": ("flat", "%include {}"),
    "brackets": ("flat", "[include {}]"),
    "header": ("sectioned", "[include {}]"),
    "header, quotes": ("sectioned", '[include "{}"]'),
    "bare among sections": ("sectioned", "include {}"),
    "exclamation mark among sections": ("sectioned", "!include {}"),
    "at among sections": ("sectioned", "@include {}"),
    "per cent among sections": ("sectioned", "%include {}"),
    "key among sections": ("sectioned", "include: {}"),
    "directive": ("header", '#include "{}"'),
    "angle brackets": ("header", "#include <{}>"),
}
SETTING = {
    "flat": "retract length = {}\n",
    "sectioned": "[retraction]\nlength: {}\n",
    "header": "#define PULLBACK_MM {}\n",
}
FURTHER = {
    "flat": "x max = 200\n",
    "sectioned": "[axis x]\nmax: 200\n",
    "header": "#define X_MAX 200\n",
}


def lay(base: Path, line: str, spelling: str, above: bool) -> Path:
    """A machine whose file sets a length and takes in another that sets it again, in this spelling."""
    root = base / "rig"
    (root / "feed" / "parts").mkdir(parents=True)
    dialect, form = LINES[line]
    target = SPELLINGS[spelling].format(root=root)
    (root / "feed" / "parts" / "a.txt").write_text(SETTING[dialect].format(2))
    (root / "link.txt").symlink_to(root / "feed" / "parts" / "a.txt")
    (root / "way").symlink_to(root / "feed" / "parts")
    own, taken = SETTING[dialect].format(1), form.format(target) + "\n"
    text = taken + own if above else own + taken + FURTHER[dialect]
    (root / "zz-main.txt").write_text(FURTHER[dialect] + text)
    return root


def length(machine: Machine) -> float | None:
    found = machine.get("retraction.length")
    return found.value if found else None


def read_again(configuration: Configuration) -> tuple[Document, ...]:
    given = configuration.documents
    contents = {each.path: each.data for each in given}
    takes_in = recorded((each.path, record_of(each)) for each in given)
    return read_as([(each.path, each.dialect) for each in given], contents, takes_in)


def possible(line: str, spelling: str) -> bool:
    """Brackets in brackets, patterns and folders in C, are no spelling that anybody has."""
    if LINES[line][0] == "header":
        return not any(sign in SPELLINGS[spelling] for sign in "*?[\\") and "folder" not in spelling
    return not (spelling == "class" and "[" in LINES[line][1])


@pytest.mark.parametrize("above", [False, True], ids=["below the setting", "above it"])
@pytest.mark.parametrize(
    ("line", "spelling"),
    [(line, spelling) for line in LINES for spelling in SPELLINGS if possible(line, spelling)],
)
def test_what_is_taken_in_holds_where_its_line_stands(
    tmp_path: Path, line: str, spelling: str, above: bool
) -> None:
    root = lay(tmp_path, line, spelling, above)
    configuration = open_configuration([root])
    assert [each.path for each in configuration.documents if each.path != "zz-main.txt"] == [
        "feed/parts/a.txt"
    ]
    wanted = 1 if above else 2
    assert length(recognise(configuration)) == wanted
    assert length(recognise(read_again(configuration))) == wanted, "read again by what was recorded"
    doubts = [doubt for each in configuration.documents for doubt in each.doubts]
    assert not [doubt for doubt in doubts if "put `#`" in doubt.remedy or "take the line out" in doubt.remedy]


def test_json_takes_in_files_by_a_member_or_by_a_string(tmp_path: Path) -> None:
    (tmp_path / "parts").mkdir()
    for name in "abc":
        (tmp_path / "parts" / f"{name}.json").write_text('{"retraction": {"length": 2}}')
    (tmp_path / "main.json").write_text(
        '{"include": ["parts/a.json", "parts/b.json"], "feeder": "!include parts/c.json", "includes": "yes"}'
    )
    (main,) = [each for each in open_configuration([tmp_path]).documents if each.path == "main.json"]
    assert [each.files for each in main.includes] == [("parts/a.json",), ("parts/b.json",), ("parts/c.json",)]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("main.json", '{"alsoRead": ["parts/a.x"], "imports": "yes", "takes in": "parts/b.x"}'),
        (
            "main.conf",
            "[files]\nalso read = parts/a.x\nreads = 3.5\ntakes_in: parts/b.x\n[feeder]\nlength = 3\n",
        ),
        ("main.txt", "imports = parts/a.x, parts/b.x\nreads in = 3.5\nlength = 3\n"),
    ],
)
def test_other_words_for_taking_in_count_where_the_value_names_a_file(
    tmp_path: Path, name: str, text: str
) -> None:
    (tmp_path / "parts").mkdir()
    for part in "ab":
        (tmp_path / "parts" / f"{part}.x").write_text("[feeder]\nlength = 2\n")
    (tmp_path / name).write_text(text)
    (main,) = [each for each in open_configuration([tmp_path]).documents if each.path == name]
    assert [file for each in main.includes for file in each.files] == ["parts/a.x", "parts/b.x"]


def test_word_address_files_take_in_others(tmp_path: Path) -> None:
    (tmp_path / "more.nc").write_text("M92 E100\n")
    (tmp_path / "main.nc").write_text("M92 X84 Y86\n!include more.nc\n")
    main = open_configuration([tmp_path]).documents[0]
    assert main.path == "main.nc"
    assert [each.files for each in main.includes] == [("more.nc",)]
    assert not main.doubts


def test_a_line_that_names_several_files_takes_in_all_or_none(tmp_path: Path) -> None:
    for name in ("a.conf", "b.conf", "two words.conf"):
        (tmp_path / name).write_text("x = 1\n")
    follow = Resolver(tmp_path)
    assert follow("m.conf", "a.conf b.conf") == ("a.conf", "b.conf")
    assert follow("m.conf", "a.conf gone.conf") == ()
    assert follow("m.conf", "two words.conf") == ("two words.conf",)


def test_a_folder_takes_in_its_files_but_no_copies(tmp_path: Path) -> None:
    for name in ("b.conf", "a.conf", "a_old.conf", ".hidden", "a.conf.bak", "m.conf"):
        (tmp_path / name).write_text("x = 1\n")
    (tmp_path / "deeper").mkdir()
    found = Resolver(tmp_path).taken("m.conf", ".")
    assert found.files == ("a.conf", "b.conf")
    assert found.folder


def test_what_is_not_there_or_outside_is_a_fault(tmp_path: Path) -> None:
    root = tmp_path / "rig"
    root.mkdir()
    (tmp_path / "outside.conf").write_text("x = 1\n")
    (root / "circle").symlink_to("circle")
    (root / "way out.conf").symlink_to(tmp_path / "outside.conf")
    follow = Resolver(root)
    assert follow.taken("m.conf", "../outside.conf").fault is IncludeFault.OUTSIDE
    assert follow.taken("m.conf", "way out.conf").fault is IncludeFault.OUTSIDE
    assert follow.taken("m.conf", "/etc/*.conf").fault is IncludeFault.OUTSIDE
    for target in ("gone.conf", "circle", "x" * 5000, "a\0b", "~/machine.conf", "/opt/rig/gone.conf"):
        assert follow.taken("m.conf", target).fault is IncludeFault.MISSING, target


def test_a_missing_file_tells_which_is_near_and_breaks_nothing(tmp_path: Path) -> None:
    (tmp_path / "main.conf").write_text("include steppers.cnf\nx max = 200\n")
    (tmp_path / "steppers.conf").write_text("x steps = 84\n")
    main = next(each for each in open_configuration([tmp_path]).documents if each.path == "main.conf")
    (doubt,) = main.doubts
    assert "steppers.conf" in doubt.remedy
    assert "take" not in doubt.remedy


def test_a_packet_without_a_record_is_followed_among_its_own_files() -> None:
    follow = among(["parts/a.conf", "parts/b.conf", "parts/old/c.conf", "main.conf"])
    assert follow("main.conf", "parts/*.conf") == ("parts/a.conf", "parts/b.conf")
    assert follow("parts/a.conf", "b.conf") == ("parts/b.conf",)
    assert follow("parts/a.conf", "../main.conf") == ("main.conf",)
    assert follow("main.conf", "gone.conf") == ()
