"""Beside what is read of a probe, the line of its other offset and that of its height are questions."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.recognise import recognise

_FEELER = "[feeler]\nto the right = 31\n"


def asked(text: str) -> list[Doubt]:
    machine = recognise([read("heron.conf", text.encode(), "sectioned")])
    return [each for each in machine.doubts if each.about.startswith("probe.")]


def test_the_offset_to_the_back_is_asked_where_the_one_to_the_right_is_read() -> None:
    (doubt,) = asked(_FEELER + "to the back = 8\n")
    assert (doubt.about, doubt.place.line) == ("probe.offset_y", 3)
    assert "meanings" in doubt.remedy


def test_an_offset_that_counts_to_the_front_is_not_offered_as_one_to_the_back() -> None:
    (doubt,) = asked(_FEELER + "to the front = 8\n")
    assert doubt.about == "probe.offset_y"
    assert "meanings" not in doubt.remedy


@pytest.mark.parametrize(
    "line", ["fires at = 2.20", "clicks at = 2.2 ; gap between nozzle and glass", "acts from = 1.4 mm"]
)
def test_the_height_at_which_it_acts_is_asked(line: str) -> None:
    (doubt,) = asked(_FEELER + line + "\n")
    assert (doubt.about, doubt.place.line) == ("probe.offset_z", 3)


def test_a_probe_s_height_is_asked_where_the_board_keeps_that_alone() -> None:
    (doubt,) = asked("[kept]\nfeeler / fires at = 2.34\n")
    assert (doubt.about, doubt.place.line) == ("probe.offset_z", 2)


@pytest.mark.parametrize(
    "text",
    [
        "[glass]\nto the back = 8\n",
        "[lamp]\nfires at = 2.2\n",
        _FEELER + "back speed = 8 mm/s\n",
        _FEELER + "to the back = 8000\n",
        _FEELER + "fires at = 230\n",
        _FEELER + "[glass]\nto the back = 8\n",
    ],
)
def test_what_is_no_probe_s_or_another_measure_is_not_asked(text: str) -> None:
    assert not asked(text)
