"""Copies that may be no copies: files in which the board may keep what it prefers to all others.

`saved.conf` is what a person calls a copy and what a board calls the values that it keeps. Taken for a copy it would go
on to say the old drive's values in silence, so it is asked. Two things speak for the board: before its first setting
the file says who writes it; or it is called saved and nothing else, and is no whole copy with the same values. A file
that is marked as old besides, or that says no more of its writer than the file in force does, is a copy.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.content import Content
from cfgmigrate.files.heads import says_board_writes
from cfgmigrate.files.marks import folder_marks, marks_of
from cfgmigrate.files.roles import FileRole, Option, Question, Role

#: the kind of these questions
THE_BOARDS = "saved"
SAVED_WORDS = frozenset(("save", "saved", "saves"))
#: words beside these that say no more of what is in a file
_NOTHING_MORE = frozenset(
    ("values", "value", "settings", "setting", "variables", "state", "data", "config", "by", "the", "board")
)
#: with so many of the machine's files such a one is compared
MOST_TAKEN = 100
#: a copy has at least this part of its original's settings
_WHOLE = 0.5


def may_be_the_boards(
    documents: Mapping[str, Document], content: Mapping[str, Content], roles: Mapping[str, FileRole]
) -> Iterator[Question]:
    """A question for each kept copy, unless somebody said what it is, that may hold the board's own values."""
    taken = [path for path, role in roles.items() if role.role.taken and path in documents][:MOST_TAKEN]
    for path, role in roles.items():
        if role.role is Role.COPY and not role.said and (why := _why(path, documents, content, taken)):
            text = f"{path} {why}. Does the board keep its values there and prefer them to those of the other files?"
            kept = f"{path} holds what the board keeps: {Role.SAVED}"
            yield Question(THE_BOARDS, text, (Option(kept, (path,)),), f"{path} is a kept copy", (path,))


def _why(
    path: str, documents: Mapping[str, Document], content: Mapping[str, Content], taken: list[str]
) -> str:
    name, ending = marks_of(path.rpartition("/")[2]), path.rpartition(".")[2].lower()
    if {*name.directed, *folder_marks(path).directed} - SAVED_WORDS:
        return ""
    said = says_board_writes(documents[path])
    if said and not any(says_board_writes(documents[other]) for other in taken):
        return f"says of itself: {said}"
    if not SAVED_WORDS & {*name.directed} or name.loose or {*name.bare} - _NOTHING_MORE - {ending}:
        return ""
    if any(name.bare and marks_of(other.rpartition("/")[2]).bare == name.bare for other in taken):
        return ""
    return next((why for other in taken if (why := _unlike(path, other, content))), "")


def _unlike(path: str, other: str, content: Mapping[str, Content]) -> str:
    """In what a file called saved is no plain copy of another one; "" where it is, or has nothing in common with it."""
    mine, theirs = content[path].values, content[other].values
    both = [name for name in mine if name in theirs]
    others = sum(mine[name] != theirs[name] for name in both)
    if others:
        return f"is called saved, and says other values than {other} ({others} of {len(both)})"
    if both and len(both) < _WHOLE * len(theirs):
        return f"is called saved, and has {len(both)} of the {len(theirs)} settings of {other}"
    return ""
