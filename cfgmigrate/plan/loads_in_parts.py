"""A length for loading of which a script feeds a further part behind it: the two together are the way, and neither is written alone.

    G1 E{load length} F2700      ; quickly through the tube
    G1 E{last of it} F240        ; slowly through the hot end

Worked out by itself the first may reach into the hot end, at the speed of the tube, and the second is pushed in behind it. The
same holds for unloading. So where a script names such a length in a move of the feeder alone and another such move in the same
direction stands right behind or before it, the length waits, and both lines are named.

What the parts should be is not worked out: how the owner shares the way between them no file says.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Document, readable
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.words import split
from cfgmigrate.plan.model import Change
from cfgmigrate.plan.parts_of_a_load import HOW_SHARED

#: a move of the feeder alone: its sign, and the number or the name that is filled in
_FEEDS = pattern(
    r"[ \t]*(?:N\d+[ \t]+)?G0*[01](?=[ \t])[ \t]+(?:F\S+[ \t]+)?E(?P<sign>-?)"
    r"(?:[\[{<$%(]+(?P<name>[^\]}>%)\s;][^\]}>%);]{0,60})[\]}>%)]*|(?P<number>\d+(?:\.\d+)?))[ \t]*(?:F(?:[\[{<]?[^;]{1,40}))?[ \t]*(?:;.*)?",
)
#: what stands between two parts of one way: remarks, a wait, and whatever else moves nothing and chooses no tool
_PASSED_OVER = pattern(
    r"[ \t]*(?:(?:N\d+[ \t]+)?(?:G0*4|M(?!0*(?:2|6|30|97|98|99)(?!\d))\d{1,5}(?:\.\d+)?)(?:[ \t]+(?![XYZETxyzet])[A-Za-z]\S*)*[ \t]*)?(?:;.*)?"
)
#: mm; a shorter move beside it makes up for what was pulled or oozed, and is no part of the way
_A_PART = 8.0


class FeedMove(Struct, frozen=True):
    """A move of the feeder alone, in its line."""

    line: int
    text: str
    out: bool
    name: tuple[str, ...]
    number: float | None


def loads_in_parts(machine: Machine, changes: Iterable[Change]) -> Iterator[tuple[Change, Doubt]]:
    """The changes of lengths for loading or unloading that are a part of the way, each with what is asked."""
    for change in changes:
        if change.quantity not in HOW_SHARED or not change.edits:
            continue
        edit = change.edits[0]
        settings = machine.document(edit.file).settings
        of = next((each for each in settings if each.start <= edit.start < each.end), None)
        key = tuple(split(of.key)) if of is not None else ()
        found = (
            next((each for document in machine.documents for each in _beside(document, key)), None)
            if key
            else None
        )
        if found is not None:
            place, first, other = found
            why = (
                f"it would be {change.new.text}, but {place}:{first.line} feeds it as a part of the way, and {place}:{other.line} "
                f"({other.text}) feeds on in the same direction: together they are the way, and what each does of the new one the "
                "files don't say"
            )
            remedy = (
                "Write both by hand: together they are to change by as much as the path does; "
                f"{HOW_SHARED[change.quantity]}"
            )
            yield change, Doubt(Place(edit.file, edit.line, edit.column), change.label, why, remedy)


def _beside(document: Document, key: tuple[str, ...]) -> Iterator[tuple[str, FeedMove, FeedMove]]:
    """Where a file's script feeds the length of this name, with another part beside it."""
    text = readable(document.data)
    if "E" not in text:
        return
    for run in _runs(text.splitlines()):
        at = next(
            (number for number, each in enumerate(run) if each.name and each.name[-len(key) :] == key), None
        )
        if at is None:
            continue
        for other in (*run[at + 1 : at + 2], *run[max(at - 1, 0) : at]):
            if other.out == run[at].out and (other.number is None or other.number >= _A_PART):
                yield document.path, run[at], other


def _runs(lines: Sequence[str]) -> Iterator[list[FeedMove]]:
    """The moves of the feeder alone that follow each other with nothing between them that moves."""
    run: list[FeedMove] = []
    for number, line in enumerate(lines, 1):
        found = _FEEDS.fullmatch(line[:300])
        if found is not None:
            said = tuple(split(found["name"] or ""))
            value = float(found["number"]) if found["number"] else None
            run.append(FeedMove(number, line.partition(";")[0].strip(), found["sign"] == "-", said, value))
        elif not _PASSED_OVER.fullmatch(line):
            yield run
            run = []
    yield run
