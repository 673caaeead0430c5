"""The tip from which a machine counts its places is the one that a file calls the reference."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.reference_tip import reference_tip

NAMES = {"Wren": 1, "Heron": 2}


@pytest.mark.parametrize(
    ("text", "names", "tip"),
    [
        ("reference = heron\n", NAMES, 2),
        ('reference tip = "WREN"\n', NAMES, 1),
        ("reference = wren\nreference tip = wren\n", NAMES, 1),
        ("reference = wren\nreference tip = heron\n", NAMES, None),
        ("spare = heron\n", NAMES, None),
        ("reference = bed\n", NAMES, None),
        ("reference = wren\n", {}, None),
    ],
)
def test_the_reference_is_a_feeder_that_is_named_so_once(
    text: str, names: dict[str, int], tip: int | None
) -> None:
    machine = Machine((read("wren.ini", text.encode(), "flat"),), (), feeder_names=names)
    assert reference_tip(machine) == tip
