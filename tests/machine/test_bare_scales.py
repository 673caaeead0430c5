"""A scale by itself, or beside a remark of a current, is no steps per mm."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

CURRENT = "/* rms = n/64 * 2 A */"


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        (f"{CURRENT}\n#define DRIVE_SCALE {{ 27, 27, 28, 26 }}\n", True),
        ("#define DRIVE_SCALE { 27, 27, 28, 26 }\n", True),
        ("#define DRIVE_SCALE 85\n", True),
        (f"{CURRENT}\n#define E_STEP 24\n", True),
        (f"{CURRENT}\n#define E_STEPS_PER_MM 93\n", False),
        ("#define E_SCALE 93\n", False),
        ("// changed the current on 3 May\n#define FEEDER_STEPS 93\n", False),
        ("#define FEEDER_PULSES 93 // current as of May\n", False),
        ('#include "currents.h"\n#define FEEDER_STEPS 93\n', False),
    ],
)
def test_a_scale_of_nobody_or_of_a_current_is_asked_about(text: str, asked: bool) -> None:
    found = recognise([read("coot.h", text.encode(), "header")])
    read_as = {each.quantity for each in found.every_reading}
    whys = [each.why for each in found.doubts if each.about == "feeder.steps_per_mm"]
    assert (read_as, bool(whys)) == (set() if asked else {"feeder.steps_per_mm"}, asked)


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("#define DRIVER_RESOLUTION_X 84\n", True),
        ("#define RESOLUTION_X 16\n", True),
        ("#define RESOLUTION_X 84\n", False),
    ],
)
def test_a_resolution_of_drivers_or_by_which_they_divide_is_asked_about(text: str, asked: bool) -> None:
    found = recognise([read("coot.h", text.encode(), "header")])
    assert (not found.readings, bool(found.doubts)) == (asked, asked)
