"""Files that are much alike, without a mark that says which is the copy.

One that is taken in counts, and one that is not is a kept copy. Where includes don't decide, nor one says that it is superseded,
it is asked which of them run; the likeliest is taken meanwhile. One that asks not to be changed, and that nothing takes in, need
only set the same names.

Profiles may be as like as they want, unless one is below the name of the other; files of two machines are told apart in
`machines_apart.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from cfgmigrate.files.content import (
    same,
    shared,
)
from cfgmigrate.files.heads import says_past, says_untouched
from cfgmigrate.files.judging import ALIKE, MOST_COUNTED, Judging
from cfgmigrate.files.kept_copies import LIKE_ANY
from cfgmigrate.files.likely import ENOUGH, Likely
from cfgmigrate.files.machines import two_roots
from cfgmigrate.files.marks import are_sides, folder_of, marks_of, words_apart, words_of
from cfgmigrate.files.roles import Option, Question, Role

#: so many things two sections both set where they are of two things of a kind
FEWEST_OF_A_THING = 3


def without_look_alikes(known: Judging, live: list[str]) -> list[str]:
    """Gives files that are much like another one their role, or asks."""
    order = sorted(live, key=lambda path: _rank(known, path))
    kept: list[str] = []
    asked: dict[str, tuple[str, float]] = {}
    likely = Likely()
    for path in order:
        bare, size = marks_of(path.rpartition("/")[2]).bare, len(known.content[path].values)
        other, part = _most_like(known, path, likely.others(bare, size))
        if not other or path in known.meant:
            kept.append(path)
        elif other in known.meant or (other in known.includers and path not in known.includers):
            how = "which you said is in force" if other in known.meant else known.taken_in(other, live)
            why = f"{part:.0%} of its settings are the same in {other} ({how}), and nothing takes this one in"
            known.give(path, Role.COPY, why)
        elif (path in known.includers and other in known.includers) or two_roots(path, other, known.closure):
            kept.append(path)
        elif (past := _past(known, path)) and not _past(known, other):
            why = f"{part:.0%} of its settings are the same in {other}, and it says of itself: {past}"
            known.give(path, Role.COPY, why)
        else:
            asked[path] = other, part
        if kept[-1:] == [path]:
            likely.add(path, bare, size)
    if asked:
        _ask_look_alikes(known, asked)
    gone = known.closure(asked) - known.closure(kept)
    for path in sorted(gone - known.roles.keys()):
        known.give(path, Role.COPY, known.taken_in(path, gone) + ", which is much like a file in force")
    return [path for path in live if path in kept and path not in gone]


def _rank(known: Judging, path: str) -> tuple[bool, bool, bool, bool, bool, bool, int, int, int, str]:
    """The likeliest to be in force first: of several that nothing takes in, the one that is called like its folder. A
    copy's name says more than the file's: which, and of when."""
    folder, _, name = path.rpartition("/")
    called = folder.rpartition("/")[2] or known.root_name
    return (
        path not in known.meant,
        path not in known.includers,
        bool(_past(known, path)),
        bool(says_untouched(known.documents[path])),
        name.rpartition(".")[0].casefold() != called.casefold(),
        bool(marks_of(path.rpartition("/")[2]).loose) or any(marks_of(s).loose for s in path.split("/")[:-1]),
        path.count("/"),
        len(words_of(path.rpartition("/")[2])),
        -len(known.closure([path], MOST_COUNTED)),
        path,
    )


def _past(known: Judging, path: str) -> str:
    return says_past(known.documents[path])


def _most_like(known: Judging, path: str, others: Iterable[str]) -> tuple[str, float]:
    """The file that this one is most like, and the part of its settings that are the same; "" for none."""
    content = known.content[path]
    marks = marks_of(path.rpartition("/")[2])
    best, part = "", 0.0
    for other in others:
        if known.documents[other].dialect != known.documents[path].dialect or are_sides(path, other):
            continue
        theirs = known.content[other]
        if _are_of_named_things(known, path, other):
            continue
        once_more = _is_once_more(known, path, other)
        if not once_more and (_of_two_machines(known, path, other) or _are_alternatives(known, path, other)):
            continue
        found = same(content, theirs)
        small = min(len(content.values), len(theirs.values)) < ENOUGH
        named = bool(marks.loose) and marks.bare == marks_of(other.rpartition("/")[2]).bare
        named = named or once_more or _lies_below_its_namesake(path, other)
        asks = path not in known.includers and bool(says_untouched(known.documents[path]))
        if (
            (found >= ALIKE and not small)
            or (named and shared(content, theirs) >= ALIKE)
            or (asks and shared(content, theirs) >= LIKE_ANY)
        ):
            best, part = (other, max(found, 0.01)) if found >= part else (best, part)
    return best, part


def _are_of_named_things(known: Judging, one: str, other: str) -> bool:
    """Whether two files of a folder differ in a word each, and some file has a section of each of them that sets the same: `to ochre`
    and `to slate` beside `ochre:` and `slate:` are about two things and no copies."""
    apart = words_apart(one, other) if folder_of(one) == folder_of(other) else frozenset()
    sections = [known.headed.get(word, {}) for word in apart]
    with_all = set.intersection(*map(set, sections)) - {one, other} if sections else set()
    return any(
        len(set.intersection(*(section[path] for section in sections))) >= FEWEST_OF_A_THING
        for path in with_all
    )


def _are_alternatives(known: Judging, one: str, other: str) -> bool:
    """Whether two files are profiles, which may be as like as they want, but for a copy in another folder: one of the
    same name, or one that says the same of itself as what is taken in."""
    if one not in known.profiles and other not in known.profiles:
        return False
    if folder_of(one) == folder_of(other):
        return True
    if {one, other} - known.profiles.keys() and {one, other} & known.includers.keys():
        return known.content[one].identities != known.content[other].identities
    return one.rpartition("/")[2] != other.rpartition("/")[2]


def _is_once_more(known: Judging, path: str, other: str) -> bool:
    """Whether a profile is another one of its folder once more: both have one heading, which is the whole name of the other
    file, and with more words this one's."""
    if not {path, other} <= known.profiles.keys() or folder_of(path) != folder_of(other):
        return False
    heads = {name.partition("\n")[0] for each in (path, other) for name in known.content[each].values}
    called = words_of(heads.pop()) if len(heads) == 1 else ()
    mine, theirs = (words_of(each.rpartition("/")[2].rpartition(".")[0]) for each in (path, other))
    return bool(called) and theirs == called and len(mine) > len(called) and mine[: len(called)] == called


