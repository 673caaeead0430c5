"""The fleet file: many machines, their folders, and one swap sheet with what is different on each.

    sheet: swap.yaml                       # the sheet that holds for all; paths count from this file
    names: names.yaml                      # a names file for all, if there is one
    machines:
      Wren: wren                           # a machine's name, and its folder
      Dunlin:
        config: [dunlin, shared/limits.h]  # or several files and folders
        sheet: other.yaml                  # a sheet of its own
        names: dunlin-names.yaml           # a names file of its own
        dialect: flat                      # or by file: {odd.txt: flat}
        machine: dunlin/main.conf          # a file that is in force where that can't be told, or several
        differs:                           # fields of the sheet that differ here; empty: not so here
          carriage: {old_mass: 310 g}
          clearance:
      Knot: {config: [knot, shared], keeps_drive: yes}   # gets no packet; what it reads is written for nobody


Each machine gets a sheet written out in full (`sheet_of`), so that its packet can be made, read and made
again without the fleet. Two names for the same files would make two packets of one machine, and are a mistake. A mistake in the fleet file is an error before anything is done; all of them are
told at once, each with its place.

Nothing but the fleet file is opened here: whether a machine's files can be read is found out when they are.
"""

from __future__ import annotations

import difflib
import os
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct, field

from cfgmigrate.dialects import DIALECTS
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.positioned_yaml import Node, YamlField, read_marked
from cfgmigrate.ground.user_file import read_given
from cfgmigrate.sheet.fields import Wrong
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.reader import one_error, read_fields
from cfgmigrate.sheet.schema import sheet_schema
from cfgmigrate.sheet.several import PROFILES
from cfgmigrate.sheet.starter import scalar

#: bytes; a machine takes some 100 to 500
LONGEST_FLEET_FILE = 20_000_000
#: how a sheet begins that was written for a machine of a fleet
WRITTEN = "## Written for one machine of a fleet."
#: names that the fleet's own folder needs for itself
TAKEN = ("sheets", "summary.html", "summary.json")

_NAME = pattern(r"[^\W_][\w .()+-]{0,79}")
_FLEET_FIELDS = ("sheet", "names", "machines")
_MACHINE_FIELDS = ("config", "sheet", "names", "dialect", "machine", "differs", "keeps_drive")


class FleetMachine(Struct, frozen=True):
    """One machine. `dialects` are by file, or "*" for all; `differs` are fields of the sheet with their text,
    None where the field does not hold here. One that `keeps_drive` gets no packet."""

    name: str
    place: Place
    config: tuple[Path, ...]
    sheet: Path
    names: Path | None = None
    dialects: Mapping[str, str] = field(default_factory=dict)
    differs: Mapping[str, str | None] = field(default_factory=dict)
    machine: tuple[Path, ...] = ()
    keeps_drive: bool = False


class Fleet(Struct, frozen=True):
    """A fleet file that was read and checked. `source` are its bytes as they were. `keeping` are the machines that keep
    their drive, and none of `machines`."""

    path: str
    source: bytes
    machines: tuple[FleetMachine, ...]
    keeping: tuple[FleetMachine, ...] = ()


class _FleetReading(Struct):
    folder: Path
    wrong: list[Wrong] = field(default_factory=list)

    def refuse(self, place: Place, what: str, remedy: str = "") -> None:
        self.wrong.append(Wrong(place, what, remedy))

    def items(self, node: Node, known: tuple[str, ...], what: str) -> dict[str, YamlField]:
        """The fields of a mapping; those that are not known are refused."""
        if node.items is None:
            self.refuse(node.place, f"{what} holds fields", f"Write `name: value` lines: {', '.join(known)}.")
            return {}
        for item in node.items:
            if item.key not in known:
                near = difflib.get_close_matches(item.key, known, n=1, cutoff=0.5)
                meant = f"Did you mean {near[0]}? " if near else ""
                self.refuse(
                    item.place, f"there is no field {item.key}", f"{meant}It takes {', '.join(known)}."
                )
        return {item.key: item for item in node.items if item.key in known and not item.node.empty}

    def text(self, node: Node, what: str) -> str | None:
        if node.text is None or not node.text or not node.text.isprintable():
            self.refuse(node.place, f"{what} is one line of text")
            return None
        return node.text

    def path(self, item: YamlField | None) -> Path | None:
        """A path, counted from the fleet file."""
        text = self.text(item.node, item.key) if item is not None else None
        return self.folder / text if text is not None else None


