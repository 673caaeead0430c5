"""After the swap: what follows from measurements, as a packet like that of `prepare`.

The measured sheet takes the place of the swap sheet; the swap sheet that it follows tells what was not measured.
"""

from __future__ import annotations

from dataclasses import replace as changed
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.workflow.inputs import Dialects, PathLike, Paths, optional
from cfgmigrate.workflow.prepare import Prepared, read_machine, with_result, write_out

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.rules.rule import Rule
    from cfgmigrate.sheet.model import Sheet

#: under this name the swap sheet that a measured sheet follows stands among a packet's sources
FOLLOWED = "swap.yaml"


def measured_sheet(measured: PathLike, sheet: PathLike | None = None) -> tuple[Sheet, Sheet | None]:
    """A measured sheet, and the swap sheet that it follows: `sheet`, else the one it names itself."""
    from cfgmigrate.sheet.reader import read_measured, read_sheet
    from cfgmigrate.sheet.several import one_lane

    found = one_lane(read_measured(Path(measured)))
    named = found.get("sheet")
    if sheet is not None:
        return found, one_lane(read_sheet(Path(sheet)))
    if named is None:
        return found, None
    return found, one_lane(read_sheet(Path(measured).parent / named.text))


def work_out_tuning(
    paths: Paths,
    measured: PathLike,
    *,
    sheet: PathLike | None = None,
    names: PathLike | None = None,
    dialects: Dialects = None,
    rules: PathLike | None = None,
    machine: Paths = (),
) -> Prepared:
    """Everything that `tune` works out, without writing anything. Raises BadInput where nothing was measured."""
    from cfgmigrate.plan.planning import plan_changes
    from cfgmigrate.rules import library, tuning
    from cfgmigrate.rules.lanes import one_lane

    own, followed = measured_sheet(measured, sheet)
    said = {path: entry for path, entry in own.entries.items() if path.startswith(tuning.MEASURED)}
    if not said:
        raise BadInput(
            "nothing was measured here",
            Place(str(measured)),
            "Fill in one part of it, such as measured.feed.",
        )
    loaded = library.tuning_book(optional(rules))
    joined = tuning.joined(own, followed)
    configuration, found = read_machine(paths, names, dialects, machine, certain=True)
    outcome = tuning.work_out_tuning(loaded, found, joined, library.tables())
    worked = one_lane(outcome, joined)
    plan = plan_changes(worked, loaded, found, joined, str(configuration.root), kind="tune")
    plan = changed(plan, swap=tuple((path, entry.text) for path, entry in said.items() if path in _fields()))
    sources = library.book_sources(loaded)
    if followed is not None:
        sources[FOLLOWED] = followed.source
    return with_result(plan, found, configuration, names, sources, own.source)


def tuning_rules(rules: PathLike | None = None) -> tuple[Rule, ...]:
    """The rules by which `tune` takes measurements in, in the order in which they are worked out; without those
    of the book that it shares."""
    from cfgmigrate.rules import library

    own = {path.stem for path in library.TUNING.glob("*.yaml")}
    whole = library.tuning_book(optional(rules))
    return tuple(rule for rule in whole.rules if rule.name in own)


def _fields() -> frozenset[str]:
    from cfgmigrate.sheet.schema import measured_schema

    return frozenset(measured_schema().fields)


def tune(
    paths: Paths,
    measured: PathLike,
    *,
    out: PathLike,
    sheet: PathLike | None = None,
    names: PathLike | None = None,
    dialects: Dialects = None,
    rules: PathLike | None = None,
    preparer: str | None = None,
    replace: bool = False,
    machine: Paths = (),
) -> Packet:
    """Work out what follows from measurements and write a packet.

    `paths` are the configuration's files or folders, `measured` is the measured sheet (`measured_starter` writes
    one to fill in), `out` the folder to write. `sheet` is the swap sheet that it follows, where it does not name it
    itself. `names`, `dialects`, `rules`, `preparer` and `replace` are those of `prepare`.

    Gives the packet as it was written. Its `sheet.yaml` is the measured sheet. Raises BadInput where a file or a
    sheet can't be read or nothing was measured, Refused where the result, read again, is not the plan.
    """
    found = work_out_tuning(
        paths, measured, sheet=sheet, names=names, dialects=dialects, rules=rules, machine=machine
    )
    return write_out(found, Path(out), names, preparer, replace)


def measured_starter(
    paths: Paths,
    sheet: str = "",
    *,
    names: PathLike | None = None,
    dialects: Dialects = None,
    machine: Paths = (),
) -> str:
    """The text of a commented measured sheet to fill in, with what is in force now.

    `paths` are the configuration's files or folders, `sheet` is the swap sheet's path as the measured sheet is to
    name it, `names`, `dialects` and `machine` are those of `survey`. Raises BadInput where a file can't be read.
    """
    from cfgmigrate.sheet.starter import measured_starter as write

    configuration, found = read_machine(paths, names, dialects, machine)
    return write(found, configuration.root.name, sheet)
