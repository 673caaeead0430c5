"""How written values come into force, and how a person sees that the machine does not go on with old ones it keeps.

Many machines keep settings of their own and prefer them to their files. Which do is not in the files, so for every kind
of file the list ends in the same way: send, store, read back, compare. What "send" is for the machine at hand is said
by its maker. The advice is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from cfgmigrate.files.roles import Role
from cfgmigrate.plan.basis import FileInput
from cfgmigrate.plan.model import Plan

_OF_SCRIPTS = "script."
BUILT = (
    "These files take effect only once they are built in: build the controller's program from them and load it "
    "onto the board, as its maker says. Until then the old values are in force."
)
SENT = (
    "Settings that the machine itself keeps take effect only once you send them: send it the changed lines. Until then "
    "the old values are in force."
)
SCRIPTS = (
    "A changed script takes effect where the machine runs it from: put it there, on the card or in the program that pastes it "
    "in ({files})."
)
READ = "Restart the controller's program if it reads its files only once."
KEPT_BY_BOARD = (
    "A board that keeps settings of its own goes on with the old ones, whatever its files say. If yours keeps any, or you "
    "don't know, send it the new values too, as its maker says, or have it take them from its files."
)
SHOWN = "It keeps settings of its own ({files}): send it the new values too, as its maker says."
STORE = "Let it store them, so that they are there after the next start."
READ_BACK = (
    "Switch it off and on, ask it for the settings it uses, and compare each value of the table above with what it says. Where "
    "it shows an old one, stop: it is still in force."
)
COMPARE = "With what it said saved as the file DUMP, this does it: cfgmigrate compare {file} DUMP"


def steps(plan: Plan) -> list[str]:
    """What brings the written values into force, in order; nothing where no file changes."""
    return list(_steps(plan))


def _steps(plan: Plan) -> Iterator[str]:
    written: dict[str, set[str]] = {}
    for change in plan.changes:
        for edit in change.edits:
            written.setdefault(edit.file, set()).add(change.quantity)
    scripts = [file.path for file in plan.files if file.dialect == "command" and _only_moves(written, file)]
    changed = [file for file in plan.files if file.path in written and file.path not in scripts]
    if changed:
        yield from _of_settings(plan, changed)
    if scripts:
        yield SCRIPTS.format(files=", ".join(scripts))


def _only_moves(written: Mapping[str, Collection[str]], file: FileInput) -> bool:
    """Whether what is written into a file are numbers of a script's moves alone, so that it sets nothing by being sent."""
    return file.path in written and all(name.startswith(_OF_SCRIPTS) for name in written[file.path])


def _of_settings(plan: Plan, changed: Sequence[FileInput]) -> Iterator[str]:
    kinds = {file.dialect for file in changed}
    kept = [file.path for file in plan.files if file.role == Role.SAVED]
    kept += [file.path for file in changed if file.dialect == "command" and file.path not in kept]
    if "header" in kinds:
        yield BUILT
    if kinds - {"header", "command"}:
        yield READ
    if "command" in kinds:
        yield SENT
    elif kept:
        yield SHOWN.format(files=", ".join(kept))
    else:
        yield KEPT_BY_BOARD
    yield STORE
    yield f"{READ_BACK} {COMPARE.format(file=kept[0])}" if kept else READ_BACK
