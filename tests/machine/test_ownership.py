"""Whose a value is: the feeder's whose name its section has, wherever that stands, and nobody else's."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

TWO = "".join(f"[feeder {name}]\nsteps per mm = 96\nretraction length = 5\n" for name in ("wren", "heron"))


@pytest.mark.parametrize(
    ("lines", "quantity", "holder"),
    [
        ("[filament change heron]\nload length = 80 mm\n", "feeder.load_length", "feeder 2"),
        ("[heron retraction]\nspeed = 40 mm/s\n", "retraction.speed", "feeder 2"),
        ("[retraction of wren]\nspeed = 40 mm/s\n", "retraction.speed", "feeder 1"),
        ("[lag heron]\ncoefficient = 0.05 s\n", "lag.coefficient", "feeder 2"),
        ("[heron]\nfeeder max speed = 40 mm/s\n", "feeder.max_speed", "feeder 2"),
        ("[axis x, beside heron]\nmax speed = 200 mm/s\n", "axis.x.max_speed", "machine"),
    ],
)
def test_what_stands_below_a_feeder_s_name_is_that_feeder_s_where_each_has_its_own(
    lines: str, quantity: str, holder: str
) -> None:
    found = recognise([read("one.ini", (TWO + lines).encode(), "sectioned")])
    assert {str(each.holder) for each in found.readings if each.quantity == quantity} in ({holder}, set())
    assert holder == "machine" or any(each.quantity == quantity for each in found.readings)


def test_without_such_feeders_the_same_word_says_nothing_of_whose_it_is() -> None:
    text = b"[feeder]\nsteps per mm = 96\n[retraction]\nlength = 5 mm\n"
    assert {str(each.holder) for each in recognise([read("one.ini", text, "sectioned")]).readings} == {
        "machine"
    }
