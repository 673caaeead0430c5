"""Places of the nozzle that were chosen so that the probe stood over a round place: `home over = 178.4, 128` where the probe
sat 28.4 mm to the left and 12 mm behind, over the middle of the bed.

With another offset of the probe such a place brings the probe somewhere else, and no rule sees it: levelling then measures
beside the screw, or the nozzle is driven past its limit. What gives it away is arithmetic: with the old offset both numbers
come to multiples of 5 mm, and by themselves they do not. Such a line is told, with where it would have to go.

Nothing is changed by this: whether the round place is what was meant, a person knows.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.places_out_of_reach import probe_offsets
from cfgmigrate.rules.engine import Outcome

#: mm; places are chosen in such steps (common practice, no source), and read this finely
ROUND_STEP, ROUND_WITHIN = 5.0, 0.06


def places_by_probe(machine: Machine, outcome: Outcome) -> Iterator[Beside]:
    """Their lines, in the order of the files; none where the offset stays."""
    offsets = dict(probe_offsets(machine, outcome))
    if len(offsets) < 2 or all(abs(new - old) < ROUND_WITHIN for old, new in offsets.values()):
        return
    (old_x, new_x), (old_y, new_y) = offsets["x"], offsets["y"]
    of_probe = {
        (each.place.file, each.place.line)
        for each in machine.every_reading
        if each.quantity.startswith("probe.")
    }
    for document in machine.documents:
        for setting in document.settings:
            if setting.state is not State.ACTIVE or (document.path, setting.line) in of_probe:
                continue
            place = _pair(setting.value)
            if place is None or (_is_round(place[0]) and _is_round(place[1])):
                continue
            over = place[0] + old_x, place[1] + old_y
            if _is_round(over[0]) and _is_round(over[1]):
                text = f"{setting.name} = {' '.join(setting.value.split())}"
                why = (
                    f"with the old offset the probe stood over {over[0]:g}, {over[1]:g} there; to stand there again the place has to be "
                    f"{over[0] - new_x:g}, {over[1] - new_y:g}"
                )
                yield document.path, setting.line, text, why


def _pair(value: str) -> tuple[float, float] | None:
    """The first two numbers of a list of two or three."""
    read = read_value(value)
    if not isinstance(read, Items) or not 2 <= len(read.items) <= 3:
        return None
    first, second = read.items[:2]
    if not isinstance(first, Number) or not isinstance(second, Number):
        return None
    return first.value, second.value


def _is_round(number: float) -> bool:
    return abs(number - round(number / ROUND_STEP) * ROUND_STEP) < ROUND_WITHIN
