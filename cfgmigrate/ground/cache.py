"""What is the same on every run is worked out once: tables, grammars and rules, kept between runs.

The knowledge of the tool is text that people can read (YAML and grammars), and reading it takes longer than
all the rest. `kept` puts what a function made of it into the user's own cache folder (XDG Base Directory
Specification, by way of platformdirs) and takes it from there on the next run. Every kept thing belongs to
one state of the program's own files, by their paths, sizes and times, and to the versions of Python and of
Lark, whose tables are among it: where any of that differs, it is made anew. A folder that can't be written is
no error, only slower. What is kept is pickled, so it is only taken from a file that is the user's own and
that nobody else can write.

Nothing of the user's files ever goes in here, and nothing depends on its being there: the environment
variable CFGMIGRATE_KEEP=no does without it.
"""

from __future__ import annotations

import os
import pickle
import re
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cache, wraps
from pathlib import Path
from typing import ParamSpec, TypeVar, cast

P = ParamSpec("P")
T = TypeVar("T")

PACKAGE = Path(__file__).resolve().parents[1]
#: what the kept things are made of or made by
_SOURCES = (".py", ".yaml", ".lark", ".html", ".md")
_OLD = 7 * 24 * 3600.0
_STATE = re.compile(r"[0-9a-f]{24}")


def kept(build: Callable[P, T]) -> Callable[P, T]:
    """A function of plain arguments that always makes the same of them, worked out once for many runs.

    Within a run it is `functools.cache`. What it gives must be picklable and is never changed by anyone.
    """

    @cache
    @wraps(build)
    def found(*args: P.args, **kwargs: P.kwargs) -> T:
        name = "-".join((build.__module__, build.__qualname__, *map(str, (*args, *kwargs.values()))))
        where = folder()
        if where is None:
            return build(*args, **kwargs)
        path = where / f"{name}.pickle"
        with suppress(Exception):  # whatever is wrong with a kept file, it can be made again
            return cast("T", pickle.loads(_own_bytes(path)))
        made = build(*args, **kwargs)
        _put(path, pickle.dumps(made, protocol=pickle.HIGHEST_PROTOCOL))
        return made

    return cast("Callable[P, T]", found)


@cache
def folder() -> Path | None:
    """Where this state of the program keeps things; None where it can't or shall not."""
    if os.environ.get("CFGMIGRATE_KEEP", "").lower() in ("no", "off", "0"):
        return None
    from platformdirs import user_cache_path

    with suppress(OSError, RuntimeError):  # no home, no right to it, no room
        base = user_cache_path("cfgmigrate", appauthor=False)
        base.mkdir(mode=0o700, parents=True, exist_ok=True)
        where = base / _state()
        if not _is_own(base):
            return None
        if not where.exists():
            where.mkdir(mode=0o700)
            _drop_old(base, where)
        if _is_own(where):
            return where
    return None


def _state() -> str:
    """One word for the program's files, Python and Lark, as they are now."""
    from hashlib import sha256

    import lark

    digest = sha256(f"{sys.version}\n{sys.platform}\n{lark.__version__}\n".encode())
    for sources in (PACKAGE, PACKAGE.parent / "grammars"):
        for line in sorted(_files(str(sources))):
            digest.update(line.encode("utf-8", "surrogateescape"))
    return digest.hexdigest()[:24]


def _files(within: str) -> Iterator[str]:
    if not Path(within).is_dir():
        return
    with os.scandir(within) as entries:
        for entry in entries:
            if entry.is_dir():
                yield from _files(entry.path)
            elif entry.name.endswith(_SOURCES):
                about = entry.stat()
                yield f"{entry.path} {about.st_size} {about.st_mtime_ns}\n"


def _only_ours(about: os.stat_result) -> bool:
    """Whether this user alone can have written it. Windows says so by the folder's place alone."""
    if sys.platform == "win32":
        return True
    return about.st_uid == os.getuid() and not about.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _is_own(folder: Path) -> bool:
    """Whether it is a folder, and no link to one, that this user alone can change."""
    about = folder.lstat()
    return stat.S_ISDIR(about.st_mode) and _only_ours(about)


def _own_bytes(path: Path) -> bytes:
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as file:
        if not _only_ours(os.fstat(file.fileno())):
            raise PermissionError(str(path))
        return file.read()


def _put(path: Path, data: bytes) -> None:
    """Into place in one step, so that no other run ever sees half of it."""
    with suppress(OSError):
        handle, written = tempfile.mkstemp(dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            Path(written).replace(path)
        except OSError:
            Path(written).unlink(missing_ok=True)


def _drop_old(base: Path, but: Path) -> None:
    """Takes out what earlier states of the program kept and nobody used for long."""
    for other in base.iterdir():
        with suppress(OSError):
            if other != but and _STATE.fullmatch(other.name) and other.stat().st_mtime < time.time() - _OLD:
                shutil.rmtree(other)
