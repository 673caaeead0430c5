"""Where a header keeps a case for each place of the drive, and the case in force is edited, the other one is asked about."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

SHEET = "old: {drive: tube-fed, path_length: 500 mm, retraction: 5 mm}\nnew: {drive: on the carriage, path_length: 60 mm, recommended_retraction: 0.8 mm}\n"
CASE = "#define RETRACT_MM 5.0\n#define LOAD_MM 500.0\n"
OTHER = "#define RETRACT_MM 0.9\n#define LOAD_MM 70.0\n"


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        (f"#define SITS ON_POST\n#if FEEDER_SITS == ON_POST\n{CASE}#else\n{OTHER}#endif\n", set()),
        (f"#define ON_POST 1\n#define FEEDER_SITS ON_POST\n#if FEEDER_SITS == ON_POST\n{CASE}#else\n{OTHER}#endif\n", {3}),
        (f"#define LONG_TUBE 1\n#ifndef LONG_TUBE\n{OTHER}#else\n#if 1\n{CASE}#endif\n#endif\n", {2}),
        (f"#define BOARD 2\n#if BOARD == 2\n{CASE}#else\n{OTHER}#endif\n", set()),
        (f"#define LONG_TUBE 1\n#ifdef LONG_TUBE\n{CASE}#endif\n", set()),
        (f"#define LONG_TUBE 1\n#ifdef LONG_TUBE\n{CASE}#else\n#define LAMP 3\n#endif\n", set()),
    ],
    ids=["undecided", "the drive's place", "nested", "a board", "one case", "other names"],
)  # fmt: skip
def test_the_case_of_the_drive_that_is_not_in_force_is_asked_about(
    text: str, lines: set[int], tmp_path: Path
) -> None:
    (tmp_path / "a.h").write_text(f"/* mm */\n#ifndef A_H\n#define A_H\n{text}#endif\n")
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.work_out(tmp_path / "a.h", tmp_path / "swap.yaml").plan
    asked = [doubt for doubt in plan.doubts if "the case that is in force" in doubt.why]
    assert {doubt.place.line - 3 for doubt in asked} == lines
