"""Other machines beside the one whose packet is taken back, which read some of its files or share its history.

What such a machine holds is no trace of what was installed here: its lines are its own, even where they read alike. And what its
packet changed in a file that this one only read is no edit that somebody made for the new drive: to put that file back as it
was read would take the other machine's values, or give them back, in silence.

It looks for them within bounds, as `other_readers.py` does, and changes nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import TypeVar

from msgspec import Struct

from cfgmigrate.apply.asked_machine import AskedMachine, steps_of_others
from cfgmigrate.apply.other_readers import HAS_THE_OLD, NamingLine, lines_naming, readers_in, sentences
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.paths import target
from cfgmigrate.store.history import read_history
from cfgmigrate.store.keeping import Store

T = TypeVar("T")


class MachinesBeside(Struct, frozen=True):
    """`lines` of their files name one of this machine's, `left` is what their steps left in files, and `changed` the files that only
    this machine's packet read and a step of theirs changed last, each with that step."""

    lines: tuple[NamingLine, ...] = ()
    left: Mapping[str, tuple[bytes, ...]] = {}
    changed: Mapping[str, str] = {}

    @property
    def files(self) -> frozenset[str]:
        """Their files, but for those that this machine reads, too."""
        return frozenset(line.path for line in self.lines).union(self.left)

    def but_theirs(self, read: Mapping[str, T]) -> dict[str, T]:
        """The files that were read, but for those that are as a step of theirs left them."""
        return {path: each for path, each in read.items() if path not in self.changed}

    def told(self, restored: Collection[str]) -> tuple[str, ...]:
        """A sentence for each file that is theirs, too, where some were `restored`."""
        return (
            *(
                f"{file} is left as it is: {step} of the history changed it for another machine"
                for file, step in self.changed.items()
            ),
            *sentences(readers_in(self.lines, restored), HAS_THE_OLD),
        )


def machines_beside(root: Path, read: Mapping[str, bytes], written: Collection[str]) -> MachinesBeside:
    """The machines beside one whose packet `read` these files, as they were then, and has `written` some of them."""
    lines = lines_naming(root, read, read)
    store = Store(root)
    past = read_history(store)
    shared = {line.file for line in lines}
    asked = AskedMachine(frozenset(read), frozenset(path for path in read if path not in shared))
    left: dict[str, tuple[bytes, ...]] = {}
    last = {file.path: entry for entry in past for file in entry.files}
    changed: dict[str, str] = {}
    for entry in steps_of_others(past, root, asked) if asked.heads and past.whole else ():
        for file in entry.files:
            if file.path not in asked.paths:
                left[file.path] = (*left.get(file.path, ()), *_kept(store, file.after))
            elif (
                file.path not in written
                and last[file.path] is entry
                and sha256(read[file.path]) != file.after == _now(root, file.path)
            ):
                changed[file.path] = f"{entry.kind} {entry.number}"
    return MachinesBeside(lines, left, changed)


def _kept(store: Store, name: str) -> tuple[bytes, ...]:
    try:
        return (store.kept(name),)
    except CfgError:
        return ()


def _now(root: Path, path: str) -> str:
    try:
        data = target(root, path).data
    except CfgError:
        return ""
    return "" if data is None else sha256(data)
