"""What stands below a remark that names another thing is asked about."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str) -> Machine:
    return recognise([read("dunlin.txt", text.encode(), "flat")])


@pytest.mark.parametrize("title", ["# ---- blower ----", "### part fan", "; == fan ==", "# *** fan ***"])
def test_a_lag_below_a_title_for_a_fan_is_a_question(title: str) -> None:
    found = machine(f"# ---- motion ----\naccel = 900\n{title}\n\nlag = 0.6\n")
    assert found.get("lag.coefficient") is None
    assert [doubt.about for doubt in found.doubts if doubt.place.line == 5] == ["lag.coefficient"]


@pytest.mark.parametrize(
    "title", ["# ---- feeder ----", "# ---- how it is pushed ----", "# the blower is new", "# ----"]
)
def test_a_lag_below_any_other_remark_is_read(title: str) -> None:
    found = machine(f"# ---- motion ----\naccel = 900\n{title}\nlag = 0.6\n")
    assert [reading.quantity for reading in found.readings if reading.place.line == 4] == ["lag.coefficient"]


def test_a_name_that_says_what_it_is_of_is_believed_against_a_title() -> None:
    found = machine("# ---- fans ----\nfeeder steps per mm = 96\nx max = 220\n")
    assert {reading.quantity for reading in found.readings} == {"feeder.steps_per_mm", "axis.x.max"}
