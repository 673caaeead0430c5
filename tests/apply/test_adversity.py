"""Full disks, missing permissions, a second run at the same time, failing calls: refused, nothing changed."""

from __future__ import annotations

import errno
import importlib
import os
import resource
import shutil
import signal
import stat
import struct
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert, revert_to
from cfgmigrate.ground.access_list import ACCESS_LIST
from cfgmigrate.ground.findings import CfgError, Refused
from cfgmigrate.ground.paths import existing_root
from cfgmigrate.packet.folder import Packet
from cfgmigrate.store.history import history
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.undoing import recover_at

NOBODY = 65534
AS_ROOT = pytest.mark.skipif(os.geteuid() != 0, reason="only root can become another user or mount")


@pytest.fixture
def open_tmp() -> Iterator[Path]:
    """A folder that other users can walk into, unlike pytest's own."""
    folder = Path(tempfile.mkdtemp()).resolve()
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


def in_child(work: Callable[[], object], first: Callable[[], object] = lambda: None) -> str:
    """What `work` raised in a forked child that did `first`: "Refused: ...", or "" where it went through."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        said = "the child broke"
        try:
            first()
            work()
            said = ""
        except CfgError as error:
            said = f"{type(error).__name__}: {error}"
        except BaseException as error:
            said = f"not caught: {error!r}"
        finally:
            os.write(writer, said.encode())
            os._exit(0)
    os.close(writer)
    told = b"".join(iter(lambda: os.read(reader, 10_000), b""))
    os.close(reader)
    os.waitpid(child, 0)
    return told.decode()


def become_nobody() -> None:
    os.setgroups([])
    os.setgid(NOBODY)
    os.setuid(NOBODY)


@AS_ROOT
@pytest.mark.parametrize("way", ["install", "revert"])
def test_a_user_who_may_not_write_is_refused(
    open_tmp: Path, kit: SimpleNamespace, wren_changes: object, way: str
) -> None:
    root = kit.lay_out(open_tmp / "config", kit.FILES)
    packet = kit.pack(open_tmp / "packet", kit.FILES, wren_changes, str(root))
    if way == "revert":
        install(packet.folder)
    before = kit.on_disk(root)
    said = in_child(lambda: (install if way == "install" else revert)(packet.folder), become_nobody)
    assert said.startswith("Refused: ") and "no permission" in said
    assert kit.on_disk(root) == before


@AS_ROOT
def test_one_file_out_of_three_without_permission_stops_all_three(
    open_tmp: Path, kit: SimpleNamespace, wren_changes: object
) -> None:
    root = kit.lay_out(open_tmp / "config", kit.FILES)
    packet = kit.pack(open_tmp / "packet", kit.FILES, wren_changes, str(root))
    for path in (root, root / "parts", *(root / name for name in kit.FILES)):
        os.chown(path, NOBODY, NOBODY)
    os.chown(root / "parts" / "axes.ini", 0, 0)
    said = in_child(lambda: install(packet.folder), become_nobody)
    assert "parts/axes.ini: no permission to write the file" in said
    assert kit.on_disk(root) == kit.FILES
    os.chown(root / "parts" / "axes.ini", NOBODY, NOBODY)
    assert in_child(lambda: install(packet.folder), become_nobody) == ""
    assert kit.on_disk(root) == dict(packet.after)
    assert {(root / name).stat().st_uid for name in kit.FILES} == {NOBODY}


@AS_ROOT
@pytest.mark.parametrize("way", ["install", "revert"])
def test_a_colleague_who_came_in_by_an_access_list_does_not_shut_the_owner_out(
    open_tmp: Path, kit: SimpleNamespace, wren_changes: object, way: str
) -> None:
    """Nobody may write the owner's files, and what Nobody makes can't be given away."""
    owner = 4711

    def become_owner() -> None:
        os.umask(0o077)
        os.setgroups([])
        os.setgid(owner)
        os.setuid(owner)

    def become_colleague() -> None:
        os.umask(0o077)
        become_nobody()

    root = kit.lay_out(open_tmp / "config", kit.FILES)
    packet = kit.pack(open_tmp / "packet", kit.FILES, wren_changes, str(root))
    try:
        for path in (root, root / "parts", *(root / name for name in kit.FILES)):
            path.chmod(0o700 if path.is_dir() else 0o600)
            entries = ((1, 7), (2, 7), (4, 0), (16, 7), (32, 0))
            packed = (struct.pack("<HHI", *each, NOBODY if each[0] == 2 else 2**32 - 1) for each in entries)
            os.setxattr(path, ACCESS_LIST, struct.pack("<I", 2) + b"".join(packed))
            os.chown(path, owner, owner)
    except OSError:
        pytest.skip("this file system has no access lists")

    importlib.import_module("ctypes")  # others may not look into the folder of this Python
    assert in_child(lambda: install(packet.folder), become_colleague) == ""
    assert kit.on_disk(root) == dict(packet.after)
    back = become_owner if way == "revert" else become_colleague
    assert in_child(lambda: revert(packet.folder), back) == ""
    assert kit.on_disk(root) == kit.FILES
    assert in_child(lambda: install(packet.folder), become_owner) == ""
    assert in_child(lambda: revert_to(root, "start", whole=True), become_colleague) == ""
    assert in_child(lambda: history(root).whole or pytest.fail("it is broken"), become_owner) == ""

    def become_stranger() -> None:
        os.setgid(owner + 1)
        os.setuid(owner + 1)

    assert "Refused" in in_child(lambda: history(root), become_stranger) or "Input" in in_child(
        lambda: history(root), become_stranger
    )


@AS_ROOT
def test_an_owner_that_can_t_be_kept_is_said(
    open_tmp: Path, kit: SimpleNamespace, wren_changes: object
) -> None:
    """Nobody may write root's file, by its group, but may not give the new file to root."""
    root = kit.lay_out(open_tmp / "config", kit.FILES)
    packet = kit.pack(open_tmp / "packet", kit.FILES, wren_changes, str(root))
    for path in (root, root / "parts", *(root / name for name in kit.FILES)):
        os.chown(path, 0, NOBODY)
        path.chmod(0o775 if path.is_dir() else 0o664)

    def report() -> None:
        notes = install(packet.folder).notes
        assert any("flow.conf: the owner 0:65534 could not be kept" in note for note in notes), notes

    assert in_child(report, become_nobody) == ""
    assert stat.S_IMODE((root / "flow.conf").stat().st_mode) == 0o664


