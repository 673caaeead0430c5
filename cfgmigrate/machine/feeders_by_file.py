"""Files of one folder that set the same of a feeder each, `feeders/port.json` beside `feeders/starboard.json`.

That they are feeders' is told by a word for one: in the file's name, as the name of the folder, or as a line of the file
(`"feeder": "port"`). So are files of whatever hands, `feeder_gull.txt` beside `feeder_tern.conf`, that each say by a line of their
own that they are called what their name says beside that word. Files that are so alike and say nothing of the kind are a question, and nothing in them is edited: one may
override the other, or each may be of a feeder. Names are all that is looked at, no values.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import PurePosixPath

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.dialects.value import Text, read_value
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.feeder_names import (
    LONGEST_CALLED,
    OF_ALL_FEEDERS,
    is_feeder_word,
)
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.quantities import of_feeder
from cfgmigrate.machine.words import split

#: files that share fewer settings are not siblings
FEWEST_SHARED = 3
#: by these words a line says what something is called
_NAMES = frozenset({"name", "called", "title", "label"})


def by_their_files(
    documents: Sequence[Document], told: Mapping[str, Feeder]
) -> tuple[dict[str, str], dict[str, str]]:
    """The names of feeders by their files; and files that are as much alike and say nothing of a feeder."""
    named = {path: each.name.casefold() or str(each.number) for path, each in told.items()}
    alike: dict[str, str] = {}
    folders: dict[tuple[str, str], list[Document]] = defaultdict(list)
    for document in documents:
        folders[str(PurePosixPath(document.path).parent), document.dialect].append(document)
    for (folder, _), several in folders.items():
        keys = {each.path: _keys(each) for each in several}
        possible = [each for each in several if len(keys[each.path]) >= FEWEST_SHARED]
        for one in possible:
            other = next(
                (o for o in possible if o is not one and siblings(keys[o.path], keys[one.path])), None
            )
            if other is None or one.path in named:
                continue
            name = _own_name(one, folder)
            if name and not OF_ALL_FEEDERS.intersection(split(name)):
                named[one.path] = name
            elif not OF_ALL_FEEDERS.intersection(split(PurePosixPath(one.path).stem)):
                alike[one.path] = other.path
    named = _called_so(documents) | named
    return _several(named, told), {
        path: other for path, other in alike.items() if not {path, other} & set(named)
    }


def _called_so(documents: Iterable[Document]) -> dict[str, str]:
    """The names of feeders by files that have a word for one and such a name in their own, and a line that says the same name."""
    found: dict[str, str] = {}
    for document in documents:
        stem = split(PurePosixPath(document.path).stem)
        rest = " ".join(word for word in stem if not is_feeder_word(word))
        if rest and len(rest.split()) < len(stem) and rest in _names_said(document):
            found[document.path] = rest
    return found


def _names_said(document: Document) -> Iterator[str]:
    """What lines of a file say that it, or whose it is, is called."""
    for setting in document.settings:
        words = split(setting.key)
        if setting.state is not State.INACTIVE and words and words[-1] in _NAMES:
            yield " ".join(split(setting.value.strip("\"' ")[:LONGEST_CALLED]))


def _several(named: dict[str, str], told: Mapping[str, Feeder]) -> dict[str, str]:
    """Without a name that stands alone: one file of a feeder is the machine's, as long as nobody says otherwise."""
    if len(set(named.values())) > 1:
        return named
    return {path: name for path, name in named.items() if path in told}


def _keys(document: Document) -> frozenset[tuple[str, str]]:
    return frozenset(
        (each.section.casefold(), each.key.casefold())
        for each in document.settings
        if each.state is not State.INACTIVE
    )


def siblings(one: frozenset[tuple[str, str]], other: frozenset[tuple[str, str]]) -> bool:
    shared = len(one & other)
    return shared >= FEWEST_SHARED and 2 * shared >= max(len(one), len(other))


def _own_name(document: Document, folder: str) -> str:
    """What a file calls the feeder that it is of, "" where nothing says that it is a feeder's."""
    for setting in document.settings:
        bare = setting.value.strip().strip("\"'").strip()
        own = is_feeder_word(setting.key) and (not setting.section or is_feeder_word(setting.section))
        if own and 0 < len(bare) < LONGEST_CALLED and isinstance(read_value(setting.value), Text):
            return bare.casefold()
    stem = split(PurePosixPath(document.path).stem)
    rest = [word for word in stem if not is_feeder_word(word)]
    if len(rest) < len(stem) or is_feeder_word(split(folder)[-1] if split(folder) else ""):
        return " ".join(rest)
    return ""


def unsettled(alike: Mapping[str, str], readings: Iterable[Reading]) -> dict[str, str]:
    """Of files that are alike those that set two and more of the same things of a feeder, each with the other."""
    own: dict[str, set[str]] = defaultdict(set)
    for reading in readings:
        if of_feeder(reading.quantity) and reading.place.file in alike:
            own[reading.place.file].add(reading.quantity)
    return {path: other for path, other in alike.items() if len(own[path] & own[other]) > 1}


def question_of_file(path: str, other: str) -> Doubt:
    """What is asked of a file that may be a feeder's own, as much as `other`."""
    one, two = (f"{{name: {PurePosixPath(each).stem}, known_as: [{each}]}}" for each in (path, other))
    why = f"{other} sets the same of the feeder: each may be of a feeder of its own, or one may override the other"
    remedy = f"say in cfgmigrate.yaml which is so: `feeders: {{1: {one}, 2: {two}}}`, or give one of them another role"
    return Doubt(Place(path, 1, 1), path, why, remedy)
