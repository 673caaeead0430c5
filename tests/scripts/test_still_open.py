"""What a swap left open in scripts is told of the swapped feeder's moves, and never of those that are for sure another one's."""

from __future__ import annotations

from typing import Any, cast

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.scripts import still_open as of_swaps
from cfgmigrate.scripts.feeds import Path

INI = "[feeder 1]\nsteps per mm = 99\nretraction length = 0.6\n[feeder 2]\nsteps per mm = 98\nretraction length = 0.6\n"
LOADS = "T0\nM83\nG1 E20 F300\nG1 E610 F2700\nG4 P9\nT1\nG1 E20 F300\nG1 E611 F2700\nG4 P9\n"


@pytest.mark.parametrize(("swapped", "lines"), [((1,), {4}), ((2,), {8}), ((1, 2), {4, 8})])
def test_another_feeder_s_load_is_not_told_to_be_cut(
    swapped: tuple[int, ...], lines: set[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        of_swaps,
        "path_of",
        lambda outcome, sheet: Path(630.0, 47.0, ("path.length_old", "path.length_new"), ()),
    )
    monkeypatch.setattr(of_swaps, "_beyond", lambda *_: ())
    machine = recognise(
        [read("a.ini", INI.encode(), "sectioned"), read("load.nc", LOADS.encode(), "command")]
    )
    found = of_swaps.still_open(machine, cast("Any", None), cast("Any", None), swapped[0], swapped)
    assert {each.place.line for each in found if each.place.file == "load.nc"} == lines
