"""The power goes: whatever the disk then holds of what was written, the next command finds the old set or the new one.

A kill leaves everything that was done; a power cut does not. What a program wrote is on the disk for certain only
where it was flushed: a file's content by fsync of the file, its name by fsync of its folder (POSIX, fsync; common
practice for journaling file systems). All else may be there or not. This is a stand-in in user space: it records
every write, name and flush of an install and of a revert, and builds for every point in that log the folders that a
cut there could leave: names that were not flushed kept up to any point, one of them lost, all of them lost; contents
that were not flushed whole, cut in half or empty. In each the next command is run.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import Refused
from cfgmigrate.ground.paths import existing_root
from cfgmigrate.packet.folder import Packet
from cfgmigrate.store import exchanging
from cfgmigrate.store.history import history
from cfgmigrate.store.undoing import recover_at

Tree = dict[str, int | None]
"""Path → the number of the file there, None for a folder."""


@dataclass
class Log:
    """What was done to the disk, in order; paths are relative to the root. An operation on names is
    `(what, path, other, file)`, a content `("write", file, bytes)`, a flush `("sync", file)` or `("sync names", folder)`."""

    root: Path
    start: Tree = field(default_factory=dict)
    contents: dict[int, bytes] = field(default_factory=dict)
    steps: list[tuple[Any, ...]] = field(default_factory=list)
    now: Tree = field(default_factory=dict)
    open: dict[int, str] = field(default_factory=dict)
    made: int = 0

    def begin(self) -> None:
        for path in sorted(self.root.rglob("*")):
            name = path.relative_to(self.root).as_posix()
            self.start[name] = None
            if path.is_file():
                self.start[name] = self._new(path.read_bytes())
        self.now = dict(self.start)

    def _new(self, data: bytes = b"") -> int:
        self.made += 1
        self.contents[self.made] = data
        return self.made

    def name(self, path: Any) -> str | None:
        whole = Path(os.path.abspath(os.fsdecode(path)))  # noqa: PTH100 (a link stays a link)
        return whole.relative_to(self.root).as_posix() if whole.is_relative_to(self.root) else None

    def names(self, what: str, path: str, other: str = "") -> None:
        number = self._new() if what == "make" else self.now.get(path)
        step = (what, path, other, number)
        self.steps.append(step)
        _done(self.now, step)

    def watch(self, patch: pytest.MonkeyPatch) -> None:
        real = SimpleNamespace(**{name: getattr(os, name) for name in ("open", "write", "fsync", "close", "replace", "rename", "unlink", "mkdir")})  # fmt: skip
        exchange = exchanging.exchange

        def opened(path: Any, flags: int, *more: Any, **named: Any) -> int:
            there = os.path.lexists(path)
            handle: int = real.open(path, flags, *more, **named)
            name = self.name(path)
            if name is not None:
                self.open[handle] = name
                if flags & os.O_CREAT and not there:
                    self.names("make", name)
            return handle

        def write(handle: int, data: bytes) -> int:
            done: int = real.write(handle, data)
            if handle in self.open:
                self.steps.append(("write", self.now[self.open[handle]], bytes(data[:done])))
            return done

        def fsync(handle: int) -> None:
            real.fsync(handle)
            name = self.open.get(handle)
            if name is not None:
                number = self.now.get(name)
                self.steps.append(("sync names", name) if number is None else ("sync", number))

        def close(handle: int) -> None:
            real.close(handle)
            self.open.pop(handle, None)

        def two(what: str, call: Callable[..., Any]) -> Callable[..., Any]:
            def moved(one: Any, other: Any, **named: Any) -> Any:
                found = call(one, other, **named)
                first, second = self.name(one), self.name(other)
                if first is not None and second is not None and found is not False:
                    self.names(what, first, second)
                return found

            return moved

        def one(what: str, call: Callable[..., Any]) -> Callable[..., Any]:
            def changed(path: Any, *more: Any, **named: Any) -> None:
                call(path, *more, **named)
                if (name := self.name(path)) is not None:
                    self.names(what, name)

            return changed

        for name, watched in (
            ("open", opened), ("write", write), ("fsync", fsync), ("close", close),
            ("replace", two("move", real.replace)), ("rename", two("move", real.rename)),
            ("unlink", one("remove", real.unlink)), ("mkdir", one("folder", real.mkdir)),
        ):  # fmt: skip
            patch.setattr(os, name, watched)
        patch.setattr(exchanging, "exchange", two("exchange", exchange))

    def cuts(self) -> Iterator[dict[str, bytes | None]]:
        """Every folder, each once, that a cut could leave: path → content, None for a folder."""
        seen: set[tuple[tuple[str, bytes | None], ...]] = set()
        for at in range(0, len(self.steps) + 1):
            for names in self._names(self.steps[:at]):
                for kept in ("whole", "half", "empty"):
                    found = self._tree(names, self._contents(self.steps[:at], kept))
                    key = tuple(sorted(found.items()))
                    if key not in seen:
                        seen.add(key)
                        yield found

    def _names(self, steps: list[tuple[Any, ...]]) -> Iterator[Tree]:
        flushed: set[int] = set()
        acts = [at for at, step in enumerate(steps) if step[0] not in ("write", "sync", "sync names")]
        for at, step in enumerate(steps):
            if step[0] == "sync names":
                flushed |= {act for act in acts if act < at and step[1] in _folders(steps[act])}
        loose = [act for act in acts if act not in flushed]
        lost: list[set[int]] = [set(loose[first:]) for first in range(len(loose) + 1)]
        lost += [{act} for act in loose]
        for away in lost:
            tree = dict(self.start)
            for act in acts:
                if act not in away:
                    _done(tree, steps[act])
            yield tree

    def _contents(self, steps: list[tuple[Any, ...]], kept: str) -> dict[int, bytes]:
        whole, flushed = dict(self.contents), dict(self.contents)
        for step in steps:
            if step[0] == "write":
                whole[step[1]] = whole[step[1]] + step[2]
            elif step[0] == "sync":
                flushed[step[1]] = whole[step[1]]
        if kept == "whole":
            return whole
        found = {}
        for number, data in whole.items():
            loose = data[len(flushed[number]) :]
            found[number] = flushed[number] + (loose[: len(loose) // 2] if kept == "half" else b"")
        return found

    @staticmethod
    def _tree(names: Tree, contents: dict[int, bytes]) -> dict[str, bytes | None]:
        found: dict[str, bytes | None] = {}
        for path in sorted(names):
            parent = path.rpartition("/")[0]
            if not parent or found.get(parent, b"") is None:
                number = names[path]
                found[path] = None if number is None else contents[number]
        return found


def _folders(step: tuple[Any, ...]) -> set[str]:
    return {path.rpartition("/")[0] or "." for path in step[1:3] if path}


def _done(tree: Tree, step: tuple[Any, ...]) -> None:
    """One operation on names; one that rests on another that was lost does nothing."""
    what, path, other, number = step
    if what == "make":
        tree.setdefault(path, number)
    elif what == "folder":
        tree.setdefault(path, None)
    elif what == "remove":
        tree.pop(path, None)
    elif path in tree and what == "move":
        tree[other] = tree.pop(path)
    elif path in tree and other in tree:
        tree[path], tree[other] = tree[other], tree[path]


def lay_out(folder: Path, found: dict[str, bytes | None]) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for path, data in found.items():
        if data is None:
            (folder / path).mkdir(parents=True, exist_ok=True)
        else:
            (folder / path).parent.mkdir(parents=True, exist_ok=True)
            (folder / path).write_bytes(data)


def recorded(config: Path, patch: pytest.MonkeyPatch, act: Callable[[], object]) -> Log:
    log = Log(existing_root(config))
    log.begin()
    with patch.context() as inside:
        log.watch(inside)
        act()
    return log


def check_cuts(
    log: Log,
    folder: Path,
    kit: SimpleNamespace,
    old: dict[str, bytes],
    new: dict[str, bytes],
    entries: int,
) -> int:
    """After each cut, and the next command: the old set with the old history, or the new with the new one. Where the
    journal says that every new content is there, it is the new one."""
    count, ends = 0, set()
    for found in log.cuts():
        lay_out(folder, found)
        ready = b'"state": "renaming"' in (found.get(".cfgmigrate/journal.json") or b"")
        recovery = recover_at(existing_root(folder))
        assert not ready or (recovery is not None and recovery.outcome == "finished"), (
            "a hidden file was lost"
        )
        assert not (folder / ".cfgmigrate" / "journal.json").exists()
        there = kit.on_disk(folder)
        past = history(folder)
        assert past.whole, past.problems
        assert (there, len(past)) in ((old, entries), (new, entries + 1))
        leftover = [path.name for path in folder.rglob(".cfgmigrate-*")]
        assert not leftover
        ends.add(len(past))
        count += 1
    assert ends == {entries, entries + 1}, "no cut left the one set, or none the other"
    return count


def test_whatever_a_power_cut_leaves_of_an_install_is_finished_or_undone(
    packet: Packet,
    config: Path,
    tmp_path: Path,
    kit: SimpleNamespace,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    old = kit.on_disk(config)
    log = recorded(config, monkeypatch, lambda: install(packet.folder))
    assert len(log.steps) > 60
    new = kit.on_disk(config)
    assert new != old
    assert check_cuts(log, tmp_path / "cut", kit, old, new, 0) > len(log.steps) / 2


def test_whatever_a_power_cut_leaves_of_a_revert_is_finished_or_undone(
    packet: Packet,
    config: Path,
    tmp_path: Path,
    kit: SimpleNamespace,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    install(packet.folder)
    old = kit.on_disk(config)
    log = recorded(config, monkeypatch, lambda: revert(packet.folder))
    new = kit.on_disk(config)
    assert new == kit.FILES
    assert check_cuts(log, tmp_path / "cut", kit, old, new, 1) > len(log.steps) / 2


def test_the_stand_in_finds_out_what_is_not_flushed(
    packet: Packet, config: Path, tmp_path: Path, kit: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the flush of the hidden files' contents, some cut leaves neither the old set nor the new one."""
    old = kit.on_disk(config)
    log = recorded(config, monkeypatch, lambda: install(packet.folder))
    new = kit.on_disk(config)
    log.steps = [step for step in log.steps if step[0] != "sync"]
    with pytest.raises(Refused):
        check_cuts(log, tmp_path / "cut", kit, old, new, 0)
