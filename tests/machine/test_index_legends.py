"""Numbers and letters at the end of keys that a file's opening remark explains."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

_KEYS = """
PULSES_1 = 80
PULSES_2 = 81
PULSES_3 = 402
PULSES_4 = 91.5
PULSES_5 = 93
AMPS_1 = 0.7
AMPS_2 = 0.72
AMPS_4 = 0.65
AMPS_5 = 0.3
LAG_4 = 0.41
"""


def _read(head: str, keys: str = _KEYS, dialect: str = "flat") -> dict[str, tuple[str, str]]:
    """Of each key that is read: its quantity and whose it is."""
    document = read("one.ini", f"{head}\n; mm, mm/s, A rms, lag in s\n\n{keys.lstrip()}".encode(), dialect)
    places = {setting.line: setting.key for setting in document.settings}
    readings = recognise([document]).readings
    return {places[each.place.line]: (each.quantity, str(each.holder)) for each in readings}


def test_a_number_at_a_key_s_end_is_the_drive_that_the_head_says_it_is() -> None:
    found = _read(
        "; Drives: 1 = x, bridge   2 = y, bed   3 = z, both screws\n; 4 = filament, rear   5 = turntable"
    )
    assert found == {
        "PULSES_1": ("axis.x.steps_per_mm", "machine"),
        "PULSES_2": ("axis.y.steps_per_mm", "machine"),
        "PULSES_3": ("axis.z.steps_per_mm", "machine"),
        "PULSES_4": ("feeder.steps_per_mm", "machine"),
        "AMPS_1": ("axis.x.run_current", "machine"),
        "AMPS_2": ("axis.y.run_current", "machine"),
        "AMPS_4": ("motor.run_current", "machine"),
        "LAG_4": ("lag.coefficient", "machine"),
    }


def test_of_several_that_feed_each_keeps_its_number() -> None:
    found = _read("; 1 = x, 2 = y, 3 = z\n; 4 = filament feeder, 5 = second feeder")
    assert found["PULSES_4"] == ("feeder.steps_per_mm", "feeder 4")
    assert found["AMPS_5"] == ("motor.run_current", "feeder 5")
    assert _read("; 1 = x, 2 = y\n; 4 = feeder 1, 5 = feeder 2")["AMPS_5"][1] == "feeder 2"


@pytest.mark.parametrize(
    "other", ["stock belt", "tool", "wire cutter", "carriage", "roller", "filament brake", "motor"]
)
def test_what_another_drive_of_the_list_has_is_no_one_s(other: str) -> None:
    found = _read(f"; 1 = x, 2 = y, 3 = z, 4 = filament, 5 = {other}", _KEYS + "LOAD_5 = 400\nVMAX_5 = 50\n")
    assert not [key for key in found if key.endswith("_5")]
    assert found["AMPS_4"] == ("motor.run_current", "machine")


@pytest.mark.parametrize(
    "head",
    [
        "; 1 = on, 2 = off",  # nothing of an axis
        "; modes: 1 = x only, 2 = y only, 3 = both",  # of no axis alone
        "; 1 = x, 2 = y, 1 = left, 2 = right, 4 = filament, 4 = fan",  # each is said to be two things
    ],
)
def test_what_is_no_list_of_drives_explains_no_key(head: str) -> None:
    assert not [key for key, (name, _) in _read(head).items() if name.startswith("axis") or key == "PULSES_4"]


def test_a_letter_at_a_key_s_end_is_the_part_that_the_head_says_it_is() -> None:
    keys = "TMAX_A = 265\nTMAX_B = 105\nTMIN_A = 5\nTMIN_B = 4\nTMAX_C = 70\nFEEDER_CURRENT_A = 0.7\n"
    found = {key: name for key, (name, _) in _read("; Heaters: A = nozzle   B = bed   C = box", keys).items()}
    assert found["TMAX_A"] == "heater.hotend.max_temperature"
    assert found["TMIN_B"] == "heater.bed.min_temperature"
    assert found["FEEDER_CURRENT_A"] == "motor.run_current"
    assert not found.get("TMAX_C", "protected").startswith("heater")


def test_a_letter_that_is_a_unit_s_sign_too_is_that_behind_a_name_without_another_letter_of_the_list() -> (
    None
):
    keys = "TMAX_A = 265\nTMAX_B = 105\nTMIN_A = 5\nTMIN_B = 4\nFEEDER_RUN_A = 0.7\nFEEDER_HOLD_A = 0.4\n"
    found = {key: name for key, (name, _) in _read("; Heaters: A = nozzle   B = bed", keys).items()}
    assert found["FEEDER_RUN_A"] == "motor.run_current"
    assert found["FEEDER_HOLD_A"] == "motor.hold_current"
    assert found["TMAX_A"] == "heater.hotend.max_temperature"


def test_a_number_behind_a_tool_or_a_feeder_counts_these_and_no_drives() -> None:
    head = "; 0 = x, 1 = y, 2 = z\n; 3 = feeder 0, 4 = feeder 1"
    keys = "PULSES_0 = 80\nPULSES_1 = 81\nPULSES_3 = 92\nPULSES_4 = 93\nAMPS_0 = 0.7\nAMPS_1 = 0.8\n"
    found = _read(
        head, keys + "RETRACTION_LENGTH_T0 = 5.5\nRETRACTION_LENGTH_T1 = 5.3\nPRIME_EXTRA_FEEDER_1 = 0.3\n"
    )
    assert found["RETRACTION_LENGTH_T0"] == ("retraction.length", "feeder 1")
    assert found["RETRACTION_LENGTH_T1"] == ("retraction.length", "feeder 2")
    assert found["PRIME_EXTRA_FEEDER_1"] == ("retraction.extra_on_return", "feeder 2")
    assert found["PULSES_1"] == ("axis.y.steps_per_mm", "machine")
    assert found["PULSES_4"] == ("feeder.steps_per_mm", "feeder 2")
    known = _read(
        "; 1 = x, 2 = y, 4 = filament, 5 = tool", _KEYS + "PULSES_TOOL_5 = 93\nPULSES_TOOL_4 = 93\n"
    )
    assert "PULSES_TOOL_5" not in known
