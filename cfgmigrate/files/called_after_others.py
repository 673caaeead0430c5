"""Files that name another machine of the folder above, and not this one: by what they are called, or in their first line.

    brace/stored_awl.nc     (what the board of awl has stored - these WIN over board.ini)
    mitre/sorten_jig.yaml   # Sorten jig (yaml)

Somebody has laid them here, and what they set is the other machine's, or was adapted to this one and kept its name. Nobody
can see which, so it is asked, and nothing is taken from them before. A folder beside this machine's is another machine
where a file in it is called as one of this machine's; its name is none where the trade has that word, or it may be an
ordinary one of few letters. In a first line a name counts behind `of` or `for`, with an 's, or where a clause of few words
ends with it: `like awl` and `copied from awl` tell where a number comes from. A file that another one takes in is the
machine's, whatever it is called, and one that names this machine as well is no other's.

Of other machines only the names of their files are looked at.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from posixpath import commonpath

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.content import known_words
from cfgmigrate.files.heads import first_remark
from cfgmigrate.files.marks import folder_of, marks_of, words_of
from cfgmigrate.files.roles import FileRole, Option, Question

#: the kind of these questions
WHOSE_FILE = "whose"
#: so many folders beside the machine's are looked at
MOST_MACHINES_BESIDE = 500
#: a name of so few letters may be any word
_SHORT = 2
#: a clause of so many words that ends with a name is a title
_TITLE = 4


def called_after_others(
    root: Path, documents: Mapping[str, Document], roles: Mapping[str, FileRole]
) -> Iterator[Question]:
    """A question for each file that counts, by nobody's word, and names another machine of the folder above."""
    taken = [path for path, role in roles.items() if role.role.taken and path in documents]
    if not taken:
        return
    own = commonpath([folder_of(path) for path in taken]) if all(map(folder_of, taken)) else ""
    beside = _beside(root / own)
    ours = frozenset(words_of((root / own).resolve().name))
    names = {path.rpartition("/")[2] for path in taken}
    for path in taken:
        role = roles[path]
        if role.said or " takes it in" in role.why:
            continue
        where, other = _named(path, documents[path], beside, ours)
        if other and all(((root / own).resolve().parent / other / name).is_file() for name in names):
            continue  # a whole copy of a machine's folder bears the name of the one that it was made from
        if other and _is_a_machine((root / own).resolve().parent / other, names - {path.rpartition("/")[2]}):
            text = f"{path} {where} {other!r}, and a machine of that name lies beside this one. Whose is it?"
            mine = Option(f"{path} is this machine's own: {role.role}", (path,))
            yield Question(
                WHOSE_FILE, text, (mine,), f"{path} is of {other}, another machine", (path,), role.role
            )


def _named(path: str, document: Document, beside: Sequence[str], ours: frozenset[str]) -> tuple[str, str]:
    """Where a file names one of the folders beside, and which; "" for none, and where it names this machine as well."""
    called = {*marks_of(path.rpartition("/")[2].rpartition(".")[0]).bare}
    first = first_remark(document)
    if ours & (called | {*words_of(first)}):
        return "", ""
    for other in beside:
        telling = frozenset(words_of(other)) - ours - _of_the_trade()
        if not telling or any(len(word) <= _SHORT for word in telling):
            continue
        if telling <= called:
            return "is called after", other
        if telling <= {*words_of(first)} and _is_whose(first, other):
            return "says in its first line that it is of", other
    return "", ""


def _is_whose(line: str, name: str) -> bool:
    """Whether a line says that something is of a machine of that name."""
    word = rf"(?<![\w-]){re.escape(name)}(?![\w-])"
    if re.search(rf"\b(?:of|for|von|für|de|pour|di)\s+{word}|{word}['\u2019]s\b", line, re.IGNORECASE):
        return True
    clause = re.split(r"[.,:;()\u2013\u2014]|\s-\s", line.strip(" -=*#/;("))[0]
    *before, last = clause.split() or [""]
    return (
        last.casefold() == name.casefold()
        and len(before) < _TITLE
        and not {each.casefold() for each in before} & _NO_TITLE
    )


#: behind such a word a name tells where something comes from, or is no name
_NO_TITLE = frozenset(
    [
        "like",
        "as",
        "than",
        "unlike",
        "not",
        "with",
        "see",
        "by",
        "to",
        "at",
        "near",
        "from",
        "a",
        "an",
        "the",
        "this",
        "that",
        "its",
        "it",
        "on",
        "in",
        "wie",
        "als",
        "aus",
        "vom",
        "ein",
        "eine",
        "der",
        "die",
        "das",
    ]
)


def _beside(folder: Path) -> tuple[str, ...]:
    """The names of the folders beside one."""
    own = folder.resolve()
    try:
        with os.scandir(own.parent) as entries:
            found = [
                each.name
                for _, each in zip(range(MOST_MACHINES_BESIDE), entries, strict=False)
                if each.is_dir()
            ]
    except OSError:
        return ()
    return tuple(sorted(each for each in found if each != own.name and not each.startswith(".")))


def _is_a_machine(folder: Path, names: set[str]) -> bool:
    """Whether a folder has a file that is called as one of this machine's."""
    return not marks_of(folder.name).directed and any((folder / name).is_file() for name in names)


@cache
def _of_the_trade() -> frozenset[str]:
    words = known_words()
    lists = (words.materials, words.metals, words.filament, words.identity, words.print, words.profiles)
    more = (words.hardware, words.machine, words.trade, words.card)
    return frozenset().union(*lists, *more, *words.concepts)