def _of_two_machines(known: Judging, one: str, other: str) -> bool:
    """Whether two files set axes and go by different names: the machine's, or their own in different folders."""
    first, second = known.content[one], known.content[other]
    if first.names and second.names:
        return not first.names & second.names
    apart = folder_of(one) != folder_of(other) and "" not in (folder_of(one), folder_of(other))
    if not apart or not (known.is_machine(one) and known.is_machine(other)):
        return False
    return marks_of(one.rpartition("/")[2]).bare != marks_of(other.rpartition("/")[2]).bare


def _ask_look_alikes(known: Judging, asked: Mapping[str, tuple[str, float]]) -> None:
    for path, (other, part) in asked.items():
        why = f"{part:.0%} of its settings are the same in {other}; which of the two runs is asked"
        known.give(path, Role.COPY, why)
    options = tuple(Option(f"{path}, much like {other}", (path,)) for path, (other, _) in asked.items())
    text = "These files are much like others that lie here. Which of them does the machine read instead?"
    instead = tuple(dict.fromkeys(other for other, _ in asked.values()))
    none = "none of them: they are copies"
    known.questions.append(Question("look-alikes", text, options, none, instead))


def _lies_below_its_namesake(one: str, other: str) -> bool:
    """Whether two files have one name, and one lies somewhere below the other's folder."""
    (folder, _, name), (elsewhere, _, called) = (path.rpartition("/") for path in (one, other))
    upper, lower = sorted((folder, elsewhere), key=len)
    return name == called and upper != lower and (not upper or lower.startswith(f"{upper}/"))
