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
