"""Short names that a file's opening remark lists without a sign between a name and what it is short for."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

_KEYS = """
x_qr = 810
x_tv = 150
y_qr = 870
y_tv = 140
feeder_qr = 640
feeder_qs = 310
drum_qr = 400
drum_qs = 200
"""


def _read(head: str, keys: str = _KEYS) -> dict[str, str]:
    document = read("one.ini", f"; mm, mm/s, mA rms\n{head}\n{keys}".encode(), "flat")
    places = {setting.line: setting.key for setting in document.settings}
    return {places[each.place.line]: each.quantity for each in recognise([document]).readings}


def test_names_that_a_list_explains_are_what_it_says() -> None:
    assert _read(
        "; qr run current, qs hold cur, tv top speed, ux microsteps", _KEYS + "x_ux = 16\ny_ux = 32\n"
    ) == {
        "x_qr": "axis.x.run_current",
        "x_tv": "axis.x.max_speed",
        "y_qr": "axis.y.run_current",
        "y_tv": "axis.y.max_speed",
        "feeder_qr": "motor.run_current",
        "feeder_qs": "motor.hold_current",
        "x_ux": "axis.x.microsteps",
        "y_ux": "axis.y.microsteps",
    }


@pytest.mark.parametrize(
    "head",
    [
        "; we run it, the hold is low, top speed was too high, in steps",
        "; qr run current, qs hold cur, tv top speed",  # three are no list
        "; qr run current, qs hold cur, tv top speed, qr current",  # one name is said to be two things
        "; qr red lamp, qs quiet mode, tv tall view, ux other thing",
        "; qr run current, qs hold cur, tv top speed, zz microsteps",  # no key has the last
    ],
)
def test_prose_and_words_of_nobody_explain_nothing(head: str) -> None:
    assert _read(head) == {}
