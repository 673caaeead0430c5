"""Which machine is meant, where the files hold several (`machines.py` says what makes two).

It is asked, unless all but one say that they are somebody else's. The rest is part of the machine.
"""

from __future__ import annotations

from collections.abc import Set
from pathlib import PurePosixPath

from cfgmigrate.files.content import shared
from cfgmigrate.files.heads import says_another, says_it_is_not, says_to_look_at
from cfgmigrate.files.judging import ALIKE, MOST_COUNTED, Judging
from cfgmigrate.files.kept_copies import mark_of, what_marks
from cfgmigrate.files.machines import IncludeTree, conflicts, elses, not_elses, sets_of
from cfgmigrate.files.marks import folder_of, words_of
from cfgmigrate.files.named_by_others import named_by_others
from cfgmigrate.files.own_scripts import in_own_codes
from cfgmigrate.files.roles import FileRole, Option, Question, Role
from cfgmigrate.files.told_to_read import told_to_read


def tell_machines_apart(known: Judging, live: list[str]) -> None:
    present = frozenset(live)
    included = {path for path in live if known.taken_in(path, present)}
    roots = [path for path in live if path not in included or path in known.meant]
    told = [path for path in roots if not in_own_codes(known.documents[path])] or roots
    reads = {root: told_to_read(root, known.documents, known.content, told) for root in told}
    read = {path for root, paths in reads.items() for path in paths if root not in reads[path]}
    units = [
        IncludeTree(root, frozenset(known.closure([root, *reads[root]]))) for root in told if root not in read
    ]
    sets = sets_of(units, known.content, known.root_name)
    meant = [each for each in sets if known.meant & each.files] or not_elses(sets, known.documents)
    if len(sets) > 1 and not meant:
        options = tuple(Option(each.label, each.roots) for each in sets)
        text = f"Here are {len(sets)} machines. Which one is meant?"
        known.questions.append(Question("machine", text, options))
    chosen = meant or sets[:1]
    ours = {path for each in chosen for path in each.files}
    for other in sets:
        if other not in chosen:
            rival = chosen[0]
            why = f"it is of {other.label}, another machine than {rival.label}: {conflicts(other, rival)}"
            why += f", and it says {said!r}" if (said := elses(other, known.documents)) else ""
            for path in sorted(other.files - ours):
                known.give(path, Role.OTHER, why)
            _give_named(known, live, other.files - ours, other.label)
            _give_beside(known, other.folder, ours, f"it lies with {other.label}, which is another machine")
            theirs = frozenset(word for name in other.names for word in words_of(name))
            mine = frozenset(word for name in rival.names for word in words_of(name))
            _give_called_so(known, [path for path in live if path not in ours], theirs, mine, other.label)
    _give_somebody_elses(
        known, [path for path in roots if not any(path in each.files for each in sets)], roots
    )
    _go_with_said(known, set(live), ours, units)
    for path in live:
        known.give(path, Role.IN_FORCE, _why_live(known, path, present))


def _give_named(known: Judging, live: list[str], theirs: Set[str], label: str) -> None:
    """What another machine's files name and ours don't goes with it, where ours name theirs in the same place."""
    ours = [path for path in live if not _is_of_another(known, path)]
    for path, where in named_by_others(known.documents, theirs, ours):
        if path in ours and path not in known.meant:
            known.give(path, Role.OTHER, f"{where}, which is of {label}, another machine")


def _give_called_so(known: Judging, paths: list[str], theirs: Set[str], mine: Set[str], label: str) -> None:
    """What bears another machine's name in its own, and not ours, goes with it."""
    for path in paths:
        called = {*words_of(path.rpartition("/")[2])}
        if theirs - mine and theirs <= called and called.isdisjoint(mine):
            known.give(path, Role.OTHER, f"it is called after {label}, which is another machine")


def _give_somebody_elses(known: Judging, paths: list[str], roots: list[str]) -> None:
    """A file that says that it is somebody else's or only to look at, and that has fewer settings than a file of the machine's which
    has most of them too."""
    for path in (each for each in paths if each not in known.roles):
        if denied := says_it_is_not(known.documents[path], _machines_called(known, path, roots)):
            known.give(path, Role.OTHER, f"it says {denied!r}, and nothing takes it in")
            continue
        said = says_to_look_at(known.documents[path])
        if (whose := says_another(known.documents[path])) and _is_no_part(known, path, roots):
            known.give(path, Role.OTHER, f"it says {whose!r}, and nothing takes it in")
            continue
        for other in (each for each in roots if said and not _is_of_another(known, each)):
            part = shared(known.content[path], known.content[other])
            fewer = len(known.content[path].values) < len(known.content[other].values)
            if fewer and part >= ALIKE and not says_to_look_at(known.documents[other]):
                why = f"it says {said!r}, and {part:.0%} of its settings are in {other} too"
                known.give(path, Role.OTHER, why)
                break


