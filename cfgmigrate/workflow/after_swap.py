"""What comes after the swap, as typed functions: tuning from measurements, test scripts, what to look at, the record.

As in `api.py`: every function takes paths, gives back frozen values, prints nothing and asks nothing, and
raises `BadInput` or `Refused`, and then nothing was written. This module only puts the packages together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.machine.model import Machine
from cfgmigrate.workflow.prepare import Dialects, PathLike, Prepared, read_machine, with_result, write_out

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.rules.rule import Rule
    from cfgmigrate.rules.symptoms import Guidance
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.trials import Trial, Wishes, Written

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
    paths: Sequence[PathLike],
    measured: PathLike,
    sheet: PathLike | None = None,
    names: PathLike | None = None,
    dialects: Dialects = None,
    rules: PathLike | None = None,
) -> Prepared:
    """Everything that `tune` works out, without writing anything. Raises BadInput where nothing was measured."""
    from cfgmigrate.plan.planning import plan_changes
    from cfgmigrate.rules import library, tuning

    own, followed = measured_sheet(measured, sheet)
    said = {path: entry for path, entry in own.entries.items() if path.startswith(tuning.MEASURED)}
    if not said:
        raise BadInput(
            "nothing was measured here",
            Place(str(measured)),
            "Fill in one part of it, such as measured.feed.",
        )
    loaded = library.tuning_book(Path(rules) if rules is not None else None)
    joined = tuning.joined(own, followed)
    configuration, machine = read_machine(paths, names, dialects)
    outcome = tuning.work_out_tuning(loaded, machine, joined, library.tables())
    plan = plan_changes(outcome, loaded, machine, joined, str(configuration.root), kind="tune")
    plan = replace(plan, swap=tuple((path, entry.text) for path, entry in said.items() if path in _fields()))
    sources = library.book_sources(loaded)
    if followed is not None:
        sources[FOLLOWED] = followed.source
    return with_result(plan, machine, configuration, names, sources, own.source)


def tuning_rules(rules: PathLike | None = None) -> tuple[Rule, ...]:
    """The rules by which `tune` takes measurements in, in the order in which they are worked out; without those
    of the book that it shares."""
    from cfgmigrate.rules import library

    own = {path.stem for path in library.TUNING.glob("*.yaml")}
    whole = library.tuning_book(Path(rules) if rules is not None else None)
    return tuple(rule for rule in whole.rules if rule.name in own)


def _fields() -> frozenset[str]:
    from cfgmigrate.sheet.schema import measured_schema

    return frozenset(measured_schema().fields)


def tune(
    paths: Sequence[PathLike],
    measured: PathLike,
    out: PathLike,
    sheet: PathLike | None = None,
    names: PathLike | None = None,
    dialects: Dialects = None,
    rules: PathLike | None = None,
    preparer: str | None = None,
    replace: bool = False,
) -> Packet:
    """A packet like that of `prepare`, from measurements. Its `sheet.yaml` is the measured sheet; the swap
    sheet that it follows stands among the rules. `replace` as for `prepare`."""
    found = work_out_tuning(paths, measured, sheet, names, dialects, rules)
    return write_out(found, Path(out), names, preparer, replace)


def measured_starter(
    paths: Sequence[PathLike],
    sheet: str = "",
    names: PathLike | None = None,
    dialects: Dialects = None,
) -> str:
    """A commented measured sheet to fill in, with what is in force now; `sheet` is the swap sheet's path in it."""
    from cfgmigrate.sheet.starter import measured_starter as write

    configuration, machine = read_machine(paths, names, dialects)
    return write(machine, configuration.root.name, sheet)


@dataclass(frozen=True)
class MadeTrial:
    """A test script with what kind it is and for which machine."""

    trial: Trial
    written: Written
    machine: str


def trial(
    name: str,
    paths: Sequence[PathLike],
    sheet: PathLike | None = None,
    wishes: Wishes | None = None,
    names: PathLike | None = None,
    dialects: Dialects = None,
) -> MadeTrial:
    """The test script of that name for the machine as it is configured. Raises BadInput where there is none of
    that name, Refused where a limit that it needs is not known or would be left. Nothing is written."""
    import difflib

    from cfgmigrate.sheet.reader import read_sheet
    from cfgmigrate.sheet.several import one_lane
    from cfgmigrate.trials import TRIALS, Wishes, bench_of

    if name not in TRIALS:
        near = difflib.get_close_matches(name, TRIALS, n=1, cutoff=0.0)[0]
        remedy = f"Did you mean {near!r}? There are: {', '.join(TRIALS)}."
        raise BadInput(f"there is no trial {name!r}", Place("trial"), remedy)
    swap = one_lane(read_sheet(Path(sheet))) if sheet is not None else None
    configuration, machine = read_machine(paths, names, dialects)
    bench = bench_of(machine, swap, wishes or Wishes(), configuration.root.name)
    return MadeTrial(TRIALS[name], TRIALS[name].write(bench), bench.name)


def trial_page(made: MadeTrial) -> str:
    """A test script as a page, with a picture of its path."""
    from cfgmigrate.reports.trial_page import render_trial

    return render_trial(made.written, made.trial.says, made.machine, made.trial.measured)


def guide(
    seen: Sequence[str],
    paths: Sequence[PathLike] = (),
    sheet: PathLike | None = None,
    names: PathLike | None = None,
    dialects: Dialects = None,
    measured: PathLike | None = None,
) -> tuple[Guidance, ...]:
    """What to look at for each thing seen, ranked by this machine's own numbers; without files and sheets by
    what is usual. Raises BadInput where nothing is known of what was seen."""
    from cfgmigrate.rules import library, symptoms, tuning
    from cfgmigrate.sheet.reader import parse_sheet, read_sheet
    from cfgmigrate.sheet.several import one_lane

    known = [symptoms.symptom(text) for text in seen]
    swap = one_lane(read_sheet(Path(sheet))) if sheet is not None else parse_sheet(b"", "no sheet")
    own, followed = measured_sheet(measured, sheet) if measured is not None else (swap, swap)
    joined = tuning.joined(own, followed)
    machine = read_machine(paths, names, dialects)[1] if paths else Machine((), ())
    _, scope = tuning.state_of(library.tuning_book(), machine, joined, library.tables())
    return tuple(symptoms.guidance(one, scope) for one in dict.fromkeys(known))


def record(root: PathLike, form: str) -> str:
    """The machine's record from the history at a configuration, as "markdown" or "html"."""
    from cfgmigrate.reports.record import render_html, render_markdown
    from cfgmigrate.store.history import history

    place = Path(root)
    return {"markdown": render_markdown, "html": render_html}[form](history(place), place.resolve().name)
