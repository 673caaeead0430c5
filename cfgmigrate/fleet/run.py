"""`prepare` for many machines at once: over all cores, one packet each, and a summary of them all.

Each machine is worked out by itself in a process of its own kind, exactly as `api.prepare` does it alone, from
a sheet of its own that is written beside the packets; so each packet is the one that `prepare` would write. One
machine's error is that machine's: it stands in the summary, and the others go on. A packet that stands there for
the same files, sheet, names and rules is not worked out again, so an interrupted run goes on where it stopped. One for
other inputs is replaced, unless it is installed: then it is the way back, stays as it is, and that is told.

    FOLDER/NAME/            one packet a machine
    FOLDER/sheets/NAME.yaml its sheet, written out in full
    FOLDER/summary.html, summary.json

A packet's page for a browser takes a third of the work, so those are only written where they are asked for: the same run
with them puts them into the packets that stand there.

As in `api.py`, nothing is printed and nothing asked. What makes machines alike is said in `groups.py`.
"""

from __future__ import annotations

import json
import os
import shutil
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.apply.stopped_fleet import say_not_compared
from cfgmigrate.files.marks import words_of
from cfgmigrate.fleet.disputes import to_prepare_again
from cfgmigrate.fleet.file import Fleet, read_fleet, sheet_of
from cfgmigrate.fleet.groups import Record, in_common
from cfgmigrate.fleet.job import SHEETS, Job, files_of, prepare_one, record_of
from cfgmigrate.fleet.pool import in_pool
from cfgmigrate.ground.disk import write_over
from cfgmigrate.ground.findings import BadInput, CfgError, Place, Refused
from cfgmigrate.ground.paths import OWN_FOLDER
from cfgmigrate.machine.names import SHARED_NAMES_END, read_names
from cfgmigrate.packet.folder import INDEX
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.reader import read_sheet
from cfgmigrate.sheet.several import one_lane
from cfgmigrate.store.keeping import Store
from cfgmigrate.workflow.inputs import PathLike, optional
from cfgmigrate.workflow.writing_out import user

SUMMARY, PAGE = "summary.json", "summary.html"
_HALF_WRITTEN = ".packet-"


class FleetPrepared(Struct, frozen=True):
    """What became of a fleet, in the fleet file's order. `summary` and `page` are where it can be read. `beside` are
    packets in the folder of machines that the fleet doesn't name; `kept` is true where the summary of an earlier run
    stays, because this one made nothing."""

    fleet: Fleet
    folder: Path
    records: tuple[Record, ...]
    beside: tuple[str, ...] = ()
    kept: bool = False
    #: lines of names files that machines share and none of them has a setting for, with their places
    unused: tuple[str, ...] = ()

    @property
    def summary(self) -> Path:
        return self.folder / SUMMARY

    @property
    def page(self) -> Path:
        return self.folder / PAGE

    @property
    def whole(self) -> bool:
        """Whether every machine has its packet."""
        return all(record.done for record in self.records)


