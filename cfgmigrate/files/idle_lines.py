"""Lines of the site file that have no effect: a typo, other capitals, a pattern that fits nothing.

They name no file, or a word that no script has. Each is a doubt at its line; so is a site file in a folder below, of which no
line has an effect.

A file that such a line means keeps the role that it has without it, and may be edited, so it is not passed over. A dialect
that is said of a file that is not there is refused when the files are read (`configuration.py`), and so is a file that is in
force and not there (`Site.gone`).
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.found import SITE
from cfgmigrate.files.own_words import words_nowhere
from cfgmigrate.files.pattern import as_there
from cfgmigrate.files.site import Site, names
from cfgmigrate.ground.findings import Doubt, Place

_WHY = "no file is called so: this line has no effect"
_NOT_READ = "it lies below the folder whose site file counts for all that was named, so it is not read"
_NO_WORD = "no script in this file has a number behind this word: the line has no effect"


def idle_lines(
    site: Site, root: Path, paths: Collection[str], documents: Sequence[Document] = ()
) -> Iterator[Doubt]:
    """A doubt for each line of `roles`, `profiles` and `decimals`, and each file of `moves`, that fits none of the `paths` found;
    and for each word of `moves` that none of the machine's `documents` has."""
    for item in words_nowhere(site.moves, documents):
        remedy = "write the word as the script has it, with its file, or take the line out"
        yield Doubt(item.place, f"moves: {item.key}", _NO_WORD, remedy)
    gone = {pattern for pattern, _ in site.gone(root)}
    lines = [("roles", each.pattern, each.place) for each in site.roles if each.pattern not in gone]
    lines += [("profiles", each.pattern, each.place) for each in site.profiles]
    lines += [("decimals", each.pattern, each.place) for each in site.decimals]
    lines += [("shared", each.pattern, each.place) for each in site.told_shared]
    named = {each.key.partition(" ")[0]: each.place for each in reversed(site.moves)}
    lines += [("moves", pattern, place) for pattern, place in named.items()]
    for path in paths:
        folder = path.removesuffix(f"/{SITE}")
        if folder != path and b"extends" not in site.source:
            remedy = f"write its lines into {root.name}/{SITE}, each path with {folder}/ before it; or name {folder} alone"
            yield Doubt(Place(path, 1, 1), SITE, _NOT_READ, remedy)
    folded = {path.casefold(): path for path in paths}
    for field, pattern, place in lines:
        if any(names(pattern, path) for path in paths) or (root / as_there(root, pattern)).exists():
            continue
        near = difflib.get_close_matches(pattern.casefold(), folded, n=1)
        remedy = (
            f"did you mean {folded[near[0]]}?"
            if near
            else "write a path as the survey shows it, or take the line out"
        )
        yield Doubt(place, f"{field}: {pattern}", _WHY, remedy)
