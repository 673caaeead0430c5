"""One machine of a fleet: its packet as `api.prepare` would write it alone, or what went wrong, as a record.

A packet that stands there for the same inputs is taken as it is. One for other inputs is replaced, unless it is
installed: then it is the way back, stays, and that is told. Whatever goes wrong is this machine's alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from sys import intern

from msgspec import UNSET, Struct, field
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.apply.disputed_lines import Claims
from cfgmigrate.dialects.document import Document
from cfgmigrate.files.found import common_root
from cfgmigrate.files.marks import words_of
from cfgmigrate.fleet.file import WRITTEN, FleetMachine
from cfgmigrate.fleet.groups import Record, hand, warnings_of
from cfgmigrate.fleet.moved import moved
from cfgmigrate.fleet.pieces import pieces_in
from cfgmigrate.ground.disk import write_over
from cfgmigrate.ground.findings import CfgError, Place, Refused
from cfgmigrate.ground.paths import another_folder
from cfgmigrate.machine.names import SHARED_NAMES_END
from cfgmigrate.packet.folder import INDEX, Packet, sha256
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.plan.lights import STATES
from cfgmigrate.plan.model import Light
from cfgmigrate.store.keeping import Store
from cfgmigrate.workflow.writing_out import BROWSED

SHEETS = "sheets"
#: what is told of a packet that stays, and of one that stands there though its machine has none now
KEPT_INSTALLED = (
    "its packet is installed and stays, though the sheet, the files or the rules changed since: what it would be now is "
    "worked out by `cfgmigrate prepare` into another folder"
)
EARLIER_PACKET = "a packet of an earlier run stands in its folder; it is not for these files and this sheet"


class Job(Struct, frozen=True):
    """One machine to prepare, with all that it takes."""

    machine: FleetMachine
    sheet: bytes
    folder: Path
    rules: Path | None
    preparer: str
    pages: bool
    #: the names file's bytes, where several machines share it
    shared_names: bytes | None = None
    #: the files, by where they lie, that machines read which keep their drive, each with where that is said
    keeping: Mapping[str, str] = field(default_factory=dict)
    #: what other packets of the run write and this one would not; None where the packets are yet to be held against one another
    claimed: Claims | None = None

    @property
    def names(self) -> Path | None:
        """The names file that it is prepared with: its own, or its copy of the one that it shares."""
        if self.shared_names is None:
            return self.machine.names
        return self.folder / SHEETS / f"{self.machine.name}.names"

    @property
    def packet(self) -> Path:
        return self.folder / self.machine.name

    @property
    def sheet_path(self) -> Path:
        return self.folder / SHEETS / f"{self.machine.name}.yaml"


def prepare_one(job: Job) -> Record:
    """One machine's packet, or what went wrong. Whatever that is, it is this machine's record."""
    machine = job.machine
    try:
        recovered = api.recover(machine.config)
        notes = (str(recovered),) if recovered is not None else ()
        _write_sheet(job)
        standing = _standing(job) if job.claimed is None else None
        if standing is not None:
            return record_of(machine, standing, notes=notes, standing=True)
        kept = _kept(job)
        if kept is not None:
            return record_of(machine, kept, notes=(*notes, KEPT_INSTALLED), standing=True)
        packet = api.prepare(
            machine.config,
            job.sheet_path,
            out=job.packet,
            names=job.names,
            dialects=machine.dialects or None,
            machine=machine.machine,
            rules=job.rules,
            preparer=job.preparer,
            replace=True,
            browsed=job.pages,
            keeping=job.keeping,
            claimed=job.claimed,
        )
        return record_of(machine, packet, notes=notes)
    except CfgError as error:
        earlier = (EARLIER_PACKET,) if (job.packet / INDEX).is_file() else ()
        failed = record_of(machine, error=str(error), status=error.status, notes=earlier)
        return replace(failed, settings=_settings_there(machine))
    except Exception as error:  # a defect met on one machine must not stop the others
        told = f"{type(error).__name__}: {error}\n  This is a defect of the tool; please report it with the files."
        return record_of(machine, error=told, status=3)


def _write_sheet(job: Job) -> None:
    """The machine's sheet, and its copy of names that it shares."""
    _write_ours(job.sheet_path, job.sheet, lambda present: present.startswith(WRITTEN.encode()))
    if job.shared_names is not None and job.names is not None:
        _write_ours(job.names, job.shared_names, lambda present: present.endswith(SHARED_NAMES_END))


def _write_ours(path: Path, wanted: bytes, ours: Callable[[bytes], bool]) -> None:
    try:
        present = path.read_bytes() if path.exists() else None
        if present == wanted:
            return
        if present is not None and not ours(present):
            raise Refused("a file that is not ours is in the way", Place(str(path)), "Move it away.")
        write_over(path, wanted)
    except OSError as error:
        raise Refused(f"it can't be written: {error.strerror}", Place(str(path))) from error


