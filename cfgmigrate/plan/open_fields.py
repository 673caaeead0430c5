"""What of a swap sheet is still open, with what an open field is tried, and which field a name of a formula is.

A sheet that tells of several feeders is asked about the first swapped one.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from msgspec.structs import replace

from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import Machine
from cfgmigrate.sheet.fields import read_value
from cfgmigrate.sheet.model import Sheet, SheetEntry
from cfgmigrate.sheet.schema import Field, sheet_schema


def with_answers(sheet: Sheet, answers: Mapping[str, SheetEntry]) -> Sheet:
    """The sheet with these answers, those of the first swapped feeder where it tells of several."""
    if sheet.plain:
        return replace(sheet, entries={**sheet.entries, **answers})
    each, first = sheet_schema().each, sheet.swapped[0] if sheet.swapped else min(sheet.feeders)
    own = {path: entry for path, entry in answers.items() if path.partition(".")[0] in each}
    feeders = {**sheet.feeders, first: {**sheet.feeders[first], **own}}
    rest = {path: entry for path, entry in answers.items() if path not in own}
    return replace(sheet, entries={**sheet.entries, **rest}, feeders=feeders)


def said_in(sheet: Sheet) -> Mapping[str, SheetEntry]:
    """All that the sheet says of its first swapped feeder."""
    return sheet.lane(sheet.swapped[0]).entries if sheet.swapped else sheet.entries


def open_fields(sheet: Sheet, machine: Machine, declined: Collection[str] = ()) -> tuple[str, ...]:
    """The fields that are not answered, and not declined. What says which feeder is meant, or how old the files are,
    is no question of the bench; nor is what the files say."""
    said = said_in(sheet)
    return tuple(
        each.path
        for each in sheet_schema().fields.values()
        if each.path not in said
        and each.path not in declined
        and not (each.several and len(machine.feeders) < 2)
        and each.kind != "text"
        and each.path != "values"
        and not (each.reads and machine.usual.get(each.reads) is not None)
    )


def askable_fields(sheet: Sheet, machine: Machine, declined: Collection[str] = ()) -> tuple[str, ...]:
    """The open fields for which there is a question of their own: that something is as before is an answer to another
    one, and neither what is as before nor what follows from what the files hold is asked."""
    schema, said = sheet_schema(), said_in(sheet)

    #: the whole way may be the answer to the question for the tube, as long as that stands
    ways = {whole for tube, whole in schema.to_the_tip.items() if tube not in said}

    def follows(path: str) -> bool:
        by = schema.fields[path].told_by
        return bool(by) and machine.usual.get(by) is not None

    def stays(path: str) -> bool:
        truths = {schema.says_as_before(path), *schema.rivals.get(path, ())} & schema.as_before.keys()
        return any(name in said and said[name].word == "yes" for name in truths)

    #: how far something gets is said as a place or as how much less far, and either settles the other
    either = {place: less for place, less in schema.less_far.items() if less in said}
    either |= {less: place for place, less in schema.less_far.items() if place in said}

    return tuple(
        path
        for path in open_fields(sheet, machine, declined)
        if path not in schema.as_before
        and path not in ways
        and path not in either
        and not stays(path)
        and not follows(path)
    )


def is_shift(each: Field) -> bool:
    """Whether a field says how far something has moved, one way or the other."""
    return each.negative and each.low == -each.high


def usual_answers(each: Field) -> tuple[SheetEntry, ...]:
    """What a field is tried with: its example; where it takes a few words, the example first and then the others; of a
    shift also none."""
    texts = [each.example, *([f"0 {each.unit}"] if is_shift(each) else [])]
    if each.kind in ("word", "truth"):
        texts += [choice for choice in each.choices if choice != each.example]
    return tuple(read_value(each, text, Place("tried")) for text in texts)


def sheet_field(need: str) -> str | None:
    """The field that a name is, or whose table row it is a column of."""
    known = sheet_schema().fields
    parts = need.split(".")
    names = (".".join(parts[:count]) for count in range(len(parts), 0, -1))
    return next((name for name in names if name in known), None)
