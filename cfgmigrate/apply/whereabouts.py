"""Where a value that a revert can't find may have gone: its file renamed, its line moved into another.

This is a hint for people: what they read here they do by hand, or rename the file back and revert again.
It looks through the configuration's folder within bounds, follows no link, and changes nothing. That it
finds nothing says nothing.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from cfgmigrate.dialects.document import readable
from cfgmigrate.files.pattern import is_packet
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.paths import OWN_FOLDER, read_ordinary
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.plan.edits import FileStep, Span

MOST_FILES = 500
LARGEST_SEARCHED = 1_000_000
MOST_PLACES = 2
#: a file with so many of another's lines is that file, edited
MOST_OF_IT = 0.7

_GAP = pattern(rb"[\s=:]+")
#: what makes a text behind which it stands another one: `0.045` does not begin with the value `0.04`, nor `5.4` with `5`
_GOES_ON = pattern(rb"[.,]?[0-9A-Za-z]")


def whereabouts(root: Path, lost: Iterable[tuple[FileStep, Span]]) -> Mapping[str, str]:
    """For each lost value of which a trace is found, by its name: what stands where now."""
    wanted = list(lost)
    files = dict(files_below(root)) if wanted else {}
    found: dict[str, str] = {}
    for step, span in wanted:
        if other := _same_content(files, step):
            found[span.name] = f"{other} is the same file under another name"
            continue
        text = _up_to_value(step, span)
        others = (each for each in files.items() if each[0] != step.path)
        places = [f"{path}:{number}" for path, data in others for number in _lines_with(text, data)]
        if places:
            found[span.name] = f"{readable(text)!r} stands at {' and '.join(places[:MOST_PLACES])}"
    return found


def beside(
    root: Path,
    spans: Iterable[tuple[FileStep, Span]],
    held: Mapping[str, Sequence[bytes]],
    without: Collection[str] = (),
) -> tuple[str, ...]:
    """Where lines of values as they were left stand in files that did not have them by what they `held`; `without` some files."""
    wanted = list(spans)
    files = dict(files_below(root)) if wanted else {}
    found: dict[bytes, str] = {}
    for step, span in wanted:
        text = _up_to_value(step, span)
        places = [
            f"{path}:{number}"
            for path, data in files.items()
            if path != step.path and path not in without
            if not any(any(_lines_with(text, each)) for each in held.get(path, ()))
            for number in _lines_with(text, data)
        ]
        if places:
            found[text] = f"{readable(text)!r} stands at {' and '.join(places[:MOST_PLACES])}"
    return tuple(found.values())


def renamed(root: Path, step: FileStep) -> str:
    """The first file that holds what a step left in another, or most of its lines and a changed one among them, with the words for
    it; "" where there is none."""
    files = dict(files_below(root))
    if same := _same_content(files, step):
        return f"{same} is the same file under another name"
    edited = _edited_since(files, step)
    return f"{edited} seems to be that file under another name, edited since" if edited else ""


def _edited_since(files: Mapping[str, bytes], step: FileStep) -> str:
    """The file with most lines of what a step left and one that it changed, without which it may be an old copy."""
    left = _lines_of(step.after)
    changed = left - _lines_of(step.before or b"")
    for path, data in files.items():
        lines = _lines_of(data) if path != step.path else frozenset[bytes]()
        if not changed.isdisjoint(lines) and len(left & lines) >= MOST_OF_IT * len(left):
            return path
    return ""


def _lines_of(data: bytes) -> frozenset[bytes]:
    return frozenset(line.strip() for line in data.splitlines() if line.strip())


def _same_content(files: Mapping[str, bytes], step: FileStep) -> str:
    return next((path for path, data in files.items() if data == step.after and path != step.path), "")


def _up_to_value(step: FileStep, span: Span) -> bytes:
    """The line as it was left, from its first sign to the value's last."""
    start = max(step.after.rfind(end, 0, span.after_start) for end in (b"\n", b"\r")) + 1
    return step.after[start : span.after_end].strip()


def _lines_with(text: bytes, data: bytes) -> Iterator[int]:
    """The lines that begin like `text`, however their words are set apart."""
    wanted = _GAP.sub(b" ", text)
    for number, line in enumerate(data.splitlines(), 1):
        rest = _GAP.sub(b" ", line.strip())
        if rest.startswith(wanted) and not _GOES_ON.match(rest, len(wanted)):
            yield number


def files_below(root: Path) -> Iterator[tuple[str, bytes]]:
    """The ordinary files below the root, by their own path, as far as the bounds go."""
    left = MOST_FILES
    for folder, inner, names in os.walk(root):
        inner[:] = sorted(name for name in inner if name != OWN_FOLDER and not name.startswith("."))
        inner[:] = [name for name in inner if not is_packet(Path(folder, name))]
        for name in sorted(names):
            left -= 1
            if left < 0:
                return
            path = Path(folder, name)
            try:
                if path.is_symlink() or path.lstat().st_size > LARGEST_SEARCHED:
                    continue
                yield path.relative_to(root).as_posix(), read_ordinary(path, name)
            except (CfgError, OSError):
                continue
