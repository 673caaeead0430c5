"""Which filaments were taken to be of the sheet's material because nothing says their own: asked at once, as a table.

A filament's material stands in its profile, in the site file or in the sheet, by the filament's name. Where there are
several filaments and one of them says none, the sheet's `filament:` was taken for it, and its values rest on that.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Holder, Machine
from cfgmigrate.plan.model import Change
from cfgmigrate.rules.lanes import material_of
from cfgmigrate.sheet.model import MATERIAL, Sheet, folded
from cfgmigrate.sheet.schema import TABLE_OF, table_keys
from cfgmigrate.sheet.starter import scalar


def materials(machine: Machine, sheet: Sheet, changes: Iterable[Change]) -> Iterator[Doubt]:
    """One doubt for all filaments whose values change and whose material was not said."""
    changing = {change.holder for change in changes}
    filaments = [each for each in machine.found_profiles if each.holder.kind == "filament"]
    silent = [
        each
        for each in filaments
        if str(each.holder) in changing
        and material_of(machine, each.holder) is None
        and MATERIAL not in sheet.profiles.get(folded(each.holder), {})
    ]
    unheard = [each.material for each in silent if each.material]
    if not silent or (len(filaments) < 2 and not unheard):
        return
    taken = sheet.get(MATERIAL)
    strange = [f"{each.holder.name} {each.material}" for each in silent if each.material]
    why = "nothing says of what material these filaments are"
    why += f", or it is one that there are no figures of ({', '.join(strange)})" if strange else ""
    why += f"; they were taken to be {taken.text}, as the sheet's filament" if taken is not None else ""
    table = ", ".join(_row(each.holder) for each in silent)
    remedy = f"Say it in the sheet, PLA or whatever each is, and prepare again: filaments: {{{table}}}"
    if near := dict.fromkeys(_nearest(each) for each in unheard if _nearest(each)):
        remedy += f"; did you mean {' or '.join(near)}?"
    names = ", ".join(each.holder.name for each in silent)
    yield Doubt(silent[0].place, names, why, remedy)


def _nearest(material: str) -> str:
    """The material with figures that is written most alike, "" where none is."""
    known = {each.casefold(): each for each in table_keys(TABLE_OF["material"])}
    near = difflib.get_close_matches(material.casefold(), known, n=1)
    return known[near[0]] if near else ""


def _row(holder: Holder) -> str:
    return f"{scalar(holder.name)}: {{material: …}}"
