"""A sheet of several feeders and filaments: `feeders:`, `filaments:`, `prints:`, and whom a plain one means.

What a feeder takes over (`same_as: 1`) is laid out here, so that each feeder of a `Sheet` has all of its own; a key
with nothing behind it says "not so here". What the machine has once stands at the top and nowhere else. A feeder goes by
its number, which counts from 1 whatever the files do, or by a name; names come from the files and the site file and are
handed in (`Known`).

This module reads no files of the machine: that a feeder or a profile exists is known from `Known` alone, and is
not asked where that says nothing.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.positioned_yaml import Node, YamlField
from cfgmigrate.machine.called_feeders import called_by
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.model import Holder
from cfgmigrate.machine.words import read_name, split
from cfgmigrate.sheet.fields import SheetReading, emptied, read_section, sum_up
from cfgmigrate.sheet.model import (
    FEEDER,
    OF_FEEDER,
    OF_FILAMENT,
    OF_PRINT,
    VALUES,
    Entries,
    Sheet,
    SheetEntry,
    folded,
    folded_name,
    laid_over,
    listed,
)

FEEDERS, SAME_AS = "feeders", "same_as"
#: group of profiles → the holders' kind, which is also the section whose fields they may say
PROFILES = {"filaments": "filament", "prints": "print"}
_NUMBER = pattern(r"[1-9]\d?")
_DRIVES = ("drive", "pusher")


class Known(Struct, frozen=True):
    """By which names a sheet may call feeders and profiles.

    `feeders` are the names of the files and of the site file, each with its number, and `shared` those that are of several;
    `counted` is what the files call a feeder by a number (`tool 0`). `numbers` are those that the machine has and
    `profiles` its profiles, both empty where that isn't known."""

    feeders: Mapping[str, int] = field(default_factory=dict)
    numbers: tuple[int, ...] = ()
    profiles: tuple[Holder, ...] = ()
    shared: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    counted: Mapping[str, int] = field(default_factory=dict)

    def number(self, text: str) -> int | None:
        """The feeder that is called so, None where there is none or it can't be told; `why_not` says which."""
        found = int(text) if _NUMBER.fullmatch(text) else self._named(text)
        return found if not self.numbers or found in self.numbers else None

    def why_not(self, text: str) -> tuple[str, str]:
        """Why no one feeder is called so, and what may be written."""
        shared = self.shared.get(_bare(text), ())
        if shared:
            remedy = f"Write its number: {listed(map(str, shared))}."
            return f"{text!r} is the name of feeders {' and '.join(map(str, shared))}", remedy
        own = self.counted.get(_by_number(text))
        if own is not None:
            remedy = f"Write {own} for the one that the files call so; a sheet counts from 1."
            return (
                f"{text!r} may be feeder {own}, which the files call so, or another one's number here",
                remedy,
            )
        there = sorted({*self.numbers, *self.feeders.values()})
        remedy = f"Known ones: {listed(map(self.said, there))}."
        if not there:
            remedy = "Feeders count from 1."
        elif text == "0" and 1 in there:
            remedy += " They count from 1 here, whatever the files do."
        if not self.feeders and not text.isdecimal():
            remedy += f" A name is given in cfgmigrate.yaml: feeders: {{1: {{name: {text}}}}}."
        return f"there is no feeder {text!r}", remedy

    def said(self, number: int) -> str:
        """A feeder's number, and what the files call it: `2 (right)`."""
        called = called_by(self.feeders, self.counted)
        return f"{number} ({called[number]})" if number in called else str(number)

    def _named(self, text: str) -> int | None:
        names = {_bare(name): number for name, number in self.feeders.items()}
        found = names.get(_bare(text), names.get(" ".join(_without_word(text))))
        if found is not None:
            return found
        own = self.counted.get(_by_number(text))
        word, _, number = _by_number(text).rpartition(" ")
        return None if word == FEEDER and number not in ("0", str(own)) else own


def _bare(name: str) -> str:
    """A name as it is compared: in any case, without quotes or brackets."""
    return folded_name(name.strip().strip("\"'[]"))


def _without_word(text: str) -> list[str]:
    """The words of a name as the files write it, without the word for a feeder: `[feeder left]`, `pusher "flex"`."""
    words = split(text)
    own = [word for word in words if word.removesuffix("s") not in {*holder_words().for_feeder, *_DRIVES}]
    return own if len(own) < len(words) else []


