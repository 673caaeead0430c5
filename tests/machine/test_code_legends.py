"""A file that explains its codes once, in a legend or by lists of letters, is read by what it explains."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.code_legends import CodeLegend, Listed, letters_listed, letters_of_all
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str) -> Machine:
    return recognise([read("dipper.set", text.encode(), "command")])


def values(text: str) -> dict[str, float | None]:
    return {reading.quantity: reading.value for reading in machine(text).readings}


LEGEND = (
    "; The board has no words of its own, these are mine:\n"
    ";   Q21 steps per mm          Q22 fastest, mm/s       Q23 acceleration, mm/s2\n"
    ";   Q24 coil current, mA rms  Q25 turns backwards, 1 = yes\n"
    ";   Q30 retraction: B length, V speed mm/s, U speed back mm/s, J extra on return\n"
    ";   Q31 flow lag: C seconds, W averaging in seconds\n"
    ";   Q40.. the turntable and the fog\n\n"
)


def test_a_legend_with_several_codes_a_line_says_what_each_sets() -> None:
    text = LEGEND + "Q21 X84 Y86 Z410\nQ21 E97.5\nQ22 X180 E45\nQ24 E640\nQ25 X1 E0\n"
    assert values(text) == pytest.approx(
        {
            "axis.x.steps_per_mm": 84,
            "axis.y.steps_per_mm": 86,
            "axis.z.steps_per_mm": 410,
            "feeder.steps_per_mm": 97.5,
            "axis.x.max_speed": 180,
            "feeder.max_speed": 45,
            "motor.run_current": 0.64,
            "axis.x.direction": 1,
            "feeder.direction": 0,
        }
    )


def test_a_legend_says_what_each_letter_behind_a_code_sets() -> None:
    assert values(LEGEND + "Q30 B5.6 V42 U31 J0.04\nQ31 C0.62 W0.05\n") == pytest.approx(
        {
            "retraction.length": 5.6,
            "retraction.speed": 42,
            "retraction.return_speed": 31,
            "retraction.extra_on_return": 0.04,
            "lag.coefficient": 0.62,
            "lag.averaging": 0.05,
        }
    )


def test_letters_may_be_explained_on_deeper_lines_below_their_code() -> None:
    text = "; Q30 pull-back\n;     B length, mm\n;     V speed, mm/s\n; Q31 lag, s\n\nQ30 B5.6 V42\n"
    assert values(text) == {"retraction.length": 5.6, "retraction.speed": 42}


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("Q5 B5.6 V2400 U1800 ; pull-back: B length, V feed out mm/min, U feed back in mm/min",
         {"retraction.length": 5.6, "retraction.speed": 40, "retraction.return_speed": 30}),
        ("Q5 B5.6 F2400 U1800 ; retraction: B = length, F = feed out, U = feed back in",
         {"retraction.length": 5.6, "retraction.speed": 40, "retraction.return_speed": 30}),
        ("Q5 K0.6 W0.04 ; lag: K seconds, W averaging", {"lag.coefficient": 0.6, "lag.averaging": 0.04}),
        ("Q5 B590 V610 ; B load, V unload, mm", {"feeder.load_length": 590, "feeder.unload_length": 610}),
        ("Q5 B1.75 V0.6 ; B filament diameter, V nozzle bore", {"filament.diameter": 1.75, "nozzle.diameter": 0.6}),
        ("Q5 L5 E0.03 Z0.2 ; pull-back: L length, E extra on return, Z lift",
         {"retraction.length": 5, "retraction.extra_on_return": 0.03, "retraction.lift": 0.2}),
        ("Q5 X150 Z420 ; fastest: X mm/s, Z mm/min", {"axis.x.max_speed": 150, "axis.z.max_speed": 7}),
    ],
)  # fmt: skip
def test_a_remark_may_list_the_letters_of_its_line(line: str, wanted: dict[str, float]) -> None:
    assert values(line + "\n") == pytest.approx(wanted)


def test_a_letter_that_a_list_leaves_out_is_not_read() -> None:
    assert values("Q5 B5.6 V42 H3 ; retraction: B length mm, V speed mm/s\n") == {
        "retraction.length": 5.6,
        "retraction.speed": 42,
    }


def test_a_letter_among_the_axes_is_the_feeders_where_any_remark_says_so() -> None:
    text = "; Q21 steps per mm\n; Q22 fastest, mm/s\n; and so on\n; Letters: X Y Z slides, U the wire feed\n\nQ21 X84 U412\n"
    assert values(text) == {"axis.x.steps_per_mm": 84, "feeder.steps_per_mm": 412}


def test_a_remark_that_is_only_an_aside_leaves_the_legend_in_force() -> None:
    assert values(LEGEND + "Q21 E97.5 ; measured over 300 mm, three times\n") == {"feeder.steps_per_mm": 97.5}


@pytest.mark.parametrize(
    "lines",
    [
        "Q21 E3200 ; turntable\n",
        "; --- turntable\nQ21 E3200\n",
        "Q22 E50 ; percent\n",
        "Q21 E5.2 ; retraction length, mm\n",
        "Q22 E2700 ; mm/min\n",
    ],
)
def test_where_line_and_legend_differ_neither_is_read(lines: str) -> None:
    assert values(LEGEND + lines) == {}


def test_one_description_of_a_code_is_that_of_none_of_its_several_letters() -> None:
    assert values("; Q5 retraction\n; Q6 steps per mm\n\nQ5 B5.6 V42\n") == {}


def test_a_one_that_is_said_to_be_no_truth_is_not_read() -> None:
    assert values("Q5 X1 ; direction, 0 = reversed, 1 = normal\n") == {}


def test_a_unit_of_one_code_is_that_of_no_other() -> None:
    text = "; Q22 fastest, mm/min\n; Q30 retraction: B length, V speed\n\nQ22 X9000\nQ30 B5.6 V40\n"
    speed = next(each for each in machine(text).readings if each.quantity == "retraction.speed")
    assert speed.value == 40 and not speed.editable


@pytest.mark.parametrize(
    ("head", "editable"),
    [
        ("; Q21 steps per mm\n; Q22 fastest, mm/s\n", True),
        ("; Q21 steps per mm\n; Q22 fastest, cm/s\n", False),
        ("; Q21 steps\n; Q22 fastest\n", False),
        ("; Q21 steps per mm\n; Q22 fastest, mm/s, pitch in inches\n", False),
    ],
)
def test_a_length_is_edited_where_all_that_is_stated_counts_in_mm(head: str, editable: bool) -> None:
    found = machine(head + "; Q30 retraction: B length, V speed mm/s\n\nQ30 B5.6 V40\n")
    length = next(each for each in found.readings if each.quantity == "retraction.length")
    assert length.editable is editable


def test_a_length_of_one_without_a_unit_may_be_a_switch() -> None:
    found = machine(
        "; Q21 steps per mm\n; Q22 fastest, mm/s\n; Q30 retraction: B length, H hop\n\nQ30 B1.2 H1\n"
    )
    hop = [each.editable for each in found.readings if each.quantity == "retraction.lift"]
    assert hop in ([], [False])


@pytest.mark.parametrize(
    ("text", "letters", "wanted"),
    [
        ("heat control P I D", "PID", Listed("heat control", {each: f"tuning {each.lower()}" for each in "PID"})),
        ("motor current, A rms", "XYA", None),
        ("feeder E", "E", None),
        ("B longest run mm, C no feeding below, deg C", "BC",
         Listed("", {"B": "longest run mm", "C": "no feeding below, deg C"})),
        ("B length, B speed", "B", None),
    ],
)  # fmt: skip
def test_letters_are_told_from_units_and_words(text: str, letters: str, wanted: Listed | None) -> None:
    assert letters_listed(text, tuple(letters)) == wanted


def test_letters_of_a_whole_file_share_words() -> None:
    assert letters_of_all("Letters: X, Y, Z slides; U the wire feed") == {
        **dict.fromkeys("XYZ", "slides"),
        "U": "the wire feed",
    }
    assert letters_of_all("X belt changed, still 84") == {}


def test_the_first_explanation_of_a_code_counts() -> None:
    legend = CodeLegend()
    for text in ("Q21 steps per mm", "Q21 was changed in May"):
        legend.take(text, 2)
    assert legend.codes == {"Q21": "steps per mm"}


def test_a_parameter_that_is_chosen_by_a_number_is_explained_by_it() -> None:
    head = "; Q1 sets a parameter: D says which, S its value\n"
    lines = "Q1 D1 S5.6\nQ1 D2 S45\nQ1 D3 S3200\n"
    for one, two, three in (("D1", "D2", "D3"), ("D1 =", "D2 =", "D3 =")):
        legend = f";  {one} retraction length, mm\n;  {two} retraction speed, mm/s\n;  {three} turntable, steps\n\n"
        assert values(head + legend + lines) == {"retraction.length": 5.6, "retraction.speed": 45}


def test_parameters_may_be_explained_by_number_alone() -> None:
    legend = "; 11: retraction length, mm\n; 12: load length, mm\n; 13: lag, s\n; 14: turntable, steps\n\n"
    lines = "Q1 D11 S5.6\nQ1 D12 S560\nQ1 D13 S0.6\nQ1 D14 S300\n"
    assert values(legend + lines) == {
        "retraction.length": 5.6,
        "feeder.load_length": 560,
        "lag.coefficient": 0.6,
    }


def test_letters_that_are_explained_for_the_whole_file_say_what_stands_behind_a_code() -> None:
    head = "; B = length in mm, V = speed in mm/s, U = back speed in mm/s\n\n"
    lines = "Q30 B5.6 V40 U30 ; retraction\nQ31 B560 ; load\nQ33 B3 V2 ; turntable\n"
    assert values(head + lines) == {
        "retraction.length": 5.6,
        "retraction.speed": 40,
        "retraction.return_speed": 30,
        "feeder.load_length": 560,
    }


def test_a_legend_may_explain_words_of_a_makers_own() -> None:
    head = "; REEL-IN: pull-back, B length mm, V speed mm/s\n; PULSES: steps per mm\n\n"
    lines = "PULSES X84 Y86\nPULSES E97\nPULSES Z400\nREEL-IN B5.6 V40\nREEL-IN B5.6 V40\n"
    assert values(head + lines) == {
        "axis.x.steps_per_mm": 84,
        "axis.y.steps_per_mm": 86,
        "axis.z.steps_per_mm": 400,
        "feeder.steps_per_mm": 97,
        "retraction.length": 5.6,
        "retraction.speed": 40,
    }


@pytest.mark.parametrize("run", [" ", "\t", "x/", "X5,", "0x", "P5 left "])
def test_a_long_run_in_a_remark_is_read_in_proportion(run: str) -> None:
    # where reading grew with the square of the length, this took minutes
    assert values("; Q1" + run * (30_000 // len(run)) + "x\nQ1 X5\n") == {}


def test_columns_of_a_legend_may_be_aligned_with_gaps_behind_the_codes() -> None:
    text = ";   Q1   steps each mm       Q2   fine steps (microsteps)\n\nQ1 X84 Y86 Z410\nQ2 X16 Y16 Z32 ; fine steps\n"
    assert values(text) == {
        "axis.x.steps_per_mm": 84,
        "axis.y.steps_per_mm": 86,
        "axis.z.steps_per_mm": 410,
        "axis.x.microsteps": 16,
        "axis.y.microsteps": 16,
        "axis.z.microsteps": 32,
    }


def test_a_unit_that_says_what_it_is_of_and_a_speed_of_every_axis_need_no_more_words() -> None:
    text = "; Q1 steps/mm  Q2 speed mm/min\n\nQ1 X84\nQ1 Y86\nQ2 X9000\nQ2 Y9000\nQ2 Z360\nQ2 E2400\n"
    assert values(text) == {
        "axis.x.steps_per_mm": 84,
        "axis.y.steps_per_mm": 86,
        "axis.x.max_speed": 150,
        "axis.y.max_speed": 150,
        "axis.z.max_speed": 6,
        "feeder.max_speed": 40,
    }


@pytest.mark.parametrize(
    "remark",
    [
        "way round (0 or 1, 1 is backwards)",
        "motor back to front, 0 no, 1 yes",
        "motor way round, 1 = reversed",
    ],
)
def test_a_switch_of_the_motors_sense_is_no_length_of_a_turn(remark: str) -> None:
    assert values(f"; Q8 {remark}\n\nQ8 X0 Y1\n") == {"axis.x.direction": 0, "axis.y.direction": 1}


def test_the_way_back_in_the_measure_of_the_way_out_is_the_returns() -> None:
    text = "; Q20 pull back (L length, S speed mm/min, B back mm/min, U up)\n; lengths in mm\n\nQ20 L7 S2400 B1500 U0.5\n"
    assert values(text) == {
        "retraction.length": 7,
        "retraction.speed": 40,
        "retraction.return_speed": 25,
        "retraction.lift": 0.5,
    }


def test_a_bare_load_of_the_filaments_axis_is_read_and_not_edited() -> None:
    found = machine("; Q1 steps per mm  Q2 fastest, mm/s  Q25 load\n\nQ1 E97\nQ25 E1170\n")
    assert [(r.value, r.editable) for r in found.readings if r.quantity == "feeder.load_length"] == [
        (1170, False)
    ]
    assert "feeder.load_length" not in values("; Q25 load\n\nQ25 S1170\n")


def test_a_length_behind_two_ways_is_that_of_both() -> None:
    assert values("Q22 I380 O420 ; load and unload, mm\n") == {
        "feeder.load_length": 380,
        "feeder.unload_length": 420,
    }


def test_the_remark_of_a_codes_first_line_explains_its_later_lines() -> None:
    text = (
        "Q20 L4.4 S32 ; pull back: L mm, S speed mm/s\n"
        "Q20 L5.1 S28 ; strings dreadfully\nQ1 X84 ; steps per mm\nQ1 E97.5\n"
    )
    assert values(text) == {
        "retraction.length": 5.1,
        "retraction.speed": 28,
        "axis.x.steps_per_mm": 84,
        "feeder.steps_per_mm": 97.5,
    }


@pytest.mark.parametrize("later", ["Q30 C5 W75 ; bed", "Q30 H1 C5 W75", "Q30 C5 W75 ; ml per turn, mm/s"])
def test_a_later_line_that_is_about_another_thing_is_not_explained_by_the_first(later: str) -> None:
    first = "Q30 C0.4 W32 ; pull back: C length mm, W speed mm/s\n"
    assert values(first + later + "\n") == values(first)


def test_letters_with_numbers_are_several_feeders() -> None:
    head = "; X Y Z as usual\n; U is filament drive 0, V is filament drive 1\n; Q1 steps per mm\n\n"
    found = machine(head + "Q1 X84 Y84 Z400 U95.5 V96.8\n")
    steps = {r.value: str(r.holder) for r in found.readings if r.quantity == "feeder.steps_per_mm"}
    assert steps == {95.5: "feeder 1", 96.8: "feeder 2"}


def test_a_letter_that_is_something_of_a_feeder_is_no_feeder() -> None:
    head = "; U is speed of drive 0, V is speed of drive 1\n; Q1 steps per mm\n\n"
    assert values(head + "Q1 X84 Y84 Z400 U95.5 V96.8\n") == {}


def test_m_behind_a_makers_own_code_is_a_letter_as_any_other() -> None:
    head = "".join(f"Q{number} S5\n" for number in range(1, 6))
    assert values(head + "Q25 M410 ; longest feed in one go, mm\n") == {"feeder.max_feed_length": 410}


def test_a_legend_explains_the_codes_of_the_machines_other_files() -> None:
    setup = b"; K101 pulses for one mm   K140 pull back: L length mm, F speed mm/min\nK101 X80 E138.2\n"
    filament = b"; mine, codes as in setup.nc\nK140 L4.6 F2700\n"
    files = (("setup.nc", setup), ("reels/pla.nc", filament))
    found = recognise([read(path, data, "command") for path, data in files])
    assert {r.quantity: r.value for r in found.readings if r.place.file.endswith("pla.nc")} == pytest.approx(
        {"retraction.length": 4.6, "retraction.speed": 45}
    )


@pytest.mark.parametrize(
    "remark",
    [" ; pen test 3 May", " ; by felt pen mark", " ; the reels' own files win over this one, they say"],
)
def test_a_remark_that_speaks_of_no_other_device_leaves_the_legend_in_force(remark: str) -> None:
    """What is measured by a pen is no plotter's, and what wins in a sentence is no winch."""
    setup = b"; K101 pulses for one mm   K140 pull back: L length mm, F speed mm/min\nK101 X80\n"
    filament = f"; mine, codes as in setup.nc\nK101 E138.2{remark}\nK140 L4.6 F2700{remark}\n".encode()
    found = recognise([read(path, data, "command") for path, data in (("a.nc", setup), ("b.nc", filament))])
    assert {r.quantity for r in found.readings if r.place.file == "b.nc"} == {
        "feeder.steps_per_mm", "retraction.length", "retraction.speed",
    }  # fmt: skip


