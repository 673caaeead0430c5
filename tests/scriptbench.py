"""A swap of one script alone: its limits and its path before and after, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.planning import plan_changes
from cfgmigrate.rules.book import Book
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.lanes import one_lane
from cfgmigrate.rules.result import Derivation, Input, Result, Status
from cfgmigrate.sheet.reader import parse_sheet

FRAME = """\
[axis x]
lowest point = -4
highest spot = 240

[axis z]
highest spot = 262

[retraction]
retraction length = 4.6
"""
OLD, NEW = 262.0, 249.0
TUBES = "old:\n  tube: {length: 365 mm}\nnew:\n  tube: {length: 41 mm}\n"


def result(
    target: str, value: float, rule: str = "", unit: str = "mm", of: str = "clearance.highest_z"
) -> Result:
    """A result as a rule would give it, of one input."""
    source = Input(of, "clearance", value, unit, 0.0, "swap.yaml:1")
    way = Derivation(of, f"{value:g}", (source,), "measured")
    return Result(rule or target, target, rule or target, unit, value, 0.0, Status.MEASURED, "measured", way)


@dataclass(frozen=True)
class Swapped:
    """A plan, and the script's file before and after it."""

    plan: Plan
    before: str
    after: str

    def changed(self) -> dict[str, tuple[str, str]]:
        return {
            change.quantity: (change.edits[0].old, change.edits[0].new)
            for change in self.plan.changes
            if change.quantity.startswith("script.")
        }

    def doubts(self) -> list[str]:
        return [f"{doubt.place.line}: {doubt.why}" for doubt in self.plan.doubts]


def swap(
    script: str,
    *results: Result,
    sheet: str = "machine: Wren\n",
    name: str = "script end",
    dialect: str = "sectioned",
    frame: str = FRAME,
) -> Swapped:
    """What a swap does to one script. `script` is a file of its own in the dialects `flat` and `command`."""
    if dialect == "sectioned":
        script = f"[{name}]\nlines =\n" + "".join(f"    {line}\n" for line in script.splitlines())
    before = {"a_frame.conf": frame.encode(), "routines.conf": script.encode("latin-1")}
    documents = [
        read("a_frame.conf", before["a_frame.conf"], "sectioned"),
        read("routines.conf", before["routines.conf"], dialect),
    ]
    outcome = Outcome(tuple(results), (), ())
    said = parse_sheet(sheet.encode(), "swap.yaml")
    plan = plan_changes(one_lane(outcome, said), Book((), {}), recognise(documents), said, "")
    after = {**before}
    for path, edits in edits_by_file(plan.changes).items():
        after[path] = apply_edits(before[path], edits)
    return Swapped(plan, script, after["routines.conf"].decode("latin-1"))


def lower(script: str, **more: object) -> Swapped:
    """The highest z comes down from 262 to 249 mm."""
    return swap(script, result("axis.z.max", NEW), **more)  # type: ignore[arg-type]


def shorten(script: str, name: str = "script load", old: float = 410, new: float = 86) -> Swapped:
    """The filament's path goes from 365 mm of tube to 41 mm, and the hot end's 45 mm."""
    results = result("", old, "path.length_old"), result("", new, "path.length_new")
    return swap(script, *results, sheet=TUBES, name=name)
