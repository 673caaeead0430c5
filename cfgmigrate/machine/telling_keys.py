"""The keys that say something of the lines beside them: `telling_keys.yaml`, checked when it is loaded.

What each of them says is the matter of `members.py` and `object_owners.py`; nothing is decided here.
"""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import load
from cfgmigrate.ground.findings import BadInput, Place

_FILE = "telling_keys.yaml"


class TellingKeys(Struct, frozen=True):
    """`telling_keys.yaml`. `beside` has the keys of remarks and of the measuring too, `names_axis` those of `names`."""

    unit: frozenset[str]
    value: frozenset[str]
    remark: tuple[str, ...]
    measuring: frozenset[str]
    beside: frozenset[str]
    names: tuple[str, ...]
    names_axis: frozenset[str]
    proper: frozenset[str]

    @property
    def without_value(self) -> frozenset[str]:
        """Keys beside a value that have none of their own."""
        return self.unit | self.beside


@compiled
def telling_keys() -> TellingKeys:
    """Raises BadInput where the file is wrong."""
    data = load(Path(__file__).with_name(_FILE), dict.fromkeys(TellingKeys.__struct_fields__, list))
    beside = frozenset((*data["beside"], *data["remark"], *data["measuring"]))
    names_axis = frozenset((*data["names"], *data["names_axis"]))
    if both := sorted(beside.union(data["unit"]).intersection(data["value"])):
        raise BadInput(f"`{both[0]}` is a value and says something of one", Place(_FILE))
    if lost := sorted(set(data["proper"]) - names_axis):
        raise BadInput(f"`{lost[0]}` is a proper name and names nothing", Place(_FILE))
    return TellingKeys(
        frozenset(data["unit"]),
        frozenset(data["value"]),
        tuple(data["remark"]),
        frozenset(data["measuring"]),
        beside,
        tuple(data["names"]),
        names_axis,
        frozenset(data["proper"]),
    )
