"""What the program knows, compiled: tables, grammars and rules as plain data that is read in milliseconds.

The knowledge is text that people can read (YAML and grammars). Reading and checking that text takes longer than
all the rest of a run, and always comes to the same. So a function that does it is marked `compiled`, and what
it returns is stored as MessagePack by way of msgspec, which builds values of the function's own return type
and can't run code. What there is most of is written as lists (`array_like`): without its fields' names it is read sooner and weighs less.

In an installed copy the compiled files come with the wheel (`.ci/compile_knowledge.py`) and belong to the text beside them.
In a checkout they are made when they are missing, in a folder that carries the state of all sources in its name:
a change to any source starts a new folder. A folder that can't be written, or a file that can't be read, is no
error. It only costs time.

Nothing of the user's files goes through here.
"""

from __future__ import annotations

import importlib
import os
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from functools import cache, wraps
from hashlib import sha256
from pathlib import Path
from typing import Any, ClassVar, Generic, ParamSpec, TypeVar, cast, get_type_hints, overload

P = ParamSpec("P")
T = TypeVar("T")

PACKAGE = Path(__file__).resolve().parents[1]
#: the folder of compiled files: inside the package when it was installed, else beside it
FOLDER, CHECKOUT_FOLDER = "compiled", ".compiled"
#: what is compiled, and what compiles it
_SOURCES = (".py", ".yaml", ".lark", ".md", ".html")


class Compiled(Generic[T]):
    """A function whose results are stored. Its arguments are words; `each` gives all of them that there are."""

    all: ClassVar[list[Compiled[Any]]] = []

    def __init__(self, build: Callable[..., T], each: Callable[[], Iterable[tuple[str, ...]]]) -> None:
        self.build, self.each = build, each
        self.module = build.__module__
        Compiled.all.append(self)

    def file_name(self, words: tuple[str, ...]) -> str:
        module = self.module.partition(".")[2]
        return "-".join((module, self.build.__name__.strip("_"), *words)) + ".msgpack"

    def pack(self, words: tuple[str, ...]) -> bytes:
        """The file's content. Raises BadInput where a source breaks its own syntax."""
        from msgspec import msgpack

        return msgpack.encode(self.build(*words))

    def read(self, packed: bytes) -> T:
        from msgspec import msgpack

        return cast("T", msgpack.decode(packed, type=get_type_hints(self.build)["return"]))

    def load(self, *words: str) -> T:
        where = folder()
        path = where / self.file_name(words) if where else None
        if path is not None:
            with suppress(OSError, ValueError):  # what is missing or broken can be made again
                return self.read(path.read_bytes())
        packed = self.pack(words)
        if path is not None and not installed():
            _put(path, packed)
        # by the same way as from a file, so that a first run has the very same values as a second
        return self.read(packed)


@overload
def compiled(build: Callable[P, T]) -> Callable[P, T]: ...
@overload
def compiled(
    *, each: Callable[[], Iterable[tuple[str, ...]]]
) -> Callable[[Callable[P, T]], Callable[P, T]]: ...
def compiled(build: Any = None, *, each: Any = lambda: [()]) -> Any:
    """Marks a function of the program's own files whose result is compiled, and read once in a run.

    Its arguments are words, and `each` gives all of them that there are. Its return type is one that msgspec can
    build. What it returns is never changed by anyone.
    """
    if build is None:
        return lambda later: _marked(later, each)
    return _marked(build, each)


def _marked(build: Any, each: Any) -> Any:
    of: Compiled[object] = Compiled(build, each)

    @cache
    @wraps(build)
    def found(*words: str) -> object:
        return of.load(*words)

    return found


def import_all() -> None:
    """Imports every module of the program that has a compiled function."""
    for path in sorted(PACKAGE.rglob("*.py")):
        if re.search(r"^@compiled\b", path.read_text(encoding="utf-8"), re.MULTILINE):
            importlib.import_module(".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts))


def compile_all(into: Path) -> None:
    """Writes every compiled file."""
    import_all()
    for one in Compiled.all:
        for words in one.each():
            (into / one.file_name(words)).write_bytes(one.pack(words))


@cache
def installed() -> bool:
    """Whether this is an installed copy: its grammars are within the package, not beside it."""
    return (PACKAGE / "grammars").is_dir()


@cache
def folder() -> Path | None:
    """Where the compiled files for the present sources are; None where they can't be kept."""
    if installed():
        return PACKAGE / FOLDER
    base = PACKAGE.parent / CHECKOUT_FOLDER
    where = base / _state()
    with suppress(OSError):
        if not where.exists():
            where.mkdir(parents=True, exist_ok=True)
            _drop_others(base, where)
        return where
    return None


def _state() -> str:
    """One word for the program's sources as they are now."""
    digest = sha256()
    for sources in (PACKAGE, PACKAGE.parent / "grammars"):
        for line in sorted(_files(str(sources))):
            digest.update(line.encode("utf-8", "surrogateescape"))
    return digest.hexdigest()[:24]


def _files(within: str) -> Iterator[str]:
    with suppress(FileNotFoundError), os.scandir(within) as entries:
        for entry in entries:
            if entry.is_dir():
                yield from _files(entry.path)
            elif entry.name.endswith(_SOURCES):
                about = entry.stat()
                yield f"{entry.path} {about.st_size} {about.st_mtime_ns}\n"


def _put(path: Path, data: bytes) -> None:
    """Into place in one step, so that no other run ever sees half of it."""
    import tempfile

    with suppress(OSError):
        handle, written = tempfile.mkstemp(dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            Path(written).replace(path)
        except OSError:
            Path(written).unlink(missing_ok=True)


def _drop_others(base: Path, but: Path) -> None:
    """Takes out what belongs to earlier states of the sources."""
    import shutil

    for other in base.iterdir():
        if other != but:
            shutil.rmtree(other, ignore_errors=True)
