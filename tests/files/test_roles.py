"""Which role each file has."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.roles import FileRole, FileSet, Role


def test_every_file_has_a_role_and_says_why(tmp_path: Path) -> None:
    (tmp_path / "machine.conf").write_text("[axis x]\nsteps_per_mm: 84\n")
    (tmp_path / "machine.conf.bak").write_text("[axis x]\nsteps_per_mm: 84\n")
    (tmp_path / "notes.txt").write_text("Grease the rods. Not before spring, though!\n")
    roles = open_configuration([tmp_path]).roles
    assert {path: found.role for path, found in roles.items()} == {
        "machine.conf": Role.IN_FORCE,
        "machine.conf.bak": Role.COPY,
        "notes.txt": Role.NONE,
    }
    assert all(found.why for found in roles.values())


def test_only_files_in_force_profiles_and_saved_values_are_taken() -> None:
    assert [role.value for role in Role if role.taken] == ["in force", "profile", "saved values"]


def test_a_file_set_counts_its_roles() -> None:
    roles = FileSet({path: FileRole(path, Role.COPY, "") for path in ("a", "b")})
    assert roles.counted() == {Role.COPY: 2}
    assert roles.of(Role.COPY) == ("a", "b")
    assert roles.role("c") is Role.IN_FORCE


def test_a_listing_of_own_codes_beside_files_of_another_kind_is_what_the_board_keeps(tmp_path: Path) -> None:
    (tmp_path / "machine.h").write_text("#define X_MAX 250\n#define Y_MAX 240\n#define E_STEPS_MM 95\n")
    lines = ["; D2 steps per mm  D3 top speed  D4 top accel  D5 current", "D2 X80.00 Y80.00 Z400.00 E97.35"]
    lines += ["D3 X200 Y180 Z10 E50", "D4 X2500 Y1900 Z100 E1400", "D5 X800 Y860 Z650 E740", "D6 E0.54"]
    (tmp_path / "listing.txt").write_text("\n".join(lines) + "\n")
    assert open_configuration([tmp_path]).roles.of(Role.SAVED) == ("listing.txt",)
    (tmp_path / "listing.txt").write_text("\n".join([*lines, "G1 X80 Y80"]) + "\n")
    assert open_configuration([tmp_path]).roles.of(Role.SAVED) == ()
