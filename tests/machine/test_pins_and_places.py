"""A number behind a touch that is a place on the bed, and no way from the nozzle to a probe."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("line", "offset"),
    [
        ("#define TOUCH_X 115", False),
        ("#define TOUCH_Y -140.5", False),
        ("#define TOUCH_X 24", True),
        ("#define TOUCH_Y -31.5", True),
        ("#define PROBE_OFFSET_X 90", True),
    ],
)
def test_a_touch_too_far_off_for_a_probe_is_a_place_on_the_bed(line: str, offset: bool) -> None:
    found = recognise([read("tern.h", f"{line}\n".encode(), "header")])
    said = [each.quantity for each in found.readings] + [doubt.about for doubt in found.doubts]
    assert any(each.startswith("probe.offset_") for each in said) is offset
