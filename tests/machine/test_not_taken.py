"""What a name says beside its quantity is not passed over: shares, other measures, and values that are not in force."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    "text",
    [
        "[x]\nspeed limit % = 80\n",
        "[park]\nx % = 5\n",
        "[x]\nmax speed (old) = 99\n",
        "[x]\nnominal current = 1.4 A\n",
        "[retraction]\nretract after = 2 mm\n",
        "[retraction]\njump = 0.4\n",
        "[z hop current]\nrest = 0.9\n",
    ],
)
def test_it_is_no_reading(text: str) -> None:
    assert not recognise([read("tern.conf", text.encode(), "sectioned")]).readings


def test_inches_a_minute_in_a_key_are_no_millimetres() -> None:
    (reading,) = recognise([read("tern.conf", b"x_max_speed_in_per_min = 472\n", "flat")]).readings
    assert reading.value == pytest.approx(199.813, rel=1e-4)
