"""A file that the machine reads, and nobody here can, is told of before all else."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document
from cfgmigrate.files.gaps import gaps, of_gaps, told
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.telling import told_of
from cfgmigrate.machine.recognise import recognise

HERON = "S201 X80 Y80 Z400 E95.2 ; pulses for a millimetre\n"


def there(*paths: str, role: Role = Role.NONE) -> dict[str, FileRole]:
    return {path: FileRole(path, role, "the content reads as none of the dialects") for path in paths}


def codes(line: str) -> Document:
    return read("heron.cmd", f"{HERON}{line}\n".encode(), "command")


@pytest.mark.parametrize(
    "line",
    ['S900 "reels.csv" ; read too', "S900 'reels.csv' ; is also read", 'S900 "./reels.csv"   ; loaded'],
)
def test_a_table_that_a_line_says_is_read_and_that_cannot_be_read_is_told_with_its_line(line: str) -> None:
    (gap,) = gaps([codes(line)], there("reels.csv"))
    assert told(gap.doubt) == (
        "reels.csv is read by the machine, by heron.cmd:2, and I can't read it: look through it by hand. Once nothing in it is of the"
        ' old drive, write in cfgmigrate.yaml: roles: {"reels.csv": no configuration}.'
    )
    assert told_of(FileSet(there("reels.csv"), gaps=(gap.doubt,)))[0] == told(gap.doubt)


def test_it_is_among_what_is_told_first_of_a_machine() -> None:
    found = recognise([codes('S900 "reels.csv" ; read too')], roles=FileSet(there("reels.csv")))
    assert [doubt.text for doubt in of_gaps(found.doubts)] == ["reels.csv"]


@pytest.mark.parametrize(
    ("line", "files"),
    [
        ('S900 "reels.csv" ; shown on the page', there("reels.csv")),
        ('; S900 "reels.csv" ; read too', there("reels.csv")),
        ('S900 "reels.csv" ; read too', there("kept/reels.csv")),
        ('S900 "reels.csv" ; read too', there("reels.csv", role=Role.IN_FORCE)),
    ],
)
def test_a_line_that_reads_nothing_or_what_is_understood_tells_of_none(
    line: str, files: dict[str, FileRole]
) -> None:
    assert not gaps([codes(line)], files)


def test_a_setting_that_names_a_table_to_be_read_tells_of_it() -> None:
    document = read("heron.ini", b"[reels]\ntable = reels.csv\nmanual = words.csv\n", "sectioned")
    (gap,) = gaps([document], there("reels.csv", "words.csv"))
    assert (gap.doubt.text, gap.doubt.place.line) == ("reels.csv", 2)


@pytest.mark.parametrize(
    ("line", "told_of"),
    [
        ("end_bit = bits/end.nc", True),
        ('after change = "bits/end.nc"', True),
        ("read last = bits/end.nc", True),
        ("kept_in = bits/end.nc", True),
        ("manual = bits/end.nc", False),
        ("rendered = bits/end.nc", False),
        ("end = bits/end.png", False),
    ],
)
def test_a_setting_that_names_what_is_run_on_an_occasion_tells_of_it(line: str, told_of: bool) -> None:
    document = read("heron.txt", f"a = 1\n{line}\n".encode(), "flat")
    found = gaps([document], there("bits/end.nc", "bits/end.png"))
    assert [gap.doubt.text for gap in found] == (["bits/end.nc"] if told_of else [])


@pytest.mark.parametrize(("guard", "told_of"), [("#if 1", True), ("#if 0", False)])
def test_a_setting_that_is_not_in_force_has_nothing_read(guard: str, told_of: bool) -> None:
    text = f'{guard}\n#define end_bit "bits/end.nc"\n#endif\n'
    assert bool(gaps([read("heron.h", text.encode(), "header")], there("bits/end.nc"))) is told_of


def test_whoever_looked_it_through_says_so_by_its_role(tmp_path: Path) -> None:
    (tmp_path / "heron.ini").write_text(
        "[feeder]\nsteps per mm = 96.4\n[axis z]\nmax = 200\n[reels]\ntable = reels.csv\n"
    )
    (tmp_path / "reels.csv").write_text("reel;colour\n1;red\n2;blue\n")
    (asked,) = of_gaps(api.survey(tmp_path).machine.doubts)
    role = asked.remedy.partition("cfgmigrate.yaml: ")[2]
    (tmp_path / "cfgmigrate.yaml").write_text(f"site: 1\n{role}\n")
    assert of_gaps(api.survey(tmp_path).machine.doubts) == ()
