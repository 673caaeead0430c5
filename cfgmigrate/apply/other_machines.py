"""Files of another machine whose packets share a history with this one's, since both read files in one folder.

Such a file is none of those that are worked on and lies where a step left it, with what the step put there. It counts for
the other machine: what was installed in it did not move into a file of this one. But a file may have gone on under
another name while it stayed as a copy. So one of this machine's that is much like it takes its place, unless what stood
there before the step stands in more of its lines than what the step put there, or it was there already as another machine's and
is known ever since. Machines of one kind have files much alike: one number that is this one's own makes no moved file of its.

Whose the shared files' own values are is not asked: what stands in them, stands there for all.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from pathlib import Path

from cfgmigrate.apply.locate import SpanState, locate
from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.paths import target
from cfgmigrate.plan.edits import FileStep
from cfgmigrate.store.entries import HistoryEntry
from cfgmigrate.store.history import steps_of
from cfgmigrate.store.keeping import Store

#: the share of a file's lines that one has which it went on as (common practice, no source)
MUCH_ALIKE = 0.5


def files_of_others(
    steps: Iterable[FileStep], root: Path, present: Mapping[str, bytes], beside: Container[str] = ()
) -> frozenset[str]:
    """Those of the steps' files that are another machine's, where this one's files are `present`. None went on as one of
    those that are known to have lain `beside`."""
    may_be = {path: data for path, data in present.items() if path not in beside}
    return frozenset(
        step.path for step in steps if step.path not in present and _of_another(step, root, may_be)
    )


def _of_another(step: FileStep, root: Path, present: Mapping[str, bytes]) -> bool:
    try:
        there = target(root, step.path).data
    except CfgError:
        return False
    if there is None or all(each.state is SpanState.GONE for each in locate(step, there)):
        return False
    return not any(_goes_on_as(step, data) for data in present.values())


def _goes_on_as(step: FileStep, data: bytes) -> bool:
    """Whether a file is much like the one that a step left, and not rather as it was before the step."""
    left, here = _lines(step.after), _lines(data)
    if len(left & here) < MUCH_ALIKE * len(left):
        return False
    states = [each.state for each in locate(step, data)]
    return states.count(SpanState.OLD) <= states.count(SpanState.INSTALLED)


def _lines(data: bytes) -> set[str]:
    return {line.strip() for line in readable(data).splitlines() if line.strip()}


def others_files_of(
    store: Store, entry: HistoryEntry, present: Mapping[str, bytes], past: Iterable[HistoryEntry] = ()
) -> frozenset[str]:
    """The files of an entry of this past that are another machine's. Nothing is read where all of them are this one's."""
    if all(file.path in present for file in entry.files):
        return frozenset()
    beside = _beside_since(entry, past, present)
    return files_of_others(steps_of(store, entry), store.root, present, beside)


def _beside_since(
    entry: HistoryEntry, past: Iterable[HistoryEntry], present: Mapping[str, bytes]
) -> frozenset[str]:
    """The files that were another machine's when an entry was written, and of which every change since is in the history."""
    now = {str(path): str(was) for path, was in ((entry.reasons or {}).get("beside") or {}).items()}
    for later in past if now else ():
        for file in later.files if later.number > entry.number else ():
            if now.get(file.path) == file.before:
                now[file.path] = file.after
    return frozenset(
        path for path, known in now.items() if path in present and sha256(present[path]) == known
    )


def is_others(entry: HistoryEntry, others: Container[str], present: Mapping[str, bytes]) -> bool:
    """Whether an entry is another machine's, where `others` of its files may be. It is not where no file is worked on but
    those that it edited or had read: then the rest were only not given this time."""
    own = {file.path for file in entry.files}
    read = {str(path) for path in (entry.reasons or {}).get("inputs") or ()}
    return any(path in others for path in own) and not (own | read).issuperset(present)
