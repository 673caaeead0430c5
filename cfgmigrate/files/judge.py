"""Which role each file has: the rules, in their order.

    1. What the user said; then what a file without a mark takes in is in force, whatever it is called.
    2. A mark with a direction (old, bak, before, a date) and enough settings shared with a file that has none
       make a kept copy; so does lying in a folder of such copies. A mark alone is nothing. What follows the whole
       name of another file, ending and all, is such a mark, whatever it says.
       One that says in prose that it is what the board has now and that it wins over the files is saved values.
    3. Of files that are much alike, one that is taken in counts and one that is not is a kept copy. Where includes
       don't decide, nor one says that it is superseded, it is asked which of them run.
    4. A filament's or a print's identity, fewer than two axes and little hardware make a profile, of a file that
       doesn't take in what has them; and so does lying beside several such profiles that set the same, or beside profiles
       and together with another one that sets the same. A header that nothing takes in is none: what it sets is set by
       those that are taken in, and it is kept.
    5. Setting codes without moves, beside files of another dialect, are saved values; and so is a file that says that the
       board or its panel writes it and sets some of what another one does, where that one says that it counts in the end.
       One that only says that it beats others is in force with them.
    6. Groups by include that set the same of two axes, or much the same under another machine's name or in a folder
       of their own, are different machines: it is asked which one is meant, unless all but one say that they are
       somebody else's.
       The rest is part of the machine.

Copies are told in `kept_copies.py`, look-alikes in `look_alikes.py`, profiles in `profile_files.py`, and machines in `machines_apart.py`.
Where something is asked, the roles given meanwhile are what is likeliest, and whoever writes must have the answer first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.board_kept import may_be_the_boards
from cfgmigrate.files.content import (
    PRINT_MOVES,
    without_one_heading,
)
from cfgmigrate.files.heads import is_own_test, says_another, says_board_writes, says_in_force, says_it_wins
from cfgmigrate.files.judging import Judging
from cfgmigrate.files.kept_copies import without_copies, without_headers_apart
from cfgmigrate.files.kept_listing import said_to_win
from cfgmigrate.files.look_alikes import without_look_alikes
from cfgmigrate.files.machines_apart import tell_machines_apart
from cfgmigrate.files.marks import folder_of, is_log
from cfgmigrate.files.own_scripts import in_own_codes, is_in_codes
from cfgmigrate.files.profile_files import profile_by_its_siblings, profile_by_itself
from cfgmigrate.files.roles import FileRole, Question, Role
from cfgmigrate.files.said_saved import is_said_to_be_saved, says_saved


class Judged(Struct, frozen=True):
    """The role of every document, and what has to be asked."""

    roles: Mapping[str, FileRole]
    questions: tuple[Question, ...] = ()


def judge(documents: Mapping[str, Document], root_name: str, said: Mapping[str, FileRole]) -> Judged:
    """Judges documents that were each read alone. `said` are roles that the user gave."""
    judging = Judging(documents, root_name, said)
    _rules(judging)
    return Judged(dict(sorted(judging.roles.items())), tuple(judging.questions))


def _rules(known: Judging) -> None:
    """The rules, each for what those before it left."""
    _give_no_configuration(known)
    live = without_headers_apart(known, without_copies(known))
    live = _without_said_saved(known, live)
    known.profiles = {path: why for path in live if (why := profile_by_itself(known, path))}
    known.profiles |= {path: why for path in live if (why := profile_by_its_siblings(known, path))}
    live = without_look_alikes(known, live)
    for path in live:
        if path in known.profiles:
            known.give(path, Role.PROFILE, known.profiles[path])
    _give_saved_values(known, live)
    tell_machines_apart(known, [path for path in live if path not in known.roles or path in known.meant])
    known.questions += may_be_the_boards(known.documents, known.content, known.roles)


def _give_no_configuration(known: Judging) -> None:
    """What is no configuration: this program's own test scripts, what is to be printed, logs."""
    included = set(known.includers)
    for path in known.left():
        content = known.content[path]
        if path in included:
            continue
        if is_own_test(known.documents[path]):
            known.give(path, Role.NONE, "it is a test script of this program")
        elif content.laid >= PRINT_MOVES and content.laid > len(content.values) / 3:
            why = f"it is something to print: {content.laid} of its moves lay filament down"
            known.give(path, Role.NONE, why)
        elif is_log(path.rpartition("/")[2]) and not _is_kept_as_log_book(known, path):
            known.give(path, Role.NONE, "its name says that it is a log")


