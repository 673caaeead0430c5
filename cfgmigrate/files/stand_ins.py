"""What may stand before the machine's own file, which can't be read: its copy, or a part of it alone.

A file that is empty, torn or in some other writing may be the machine's own all the same; what is left is then its copy
(`ladle.conf.part` beside `ladle.conf`), which reads as whole and which no machine reads. So it is asked which one the machine
reads. A link that leads out of the folder is not followed, and what it leads to may be what takes all the others in, and wins over
them: it counts as a file that can't be read.

This module looks at names only. What a file holds, and where a link leads, it does not look at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from cfgmigrate.files.found import OUTSIDE
from cfgmigrate.files.gaps import ending_of
from cfgmigrate.files.marks import folder_of, longer_than, marks_of
from cfgmigrate.files.roles import FileRole, Option, Question
from cfgmigrate.files.telling import may_be_configuration


def stand_ins(
    roles: Mapping[str, FileRole], unread: Iterable[str], questions: Iterable[Question]
) -> Iterator[Question]:
    """A question for each file that counts by nobody's word and that, by its name, is a copy of one of those that could not
    be read, unless it is asked about already."""
    asked = {path for question in questions for option in question.options for path in option.files}
    broken = [path for path in unread if may_be_configuration(path) and not roles[path].stated]
    for path, role in roles.items():
        if not role.role.taken or role.said or path in asked or " takes it in" in role.why:
            continue
        if own := next((each for each in broken if _is_copy_of(path, each)), ""):
            text = (
                f"{own} can't be read ({roles[own].why}), and {path} is a copy of it by its name. Mend {own} and run this again; or "
                f"does the machine read {path}?"
            )
            yield Question("machine", text, (Option(path, (path,)),))


def links_that_may_be_the_machine(roles: Mapping[str, FileRole]) -> Iterator[tuple[str, str]]:
    """Links that lead out of the folder and end like a file that counts, each with what to do."""
    endings = {ending_of(path) for path, role in roles.items() if role.role.taken}
    for path, role in roles.items():
        if role.why == OUTSIDE and not role.stated and ending_of(path) in endings:
            yield path, f"{OUTSIDE}, and what it leads to may count before all others; name that file too"


def _is_copy_of(path: str, own: str) -> bool:
    """Whether a file's name is that of another file beside it, with a tail or with what copies are called by."""
    if path == own or folder_of(path) != folder_of(own):
        return False
    name, whole = path.rpartition("/")[2], own.rpartition("/")[2]
    marks, theirs = marks_of(name), marks_of(whole)
    marked = bool(marks.directed or marks.loose) and not (theirs.directed or theirs.loose)
    return bool(longer_than(name, {whole.casefold()})) or (marked and marks.bare == theirs.bare)
