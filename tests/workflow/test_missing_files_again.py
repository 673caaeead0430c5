"""A packet holds whatever files its machine lacks: each of them is a question of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.files.gaps import NOT_THERE

LINES = "#define X_REACH 223\n#define STEPS_X 80\n#define PULL_LEN 6.0\n"


@pytest.mark.parametrize(
    "lost",
    [("lamp.h",), ("lamp.h", "horn.h"), ("lamp.h", "horn.h", "lamp.h"), ("thee.h", "horn.h")],
    ids=["one", "two", "one of two twice", "one that is called nearly as another that is there"],
)
def test_a_packet_of_a_machine_that_lacks_files_holds(lost: tuple[str, ...], tmp_path: Path) -> None:
    (tmp_path / "wren").mkdir()
    (tmp_path / "wren" / "the.h").write_text("#define LAMP_COLOUR 3\n")
    taken_in = "".join(f'#include "{each}"\n' for each in ("the.h", *lost))
    (tmp_path / "wren" / "wren.h").write_text(taken_in + LINES)
    (tmp_path / "sheet.yaml").write_text("new: {steps_per_mm: 560 1/mm, microsteps: 16}\n")
    plan = api.prepare(tmp_path / "wren", tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    asked = {doubt.text for doubt in plan.doubts if doubt.why.startswith(NOT_THERE)}
    assert asked == set(lost)
    assert api.verify(tmp_path / "packet") == ()