def _is_kept_as_log_book(known: Judging, path: str) -> bool:
    """Whether a file that is called a log says that it is in force, or sets a machine, and no other does: commands that
    were sent may be a log's all the same, and a board's report at its start says what the machine's own file sets."""
    others = (other for other in known.documents if other != path and not is_log(other.rpartition("/")[2]))
    if says_in_force(known.documents[path]):
        return True
    own = known.documents[path].dialect != "command" and known.is_machine(path)
    return own and not any(map(known.is_machine, others))


def _without_said_saved(known: Judging, live: Sequence[str]) -> list[str]:
    """The files that are left when those are out that say that the board has them saved and that they win over the others."""
    said = {
        path: words
        for path in live
        if path not in known.roles and (words := says_saved(known.documents[path].data, path))
    }
    others = [known.documents[path] for path in live if path not in said]
    for path in said:
        if path not in known.includers and (words := is_said_to_be_saved(known.documents[path], others)):
            known.give(path, Role.SAVED, f"it says {words!r}")
    return [path for path in live if path not in known.roles or path in known.meant or path not in said]


def _give_saved_values(known: Judging, live: Sequence[str]) -> None:
    """What the board keeps: setting codes without moves, beside files of another dialect."""
    others = {known.documents[path].dialect for path in live if known.content[path].axis_letters}
    listings = [path for path in live if _is_a_listing(known, path)] if others - {"command"} else []
    anothers = {path: words for path in listings if (words := says_another(known.documents[path]))}
    for path in live:
        content = known.content[path]
        if path in anothers and len(anothers) < len(listings):
            known.give(path, Role.OTHER, f"it says {anothers[path]!r}")
            continue
        if path in listings:
            known.give(path, Role.SAVED, f"it holds {content.codes} lines of setting codes and no moves")
            continue
        by_board = says_board_writes(known.documents[path])
        said = by_board or says_it_wins(known.documents[path])
        for other in live if said else ():
            mine, theirs = content.values, known.content[other].values
            both = max(
                sum(name in theirs for name in names) for names in (mine, without_one_heading(mine))
            ) * (other != path and len(mine) < len(theirs))
            if both >= FEWEST_KEPT and said_to_win(path, [known.documents[other]]):
                why = f"it says {said!r}, and {other} says that it counts in the end"
                known.give(path, Role.SAVED if by_board else Role.IN_FORCE, why)


def _is_a_listing(known: Judging, path: str) -> bool:
    """Whether a file has setting codes and no moves, so that it may be what a board keeps."""
    content = known.content[path]
    alone = known.documents[path].dialect == "command" and content.codes and not content.moves
    return bool(alone) and path not in known.includers and not _is_own_script(known, path)


#: so much of another file's has one that the board writes
FEWEST_KEPT = 2


def _is_own_script(known: Judging, path: str) -> bool:
    """Whether a file seems to be a script in codes of its owner's own, by its name or since one beside it that ends alike
    has such a name: what it does is no value that the board keeps."""
    document = known.documents[path]
    if in_own_codes(document):
        return True
    beside = (folder_of(path), path.rpartition(".")[2])
    named = any(
        (folder_of(other), other.rpartition(".")[2]) == beside and in_own_codes(known.documents[other])
        for other in known.documents
    )
    return named and is_in_codes(document)
