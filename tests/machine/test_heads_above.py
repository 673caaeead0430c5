"""Of which kind a current is, is what all say who speak of the whole of its file; and where they differ it is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.recognise import recognise

PEAK = 0.7 / 2**0.5


def current_of(folder: Path, **files: str) -> Reading:
    for name, text in files.items():
        (folder / name.replace("_", ".")).write_text(text)
    found = recognise(open_configuration([folder]))
    (current,) = [each for each in found.readings if each.quantity == "motor.run_current"]
    return current


AXES = "x max = 200\ny max = 200\nz max = 200\n"
DEFINED = "#define X_MAX 200\n#define Y_MAX 200\n#define Z_MAX 200\n"


@pytest.mark.parametrize(
    ("head", "value", "editable"),
    [
        ("Coil currents mA PEAK (as the leaflet had it).", 0.9899, True),
        ("Coil currents mA RMS", 1.4, True),
        ("Coil currents mA PEAK. The dump has mA RMS.", 1.4, False),
        ("mm, mm/s", 1.4, True),
    ],
)
def test_a_header_is_under_the_head_of_the_one_that_takes_it_in(
    head: str, value: float, editable: bool, tmp_path: Path
) -> None:
    above = f'// {head}\n#include "feed.h"\n{DEFINED}'
    found = current_of(
        tmp_path, whelk_h=above, feed_h="#define FEEDER_STEPS_PER_MM 96\n#define FEEDER_RUN_MA 1400\n"
    )
    assert (found.value, found.editable) == (pytest.approx(value, abs=1e-4), editable)


def test_its_own_head_comes_before_the_one_above_it(tmp_path: Path) -> None:
    above = f'// currents mA PEAK\n#include "feed.h"\n{DEFINED}'
    feed = "// currents mA RMS\n#define FEEDER_STEPS_PER_MM 96\n#define FEEDER_RUN_MA 1400\n"
    found = current_of(tmp_path, whelk_h=above, feed_h=feed)
    assert (found.value, found.editable) == (pytest.approx(1.4), True)


@pytest.mark.parametrize("head", ["currents in A PEAK", "currents in A RMS"])
@pytest.mark.parametrize("takes_in", [True, False])
def test_peak_said_of_another_file_may_hold_here_and_is_asked(
    head: str, takes_in: bool, tmp_path: Path
) -> None:
    include = "include = feed.cfg\n" if takes_in else ""
    found = current_of(
        tmp_path,
        heron_cfg=f"# {head}\n{include}{AXES}",
        feed_cfg="[feeder]\nsteps per mm = 96\nrun current = 0.7\n",
    )
    assert found.value == 0.7
    assert found.editable is ("RMS" in head)
    assert found.editable or "heron.cfg" in found.why_not


@pytest.mark.parametrize(
    ("head", "editable"),
    [
        ("probe currents are peak", True),
        ("the heater's current is in A peak", True),
        ("Notes of the bench. LED currents mA peak", True),
        ("currents are peak", False),
        ("probe currents are rms, currents are peak", False),
        ("currents are peak, probe's too", False),
        ("probe currents are peak, as all currents here are peak", False),
        ("probe and feeder currents are peak", False),
        ("feeder and probe currents are peak", False),
        ("feeder currents are peak", False),
        ("motor currents are peak", False),
        ("coil currents are peak", False),
        ("gizmo currents are peak", False),  # of what, nobody knows
    ],
)
def test_peak_that_notes_say_of_other_things_than_motors_asks_nothing_of_the_feeder(
    head: str, editable: bool, tmp_path: Path
) -> None:
    found = current_of(
        tmp_path,
        notes_cfg=f"# {head}\n{AXES}",
        feed_cfg="[feeder]\nsteps per mm = 96\nrun current = 0.7\n",
    )
    assert (found.value, found.editable) == (0.7, editable)


def test_peak_that_a_head_above_says_of_other_things_makes_no_peak_of_the_feeder(tmp_path: Path) -> None:
    above = f'// probe currents mA PEAK\n#include "feed.h"\n{DEFINED}'
    feed = "#define FEEDER_STEPS_PER_MM 96\n#define FEEDER_RUN_MA 1400\n"
    assert current_of(tmp_path, whelk_h=above, feed_h=feed).value == pytest.approx(1.4)


@pytest.mark.parametrize(
    ("head", "units", "value", "editable"),
    [
        ("made up", "x_current = A peak", 0.7, True),
        ("made up", "x_current = A peak\ny_current = A peak", 0.7, True),
        ("made up", "current = A peak", PEAK, True),
        ("made up", "amps = A peak", PEAK, True),
        ("made up", "heater_current = A peak", 0.7, False),
        ("made up", "feeder_current = A peak", PEAK, True),
        ("made up", "current = A, peak limits 1.5", 0.7, False),
        ("currents in A RMS", "current = A peak", 0.7, False),
        ("currents in A RMS", "current = A", 0.7, True),
        ("currents in A RMS", "x_current = A peak", 0.7, True),
    ],
)
def test_what_a_units_line_calls_peak_are_the_currents_that_it_names(
    head: str, units: str, value: float, editable: bool
) -> None:
    text = f"; {head}\n[units]\n{units}\n[x]\nrun current = 0.9\n[feeder]\nrun current = 0.7\n"
    (found,) = [
        each
        for each in recognise([read("m.conf", text.encode(), "sectioned")]).readings
        if each.quantity == "motor.run_current" and each.setting.section == "feeder"
    ]
    assert (found.value, found.editable) == (pytest.approx(value), editable)