@pytest.mark.parametrize(
    "remark", [" ; pen", " ; winch", " ; the hoist's winch, which lets the lamp down to us"]
)
def test_and_one_that_does_takes_it_out_of_force(remark: str) -> None:
    text = f"; K101 pulses for one mm\nK101 E138.2{remark}\n"
    assert not values(text)


def test_a_code_that_two_files_explain_differently_is_explained_to_neither_third() -> None:
    texts = (
        "; K140 retraction length, mm\nK9 X1 Y1\n",
        "; K140 load length, mm\nK9 X1 Y1\n",
        "K140 E4.6\nK9 X1 Y1\n",
    )
    found = recognise([read(f"{at}.nc", text.encode(), "command") for at, text in enumerate(texts)])
    assert not [each for each in found.readings if each.place.file == "2.nc"]


@pytest.mark.parametrize(
    ("letters", "read_as"),
    [
        ("S feed out mm, R feed back in mm", {"retraction.length": 5.2}),
        ("S pull out mm, R push in mm", {}),
        ("S pull out mm, R put back in mm", {}),
        ("S take out mm, R speed mm/s", {"retraction.speed": 5.4}),
        ("S length mm, R return speed mm/s", {"retraction.length": 5.2, "retraction.return_speed": 5.4}),
    ],
)
@pytest.mark.parametrize(
    "where", ["; Q30 retraction: {}\nQ30 S5.2 R5.4\n", "Q30 S5.2 R5.4 ; retraction: {}\n"]
)
def test_in_a_list_of_a_retraction_nothing_is_a_change_of_filament_and_the_way_back_no_retraction(
    letters: str, read_as: dict[str, float], where: str
) -> None:
    found = {reading.quantity: reading.value for reading in machine(where.format(letters)).every_reading}
    assert found == read_as


