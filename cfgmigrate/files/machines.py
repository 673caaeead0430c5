"""How many machines lie here: groups of files that set the same of the same axes.

A unit is a file that nothing takes in, with all that it takes in; what two units take in belongs to either. Two units are two
machines where

- they set the same thing of two axes or more, each in files of its own, or
- both take in a file that sets several axes, and each sets the same of a motor beside it, or
- they set much the same in several sections, since axes may go by any word, and give the machine different names; or, where
  none gives it one, one is a folder with a root file and parts of its own, or a file that lies alone in a folder below the
  other's, or each lies alone in a folder beside the other's with the same of two axes, or each is called a machine after its folder.

Folders that are the sides or the numbers of one machine's parts make no two. Where no two units are two machines, folders are
compared: a machine may have a file for each axis.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from itertools import combinations

from msgspec import Struct

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.axes_in_words import OF_MOTORS
from cfgmigrate.files.board_kept import SAVED_WORDS
from cfgmigrate.files.content import AxisSetting, Content, known_words
from cfgmigrate.files.heads import says_another
from cfgmigrate.files.marks import are_numbered, are_sides, marks_of, somebody_elses, words_of
from cfgmigrate.ground.side_words import ALONG_AXIS

#: so many settings in so many sections, and that part of the smaller unit's, make two units much the same
MUCH_SETTINGS, MUCH_SECTIONS, MUCH_PART = 5, 3, 0.5
#: so many settings of axes with the same words behind the letters, and of more than one axis, are the same settings
SAME_TAILS = 4
#: so many of them where one of two units lies alone in a folder below the other's, and where they give the machine different names
SAME_TAILS_BELOW, SAME_TAILS_NAMED = 3, 2
#: so many settings alike make two files that take in the axes of one file two machines
SAME_BESIDE_AXES = 2
#: so many axes named alike make two files that lie alone side by side machines, and no two feeders
AXES_ALIKE = 2
#: words of a file's name by which it is a whole machine's
_WHOLE = frozenset({"machine", "printer"})


class IncludeTree(Struct, frozen=True):
    """A root file with all that it takes in."""

    root: str
    files: frozenset[str]


class MachineSet(Struct, frozen=True):
    """The files of one machine. `folder` is the one that they all lie in, "" for the root."""

    label: str
    roots: tuple[str, ...]
    files: frozenset[str]
    folder: str
    axes: frozenset[AxisSetting]
    names: frozenset[str]


def sets_of(units: Sequence[IncludeTree], content: Mapping[str, Content], root_name: str) -> list[MachineSet]:
    """The machines, the likeliest first; none where there is no more than one."""
    rivals = _rivals(units, content)
    if not rivals:
        folders = _by_folder(units)
        rivals = _rivals(folders, content) if len(folders) > 1 else []
    found = [_set(unit, content) for unit in rivals]
    labels = [each.label for each in found]
    if len(set(labels)) < len(labels):
        found = [MachineSet(each.roots[0], *_rest(each)) for each in found]
    name = {*words_of(root_name)}
    # of equals, what lies at the top comes before what lies in a folder of its own
    return sorted(
        found,
        key=lambda each: (
            not name & {*words_of(each.label)},
            -len(each.files),
            bool(each.folder),
            each.label,
        ),
    )


def _rest(
    found: MachineSet,
) -> tuple[tuple[str, ...], frozenset[str], str, frozenset[AxisSetting], frozenset[str]]:
    return found.roots, found.files, found.folder, found.axes, found.names


def conflicts(one: MachineSet, other: MachineSet) -> str:
    """Why two sets are two machines, in words."""
    if one.names and other.names and not one.names & other.names:
        return f"it is called {min(one.names)!r} there and {min(other.names)!r} here"
    axes = sorted({axis for axis, _ in one.axes & other.axes})
    return f"both set the axes {', '.join(axes).upper()}" if axes else "both set much the same"


def two_roots(one: str, other: str, closure: Callable[[Iterable[str]], set[str]]) -> bool:
    """Whether two files of different names and folders each take in parts of their own: those are two machines, however
    alike the files are. `closure` gives files with all that they take in."""
    (folder, _, name), (elsewhere, _, called) = (path.rpartition("/") for path in (one, other))
    if folder == elsewhere or marks_of(name).bare == marks_of(called).bare:
        return False
    first, second = closure([one]) - {one}, closure([other]) - {other}
    return bool(first and second) and first.isdisjoint(second)


def elses(found: MachineSet, documents: Mapping[str, Document]) -> str:
    """The words by which the root files of a machine say that it is somebody else's, in their names or in what stands
    before their settings; "" where one of them doesn't."""
    said = [somebody_elses(path) or says_another(documents[path]) for path in found.roots]
    return said[0] if said and all(said) else ""