def _by_number(text: str) -> str:
    """A name that ends in a number as the files are read: `tool 0` for `T0`; "" for any other."""
    name = read_name("", text)
    return f"{name.counted.word} {name.counted.number}" if name.counted and not name.counted.side else ""


NO_NAMES = Known()


class Parts(Struct, frozen=True):
    """What a sheet says beside its flat fields; see `Sheet`."""

    feeder: int | None = None
    filament: str = ""
    feeders: Mapping[int, Entries] = field(default_factory=dict)
    profiles: Mapping[Holder, Entries] = field(default_factory=dict)


class _Own(Struct, frozen=True):
    """One feeder as it stands in the sheet, before it takes over anything."""

    number: int
    entries: Entries
    same_as: Node | None
    place: Place


def read_parts(root: Node, reading: SheetReading, known: Known) -> Parts:
    """Read a whole sheet into `reading`; what is wrong is added to it."""
    groups: dict[str, Node] = {}
    if reading.schema.each and root.items is not None:
        groups = {item.key: item.node for item in root.items if item.key in (FEEDERS, *PROFILES)}
        root = replace(root, items=tuple(item for item in root.items if item.key not in groups))
    read_section("", root, reading, beside=(FEEDERS, *PROFILES) if reading.schema.each else ())
    sum_up(reading)
    feeders = _feeders(groups.get(FEEDERS, Node(root.place)), reading, known)
    if feeders:
        _nothing_beside(root, reading)
    filament = reading.entries.get(OF_FILAMENT)
    if filament is not None:
        _check_profile("filament", filament.text, filament.place, reading, known)
    printed = reading.entries.get(OF_PRINT)
    if printed is not None:
        _check_profile("print", printed.text, printed.place, reading, known)
    return Parts(
        feeder=_meant(reading, known),
        filament=filament.text if filament is not None else "",
        feeders=feeders,
        profiles=_profiles(groups, reading, known),
    )


def one_lane(sheet: Sheet) -> Sheet:
    """The same sheet, for who works out the first feeder alone, with whatever profiles. Raises Refused where it tells of more."""
    if sheet.swapped == (1,) and sheet.plain:
        return sheet
    remedy = "Nothing was written. Write a sheet with old: and new: at the top, for the first feeder."
    what = "the sheet tells of another feeder, and one feeder is worked out here"
    raise Refused(what, Place(sheet.path), remedy)


def _meant(reading: SheetReading, known: Known) -> int | None:
    """The feeder that the sheet as a whole is about, where it says so."""
    entry = reading.entries.get(FEEDER) or reading.entries.get(OF_FEEDER)
    return _number(entry.text, entry.place, reading, known) if entry is not None else None


def _nothing_beside(root: Node, reading: SheetReading) -> None:
    """Beside `feeders:` nothing may stand that is about one of them."""
    for item in root.items or ():
        if item.key in reading.schema.each and not item.node.empty:
            remedy = f"Move it below the feeder that it is about: {FEEDERS}: {{1: {{{item.key}: …}}}}."
            reading.refuse(item.place, f"{item.key} stands beside {FEEDERS}", remedy)
        elif item.key == FEEDER and not item.node.empty:
            remedy = f"Leave it out: the feeders are those below {FEEDERS}."
            reading.refuse(item.place, f"{FEEDER} stands beside {FEEDERS}", remedy)


def _feeders(group: Node, reading: SheetReading, known: Known) -> dict[int, Entries]:
    """Each feeder's fields, with what it takes over."""
    owns: dict[int, _Own] = {}
    for item in _members(group, FEEDERS, "its number or name", reading):
        number = _number(item.key, item.place, reading, known)
        if number is None:
            continue
        if number in owns:
            what = f"feeder {number} is here twice; first on line {owns[number].place.line}"
            reading.refuse(item.place, what, "Keep one of the two.")
            continue
        owns[number] = _own(number, item, reading)
    return {number: _with_taken_over(own, owns, reading, known) for number, own in owns.items()}


