"""A test script for the machine as it is configured, and its page.

The scripts themselves are in `trials/`; nothing is written here.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.files.roles import FileSet
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.workflow.inputs import Dialects, PathLike, Paths
from cfgmigrate.workflow.prepare import read_machine

if TYPE_CHECKING:
    from cfgmigrate.trials import Trial, Wishes, Written


@dataclass(frozen=True)
class MadeTrial:
    """A test script with what kind it is and for which machine."""

    trial: Trial
    written: Written
    machine: str
    roles: FileSet


def trial(
    name: str,
    paths: Paths,
    *,
    sheet: PathLike | None = None,
    wishes: Wishes | None = None,
    names: PathLike | None = None,
    dialects: Dialects = None,
    machine: Paths = (),
) -> MadeTrial:
    """The test script called `name` for the machine as it is configured: clearance, feed, cylinder, lag or retraction.

    `paths` are the configuration's files or folders, `sheet` is the swap sheet, for what they don't say. `wishes`
    ask for other temperatures (°C), starts, steps (mm, or s of lag), counts and heights (mm) than the usual ones.
    `names`, `dialects` and `machine` are those of `survey`.

    Gives the script's lines (`.written.text`) with what it measures; nothing is written. Raises BadInput where there
    is none of that name or a file can't be read, Refused where a limit that it needs is not known or would be left.
    """
    import difflib

    from cfgmigrate.sheet.reader import read_sheet
    from cfgmigrate.sheet.several import one_lane
    from cfgmigrate.trials import TRIALS, Wishes, bench_of

    if name not in TRIALS:
        near = difflib.get_close_matches(name, TRIALS, n=1, cutoff=0.0)[0]
        remedy = f"Did you mean {near!r}? There are: {', '.join(TRIALS)}."
        raise BadInput(f"there is no trial {name!r}", Place("trial"), remedy)
    swap = one_lane(read_sheet(Path(sheet))) if sheet is not None else None
    configuration, found = read_machine(paths, names, dialects, machine, certain=True)
    bench = bench_of(found, swap, wishes or Wishes(), configuration.root.name)
    return MadeTrial(TRIALS[name], TRIALS[name].write(bench), bench.name, configuration.roles)


def trial_page(made: MadeTrial) -> str:
    """The text of a page about a test script, `made` by `trial`, with a picture of its path."""
    from cfgmigrate.reports.trial_page import render_trial

    return render_trial(made.written, made.trial.says, made.machine, made.trial.measured)
