"""After the swap: what follows from measurements, as a packet like that of `prepare`.

The measured sheet takes the place of the swap sheet; the swap sheet that it follows tells what was not measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace as changed

from cfgmigrate.ground.findings import BadInput, Doubt, Place
from cfgmigrate.workflow.inputs import Dialects, PathLike, Paths, optional
from cfgmigrate.workflow.prepare import read_machine, with_result
from cfgmigrate.workflow.writing_out import Prepared, write_out

if TYPE_CHECKING:
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.plan.basis import ToldToStore
    from cfgmigrate.plan.model import Plan
    from cfgmigrate.rules.book import Book
    from cfgmigrate.rules.passes import Lane
    from cfgmigrate.rules.rule import Rule
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.sheet.several import Known

#: under this name the swap sheet that a measured sheet follows stands among a packet's sources
FOLLOWED = "swap.yaml"


def measured_sheet(
    measured: PathLike, sheet: PathLike | None = None, known: Known | None = None
) -> tuple[Sheet, Sheet | None]:
    """A measured sheet, and the swap sheet that it follows: `sheet`, else the one it names itself. `known` are the
    names by which they may call feeders and profiles."""
    from cfgmigrate.sheet.reader import read_measured, read_sheet
    from cfgmigrate.sheet.several import NO_NAMES

    names = known or NO_NAMES
    found = read_measured(Path(measured), names)
    named = found.get("sheet")
    if sheet is not None:
        return found, read_sheet(Path(sheet), names)
    if named is None:
        return found, None
    return found, read_sheet(Path(measured).parent / named.text, names)


def measured_lane(
    own: Sheet, followed: Sheet | None, known: Known, machine: Machine
) -> tuple[Lane, dict[Lane, Sheet]]:
    """The lane that a measured sheet names, and the flat sheet of each lane that it decides: with a profile that has
    alternatives that one alone, so that what others share is left to a sheet that names none."""
    from cfgmigrate.rules import tuning
    from cfgmigrate.rules.passes import Lane
    from cfgmigrate.sheet.model import OF_FILAMENT, OF_PRINT
    from cfgmigrate.workflow.lane import chosen, flat_sheet

    named = {path: entry.text for path in (OF_FILAMENT, OF_PRINT) if (entry := own.get(path)) is not None}
    lane = chosen(
        machine,
        known,
        filament=named.get(OF_FILAMENT, ""),
        print_profile=named.get(OF_PRINT, ""),
        sheets=(own, followed),
        remedy="Write in the measured sheet which one was measured: of: {feeder: 1}.",
    )
    lanes = [lane] if lane.profile != machine.only_profile else [Lane(lane.feeder), lane]
    flat = {
        each: tuning.joined(own, flat_sheet(followed, machine, each) if followed is not None else None)
        for each in dict.fromkeys(lanes)
    }
    return lane, {each: changed(said, feeder=each.feeder) for each, said in flat.items()}


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
    """Everything that `tune` works out, without writing anything. Raises BadInput where nothing was measured, Refused
    where it can't be told which feeder was."""
    from cfgmigrate.rules import library, tuning
    from cfgmigrate.workflow.lane import known_names

    loaded = library.tuning_book(optional(rules))
    configuration, found = read_machine(paths, names, dialects, machine, certain=True)
    known = known_names(configuration.site, found)
    own, followed = measured_sheet(measured, sheet, known)
    if not any(path.startswith(tuning.MEASURED) for path in own.entries):
        raise BadInput(
            "nothing was measured here",
            Place(str(measured)),
            "Fill in one part of it, such as measured.feed.",
        )
    root = configuration.root
    plan = plan_tuning(loaded, found, own, followed, known, str(root), _told_at(configuration))
    sources = library.book_sources(loaded)
    if followed is not None:
        sources[FOLLOWED] = followed.source
    return with_result(plan, found, configuration, names, sources, own.source)


def _told_at(configuration: Configuration) -> tuple[ToldToStore, ...]:
    """What earlier packets of this machine told to store at the board's console; nothing where the history is broken."""
    from cfgmigrate.apply.told_to_store import told_to_store
    from cfgmigrate.workflow.asked import history_of

    past = history_of(configuration)
    return told_to_store(past.entries) if past.whole else ()


