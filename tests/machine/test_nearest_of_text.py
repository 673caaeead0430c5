"""A word is no number: a setting that has one is never said to be near a number's quantity."""

from __future__ import annotations

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

FILE = "[filament-profile]\ntitle = grey\nfor = ladle-01\n[other]\nfor = 7.5\n"


def test_a_machines_name_is_no_distance() -> None:
    machine = recognise([read("a.conf", FILE.encode())])
    near = {each.text: each.nearest for each in machine.unread}
    assert near["[filament-profile] for = ladle-01"] == ()


def test_a_name_without_sections_that_has_the_blocks_word_first_is_read_like_one_with_them() -> None:
    text = "#define ThreadingFastMm 480\n#define ThreadingUnloadMm 570\n#define ThreadingSlowMm 60\n"
    machine = recognise([read("a.h", text.encode())])
    assert {each.quantity: each.text for each in machine.readings} == {
        "feeder.load_length": "480",
        "feeder.unload_length": "570",
    }
