"""A probe's offset that is the nozzle's place, seen from the probe, is asked about and never written."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def found(text: str, dialect: str = "sectioned") -> Machine:
    return recognise([read("knot", text.encode(), dialect)])


def outcome(machine: Machine) -> tuple[set[str], set[str]]:
    """What is read of the offsets, and what is asked."""
    read_as = {each.quantity for each in machine.readings if each.quantity.startswith("probe.offset_")}
    return read_as, {doubt.about for doubt in machine.doubts if doubt.about.startswith("probe.offset_")}


@pytest.mark.parametrize(
    "text",
    [
        "[feeler]\nnozzle x = 21.5\nnozzle y = -9\n",
        "[feeler]\nto nozzle x = 21.5\nto nozzle y = -9\n",
        "[machine]\nprobe to nozzle x = 21.5\ny probe to the nozzle = -9\n",
        "[feeler]\n; NOZZLE seen from the FEELER\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\noffset x = 21.5 ; from the feeler to the nozzle\noffset y = -9\n",
        "[feeler]\n; the other way round than on the wren: seen from the finger\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n# nozzle relative to the feeler\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n# nozzle minus feeler\noffset x = 21.5\noffset y = -9\n",
    ],
)
def test_the_nozzles_place_seen_from_the_probe_is_asked_about(text: str) -> None:
    assert outcome(found(text)) == (set(), {"probe.offset_x", "probe.offset_y"})


@pytest.mark.parametrize(
    "text",
    [
        "[feeler]\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n; from nozzle to feeler\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n; seen from the nozzle\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n; measured from the left of the bed\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\nx from nozzle = 21.5\ny from nozzle = -9\n",
        "[feeler]\noffset to nozzle x = 21.5\noffset to nozzle y = -9\n",
        "[machine]\nnozzle to probe x = 21.5\nnozzle to probe y = -9\n",
        "[nozzle]\n; seen from the finger\nsize = 0.4\n\n[feeler]\noffset x = 21.5\noffset y = -9\n",
    ],
)
def test_the_probes_place_seen_from_the_nozzle_is_read(text: str) -> None:
    assert outcome(found(text)) == ({"probe.offset_x", "probe.offset_y"}, set())


def test_what_the_remedy_says_is_right_for_a_nozzle_that_moves() -> None:
    """Seen from the probe, a nozzle that moves by -4 is found 4 further down: 21.5 becomes 17.5."""
    (doubt, *_) = [each for each in found("[feeler]\nnozzle x = 21.5\n").doubts if each.about]
    assert "add the nozzle's shift to 21.5 and take off the probe's" in doubt.remedy


@pytest.mark.parametrize("key", ["rightofnozzle", "right of nozzle", "behindnozzle"])
def test_what_a_place_is_seen_from_may_be_glued_to_it(key: str) -> None:
    read_as, asked = outcome(found(f"[probe]\n{key} = 7\n"))
    assert len(read_as) == 1 and not asked


@pytest.mark.parametrize("key", ["nozzle right of probe", "nozzlerightofprobe"])
def test_the_nozzle_s_place_beside_the_probe_is_asked_about(key: str) -> None:
    read_as, asked = outcome(found(f"[probe]\n{key} = 20\n"))
    assert not read_as and asked
