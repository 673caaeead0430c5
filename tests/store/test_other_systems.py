"""Locks, files in use, and access lists, as other systems have them."""

from __future__ import annotations

import os
import struct
import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest

from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import Refused
from cfgmigrate.ground.paths import existing_root
from cfgmigrate.packet.folder import Packet
from cfgmigrate.store import keeping
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.transaction import FileReplacement, carry_out


class Windows(ModuleType):
    """The lock of Windows' C library, as far as it matters: one byte of a file, given or not at once."""

    LK_NBLCK = 2

    def __init__(self) -> None:
        super().__init__("msvcrt")
        self.asked: list[tuple[int, int]] = []
        self.taken = False

    def locking(self, handle: int, mode: int, count: int) -> None:
        os.fstat(handle)
        self.asked.append((mode, count))
        if self.taken:
            raise PermissionError(13, "Permission denied")


def test_on_windows_its_own_lock_is_asked_for_and_a_second_run_is_kept_out(
    config: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    windows, store = Windows(), Store(existing_root(config))
    monkeypatch.setitem(sys.modules, "msvcrt", windows)
    monkeypatch.setattr(keeping.sys, "platform", "win32")
    with store.locked():
        assert windows.asked == [(Windows.LK_NBLCK, 1)]
    windows.taken = True
    with pytest.raises(Refused, match="another run"), store.locked():
        raise AssertionError("it got in")


@pytest.mark.parametrize("name", ["feeder.ini", "flow.conf"])
def test_a_file_that_another_program_holds_open_stops_all_and_nothing_is_changed(
    packet: Packet, config: Path, kit: SimpleNamespace, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """Windows renames over no file that is open (a sharing violation, which Python gives as PermissionError)."""
    store = Store(existing_root(config))
    real = Path.replace

    def refuse(self: Path, target: Path) -> Path:
        if Path(target).name == name:
            raise PermissionError(13, "The process cannot access the file", str(target))
        return real(self, target)

    monkeypatch.setattr("cfgmigrate.store.exchanging.exchange", lambda one, other: False)
    monkeypatch.setattr(Path, "replace", refuse)
    moves = [
        FileReplacement(each, (config / each).read_bytes(), b"new\n") for each in ("feeder.ini", "flow.conf")
    ]
    with pytest.raises(Refused, match="can't be written"), store.locked():
        carry_out(store, "install", moves)
    assert kit.on_disk(config) == kit.FILES
    assert not store.pending


def test_two_paths_that_are_one_file_in_a_folder_without_capitals_are_refused(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    """There `Flow.conf` and `flow.conf` open the same file; here a second name of it stands for that."""
    from msgspec.structs import replace

    os.link(config / "flow.conf", config / "FLOW.conf")
    plan = packet.plan
    edited = next(each for each in plan.changes if each.edits[0].file == "flow.conf")
    twin = replace(
        edited, holder="feeder 2", edits=tuple(replace(edit, file="FLOW.conf") for edit in edited.edits)
    )
    (file,) = (each for each in plan.files if each.path == "flow.conf")
    files = (*plan.files, replace(file, path="FLOW.conf"))
    both = replace(
        packet,
        plan=replace(plan, files=files, changes=(*plan.changes, twin)),
        before={**packet.before, "FLOW.conf": packet.before["flow.conf"]},
    )
    with pytest.raises(Refused, match="the same file"):
        install(both)
    assert {path: (config / path).read_bytes() for path in kit.FILES} == kit.FILES


def access_list(*entries: tuple[int, int, int]) -> bytes:
    return struct.pack("<I", 2) + b"".join(struct.pack("<HHi", *entry) for entry in entries)


def test_a_file_without_an_access_list_gets_none_though_its_folder_has_one_for_new_files(
    packet: Packet, config: Path
) -> None:
    file = config / "flow.conf"
    file.chmod(0o640)
    before = os.listxattr(file)
    entries = access_list((1, 7, -1), (2, 6, 12345), (4, 0, -1), (16, 6, -1), (32, 0, -1))
    try:
        os.setxattr(config, "system.posix_acl_default", entries)
    except (OSError, AttributeError):
        pytest.skip("this file system keeps no access lists")
    for change in (install, revert):
        change(packet.folder)
        assert os.listxattr(file) == before and file.stat().st_mode & 0o777 == 0o640


def test_an_access_list_stays_on_a_file_through_install_and_revert(packet: Packet, config: Path) -> None:
    """POSIX.1e access lists, as Linux keeps them: version 2, then tag, permissions and id of each entry."""
    acl = access_list((1, 6, -1), (2, 4, 12345), (4, 4, -1), (16, 4, -1), (32, 0, -1))
    name = "system.posix_acl_access"
    try:
        os.setxattr(config / "flow.conf", name, acl)
    except (OSError, AttributeError):
        pytest.skip("this file system keeps no access lists")
    install(packet.folder)
    assert os.getxattr(config / "flow.conf", name) == acl
    revert(packet.folder)
    assert os.getxattr(config / "flow.conf", name) == acl
