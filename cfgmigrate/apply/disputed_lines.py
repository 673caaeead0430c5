"""Values in files of several machines on which their packets do not agree: each would write another one into the same line.

A file has one value for all that read it. Where every packet may write it (`swapped together`), the install that comes last
would win, and the machine that is installed first would run with the other's limit or current. What the others have there is
known by two ways: an install of another machine stands in the history that both share, or a fleet's packets, made in one run,
are held against one another (`fleet/disputes.py`). What a packet keeps because it stands there already as right counts as if it
wrote it: the other's value would be as wrong for this machine. What becomes of such a line is in `plan/lines_disputed.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import UNSET, Struct
from msgspec.structs import replace

from cfgmigrate.apply.former_words import in_present_words
from cfgmigrate.apply.locate import SpanState
from cfgmigrate.apply.other_machines import is_others, others_files_of
from cfgmigrate.apply.past_steps import Lookup, newest_first
from cfgmigrate.dialects.decimal_commas import number_in_points
from cfgmigrate.plan.basis import OtherText
from cfgmigrate.plan.lines_disputed import kept_in
from cfgmigrate.plan.model import Plan
from cfgmigrate.store.history import read_history
from cfgmigrate.store.keeping import Store


class Claim(Struct, frozen=True):
    """That a machine's packet writes `text` at the byte `start` of a file, or keeps it there as right."""

    start: int
    machine: str
    text: str


Claims = Mapping[str, Sequence[Claim]]


def with_disputed(
    plan: Plan, root: Path, present: Mapping[str, bytes], claimed: Claims | None = None
) -> Plan:
    """The plan with what other machines have at the places that it edits, where that is another value. `claimed` is what
    other packets write, by where the files lie."""
    edits = {(edit.file, edit.start): edit.new for change in plan.changes for edit in change.edits}
    wants = {**{(each.file, each.start): each.text for each in kept_in(plan)}, **edits}
    claims = [*_in_history(root, present)] if edits else []
    for file in dict.fromkeys(file for file, _ in wants) if claimed else ():
        claims += [(file, claim) for claim in (claimed or {}).get(str((root / file).resolve()), ())]
    told = tuple(
        OtherText(file, claim.start, claim.machine, claim.text, wants[file, claim.start])
        for file, claim in dict.fromkeys(claims)
        if (file, claim.start) in wants and not same_number(wants[file, claim.start], claim.text)
    )
    return replace(plan, basis=replace(plan.basis, disputed=told)) if told else plan


def claims_of(name: str, plan: Plan) -> tuple[tuple[str, Claim], ...]:
    """What a machine's packet writes, or would if nobody disputed it, or keeps as right already, with where the file lies."""
    wants = [(edit.file, edit.start, edit.new) for change in plan.changes for edit in change.edits]
    wants += [(each.file, each.start, each.text) for each in kept_in(plan)]
    disputed = plan.basis.disputed
    wants += [(each.file, each.start, each.ours) for each in (disputed if disputed is not UNSET else ())]
    where = {file: str(Path(plan.root, file).resolve()) for file in {file for file, *_ in wants}}
    return tuple((where[file], Claim(start, name, text)) for file, start, text in dict.fromkeys(wants))


def disputed_in(plan: Plan) -> tuple[tuple[str, Claim], ...]:
    """What a packet knows that others would write against it, with where the file lies."""
    found = plan.basis.disputed
    return tuple(
        (str(Path(plan.root, each.file).resolve()), Claim(each.start, each.machine, each.text))
        for each in (found if found is not UNSET else ())
    )


def same_number(one: str, other: str) -> bool:
    """Whether two texts of a file say the same, as `0.0` and `0` do."""
    try:
        return one == other or float(number_in_points(one)) == float(number_in_points(other))
    except ValueError:
        return False


def _in_history(root: Path, present: Mapping[str, bytes]) -> Iterator[tuple[str, Claim]]:
    """What installs of other machines that share this one's history put into its files, and stands there still."""
    store = Store(root.resolve())
    past = in_present_words(read_history(store))
    if not past.whole:
        return
    for seen in newest_first(past.entries, Lookup(store), present, "install"):
        if not seen.standing or not is_others(
            seen.entry, others_files_of(store, seen.entry, present, past), present
        ):
            continue
        for name in seen.standing:
            found = seen.values[name]
            if found.state is SpanState.INSTALLED:
                yield name[0], Claim(found.start, seen.entry.machine, found.present)
