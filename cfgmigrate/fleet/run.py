"""`prepare` for many machines at once: over all cores, one packet each, and a summary of them all.

Each machine is worked out by itself in a process of its own kind, exactly as `api.prepare` does it alone, from
a sheet of its own that is written beside the packets; so each packet is the one that `prepare` would write. One
machine's error is that machine's: it stands in the summary, and the others go on. A packet that stands there for
the same files, sheet, names and rules is not worked out again, so an interrupted run goes on where it stopped.

    FOLDER/NAME/            one packet a machine
    FOLDER/sheets/NAME.yaml its sheet, written out in full
    FOLDER/summary.html, summary.json

A packet's page for a browser takes a third of the work, so those are only written where they are asked for: the same run
with them puts them into the packets that stand there.

As in `api.py`, nothing is printed and nothing asked. What makes machines alike is said in `groups.py`.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate import api
from cfgmigrate.fleet.file import WRITTEN, Fleet, FleetMachine, read_fleet, sheet_of
from cfgmigrate.fleet.groups import Record, hand, moved, warnings_of
from cfgmigrate.fleet.pieces import pieces_in
from cfgmigrate.fleet.pool import in_pool
from cfgmigrate.ground.disk import write_over
from cfgmigrate.ground.findings import BadInput, CfgError, Place, Refused
from cfgmigrate.ground.paths import OWN_FOLDER
from cfgmigrate.packet.folder import INDEX, Packet, read_packet, sha256
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.reader import read_sheet
from cfgmigrate.sheet.several import one_lane
from cfgmigrate.store.keeping import Store
from cfgmigrate.workflow.inputs import PathLike, optional
from cfgmigrate.workflow.prepare import BROWSED, user

if TYPE_CHECKING:
    pass

SHEETS, SUMMARY, PAGE = "sheets", "summary.json", "summary.html"
_HALF_WRITTEN = ".packet-"


@dataclass(frozen=True)
class FleetPrepared:
    """What became of a fleet, in the fleet file's order. `summary` and `page` are where it can be read."""

    fleet: Fleet
    folder: Path
    records: tuple[Record, ...]

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


@dataclass(frozen=True, slots=True)
class Job:
    """One machine to prepare, with all that it takes."""

    machine: FleetMachine
    sheet: bytes
    folder: Path
    rules: Path | None
    preparer: str
    pages: bool

    @property
    def packet(self) -> Path:
        return self.folder / self.machine.name

    @property
    def sheet_path(self) -> Path:
        return self.folder / SHEETS / f"{self.machine.name}.yaml"


def prepare_fleet(
    fleet_file: PathLike,
    out: PathLike,
    *,
    rules: PathLike | None = None,
    preparer: str | None = None,
    workers: int | None = None,
    pages: bool = False,
    begun: Callable[[int], None] = lambda machines: None,
    took: Callable[[Record], None] = lambda record: None,
) -> FleetPrepared:
    """Prepare every machine of a fleet file into the folder `out`, with so many `workers` (all cores).

    With `pages` each packet has its page for a browser. `rules` and `preparer` are those of `prepare`. `begun` is told how many machines there are, `took` each machine's
    record once it is there. Gives all records, and `.whole`: whether each machine has its packet. Raises BadInput
    where the fleet file or the sheet for all can't be read, and Refused where `out` is used by something else;
    nothing was written then. A machine's own errors are in its record. Interrupted (KeyboardInterrupt), the machines
    being worked on are finished, the summary is written, and the interrupt is passed on.
    """
    fleet, folder = read_fleet(Path(fleet_file)), Path(out)
    _check_place(folder, fleet)
    made = _jobs(fleet, folder, optional(rules), preparer or user(), pages)
    records = {item.name: item for item in made if isinstance(item, Record)}
    jobs = [item for item in made if isinstance(item, Job)]
    begun(len(fleet.machines))

    def keep(record: Record) -> None:
        records[record.name] = record
        took(record)

    for record in list(records.values()):
        took(record)
    with _ours(folder):
        try:
            _run(jobs, workers or _cores(), keep)
        finally:
            missing = {machine.name: _record(machine, unreached=True) for machine in fleet.machines}
            ordered = tuple({**missing, **records}[machine.name] for machine in fleet.machines)
            found = FleetPrepared(fleet, folder, ordered)
            _write_summary(found)
    return found


def _check_place(folder: Path, fleet: Fleet) -> None:
    """The folder is new, empty, or one of ours; and no machine's files are read from above it."""
    if folder.is_dir() and any(folder.iterdir()) and not (folder / OWN_FOLDER).is_dir():
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
    made: list[Job | Record] = []
    for machine in fleet.machines:
        shared = sheets[machine.sheet]
        if isinstance(shared, CfgError):
            made.append(_record(machine, error=str(shared), status=shared.status))
        else:
            made.append(Job(machine, sheet_of(machine, shared), folder, rules, preparer, pages))
    return made


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
                done(_record(job.machine, error=_DIED, status=3))


