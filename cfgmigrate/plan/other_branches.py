"""The other case of a condition on the drive in a header, where the case in force is edited: `#if FEED_PLACE == ON_CARRIAGE` … `#else`.

Whoever keeps a case for each place of the drive may mean to go over to the other one, whose lines are not in force and stay as
they are. That is asked; which of the two is meant can't be told here, and nothing is written into a case that is not in force.
Conditions on anything else, as on a board or another machine, are passed over.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split
from cfgmigrate.plan.model import Change

_OF_THE_DRIVE = frozenset(
    ("feeder", "feed", "drive", "extruder", "tube", "carriage", "head", "toolhead", "frame")
)
_HEAD = pattern(r"\s*#\s*(if|el|end)\w*\s*(.*)")
_LONGEST_HEAD = 80


class _Choice(Struct):
    """A condition: its lines' text, and from where to where each case goes."""

    line: int
    heads: list[str]
    cases: list[tuple[int, int]]


def other_branches(machine: Machine, changes: Sequence[Change]) -> Iterator[Doubt]:
    """A question for each condition of which one case is edited and another has the same names."""
    edits = {(edit.file, edit.start) for change in changes for edit in change.edits}
    for document in machine.documents:
        starts = {start for file, start in edits if file == document.path}
        if document.dialect == "header" and starts:
            for choice in _choices(document):
                if _of_the_drive(choice.heads) and (doubt := _asked(document, choice, starts)):
                    yield doubt


def _asked(document: Document, choice: _Choice, edits: Iterable[int]) -> Doubt | None:
    own = [case for case in choice.cases if any(case[0] <= start < case[1] for start in edits)]
    edited = {each.key for each in document.settings if each.start in edits}
    others = [
        each
        for each in document.settings
        if each.state is State.INACTIVE
        and each.key in edited
        and any(first <= each.start < last for first, last in choice.cases if (first, last) not in own)
    ]
    if len(own) != 1 or not others:
        return None
    lines = f"{others[0].line} to {others[-1].line}" if len(others) > 1 else str(others[0].line)
    return Doubt(
        Place(document.path, choice.line, 1),
        choice.heads[0],
        f"the case that is in force now is edited; the other one, which sets {others[0].key} and more at {document.path}:{lines}, "
        "is not, and stays as it is",
        "if the other case is the one for the new drive, set what the condition asks in the file first, and prepare again",
    )


def _choices(document: Document) -> Iterator[_Choice]:
    """The conditions with more than one case."""
    open_: list[_Choice] = []
    for piece in document.pieces:
        if piece.kind != "condition" or not (found := _HEAD.match(document.slice(piece.start, piece.end))):
            continue
        head = " ".join(found[0].split())[:_LONGEST_HEAD]
        if found[1] == "if":
            line = document.data.count(b"\n", 0, piece.start) + 1
            open_.append(_Choice(line, [head], [(piece.end, len(document.data))]))
        elif open_:
            choice = open_[-1]
            choice.cases[-1] = (choice.cases[-1][0], piece.start)
            if found[1] == "el":
                choice.heads.append(head)
                choice.cases.append((piece.end, len(document.data)))
            elif len(open_.pop().cases) > 1:
                yield choice


def _of_the_drive(heads: Iterable[str]) -> bool:
    words = frozenset(word for head in heads for piece in split(head) for word in ways_of(piece)[0])
    return not _OF_THE_DRIVE.isdisjoint(vocabulary().names_in(words))
