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
    names: PathLike | None = None,
    dialects: Dialects = None,
    machine: Paths = (),
) -> tuple[Guidance, ...]:
    """What to look at for each thing seen, the likeliest and cheapest first.

    `seen` are words such as "strings" or "clicks", one or several. With `paths`, `sheet` and `measured` the order
    goes by this machine's own numbers, without them by what is usual. `names`, `dialects` and `machine` are those of `survey`.

    Gives one `Guidance` for each thing seen: its hints in order, each with its check. Raises BadInput where nothing
    is known of what was seen, or a file can't be read.
    """
    from cfgmigrate.rules import library, symptoms, tuning
    from cfgmigrate.sheet.reader import parse_sheet, read_sheet
    from cfgmigrate.sheet.several import one_lane

    known = [symptoms.symptom(text) for text in ([seen] if isinstance(seen, str) else seen)]
    swap = one_lane(read_sheet(Path(sheet))) if sheet is not None else parse_sheet(b"", "no sheet")
    own, followed = measured_sheet(measured, sheet) if measured is not None else (swap, swap)
    joined = tuning.joined(own, followed)
    found = read_machine(paths, names, dialects, machine)[1] if listed(paths) else Machine((), ())
    _, scope = tuning.state_of(library.tuning_book(), found, joined, library.tables())
    return tuple(symptoms.guidance(one, scope) for one in dict.fromkeys(known))
