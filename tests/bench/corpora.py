"""Files that others wrote, to be read at test time: where they come from, and what is in them.

Some lie on any Debian machine (INI-like files and units below /etc and /usr, C headers below /usr/include,
CPython's own test data); some are fetched into a folder for temporary files, once, and never kept in the
project: Debian's `augeas-lenses` (the texts in its lens tests, with what is expected after an edit) and
`gerbv` (word-address examples) by `apt-get download`, the sdist of PyPI's `crudini` (texts before and after)
by `pip download`. Only their texts are read; nothing of them is run. What can't be had is an `Absent` with
the reason.

    python tests/bench/corpora.py      fetches them all and says what is there
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from expected import ExpectedEdit, edits_of_lens_test, edits_of_script, texts_of, texts_of_script

CACHE = Path(tempfile.gettempdir()) / f"corpora-of-others-{os.getuid()}"
#: files that are larger take too long to be read again for each of their settings (bytes)
LARGEST = 400_000


class Absent(Exception):
    """A corpus can't be had here; the message says why."""


@dataclass(frozen=True, slots=True)
class Sample:
    """One text of a corpus."""

    name: str
    data: bytes


@dataclass(frozen=True, slots=True)
class Corpus:
    """`samples` raises Absent where the corpus can't be had."""

    name: str
    source: str
    dialect: str
    samples: Callable[[], Iterator[Sample]]


# --- what lies on the machine ---------------------------------------------------------------------------


def plain_files(*folders: Path | str, endings: tuple[str, ...] = ("",)) -> Iterator[Sample]:
    """The plain files below the folders that end so, in order."""
    found = 0
    for folder in folders:
        for path in sorted(Path(folder).rglob("*")):
            if not path.name.endswith(endings) or path.is_symlink() or not path.is_file():
                continue
            if path.stat().st_size <= LARGEST and os.access(path, os.R_OK):
                found += 1
                yield Sample(str(path), path.read_bytes())
    if not found:
        raise Absent(f"no such file below {', '.join(map(str, folders))}")


def ini_like_files() -> Iterator[Sample]:
    """Files of the machine whose first line, after blank and comment lines, is a section's."""
    for sample in plain_files("/etc", "/usr/lib/systemd", "/usr/share", endings=_INI):
        lines = (line.strip() for line in sample.data.splitlines())
        if next((line for line in lines if line and line[:1] not in b"#;"), b"").startswith(b"["):
            yield sample


def cpython_files() -> Iterator[Sample]:
    tests = Path(sysconfig.get_paths()["stdlib"]) / "test"
    paths = sorted(tests.rglob("cfgparser.[123]"))
    if not paths:
        raise Absent("this interpreter came without CPython's test data")
    yield from (Sample(path.name, path.read_bytes()) for path in paths)


# --- what is fetched ------------------------------------------------------------------------------------


def fetched(name: str, *command: str) -> Path:
    """The unpacked content of a package: `command`, run in an empty folder, leaves its archive there."""
    kept = CACHE / name
    if kept.is_dir():
        return kept
    CACHE.mkdir(mode=0o700, exist_ok=True)
    if CACHE.stat().st_uid != os.getuid():
        raise Absent(f"{CACHE} belongs to somebody else")
    with tempfile.TemporaryDirectory(dir=CACHE) as folder:
        archive = _archive(Path(folder), command)
        unpacked = Path(folder) / "unpacked"
        if archive.suffix == ".deb":
            subprocess.run(["dpkg-deb", "-x", archive, unpacked], check=True, capture_output=True)
        else:
            with tarfile.open(archive) as opened:
                opened.extractall(unpacked, filter="data")
        try:
            unpacked.rename(kept)
        except OSError:  # another process was faster
            if not kept.is_dir():
                raise
    return kept


