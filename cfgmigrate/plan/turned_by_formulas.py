"""A changed length by which a formula of the header comes to less than nothing: `LOAD_FAST (PATH_MM - 60)` once the path is 42.

Such a load pulls, and draws soft filament into the cold part. The changed line says so among what is dangerous, and the light
of the retraction is not set before somebody has looked at it; the question about the formula is asked elsewhere
(`formulas_that_follow.py`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.machine.collect import definitions_of
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.formulas_that_follow import Followed
from cfgmigrate.plan.model import Change

#: what is fed by a length of these
_OF_FEEDING = ("feeder.", "retraction.", "runout.")
#: how it ends, by which a light knows it again
THE_OTHER_WAY = "goes the other way"
FOLLOWS = ", which follows this,"
TURNED = f"less than nothing, so it {THE_OTHER_WAY}. Write the number that is right there by hand before this is installed."


def with_turned(machine: Machine, changes: Sequence[Change], following: Iterable[Followed]) -> list[Change]:
    """The changes, with a warning for each formula that comes to less than nothing by a length of the feeder's."""
    turned = [each for each in following if each.after is not None and each.after < 0 <= each.before]
    if not turned:
        return [*changes]
    defined = definitions_of(machine.documents)
    found = []
    for change in changes:
        rests = [
            each
            for each in turned
            if change.quantity.startswith(_OF_FEEDING)
            and any(_sets(change, *defined[name]) for name in each.names)
        ]
        said = tuple(_said(each) for each in rests)
        found.append(replace(change, warnings=(*change.warnings, *said)) if said else change)
    return found


def turned_by(changes: Iterable[Change]) -> str:
    """What the changes turn round, for a light; "" for nothing."""
    told = (each for change in changes for each in change.warnings if each.endswith(TURNED))
    said = (each.removesuffix(f": {TURNED}").replace(FOLLOWS, "") for each in told)
    return " and ".join(f"{each} then, and {THE_OTHER_WAY}" for each in dict.fromkeys(said))


def _sets(change: Change, document: Document, setting: Setting) -> bool:
    return any(
        edit.file == document.path and setting.start <= edit.start and edit.end <= setting.end
        for edit in change.edits
    )


def _said(each: Followed) -> str:
    setting = each.setting
    return f"{setting.key} ({each.document.path}:{setting.line}){FOLLOWS} comes to {each.after:g}: {TURNED}"
