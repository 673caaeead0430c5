"""Peak or rms is what a remark says of these currents, and now."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("head", "behind", "rms"),
    [
        ("currents in A peak", "", 0.424),
        ("currents are not rms but peak", "", 0.424),
        ("the old board had peak currents", "", 0.6),
        ("currents not as peak", "", 0.6),
        ("axis currents as peak", "", 0.6),
        ("the supply stands a peak current of 10 A", "", 0.6),
        ("mm", "; A peak", 0.424),
        ("mm", "; A pk", 0.424),
        ("currents are A pk", "", 0.424),
        ("mm", "; Apk", 0.424),
        ("mm", "; was peak before", 0.6),
        ("mm", "; at peak load 0.8", 0.6),
        ("mm", "; limit 1.1 A pk", 0.6),
        ("mm", "; at most 1.1 A peak", 0.6),
        ("mm", "; peak limit of this coil", 0.6),
        ("mm", "; A peak, limit 1.1", 0.424),
        ("mm", "; max 0.6 A peak", 0.424),
        ("mm", "; loud, limit of 0.60 A peak", 0.424),
        ("mm", "; max 0.7 A peak", 0.6),
        ("mm", "; supply max 0.6 A peak", 0.6),
        ("mm", "; was max 0.6 A peak", 0.6),
        ("mm", "; fan max 0.6 A peak", 0.6),
        ("mm", "; max 0.6 A peak for the bed", 0.6),
    ],
)
def test_peak_is_what_these_currents_are_and_not_what_others_or_old_ones_were(
    head: str, behind: str, rms: float
) -> None:
    text = f"# {head}\n[feeder motor]\nrun current = 0.6  {behind}\n"
    (reading,) = recognise([read("m.conf", text.encode(), "sectioned")]).readings
    assert reading.value == pytest.approx(rms, abs=0.001)


@pytest.mark.parametrize(
    ("head", "asked"),
    [
        ("all currents mA eff.", False),
        ("lengths mm, currents A eff, left bench", False),
        ("currents mA, eff. diameter 11 mm", True),
        ("currents mA, and the efficiency is poor", True),
    ],
)
def test_an_effective_current_may_be_written_short_in_a_head(head: str, asked: bool) -> None:
    text = f"# {head}\n[feeder motor]\nrun current = 0.6 A\n"
    doubts = recognise([read("m.conf", text.encode(), "sectioned")]).doubts
    assert any("RMS or peak" in each.why for each in doubts) == asked


@pytest.mark.parametrize(("remark", "editable"), [("max 0.6 A peak", False), ("A peak, limit 1.1", True)])
def test_a_current_beside_itself_as_a_limit_is_read_and_never_written(
    remark: str, editable: bool, tmp_path: Path
) -> None:
    """Beside a new number the limit would say nothing of it any more."""
    (tmp_path / "heron.conf").write_text(
        f"x max = 200\ny max = 200\nz max = 200\nfeeder steps per mm = 96\nfeeder run current = 0.6 A ; {remark}\n"
    )
    found = recognise(open_configuration([tmp_path]))
    (current,) = [each for each in found.readings if each.quantity == "motor.run_current"]
    assert current.editable is editable


OF_SOMETHING_ELSE = (
    "the drivers stand 2 A peak",
    "the motors (amps); the fuse stands 5 A peak",
    "supply 24 V, 9 A peak",
    "motors; drivers rated 2 A peak",
    "the heater draws 4 A peak, so the fuse is slow",
    "x and y motors, A peak",
    "currents at the peak of the noise test",
    "currents (spare board has peak)",
    "amps as on my other printer: peak",
    "currents; multiply by 1.41 for peak",
    "amps; convert to peak with the sheet",
    "the other motors, A peak",
)
BESIDE_SOMETHING_ELSE = (
    "sags at peak, as the current is shared",
    "loud at the peak, as the current rises",
    "peak, as the current of the supply",
    "A peak, same as the currents on my other machine",
    "peak, like all currents of the laser",
    "hold: 70 % of the peak, as all currents",
)
#: what stands so far down is said of no whole file
BEFORE = "".join(f"fan_{number}_slowest = 20\n" for number in range(19))


@pytest.mark.parametrize(
    ("above", "behind", "called"),
    [
        ("the motors (amps, rms as the tester shows it)", "", "rms"),
        ("the motors (amps, peak as the tester shows it)", "", "peak"),
        ("motor currents, A peak", "", "peak"),
        ("the motors (amps; the supply gives 9 A peak)", "", ""),
        ("the motors (amps, not peak)", "", ""),
        ("the motors (amps, were peak on the old board)", "", ""),
        ("the motors (amps, rms for the feeder, peak for the rest)", "", ""),
        ("the peak of the roof", "", ""),
        *((other, "", "") for other in OF_SOMETHING_ELSE),
        *(("", other, "") for other in BESIDE_SOMETHING_ELSE),
        ("", "rms, like all amps here", "rms"),
        ("", "peak, as all currents in this file", "peak"),
        ("", "rms", ""),
        ("", "peak, like all amps on the old board", ""),
        ("", "peak, unlike all amps here", ""),
        ("", "loud, like all fans here; peak noise at night", ""),
    ],
)
def test_a_remark_above_a_run_or_beside_one_line_may_call_all_currents_of_it(
    above: str, behind: str, called: str
) -> None:
    text = f"{BEFORE}\n# {above or 'motors'}\nx_current = 0.9 {'# ' + behind if behind else ''}\nfeeder_current = 0.6\n"
    found = recognise([read("dunlin.conf", text.encode(), "flat")])
    reading = found.get("motor.run_current")
    assert reading is not None and reading.value == pytest.approx(0.4243 if called == "peak" else 0.6, 1e-3)
    asked = any("does not say RMS or peak" in doubt.why and doubt.place.line == 23 for doubt in found.doubts)
    assert asked == (not called)


def test_what_is_said_above_a_run_ends_with_it() -> None:
    text = f"{BEFORE}\n# motors, amps peak\nx_current = 0.9\n\nfeeder_current = 0.6\n"
    reading = recognise([read("dunlin.conf", text.encode(), "flat")]).get("motor.run_current")
    assert reading is not None and reading.value == 0.6
