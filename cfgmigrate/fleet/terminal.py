"""The summary of a fleet in a terminal: the same as its page, in short.

What stands out in the same way is one line for all machines; what every machine has is counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.files.gaps import of_gaps, told
from cfgmigrate.fleet.groups import FleetComparison, Record, compare
from cfgmigrate.fleet.shared_files import WHAT_TO_DO, shared_files
from cfgmigrate.fleet.still_open import MOST_OPEN_PLACES, still_open
from cfgmigrate.fleet.summary import (
    NAMED,
    change_text,
    counts,
    keeping_text,
    named,
    sentence,
    some,
    value_text,
)
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.reports import wording
from cfgmigrate.reports.console import heading, line
from cfgmigrate.reports.safe_text import shell_word

if TYPE_CHECKING:
    from rich.console import Console

    from cfgmigrate.fleet.file import Fleet

#: a field that is said in so many ways is told in a terminal; one with more is each machine's own
FEW_WAYS = 4


#: how the second line of an error begins where it is what to do, and no part of the reason
NO_REASON = "Nothing was written"


def _show_lights(records: Sequence[Record], console: Console) -> None:
    """Which lights are unknown, on which machines."""
    dark: dict[str, list[str]] = {}
    for record in records:
        for light, state in record.lights:
            if state == UNKNOWN:
                dark.setdefault(light, []).append(record.name)
    if dark:
        heading(console, "Lights that are unknown")
    for light, names in dark.items():
        line(console, f"{light} on {len(names)}: {named(names)}", bullet="!")


def _show_open(records: Sequence[Record], console: Console) -> None:
    """What is open on each machine, in a line for all on which it is the same."""
    alike: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for one in still_open(records):
        alike.setdefault((one.lights, one.places), []).append(one.machine)
    if alike:
        heading(console, "Open on each machine")
    for (lights, places), names in list(alike.items())[:NAMED]:
        rest = f" and {len(places) - MOST_OPEN_PLACES} more" if len(places) > MOST_OPEN_PLACES else ""
        asked = [f"questions at {', '.join(places[:MOST_OPEN_PLACES])}{rest}"] if places else []
        line(
            console,
            f"{named(names)}: {'; '.join([*(f'{light} unknown' for light in lights), *asked])}",
            bullet="-",
        )
    if len(alike) > NAMED:
        line(console, "and on more; each machine has its list in the summary", bullet="-")


def _show_lacking(found: FleetComparison, console: Console) -> None:
    """Whose files lack what nearly all others have, the most first."""
    if found.lacking:
        heading(console, "Lacking what nearly all others have")
    for name, names in sorted(found.lacking.items(), key=lambda pair: -len(pair[1]))[:NAMED]:
        line(console, f"{name}: {wording.count(len(names), 'setting')}: {some(names, 3)}", bullet="!")


def _show_broken(records: Sequence[Record], console: Console) -> None:
    """Who has no packet, in a line each, and which files break off or are missing."""
    failed = [record for record in records if record.error]
    if failed:
        heading(console, "Without a packet")
    for record in failed[:NAMED]:
        first, *more = record.error.split("\n")
        place, _, why = first.partition(": ")
        detail = f": {more[0].strip()}" if len(more) > 1 and not more[0].startswith(NO_REASON) else ""
        line(console, f"{record.name}: {(why or place).removesuffix(':')}{detail}", bullet="!")
    if len(failed) > NAMED:
        line(console, f"and {len(failed) - NAMED} more", bullet="!")
    missing = [(record.name, told(doubt)) for record in records for doubt in of_gaps(record.doubts)]
    if missing:
        heading(console, "Broken or missing")
    for name, text in missing[:NAMED]:
        line(console, f"{name}: {text}", bullet="!")


def _show_shared(records: Sequence[Record], console: Console) -> None:
    """Which files the packets of several machines edit: only the first of them can be installed as it is. And which files of
    no packet name an edited one."""
    shared = shared_files(records)
    several = [each for each in shared if len(each.machines) > 1]
    if several:
        heading(console, "Files that several packets edit")
        line(console, WHAT_TO_DO, bullet="!")
    for each in several[:NAMED]:
        line(console, f"{each.path}: {named(each.machines)}", bullet="-")
    read = [each for each in shared if each.sentence]
    if read:
        heading(console, "Edited files that others read, too")
    for each in read[:NAMED]:
        line(console, each.sentence, bullet="!")


def _show_differing(found: FleetComparison, console: Console) -> None:
    """What sheets say otherwise in few ways, such as the motors; what each machine has of its own is on the page."""
    few = {path: texts for path, texts in found.differs.items() if 1 < len(texts) <= FEW_WAYS}
    if few:
        heading(console, "Sheets that differ")
    for path, texts in list(few.items())[:NAMED]:
        for text, names in texts.items():
            line(console, f"{path}: {text} on {named(names)}", bullet="·")


def _show_outliers(found: FleetComparison, console: Console) -> None:
    """What stands out, with all machines that do so alike."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    for one in found.outliers:
        known = one.here or one.usual
        assert known is not None
        usual = (
            f"{one.many} of {one.of} {'have ' + change_text(one.usual, one.form) if one.usual else 'keep it'}"
        )
        here = value_text(one.here) if one.here else "not changed"
        alike.setdefault((wording.capital(known.label), here, usual), []).append(one.machine)
    if alike:
        heading(console, "Standing out")
    for (what, here, usual), names in list(alike.items())[:NAMED]:
        line(console, f"{what}: {here} on {named(names)}; {usual}", bullet="-")
    if len(alike) > NAMED:
        line(console, f"and {len(alike) - NAMED} values more", bullet="-")


