"""The first room: the folder as a tree, what each file is and why, and what has to be said of it.

What is chosen here goes into the site file, as the terminal's question does; nothing else is written.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct, field
from starlette.responses import Response

from cfgmigrate.desk.session import same_stamp, stamp
from cfgmigrate.desk.web import Visit
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.ground.findings import BadInput, Place


class Folder(Struct):
    """One folder of the tree: its name, the folders in it, and its files by their number in the list of all."""

    name: str
    folders: dict[str, Folder] = field(default_factory=dict)
    files: list[tuple[int, str, FileRole]] = field(default_factory=list)


def tree_of(files: FileSet) -> Folder:
    """The files by folder; each with its number, by which a form names it."""
    from cfgmigrate.files.telling import NOT_TOLD

    top = Folder("")
    for number, (path, found) in enumerate(files.items()):
        if found.why in NOT_TOLD:
            continue
        *above, name = path.split("/")
        inner = top
        for each in above:
            inner = inner.folders.setdefault(each, Folder(each))
        inner.files.append((number, name, found))
    return top


def show(visit: Visit) -> Response:
    from cfgmigrate.files.telling import told_of

    configuration, machine = visit.desk.look()
    return visit.page(
        "machine.html",
        title="Which machine",
        room="machine",
        tree=tree_of(configuration.roles),
        told=told_of(configuration.roles),
        questions=configuration.roles.questions,
        faults=configuration.roles.faults,
        roles=[role.value for role in Role],
        profiles=machine.found_profiles,
        feeders=machine.feeders,
        site=configuration.site.source.decode("utf-8", "replace"),
        stamp=_stamp(visit),
    )


def say_roles(visit: Visit) -> Response:
    """What was chosen: the answers to the questions, and the files that are something else than was found."""
    from cfgmigrate.files.telling import roles_by
    from cfgmigrate.workflow import site

    _fresh(visit)
    configuration, _ = visit.desk.look()
    said: dict[str, Role] = {}
    for number, question in enumerate(configuration.roles.questions):
        if answer := visit.field(f"question-{number}"):
            if answer not in map(str, range(len(question.options) + 1)):
                raise BadInput("there is no such answer", Place(question.text))
            said.update(roles_by(question, int(answer)))
    said.update(_corrected(visit.said, configuration.roles))
    if not said:
        return visit.go("machine", "Nothing was chosen that is not so already; nothing was written.")
    written = site.say_roles([visit.desk.config], said)
    return visit.go("machine", f"Kept in {written.name}: {len(said)} of the files.")


def say_all(visit: Visit) -> Response:
    """Write down what every file is, as `survey --write-site` does."""
    from cfgmigrate import api

    _fresh(visit)
    written = api.write_site([visit.desk.config])
    return visit.go("machine", f"Written to {written.name}: what every file is.")


def _corrected(said: Mapping[str, list[str]], files: FileSet) -> dict[str, Role]:
    found: dict[str, Role] = {}
    for number, (path, now) in enumerate(files.items()):
        chosen = said.get(f"role-{number}", [now.role.value])[0]
        if chosen not in list(Role):
            raise BadInput("there is no such role", Place(path), f"There are: {', '.join(Role)}.")
        if chosen != now.role.value:
            found[path] = Role(chosen)
    return found


def _stamp(visit: Visit) -> str:
    configuration, _ = visit.desk.look()
    return stamp(*_shown(configuration))


def _fresh(visit: Visit) -> None:
    configuration, _ = visit.desk.look()
    same_stamp(visit.field("stamp"), *_shown(configuration))


def _shown(configuration: Any) -> tuple[object, ...]:
    """What the forms show: they name questions and files by number, and say what is another role than was found."""
    roles = configuration.roles
    return configuration.site.source, [(path, each.role) for path, each in roles.items()], roles.questions
