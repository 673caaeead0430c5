"""A place that is the nozzle's by its words, and at which the probe has to stand over something, is told with the probe's new offset."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_left import LINES_LEFT

SHEET = (
    "new: {drive: on the carriage}\n"
    "carriage: {probe_offset: {x: 31 mm, y: 18 mm}, nozzle_shift: {x: 0 mm, y: 0 mm, z: 0 mm}}\n"
    "clearance: {lowest_x: 0 mm, highest_x: 220 mm, lowest_y: 0 mm, highest_y: 200 mm}\n"
)
PROBE = "[axis x]\nlowest = 0\nhighest = 240\n[axis y]\nlowest = 0\nhighest = 240\n[probe]\nx offset = 25\ny offset = -18\n"


def worked_out(folder: Path, text: str, name: str = "a.conf") -> tuple[str, dict[str, float | None]]:
    (folder / "m").mkdir(exist_ok=True)
    (folder / "m" / name).write_text(text)
    (folder / "s.yaml").write_text(SHEET)
    plan = api.work_out(folder / "m", folder / "s.yaml").plan
    steps = [step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps]
    told = "\n".join(step for step in steps if "place of the nozzle" in step)
    return told, {change.quantity: change.new.value for change in plan.changes}


def test_where_z_is_homed_moves_against_the_probe_s_offset(tmp_path: Path) -> None:
    """Found in a made-up folder, whose probe would have homed beside the middle."""
    text = (
        PROBE + "[z seek]\ntip at x = 87   # the nozzle goes here, the pin is in the middle\ntip at y = 134\n"
    )
    told, _ = worked_out(tmp_path, text)
    assert "a.conf:11" in told and "becomes 81" in told  # 87 - (31 - 25)
    assert "a.conf:12" in told and "becomes 98" in told  # 134 - (18 + 18)


MAP = "[mesh]\n# {}\nx from = 27\nx to = 200\ny from = 20\ny to = 180\n"


def test_edges_of_a_map_in_places_of_the_nozzle_are_told_and_not_written_as_the_probe_s(
    tmp_path: Path,
) -> None:
    """Found in a made-up folder, whose probe would have gone off the glass."""
    told, written = worked_out(tmp_path, PROBE + MAP.format("where the NOZZLE goes, not the probe"))
    assert all(f"a.conf:{line}" in told for line in (12, 13, 14, 15))
    assert "becomes 21;" in told and "becomes 144" in told
    assert not [name for name in written if name.startswith("mesh.")]


@pytest.mark.parametrize(
    "remark",
    [
        "probe places on the bed, not nozzle places",
        "where the pin goes",
        "nozzle wiped before",
        "nozzle_mm = 0.4",
    ],
)
def test_edges_in_places_of_the_probe_are_worked_out_as_ever(tmp_path: Path, remark: str) -> None:
    told, written = worked_out(tmp_path, PROBE + MAP.format(remark))
    assert not told
    assert written["mesh.from_x"] == pytest.approx(31)


def test_a_place_of_the_nozzle_where_nothing_is_probed_is_none(tmp_path: Path) -> None:
    text = PROBE + "[bucket]\nbucket x = 87   # the nozzle goes here\nbucket y = 134\n"
    assert not worked_out(tmp_path, text)[0]


def test_a_remark_on_one_move_says_nothing_of_the_others(tmp_path: Path) -> None:
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "b.nc").write_text("G28 X Y\nG0 X81 Y133 ; nozzle, for the probe\nG28 Z\n\nG0 X9 Y9\n")
    told, _ = worked_out(tmp_path, PROBE)
    assert "b.nc:2" in told and "b.nc:5" not in told


HEADER = (
    "#define X_LOWEST 0\n#define X_HIGHEST 240\n#define Y_LOWEST 0\n#define Y_HIGHEST 240\n"
    "#define PROBE_OFFSET_X 25\n#define PROBE_OFFSET_Y -18\n\n"
)
MAP_OF_HEADER = (
    "#define MESH_FROM_X 30\n#define MESH_FROM_Y 20\n#define MESH_TO_X 200\n#define MESH_TO_Y 180\n"
)


@pytest.mark.parametrize("remark", ["/* {} */", "// {}", "/* mm */ // {}"])
def test_a_remark_behind_a_value_of_a_header_counts_whichever_way_it_is_written(
    tmp_path: Path, remark: str
) -> None:
    """It was so: `/* … */` was not seen, and the line named nowhere."""
    said = remark.format("NOZZLE, so the pin is over 120, 120")
    told, _ = worked_out(tmp_path, f"{HEADER}#define ZHOME_X 92 {said}\n", "a.h")
    assert "a.h:8" in told and "becomes 86" in told


@pytest.mark.parametrize(
    "above",
    [
        "#define NOZZLE_MM 0.4",
        "//#define NOZZLE_MM 0.4",
        "/* #define NOZZLE_MM 0.4 */",
        "// the nozzle\n#define NOZZLE_MM 0.4",
        "// the nozzle\n#undef NOZZLE_MM",
        "/* where the nozzle is parked, off the map */\n#define PARK_X 3\n#define PARK_Y 3",
    ],
)
def test_a_definition_is_no_remark_on_the_next_and_ends_what_stood_above(tmp_path: Path, above: str) -> None:
    """It was so: the two ends of one map were told in two frames, and a right change was dropped."""
    told, written = worked_out(tmp_path, f"{HEADER}{above}\n{MAP_OF_HEADER}", "a.h")
    assert "MESH" not in told
    assert written["mesh.from_x"] == pytest.approx(31)


@pytest.mark.parametrize(
    "above",
    ["// places of the nozzle", "/* places of the nozzle */", "/*\n * places of the nozzle\n */"],
)
def test_a_remark_above_a_map_in_a_header_is_about_both_its_ends(tmp_path: Path, above: str) -> None:
    told, written = worked_out(tmp_path, f"{HEADER}{above}\n{MAP_OF_HEADER}", "a.h")
    assert told.count("MESH_") == 4
    assert not [name for name in written if name.startswith("mesh.")]


ONE = "x from = 27{}\n"
OF_NOZZLE = ONE.format("   # where the NOZZLE goes, not the probe")


def edits(folder: Path, files: dict[str, str]) -> list[tuple[str, int, str]]:
    (folder / "m").mkdir()
    for name, text in files.items():
        (folder / "m" / name).write_text(text)
    (folder / "s.yaml").write_text(SHEET)
    api.prepare(folder / "m", folder / "s.yaml", out=folder / "p")
    assert api.verify(folder / "p") == ()
    plan = api.work_out(folder / "m", folder / "s.yaml").plan
    changes = [each for each in plan.changes if each.quantity.startswith("mesh.")]
    assert all(
        (each.old.file, each.old.line) == (each.edits[0].file, each.edits[0].line)
        for each in changes
        if each.old
    )
    return [(edit.file, edit.line, edit.new) for each in changes for edit in each.edits]


@pytest.mark.parametrize("nozzle_first", [True, False])
def test_of_two_lines_of_an_edge_only_the_nozzle_s_is_left(tmp_path: Path, nozzle_first: bool) -> None:
    first, then = (OF_NOZZLE, ONE.format("")) if nozzle_first else (ONE.format(""), OF_NOZZLE)
    found = edits(tmp_path, {"a.conf": f"{PROBE}[mesh]\n{first}", "b.conf": f"[mesh]\n{then}"})
    assert found == ([("b.conf", 2, "31")] if nozzle_first else [("a.conf", 11, "31")])


def test_two_lines_of_an_edge_that_are_both_the_nozzle_s_are_both_left(tmp_path: Path) -> None:
    files = {"a.conf": f"{PROBE}[mesh]\n{OF_NOZZLE}", "b.conf": f"[mesh]\n{OF_NOZZLE}"}
    assert edits(tmp_path, files) == []
