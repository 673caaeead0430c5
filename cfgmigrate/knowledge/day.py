"""In which order the steps of one part of the day come, and with what they measure: `day.yaml` and `tools.yaml`, loaded and checked.

Which part of the day a step belongs to says its own rule. Here only steps of the same part are put in order.
"""

from __future__ import annotations

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.ground.positioned_yaml import read_data
from cfgmigrate.knowledge.tables import HERE


@compiled
def day_order() -> dict[str, tuple[str, ...]]:
    """For each moment the names of its steps, first things first. Raises BadInput with line and column."""
    return _lists("day.yaml")


@compiled
def tools_of_day() -> dict[str, tuple[str, ...]]:
    """For each tool the words that ask for it. Raises BadInput with line and column."""
    return _lists("tools.yaml")


def _lists(file: str) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for part in read_data(HERE / file).items or ():
        names = tuple(each.text or "" for each in part.node.elements or ())
        if not names or not all(names):
            raise BadInput(f"{part.key} wants a list of names", part.place)
        found[part.key] = names
    return found


def place_in_day(moment: str, name: str) -> int:
    """Where the step of the rule or quantity `name` stands among those of its moment; what is not named is last."""
    order = day_order().get(moment, ())
    fits = (
        i for i, each in enumerate(order) if name == each or (each.endswith(".") and name.startswith(each))
    )
    return next(fits, len(order))