def prepare_fleet(
    fleet_file: PathLike,
    out: PathLike,
    *,
    names: PathLike | None = None,
    rules: PathLike | None = None,
    preparer: str | None = None,
    workers: int | None = None,
    pages: bool = False,
    begun: Callable[[int], None] = lambda machines: None,
    took: Callable[[Record], None] = lambda record: None,
) -> FleetPrepared:
    """Prepare every machine of a fleet file into the folder `out`, with so many `workers` (all cores).

    With `pages` each packet has its page for a browser. `rules` and `preparer` are those of `prepare`, `names` is a
    names file for all machines that have none of their own. `begun` is told how many machines there are, `took` each machine's
    record once it is there. Gives all records, and `.whole`: whether each machine has its packet. Raises BadInput
    where the fleet file or the sheet for all can't be read, and Refused where `out` is used by something else;
    nothing was written then. A machine's own errors are in its record. Interrupted (KeyboardInterrupt), the machines
    being worked on are finished, the summary is written, and the interrupt is passed on.
    """
    fleet, folder = read_fleet(Path(fleet_file), optional(names)), Path(out)
    _check_place(folder, fleet)
    made = _jobs(fleet, folder, optional(rules), preparer or user(), pages)
    records = {item.name: item for item in made if isinstance(item, Record)}
    jobs = [item for item in made if isinstance(item, Job)]
    begun(len(fleet.machines))

    known: dict[Any, Any] = {}

    def keep(record: Record) -> None:
        records[record.name] = record = in_common(record, known)
        took(record)

    again: list[Job] | None = None
    compared: set[str] = set()

    def keep_again(record: Record) -> None:
        if record.done:
            compared.add(record.name)
        first = records[record.name]
        records[record.name] = in_common(replace(record, notes=first.notes), known)

    for record in list(records.values()):
        took(record)
    with _ours(folder):
        say_not_compared(folder, None)
        try:
            _run(jobs, workers or _cores(), keep)
            again = to_prepare_again(jobs, records)
            _run(again, workers or _cores(), keep_again)
        finally:
            open_ = again if again is not None else to_prepare_again(jobs, records)
            say_not_compared(folder, {job.machine.name for job in open_} - compared)
            missing = {machine.name: record_of(machine, unreached=True) for machine in fleet.machines}
            ordered = tuple({**missing, **records}[machine.name] for machine in fleet.machines)
            beside, unused = _beside(folder, fleet), _unused(fleet, ordered)
            found = FleetPrepared(fleet, folder, ordered, beside, _stays(folder, ordered), unused)
            if not found.kept:
                _write_summary(found)
    return found


def _beside(folder: Path, fleet: Fleet) -> tuple[str, ...]:
    """The packets in the folder that are of no machine of the fleet, by name."""
    names = {machine.name for machine in fleet.machines}
    places = sorted(folder.iterdir()) if folder.is_dir() else []
    return tuple(place.name for place in places if place.name not in names and (place / INDEX).is_file())


def _unused(fleet: Fleet, records: Sequence[Record]) -> tuple[str, ...]:
    """The lines of names files that several machines share and that are the name of no setting of any of them. Lines for
    many names at once are left out, and all where a machine's settings could not be read."""
    several = Counter(machine.names for machine in fleet.machines if machine.names is not None)
    found: list[str] = []
    for path in (path for path, many in several.items() if many > 1):
        names = {machine.name for machine in fleet.machines if machine.names == path}
        sharing = [record for record in records if record.name in names]
        if not all(record.settings for record in sharing):
            continue
        known = {setting for record in sharing for setting in record.settings}
        try:
            said = read_names(path)
        except CfgError:
            continue  # each machine says so
        many_at_once = {named.key for _, named in said.patterns}
        for named in {named.key: named for named in said.entries.values()}.values():
            words = words_of(named.key)
            ends = (" ".join(words[at:]) for at in range(len(words)))
            if (
                named.key not in many_at_once
                and "@" not in named.key
                and not any(end in known for end in ends)
            ):
                found.append(f"{named.place}: no machine has a setting called {named.key}")
    return tuple(found)


def _stays(folder: Path, records: Sequence[Record]) -> bool:
    """Whether an earlier summary is better than this run's: it tells of packets, and this run has none."""
    if any(record.done for record in records):
        return False
    try:
        return bool(json.loads((folder / SUMMARY).read_bytes())["counts"]["packets"])
    except (OSError, ValueError, KeyError, TypeError):
        return False


def _is_ours(folder: Path) -> bool:
    """Whether a fleet's packets lie here: by the folder of our own, or by a summary, where a stopped run left no more."""
    if (folder / OWN_FOLDER).is_dir():
        return True
    try:
        said = json.loads((folder / SUMMARY).read_bytes())
        return "sha256" in said["fleet"] and "packets" in said["counts"]
    except (OSError, ValueError, KeyError, TypeError):
        return False


