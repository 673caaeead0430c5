"""The machine stops in the middle: whatever was under way is finished or undone by the next command.

Every call that changes the disk (write, fsync, rename, exchange, unlink, mkdir, and the making of a file) is a
point at which a child process kills itself with SIGKILL, once before the call and once after it; a write
is also cut in half. Each point is tried in turn, over an install of three files and over a revert. After
the next command only the old set or the new set of files may be there, and it says which.
"""

from __future__ import annotations

import os
import shutil
import signal
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import cfgmigrate.packet.write as writing
from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert, revert_to
from cfgmigrate.packet.folder import Packet, aside
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.store import chain, checked, exchanging
from cfgmigrate.store import history as records
from cfgmigrate.store.history import history
from cfgmigrate.store.undoing import recover_at

CALLS = ("write", "fsync", "replace", "rename", "unlink", "mkdir", "open", "fchmod", "fchown", "setxattr")


class Guillotine:
    """Counts the calls that change the disk, and ends the process at one of them."""

    def __init__(self, at: int | None, when: str) -> None:
        self.at = at
        self.when = when
        self.passed: list[str] = []

    @property
    def count(self) -> int:
        return len(self.passed)

    def hang_over(self, name: str, module: Any = os) -> None:
        real = getattr(module, name)

        def watched(*args: Any, **kwargs: Any) -> Any:
            if name == "open" and not (len(args) > 1 and args[1] & os.O_CREAT):
                return real(*args, **kwargs)
            self.passed.append(name)
            if self.count == self.at and self.when == "half" and name == "write":
                real(args[0], bytes(args[1])[: len(args[1]) // 2])
            if self.count == self.at and self.when != "after":
                os.kill(os.getpid(), signal.SIGKILL)
            try:
                return real(*args, **kwargs)
            finally:
                if self.count == self.at:
                    os.kill(os.getpid(), signal.SIGKILL)

        setattr(module, name, watched)


def run_in_child(work: Callable[[], object], at: int | None, when: str = "before") -> tuple[bool, list[str]]:
    """Carry out `work` in a forked child. Returns whether it was killed, and the points that it passed."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            guillotine = Guillotine(at, when)
            tell = os.write
            for name in CALLS:
                guillotine.hang_over(name)
            guillotine.hang_over("exchange", exchanging)
            work()
            tell(writer, " ".join(["done", *guillotine.passed]).encode())
        finally:
            os._exit(0)
    os.close(writer)
    told = os.read(reader, 10_000).decode().split()
    os.close(reader)
    _, status = os.waitpid(child, 0)
    killed = os.WIFSIGNALED(status)
    assert killed != bool(told), "the child ended in neither way"
    return killed, told[1:]


def points(work: Callable[[], object], reset: Callable[[], None]) -> Iterator[tuple[int, str]]:
    """Every point, before and after the call, and in the middle of each write."""
    reset()
    _, passed = run_in_child(work, None)
    assert len(passed) > 30
    for at, name in enumerate(passed, 1):
        for when in ("before", "half", "after") if name == "write" else ("before", "after"):
            yield at, when


@pytest.fixture
def tmp_path(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory where the system has one: a killed process loses nothing that it wrote, flushed
    or not, so waiting for a real disk would prove nothing more."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(dir=memory) as folder:
        yield Path(folder).resolve()


@pytest.mark.exhaustive
@pytest.mark.parametrize("way", ["install", "revert", "revert an edited file", "revert to the start"])
def test_only_the_old_or_the_new_set_is_there_after_a_kill_at_any_point(
    packet: Packet,
    config: Path,
    kit: SimpleNamespace,
    way: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    template = config.with_name("template")
    if way != "install":
        install(packet.folder)
    if way == "revert to the start":  # which also bundles the entry before, and notes that down
        for module in (chain, records):
            monkeypatch.setattr(module, "BUNDLE", 1)
            monkeypatch.setattr(module, "LEFT", 1)
        monkeypatch.setattr(checked, "TOO_NEAR", -(10**15))
    already = len(history(config))
    if way == "revert an edited file":
        flow = config / "flow.conf"
        flow.write_bytes(flow.read_bytes().replace(b"retract.speed=45", b"retract.speed=30"))
    shutil.copytree(config, template, symlinks=True)
    old = kit.on_disk(config)

    def work() -> object:
        match way:
            case "install":
                return install(packet.folder)
            case "revert to the start":
                return revert_to(config, "start")
            case _:
                return revert(packet.folder)

    def reset() -> None:
        shutil.rmtree(config)
        shutil.copytree(template, config, symlinks=True)

    work()
    new = kit.on_disk(config)
    assert new != old
    outcomes = {"finished": 0, "undone": 0, "not begun or complete": 0}
    tried = 0
    for at, when in points(work, reset):
        reset()
        killed, _ = run_in_child(work, at, when)
        assert killed, (at, when)
        tried += 1
        recovery = recover_at(config.resolve())
        found = kit.on_disk(config)
        assert found in (old, new), (at, when)
        outcomes[recovery.outcome if recovery else "not begun or complete"] += 1
        if recovery:
            assert found == (new if recovery.outcome == "finished" else old)
            assert recovery.outcome in str(recovery)
        assert history(config).whole and history(config, anew=True).whole
        assert len(history(config)) == already + (found == new)
        assert recover_at(config.resolve()) is None
        work()
        assert kit.on_disk(config) == new, "the same command goes through afterwards"
        leftovers = list(config.rglob(".cfgmigrate-*"))
        assert not leftovers, (at, when)
    assert outcomes["finished"] and outcomes["undone"]
    with capsys.disabled():
        print(f"\n  {way}: {tried} kills, {outcomes}")


@pytest.mark.exhaustive
def test_a_kill_during_the_recovery_is_recovered_from(
    packet: Packet, config: Path, kit: SimpleNamespace, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two power cuts: one in the install, one while the next command clears up after it."""
    template = config.with_name("template")
    shutil.copytree(config, template)
    root = config.resolve()

    def reset() -> None:
        shutil.rmtree(config)
        shutil.copytree(template, config)

    def work() -> object:
        return install(packet.folder)

    _, passed = run_in_child(work, None)
    tried = 0
    for first in range(len(passed) // 3, len(passed) + 1, 3):
        reset()
        run_in_child(work, first)
        broken = config.with_name("broken")
        shutil.rmtree(broken, ignore_errors=True)
        shutil.copytree(config, broken)
        second = 1
        while True:
            shutil.rmtree(config)
            shutil.copytree(broken, config)
            killed, _ = run_in_child(lambda: recover_at(root), second)
            if not killed:
                break
            recover_at(root)
            assert kit.on_disk(config) in (dict(packet.before), dict(packet.after)), (first, second)
            assert history(config).whole
            tried += 1
            second += 1
    assert tried > 20
    with capsys.disabled():
        print(f"\n  install, then its recovery: {tried} pairs of kills")


def test_the_next_command_says_what_became_of_the_interrupted_one(packet: Packet, config: Path) -> None:
    _, passed = run_in_child(lambda: install(packet.folder, dry_run=True), None)
    assert passed == [], "a dry run changes nothing on disk"
    said = set()
    for at in range(1, 200):
        killed, _ = run_in_child(lambda: install(packet.folder), at)
        if not killed:
            break
        report = install(packet.folder)
        if report.recovered:
            said.add((report.recovered.outcome, report.already))
        revert(packet.folder)
    assert said == {("undone", False), ("finished", True)}


def test_an_edit_made_after_the_crash_is_never_run_over(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    """Killed between two renames; then somebody edits a file by hand, before any other command."""
    template = config.with_name("template")
    shutil.copytree(config, template)
    mixed = 0
    for at in range(1, 200):
        shutil.rmtree(config)
        shutil.copytree(template, config)
        killed, _ = run_in_child(lambda: install(packet.folder), at)
        if not killed:
            break
        for path in packet.before:
            if not (config / ".cfgmigrate" / "journal.json").exists():
                continue
            saved = config.with_name("saved")
            shutil.rmtree(saved, ignore_errors=True)
            shutil.copytree(config, saved)
            edited = (config / path).read_bytes() + b"\n# by hand\n"
            (config / path).write_bytes(edited)
            recovery = recover_at(config.resolve())
            assert (config / path).read_bytes() == edited, (at, path)
            others = {name: data for name, data in kit.on_disk(config).items() if name != path}
            olds = {name: data for name, data in packet.before.items() if name != path}
            news = {name: data for name, data in packet.after.items() if name != path}
            assert others in (olds, news), (at, path)
            assert recovery is not None
            mixed += bool(recovery.conflicts)
            shutil.rmtree(config)
            shutil.copytree(saved, config)
    assert mixed


@pytest.mark.exhaustive
@pytest.mark.parametrize("exchanging", [True, False], ids=["in one step", "in two steps"])
def test_a_packet_that_is_replaced_is_the_old_one_or_the_new_one_after_a_kill_at_any_point(
    packet: Packet,
    config: Path,
    wren_changes: object,
    kit: SimpleNamespace,
    monkeypatch: pytest.MonkeyPatch,
    exchanging: bool,
) -> None:
    """In two steps, there may be none for a moment; the next writing puts the old one back first."""
    if not exchanging:
        monkeypatch.setattr(writing, "exchange", lambda one, other: False)
    folder, template = packet.folder, packet.folder.with_name("template")
    shutil.copytree(folder, template)

    def write(count: int, replace: bool) -> Packet:
        made: Packet = kit.pack(folder, kit.FILES, wren_changes[:count], str(config), replace=replace)  # type: ignore[index]
        return made

    def reset() -> None:
        for leftover in folder.parent.iterdir():
            if leftover not in (config, template):
                shutil.rmtree(leftover)
        shutil.copytree(template, folder)

    new = write(3, replace=True).hash
    seen = {packet.hash: 0, new: 0, "": 0}
    _, passed = run_in_child(lambda: write(3, replace=True), None)
    last = len(passed)
    for at in sorted({*range(1, last, 5), *range(last - 40, last + 1)} & set(range(1, last + 1))):
        for when in ("before", "after"):
            reset()
            killed, _ = run_in_child(lambda: write(3, replace=True), at, when)
            assert killed
            found = read_packet(folder).hash if folder.exists() else ""
            seen[found] += 1
            assert found or not exchanging
            assert write(3, replace=True).hash == new
            assert not aside(folder).exists()
    assert seen[packet.hash] > 10 and seen[new] > 3
    print(
        f"\n{sum(seen.values())} kill points over the replacing of a packet: {seen[packet.hash]} old, {seen[new]} new"
    )
