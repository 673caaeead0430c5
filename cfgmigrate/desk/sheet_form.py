"""The swap sheet's fields as a form shows them: what was said of each, what the files say, and how to measure it.

Where several feeders are swapped, the form is about one of them at a time. A field is then called as the sheet's lists
call it, by the feeder's number and its path (`2:new.tube.length`); what the machine has once keeps its plain name.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from cfgmigrate.desk.drawings import drawing_of
from cfgmigrate.desk.session import stamp
from cfgmigrate.ground.findings import BadInput, Place

if TYPE_CHECKING:
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.sheet.keeping import KeptAnswers
    from cfgmigrate.sheet.model import SheetEntry
    from cfgmigrate.sheet.schema import Field

FIELD_SAID, FIELD_TAKEN_OVER, FIELD_NOT_KNOWN, FIELD_LATER, FIELD_OPEN = (
    "said",
    "taken over",
    "not known",
    "later",
    "open",
)


class FormField(Struct, frozen=True):
    """One field as the form shows it. `name` is what the sheet's lists call it, `state` one of those above, `text` what
    the sheet says, `whose` the feeder that it is of ("" for the machine, or where there is one feeder), `usual` what
    the files say, and `error` why an answer (`typed`) was not taken."""

    field: Field
    name: str
    state: str
    text: str
    stamp: str
    whose: str = ""
    usual: str = ""
    drawing: str = ""
    heading: str = ""
    error: str = ""
    typed: str = ""


def named(name: str) -> tuple[Field, int]:
    """The field of that name, and the feeder in it (0 for none). Raises BadInput where the sheet has no such field."""
    from cfgmigrate.sheet.schema import sheet_schema

    number, _, path = name.rpartition(":")
    plain = number.isascii() and number.isdecimal() and len(number) < 3
    found, feeder = sheet_schema().fields.get(path), int(number) if plain else 0
    if found is None or name_of(found, feeder) != name:
        raise BadInput("the sheet has no such field", Place("swap"), "Go back to the swap.")
    return found, feeder


def name_of(field: Field, feeder: int) -> str:
    """What a field is called where the form is about that feeder (0: there is only one)."""
    from cfgmigrate.sheet.schema import sheet_schema

    own = feeder and field.path.partition(".")[0] in sheet_schema().each
    return f"{feeder}:{field.path}" if own else field.path


def form_fields(
    machine: Machine, needed: Collection[str], kept: KeptAnswers, feeder: int, more: str
) -> Iterator[FormField]:
    """The fields that are `needed` for this swap, those that the sheet says anything of, and `more`, in the order of the sheet."""
    from cfgmigrate.sheet.schema import sheet_schema

    said = _said(kept, feeder)
    names = {*kept.declined, *kept.later, more}
    wanted = {*needed, *said}
    heading = ""
    for field in sheet_schema().fields.values():
        name = name_of(field, feeder)
        if field.path not in wanted and name not in names and field.path != more:
            continue
        if field.kind == "text" and field.path not in said and more not in (name, field.path):
            continue
        above = field.path.rpartition(".")[0]
        first = "" if above == heading else sheet_schema().sections.get(above, "")
        yield form_field(machine, kept, field, feeder, first)
        heading = above


def form_field(
    machine: Machine, kept: KeptAnswers, field: Field, feeder: int = 0, heading: str = ""
) -> FormField:
    """One field with what the sheet says of it, and the files."""
    name = name_of(field, feeder)
    state, text = state_of(kept, name)
    mark = stamp(name, state, text)
    whose = f"feeder {feeder}" if name != field.path else ""
    usual = _in_the_files(machine, field, feeder)
    drawing = drawing_of(field.path)
    return FormField(field, name, state, text, mark, whose, usual, drawing, heading)


def state_of(kept: KeptAnswers, name: str) -> tuple[str, str]:
    """How it stands with a field, and what the sheet says."""
    field, feeder = named(name)
    entry = _said(kept, feeder).get(field.path)
    if entry is not None and name not in kept.declined:
        own = not feeder or kept.sheet.feeders.get(feeder, {}).get(field.path) is None or _own(kept, name)
        return (FIELD_SAID if own else FIELD_TAKEN_OVER), entry.text
    return (
        FIELD_NOT_KNOWN if name in kept.declined else FIELD_LATER if name in kept.later else FIELD_OPEN
    ), ""


def field_stamp(kept: KeptAnswers, name: str) -> str:
    return stamp(name, *state_of(kept, name))


def told_now(kept: KeptAnswers, name: str) -> str:
    """What the sheet says of a field now, for who answered it in another window."""
    state, text = state_of(kept, name)
    return (
        text
        or {FIELD_OPEN: "it was taken back", FIELD_LATER: "it was put off", FIELD_NOT_KNOWN: "not known"}[
            state
        ]
    )


def _said(kept: KeptAnswers, feeder: int) -> Mapping[str, SheetEntry]:
    from cfgmigrate.plan.open_fields import said_in

    if feeder:
        return kept.sheet.about(feeder).entries
    return said_in(kept.sheet) if kept.present is not None else {}


def _own(kept: KeptAnswers, name: str) -> bool:
    """Whether a feeder's answer is its own, and not another one's that it takes over."""
    field, feeder = named(name)
    other = takers(kept.sheet.source).get(feeder)
    entry = kept.sheet.feeders[feeder].get(field.path)
    return other is None or entry is not kept.sheet.feeders.get(other, {}).get(field.path)


@lru_cache(maxsize=4)
def takers(source: bytes) -> Mapping[int, int]:
    """The feeders of a sheet that take over another one's answers, each with that one's number."""
    from cfgmigrate.sheet.keeping import KeptAnswers, same_as
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.sheet.several import SAME_AS

    if SAME_AS.encode() not in source:
        return {}
    return same_as(KeptAnswers(Path(), Sheet("", source)))


def _in_the_files(machine: Machine, field: Field, feeder: int) -> str:
    """What the files say of a field, and where."""
    if not field.reads:
        return ""
    reading = (machine.view(feeder) if feeder else machine.usual).get(field.reads)
    if reading is None or reading.value is None:
        return ""
    written = reading.text if reading.form.ratio else f"{reading.value:.6g} {field.unit}".rstrip()
    return f"{written} ({Place(reading.place.file, reading.place.line)})"
