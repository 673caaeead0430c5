"""Of a history that several machines share, the entries of the one that is asked about, and which others touched its files.

Machines whose files lie below one folder have one history, and whoever asks where one of them stands must not be told of
another one's installs. An entry is another machine's where it edited a file that is there and none of those asked about,
and passed over one that this machine can't do without. A file that is gone may be one of this machine's under its old name, and
one that is kept beside it as a copy was once its own, so an entry that edited no other is told. A revert and a tick are those of the machine whose packet they are about; a revert of
several steps is told wherever it reached.

Paths alone are looked at, and no file is read. What is worked out from a history asks more (`other_machines.py`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.apply.past_steps import GONE_BACK
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.store.entries import DONE, HistoryEntry, OthersEntry
from cfgmigrate.store.history import History

#: so many files of another machine name it, and so many of its steps are named
MOST_OWN_FILES, MOST_STEPS_NAMED = 2, 4


class AskedMachine(Struct, frozen=True):
    """The files and folders asked about, by their paths below the root ("" for the root itself), and those of them that no
    step of this machine passes over. `kept` are files beside them that are no other machine's, such as kept copies."""

    paths: frozenset[str]
    heads: frozenset[str]
    kept: frozenset[str] = frozenset()

    def has(self, path: str) -> bool:
        """Whether a file is one of those asked about, or lies below one of the folders."""
        return any(place in self.paths for place in _places(path))


def told_of(past: History, root: Path, asked: AskedMachine) -> History:
    """The history with the entries of the machine asked about alone; what others did to its files is in `others`."""
    others = steps_of_others(past, root, asked)
    if not others:
        return past
    numbers = {entry.number for entry in others}
    mine = tuple(entry for entry in past if entry.number not in numbers)
    steps = {entry.packet: entry for entry in past if entry.kind not in (GONE_BACK, DONE)}
    return replace(past, entries=mine, others=tuple(_told(others, steps, asked)))


def steps_of_others(
    past: Iterable[HistoryEntry], root: Path, asked: AskedMachine
) -> tuple[HistoryEntry, ...]:
    """The entries that are another machine's than the one asked about."""
    entries = tuple(past)
    steps = [entry for entry in entries if entry.kind not in (GONE_BACK, DONE)]
    away = [entry for entry in steps if _is_others(entry, root, asked)]
    packets = {entry.packet for entry in away}
    alone = _edited(entry for entry in steps if entry.packet not in packets) - _edited(away)
    return tuple(
        entry
        for entry in entries
        if entry.packet in packets and not (entry.kind == GONE_BACK and alone & _edited([entry]))
    )


def machines_apart(past: Iterable[HistoryEntry], there: Callable[[str], bool]) -> tuple[tuple[str, ...], ...]:
    """The files that each machine has alone, where the steps of a history tell of several by files that are `there`; nothing
    where they don't."""
    machines = _machines_in(past, there)
    if len(machines) < 2:
        return ()
    times = Counter(path for files in machines for path in files)
    return tuple(tuple(sorted(path for path in files if times[path] == 1)) for files in machines)


def _machines_in(past: Iterable[HistoryEntry], there: Callable[[str], bool]) -> list[frozenset[str]]:
    """The files of each machine that a history tells of, as far as its steps tell them apart: what one of them read or
    edited has all that another one did, or they are of two machines. A file that is gone tells nothing, since it may have
    another name by now, nor does a step of which it was not kept what it read."""
    found: list[frozenset[str]] = []
    for entry in past:
        read = _read(entry) if entry.kind not in (GONE_BACK, DONE) else None
        mine = frozenset(filter(there, _touched(entry))) if read else frozenset()
        if mine:
            same = [each for each in found if each <= mine or mine <= each]
            found = [each for each in found if each not in same]
            found.append(mine.union(*same))
    return found


def sentences_of_others(others: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """A sentence for each file asked about that steps of other machines (their JSON) changed, too."""
    by: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for each in others:
        for file in each["files"]:
            by.setdefault((file, tuple(each["of"])), []).append(f"{each['kind']} {each['entry']}")
    return tuple(
        f"{file} was changed for another machine, too ({_some(of, MOST_OWN_FILES)}): {_some(steps, MOST_STEPS_NAMED)}"
        for (file, of), steps in by.items()
    )


def told_of_several(several: Sequence[Sequence[str]]) -> str:
    """That a history tells of several machines, by the files that each has alone, and what to do."""
    names = [_some(files, MOST_OWN_FILES) for files in several if files]
    return (
        f"Several machines share this history ({'; '.join(names)}), and what is told here is not one machine's: name the folder "
        "of one, and the files that it shares, to be told of that one alone"
    )


def told_of_below(below: Sequence[str]) -> str:
    """That there is no history here, and in which folders there is one."""
    return f"There is no history here, but one in {_some(below, MOST_STEPS_NAMED)}: name that folder to be told of it, or to go back there"


def told_of_going_back(several: Sequence[Sequence[str]]) -> str:
    """That going back in a history takes back the steps of several machines, by the files that each has alone."""
    names = [_some(files, MOST_OWN_FILES) for files in several if files]
    return f"Several machines share this history ({'; '.join(names)}), and this takes back the steps of all of them"


def _is_others(entry: HistoryEntry, root: Path, asked: AskedMachine) -> bool:
    elsewhere = [
        file.path for file in entry.files if not asked.has(file.path) and file.path not in asked.kept
    ]
    if not any(_is_apart(root, path, asked) for path in elsewhere):
        return False
    reached = {place for path in _touched(entry) for place in _places(path)}
    return not asked.heads <= reached


def _is_apart(root: Path, path: str, asked: AskedMachine) -> bool:
    """Whether a file is there, and is no link to one of those asked about."""
    try:
        real = (root / path).resolve(strict=True)
        return not (real.is_relative_to(root) and asked.has(real.relative_to(root).as_posix()))
    except (OSError, RuntimeError):
        return False


def _edited(entries: Iterable[HistoryEntry]) -> set[str]:
    return {file.path for entry in entries for file in entry.files}


def _told(
    others: Sequence[HistoryEntry], whose: Mapping[str, HistoryEntry], asked: AskedMachine
) -> Iterator[OthersEntry]:
    """What others did to the files asked about; of a revert the step of its packet tells `whose` it is."""
    for entry in others:
        shared = tuple(file.path for file in entry.files if asked.has(file.path))
        of = whose.get(entry.packet, entry)
        apart = tuple(file.path for file in of.files if not asked.has(file.path))
        if shared:
            values = tuple(
                (file.path, span.name) for file in entry.files if file.path in shared for span in file.spans
            )
            yield OthersEntry(entry.number, entry.kind, entry.time, shared, apart, values)


def _touched(entry: HistoryEntry) -> frozenset[str]:
    """The files that a step edited, and those that were read for it, as far as the history kept them."""
    return _read(entry).union(file.path for file in entry.files)


def _read(entry: HistoryEntry) -> frozenset[str]:
    try:
        return frozenset(str(path) for path in (entry.reasons or {}).get("inputs") or ())
    except CfgError:
        return frozenset()


def _places(path: str) -> Iterator[str]:
    """A file's path and those of the folders that it lies in, up to the root."""
    while path:
        yield path
        path = path.rpartition("/")[0]
    yield ""


def _some(names: Sequence[str], most: int) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
