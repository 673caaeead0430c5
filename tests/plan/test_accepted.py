"""What prepare writes is what install accepts, and what install would refuse is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.accepted import faults_of, known_places, spots_behind_words
from cfgmigrate.plan.model import Edit

SHEET = (
    "old: {drive: tube-fed, path_length: 700 mm}\n"
    "new: {drive: on the carriage, steps_per_mm: 560 1/mm, microsteps: 16, path_length: 50 mm}\n"
    "filament: {material: PLA}\n"
)
MACHINE = "#define STEPS_X 80.0\n#define X_REACH 223\n#define PULL_LEN 6.0\n#define LAG_MS 610\n#define THREAD_DIA 1.75\n"
ROLL = "[roll]\nname = PETG grey\n[pull]\nlength = 6.6\n[own]\nafter start = M7411 K0.66\n"


@pytest.mark.parametrize("others", [(), ("reel.nc",)], ids=["one script", "two scripts"])
@pytest.mark.parametrize("site", ["", 'meanings: {"[M7411] K": lag.coefficient}\n'], ids=["unsaid", "said"])
def test_a_packet_that_was_just_prepared_holds_where_a_roll_has_a_code_of_its_own(
    site: str, others: tuple[str, ...], tmp_path: Path
) -> None:
    """Whether the site file says what the word means or the remark of a script does."""
    wren = tmp_path / "wren"
    (wren / "profiles").mkdir(parents=True)
    (wren / "wren.h").write_text(MACHINE)
    (wren / "job.nc").write_text("G90\nM7411 K0.52 ; lag in seconds\n")
    for each in others:
        (wren / each).write_text("M83\nG1 E690 F4200\n")
    (wren / "profiles" / "petg_grey.ini").write_text(ROLL)
    (wren / "cfgmigrate.yaml").write_text(f"site: 1\n{site}")
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = api.prepare(wren, tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    assert api.verify(tmp_path / "packet") == ()
    if site and others:
        assert "profiles/petg_grey.ini" in {
            edit.file
            for change in plan.changes
            if change.quantity == "lag.coefficient"
            for edit in change.edits
        }


@pytest.mark.parametrize(
    ("line", "old", "fault"),
    [
        (b"port = ttyS0", b"0", "a part of something else, 'ttyS…'"),
        (b"build = 4.1.2", b"1", "a part of something else, '4.….2'"),
        (b"reach = X204Y7", b"204", "a part of something else, 'X…Y7'"),
        (b"reach = 204", b"204", ""),
    ],
)
def test_a_number_behind_letters_that_nothing_reads_as_a_word_is_none(
    line: bytes, old: bytes, fault: str
) -> None:
    document = read("wren.ini", b"[wren]\n" + line + b"\n", "sectioned")
    start = document.data.index(old)
    edit = Edit("wren.ini", 2, 1, start, start + len(old), old.decode(), "9")
    machine = recognise((document,))
    said = list(faults_of(edit, document, known_places(machine), spots_behind_words(machine)))
    assert fault in "".join(said) and bool(said) is bool(fault)
