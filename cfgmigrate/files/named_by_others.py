"""A file that another machine's file names, and none of ours does, though ours name their own files in the same place.

    sparrow.txt  [pull in] file 1 = feeder.txt
    plover.txt   [pull in] file 1 = push.txt

Nobody knows the words by which these files take others in, so they are no include lines. But a list of files by name is one for
each of the two machines, and what only the other's has is the other's. Where ours has no such list the file may be read by any
other way, and stays.

This module looks at settings whose whole value is the name of a file that is here; in a file of codes, at its text.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.files.marks import folder_of


def named_by_others(
    documents: Mapping[str, Document], theirs: Collection[str], ours: Collection[str]
) -> Iterator[tuple[str, str]]:
    """Each file that only the other machine's name, with the words for where. `ours` are all that may be this machine's."""
    mine = [path for path in ours if path not in theirs]
    lists = {section for path in mine for section, _, _ in _names(documents, path)}
    seen: set[str] = set()
    for path in sorted(theirs):
        for section, target, line in _names(documents, path):
            if target in seen or target in theirs or section not in lists:
                continue
            seen.add(target)
            if not any(_mentions(documents[each], target) for each in mine if each != target):
                yield target, f"{path}:{line} names it"


def _names(documents: Mapping[str, Document], path: str) -> Iterator[tuple[str, str, int]]:
    """The files that a file's settings name, each with the setting's section, else its key without numbers, and its line."""
    folder = folder_of(path)
    for each in documents[path].settings:
        if each.state is not State.ACTIVE or "." not in each.value:
            continue
        plain = each.value.strip().strip("\"'").replace("\\", "/").removeprefix("./")
        beside = f"{folder}/{plain}" if folder else plain
        target = next((name for name in (beside, plain) if name in documents and name != path), "")
        if target:
            yield (each.section or each.key.rstrip("0123456789 _.-")).casefold(), target, each.line


def _mentions(document: Document, target: str) -> bool:
    """Whether a file names another one in force, in whatever place."""
    name = target.rpartition("/")[2]
    if document.dialect == "command":
        return name.encode() in document.data
    return name.encode() in document.data and any(
        name in each.value or name in each.key for each in document.settings if each.state is State.ACTIVE
    )