def _machines_called(known: Judging, path: str, roots: list[str]) -> set[str]:
    """What the machines whose root files lie beside a file are called, by those files and their folders; and, of one in the
    same folder, by the name that it gives its machine alone: a part says `not barge` of the file `barge.conf` as well."""
    others = [each for each in roots if each != path and known.is_machine(each)]
    apart = [each for each in others if folder_of(each) != folder_of(path) or known.is_machine(path)]
    called = {name for each in apart for name in _own_names(each)}
    called |= {name for each in others for name in known.content[each].names}
    return called - _own_names(path) - known.content[path].names - OF_ANY_MACHINE


#: what a file of any machine may be called
OF_ANY_MACHINE = frozenset(
    (
        "machine",
        "printer",
        "main",
        "motion",
        "frame",
        "config",
        "configuration",
        "settings",
        "limits",
        "board",
        "base",
    )
)


def _own_names(path: str) -> set[str]:
    return {PurePosixPath(path).stem.casefold(), PurePosixPath(path).parent.name.casefold()}


def _is_no_part(known: Judging, path: str, roots: list[str]) -> bool:
    """Whether a file is no machine by itself, and one beside it is, and doesn't say that it is somebody else's as well."""
    others = (each for each in roots if each != path and not _is_of_another(known, each))
    return (
        not known.is_machine(path)
        and not known.documents[path].includes
        and path not in known.includers
        and any(
            any(map(known.is_machine, known.closure([each]))) and not says_another(known.documents[each])
            for each in others
        )
    )


def _is_of_another(known: Judging, path: str) -> bool:
    role = known.roles.get(path)
    return role is not None and role.role is Role.OTHER


def _go_with_said(known: Judging, live: set[str], ours: set[str], units: list[IncludeTree]) -> None:
    """What a file takes in that was said to be of another machine, and what lies beside it, go with it."""
    told = [path for path, role in known.roles.items() if role.said and role.role is Role.OTHER]
    for path in told:
        parts = known.closure([path]) - {path}
        parts -= known.closure(live - parts) | known.closure(known.meant)
        for part in sorted(parts):
            known.give(
                part, Role.OTHER, f"{known.taken_in(part, parts | {path})}, which is of another machine"
            )
        _give_named(known, sorted(live), parts | {path}, path)
        after = frozenset(word for name in known.content[path].names for word in words_of(name))
        own_names = {word for each in live for name in known.content[each].names for word in words_of(name)}
        _give_called_so(known, sorted(live - ours - known.meant), after, own_names, path)
        if not (_sets_a_machine(known, path, units) or (parts and known.meant)):
            continue
        beside = {each for each in live if each.startswith(f"{folder_of(path)}/")}
        if not any(map(known.is_machine, beside)):
            mine = ours | known.meant | known.closure(live - beside - parts)
            _give_beside(known, folder_of(path), mine, f"it lies with {path}, which is another machine")


def _sets_a_machine(known: Judging, path: str, units: list[IncludeTree]) -> bool:
    """Whether a file is a machine's by its axes, or by what it has in common with one that is meant, whatever its axes
    are called."""
    if known.is_machine(path):
        return True
    tree = IncludeTree(path, frozenset(known.closure([path])))
    return any(path in each.roots for each in sets_of([*units, tree], known.content, known.root_name))


def _give_beside(known: Judging, folder: str, ours: set[str], why: str) -> None:
    """What lies in the folder of another machine goes with it."""
    if not folder or any(path.startswith(folder + "/") for path in ours):
        return
    for path in (each for each in known.documents if each.startswith(folder + "/") and each not in ours):
        role = known.roles.get(path)
        if not (role and (role.said or not role.role.taken)):
            known.roles[path] = FileRole(path, Role.OTHER, why)


def _why_live(known: Judging, path: str, live: Set[str]) -> str:
    taken = known.taken_in(path, live)
    if taken:
        return taken
    axes = "".join(sorted(known.content[path].axis_letters)).upper()
    if mark_of(known, path):
        return f"{what_marks(known, path)}, but nothing here is what it would be a copy of"
    if known.documents[path].includes:
        count = len(known.closure([path], MOST_COUNTED)) - 1
        return f"it takes in {count if count < MOST_COUNTED - 1 else 'many'} other files"
    return f"it sets the axes {axes}" if len(axes) > 1 else "nothing speaks against it"
