"""Which files are kept copies, and so no part of the machine.

A file is one by a mark with a direction (`_old`), in its name or as its first word, that shares enough settings with a file
without a mark; by lying among such copies; or by being taken in by such a copy alone. A mark alone is nothing. A header that
nothing takes in, while others are and set the same, is kept too.

Where there are only files whose names speak of copies, it is asked which of them runs. That files are much alike without such
a mark is the matter of `look_alikes.py`.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from cfgmigrate.files.content import (
    shared,
)
from cfgmigrate.files.heads import says_kept
from cfgmigrate.files.judging import ALIKE, Judging
from cfgmigrate.files.marks import folder_marks, folder_of, longer_than, marks_of
from cfgmigrate.files.roles import Option, Question, Role

#: the part of a marked file's settings that an unmarked one of its bare name, or any unmarked one, must have
LIKE_ITS_ORIGINAL, LIKE_ANY = 0.3, 0.6
#: so many files beside it does a root take in
FEWEST_PARTS = 2


def without_copies(known: Judging) -> list[str]:
    """Gives the kept copies their role. What is left may be live."""
    left = [path for path in known.documents if path not in known.roles or path in known.meant]
    unmarked = [path for path in left if path in known.meant or not mark_of(known, path)]
    live = known.closure(unmarked) - (known.roles.keys() - known.meant)
    marked = [path for path in left if path not in live]
    for path in marked:
        if why := _copied_from(known, path, sorted(live)):
            known.give(path, Role.COPY, why)
    for path in marked:
        if path not in known.roles and _lies_among_copies(known, path):
            known.give(path, Role.COPY, f"it lies among kept copies, in {folder_of(path)}/")
    doubtful = [path for path in marked if path not in known.roles]
    for path in sorted(live - known.meant):
        if why := _part_of_a_copy(known, path, live):
            known.give(path, Role.COPY, why)
    return _without_only_copies(known, doubtful, live - (known.roles.keys() - known.meant))


def _part_of_a_copy(known: Judging, path: str, live: Collection[str]) -> str:
    """Who takes a file in, where that is a kept copy beside it and nothing else, and another one of its name may be live; ""
    else."""
    by = {who for who, _ in known.includers.get(path, ())}
    copies = {who for who in by if (role := known.roles.get(who)) and role.role is Role.COPY}
    if not by or by != copies or {folder_of(who) for who in by} != {folder_of(path)}:
        return ""
    name = path.rpartition("/")[2]
    if not any(other != path and other.rpartition("/")[2] == name for other in live):
        return ""
    return f"nothing takes it in but {min(by)}, which is a kept copy"


def without_headers_apart(known: Judging, live: list[str]) -> list[str]:
    """Gives headers their role that nothing takes in while others are, and that set what those set: a header is read
    only where another one takes it in."""
    headers = {path for path in live if known.documents[path].dialect == "header"}
    taken = {path for path in headers & known.includers.keys() if known.taken_in(path, headers)}
    set_there = {name: path for path in sorted(taken) for name in known.content[path].values}
    for path in sorted(headers - taken - known.meant):
        names = known.content[path].values
        also = [name for name in names if name in set_there]
        if len(also) > 1 and len(also) >= ALIKE * len(names) and not known.documents[path].includes:
            why = f"nothing takes it in, and {set_there[also[0]]}, which is taken in, sets the same"
            known.give(path, Role.COPY, why)
    return [path for path in live if path not in known.roles or path in known.meant]


def mark_of(known: Judging, path: str) -> str:
    """The first mark with a direction in a file's name or folders, else what follows another file's whole name in it,
    else how the file begins; "" where there is none."""
    name = path.rpartition("/")[2]
    whole = longer_than(name, known.file_names)
    behind = name[len(whole) :].strip(" .") if whole else ""
    if not folder_marks(path).directed and _heads_what_lies_beside(known, path):
        return ""
    by_name = (*marks_of(name).directed, *folder_marks(path).directed, behind)[0]
    return by_name or says_kept(known.documents[path])


def what_marks(known: Judging, path: str) -> str:
    """By what a file says that it is a copy, in words: `its name says 'old'`."""
    mark = mark_of(known, path)
    what = "its first line" if mark == says_kept(known.documents[path]) else "its name"
    return f"{what} says {mark!r}"


def _heads_what_lies_beside(known: Judging, path: str) -> bool:
    """Whether a file whose name is a mark and nothing else takes in files beside it that no other takes in: that is what the
    machine, or its place, is called."""
    if len(marks_of(path.rpartition("/")[2]).bare) > 1:
        return False
    parts = [file for include in known.documents[path].includes for file in include.files]
    beside = {file for file in parts if folder_of(file) == folder_of(path)}
    others = (who for file in beside for who, _ in known.includers.get(file, ()))
    return len(beside) >= FEWEST_PARTS and {path, *beside}.issuperset(others)


def _copied_from(known: Judging, path: str, live: Sequence[str]) -> str:
    """The evidence that a marked file is a copy of a live one; "" where there is none."""
    name = path.rpartition("/")[2]
    bare, whole = marks_of(name).bare, longer_than(name, known.file_names)
    best, part, named = "", 0.0, False
    for other in live:
        theirs = other.rpartition("/")[2]
        own = marks_of(theirs).bare == bare or theirs.casefold() == whole
        found = shared(known.content[path], known.content[other])
        if (own, found) > (named, part) and found >= (LIKE_ITS_ORIGINAL if own else LIKE_ANY):
            best, part, named = other, found, own
    if not best:
        return ""
    return f"{what_marks(known, path)}, and {part:.0%} of its settings are in {best} too"


def _lies_among_copies(known: Judging, path: str) -> bool:
    folder = folder_of(path)
    if not folder_marks(path).directed:
        return False
    beside = [other for other in known.documents if folder_of(other) == folder]
    copies = [other for other in beside if (r := known.roles.get(other)) and r.role is Role.COPY]
    return 2 * len(copies) >= len(beside)


def _without_only_copies(known: Judging, doubtful: list[str], live: set[str]) -> list[str]:
    """Marked files that are copies of nothing here: live, or, where a machine is among them, asked about."""
    has_machine = any(known.is_machine(path) for path in live)
    alone = [path for path in doubtful if known.is_machine(path)] if not has_machine else []
    several = {
        path
        for path in doubtful
        for other in doubtful
        if path != other and shared(known.content[path], known.content[other]) >= LIKE_ANY
    }
    asked = sorted({*alone, *several})
    if asked:
        first, *others = sorted(asked, key=lambda path: (mark_of(known, path), path), reverse=True)
        for path in others:
            known.give(path, Role.COPY, f"{what_marks(known, path)}; whether it runs is asked")
        options = tuple(Option(path, (path,)) for path in (first, *others))
        text = "By its name or its first line each of these looks like a kept copy. Which one does the machine read?"
        known.questions.append(Question("machine", text, options))
    return [
        path for path in known.documents if path in live or (path in doubtful and path not in known.roles)
    ]
