"""Lines of a maker's own codes are read by the remark that explains them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import detect, read
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.machine.model import Machine, feeder
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.recognise import recognise


def machine(text: str) -> Machine:
    return recognise([read("stint.nc", text.encode(), "command")])


def read_as(found: Machine) -> dict[tuple[str, int], float | None]:
    return {(r.quantity, 2 if r.holder == feeder(2) else 1): r.value for r in found.readings}


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
        ("H5 T0.68 ; lag 0.68 s", {"lag.coefficient": 0.68}),
        ("H6 L5 ; retraction length 5 mm", {"retraction.length": 5}),
        ("H6 L5 ; retraction length 6 mm", {}),
    ],
)  # fmt: skip
def test_a_remark_says_what_each_letter_of_its_line_sets(line: str, wanted: dict[str, float]) -> None:
    found = machine(line + "\n")
    assert {r.quantity: r.value for r in found.readings} == pytest.approx(wanted)
    assert set(found.feeders) <= {1}


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
        "PULSES X84 Y86 Z410\nPULSES U431.5\nPULSES S3200 ; syringe\n; --- 2. Currents, mA RMS\n"
        "CURRENT X620 Y640 Z580\nCURRENT U480\nPULL-BACK L0.8 V35 ; length mm, speed mm/s\nMAXSPEED S1.5 ; mm/s of plunger\n"
    )
    found = recognise([read("heron.nc", text.encode())])
    assert {r.quantity: r.value for r in found.readings} == pytest.approx(
        {
            **{f"axis.{letter}.steps_per_mm": steps for letter, steps in (("x", 84), ("y", 86), ("z", 410))},
            **{
                f"axis.{letter}.run_current": amps for letter, amps in (("x", 0.62), ("y", 0.64), ("z", 0.58))
            },
            "feeder.steps_per_mm": 431.5,
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


def values(found: Machine) -> dict[tuple[str, int], float | None]:
    return {key: value for key, value in read_as(found).items() if not key[0].startswith("axis.")}


HEAD = "; M100 steps per mm   M101 microsteps   M102 retraction length, mm\n"


@pytest.mark.parametrize(
    "said",
    [
        "; Axis letters X Y Z, feeder = A\n; \n",
        "; X Y Z as usual, A = feeder (big spool)\n",
        "; the filament drive is A, the slides are X, Y, Z\n",
    ],
)
def test_a_letter_is_the_feeders_whichever_way_round_the_head_says_so(said: str) -> None:
    text = f"{HEAD}{said}\nM100 X88 Y91 Z640 A431\nM102 A1.1\n"
    assert values(machine(text)) == {("feeder.steps_per_mm", 1): 431, ("retraction.length", 1): 1.1}


@pytest.mark.parametrize(
    "said",
    [
        "; X Y Z as usual, U = feeder 1 (big spool), V = feeder 2 (small one)\n",
        "; U is the first filament drive and V is the second one.\n",
    ],
)
def test_two_letters_are_two_feeders(said: str) -> None:
    text = f"{HEAD}{said}\nM100 X88 Y91 Z640\nM100 U98.6\nM100 V431.5\n"
    assert values(machine(text)) == {("feeder.steps_per_mm", 1): 98.6, ("feeder.steps_per_mm", 2): 431.5}


BESIDE = "K1 X88 Y91 Z640 A98 B431 ; steps per mm\nK2 X9 Y9 Z9 A45 B30 ; top speed, mm/s\nK3 X16 Y16 Z16 A16 B16 ; microsteps\n"


def test_letters_beside_the_axes_are_feeders_where_a_remark_behind_them_alone_says_so() -> None:
    found = machine(BESIDE + "K4 A5.5 B1.1 ; retraction length of the feeders, mm\n")
    assert read_as(found)["feeder.steps_per_mm", 2] == 431
    assert read_as(found)["retraction.length", 1] == 5.5


def test_letters_beside_the_axes_of_which_nothing_speaks_of_a_feeder_are_no_feeders() -> None:
    assert all(
        quantity.startswith("axis.") for quantity, _ in read_as(machine(BESIDE + "K4 A5.5 B1.1 ; tilt\n"))
    )


def test_a_letter_without_a_number_chooses_the_feeder_of_its_line() -> None:
    said = "; U is the first filament drive and V is the second one.\n\n"
    text = (
        said
        + "M80 U L5.8 S35 ; retraction: L length mm, S speed mm/s\nM80 V L6.1 S30 ; retraction, the letters as above\n"
    )
    assert values(machine(text)) == {
        ("retraction.length", 1): 5.8, ("retraction.speed", 1): 35,
        ("retraction.length", 2): 6.1, ("retraction.speed", 2): 30,
    }  # fmt: skip


def test_what_an_unknown_letter_chooses_is_nobodys() -> None:
    text = "M80 U L5.8 ; retraction length, mm\nM80 V L6.1 ; retraction length, mm\n"
    assert machine(text).readings == ()


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        ("; M4 diameter of filament (F), bore of nozzle (N)\nM4 F1.75 N0.4\n",
         {"filament.diameter": 1.75, "nozzle.diameter": 0.4}),
        ("; M4 nozzle heater: lowest (L) and highest (H) temperature\nM4 L5 H265\n",
         {"heater.hotend.min_temperature": 5, "heater.hotend.max_temperature": 265}),
        ("; M4 filament pull back: D mm, F mm/min back, R mm/min forward\nM4 D2.8 F2400 R1800\n",
         {"retraction.length": 2.8, "retraction.speed": 40, "retraction.return_speed": 30}),
        ("; K4 hottest, K5 coldest (N nozzle, B bed)\nK4 N280 B100\nK5 N5 B6\n",
         {"heater.hotend.max_temperature": 280, "heater.bed.max_temperature": 100,
          "heater.hotend.min_temperature": 5, "heater.bed.min_temperature": 6}),
        ("; M4 hot end: L lowest H highest temp   M5 bed ditto\nM4 L5 H270\nM5 L6 H105\n",
         {"heater.hotend.min_temperature": 5, "heater.hotend.max_temperature": 270,
          "heater.bed.min_temperature": 6, "heater.bed.max_temperature": 105}),
        ("; M4 mesh area: A..B in X, C..D in Y\nM4 A25 B275 C20 D270\n",
         {"mesh.from_x": 25, "mesh.to_x": 275, "mesh.from_y": 20, "mesh.to_y": 270}),
        ("; M4 nozzle PID\nM4 P21.7 I1.2 D94\n",
         {"heater.hotend.tuning_p": 21.7, "heater.hotend.tuning_i": 1.2, "heater.hotend.tuning_d": 94}),
        ("; M4 longest single feed mm, M5 load length mm\nM4 E150\nM5 E65\n",
         {"feeder.max_feed_length": 150, "feeder.load_length": 65}),
        ("; V4 reversed yes 1 no 0   V5 microsteps\nV4 X0 Y1\n", {"axis.x.direction": 0, "axis.y.direction": 1}),
    ],
)  # fmt: skip
def test_a_legend_may_say_its_letters_in_many_ways(lines: str, wanted: dict[str, float]) -> None:
    assert {r.quantity: r.value for r in machine(lines).readings} == pytest.approx(wanted)


def test_a_line_that_is_the_same_has_the_remark_of_its_codes_first_line() -> None:
    text = "M8 X100 Y100 Z400 ; steps for one millimetre\nM8 E99.5 ; the same for the filament\n"
    assert values(machine(text)) == {("feeder.steps_per_mm", 1): 99.5}


def test_what_a_heading_says_of_peak_is_kept() -> None:
    text = "; -- coil current in mA, PEAK: this board counts peaks --\nM906 X1000 E1131\n"
    assert {r.quantity: round(r.value or 0, 3) for r in machine(text).readings} == {
        "axis.x.run_current": 0.707, "motor.run_current": 0.8,
    }  # fmt: skip


@pytest.mark.parametrize(("line", "editable"), [("C3 X88 Y91 Z640 E717", True), ("C3 X80 Y80", False)])
def test_below_a_heading_that_nobody_knows_only_a_line_of_all_axes_and_the_feeder_is_edited(
    line: str, editable: bool
) -> None:
    found = machine(f"; --- plinth ---\n{line} ; pulses per mm\n")
    assert found.readings and {each.editable for each in found.readings} == {editable}


def test_a_heading_of_two_things_is_not_said_of_a_word_that_is_of_neither() -> None:
    found = machine("; --- slides and feed ---\nW2 S1800 ; greatest acceleration, all slides together\n")
    assert "feeder.max_acceleration" not in {each.quantity for each in found.readings}


@pytest.mark.parametrize(
    "line", ["M80 L5.8 H0.4 ; retraction, mm", "M80 K0.5 T0.04 ; lag, s", "M80 L6 H0.4 ; retraction, mm"]
)
def test_what_is_said_of_several_letters_together_is_no_ones(line: str) -> None:
    assert machine(line + "\n").readings == ()


def test_feeders_may_be_named_together() -> None:
    text = "; M10 steps per mm\n; axes X Y Z, feeders A and B\n\nM10 X88 Y91 Z640\nM10 A97\nM10 B431\n"
    assert values(machine(text)) == {("feeder.steps_per_mm", 1): 97, ("feeder.steps_per_mm", 2): 431}


def test_a_heading_with_as_many_parts_as_codes_below_it_says_one_of_each() -> None:
    text = "; ==== Retraction: length, speed, return speed, lift ====\nM1 L0.7\nM2 S35\nM3 S22\nM4 Z0.2\n\n"
    text += "; ==== Nozzle diameter, filament diameter ====\nM5 D0.4\nM6 D1.75\n"
    assert values(machine(text)) == {
        ("retraction.length", 1): 0.7, ("retraction.speed", 1): 35, ("retraction.return_speed", 1): 22,
        ("retraction.lift", 1): 0.2, ("nozzle.diameter", 1): 0.4, ("filament.diameter", 1): 1.75,
    }  # fmt: skip


def test_a_heading_with_other_parts_than_codes_below_it_is_shared_out_to_none() -> None:
    found = machine("; ==== Retraction: length, speed, lift ====\nM1 L0.7\nM2 S35\n")
    assert "retraction.lift" not in {each.quantity for each in found.readings}
    assert all(each.value != 35 for each in found.readings)


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        ("; M9 travel, minimum\nM9 X-2 Y0 Z0\n", {"axis.x.min": -2, "axis.y.min": 0, "axis.z.min": 0}),
        ("; M9 flow lag C, averaging time T\nM9 C0.5 T0.04\n", {"lag.coefficient": 0.5, "lag.averaging": 0.04}),
        ("; M9 probed area, X and Y from (A, B) to (C, D)\nM9 A20 B21 C185 D195\n",
         {"mesh.from_x": 20, "mesh.from_y": 21, "mesh.to_x": 185, "mesh.to_y": 195}),
    ],
)  # fmt: skip
def test_letters_may_stand_at_the_end_of_what_they_are(lines: str, wanted: dict[str, float]) -> None:
    assert {r.quantity: r.value for r in machine(lines).readings} == pytest.approx(wanted)


@pytest.mark.parametrize("end", ["", "*33"])
def test_two_counts_of_teeth_are_asked_about_with_a_checksum_and_without(end: str) -> None:
    found = machine(f"M777 A3 B50{end} ; gear ratio of the feeder\n")
    assert any("neither" in each.why for each in found.doubts)
    assert not any(each.editable for each in found.readings)


@pytest.mark.parametrize(("path", "remark"), [("s.cfg", "steps per mm"), ("steps.cfg", "steps per mm")])
def test_a_heading_is_no_title_because_the_file_is_called_so(path: str, remark: str) -> None:
    found = recognise([read(path, f"; {remark}\nM5 X88 Y91 Z640 E431\n".encode(), "command")])
    assert len(found.readings) == 4


@pytest.mark.parametrize("heading", ["fog machine", "turntable", "quux", "lid"])
@pytest.mark.parametrize(
    "line", ["Q60 S5.2 ; retraction length mm", "Q60 S200 ; top speed mm/s", "Q60 X200 ; highest place mm"]
)
def test_what_stands_below_a_heading_of_something_else_is_not_the_machine_s(heading: str, line: str) -> None:
    found = recognise([read("one.nc", f"; --- {heading} ---\n{line}\n".encode(), "command")])
    assert found.every_reading == ()


def test_a_heading_of_the_machine_s_own_says_what_a_line_is_about() -> None:
    found = recognise([read("one.nc", b"; --- feeder ---\nQ60 S40 ; top speed mm/s\n", "command")])
    assert [(each.quantity, each.value) for each in found.readings] == [("feeder.max_speed", 40)]


@pytest.mark.parametrize("unit", ["thousandths of an ampere", "in thousandths of an amp", "mA"])
def test_thousandths_of_an_ampere_are_what_a_meaning_calls_so(unit: str) -> None:
    site = parse_site(
        b"site: 1\ncodes:\n  S220.E: {quantity: motor.run_current, unit: mA peak}\n", "cfgmigrate.yaml"
    )
    text = f"S220 X1200 Y1200 Z1000 E1100 ; crest current, {unit} (the crest!)\n"
    found = recognise([read("heron.cmd", text.encode(), "command")], names_said(None, site))
    (held,) = (each for each in found.readings if each.quantity == "motor.run_current")
    assert held.value == pytest.approx(1.1 / 2**0.5) and held.editable and found.doubts == ()


def test_a_meaning_against_the_remark_says_what_to_write_in_it() -> None:
    site = parse_site(
        b"site: 1\ncodes:\n  S220.E: {quantity: motor.run_current, unit: mA peak}\n", "cfgmigrate.yaml"
    )
    line = b"S220 E1100 ; run current ampere (crest)\n"
    (doubt,) = recognise([read("heron.cmd", line, "command")], names_said(None, site)).doubts
    assert "its key says A" in doubt.why and "write mA peak in it" in doubt.remedy


def test_thousandths_of_a_second_are_milliseconds() -> None:
    assert read_as(machine("H5 E520 ; lag coefficient, thousandths of a second\n")) == {
        ("lag.coefficient", 1): 0.52
    }


def test_what_is_said_before_the_other_letters_is_of_the_one_that_is_left() -> None:
    line = b"M906 E750 I40 ; mA peak, I is the idle percent\n"
    (held,) = recognise([read("heron.cmd", line, "command")]).readings
    assert held.value == pytest.approx(0.75 / 2**0.5)


def test_a_code_that_numbers_a_place_anew_sets_nothing_whatever_stands_beside() -> None:
    lines = b"; end\nG92 E0\nG1 E-6.2 F3300          ; pull\nG92 E0\nG1 E-35 F2400           ; out of heat, stays in tube\nM18\n"
    assert {each.quantity for each in recognise([read("end.cmd", lines, "command")]).readings} == {
        "script.end"
    }


@pytest.mark.parametrize(
    "text",
    [
        "; retraction length S: outer walls, then inner walls\nQ52 S6\nQ52 S5\n",
        "; retraction length mm and S speed: printing, then travelling\nQ52 E6 S40\nQ52 E5 S30\n",
    ],
)
def test_a_letter_that_the_remark_names_or_that_counts_no_lines_is_not_what_tells_them_apart(
    text: str,
) -> None:
    """Else a retraction would stay old in silence."""
    found = recognise([read("a.g", text.encode(), "command")])
    assert found.doubts or any(each.quantity == "retraction.length" for each in found.every_reading)


@pytest.mark.parametrize(
    ("subject", "wanted"),
    [
        ("-- probe seen from the tip, Z = tip height when it trips", {"probe.offset_x": -27.5, "probe.offset_y": 11}),
        ("feeler offset from the nozzle, Z = height", {"probe.offset_x": -27.5, "probe.offset_y": 11}),
        ("fan offset from the nozzle, Z = height", {}),
        ("lamp seen from the tip, Z = height", {}),
        ("brush, Z = height", {}),
        ("where the probe goes, Z = height", {}),
        ("tool 2 seen from tool 1, Z = height", {}),
    ],
)  # fmt: skip
def test_slides_that_a_list_leaves_out_are_what_all_of_it_is_about(
    subject: str, wanted: dict[str, float]
) -> None:
    found = machine(f"; {subject}\nN22 M88 X-27.5 Y11 Z1.85\n")
    read = {r.quantity: r.value for r in found.readings if r.quantity[-2:] in ("_x", "_y")}
    assert read == wanted


def test_a_letter_that_is_no_slide_is_not_what_a_list_that_leaves_it_out_is_about() -> None:
    found = machine("; probe seen from the tip, Z = height\nN22 M88 X-27.5 Y11 Z1.85 S3\n")
    assert not any(r.quantity.startswith("probe.offset") and r.value == 3 for r in found.readings)


@pytest.mark.parametrize(
    ("remark", "offset"),
    [
        ("where the probe goes", False),
        ("where the tip goes, not the probe", False),
        ("where the feeler touches the glass", False),
        ("where the probe sits, seen from the nozzle", True),
        ("probe", True),
    ],
)
def test_where_something_goes_is_no_offset_of_the_probe(remark: str, offset: bool) -> None:
    found = machine(f"M88 X27.5 Y11 ; {remark}\n")
    assert any(r.quantity == "probe.offset_x" for r in found.readings) is offset


def test_a_remark_about_loading_above_moves_says_nothing_of_another_code_among_them() -> None:
    """What keeps the nozzle warm for it is no length."""
    moves = "M83\nM109 S212\nG1 E35 F280\nG1 E410 F2200\n"
    for remark in (
        "; put filament in: mm, F in mm/min",
        "; load the filament, mm",
        "; pull filament out, mm",
    ):
        found = machine(f"{remark}\n{moves}")
        assert not [each for each in found.readings if each.value == 212], remark
    assert read_as(machine("; load the filament, mm\nM733 S412\n")) == {("feeder.load_length", 1): 412}
    behind = machine("; load the filament\nM733 S412 ; load length, mm\nG1 X5\n")
    assert [each.value for each in behind.readings if each.quantity == "feeder.load_length"] == [412]
