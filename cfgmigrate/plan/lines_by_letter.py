"""Lines of a file for several machines that tell by a letter whose they are, where a remark of the file says what the letters mean.

    # d = heron, f = teal
    pla-d-pull: 5.0
    pla-f-pull: 5.8        teal's, and nothing that heron's packet may write

Such a remark is one of machines only where one of its names is the machine's that the sheet names; any other letter of it then
stands for another machine. What was to be written into a line with such a letter waits, and is asked. This module writes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from cfgmigrate.dialects.document import Document, readable
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.words import split
from cfgmigrate.plan.model import Change, Edit

_REMARK = pattern(r"[ \t]*(?:#|;|//)+(?P<said>.{3,200})")
_STANDS_FOR = pattern(
    r"(?<![\w.])(?P<letter>[A-Za-z]{1,2})[ \t]{0,3}[=:][ \t]{0,3}(?P<name>[^\W\d_][\w-]{1,30})(?=[ \t]*(?:[,;.]|$|  ))"
)
#: a legend has two letters at least
_LEAST = 2

_Legend = tuple[int, Mapping[str, str]]


def lines_by_letter(machine: Machine, name: str, changes: Iterable[Change]) -> Iterator[tuple[Change, Doubt]]:
    """The changes to lines that belong to another machine than that of the `name`, each with what is asked."""
    own = tuple(split(name))
    for change in changes:
        for edit in change.edits:
            if told := _anothers(machine.document(edit.file), edit, own):
                yield change, _asked(change, edit, *told)
                break


def _anothers(document: Document, edit: Edit, own: tuple[str, ...]) -> tuple[str, str, int, str] | None:
    """The line's name, its letter, where that is explained, and the other machine."""
    for line, letters in _legends(document):
        ours = {letter for letter, name in letters.items() if tuple(split(name)) == own}
        if not ours:
            continue
        of = next((each for each in document.settings if each.start <= edit.start < each.end), None)
        words = {*split(of.section), *split(of.key)} if of is not None else set()
        theirs = [letter for letter in letters if letter in words and letter not in ours]
        if of is not None and theirs and words.isdisjoint(ours):
            return of.name, theirs[0], line, letters[theirs[0]]
    return None


@once
def _legends(document: Document) -> tuple[_Legend, ...]:
    found: list[_Legend] = []
    for number, line in enumerate(readable(document.data).splitlines(), 1):
        if (remark := _REMARK.match(line)) is None:
            continue
        letters = {each["letter"].lower(): each["name"] for each in _STANDS_FOR.finditer(remark["said"])}
        if len(letters) >= _LEAST:
            found.append((number, letters))
    return tuple(found)


def _asked(change: Change, edit: Edit, name: str, letter: str, line: int, whose: str) -> Doubt:
    return Doubt(
        Place(edit.file, edit.line, edit.column),
        name,
        f"the {letter} of this name stands for {whose} ({edit.file}:{line}), and this packet is another machine's: the "
        f"{change.label} would be {change.new.text} here and is not written",
        f"leave it to {whose}'s own packet; or, where this machine reads the line all the same, write {change.new.text} there by hand",
    )