def no_larger_than(size: int) -> Callable[[], None]:
    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    return limit


@pytest.mark.parametrize("size", [0, 1, 64, 100, 150, 220, 300, 600, 900])
@pytest.mark.parametrize("way", ["install", "revert"])
def test_a_file_size_limit_is_refused_with_nothing_changed(
    packet: Packet, config: Path, kit: SimpleNamespace, way: str, size: int
) -> None:
    """RLIMIT_FSIZE makes every write past the limit fail, wherever in the work it comes."""
    if way == "revert":
        install(packet.folder)
    before = kit.on_disk(config)
    said = in_child(lambda: (install if way == "install" else revert)(packet.folder), no_larger_than(size))
    assert said.startswith("Refused: ") and "File too large" in said
    assert kit.on_disk(config) == before
    assert recover_at(existing_root(config)) is None, "nothing is left to clear up"
    (install if way == "install" else revert)(packet.folder)
    assert kit.on_disk(config) == dict(packet.after if way == "install" else packet.before)


@AS_ROOT
@pytest.mark.exhaustive
def test_a_full_disk_is_refused_with_nothing_changed(
    open_tmp: Path, kit: SimpleNamespace, wren_changes: object
) -> None:
    """A tmpfs of 512 kB, filled so far that the work stops earlier or later, byte for byte the old files."""
    disk = open_tmp / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", disk], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip(f"no tmpfs can be mounted here: {mounted.stderr.decode()}")
    try:
        files = {path: data + b"# net\n" * 4000 for path, data in kit.FILES.items()}
        root = kit.lay_out(disk / "config", files)
        changes = [kit.move(files, *each) for each in kit.MOVES]
        packet = kit.pack(open_tmp / "packet", files, changes, str(root))
        refused = 0
        for free in range(0, 360_000, 12_000):
            space = os.statvfs(disk)
            (disk / "filler").write_bytes(b"x" * max(0, space.f_bavail * space.f_bsize - free))
            try:
                install(packet.folder)
            except Refused as error:
                refused += 1
                assert "No space left" in str(error)
                assert kit.on_disk(root) == files
            else:
                assert kit.on_disk(root) == dict(packet.after)
            (disk / "filler").unlink()
            revert(packet.folder)
            assert kit.on_disk(root) == files
            shutil.rmtree(root / ".cfgmigrate", ignore_errors=True)
        assert 3 < refused < 30
    finally:
        subprocess.run(["umount", disk], check=True)