def plan_tuning(
    loaded: Book,
    machine: Machine,
    own: Sheet,
    followed: Sheet | None,
    known: Known,
    root: str,
    told: Sequence[ToldToStore] = (),
) -> Plan:
    """The plan for what the measured sheet `own` says of a machine, after the swap sheet that it follows. `told` is what
    earlier packets told to store at the board's console."""
    from cfgmigrate.plan.basis import Basis
    from cfgmigrate.plan.measured_in_vain import measured_in_vain
    from cfgmigrate.plan.other_machine import sheets_of_another
    from cfgmigrate.plan.own_values_win import own_values_win
    from cfgmigrate.plan.planning import plan_changes
    from cfgmigrate.plan.stored_by_hand import as_stored
    from cfgmigrate.rules import library, tuning

    lane, sheets = measured_lane(own, followed, known, machine)
    stored = as_stored(machine, told, own, lane.feeder)
    machine = stored.machine
    worked = tuning.work_out_tuning(loaded, machine, sheets, library.tables())
    plan = plan_changes(worked, loaded, machine, sheets[lane], root, kind="tune")
    basis = Basis(follows=followed.path if followed is not None else "", stored=stored.taken)
    others = sheets_of_another(machine, (own, followed), root)
    left = (
        *(each.doubt for each in others),
        *stored.doubts,
        *own_values_win(machine, plan, lane.feeder),
        *measured_in_vain(loaded.rules, worked, plan, own),
        *(_still_open(machine, followed) if followed is not None else ()),
    )
    return changed(
        plan,
        swap=_moved_by(own),
        basis=basis,
        doubts=tuple(dict.fromkeys((*plan.doubts, *left))),
        lights=(*plan.lights, *(each.light for each in others)),
    )


def _still_open(machine: Machine, swap: Sheet) -> tuple[Doubt, ...]:
    """What the swap left open in the scripts, as the files are now."""
    from cfgmigrate.rules import library
    from cfgmigrate.rules.lanes import work_out_lanes
    from cfgmigrate.scripts.still_open import still_open

    worked = work_out_lanes(library.book(), machine, swap, library.tables())
    lane = next(iter(worked.lanes))
    return still_open(machine, worked.base, worked.sheets[lane], lane.feeder, worked.swapped)


def tuning_rules(rules: PathLike | None = None) -> tuple[Rule, ...]:
    """The rules by which `tune` takes measurements in, in the order in which they are worked out; without those
    of the book that it shares."""
    from cfgmigrate.rules import library

    own = {path.stem for path in library.TUNING.glob("*.yaml")}
    whole = library.tuning_book(optional(rules))
    return tuple(rule for rule in whole.rules if rule.name in own)


def _moved_by(measured: Sheet) -> tuple[tuple[str, str], ...]:
    """What was measured: field and text."""
    from cfgmigrate.rules import tuning

    known = _fields()
    return tuple(
        (path, entry.text)
        for path, entry in measured.entries.items()
        if path.startswith(tuning.MEASURED) and path in known
    )


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
    swap: PathLike | None = None,
    feeder: str = "",
    filament: str = "",
    print_profile: str = "",
    names: PathLike | None = None,
    dialects: Dialects = None,
    machine: Paths = (),
) -> str:
    """The text of a commented measured sheet to fill in, with what is in force now.

    `paths` are the configuration's files or folders, `sheet` is the swap sheet's path as the measured sheet is to
    name it, and `swap` where it lies, so that it may say which feeder. `feeder` (its number or name), `filament` and
    `print_profile` say what is measured, where there are several; `names`, `dialects` and `machine` are those of `survey`.

    Raises BadInput where a file can't be read, Refused where it can't be told
    which files are the machine's, or which feeder is meant.
    """
    from cfgmigrate.plan.stored_by_hand import last_told
    from cfgmigrate.sheet.model import OF_FEEDER, OF_FILAMENT, OF_PRINT
    from cfgmigrate.sheet.reader import read_sheet
    from cfgmigrate.sheet.starter import measured_starter as write
    from cfgmigrate.workflow.lane import chosen, known_names

    configuration, found = read_machine(paths, names, dialects, machine, certain=True)
    known = known_names(configuration.site, found)
    asked = read_sheet(Path(swap), known) if swap is not None else None
    lane = chosen(
        found,
        known,
        sheets=(asked,),
        feeder=feeder,
        filament=filament,
        print_profile=print_profile,
        remedy="Say which one is measured: --feeder 1.",
    )
    of = {OF_FEEDER: str(lane.feeder)} if len(found.feeders) > 1 else {}
    if lane.profile is not None and lane.profile != found.only_profile:
        of[OF_FILAMENT if lane.profile.kind == "filament" else OF_PRINT] = lane.profile.name
    view = found.view(lane.feeder, lane.profile)
    name = (asked.machine if asked is not None else "") or configuration.root.name
    return write(view, name, sheet, of, last_told(view.readings, _told_at(configuration)))
