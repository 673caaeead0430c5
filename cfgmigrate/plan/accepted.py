"""Which edits are accepted: the one decision, for what prepare writes and for what verify and install take.

    after start = M9410 K0.66        the number of the word K, read as such: a whole one
    port = ttyS0                     no number: a part of a name

A packet may come from a stranger, so each of its edits is looked at where it is to stand. Prepare asks the very same of what it
has planned: what install would refuse is never written but asked.

Words of a code need no blanks between them. So a number behind a letter is a whole one in a script, and where it is read as the
value of the very word that it stands behind.

This module works no value out and writes nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from cfgmigrate.dialects.document import Document, readable
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.model import Change, Edit
from cfgmigrate.plan.writable import part_of, why_not

#: a file, and where a number begins and ends in it
NumberSpot = tuple[str, int, int]
#: of a number with a decimal comma, what is left of it beside a part
_COMMA_BEHIND, _COMMA_BEFORE = pattern(rb",[0-9]"), pattern(rb"[0-9],")
_BY_HAND = "write it there by hand; or let the number stand alone, with blanks around it, and prepare again"


@once
def known_places(machine: Machine) -> Mapping[NumberSpot, str]:
    """What kind of value is known to stand at each place that is read."""
    return {
        (each.place.file, each.start, each.end): quantity(each.quantity).kind
        for each in machine.every_reading
    }


@once
def spots_behind_words(machine: Machine) -> frozenset[NumberSpot]:
    """Where numbers are read as the values of words of a code, each right behind its word."""
    found: set[NumberSpot] = set()
    for each in machine.every_reading:
        word = each.setting.key.rpartition(" ")[2].encode("utf-8", "surrogateescape")
        data = machine.document(each.place.file).data
        is_word = len(word) == 1 and word.isalpha() and quantity(each.quantity).kind == "number"
        if is_word and data[each.start - 1 : each.start].lower() == word.lower():
            found.add((each.place.file, each.start, each.end))
    return frozenset(found)


def faults_of(
    edit: Edit, document: Document, known: Mapping[NumberSpot, str], words: Collection[NumberSpot] = ()
) -> Iterator[str]:
    """Why an edit's text may not be written where it is to stand; `words` are the numbers that are read as those of words."""
    spot = edit.file, edit.start, edit.end
    if why := why_not(edit.old, edit.new, known.get(spot) == "truth", document.commas):
        yield why
        return
    data = document.data
    first = max(data.rfind(end, 0, edit.start) for end in (b"\n", b"\r")) + 1
    last = min((at for end in (b"\n", b"\r") if (at := data.find(end, edit.end)) >= 0), default=len(data))
    in_script = spot in words or any(
        kind == "script" and path == edit.file and start <= edit.start and edit.end <= end
        for (path, start, end), kind in known.items()
    )
    whole = part_of(
        readable(data[first : edit.start]),
        readable(data[edit.end : last]),
        document.dialect == "command" or in_script,
    )
    if document.commas and (_COMMA_BEHIND.match(data, edit.end) or _COMMA_BEFORE.match(data, edit.start - 2)):
        whole = readable(data[first:last])
    if whole:
        yield f"the number is a part of something else, {in_quotes(whole[:60])}"


def in_quotes(text: str) -> str:
    """A text in quotes; the sign for what is left out stays, all else that is not ASCII is shown by its number."""
    return ascii(text).replace("\\u2026", "…")


def refused_changes(machine: Machine, changes: Iterable[Change]) -> list[tuple[Change, Doubt]]:
    """The changes with an edit that install would refuse, each with what is asked in its place."""
    found: list[tuple[Change, Doubt]] = []
    for change in changes:
        for edit in change.edits:
            why = next(
                faults_of(
                    edit, machine.document(edit.file), known_places(machine), spots_behind_words(machine)
                ),
                "",
            )
            if why:
                said = f"{change.label}: it would be {edit.new}, and that is not written here: {why}"
                place = Place(edit.file, edit.line, edit.column)
                found.append((change, Doubt(place, edit.old, said, _BY_HAND)))
                break
    return found
