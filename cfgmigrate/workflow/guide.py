"""What to look at next, for what is seen.

What may be seen and where it leads is in the knowledge; here it is asked with this machine's own numbers.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.machine.model import Machine
from cfgmigrate.workflow.inputs import Dialects, PathLike, Paths, listed
from cfgmigrate.workflow.prepare import read_machine
from cfgmigrate.workflow.tune import measured_sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cfgmigrate.rules.symptoms import Guidance


def guide(
    seen: str | Sequence[str],
    paths: Paths = (),
    *,
    sheet: PathLike | None = None,
    measured: PathLike | None = None,
    feeder: str = "",
    filament: str = "",
    print_profile: str = "",
    names: PathLike | None = None,
    dialects: Dialects = None,
    machine: Paths = (),
) -> tuple[Guidance, ...]:
    """What to look at for each thing seen, the likeliest and cheapest first.

    `seen` are words such as "strings" or "clicks", one or several. With `paths`, `sheet` and `measured` the order
    goes by this machine's own numbers, without them by what is usual.
    `feeder`, `filament` and `print_profile` say which one is looked at, where the machine has several. `names`, `dialects` and `machine` are those of `survey`.

    Gives one `Guidance` for each thing seen: its hints in order, each with its check. Raises BadInput where nothing
    is known of what was seen, or a file can't be read, Refused where nothing says which feeder is meant.
    """
    from cfgmigrate.rules import library, symptoms, tuning
    from cfgmigrate.sheet.reader import parse_sheet, read_sheet
    from cfgmigrate.sheet.several import NO_NAMES
    from cfgmigrate.workflow.lane import chosen, flat_sheet, known_names

    wanted = [symptoms.symptom(text) for text in ([seen] if isinstance(seen, str) else seen)]
    if listed(paths):
        configuration, found = read_machine(paths, names, dialects, machine)
        called = known_names(configuration.site, found)
    else:
        found, called = Machine((), ()), NO_NAMES
    swap = read_sheet(Path(sheet), called) if sheet is not None else parse_sheet(b"", "no sheet")
    own, followed = measured_sheet(measured, sheet, called) if measured is not None else (swap, swap)
    lane = chosen(
        found,
        called,
        feeder=feeder,
        filament=filament or own.filament,
        print_profile=print_profile,
        sheets=(own, followed),
        remedy="Say which one is looked at: --feeder 1.",
    )
    joined = tuning.joined(own, flat_sheet(followed, found, lane) if followed is not None else None)
    view = found.view(lane.feeder, lane.profile)
    _, scope = tuning.state_of(library.tuning_book(), view, joined, library.tables())
    return tuple(symptoms.guidance(one, scope) for one in dict.fromkeys(wanted))