def _check_place(folder: Path, fleet: Fleet) -> None:
    """The folder is new, empty, or one of ours; and no machine's files are read from above it."""
    if folder.is_dir() and any(folder.iterdir()) and not _is_ours(folder):
        raise Refused("the folder is in use for something else", Place(str(folder)), "Choose another folder.")
    if folder.exists() and not folder.is_dir():
        raise Refused("something else is in the way", Place(str(folder)), "Choose another folder.")
    place = folder.resolve()
    for machine in fleet.machines:
        for path in machine.config:
            if path.is_dir() and place.is_relative_to(path.resolve()):
                raise BadInput(
                    f"the packets would lie among the files of {machine.name}, and be read as such",
                    Place(str(folder)),
                    "Choose another folder.",
                )


@contextmanager
def _ours(folder: Path) -> Iterator[None]:
    """The folder while it is ours: made, locked against a second run, and what a killed run left half written
    cleared away."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Refused(f"it can't be made: {error.strerror}", Place(str(folder))) from error
    with Store(folder).locked("another run is working on this fleet"):
        for left in folder.glob(f"{_HALF_WRITTEN}*"):
            shutil.rmtree(left, ignore_errors=True)
        (folder / SHEETS).mkdir(exist_ok=True)
        yield


def _jobs(fleet: Fleet, folder: Path, rules: Path | None, preparer: str, pages: bool) -> list[Job | Record]:
    """What is to be done for each machine; a record at once where its own sheet can't be read.

    Raises BadInput where that is the sheet of all machines.
    """
    sheets: dict[Path, Sheet | CfgError] = {}
    for path in dict.fromkeys(machine.sheet for machine in fleet.machines):
        try:
            sheets[path] = one_lane(read_sheet(path))
        except CfgError as error:
            sheets[path] = error
    if sheets and all(isinstance(found, CfgError) for found in sheets.values()):
        raise next(error for error in sheets.values() if isinstance(error, CfgError))
    several = Counter(machine.names for machine in fleet.machines)
    named = {path: _shared_names(path) for path, many in several.items() if path is not None and many > 1}
    keeping = {
        str(path): f"{fleet.path}:{machine.place.line} {machine.name}"
        for machine in fleet.keeping
        for path in files_of(machine)
    }
    made: list[Job | Record] = []
    for machine in fleet.machines:
        shared = sheets[machine.sheet]
        if isinstance(shared, CfgError):
            made.append(record_of(machine, error=str(shared), status=shared.status))
        else:
            names = named.get(machine.names) if machine.names is not None else None
            sheet = sheet_of(machine, shared)
            made.append(Job(machine, sheet, folder, rules, preparer, pages, names, keeping))
    return made


def _shared_names(path: Path) -> bytes | None:
    """A names file for several machines, as each gets it; None where it can't be read, which each machine says."""
    try:
        source = path.read_bytes()
    except OSError:
        return None
    return source + (b"" if source.endswith(b"\n") or not source else b"\n") + SHARED_NAMES_END


def _cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _run(jobs: Sequence[Job], workers: int, keep: Callable[[Record], None]) -> None:
    """All jobs in a pool. Where a worker dies, the jobs left are done one by one, each in a process of its own, so
    that only the one that it dies of is lost."""
    left = {job.machine.name: job for job in jobs}

    def done(record: Record) -> None:
        del left[record.name]
        keep(record)

    try:
        in_pool(prepare_one, jobs, min(workers, len(jobs)), done)
    except BrokenProcessPool:
        for job in list(left.values()):
            try:
                in_pool(prepare_one, [job], 1, done)
            except BrokenProcessPool:
                done(record_of(job.machine, error=_DIED, status=3))


_DIED = (
    "the process that worked on it was ended from outside, or ran out of memory\n"
    "  Nothing of it was written. Try it alone: cfgmigrate prepare"
)


def _write_summary(found: FleetPrepared) -> None:
    from cfgmigrate.fleet.summary import render_page, summary_bytes

    if not found.folder.is_dir():
        return
    try:
        write_over(found.summary, summary_bytes(found.fleet, found.records, found.beside))
        page = render_page(found.fleet, found.records, found.beside)
        write_over(found.page, page.encode("utf-8", "surrogateescape"))
    except OSError as error:
        raise Refused(
            f"the summary can't be written: {error.strerror}",
            Place(str(found.folder)),
            "The packets that were made are there.",
        ) from error