def not_elses(sets: Sequence[MachineSet], documents: Mapping[str, Document]) -> list[MachineSet]:
    """The one machine that is not said to be somebody else's, where all others are; else none."""
    ours = [each for each in sets if not elses(each, documents)]
    return ours if len(ours) == 1 < len(sets) else []


class _Seen(Struct, frozen=True):
    """A unit with what all of its files show together."""

    tree: IncludeTree
    axes: frozenset[AxisSetting]
    tails: frozenset[AxisSetting]
    keys: frozenset[str]
    names: frozenset[str]


def _rivals(units: Sequence[IncludeTree], content: Mapping[str, Content]) -> list[IncludeTree]:
    found: dict[str, IncludeTree] = {}
    seen = [
        _Seen(
            unit,
            _axes(unit.files, content),
            _tails(unit.files, content),
            _keys(unit.files, content),
            _names(unit.files, content),
        )
        for unit in units
    ]
    for one, other in combinations(seen, 2):
        if one.tree.root in found and other.tree.root in found:
            continue
        if (
            _share_axes(one, other, content)
            or _same_beside_axes(one, other, content)
            or _much_the_same(one, other, content)
        ):
            found |= {each.tree.root: each.tree for each in (one, other)}
    return list(found.values())


def _share_axes(one: _Seen, other: _Seen, content: Mapping[str, Content]) -> bool:
    """Whether two units set the same of two axes, each in files of its own."""
    if one.axes.isdisjoint(other.axes) and one.tails.isdisjoint(other.tails):
        return False
    first, second = one.tree.files, other.tree.files
    both = _axes(first - second, content) & _axes(second - first, content)
    tails = _tails(first - second, content) & _tails(second - first, content)
    both |= tails if len(tails) >= _fewest_tails(one, other) else frozenset()
    return len({axis for axis, _ in both}) > 1


def _fewest_tails(one: _Seen, other: _Seen) -> int:
    """How many settings of axes by the same words, whatever they are, make two units set the same."""
    if one.names and other.names and one.names.isdisjoint(other.names):
        return SAME_TAILS_NAMED
    return SAME_TAILS_BELOW if _alone_below(one.tree, other.tree) else SAME_TAILS


def _same_beside_axes(one: _Seen, other: _Seen, content: Mapping[str, Content]) -> bool:
    """Whether both take in one file that sets several axes, and each sets the same of a motor beside it, or has the same name in a
    folder of its own: what begins at either is a machine, unless they are the sides of one. Else two that set no motor are
    recipes or parts of one machine."""
    first, second = one.tree.files, other.tree.files
    both = (first & second) - {one.tree.root, other.tree.root}
    alike = _keys(first - second, content) & _keys(second - first, content) if both else frozenset()
    if not alike or are_sides(one.tree.root, other.tree.root):
        return False
    if one.tree.root.rpartition("/")[2] != other.tree.root.rpartition("/")[2] and (
        len(alike) < SAME_BESIDE_AXES or all(_of_a_motor().isdisjoint(words_of(key)) for key in alike)
    ):
        return False
    return len({axis for axis, _ in _axes(both, content) | _tails(both, content)}) >= AXES_ALIKE


@cache
def _of_a_motor() -> frozenset[str]:
    """The words of what is built in, and of how far a turn or a step goes."""
    words = known_words()
    return words.hardware.union(*(each for each in words.concepts if "rotation" in each))


def _much_the_same(one: _Seen, other: _Seen, content: Mapping[str, Content]) -> bool:
    """Whether two units set much the same, and are called differently or lie apart with parts of their own."""
    if one.keys.isdisjoint(other.keys):
        return False
    if one.names and other.names:
        if one.names & other.names:
            return False
    elif not (
        _apart(one.tree, other.tree)
        or _alone_below(one.tree, other.tree)
        or _alone_beside(one, other)
        or _each_a_machine(one.tree.root, other.tree.root)
    ):
        return False
    first, second = one.tree.files, other.tree.files
    mine, theirs = _keys(first - second, content), _keys(second - first, content)
    both = mine & theirs
    if len(both) < max(MUCH_SETTINGS, MUCH_PART * min(len(mine), len(theirs))):
        return False
    return len({key.partition("\n")[0] for key in both}) >= MUCH_SECTIONS