def show(
    fleet: Fleet,
    records: Sequence[Record],
    folder: Path,
    console: Console,
    beside: Sequence[str] = (),
    kept: bool = False,
) -> None:
    """The summary in a terminal: the same, in short. `kept` where the summary of an earlier run stays."""
    found = compare(records)
    heading(console, f"{wording.capital(wording.count(len(records), 'machine'))} of {fleet.path}")
    line(console, sentence(counts(records, found)))
    if fleet.keeping:
        line(console, keeping_text(fleet), bullet="·")
    standing = sum(record.standing for record in records)
    if standing:
        line(
            console,
            f"{wording.count(standing, 'packet')} stood there already, and {'was' if standing == 1 else 'were'} not worked out again.",
        )
    notes: dict[str, list[str]] = {}
    for record in records:
        for note in record.notes:
            notes.setdefault(note, []).append(record.name)
    for note, names in notes.items():
        line(console, f"{named(names)}: {note}", bullet="!")
    _show_broken(records, console)
    _show_shared(records, console)
    _show_lights(records, console)
    _show_lacking(found, console)
    if found.groups:
        heading(console, "Alike")
        alone = [group.machines[0] for group in found.groups if len(group.machines) == 1]
        for group in [each for each in found.groups if len(each.machines) > 1][:NAMED]:
            values = wording.count(len(group.changes), "value") + (" each" if len(group.machines) > 1 else "")
            machines = wording.count(len(group.machines), "machine")
            line(console, f"{machines}, {values}: {named(group.machines)}", bullet="·")
        if len(found.groups) - len(alone) > NAMED:
            line(console, f"and {len(found.groups) - len(alone) - NAMED} groups more", bullet="·")
        if alone:
            line(console, f"like no other: {named(alone)}", bullet="·")
    _show_differing(found, console)
    _show_outliers(found, console)
    _show_open(records, console)
    if found.hands:
        heading(console, "By hand")
        for about, items in list(found.hands.items())[:NAMED]:
            everyone = dict.fromkeys(name for names in items.values() for name in names)
            line(console, f"{wording.capital(about)}: {named(list(everyone))}", bullet="-")
    console.print()
    if beside:
        line(console, f"Packets of machines that the fleet doesn't name: {named(beside)}", indent=0)
    if kept:
        line(
            console,
            f"No packet was made: {folder / 'summary.html'} stays as an earlier run left it.",
            indent=0,
        )
        return
    line(console, f"The whole summary: {folder / 'summary.html'}", indent=0)
    if any(record.done and not record.browsed for record in records):
        line(console, "Their pages:       the same command with --pages writes them", indent=0)
    line(console, f"One machine:       cfgmigrate install {shell_word(folder / 'NAME')}", indent=0)
