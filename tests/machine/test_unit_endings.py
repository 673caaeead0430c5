"""Endings of keys are the units that a remark says, in all files of a machine; by themselves they are nothing."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.unit_endings import unit_endings


@pytest.mark.parametrize(
    ("remark", "told"),
    [
        ("speeds in mm/min where the key ends in _zpz, currents mA crest (_qk)", {"zpz": "mm min", "qk": "ma peak"}),
        ("speeds are mm/s (names that end in _vv), for keys ending with _ww", {"vv": "mm s"}),
        ("lengths in mm (_mm), the drive (_fd), x_zz is 200 mm", {}),
        ("mm/s (_zz) here and mm/min (_zz) there", {}),
        ("top speed 60 mm/s (_zz), 900 mA rms (_qk)", {}),
        ("top speed in mm/s (_pla), cm (_ln) on the old panel, mm (_zz)", {"zz": "mm"}),
        ("lengths in mm/10 (_zz), not any more, mm (_ww)", {"ww": "mm"}),
        ("lengths in mm/10 (_zz), but mm for retractions", {}),
        ("lengths in mm/10 (_zz), cm (_ww)\n# except retractions", {"zz": "tenth mm"}),
        ("lengths in mm/10 where the key ends in _zz. Not true since May", {}),
        ("lengths in mm/10 where the key ends in _zz?", {}),
        ("lengths in hundredths of a mm (_zz)", {"zz": "hundredth mm"}),
        ("lengths in tenths of a mm (_zz), times in tenths of s (_ww)", {"zz": "tenth mm"}),
        ("counts in steps per mm (_zz), volumes in cubic mm (_ww), turns in rev per s (_vv)", {}),
        ("all speeds are given in mm per second (_zz), currents as mA rms (_qk)", {"zz": "mm s", "qk": "ma rms"}),
    ],
)  # fmt: skip
def test_an_ending_is_the_unit_that_stands_beside_it(remark: str, told: dict[str, str]) -> None:
    found = unit_endings([read("reed.conf", f"# {remark}\na = 1\n".encode(), "flat")])
    assert {"".join(ending): " ".join(words) for ending, words in found.items()} == told


@pytest.mark.parametrize(
    ("remark", "speeds"),
    [("# speeds mm/min where a key ends in _zpz, all by hand\n", [40, 35]), ("# by hand\n", [])],
)
def test_one_file_explains_it_for_all_and_nobody_guesses_it(remark: str, speeds: list[float]) -> None:
    texts = (
        f"{remark}[retraction]\nspeed_zpz = 2400\n",
        "[feeder]\nmax_speed_zpz = 2100\n",
    )
    found = recognise(
        [read(f"{at}.ini", text.encode(), "sectioned") for at, text in enumerate(texts)]
    ).readings
    assert [each.value for each in found] == speeds


@pytest.mark.parametrize(("unit", "values"), [("tenths of a mm", [1.2]), ("fifths of a mm", [])])
def test_parts_of_a_unit_are_not_the_unit(unit: str, values: list[float]) -> None:
    """Believed, 12 tenths of a mm are a retraction of 12 mm."""
    text = f"# lengths in {unit} (_zz)\n[retraction]\nlength_zz = 12\n"
    found = recognise([read("m.ini", text.encode(), "sectioned")]).readings
    assert [each.value for each in found] == pytest.approx(values)