def _apart(one: IncludeTree, other: IncludeTree) -> bool:
    """Whether one of two units is a folder's own: a root file there with parts, all of them in that folder."""
    first, second = one.root.rpartition("/")[0], other.root.rpartition("/")[0]
    if first == second or are_sides(first, second):
        return False
    return any(
        folder and len(unit.files) > 1 and all(path.startswith(folder + "/") for path in unit.files)
        for unit, folder in ((one, first), (other, second))
    )


def _alone_below(one: IncludeTree, other: IncludeTree) -> bool:
    """Whether one of two units is a single file in a folder below the other's, and none of what a board keeps."""
    lower, upper = (one, other) if one.root.count("/") > other.root.count("/") else (other, one)
    below, above = lower.root.rpartition("/")[0], upper.root.rpartition("/")[0]
    kept = {*words_of(lower.root)} & SAVED_WORDS
    return (
        len(lower.files) == 1
        and below not in ("", above)
        and not kept
        and f"{below}/".startswith(f"{above}/" if above else "")
    )


def _alone_beside(one: _Seen, other: _Seen) -> bool:
    """Whether two units are a single file each, in two folders of one place that go by names of their own, and set the same
    of two axes: two feeders have none."""
    first, second = one.tree.root.rpartition("/")[0], other.tree.root.rpartition("/")[0]
    if not first or not second or first.rpartition("/")[0] != second.rpartition("/")[0] or first == second:
        return False
    if are_sides(first, second) or are_numbered(first, second):
        return False
    if (
        len(one.tree.files) > 1
        or len(other.tree.files) > 1
        or len(_axes_named(one.keys & other.keys)) < AXES_ALIKE
        or not (_moves_axes(one.keys) and _moves_axes(other.keys))
    ):
        return False
    return not {*words_of(first), *words_of(second)} & SAVED_WORDS


def _each_a_machine(one: str, other: str) -> bool:
    """Whether two files in folders of their own are called a machine each, after those: `wren/WrenMachine.cfg` beside
    `heron/HeronMachine.cfg`. Without that word the folders may be those of two feeders."""
    if (
        one.rpartition("/")[0] == other.rpartition("/")[0]
        or are_sides(one, other)
        or are_numbered(one, other)
    ):
        return False
    first, second = _machine_called(one), _machine_called(other)
    return bool(first and second) and first.isdisjoint(second)


def _machine_called(path: str) -> frozenset[str]:
    """The words of a file's name beside the one for a whole machine, where its folder is called by them; none for any other."""
    folder, _, name = path.rpartition("/")
    words = frozenset(words_of(name.rpartition(".")[0]))
    called = words - _WHOLE
    return called if called < words and called <= {*words_of(folder.rpartition("/")[2])} else frozenset()


def _moves_axes(keys: Iterable[str]) -> bool:
    """Whether a motor of an axis is set: a machine has them once, and its speeds may stand in another file as well."""
    return any(not OF_MOTORS.isdisjoint(words_of(key)) and _axes_named((key,)) for key in keys)


def _axes_named(keys: Iterable[str]) -> set[str]:
    """The axes that keys and sections name, by their letters or by which way they go."""
    words = {word for key in keys for word in words_of(key)}
    return {axis for axis, ways in ALONG_AXIS.items() if not words.isdisjoint((axis, *ways))}


def _keys(files: frozenset[str], content: Mapping[str, Content]) -> frozenset[str]:
    return frozenset(name for path in files for name in content[path].values)


def _names(files: frozenset[str], content: Mapping[str, Content]) -> frozenset[str]:
    return frozenset(name for path in files for name in content[path].names)


def _by_folder(units: Sequence[IncludeTree]) -> list[IncludeTree]:
    """The units of each first folder together."""
    found: dict[str, list[IncludeTree]] = {}
    for unit in units:
        found.setdefault(unit.root.partition("/")[0] if "/" in unit.root else "", []).append(unit)
    return [
        IncludeTree(several[0].root, frozenset().union(*(unit.files for unit in several)))
        for several in found.values()
    ]


def _axes(files: frozenset[str], content: Mapping[str, Content]) -> frozenset[AxisSetting]:
    return frozenset().union(*(content[path].axes for path in files)) if files else frozenset()


def _tails(files: frozenset[str], content: Mapping[str, Content]) -> frozenset[AxisSetting]:
    return frozenset().union(*(content[path].tails for path in files)) if files else frozenset()


def _set(unit: IncludeTree, content: Mapping[str, Content]) -> MachineSet:
    names = _names(unit.files, content)
    folder = unit.root.rpartition("/")[0]
    label = min(names) if len(names) == 1 else folder or unit.root
    return MachineSet(label, (unit.root,), unit.files, folder, _axes(unit.files, content), names)