@pytest.mark.parametrize(
    ("text", "letters", "said"),
    [
        ("L and F speed", "LF", {"L": "speed", "F": "speed"}),
        ("L, R and F speed", "LRF", {"L": "speed", "R": "speed", "F": "speed"}),
        ("L length, F speed", "LF", {"L": "length", "F": "speed"}),
    ],
)
def test_a_letter_without_words_of_its_own_has_those_of_the_next(
    text: str, letters: str, said: dict[str, str]
) -> None:
    found = letters_listed(text, tuple(letters))
    assert found is not None and dict(found.letters) == said


KEPT = """; steps a mm Q71, retract Q74, lag s Q77
; P is the plug (P6 left feeder, P3 right feeder)
Q71 P6 E94.2
Q71 P3 E96.1
Q77 P6 S0.61
Q77 P3 S0.58
"""


def of_feeders(text: str) -> dict[tuple[str, str], float | None]:
    return {(each.quantity, str(each.holder)): each.value for each in machine(text).readings}


def test_a_legend_may_have_each_code_behind_its_words_and_tell_the_feeders_by_another_letter() -> None:
    found = of_feeders(KEPT)
    steps = [found["feeder.steps_per_mm", f"feeder {number}"] for number in (1, 2)]
    assert steps == [94.2, 96.1]
    assert found["lag.coefficient", "feeder 2"] == 0.58
    assert not machine(KEPT).doubts  # `lag s` states the unit


