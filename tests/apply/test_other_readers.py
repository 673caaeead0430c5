"""A file that several machines read, edited by the packet of one: who else names it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.apply.other_readers import HAS_THE_OLD, lines_for_others, other_readers, readers_in, sentences


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
        ("reels = [../shared/ivory.txt, ../shared/slate grey.txt]", True),
        ('reel = "../shared/slate grey.txt"  # the one for the winter', True),
        ("reels = ../shared/slate grey.txt, own.txt", True),
        ("reels = ../shared/slate grey.txt own.txt", True),
        ("reels = [../shared/slate grey.txt, ../shared/ivory.txt]", True),
        ("reels: {winter: ../shared/slate grey.txt, summer: own.txt}", True),
        ("reels: [{path: ../shared/slate grey.txt, name: winter}]", True),
        ("reel: !include ../shared/slate grey.txt", True),
        ("include: ../shared/slate grey.txt", True),
        ("take in ../shared/slate grey.txt and own.txt", True),
        ("include ../shared/slate grey.txt -- for both", True),
        ("include optional ../shared/slate grey.txt", True),
        ("reel = as in ../shared/slate grey.txt", False),
        ("reel = ../shared/slate grey.txt has it", False),
        ("see: ../shared/slate grey.txt", False),
        ("note = ../shared/slate grey.txt", False),
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


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("for: [loft, hall]", True),
        ('"machines": ["Hall", "Loft"],', True),
        ("used by = loft and hall", True),
        ("for: [loft, barn]", False),
        ("for: hall", False),
        ("for: [loft]", False),
        ("# ask in the hall for loft", False),
        ("bed for hall and loft = 60", False),
    ],
)
def test_a_shared_file_that_says_that_it_is_for_others_too_is_told(
    line: str, told: bool, tmp_path: Path
) -> None:
    for path in ("hall/frame.txt", "loft/frame.txt", "shared/slate.yaml"):
        (tmp_path / path).parent.mkdir(exist_ok=True)
        (tmp_path / path).write_text(f"a = 1\n{line}\n")
    edited = ["shared/slate.yaml"]
    found = readers_in(lines_for_others(tmp_path, edited, ["loft/frame.txt", *edited]), edited)
    said = "shared/slate.yaml:2 says that it is for others, too: if another machine reads it, it has the old values there again"
    assert sentences(found, HAS_THE_OLD) == ((said,) if told else ())


@pytest.mark.parametrize(
    ("file", "text", "read"),
    [
        ("hall/notes.md", "reel = {}\n", False),
        ("hall/copy.sh", "FROM={}\n", False),
        ("hall/put away", "#!/bin/sh\nFROM={}\n", False),
        (
            "hall/diary.txt",
            "The hall, in March.\nreel: {}\nWe sanded the plate, and all was well again.\n",
            False,
        ),
        (
            "hall/diary.txt",
            "The hall, in March. It\nuses {} for its reels.\nAll was well again then.\n",
            False,
        ),
        ("hall/slicing.json", '{{"reel": "{}", "walls": 3}}\n', True),
        ("hall/start.nc", "include {}\nG28\nG1 X3\n", True),
        ("hall/hall.h", '#include "{}"\n#define WALLS 3\n', True),
    ],
)
def test_only_a_configuration_reads_a_file_and_no_note_or_program(
    file: str, text: str, read: bool, tmp_path: Path
) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "slate.txt").write_text("x = 1\n")
    (tmp_path / "hall").mkdir()
    (tmp_path / file).write_text(text.format("../shared/slate.txt"))
    found = other_readers(tmp_path, ["shared/slate.txt"], [])
    assert bool(found) is read, found


def test_a_site_file_and_a_fleet_file_name_files_and_read_none(tmp_path: Path) -> None:
    texts = {
        "cfgmigrate.yaml": "site: 1\nroles:\n  shared/slate.txt: in force\n  x: shared/slate.txt\n",
        "all.yaml": "sheet: swap.yaml\nmachines:\n  Hall:\n    config: [hall, shared/slate.txt]\n",
        "hall/hall.txt": "sheet: of paper\nreel = ../shared/slate.txt\n",
        "shared/slate.txt": "x = 1",
    }
    for path, text in texts.items():
        (tmp_path / path).parent.mkdir(exist_ok=True)
        (tmp_path / path).write_text(text)
    assert other_readers(tmp_path, ["shared/slate.txt"], []) == {"shared/slate.txt": ("hall/hall.txt:2",)}


def test_the_summary_of_a_fleet_names_files_and_reads_none(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "slate.txt").write_text("x = 1\n")
    (tmp_path / "summary.json").write_text(
        '{\n  "format": 1,\n  "fleet": {"path": "fleet.yaml"},\n  "file": "shared/slate.txt"\n}\n'
    )
    (tmp_path / "heron.json").write_text('{\n  "file": "shared/slate.txt"\n}\n')
    assert other_readers(tmp_path, ["shared/slate.txt"], []) == {"shared/slate.txt": ("heron.json:2",)}
