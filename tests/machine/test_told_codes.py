"""Lines of a maker's own codes are read by the remark that explains them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import detect, read
from cfgmigrate.files.site import parse_site
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.recognise import recognise


def machine(text: str) -> Machine:
    return recognise([read("stint.nc", text.encode(), "command")])


def read_as(found: Machine) -> dict[tuple[str, int], float | None]:
    return {
        (r.quantity, r.holder.number if r.holder.kind == "feeder" else 1): r.value for r in found.readings
    }


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("H7 L5.2 F40 ; retraction length and speed, mm/s", {"retraction.length": 5.2, "retraction.speed": 40}),
        ("H7 L5.2 F2400 ; retraction, mm and mm/min", {"retraction.length": 5.2, "retraction.speed": 40}),
        ("H7 L0.03 F1500 ; un-retraction: extra length, speed in mm/min",
         {"retraction.extra_on_return": 0.03, "retraction.return_speed": 25}),
        ("H8 X0 Y1 ; 1: motor runs backwards", {"axis.x.direction": 0, "axis.y.direction": 1}),
        ("H8 X0 Y1 ; motor reversed, 1 = yes", {"axis.x.direction": 0, "axis.y.direction": 1}),
        ("H9 Z-2/268 ; allowed range, from/to", {"axis.z.min": -2, "axis.z.max": 268}),
        ("H9 Z-2:268 ; allowed range", {"axis.z.min": -2, "axis.z.max": 268}),
        ("H9 X15 Y20 ; bed mesh, lowest", {"mesh.from_x": 15, "mesh.from_y": 20}),
        ("A9 X84 ; A9 = steps per mm", {"axis.x.steps_per_mm": 84}),
        ("H5 T510 ; lag of the flow behind the feed, ms", {"lag.coefficient": 0.51}),
    ],
)  # fmt: skip
def test_a_remark_says_what_each_letter_of_its_line_sets(line: str, wanted: dict[str, float]) -> None:
    assert {r.quantity: r.value for r in machine(line + "\n").readings} == pytest.approx(wanted)


def test_a_number_beside_t_that_is_no_tool_selects_none_for_the_lines_below() -> None:
    found = machine("H5 T25 ; averaging time of the lag, ms\nH6 L640 ; load length\n")
    assert read_as(found) == {("lag.averaging", 1): 0.025, ("feeder.load_length", 1): 640}


def test_t_beside_a_value_is_the_tool_where_lines_of_one_code_differ_in_it() -> None:
    found = machine("C1 T0 E137.7 ; steps per mm, white\nC1 T1 E139.9 ; steps per mm, black\n")
    assert sorted(r.value or 0 for r in found.readings) == [137.7, 139.9]
    assert len({r.holder for r in found.readings}) == 2


def test_a_parameters_number_sets_nothing_itself() -> None:
    lines = [f"W1 P{n} Q{n + 300} ; {axis} max speed" for n, axis in zip((31, 32, 33), "xyx", strict=True)]
    lines += ["W1 P34 Q5.5 ; retraction length, after the tube was cut"]
    found = machine("\n".join(lines) + "\n")
    assert ("retraction.length", 1) in read_as(found)
    assert 31 not in [r.value for r in found.readings]


def test_a_file_of_a_makers_own_codes_is_one_of_word_address_lines() -> None:
    text = "".join(f"S{n} X84 Y86 Z410\n" for n in range(10, 16))
    found = detect(text.encode())
    assert found is not None and found.name == "command"


def test_a_letter_that_is_no_axis_behind_a_code_of_the_axes_is_another_devices() -> None:
    text = "; fastest, mm/s\nH3 X180 Y170 Z6\nH3 A25\n"
    assert {r.quantity for r in machine(text).readings} == {
        "axis.x.max_speed",
        "axis.y.max_speed",
        "axis.z.max_speed",
    }


def test_a_heading_behind_dashes_says_what_the_lines_of_its_part_are_about() -> None:
    assert read_as(machine("; ---- filament\n; diameter\nH4 D2.85\n")) == {("filament.diameter", 1): 2.85}


@pytest.mark.parametrize("remark", ["UNLOAD: pulls the filament right out, tube is 61 cm", "unload filament"])
def test_what_a_script_is_for_describes_no_word_of_its_first_line(remark: str) -> None:
    text = f"( {remark} )\nM109 S205\nM83\nG1 E-600 F1800\n"
    assert "feeder.unload_length" not in {r.quantity for r in machine(text).readings}


def test_a_makers_own_command_and_the_letters_that_the_file_explains_say_what_is_set() -> None:
    text = (
        "; X Y Z carriage; U the filament drive; S the syringe pump\n\n; --- 1. Stepping\n"
        "PULSES X84 Y86 Z410\nPULSES U412.5\nPULSES S3200 ; syringe\n; --- 2. Currents, mA RMS\n"
        "CURRENT X620 Y640 Z580\nCURRENT U480\nPULL-BACK L0.8 V35 ; length mm, speed mm/s\nMAXSPEED S1.5 ; mm/s of plunger\n"
    )
    found = recognise([read("heron.nc", text.encode())])
    assert {r.quantity: r.value for r in found.readings} == pytest.approx(
        {
            **{f"axis.{letter}.steps_per_mm": steps for letter, steps in (("x", 84), ("y", 86), ("z", 410))},
            **{
                f"axis.{letter}.run_current": amps for letter, amps in (("x", 0.62), ("y", 0.64), ("z", 0.58))
            },
            "feeder.steps_per_mm": 412.5,
            "motor.run_current": 0.48,
            "retraction.length": 0.8,
            "retraction.speed": 35,
        }
    )


def test_headings_that_are_counted_say_what_stands_below_them() -> None:
    text = "(third part: the highest speeds, in millimetres per minute)\nK20 X15000 Y12000 (axes)\nK21 E3000 (filament)\n"
    found = recognise(
        [read("stint.nc", (text + "K22 X3000 Y3000 (reference search)\n" * 4).encode(), "command")]
    )
    assert {r.quantity: r.value for r in found.readings} == {
        "axis.x.max_speed": 250,
        "axis.y.max_speed": 200,
        "feeder.max_speed": 50,
    }


def test_an_opening_remark_is_no_heading_and_the_letter_that_it_calls_an_axis_is_that_axis() -> None:
    text = (
        "; own numbers\n; units: mm, mm/s\n; 2 Feb: new extruder (A = extruder axis)\n\n"
        "M1803 X84 Y86 Z410 ; steps per mm\nM1803 A409.5 ; steps per mm (old 95.2)\nM1806 X220 A55 ; maximum speed mm/s\n"
    )
    found = recognise([read("stint.nc", text.encode(), "command")])
    assert {r.quantity: r.value for r in found.readings} == {
        "axis.x.steps_per_mm": 84,
        "axis.y.steps_per_mm": 86,
        "axis.z.steps_per_mm": 410,
        "feeder.steps_per_mm": 409.5,
        "axis.x.max_speed": 220,
        "feeder.max_speed": 55,
    }


def test_a_makers_command_may_be_words_and_one_number() -> None:
    text = (
        "STEPS X84 Y86 Z410\nMICRO X16 Y16 Z16 E16\nACCEL X2500 Y2000 # mm/s2\nAMPS X780 Y820 # mA rms\nHOLD X400 Y400 # mA rms\n"
        "RETRACT LENGTH 1.1\nRETRACT SPEED 1800 # mm/min\nCORNER 9 # mm/s\nTURNTABLE STEPS 17.8 # per degree\n"
        "SYRINGE RETRACT 0.2 # ml\n"
    )
    found = recognise([read("heron.cmd", text.encode())])
    said = {
        r.quantity: (r.value, r.setting.value) for r in found.readings if not r.quantity.startswith("axis.")
    }
    assert said == {
        "feeder.microsteps": (16, "16"),
        "retraction.length": (1.1, "1.1"),
        "retraction.speed": (30, "1800"),
        "machine.corner_speed": (9, "9"),
    }


def test_a_capital_letter_that_is_the_feeder_is_the_drives() -> None:
    found = machine("( A is the feeder. lengths in mm )\nG21\n; steps per mm\nH3 X84 Y86 Z410 A92.1\n")
    assert ("feeder.steps_per_mm", 1) in read_as(found)
    prose = machine("( a is the feeder of this line )\nG21\n; steps per mm\nH3 X84 Y86 Z410 A92.1\n")
    assert ("feeder.steps_per_mm", 1) not in read_as(prose)


def test_a_line_that_was_taken_out_of_force_describes_no_code() -> None:
    live = "; steps per mm\nH3 X84 Y86 Z410 E92.1\n"
    for dead in ("; H3 X84 Y86 Z410 E93.6\n", "( H3 E93.6 was the short tube )\n"):
        assert read_as(machine(live + dead)) == read_as(machine(live))
        above = "; steps per mm\n" + dead + "H3 X84 Y86 Z410 E92.1\n"
        assert read_as(machine(above)) == read_as(machine(live))


def test_a_share_is_no_current() -> None:
    assert read_as(machine("; coil current at rest, percent of the above\nH6 X50 E40\n")) == {}


def test_any_letter_and_number_is_a_code_that_can_be_taught() -> None:
    site = parse_site(b"site: 1\ncodes:\n  H3.A: {quantity: feeder.steps_per_mm}\n", "cfgmigrate.yaml")
    document = read("stint.nc", b"G21\nH3 X80 A92.1\nH4 A5\n", "command")
    found = recognise([document], names_said(None, site))
    assert [(r.quantity, r.value, r.editable) for r in found.readings] == [
        ("feeder.steps_per_mm", 92.1, True)
    ]
    assert found.doubts == ()
    assert [each.setting.name for each in found.unread] == ["[H3] X", "[H4] A"]


def test_a_line_of_axes_without_a_code_is_none() -> None:
    document = read("stint.nc", b"G1 X1\nX10 Y20\nE5 F600\nT1 S5\n", "command")
    assert {each.section for each in document.settings} <= {"G1", "", "T"}


@pytest.mark.parametrize("heading", ["", "( ---------- motors and drivers ---------- )\n"])
def test_a_peak_that_is_said_not_to_be_rms_is_a_peak(heading: str) -> None:
    found = machine(heading + "; coil current in A, PEAK (not rms!)\nH5 X1.20 Y1.35 E1.50\n")
    assert read_as(found)["motor.run_current", 1] == pytest.approx(1.5 / 2**0.5)


def test_a_number_that_a_quantity_cannot_have_is_near_none() -> None:
    (heated,) = machine("; nozzle, bed\nH51 S240\n").unread
    assert heated.nearest == (), "240 is no nozzle's bore"