def test_numbers_of_a_letter_that_the_head_gives_to_one_feeder_twice_choose_none() -> None:
    found = of_feeders(KEPT.replace("P3 right feeder", "P3 left feeder"))
    assert not [holder for _, holder in found if holder != "machine"]


def test_a_legend_goes_on_in_the_next_line_where_it_breaks_off_before_a_bracket() -> None:
    text = "; Q71 steps a mm, Q74 retract\n; (L mm, V mm/s, U extra mm), Q75 fan\nQ71 E94.2\nQ74 L5.3 V41 U0.07\nQ75 S3\n"
    assert values(text) == pytest.approx(
        {
            "feeder.steps_per_mm": 94.2,
            "retraction.length": 5.3,
            "retraction.speed": 41,
            "retraction.extra_on_return": 0.07,
        }
    )


@pytest.mark.parametrize("aside", ["(the axes' are peak)", "(measured in May)", "(both feeders alike)"])
def test_a_bracket_that_explains_no_letters_is_no_part_of_the_legend_above_it(aside: str) -> None:
    text = "; Q75 feeder run current, mA\n; {}\n; Q71 steps a mm\nQ75 E800\nQ71 E94\n"
    assert values(text.format(aside)) == values(text.format("nothing"))


def test_a_unit_in_words_at_the_end_of_an_entry_stays_whole() -> None:
    text = "; Q72 feeder top speed, mm per s\n; Q71 steps a mm\nQ72 E40\nQ71 E94\n"
    assert values(text)["feeder.max_speed"] == 40