FAILURES = [errno.ENOSPC, errno.EIO, errno.EACCES, errno.EROFS]


@pytest.mark.parametrize("name", ["write", "fsync", "replace", "open", "fchmod"])
@pytest.mark.parametrize("number", FAILURES, ids=lambda number: errno.errorcode[number])
def test_a_call_that_fails_anywhere_leaves_the_old_set_or_the_whole_new_one(
    packet: Packet, config: Path, kit: SimpleNamespace, name: str, number: int
) -> None:
    """Every call of one kind fails in turn, once; whatever the report says is what is there."""
    for at in range(1, 60):
        real, count = getattr(os, name), 0

        def failing(*args: object, **kwargs: object) -> object:
            nonlocal count
            count += name != "open" or bool(len(args) > 1 and args[1] & os.O_CREAT)  # type: ignore[operator]
            if count == at:  # noqa: B023
                count += 1
                raise OSError(number, os.strerror(number), "somewhere")
            return real(*args, **kwargs)  # noqa: B023

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(os, name, failing)
            try:
                install(packet.folder)
                done = True
            except Refused:
                done = False
        if not done:
            assert kit.on_disk(config) == kit.FILES, (name, at)
        else:
            assert kit.on_disk(config) == dict(packet.after), (name, at)
        assert history(config).whole
        if count < at:
            break
        recover_at(existing_root(config))
        assert kit.on_disk(config) in (kit.FILES, dict(packet.after))
        if done:
            revert(packet.folder)
    assert at > 2


def test_a_second_run_at_the_same_time_is_refused(packet: Packet, config: Path, kit: SimpleNamespace) -> None:
    with Store(existing_root(config)).locked():
        said = in_child(lambda: install(packet.folder))
    assert "another run is changing this configuration" in said
    assert kit.on_disk(config) == kit.FILES
    install(packet.folder)


def test_the_lock_goes_with_the_process_that_held_it(packet: Packet, config: Path) -> None:
    """The holder is killed, so nobody takes its lock file away; the next run goes through all the same."""
    code = (
        "import os, signal, sys\nfrom pathlib import Path\n"
        "from cfgmigrate.store.keeping import Store\n"
        "with Store(Path(sys.argv[1]).resolve()).locked():\n    os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    killed = subprocess.run([sys.executable, "-c", code, config], check=False)
    assert killed.returncode == -signal.SIGKILL
    assert (config / ".cfgmigrate" / "lock").exists()
    assert install(packet.folder).written


def test_many_runs_at_once_install_exactly_once(packet: Packet, config: Path, kit: SimpleNamespace) -> None:
    code = (
        "import sys\nfrom pathlib import Path\nfrom cfgmigrate.apply.install import install\n"
        "from cfgmigrate.ground.findings import Refused\n"
        "try:\n    print('written' if install(Path(sys.argv[1])).written else 'already')\n"
        "except Refused as error:\n    print('refused', error)\n"
    )
    runs = [
        subprocess.Popen([sys.executable, "-c", code, packet.folder], stdout=subprocess.PIPE, text=True)
        for _ in range(6)
    ]
    said = [run.communicate()[0].split()[0] for run in runs]
    assert said.count("written") == 1, said
    assert kit.on_disk(config) == dict(packet.after)
    assert len(history(config)) == 1


def test_what_another_run_installed_just_before_is_there_already(
    packet: Packet, config: Path, kit: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    def meanwhile(store: Store) -> None:
        for path, data in packet.after.items():
            (config / path).write_bytes(data)

    monkeypatch.setattr("cfgmigrate.apply.install.recover", meanwhile)
    report = install(packet.folder)
    assert report.already and not report.written
    assert kit.on_disk(config) == dict(packet.after)
    assert len(history(config)) == 0