_DIED = (
    "the process that worked on it was ended from outside, or ran out of memory\n"
    "  Nothing of it was written. Try it alone: cfgmigrate prepare"
)


def prepare_one(job: Job) -> Record:
    """One machine's packet, or what went wrong. Whatever that is, it is this machine's record."""
    machine = job.machine
    try:
        recovered = api.recover(machine.config)
        notes = (str(recovered),) if recovered is not None else ()
        _write_sheet(job)
        standing = _standing(job)
        if standing is not None:
            return _record(machine, standing, notes=notes, standing=True)
        packet = api.prepare(
            machine.config,
            job.sheet_path,
            out=job.packet,
            names=machine.names,
            dialects=machine.dialects or None,
            machine=machine.machine,
            rules=job.rules,
            preparer=job.preparer,
            browsed=job.pages,
        )
        return _record(machine, packet, notes=notes)
    except CfgError as error:
        return _record(machine, error=str(error), status=error.status)
    except Exception as error:  # a defect met on one machine must not stop the others
        told = f"{type(error).__name__}: {error}\n  This is a defect of the tool; please report it with the files."
        return _record(machine, error=told, status=3)


def _write_sheet(job: Job) -> None:
    path = job.sheet_path
    try:
        present = path.read_bytes() if path.exists() else None
        if present == job.sheet:
            return
        if present is not None and not present.startswith(WRITTEN.encode()):
            raise Refused("a file that is not ours is in the way", Place(str(path)), "Move it away.")
        write_over(path, job.sheet)
    except OSError as error:
        raise Refused(f"it can't be written: {error.strerror}", Place(str(path))) from error


def _standing(job: Job) -> Packet | None:
    """The packet that stands there already for the same files, site file, sheet, names and rules, whether it was installed
    since or not; None where there is none."""
    from cfgmigrate.files.configuration import open_configuration
    from cfgmigrate.rules import library

    if not (job.packet / INDEX).is_file():
        return None
    try:
        packet = read_packet(job.packet)
    except CfgError:
        return None  # preparing says what is in the way
    machine = job.machine
    names = machine.names.read_bytes() if machine.names is not None and machine.names.is_file() else None
    rules = library.book_sources(library.book(job.rules))
    given = (packet.sheet, packet.names, packet.rules, packet.preparer, packet.plan.kind)
    if given != (job.sheet, names, rules, job.preparer, "install"):
        return None
    opened = open_configuration(machine.config, machine.dialects or None, machine.machine)
    if str(opened.root) != packet.plan.root or Store(opened.root).pending:
        return None
    if opened.roles.questions or opened.roles.faults or (opened.site.joined or None) != packet.site:
        return None
    present = {document.path: (sha256(document.data), document.dialect) for document in opened.documents}
    dialects = {file.path: file.dialect for file in packet.plan.files}
    stages = [
        {path: (sha256(data), dialects[path]) for path, data in files.items()}
        for files in (packet.before, packet.after)
    ]
    if present == stages[0] and job.pages and BROWSED not in packet.pages:
        return None
    return packet if present in stages else None


def _record(
    machine: FleetMachine,
    packet: Packet | None = None,
    *,
    notes: tuple[str, ...] = (),
    error: str = "",
    status: int = 0,
    unreached: bool = False,
    standing: bool = False,
) -> Record:
    record = Record(
        name=machine.name,
        sheet=str(machine.sheet),
        config=tuple(map(str, machine.config)),
        differs=tuple(machine.differs.items()),
        notes=notes,
        error=error,
        status=status,
        unreached=unreached,
        standing=standing,
    )
    return record if packet is None else _with_plan(record, packet)


def _with_plan(record: Record, packet: Packet) -> Record:
    plan = packet.plan
    return replace(
        record,
        hash=packet.hash,
        browsed=BROWSED in packet.pages,
        changes=tuple(map(moved, plan.changes)),
        by_hand=tuple(map(hand, plan.by_hand)),
        warnings=warnings_of(plan),
        doubts=plan.doubts,
        pieces=pieces_in(packet),
    )


def _write_summary(found: FleetPrepared) -> None:
    from cfgmigrate.fleet.summary import render_page, summary_bytes

    if not found.folder.is_dir():
        return
    try:
        write_over(found.summary, summary_bytes(found.fleet, found.records))
        write_over(found.page, render_page(found.fleet, found.records).encode("utf-8", "surrogateescape"))
    except OSError as error:
        raise Refused(
            f"the summary can't be written: {error.strerror}",
            Place(str(found.folder)),
            "The packets that were made are there.",
        ) from error
