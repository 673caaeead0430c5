"""In which order the settings of several files hold, where files take in other files.

What a file takes in holds where its line stands: settings before that line are overridden by it, those behind
it override it. A file that nothing takes in holds in its turn. Which files a line takes in stands in the line
itself (`Include.files`). Files that are missing, and circles, are for `includes.py` to refuse; here they are
passed over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from cfgmigrate.dialects.document import Document


def order_of(documents: Sequence[Document]) -> Callable[[str, int], tuple[int, int]]:
    """A key by which places (path, byte offset) sort in the order in which they hold."""
    if not any(document.includes for document in documents):
        number = {document.path: at for at, document in enumerate(documents)}
        return lambda path, offset: (number.get(path, len(number)), offset)
    stretches: dict[str, list[tuple[int, int]]] = {}
    for at, (path, start) in enumerate(_stretches(documents)):
        stretches.setdefault(path, []).append((start, at))

    def key(path: str, offset: int) -> tuple[int, int]:
        reached = [at for start, at in stretches.get(path, ()) if start <= offset]
        return (reached[-1] if reached else len(documents)), offset

    return key


def includers_of(documents: Mapping[str, Document]) -> dict[str, list[tuple[str, int]]]:
    """For each file that is taken in by others, which do so, and in which line."""
    found: dict[str, list[tuple[str, int]]] = {}
    for path, document in documents.items():
        for include in document.includes:
            for target in include.files:
                if target in documents and target != path:
                    found.setdefault(target, []).append((path, include.line))
    return found


def _stretches(documents: Sequence[Document]) -> Iterator[tuple[str, int]]:
    """Every stretch of every document, by path and first byte, in the order in which they hold."""
    by_path = {document.path: document for document in documents}
    taken_in = {
        document.path: [
            [by_path[path] for path in include.files if path in by_path] for include in document.includes
        ]
        for document in documents
    }
    inner = {found.path for several in taken_in.values() for matches in several for found in matches}
    roots = [document for document in documents if document.path not in inner] or list(documents)
    for root in roots:
        yield from _walk(root, taken_in, ())


def _walk(
    document: Document, taken_in: dict[str, list[list[Document]]], above: tuple[str, ...]
) -> Iterator[tuple[str, int]]:
    yield document.path, 0
    for include, matches in zip(document.includes, taken_in[document.path], strict=True):
        for found in matches:
            if found.path not in (*above, document.path):
                yield from _walk(found, taken_in, (*above, document.path))
        yield document.path, include.end


def bundles_of(documents: Sequence[Document]) -> dict[str, int]:
    """A number for every path, the same for files of which one takes in the other, also by way of others."""
    number = {document.path: at for at, document in enumerate(documents)}
    for document in documents:
        for path in (path for include in document.includes for path in include.files if path in number):
            old, new = number[path], number[document.path]
            number = {each: new if at == old else at for each, at in number.items()}
    return number
