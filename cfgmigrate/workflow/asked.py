"""Which machine a person asks about by the files and folders that they name, where several share one history.

Where the history is, is found as every command finds it. A folder that has one itself is asked about as it is, whatever lies
above it.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import CfgError
from cfgmigrate.workflow.inputs import Paths, listed

if TYPE_CHECKING:
    from cfgmigrate.apply.asked_machine import AskedMachine
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.store.history import History


def asked_root(paths: Paths) -> Path:
    """The folder whose history tells of what is named. Raises BadInput where something is not there."""
    from cfgmigrate.files.found import common_root
    from cfgmigrate.ground.paths import OWN_FOLDER, existing_root

    named = listed(paths)
    if len(named) == 1 and not named[0].is_file():
        place = existing_root(named[0])
        if (place / OWN_FOLDER).is_dir():
            return place
    return common_root(named)


def asked_history(paths: Paths, anew: bool = False) -> History:
    """What the history tells of the machine whose files are named, or lie in folders that are; nothing is read of them."""
    from msgspec.structs import replace

    from cfgmigrate.apply.asked_machine import told_of
    from cfgmigrate.files.histories_below import histories_below
    from cfgmigrate.store.history import history

    root = asked_root(paths)
    past = told_of(history(root, anew), root, machine_named(root, paths))
    return replace(past, several=several_named(past, root, paths), below=histories_below(root))


def several_named(past: History, root: Path, paths: Paths) -> tuple[tuple[str, ...], ...]:
    """The files that each machine has alone, where this history is that of several. The files are read only where its steps
    look so: those of one machine do, too, once its files were put in another order."""
    from cfgmigrate.apply.asked_machine import machines_apart
    from cfgmigrate.files.configuration import open_configuration

    apart = machines_apart(past, lambda path: (root / path).exists())
    if not apart:
        return ()
    try:
        configuration = open_configuration(listed(paths))
    except CfgError:  # the record is told even of files that can't be read
        return apart
    return apart if _may_be_several(configuration) else ()


def several_going_back(root: Path, entry: str) -> tuple[tuple[str, ...], ...]:
    """The files that each machine has alone, where several of them have steps after an `entry` of the history, or since its
    start; nothing where there is no such entry."""
    from msgspec.structs import replace

    from cfgmigrate.store.history import history

    past = history(root)
    after = int(entry) if str(entry).isdecimal() else 0
    return several_named(replace(past, entries=past.entries[after:]), root, root)


def _may_be_several(configuration: Configuration) -> bool:
    """Whether what was read may be several machines': it is asked which of them, or was said which are others."""
    from cfgmigrate.files.roles import Role

    roles = configuration.roles
    return bool(roles.questions) or any(each.role is Role.OTHER for each in roles.values())


def machine_named(root: Path, paths: Paths) -> AskedMachine:
    """The machine whose files are named, or lie in folders that are."""
    from cfgmigrate.apply.asked_machine import AskedMachine
    from cfgmigrate.files.found import relative_to

    named = (relative_to(path.resolve(), root) for path in listed(paths))
    asked = frozenset("" if path == "." else path for path in named)
    return AskedMachine(asked, asked)


def machine_asked_about(configuration: Configuration) -> AskedMachine:
    """The machine that was read: its files, those among them that no other one of them takes in, and what is kept beside them."""
    from cfgmigrate.apply.asked_machine import AskedMachine
    from cfgmigrate.files.roles import Role

    paths = frozenset(document.path for document in configuration.documents)
    taken_in = {
        path
        for document in configuration.documents
        for include in document.includes
        for path in include.files
    }
    kept = frozenset(path for path, each in configuration.roles.items() if each.role is not Role.OTHER)
    return AskedMachine(paths, paths - taken_in or paths, kept)


def history_of(configuration: Configuration) -> History:
    """What the history tells of the machine that was read."""
    from cfgmigrate.apply.asked_machine import told_of
    from cfgmigrate.store.history import history

    root = configuration.root
    return told_of(history(root), root, machine_asked_about(configuration))
