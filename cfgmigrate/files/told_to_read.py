"""The files of which a machine's own file says that it reads them: `[also read] file 1 = tools.json`, `parts: tools.json`.

Nobody knows the words by which these files take others in, so they are no include lines. But where all of a section is names of
files, and its heading speaks of reading or taking in, what it names is part of the same machine, whatever axes it sets. A list of
copies, or of what is compared, has no such heading; and what calls itself by another machine's name stays apart.

Whose a file is by other signs is not looked at here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.files.content import Content
from cfgmigrate.files.marks import folder_of, words_of
from cfgmigrate.ground.pattern import pattern

_IS_A_FILE = pattern(r"[\"']?[\w .()/-]{1,80}\.[A-Za-z][A-Za-z0-9]{0,5}[\"']?")
_READS = frozenset(
    ("read", "reads", "reading", "include", "includes", "included", "pull", "pulls", "take", "takes", "load", "loads", "parts", "part")
)  # fmt: skip
_NOT_READ = frozenset(("not", "never", "no", "old", "before", "backup", "backups", "copy", "copies", "other", "others", "compare"))  # fmt: skip


def told_to_read(
    root: str, documents: Mapping[str, Document], content: Mapping[str, Content], roots: Collection[str]
) -> frozenset[str]:
    """Those of the root files that a root file says it reads, and those that they do in turn. One that sets no axes is taken for no
    machine, and may be read by any other as well."""
    found: set[str] = set()
    open_ = [root]
    while open_:
        for path in _named(open_.pop(), documents):
            if (
                path in roots
                and path not in {root, *found}
                and content[path].axes
                and _is_called_alike(root, path, content)
            ):
                found.add(path)
                open_.append(path)
    return frozenset(found)


def _is_called_alike(one: str, other: str, content: Mapping[str, Content]) -> bool:
    names, called = content[one].names, content[other].names
    return not (names and called and names.isdisjoint(called))


def _named(path: str, documents: Mapping[str, Document]) -> list[str]:
    sections: dict[str, list[Setting]] = defaultdict(list)
    for each in documents[path].settings:
        if each.state is State.ACTIVE and each.section:
            sections[each.section].append(each)
    folder = folder_of(path)
    found = []
    for section, settings in sections.items():
        words = {*words_of(section)}
        if words.isdisjoint(_READS) or not words.isdisjoint(_NOT_READ):
            continue
        if all(_IS_A_FILE.fullmatch(each.value.strip()) for each in settings):
            plain = [each.value.strip().strip("\"'").removeprefix("./") for each in settings]
            found += [
                name
                for each in plain
                for name in (f"{folder}/{each}" if folder else each,)
                if name in documents
            ]
    return found
