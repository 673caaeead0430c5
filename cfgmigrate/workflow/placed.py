"""What a packet says of the place that it was made in, held against a place: which files are the machine's, as what
each is read, what the user answered of them, what is doubted of them, and what the history told.

None of it follows from the packet alone. A role may rest on files that are not in it, and the age of a value on a
history. Still it decides what is written: whoever seals a packet anew could call a profile a part of the machine, leave one out,
or say that a value is the new drive's already. So it is looked at twice. Before a packet is installed, all of it is
worked out again in the configuration that it is for. Without that configuration, its files are laid out alone and read as if they
were all there is; then what differs is told, and is no fault.

Nothing is written but that copy, and no value is worked out.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from msgspec import UNSET
from msgspec.structs import replace

from cfgmigrate.files.roles import Role
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.paths import fault_of_path

if TYPE_CHECKING:
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.packet.made_here import MadeHere
    from cfgmigrate.plan.basis import FileInput


#: bytes of a folder's name that every file system takes
LONGEST_FOLDER_NAME = 200
#: how a place is called in what is told
IN_PLACE, ALONE = "in this configuration", "by the packet's files alone"
#: what a site file may say of a machine
SAID_BY_A_SITE = ("roles", "feeders", "profiles", "dialects", "meanings", "codes", "words")


def unlike_alone(packet: Packet, doubts: Collection[Mapping[str, Any]]) -> list[str]:
    """What is recorded of the packet's files that does not follow from them alone; and that a history was believed.
    `doubts` are those that its plan does not give."""
    from cfgmigrate.files.found import SITE
    from cfgmigrate.files.site_writing import joined_text

    with TemporaryDirectory(prefix="cfgmigrate-") as folder:
        root = Path(folder) / _folder_name(packet.plan.root)
        # A site file in a packet stands by itself. One that extends another would lead out of it.
        site = {SITE: joined_text(packet.site, b"")} if packet.site is not None else {}
        given = {**packet.before, **site}
        for path, data in given.items():
            (root / path).parent.mkdir(parents=True, exist_ok=True)
            (root / path).write_bytes(data)
        found = [*_read_otherwise(packet, doubts, root, ALONE), *_carried_from(packet), *_only_told(packet)]
    if packet.plan.basis.of_history:
        found.append(
            "what the history told of earlier installs was taken from the packet: it can be compared only beside the "
            "configuration"
        )
    return found


def unlike_there(packet: Packet, doubts: Collection[Mapping[str, Any]], root: Path) -> list[str]:
    """What is recorded of the packet's files, and of what the history told of them, that is otherwise in the
    configuration at `root`. `doubts` are those that the packet's plan does not give."""
    found = [*_read_otherwise(packet, doubts, root, IN_PLACE), *_told_otherwise(packet, root)]
    return [*found, *_carried_from(packet)]


def _carried_from(packet: Packet) -> Iterator[str]:
    """Values that come from another machine's files rest on what whoever prepared the packet laid into it."""
    basis = packet.plan.basis
    if basis.carried_from:
        yield (
            f"origin/: that the values carried over are those of {basis.carried_from[:80]!a}, and which of its files are "
            "in force, stands nowhere but in the packet; hold it against that machine's own files"
        )
        yield from _origin_otherwise(packet)


def _origin_otherwise(packet: Packet) -> Iterator[str]:
    """Files of the machine that values were carried over from which, read alone, are something else than is recorded."""
    from cfgmigrate.files.configuration import open_configuration
    from cfgmigrate.files.found import SITE
    from cfgmigrate.files.site_writing import joined_text
    from cfgmigrate.packet.folder import ORIGIN

    with TemporaryDirectory(prefix="cfgmigrate-") as folder:
        root = Path(folder) / _folder_name(packet.plan.basis.carried_from)
        given = {
            path: joined_text(data, b"") if path == SITE else data for path, data in packet.origin.items()
        }
        for path, data in given.items():
            (root / path).parent.mkdir(parents=True, exist_ok=True)
            (root / path).write_bytes(data)
        try:
            found = open_configuration([root])
        except CfgError as problem:
            yield f"{ORIGIN}: {_not_readable(problem, ALONE)}"
            return
    dialects = {document.path: document.dialect for document in (*found.documents, *found.left)}
    for file in packet.plan.basis.origin:
        role, dialect = str(found.roles.role(file.path)), dialects.get(file.path, "")
        if (role, dialect) != (file.role, file.dialect):
            recorded = f"{file.role}, {file.dialect}"
            yield f"{ORIGIN}{file.path}: recorded as {recorded}, and {ALONE} it is {role}, {dialect or 'not read'}"


