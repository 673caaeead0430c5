"""A test script for the machine as it is configured, and its page.

The scripts themselves are in `trials/`; nothing is written here.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.files.roles import FileSet
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.trials import Trial, Written
from cfgmigrate.workflow.inputs import Dialects, PathLike, Paths
from cfgmigrate.workflow.prepare import read_machine

if TYPE_CHECKING:
    from cfgmigrate.files.site import Site
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.rules.passes import Lane
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.trials import Wishes


class MadeTrial(Struct, frozen=True):
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
    feeder: str = "",
    filament: str = "",
    print_profile: str = "",
    wishes: Wishes | None = None,
    names: PathLike | None = None,
    dialects: Dialects = None,
    machine: Paths = (),
) -> MadeTrial:
    """The test script called `name` for the machine as it is configured: clearance, feed, cylinder, lag or retraction.

    `paths` are the configuration's files or folders, `sheet` is the swap sheet, for what they don't say. `wishes`
    ask for other temperatures (°C), starts, steps (mm, or s of lag), counts and heights (mm) than the usual ones.
    `feeder` (its number or name), `filament` and `print_profile` say for what, where the machine has several. `names`, `dialects` and `machine` are those of `survey`.

    Gives the script's lines (`.written.text`) with what it measures; nothing is written. Raises BadInput where there
    is none of that name or a file can't be read, Refused where a limit that it needs is not known or would be left,
    or nothing says which of several feeders is meant, or by which line it is taken.
    """
    import difflib

    from cfgmigrate.plan.other_machine import sheets_of_another
    from cfgmigrate.scripts.feed_letter import USUAL, feed_letter
    from cfgmigrate.sheet.reader import read_sheet
    from cfgmigrate.trials import TRIALS, Wishes, bench_of
    from cfgmigrate.trials.all_at_once import written_or_all_it_lacks
    from cfgmigrate.trials.bench import check_wishes
    from cfgmigrate.workflow.lane import chosen, flat_sheet, known_names

    if name not in TRIALS:
        near = difflib.get_close_matches(name, TRIALS, n=1, cutoff=0.0)[0]
        remedy = f"Did you mean {near!r}? There are: {', '.join(TRIALS)}."
        raise BadInput(f"there is no trial {name!r}", Place("trial"), remedy)
    check_wishes(name, wishes or Wishes())
    configuration, found = read_machine(paths, names, dialects, machine, certain=True)
    known = known_names(configuration.site, found)
    swap = read_sheet(Path(sheet), known) if sheet is not None else None
    lane = chosen(
        found,
        known,
        feeder=feeder,
        filament=filament,
        print_profile=print_profile,
        sheets=(swap,),
        remedy="Say for which one the script is: --feeder 1.",
    )
    said = flat_sheet(swap, found, lane) if swap is not None else None
    if swap is not None and said is not None and not (filament or print_profile):
        said = _as_soft_as_either(said, swap)
    asked = _with_its_tool(wishes or Wishes(), found, lane, configuration.site)
    view = found.view(lane.feeder, lane.profile)
    letter = feed_letter(found)
    if letter != USUAL and len(found.feeders) > 1:
        remedy = "Do by hand, at the panel, what the guide tells for that feeder; it needs no script."
        raise BadInput(
            f"the scripts move filament by {letter}, and which of the {len(found.feeders)} feeders that is they do not say",
            Place("trial"),
            remedy,
        )
    bench = bench_of(view, said, asked, configuration.root.name, letter)
    written = written_or_all_it_lacks(TRIALS[name].write, bench)
    others = sheets_of_another(found, (swap,), str(configuration.root))
    asked_first = tuple(("look first", f"{each.doubt.why}. {each.doubt.remedy}") for each in others)
    written = replace(written, facts=(*asked_first, *written.facts))
    return MadeTrial(TRIALS[name], written, bench.name, configuration.roles)


def _as_soft_as_either(said: Sheet, swap: Sheet) -> Sheet:
    """What is said for a lane whose only profile nobody named, with the sheet's own filament where that is the softer one."""
    from cfgmigrate.sheet.model import MATERIAL
    from cfgmigrate.trials.bench import is_soft

    own = swap.get(MATERIAL)
    return (
        replace(said, entries={**said.entries, MATERIAL: own}) if own is not None and is_soft(own) else said
    )


def _with_its_tool(wishes: Wishes, machine: Machine, lane: Lane, site: Site) -> Wishes:
    """The wishes with the line that takes the lane's feeder, where the machine has several."""
    from cfgmigrate.trials.tool import tool_line

    if len(machine.feeders) < 2 or wishes.feeder_line:
        return wishes
    names = next((each.known_as for each in site.feeders if each.number == lane.feeder), ())
    line = tool_line(machine, lane.feeder, names, site.counts_from)
    if not line:
        raise Refused(
            f"the machine has several feeders, and nothing in its scripts says by which line feeder {lane.feeder} is taken",
            Place("trial"),
            f"Nothing was written. Say it: --feeder-line 'T{lane.feeder - 1}', if that is the line on your machine.",
        )
    return replace(wishes, feeder_line=line)


def trial_page(made: MadeTrial) -> str:
    """The text of a page about a test script, `made` by `trial`, with a picture of its path."""
    from cfgmigrate.reports.trial_page import render_trial

    return render_trial(made.written, made.trial.says, made.machine, made.trial.measured)
