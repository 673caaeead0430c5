"""Files that were named one by one beside a folder, where it is also said which machine is meant: `carp/ shared/common.ini` and `carp/carp.ini`.

The folder has the machine, and such a file was named since it belongs to it; that it sets the same axes makes it no other machine's.
One that says itself that it is somebody else's stays that, and what the site file says of it holds. Nothing is changed where no
machine was said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.found import relative_to
from cfgmigrate.files.heads import says_another
from cfgmigrate.files.marks import somebody_elses
from cfgmigrate.files.roles import FileRole, Role


def named_beside(
    root: Path, named: Sequence[Path], documents: Mapping[str, Document], roles: Mapping[str, FileRole]
) -> dict[str, FileRole]:
    """The roles of such files that were taken for another machine's."""
    folders = [each.resolve() for each in named if each.is_dir()]
    found: dict[str, FileRole] = {}
    for each in named if folders else ():
        path = relative_to(each, root)
        if each.is_dir() or path not in documents or any(map(each.resolve().is_relative_to, folders)):
            continue
        taken_for = roles[path]
        mine = not (taken_for.said or says_another(documents[path]) or somebody_elses(path))
        if taken_for.role is Role.OTHER and mine:
            found[path] = FileRole(path, Role.IN_FORCE, "it was named beside the machine's folder", said=True)
    return found