def _archive(folder: Path, command: Sequence[str]) -> Path:
    if shutil.which(command[0]) is None:
        raise Absent(f"there is no {command[0]} here")
    try:
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=180)
    except subprocess.TimeoutExpired:
        raise Absent(f"{' '.join(command)} took too long") from None
    archives = [path for path in folder.iterdir() if path.name.endswith((".deb", ".tar.gz"))]
    if not archives:
        last = (done.stderr.strip() or done.stdout.strip()).splitlines()[-1:]
        raise Absent(f"{' '.join(command)} brought nothing: {''.join(last)}")
    return archives[0]


def debian(package: str) -> Path:
    """A package of Debian, unpacked but not installed."""
    return fetched(package, "apt-get", "download", package)


def lens_tests() -> Iterator[Sample]:
    """The lens tests of Debian's `augeas-lenses`, a file each."""
    yield from plain_files(debian("augeas-lenses") / "usr/share/augeas/lenses/dist/tests", endings=(".aug",))


def word_address_files() -> Iterator[Sample]:
    """The examples of Debian's `gerbv` that are text: coordinates for drills and plotters."""
    for sample in plain_files(debian("gerbv") / "usr/share/doc/gerbv/examples"):
        if not sample.name.endswith((".pdf", ".png", ".jpg")):
            yield sample


def crudini() -> Path:
    version = "crudini==0.9.6"
    here = (sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--no-binary", ":all:", version)
    return next(fetched("crudini", *here).iterdir())


def lens_texts() -> Iterator[Sample]:
    """Every text of several lines in the lens tests: what is read, and what is expected after an edit."""
    for sample in lens_tests():
        for number, text in enumerate(texts_of(sample.data.decode())):
            yield Sample(f"{Path(sample.name).name} text {number}", text.encode())


def lens_edits() -> Iterator[ExpectedEdit]:
    """What the lens tests expect of a text after nodes of it were set."""
    for sample in lens_tests():
        yield from edits_of_lens_test(Path(sample.name).name, sample.data.decode())


def crudini_texts() -> Iterator[Sample]:
    """The INI texts in the sdist: its files, and what its test script writes before and expects after."""
    yield from plain_files(crudini(), endings=(".ini", ".cfg", ".toml"))
    for number, data in enumerate(texts_of_script(crudini_script())):
        yield Sample(f"test.sh text {number}", data)


def crudini_edits() -> Iterator[ExpectedEdit]:
    """What the test script in the sdist expects of a text after one setting was set."""
    yield from edits_of_script("test.sh", crudini_script())


def crudini_script() -> str:
    return (crudini() / "tests" / "test.sh").read_text(encoding="utf-8")


# --- all of them ----------------------------------------------------------------------------------------

_INI = (".ini", ".cfg", ".conf", ".service", ".timer", ".socket", ".desktop", ".pc")
CORPORA = (
    Corpus("INI-like files and units", "a Debian machine", "sectioned", ini_like_files),
    Corpus("CPython's `cfgparser` files", "CPython", "sectioned", cpython_files),
    Corpus("texts of the lens tests", "Debian `augeas-lenses`", "sectioned", lens_texts),
    Corpus("the same, read as flat", "Debian `augeas-lenses`", "flat", lens_texts),
    Corpus("texts before and after", "the sdist of PyPI `crudini`", "sectioned", crudini_texts),
    Corpus(
        "`/etc/*.conf`, read as flat",
        "a Debian machine",
        "flat",
        lambda: plain_files("/etc", endings=(".conf",)),
    ),
    Corpus(
        "C headers",
        "a Debian machine",
        "header",
        lambda: plain_files("/usr/include", endings=(".h",)),
    ),
    Corpus("word-address examples", "Debian `gerbv`", "command", word_address_files),
)


def main() -> int:
    missing = 0
    for corpus in CORPORA:
        try:
            print(f"{corpus.name} ({corpus.source}): {sum(1 for _ in corpus.samples())} files")
        except Absent as reason:
            missing += 1
            print(f"{corpus.name} ({corpus.source}): not here: {reason}")
    return 1 if missing else 0


if __name__ == "__main__":
    sys.exit(main())