def read_fleet(path: Path, names: Path | None = None) -> Fleet:
    """The fleet in a file; `names` is a names file for all that have none of their own there. Raises BadInput where it can't be read or a line is wrong; nothing else is opened."""
    source = read_given(path, "the fleet file", LONGEST_FLEET_FILE)
    reading = _FleetReading(path.parent)
    root = read_marked(source, str(path), LONGEST_FLEET_FILE)
    every = tuple(_machines(root, reading, names))
    machines = tuple(each for each in every if not each.keeps_drive)
    if not machines and not reading.wrong:
        reading.refuse(
            root.place, "a fleet has machines", "Write `machines:` and below it a line `NAME: FOLDER` each."
        )
    _refuse_one_twice(every, reading)
    if reading.wrong:
        raise one_error(sorted(reading.wrong, key=lambda wrong: wrong.place))
    return Fleet(str(path), source, machines, tuple(each for each in every if each.keeps_drive))


def _machines(root: Node, reading: _FleetReading, given: Path | None) -> Iterator[FleetMachine]:
    found = reading.items(root, _FLEET_FIELDS, "a fleet file")
    sheet, names = reading.path(found.get("sheet")), reading.path(found.get("names")) or given
    listed = found["machines"].node if "machines" in found else Node(root.place, items=())
    if listed.items is None:
        reading.refuse(listed.place, "machines holds one field a machine", "Write NAME: FOLDER, one a line.")
        return
    taken = {_folded(name): f"the name {name} is taken by the summary's own files" for name in TAKEN}
    for item in listed.items:
        _check_name(item, taken, reading)
        taken[_folded(item.key)] = (
            f"{item.key!r} and the name on line {item.place.line} are one folder on some disks"
        )
        machine = _machine(item, sheet, names, reading)
        if machine is not None:
            yield machine


def _refuse_one_twice(machines: Sequence[FleetMachine], reading: _FleetReading) -> None:
    """Refuses each machine that has the very files of one before it in force, by whatever path or link."""
    first: dict[tuple[frozenset[tuple[int, int] | str], ...], FleetMachine] = {}
    for machine in machines:
        files = tuple(frozenset(map(_itself, paths)) for paths in (machine.config, machine.machine))
        other = first.setdefault(files, machine)
        if other is not machine:
            what = f"{machine.name} has the same files as {other.name} on line {other.place.line}: they are one machine"
            reading.refuse(
                machine.place, what, "Take one of the two out, or put the other machine's folder there."
            )


def _itself(path: Path) -> tuple[int, int] | str:
    """What tells a file or folder from any other: what the disk knows it by, or its path where it is not there."""
    try:
        found = path.stat()
    except OSError:
        return os.path.normpath(path)
    return (found.st_dev, found.st_ino) if found.st_ino else str(path.resolve())


def _check_name(item: YamlField, taken: Mapping[str, str], reading: _FleetReading) -> None:
    if not _NAME.fullmatch(item.key) or item.key[-1] in " .":
        remedy = "Use letters, digits, spaces and . _ - + ( ), a letter or digit first, 80 at most."
        reading.refuse(
            item.place, f"{item.key!r} can't be a machine's name: its packet's folder has it", remedy
        )
    elif _folded(item.key) in taken:
        reading.refuse(item.place, taken[_folded(item.key)], "Give it another name.")


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()


def _machine(
    item: YamlField, sheet: Path | None, names: Path | None, reading: _FleetReading
) -> FleetMachine | None:
    node = item.node
    if node.text is not None:  # NAME: FOLDER
        node = Node(node.place, items=(YamlField("config", node.place, node),))
    found = reading.items(node, _MACHINE_FIELDS, f"a machine ({item.key})")
    config = tuple(_configs(found.get("config"), item, reading))
    own = reading.path(found.get("sheet")) or sheet
    keeps = _keeps(found.get("keeps_drive"), reading)
    if keeps:
        own = own or Path()
    if own is None:
        reading.refuse(
            item.place, f"no sheet is said for {item.key}", "Write `sheet: FILE` at the top of the file."
        )
    dialects = dict(_dialects(found.get("dialect"), reading))
    differs = _differs(found.get("differs"), reading)
    if not config or own is None:
        return None
    own_names = reading.path(found.get("names")) or names
    in_force = tuple(_configs(found["machine"], item, reading)) if "machine" in found else ()
    return FleetMachine(item.key, item.place, config, own, own_names, dialects, differs, in_force, keeps)


