"""Laws 1 and 2 over files that others wrote, beside three general-purpose libraries.

    python tests/bench/corpus.py [--limit N] [--each N]

Each file is read and written back; then values are edited one at a time, and read again: exactly the span
of that value may differ, and exactly that setting. Prints one table: files, identical, refused with a reason,
settings edited; and for the INI-like files the same run (read, write back) of ConfigUpdater, ConfigObj and
iniparse from PyPI. Nothing is kept. Corpora: INI-like files and units of the Debian machine, CPython's
configparser test data, C headers below /usr/include, and word-address examples of Debian's `gerbv` where
that package is installed. A corpus that is not here is left out and said.
"""

from __future__ import annotations

import argparse
import io
import sys
import sysconfig
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting
from cfgmigrate.findings import BadInput

LARGEST = 400_000


@dataclass
class Tally:
    files: int = 0
    bytes: int = 0
    identical: int = 0
    changed: int = 0
    refused: int = 0
    edited: int = 0
    seconds: float = 0.0
    wrong: list[str] = field(default_factory=list)


def plain_files(*folders: str, endings: tuple[str, ...]) -> Iterator[Path]:
    for folder in folders:
        for path in sorted(Path(folder).rglob("*")):
            if path.name.endswith(endings) and path.is_file() and not path.is_symlink():
                yield path


def corpora() -> dict[str, tuple[str, list[Path]]]:
    """By name: the dialect and the files."""
    tests = Path(sysconfig.get_paths()["stdlib"]) / "test"
    ini = (".ini", ".cfg", ".conf", ".service", ".timer", ".socket", ".desktop", ".pc")
    return {
        "INI-like files and units": (
            "sectioned",
            list(plain_files("/etc", "/usr/lib/systemd", "/usr/share", endings=ini)),
        ),
        "CPython's cfgparser files": ("sectioned", sorted(tests.rglob("cfgparser.[123]"))),
        "the same, read as flat": ("flat", list(plain_files("/etc", endings=(".conf",)))),
        "C headers": ("header", list(plain_files("/usr/include", endings=(".h",)))),
        "word-address examples": (
            "command",
            list(
                plain_files("/usr/share/doc/gerbv", endings=(".drl", ".drd", ".nc", ".ngc", ".exc", ".txt"))
            ),
        ),
    }


def signature(settings: tuple[Setting, ...]) -> list[tuple[str, str, str]]:
    return [(each.section, each.key, each.value) for each in settings]


def try_file(tally: Tally, path: Path, dialect: str, each: int) -> None:
    data = path.read_bytes()
    tally.files += 1
    tally.bytes += len(data)
    began = time.perf_counter()
    try:
        document = read(str(path), data, dialect)
    except BadInput:
        tally.refused += 1
        return
    finally:
        tally.seconds += time.perf_counter() - began
    if b"".join(data[piece.start : piece.end] for piece in document.pieces) == data:
        tally.identical += 1
    else:
        tally.changed += 1
        tally.wrong.append(f"{path}: the pieces are not the file")
    written = [n for n, setting in enumerate(document.settings) if setting.start < setting.end]
    expected = signature(document.settings)
    for number in written[:: max(1, len(written) // each)][:each]:
        old = document.settings[number]
        edited = data[: old.start] + b"7.25" + data[old.end :]
        again = signature(read(str(path), edited, dialect).settings)
        tally.edited += 1
        if again != [*expected[:number], (old.section, old.key, "7.25"), *expected[number + 1 :]]:
            tally.wrong.append(f"{path}:{old.line}: editing {old.name} changed more than that")


def by_updater(text: str) -> str:
    from configupdater import ConfigUpdater

    updater = ConfigUpdater(strict=False, allow_no_value=True)
    updater.read_string(text)
    return str(updater)


def by_configobj(text: str) -> str:
    from configobj import ConfigObj

    out = io.BytesIO()
    ConfigObj(io.BytesIO(text.encode()), encoding="utf-8", interpolation=False).write(out)
    return out.getvalue().decode()


def by_iniparse(text: str) -> str:
    from iniparse import INIConfig

    return str(INIConfig(io.StringIO(text)))


OTHERS: dict[str, Callable[[str], str]] = {
    "ConfigUpdater": by_updater,
    "ConfigObj": by_configobj,
    "iniparse": by_iniparse,
}


def by_other(files: list[Path], write_back: Callable[[str], str]) -> Tally:
    tally = Tally()
    for path in files:
        data = path.read_bytes()
        tally.files += 1
        tally.bytes += len(data)
        began = time.perf_counter()
        try:
            same = write_back(data.decode("utf-8")).encode() == data
        except Exception:  # each has errors of its own, and some fail in ways of no kind
            tally.refused += 1
        else:
            tally.identical += same
            tally.changed += not same
        tally.seconds += time.perf_counter() - began
    return tally


def row(name: str, tally: Tally) -> str:
    speed = tally.bytes / tally.seconds / 1e6 if tally.seconds else 0.0
    numbers = (tally.files, tally.identical, tally.changed, tally.refused, tally.edited, f"{speed:.2f}")
    return f"| {name} | " + " | ".join(map(str, numbers)) + " |"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--limit", type=int, default=300, help="files of each corpus at most")
    parser.add_argument("--each", type=int, default=5, help="settings edited in each file at most")
    options = parser.parse_args()
    wrong: list[str] = []
    print("| what | files | identical | changed | refused | settings edited | MB/s |")
    print("|---|---|---|---|---|---|---|")
    for name, (dialect, every) in corpora().items():
        files = [path for path in every if path.stat().st_size <= LARGEST][: options.limit]
        if not files:
            print(f"| {name}: not on this machine | | | | | | |")
            continue
        tally = Tally()
        for path in files:
            try_file(tally, path, dialect, options.each)
        wrong += tally.wrong
        print(row(name, tally), flush=True)
        if name.startswith("INI"):
            for other, write_back in OTHERS.items():
                print(row(f"the same by {other}", by_other(files, write_back)), flush=True)
    for line in wrong:
        print(line, file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
