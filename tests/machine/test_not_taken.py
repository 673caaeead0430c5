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
        "[plate]\nhigh = 290\n",
        "plate top = 290\n",
        "[bed]\nlowest = -4\n",
        "[table]\nlimit = 310\n",
    ],
)
def test_it_is_no_reading(text: str) -> None:
    assert not recognise([read("tern.conf", text.encode(), "sectioned")]).readings


def test_inches_a_minute_in_a_key_are_no_millimetres() -> None:
    (reading,) = recognise([read("tern.conf", b"x_max_speed_in_per_min = 472\n", "flat")]).readings
    assert reading.value == pytest.approx(199.813, rel=1e-4)


@pytest.mark.parametrize(
    "text",
    [
        "[plate]\nhigh = 110 degC\n",
        "[bed]\nhighest temp = 110\n",
        "bed limit = 110\n",
        "[heat]\nbed high = 110\n",
    ],
)
def test_a_limit_of_a_bed_is_a_temperature_s_by_a_unit_a_word_or_what_beds_get(text: str) -> None:
    (reading,) = recognise([read("tern.conf", text.encode(), "sectioned")]).readings
    assert reading.quantity == "heater.bed.max_temperature"
