"""Lines of scripts that move the filament, or a limited axis beyond its new end, in words that nobody explained.

What such a line does stays as it is, whatever the files say: a pull of the old length draws soft filament into the cold part. So no
light that it is about is set. That a line does so is shown by what a remark says of its word, believed by nobody; else by its
number: as long as the old path, a pull by an old retraction, a place between the new end of z and the old one.

A straight move by itself of a letter that is no axis there, `G1 P-560`, is such a line as well where one of that letter's is as long as
the old path.

Scripts whose words were explained are looked at in `scripts/`; of them only the words count here that were left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from cfgmigrate.files.own_scripts import own_script
from cfgmigrate.files.own_words import FILAMENT_IN, FILAMENT_OUT
from cfgmigrate.files.roles import OwnUse
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.own_codes import own_codes, told_of
from cfgmigrate.plan.model import Change
from cfgmigrate.scripts.feeds import Path
from cfgmigrate.scripts.letters_unexplained import moved_alone
from cfgmigrate.scripts.tube_moves import MADE_FOR

_PULL, _END = "retraction.length", "axis.z.max"
NOBODY_EXPLAINED = "in words that nobody explained"
_SEEM = {_PULL: "move the filament", _END: "go beyond that"}


def moves_not_understood(machine: Machine, changes: Sequence[Change], path: Path | None) -> dict[str, str]:
    """Such lines by the quantity of the light that they are about, in words that end a sentence."""
    pulls = [each.old.value for each in changes if each.quantity == _PULL and each.old]
    ends = [(each.new.value, each.old.value) for each in changes if each.quantity == _END and each.old]
    limit = machine.get(_END)
    end = ends[0] if ends else (limit.value, None) if limit is not None else (None, None)
    lines: dict[str, dict[str, list[int]]] = {}
    found = list(_unexplained(machine))
    largest: dict[str, float] = {}
    for _, use, _ in found:
        largest[use.word] = max(abs(use.number), largest.get(use.word, 0.0))
    for file, use, means in found:
        about = _about(use.number, means, pulls, end, path, largest[use.word])
        if about:
            at = lines.setdefault(about, {}).setdefault(file, [])
            at += [use.line] if use.line not in at else []
    for file, line in _letters_that_feed(machine, path):
        at = lines.setdefault(_PULL, {}).setdefault(file, [])
        at += [line] if line not in at else []
    return {
        about: f"{_told(files)} {'seem' if _several(files) else 'seems'} to {_SEEM[about]}, {NOBODY_EXPLAINED}"
        for about, files in lines.items()
    }


def _letters_that_feed(machine: Machine, path: Path | None) -> Iterator[tuple[str, int]]:
    """The straight moves of letters by themselves that nothing explains, of which one is as long as the old path."""
    alone = list(moved_alone(machine)) if path is not None else []
    long = {
        (file, letter)
        for file, _, letter, number in alone
        if path is not None and path.made_for_the_old(number)
    }
    yield from ((file, line) for file, line, letter, _ in alone if (file, letter) in long)


def _unexplained(machine: Machine) -> Iterator[tuple[str, OwnUse, str]]:
    """The numbers in question, each with its file and what a remark may say of its word."""
    whole = {each.path for each in machine.documents if each.own_words and each.dialect == "command"}
    for code in own_codes(each for each in machine.own_scripts if each.path not in whole):
        yield from ((file, use, code.means) for file, use in code.uses)
    for document in machine.documents:
        own = own_script(document.data) if document.own_words and document.dialect == "command" else None
        told = dict(document.own_words)
        yield from ((document.path, use, "") for use in (own.uses if own else ()) if not told_of(use, told))


def _about(
    number: float,
    means: str,
    pulls: Iterable[float | None],
    end: tuple[float | None, float | None],
    path: Path | None,
    largest: float,
) -> str:
    """The quantity of the light that a number is about. A word whose `largest` number is no length of the old machine is a
    speed or a time, wherever its other numbers lie."""
    new, old = end
    if means in (FILAMENT_IN, FILAMENT_OUT):
        return _PULL
    if means == "to z":
        return _END if new is not None and number > new else ""
    if means:
        return ""
    if -number in pulls or (
        path is not None and path.made_for_the_old(number) and largest <= MADE_FOR[1] * path.old
    ):
        return _PULL
    return _END if new is not None and old is not None and new < number <= largest <= old else ""


def _several(files: Mapping[str, Sequence[int]]) -> bool:
    return sum(map(len, files.values())) > 1


def _told(files: Mapping[str, Sequence[int]]) -> str:
    return " and ".join(f"{file}:{', '.join(map(str, sorted(lines)))}" for file, lines in files.items())