def _not_readable(problem: CfgError, where: str) -> str:
    """That the files can't be read as a machine: the place of what stops it comes first, as a person looks for it."""
    place = f"{problem.place}: " if problem.place else ""
    return f"{place}{problem.what}; until that is put right nothing can be read {where}"


def _only_told(packet: Packet) -> Iterator[str]:
    """What is recorded of the configuration that its files alone can't bear out."""
    from cfgmigrate.packet.folder import SITE_COPY
    from cfgmigrate.packet.reread import site_of

    site = site_of(packet)
    told = [name for name in SAID_BY_A_SITE if getattr(site, name)]
    if told:
        yield (
            f"{SITE_COPY}: whoever prepared it said what is what ({', '.join(told)}); whether that is what the machine's "
            "own site file says can be compared only beside the configuration"
        )
    if packet.plan.left_out:
        yield (
            f"what it says of files that it leaves alone ({len(packet.plan.left_out)}) can be compared only beside the "
            "configuration"
        )


def come_since(packet: Packet, root: Path, made: MadeHere) -> tuple[str, ...]:
    """What the configuration at `root` is by files, or a site file, that came since a packet was made here and that it does
    not know: a sentence each. Nothing where they change nothing of it."""
    from cfgmigrate.files.found import SITE, each_once, standing_of
    from cfgmigrate.packet.made_here import PART_OF_IT

    known = {file.path for file in packet.plan.files}
    if packet.plan.basis.named is not None or not is_as_it_was(packet, root):
        return ()
    site = [root / SITE] if (root / SITE).exists() else []
    if made.standing == PART_OF_IT:  # a file of the same second may be older than the packet
        come = any(_changed_after(path, made.when) for path in site) and _says_else(root, packet)
    elif made.standing:
        come = made.standing != standing_of(root)[1]
    else:
        folders = {(root / path).parent for path in known}
        found = each_once(sorted(folder for folder in folders if folder.is_dir()), root.resolve())
        new = [each.path for path, each in found.items() if path not in known and not each.reason]
        come = any(_changed_after(path, made.when) for path in (*new, *site))
    if not come:
        return ()
    return tuple(_read_otherwise(packet, (), root, IN_PLACE))


def _says_else(root: Path, packet: Packet) -> bool:
    """Whether the site file at `root` says something else than the packet's, or can't be read."""
    from cfgmigrate.files.site_reading import site_at

    try:
        return site_at(root).joined != (packet.site or b"")
    except CfgError:
        return True


def _changed_after(path: Path, when: float) -> bool:
    try:
        return path.stat().st_ctime >= when
    except OSError:
        return False


def _folder_name(root: str) -> str:
    """What a copy of the folder `root` is called. A stranger's packet may name one that leads out of the copy's place."""
    name = Path(root).name
    return "machine" if fault_of_path(name) or len(os.fsencode(name)) > LONGEST_FOLDER_NAME else name


def is_as_it_was(packet: Packet, root: Path) -> bool:
    """Whether the packet's files stand at `root` as they were read for it."""
    from cfgmigrate.ground.paths import target

    try:
        return all(target(root, path).data == data for path, data in packet.before.items())
    except CfgError:
        return False


def _read_otherwise(
    packet: Packet, doubts: Collection[Mapping[str, Any]], root: Path, where: str
) -> Iterator[str]:
    from cfgmigrate.packet.folder import NAMES
    from cfgmigrate.workflow.prepare import read_machine, with_their_roles

    names = packet.folder / NAMES if packet.names is not None else None
    try:
        configuration, machine = read_machine([root], names)
    except CfgError as problem:
        yield _not_readable(problem, where)
        return
    if where == IN_PLACE and configuration.site.joined != (packet.site or b""):
        yield f"what the site file says is something else {where}"
    there = {file.path: file for file in with_their_roles(machine, configuration)}
    for file in packet.plan.files:
        yield from _other_file(file, there.get(file.path), configuration, where)
    known = {file.path for file in packet.plan.files}
    for path, file in there.items():
        if path not in known:
            yield f"{path}: {where} it is {file.role}, and the packet does not know it"
    if list(there) != [file.path for file in packet.plan.files] and there.keys() == known:
        yield f"{where} the files come in another order: {', '.join(there)}"
    if where == IN_PLACE:
        yield from _left_otherwise(packet, configuration)
    yield from _doubted_nowhere(packet, doubts, machine, root, where)


