"""What stands in the sheet and can hardly be meant, each a doubt at its line.

That is a profile that no file has, a number far beyond what is usual, an answer that something is as before beside figures by
which it is not (`as_before.py`), and a height that a slip of paper says and that stands there as if it were measured.

Nothing else changes by it. A value that can't be right at all is refused when the sheet is read (`fields.py`), and what a rule
can hold against the files is the rule's own warning.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.number_text import with_unit
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.as_before import as_before_and_not
from cfgmigrate.sheet.bench_talk import PAPER_MM
from cfgmigrate.sheet.model import Sheet, folded, folded_name, listed
from cfgmigrate.sheet.schema import sheet_schema

#: fields that say a height
_HEIGHTS = (".z", "_z", "probe_room")
_PAPER = pattern(rb"(?i)\bpaper\b")


def sheet_slips(machine: Machine, sheet: Sheet) -> Iterator[Doubt]:
    """A doubt for each such line, in the order of the sheet."""
    yield from _far(sheet)
    yield from _by_paper(sheet)
    yield from as_before_and_not(sheet.entries)
    yield from _of_no_profile(machine, sheet)


def _far(sheet: Sheet) -> Iterator[Doubt]:
    for path, entry in sheet.entries.items():
        field = sheet_schema().fields.get(path)
        if field is not None and abs(entry.value or 0.0) > field.rare_beyond:
            most = with_unit(f"{field.rare_beyond:g}", field.unit)
            why = f"{with_unit(f'{entry.value:.6g}', field.unit)} is very far: more than {most} is rarely so"
            remedy = "look at the unit and the decimal point; if it is so, measure it once more"
            yield Doubt(entry.place, f"{path}: {entry.text}", why, remedy)


def _by_paper(sheet: Sheet) -> Iterator[Doubt]:
    lines = sheet.source.decode("utf-8", "replace").splitlines() if _PAPER.search(sheet.source) else ()
    for path, entry in sheet.entries.items() if lines else ():
        told = entry.place.file == sheet.path and 0 < entry.place.line <= len(lines)
        if not told or not path.endswith(_HEIGHTS) or not entry.value or entry.uncertainty >= PAPER_MM:
            continue
        if _PAPER.search(lines[entry.place.line - 1].encode()):
            why = "by its line this is from a paper test: where a slip of paper drags, and no height that was measured"
            shown = with_unit(f"{entry.value:.6g} ± {PAPER_MM:g}", "mm")
            remedy = (
                f"write {shown}, so that it is taken for no more, or measure it; either way what follows from it is set finely "
                "by hand before anything is printed"
            )
            yield Doubt(entry.place, f"{path}: {entry.text}", why, remedy)


def _of_no_profile(machine: Machine, sheet: Sheet) -> Iterator[Doubt]:
    there = {folded(each) for each in machine.profiles}
    for holder, said in sheet.profiles.items():
        if holder in there or not said:
            continue
        called = {folded_name(each.name): each.name for each in machine.profiles if each.kind == holder.kind}
        near = difflib.get_close_matches(holder.name, called, n=1)
        remedy = f"did you mean {called[near[0]]}?" if near else f"it is one of: {listed(called.values())}"
        if not called:
            remedy = f"take it out; the files hold no {holder.kind} profile"
        why = f"no {holder.kind} profile of the files is called so: it has no effect"
        yield Doubt(next(iter(said.values())).place, f"{holder.kind}s: {holder.name}", why, remedy)