def _standing(job: Job) -> Packet | None:
    """The packet that stands there already for the same files, site file, sheet, names and rules, whether it was installed
    since or not; None where there is none, or it is not what this release comes to: somebody may have sealed it anew."""
    from cfgmigrate.files.configuration import open_configuration
    from cfgmigrate.rules import library

    if not (job.packet / INDEX).is_file():
        return None
    try:
        packet = read_packet(job.packet)
    except CfgError:
        return None  # preparing says what is in the way
    machine = job.machine
    if job.names is not None and not job.names.is_file():
        return None
    names = job.names.read_bytes() if job.names is not None else None
    rules = library.book_sources(library.book(job.rules))
    given = (packet.sheet, packet.names, packet.rules, packet.preparer, packet.plan.kind)
    if given != (job.sheet, names, rules, job.preparer, "install") or not _known_as_kept(packet, job):
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
    return packet if present in stages and _holds(packet) else None


def _known_as_kept(packet: Packet, job: Job) -> bool:
    """Whether a packet knows just those of the files that are edited, or would be, as read by machines that keep their drive."""
    from cfgmigrate.plan.basis import KEEPS_DRIVE
    from cfgmigrate.plan.edits import edits_by_file

    plan, readers = packet.plan, packet.plan.basis.readers
    said = {
        str(Path(plan.root, each.file).resolve()): place.removesuffix(KEEPS_DRIVE)
        for each in (readers if readers is not UNSET else ())
        for place in each.places
        if place.endswith(KEEPS_DRIVE)
    }
    edited = real_files(plan.root, edits_by_file(plan.changes))
    return all(job.keeping.get(path) == place for path, place in said.items()) and all(
        path in said for path in edited if path in job.keeping
    )


def _holds(packet: Packet) -> bool:
    """Whether a packet is what this release comes to by itself."""
    from cfgmigrate.packet.made_here import made_a_moment_ago
    from cfgmigrate.rules.library import knowledge_hash
    from cfgmigrate.workflow.verify import verified_content

    if packet.plan.knowledge != knowledge_hash():
        return False
    return made_a_moment_ago(packet) is not None or not verified_content(packet).problems


def _kept(job: Job) -> Packet | None:
    """The packet that stands there for other inputs and is installed, so that it must stay; None where there is none."""
    from cfgmigrate.apply.replacing import is_installed

    if not (job.packet / INDEX).is_file():
        return None
    try:
        packet = read_packet(job.packet)
        others = another_folder(packet.plan.root, str(common_root(job.machine.config)))
        return packet if is_installed(packet) and not others else None
    except CfgError:
        return None  # preparing says what is in the way


def record_of(
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
    return record if packet is None else _with_plan(record, packet, standing)


def _settings_there(machine: FleetMachine) -> tuple[str, ...]:
    """The settings of files that got no packet; () where they can't be read."""
    from cfgmigrate.files.configuration import open_configuration

    try:
        return _in_words(
            open_configuration(machine.config, machine.dialects or None, machine.machine).documents
        )
    except CfgError:
        return ()


def files_of(machine: FleetMachine) -> tuple[Path, ...]:
    """The files that a machine reads, as it is in force; all that it names where they can't be read as one."""
    from cfgmigrate.files.configuration import open_configuration

    try:
        found = open_configuration(machine.config, machine.dialects or None, machine.machine)
        return tuple((found.root / each.path).resolve() for each in found.documents)
    except CfgError:
        named = (path for each in machine.config for path in ((each,) if each.is_file() else each.rglob("*")))
        return tuple(path.resolve() for path in named if path.is_file())


def _in_words(documents: Iterable[Document]) -> tuple[str, ...]:
    """The names of settings in words alone, so that files of other dialects can be compared."""
    names = (f"{each.section} {each.key}" for document in documents for each in document.settings)
    return tuple(dict.fromkeys(intern(" ".join(words_of(name))) for name in names))


def _worst(lights: Iterable[Light]) -> tuple[tuple[str, str], ...]:
    """Each light with the worst state that one of its holders has."""
    found: dict[str, str] = {}
    for light in lights:
        found[light.light] = min(found.get(light.light, light.state), light.state, key=STATES.index)
    return tuple(found.items())


def real_files(root: str, paths: Iterable[str]) -> tuple[str, ...]:
    """Where these files of a machine lie: one machine may have by a link what another one names itself."""
    return tuple(str(Path(root, path).resolve()) for path in paths)


def _with_plan(record: Record, packet: Packet, standing: bool) -> Record:
    from cfgmigrate.apply.disputed_lines import claims_of, disputed_in
    from cfgmigrate.apply.other_readers import readers_of
    from cfgmigrate.apply.replacing import is_installed
    from cfgmigrate.packet.reread import documents_of
    from cfgmigrate.plan.edits import edits_by_file

    plan = packet.plan
    return replace(
        record,
        hash=packet.hash,
        installed=standing and is_installed(packet),
        browsed=BROWSED in packet.pages,
        changes=tuple(map(moved, plan.changes)),
        by_hand=tuple(map(hand, plan.by_hand)),
        warnings=warnings_of(plan),
        doubts=plan.doubts,
        pieces=pieces_in(packet),
        lights=_worst(plan.lights),
        settings=_in_words(documents_of(plan.files, packet.before)),
        claims=claims_of(record.name, plan),
        disputed=disputed_in(plan),
        read=real_files(plan.root, (file.path for file in plan.files)),
        edited=real_files(plan.root, edits_by_file(plan.changes)),
        readers=tuple(
            (real, places)
            for file, places in readers_of(plan).items()
            for real in real_files(plan.root, [file])
        ),
    )
