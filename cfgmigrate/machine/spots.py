"""A setting in its document, and what a value is found to say there.

A spot places a part of a setting's value in the file, to the byte, and makes the doubts about it. Where a value is
another setting's name, it leads to where the number stands.

This module deliberately knows no quantities; what a value says is the matter of `values.py`.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.dialects.decimal_commas import in_points
from cfgmigrate.dialects.document import Document, Setting, readable
from cfgmigrate.dialects.value import Text, Value
from cfgmigrate.ground.findings import Doubt, Likeness, Place
from cfgmigrate.ground.units import Unit
from cfgmigrate.machine.model import Reading, feeder

#: A name may stand for a name, so many times.
MOST_HOPS = 20
Definitions = Mapping[str, tuple[Document, Setting]]


class Said(Struct, frozen=True):
    """What a value says: readings and doubts. Neither: it is nothing that the quantity can have."""

    readings: tuple[Reading, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    #: doubts about a unit that was found by what is plausible, by that unit: neighbours in the same may settle them
    unsure: tuple[tuple[str, Doubt], ...] = ()

    def of_feeder(self, number: int) -> Said:
        """The same, said of one feeder."""
        return replace(self, readings=tuple(replace(each, holder=feeder(number)) for each in self.readings))


class Spot(Struct, frozen=True):
    """A setting in its document, with what is needed to place a part of its value.

    `defined` are settings by their names, where a value may be another's name; `alias` is then the
    setting that was read, while `document` and `setting` are where its number stands.
    """

    document: Document
    setting: Setting
    defined: Definitions = field(default_factory=dict)
    alias: Setting | None = None
    hops: int = 0
    unit: Unit | None = None
    qualifier: str = ""
    file_units: Mapping[str, Unit] = field(default_factory=dict)
    file_qualifier: str = ""
    #: why it is open whether the file's currents are rms or peak, where it is
    unclear: str = ""
    #: the unit of lengths that is stated and may not be this one's, where it is not mm; and what states it
    head_lengths: str = ""
    head: str = "the file's head"
    #: what a legend says of the end or the beginning of its name that is no unit which is known, and where
    legend: str = ""
    #: dimensions in which the units that the file states of other numbers confirm the quantity's own
    confirmed: frozenset[str] = frozenset()

    @property
    def named(self) -> Setting:
        """The setting as a person knows it."""
        return self.alias or self.setting

    def behind(self, value: Value) -> Spot | None:
        """Where the text behind a name stands; None where the value is no such name."""
        if not isinstance(value, Text) or value.text not in self.defined or self.hops >= MOST_HOPS:
            return None
        document, setting = self.defined[value.text]
        return replace(self, document=document, setting=setting, alias=self.named, hops=self.hops + 1)

    def span(self, start: int, end: int) -> tuple[int, int] | None:
        """The byte span of characters `start`..`end` of the value; None where they are not in the file as
        the value has them. Where an alias stands for the value, it is the alias's span."""
        if behind := self.setting.behind:
            there = self.as_written(readable(self.document.data[slice(*behind)])) == self.setting.value
            return (self.setting.start, self.setting.end) if there else None
        raw = self.document.data[self.setting.start : self.setting.end]
        if self.as_written(readable(raw)) != self.setting.value:
            return None
        return self.setting.start + byte_offset(raw, start), self.setting.start + byte_offset(raw, end)

    def as_written(self, text: str) -> str:
        """A text of the file as its values are read."""
        return in_points(text) if self.document.commas else text

    def place(self, start: int = 0) -> Place:
        before = self.setting.value[:start].replace("\r\n", "\n").replace("\r", "\n")
        down, behind = before.count("\n"), before.rpartition("\n")[2]
        column = len(behind) + 1 if down else self.setting.column + len(behind)
        return Place(self.document.path, self.setting.line + down, column)

    def doubt(self, why: str, remedy: str = "", start: int = 0, like: Likeness | None = None) -> Doubt:
        setting = self.setting
        there = self.document.commas and not setting.behind
        value = self.document.slice(setting.start, setting.end) if there else setting.value
        first = value.splitlines()[0] if value else ""
        text = f"{self.named.key} = {first}" if first else self.named.key
        return Doubt(self.place(start), text, why, remedy, like=like)


def byte_offset(raw: bytes, characters: int) -> int:
    """How many bytes of `raw` the first `characters` characters of its readable text are."""
    if raw.isascii():
        return characters
    at = count = 0
    while count < characters and at < len(raw):
        for length in (1, 2, 3, 4):
            try:
                raw[at : at + length].decode("utf-8")
            except UnicodeDecodeError:
                continue
            at, count = at + length, count + 1
            break
        else:
            at, count = at + 1, count + len("\\x00")
    return at


def never_edited(said: Said, why: str) -> Said:
    """The same with readings that are shown and not written, for this reason."""
    return replace(said, readings=tuple(replace(each, editable=False, why_not=why) for each in said.readings))


def joined(parts: list[Said]) -> Said:
    return Said(
        tuple(reading for part in parts for reading in part.readings),
        tuple(doubt for part in parts for doubt in part.doubts),
        tuple(each for part in parts for each in part.unsure),
    )


def name_line(setting: Setting, quantity: str, unit: str = "", file: str = "") -> str:
    """The line of a names file that says what a setting is, and in which unit; with `file` in that file alone."""
    key = '"' + f"{file} {setting.name}".strip().replace("\\", "\\\\").replace('"', '\\"') + '"'
    return f"{key}: {{quantity: {quantity}, unit: {unit}}}" if unit else f"{key}: {quantity}"