def test_what_begins_with_a_code_explains_it_better_than_a_sentence_that_ends_in_it() -> None:
    text = "; first the currents Q75, then the steps Q71\n; Q75 feeder run current, mA rms\n; Q71 steps a mm\nQ75 E800\nQ71 E94\n"
    assert values(text) == pytest.approx({"motor.run_current": 0.8, "feeder.steps_per_mm": 94})


@pytest.mark.parametrize(
    "head", ["nozzle end stops  A/B = X, C/D = Y, F = Z top", "Travel: A/B X, C/D Y, F Z top"]
)
def test_two_letters_of_one_axis_are_where_its_travel_begins_and_ends(head: str) -> None:
    text = f"; lengths mm\n; Q71 {head}\nQ71 A-6 B231 C-3 D219 F247\n"
    assert values(text) == {
        **{"axis.x.min": -6, "axis.x.max": 231, "axis.y.min": -3},
        **{"axis.y.max": 219, "axis.z.max": 247},
    }


@pytest.mark.parametrize(
    "head",
    [
        "limits: A/B = X, C/D = Y",  # of whatever
        "limits, mm: A/B = X, C/D = Y",
        "end stops  A/B = X, C/D = Y",  # pins, or whether they are there
        "nozzle end stop pins  A/B = X, C/D = Y",
        "limits of current  A/B = X, C/D = Y",
        "travel speed  A/B = X, C/D = Y",
        "nozzle end stops  A/B = X motor, C/D = Y motor",
    ],
)
def test_two_letters_of_one_axis_are_no_ends_of_travel_where_the_words_say_something_else(head: str) -> None:
    found = values(f"; lengths mm\n; Q71 {head}\nQ71 A6 B231 C3 D219\n")
    assert not [each for each in found if each.endswith((".min", ".max"))]