def _own(number: int, item: YamlField, reading: SheetReading) -> _Own:
    items = item.node.items or ()
    same_as = next((part.node for part in items if part.key == SAME_AS), None)
    node = item.node
    if node.items is not None:
        node = replace(node, items=tuple(part for part in items if part.key != SAME_AS))
    entries = _entries("", node, reading, (*reading.schema.each, VALUES), (SAME_AS,))
    return _Own(number, entries, same_as if same_as is not None and not same_as.empty else None, item.place)


def _with_taken_over(own: _Own, owns: Mapping[int, _Own], reading: SheetReading, known: Known) -> Entries:
    if own.same_as is None:
        return laid_over({}, own.entries, reading.schema)
    place, text = own.same_as.place, own.same_as.text
    if text is None:
        reading.refuse(place, f"{SAME_AS} takes one feeder", f"Write {SAME_AS}: 1, for instance.")
        return {}
    number = _number(text, place, reading, known)
    if number is None:
        return {}
    other = owns.get(number)
    others = [str(each.number) for each in owns.values() if each.same_as is None]
    remedy = f"Feeders with answers all of their own: {listed(others) or 'none'}."
    if other is None:
        reading.refuse(place, f"the sheet says nothing about feeder {text}", remedy)
    elif other is own:
        reading.refuse(place, "a feeder can't be the same as itself", remedy)
    elif other.same_as is not None:
        reading.refuse(place, f"feeder {text} takes over another one's answers itself", remedy)
    else:
        below = {path: entry for path, entry in other.entries.items() if path != VALUES}
        return laid_over(laid_over({}, below, reading.schema), own.entries, reading.schema)
    return {}


def _profiles(groups: Mapping[str, Node], reading: SheetReading, known: Known) -> dict[Holder, Entries]:
    """What is said of single profiles, by their folded names."""
    found: dict[Holder, Entries] = {}
    for group, kind in PROFILES.items():
        for item in _members(groups.get(group, Node(Place(""))), group, "its name", reading):
            holder = folded(Holder(kind, item.key))
            _check_profile(kind, item.key, item.place, reading, known)
            if holder in found:
                reading.refuse(item.place, f"{item.key!r} is here twice", "Keep one of the two.")
            found[holder] = _profile(kind, item.node, reading)
    return found


def _profile(kind: str, node: Node, reading: SheetReading) -> Entries:
    if node.items is None:
        return _entries(kind, node, reading, reading.schema.names_in(kind) or (VALUES,))
    about = replace(node, items=tuple(item for item in node.items if item.key == VALUES))
    rest = replace(node, items=tuple(item for item in node.items if item.key != VALUES))
    names = reading.schema.names_in(kind)
    said = _entries("", about, reading, (VALUES,))
    if names:
        return {**said, **_entries(kind, rest, reading, names, (VALUES,))}
    return {**said, **_entries("", rest, reading, (VALUES,))}


def _entries(
    section: str, node: Node, reading: SheetReading, only: tuple[str, ...], beside: tuple[str, ...] = ()
) -> dict[str, SheetEntry]:
    """The fields below a node by themselves; those with nothing behind them are entries without text."""
    own = SheetReading(reading.schema)
    read_section(section, node, own, only, beside)
    sum_up(own)
    reading.wrong += own.wrong
    return {**{entry.path: entry for entry in emptied(node, section, reading.schema)}, **own.entries}


def _members(group: Node, name: str, key: str, reading: SheetReading) -> tuple[YamlField, ...]:
    """The members of a group that have something behind them."""
    if group.items is None:
        if not group.empty:
            remedy = f"Write each below it by {key}, and below that its fields."
            reading.refuse(group.place, f"{name} holds one group of fields for each", remedy)
        return ()
    return tuple(item for item in group.items if not item.node.empty)


def _number(text: str, place: Place, reading: SheetReading, known: Known) -> int | None:
    """The feeder that is called so; None where there is none, which is then refused."""
    number = known.number(text)
    if number is None:
        reading.refuse(place, *known.why_not(text))
    return number


def _check_profile(kind: str, name: str, place: Place, reading: SheetReading, known: Known) -> None:
    there = [profile.name for profile in known.profiles if profile.kind == kind]
    if known.profiles and folded_name(name) not in map(folded_name, there):
        remedy = f"Known ones: {listed(there)}." if there else f"The files hold no {kind} profile."
        reading.refuse(place, f"there is no {kind} profile {name!r}", remedy)