def _doubted_nowhere(
    packet: Packet, doubts: Collection[Mapping[str, Any]], machine: Machine, root: Path, where: str
) -> Iterator[str]:
    """Doubts of the packet that nothing at this place gives."""
    from cfgmigrate.apply.prior_installs import partly_installed
    from cfgmigrate.apply.remaining import another_sheet
    from cfgmigrate.store.history import history
    from cfgmigrate.workflow.again import what_is_doubted

    if not doubts:
        return
    files = {file.path for file in packet.plan.files}
    asked = {what_is_doubted(doubt.to_json(), files) for doubt in machine.doubts}
    partly = partly_installed(history(root), root, packet.before)
    if partly is not None:
        asked.add(what_is_doubted(another_sheet(partly, packet.plan.sheet_path).to_json(), files))
    for doubt in doubts:
        if what_is_doubted(doubt, files) not in asked:
            place = f"{doubt.get('file')}:{doubt.get('line')}"
            yield f"{place}: {where} nothing raises this doubt of the packet: {doubt.get('why')}"


def _other_file(
    recorded: FileInput, found: FileInput | None, configuration: Configuration, where: str
) -> Iterator[str]:
    role = found.role if found is not None else str(configuration.roles.role(recorded.path))
    if role != recorded.role:
        yield f"{recorded.path}: recorded as {recorded.role}, and {where} it is {role}"
    elif found is None:
        yield f"{recorded.path}: {where} it is not read"
    elif found.dialect != recorded.dialect:
        yield f"{recorded.path}: recorded as {recorded.dialect}, and {where} it is {found.dialect}"
    elif found.decimals != recorded.decimals:
        yield f"{recorded.path}: {where} its numbers are read otherwise, with commas for points or without"
    elif found.includes != recorded.includes:
        yield f"{recorded.path}: {where} its lines take in other files"


def _left_otherwise(packet: Packet, configuration: Configuration) -> Iterator[str]:
    """Files that the packet leaves alone for another reason than there is, or that it does not tell of. A file that is no
    configuration may have come or gone since."""
    from cfgmigrate.workflow.prepare import with_roles

    there = {each.path: each for each in with_roles(packet.plan, configuration).left_out}
    said = {each.path: each for each in packet.plan.left_out}
    before = is_as_it_was(
        packet, configuration.root
    )  # an install changes which of a text's numbers are others
    for path, each in said.items():
        found = there.get(path)
        if found is None and each.role != Role.NONE:
            yield f"{path}: recorded as left alone ({each.role}), and {IN_PLACE} it is not"
        elif found is not None and (found.role, found.why) != (each.role, each.why):
            yield f"{path}: left alone as {each.role}, {each.why[:80]!a}; {IN_PLACE} as {found.role}, {found.why[:80]!a}"
        elif before and found is not None and found.own != each.own:
            yield f"{path}: what stands in it, a script whose words nobody explained, is told otherwise {IN_PLACE}"
        elif before and found is not None and bool(found.holds) != bool(each.holds):
            yield f"{path}: whether it may be what the board keeps is told otherwise {IN_PLACE}"
    for path, found in there.items():
        if path not in said and found.role != Role.NONE:
            yield f"{path}: {IN_PLACE} it is left alone ({found.role}, {found.why}), and the packet does not tell of it"


def _told_otherwise(packet: Packet, root: Path) -> Iterator[str]:
    """Whether the history tells what is recorded of it."""
    from cfgmigrate.packet.reread import site_of
    from cfgmigrate.workflow.again import machine_of, sheet_of_packet
    from cfgmigrate.workflow.told import told_at

    if packet.plan.kind == "tune" or packet.plan.basis.carried_from:
        return
    recorded, site = replace(packet.plan.basis, named=None, readers=UNSET, disputed=UNSET), site_of(packet)
    machine = machine_of(packet, packet.before, site)
    swap = sheet_of_packet(packet, site, machine)
    old = {**packet.before, **packet.old}
    for rest in (False, True):
        try:
            told = told_at(root, packet.before, machine, swap, rest)
        except CfgError as problem:
            yield f"the history here can't be read: {problem.what}"
            return
        if told.basis == recorded and dict(told.old) == old:
            return
    yield "the history here does not tell what the packet says that it told of earlier installs"
