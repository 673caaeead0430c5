"""The swap sheet as values: what came off, what goes on, what was measured.

A `Sheet` says what holds for the machine as a flat mapping from field paths (`new.drive_gear.effective_diameter`)
to entries, each with value, uncertainty, unit and the line it came from. A plain sheet is no more than that. A
sheet of several feeders or filaments keeps beside it what each of them says of its own; `lane` lays one upon
the other, and what comes out is plain again, so that no rule ever sees a second feeder.

Reading the YAML and checking it against the schema is done in `reader.py` and `several.py`; what fields exist is
said in `schema.yaml`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import MACHINE, Holder
from cfgmigrate.sheet.schema import Schema, sheet_schema

#: the fields that say whom a sheet, or a part of it, is about, and how old the files' values are
FEEDER, VALUES = "feeder", "values"
OF_FEEDER, OF_FILAMENT, OF_PRINT = "of.feeder", "of.filament", "of.print"
MATERIAL = "filament.material"


class SheetEntry(Struct, frozen=True):
    """One field of the sheet.

    A quantity has `value` in the schema's unit for that field (`unit`), with `uncertainty` (one standard
    uncertainty, 0 where none was given). A word (`tube-fed`, `PLA`) has `value` None and its normalised spelling in
    `word`; truth is word "yes"/"no". `text` is what the person wrote. A gear ratio written in stages has its
    product in `value` and the stages' text (`47:12`) in `text`. Without text it says "not so here", which only stands
    in a part that goes over another one.
    """

    path: str
    text: str
    place: Place
    value: float | None = None
    uncertainty: float = 0.0
    unit: str = ""
    word: str = ""

    def says_the_same(self, other: SheetEntry) -> bool:
        return (self.value, self.uncertainty, self.word) == (other.value, other.uncertainty, other.word)


Entries = Mapping[str, SheetEntry]


class Sheet(Struct, frozen=True):
    """A swap sheet that was read and checked. `source` are its bytes as they were.

    `feeders` is empty in a plain sheet; else it has what each feeder says of its own, by number, with what it
    takes over from another one. `profiles` has the fields of `filament`, and `values`, that are said of one
    profile. `feeder` is the number that a plain or a measured sheet gives, None where it gives none; `filament` the
    profile that a measured sheet is about.
    """

    path: str
    source: bytes
    entries: Entries = field(default_factory=dict)
    feeder: int | None = None
    filament: str = ""
    feeders: Mapping[int, Entries] = field(default_factory=dict)
    profiles: Mapping[Holder, Entries] = field(default_factory=dict)

    def get(self, path: str) -> SheetEntry | None:
        return self.entries.get(path)

    @property
    def machine(self) -> str:
        entry = self.entries.get("machine")
        return entry.text if entry else ""

    @property
    def plain(self) -> bool:
        """Whether it tells of one feeder without a word about others."""
        return not self.feeders

    @property
    def swapped(self) -> tuple[int, ...]:
        """The feeders of whose swap it tells; a plain sheet without a number means the first."""
        if not self.feeders:
            return (self.feeder or 1,)
        return tuple(sorted(number for number, said in self.feeders.items() if set(said) - {VALUES}))

    def tells_of(self, feeder: int) -> bool:
        """Whether it says anything of that feeder's swap."""
        return feeder in self.swapped

    def values_of(self, holder: Holder) -> str:
        """What it says of the age of that holder's values in the files: "old", "new", or "" for nothing.

        A plain sheet's `values:` is about the machine and the feeder that it tells of."""
        said: Entries | None = self.entries
        if holder.kind in ("filament", "print"):
            said = self.profiles.get(folded(holder))
        elif holder.kind == "feeder" and self.feeders:
            said = self.feeders.get(int(holder.name))
        elif holder.kind == "feeder" and not self.tells_of(int(holder.name)):
            said = None
        entry = (said or {}).get(VALUES)
        return entry.word if entry is not None else ""

    def about(self, feeder: int) -> Sheet:
        """What it says of one of its feeders and of the machine, as a plain sheet about that one."""
        return replace(self.lane(feeder), profiles=self.profiles)

    def by_holder(self) -> dict[Holder, Entries]:
        """All that it says, by whom it is about: the machine, the feeders it tells of, profiles."""
        each = sheet_schema().each
        own = {path: entry for path, entry in self.entries.items() if path.partition(".")[0] in each}
        feeders = self.feeders or {self.swapped[0]: own}
        return {
            MACHINE: {path: entry for path, entry in self.entries.items() if path not in own},
            **{Holder("feeder", str(number)): said for number, said in feeders.items()},
            **self.profiles,
        }

    def lane(self, feeder: int, profile: Holder | None = None, material: SheetEntry | None = None) -> Sheet:
        """The flat sheet that the rules see for one feeder with one profile (None: with none).

        `material` is the profile's own, where the files or the site file say it: it goes over `filament:` and
        under what the sheet says of this profile by name."""
        said = dict(self.entries)
        if not self.tells_of(feeder):
            each = sheet_schema().each
            said = {path: entry for path, entry in said.items() if path.partition(".")[0] not in each}
        said = laid_over(said, self.feeders.get(feeder, {}))
        if profile is not None:
            said = laid_over(said, {MATERIAL: material} if material is not None else {})
            said = laid_over(said, self.profiles.get(folded(profile), {}))
        flat = {path: entry for path, entry in said.items() if path not in (FEEDER, VALUES)}
        return replace(self, entries=flat, feeder=feeder, feeders={}, profiles={})


def laid_over(below: Entries, own: Entries, schema: Schema | None = None) -> dict[str, SheetEntry]:
    """What is said of its own over what it takes over: an own answer goes first, and drops what answered the same
    question in another way below it (the schema's `rivals`), unless it only says again what stood there."""
    rivals = (schema or sheet_schema()).rivals
    dropped: set[str] = set()
    for path, entry in own.items():
        if path not in below or not entry.says_the_same(below[path]):
            dropped.update(rivals.get(path, ()))
    laid = {**{path: entry for path, entry in below.items() if path not in dropped}, **own}
    return {path: entry for path, entry in laid.items() if entry.text}


def folded(holder: Holder) -> Holder:
    """A holder as a sheet's names are compared: `PETG_black` and `petg black` are one."""
    return Holder(holder.kind, folded_name(holder.name))


def folded_name(name: str) -> str:
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").split())


def listed(names: Iterable[str]) -> str:
    return ", ".join(names)
