"""Files that take in other files: which, and in what order they come.

Each include line carries the files that it takes in (`resolver.py`). They are read too, in the dialect of the file
that names them where their own content does not say. Documents are ordered so that what comes later wins: an included file comes before the one that
takes it in, or behind it where its line stands below all settings. Where a setting stands above the line
and the included file sets it again, no order of whole files is right: that is a doubt. A path that leads
out of the root, and files that take each other in, are refused with the chain that leads there. A file that
is not there is a doubt.

C headers are read again together at the end, each where its line stands, because what one defines the other
asks for; only then is it known which of their settings are set again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Include, State
from cfgmigrate.files.gaps import NOT_THERE
from cfgmigrate.files.pattern import MOST_PATHS
from cfgmigrate.files.resolver import IncludeFault, Resolver
from cfgmigrate.ground.findings import BadInput, Doubt, Likeness, Place, Refused

#: Includes within includes, no deeper than this.
DEEPEST = 64
#: So many lines that take in files, in a whole configuration.
MOST_LINES = 20_000

#: reads the file at a path relative to the root; the second argument is the dialect of who includes it
OpenFile = Callable[[str, str], Document]


def follow(documents: dict[str, Document], open_file: OpenFile) -> dict[str, Doubt]:
    """Reads what is included, by whatever was read, and adds it. Gives a doubt for each file that can't be read.

    Raises Refused for include lines without end."""
    waiting = list(documents)
    unread: dict[str, Doubt] = {}
    lines = 0
    for path in waiting:
        document = documents[path]
        lines += len(document.includes)
        if lines > MOST_LINES:
            what = f"with this file there are more than {MOST_LINES:,} lines that take in files"
            raise Refused(what, Place(path), "give the configuration alone")
        for include in document.includes:
            for target in include.files:
                if target in documents or target in unread:
                    continue
                try:
                    documents[target] = open_file(target, document.dialect)
                    waiting.append(target)
                except BadInput as problem:
                    place = Place(path, include.line, include.column)
                    why = f"the file that it takes in: {problem.what}"
                    unread[target] = Doubt(place, include.target, why, problem.remedy)
    return unread


def bundle(
    resolver: Resolver, documents: Mapping[str, Document], unread: Iterable[Doubt] = ()
) -> tuple[Document, ...]:
    """The documents in the order in which later ones win. `unread` are doubts of files that can't be read.

    Raises Refused for a path out of the root and for files that include each other.
    """
    found = _Bundle(resolver, dict(documents))
    found.link()
    for doubt in unread:
        found.doubts.setdefault(doubt.place.file, []).append(doubt)
    order = found.order()
    ordered = [found.documents[path] for path in order]
    headers = [(document.path, document.data) for document in ordered if document.dialect == "header"]
    if headers:
        from cfgmigrate.dialects.header import read_together

        found.documents.update({document.path: document for document in read_together(headers, resolver)})
    found.look_for_clashes()
    return tuple(found.with_doubts(found.documents[path]) for path in order)


class _Bundle:
    """The files of one configuration and the lines by which they take each other in."""

    def __init__(self, resolver: Resolver, documents: dict[str, Document]) -> None:
        self.resolver = resolver
        self.documents = documents
        #: per file: each include line with the files it takes in
        self.taken: dict[str, list[tuple[Include, list[str]]]] = {}
        #: per file that was taken in: who did it first, and where
        self.by: dict[str, tuple[str, Include]] = {}
        self.doubts: dict[str, list[Doubt]] = {}
        #: include lines with settings below them, each with its file and the files it takes in
        self.between: list[tuple[str, Include, list[str]]] = []

    def link(self) -> None:
        """Notes which file takes in which; all of them were read."""
        for path, document in self.documents.items():
            for include in document.includes:
                targets = [target for target in self._targets(document, include) if target in self.documents]
                self.taken.setdefault(path, []).append((include, targets))
                for target in targets:
                    self.by.setdefault(target, (path, include))

    def _targets(self, document: Document, include: Include) -> list[str]:
        """The files that a line takes in; a doubt where there are none.

        Raises Refused where it leads out of the root, or through too many files."""
        if include.files:
            if self.resolver.taken(document.path, include.target).by_end:
                why = f"the path leads nowhere here; {', '.join(include.files)}, with which it ends, is taken"
                self._doubt(document.path, include, why, "nothing has to be done if that is the file")
            return list(include.files)
        place = Place(document.path, include.line, include.column)
        match self.resolver.taken(document.path, include.target).fault:
            case IncludeFault.OUTSIDE:
                raise self._leads_out(document, include)
            case IncludeFault.TOO_MANY:
                what = f"{include.target} leads through more than {MOST_PATHS:,} files and folders"
                remedy = "name the files, or keep the configuration in a folder of its own"
                raise Refused(what, place, remedy)
        near = self.resolver.nearest(include.target)
        meant = f"is {near} meant? else " if near else ""
        remedy = f"{meant}give the folder that holds it too; what it sets is not known here. If there never was such a file, make that line a remark and prepare again"
        self._doubt(document.path, include, NOT_THERE, remedy)
        return []

    def _leads_out(self, document: Document, include: Include) -> Refused:
        chain = " -> ".join([*self._chain(document.path, include), include.target])
        return Refused(
            f"a file outside the configuration's folder is included: {chain}",
            Place(document.path, include.line, include.column),
            "give a folder that holds both, or name both files",
        )

    def _chain(self, path: str, include: Include) -> list[str]:
        """The lines that lead to an include line, from the first file on."""
        links = [f"{path}:{include.line}"]
        while path in self.by and len(links) <= DEEPEST:
            path, above = self.by[path]
            links.insert(0, f"{path}:{above.line}")
        return links

    def _doubt(self, path: str, include: Include, why: str, remedy: str) -> None:
        place = Place(path, include.line, include.column)
        like = Likeness(why, of=include.target) if why == NOT_THERE else None
        self.doubts.setdefault(path, []).append(Doubt(place, include.target, why, remedy, like=like))

    def order(self) -> list[str]:
        """All paths, so that later ones win. Raises Refused where files include each other."""
        ordered: dict[str, None] = {}
        first = [path for path in sorted(self.documents) if path not in self.by]
        for path in (*first, *sorted(self.by)):
            self._place(path, [], ordered)
        return list(ordered)

    def _place(self, path: str, above: list[str], ordered: dict[str, None]) -> None:
        if path in above or len(above) > DEEPEST:
            self._refuse_circle([*above, path])
        if path in ordered:
            return
        document = self.documents[path]
        last = max(
            (setting.end for setting in document.settings if setting.key.lower() != "include"), default=-1
        )
        lines = self.taken.get(path, [])
        below = [targets for include, targets in lines if include.start > last >= 0]
        for include, targets in lines:
            if targets not in below:
                self.between.append((path, include, targets))
                for target in targets:
                    self._place(target, [*above, path], ordered)
        ordered[path] = None
        for targets in below:
            for target in targets:
                self._place(target, [*above, path], ordered)

    def _refuse_circle(self, path: list[str]) -> None:
        links = []
        for includer, target in pairwise(path):
            include = next(line for line, targets in self.taken[includer] if target in targets)
            links.append(f"{includer}:{include.line}")
            place = Place(includer, include.line, include.column)
        chain = " -> ".join([*links, path[-1]])
        what = "files include each other" if path[-1] in path[:-1] else "files include each other too deeply"
        raise Refused(f"{what}: {chain}", place, "take one of these lines out")

    def look_for_clashes(self) -> None:
        """Doubts for settings above an include line that the included files set again."""
        for path, include, targets in self.between:
            self._look_for_clashes(self.documents[path], include, targets)

    def _look_for_clashes(self, document: Document, include: Include, targets: list[str]) -> None:
        above = {
            (setting.section.lower(), setting.key.lower()): setting
            for setting in document.settings
            if setting.end < include.start and setting.state is State.ACTIVE
        }
        for target in targets if above else ():
            for setting in self.documents[target].settings:
                clash = above.get((setting.section.lower(), setting.key.lower()))
                if clash and setting.state is State.ACTIVE:
                    why = f"{target}:{setting.line}, which is included below, sets it again: which counts is not clear"
                    place = document.place(clash)
                    self.doubts.setdefault(document.path, []).append(
                        Doubt(place, f"{clash.name}: {clash.value}", why, "keep one of the two")
                    )

    def with_doubts(self, document: Document) -> Document:
        more = tuple(self.doubts.get(document.path, ()))
        return replace(document, doubts=document.doubts + more) if more else document