def _keeps(found: YamlField | None, reading: _FleetReading) -> bool:
    """Whether a machine is said to keep its drive."""
    if found is None:
        return False
    if found.node.text not in ("yes", "no"):
        reading.refuse(
            found.node.place, "keeps_drive is yes or no", "Write yes for a machine that is not swapped."
        )
    return found.node.text == "yes"


def _configs(found: YamlField | None, machine: YamlField, reading: _FleetReading) -> Iterator[Path]:
    if found is None:
        reading.refuse(machine.place, f"{machine.key} has no files", f"Write {machine.key}: FOLDER.")
        return
    for node in found.node.elements if found.node.elements is not None else (found.node,):
        text = reading.text(node, "a file or folder")
        if text is not None:
            yield reading.folder / text


def _dialects(found: YamlField | None, reading: _FleetReading) -> Iterator[tuple[str, str]]:
    if found is None:
        return
    by_file = found.node.items if found.node.items is not None else (YamlField("*", found.place, found.node),)
    for item in by_file:
        if item.node.text in DIALECTS:
            yield item.key, item.node.text
        else:
            reading.refuse(
                item.node.place,
                f"there is no dialect {item.node.text!r}",
                f"The dialects are {', '.join(DIALECTS)}.",
            )


def _differs(found: YamlField | None, reading: _FleetReading) -> dict[str, str | None]:
    """What is otherwise on this machine: fields of the sheet, checked as the sheet's own are."""
    if found is None:
        return {}
    entries, wrong = read_fields(found.node)
    reading.wrong += wrong
    known = sheet_schema().fields
    emptied = {
        path
        for section in _empty(found.node, "")
        for path in known
        if path == section or path.startswith(f"{section}.")
    }
    return {
        path: entries[path].text if path in entries else None
        for path in known
        if path in entries or path in emptied
    }


def _empty(node: Node, section: str) -> Iterator[str]:
    """The paths of all fields and groups that stand there with nothing behind them."""
    for item in node.items or ():
        path = f"{section}.{item.key}" if section else item.key
        if item.node.empty:
            yield path
        yield from _empty(item.node, path)


def sheet_of(machine: FleetMachine, shared: Sheet) -> bytes:
    """The machine's own sheet: the shared one with its name and what is otherwise on it.

    Values stand as they were written; a remark says where each that is not the shared sheet's comes from.
    """
    said: dict[str, str | None] = {path: entry.text for path, entry in shared.entries.items()}
    said |= {"machine": machine.name, **machine.differs}
    lines = [
        WRITTEN,
        "## The fleet's sheet holds for all, and its fleet file says what is otherwise here: change those.",
    ]
    opened: set[str] = set()
    for path in sheet_schema().fields:
        text = said.get(path)
        if text is None:
            continue
        *above, name = path.split(".")
        for depth, part in enumerate(above):
            section = ".".join(above[: depth + 1])
            if section not in opened:
                opened.add(section)
                lines.append(f"{'  ' * depth}{part}:")
        remark = "  # of this machine" if path in machine.differs else ""
        lines.append(f"{'  ' * len(above)}{name}: {scalar(text)}{remark}")
    return ("\n".join([*lines, *_of_profiles(shared)]) + "\n").encode()


def _of_profiles(shared: Sheet) -> Iterator[str]:
    """What the shared sheet says of profiles by name; a machine that has none of that name says so itself."""
    for group, kind in PROFILES.items():
        said = {holder.name: entries for holder, entries in shared.profiles.items() if holder.kind == kind}
        if said:
            yield f"{group}:"
        for name, entries in said.items():
            yield f"  {scalar(name)}:"
            for path, entry in entries.items():
                field = path.removeprefix(f"{kind}.")
                yield f"    {field}: {scalar(entry.text)}" if entry.text else f"    {field}:"
