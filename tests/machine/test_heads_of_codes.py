"""How owners explain codes and letters once, at the head of a word-address file, and what no such head may bring about."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import MACHINE, Machine, feeder
from cfgmigrate.machine.recognise import recognise

LINES = "C61 X81 Y82 Z405 E103.5\nC62 X170 Y160 Z8 E41\nC63 A4.9 B33 C0.25 D27\n"
WANTED = {
    "axis.x.steps_per_mm": 81, "axis.y.steps_per_mm": 82, "axis.z.steps_per_mm": 405, "feeder.steps_per_mm": 103.5,
    "axis.x.max_speed": 170, "axis.y.max_speed": 160, "axis.z.max_speed": 8, "feeder.max_speed": 41,
    "retraction.length": 4.9, "retraction.speed": 33, "retraction.lift": 0.25, "retraction.return_speed": 27,
}  # fmt: skip
#: with a letter of something else on both lines of axes
BESIDE = LINES.replace("E103.5", "E103.5 W22").replace("E41", "E41 W30")
CODES = "; C61 steps per mm, C62 top speed mm/s\n"


def machine(text: str) -> Machine:
    return recognise([read("heron_codes.nc", text.encode(), "command")])


def read_as(found: Machine) -> dict[str, float | None]:
    return {r.quantity: r.value for r in found.readings}


@pytest.mark.parametrize(
    "head",
    [
        "( C61 steps per mm    C62 top speed mm/s )\n( C63 draw-back: A length, B speed, C lift, D speed when it goes forward again )\n",
        "; C61 = steps per mm\n; C62 = top speed, mm/s\n; C63 = retraction: A = length, B = speed, C = lift, D = speed of the way back\n",
        "; steps per mm: C61\n; top speed (mm/s): C62\n; retraction: C63, A length, B speed, C lift, D return speed\n",
        "; steps per mm = C61, top speed in mm/s = C62\n; retraction = C63 (length A, speed B, lift C, return speed D)\n",
        "; C61 sets the steps per mm and C62 the top speed in mm/s.\n; C63 is about the retraction: A is its length, B its speed, C the lift, D the return speed.\n",
        "; C61 (steps per mm), C62 (top speed, mm/s)\n; C63 (retraction; A length, B speed, C lift, D speed forward again)\n",
        "; C61 | steps per mm | \n; C62 | top speed | mm/s\n; C63 | retraction: A length, B speed, C lift, D return speed |\n",
    ],
)  # fmt: skip
@pytest.mark.parametrize("whose", ["", "; X Y Z slides, E extruder\n", "; axes X Y Z, extruder E\n"])
def test_codes_and_letters_are_explained_in_many_ways(head: str, whose: str) -> None:
    assert read_as(machine(head + whose + LINES)) == pytest.approx(WANTED)


@pytest.mark.parametrize(
    "whose",
    ["X Y Z slides, E extruder, W the wiper", "axes X Y Z, feeder E, rinser W", "E drives the filament, W the wiper",
     "X Y Z slides, E extruder, W winch"],
)  # fmt: skip
def test_a_letter_of_something_else_leaves_the_others_as_they_are(whose: str) -> None:
    found = read_as(machine(f"{CODES}; {whose}\n{BESIDE}"))
    assert found == pytest.approx({q: v for q, v in WANTED.items() if "retraction" not in q})


@pytest.mark.parametrize(
    "whose", ["X Y Z slides, E extruder, W which one of them", "X Y Z slides, E extruder"]
)
def test_a_letter_that_may_choose_or_that_nothing_explains_leaves_its_lines_unread(whose: str) -> None:
    assert "feeder.steps_per_mm" not in read_as(machine(f"{CODES}; {whose}\n{BESIDE}"))


@pytest.mark.parametrize(
    "whose",
    ["E is the first feeder, W the second one", "first feeder E, second feeder W", "E and W are the two feeders",
     "X Y Z slides, E feeder, W second feeder", "X, Y, Z and E as usual; W is the second feeder"],
)  # fmt: skip
def test_two_feeders_are_told_apart_in_words(whose: str) -> None:
    found = machine(f"{CODES}; {whose}\n{BESIDE}")
    speeds = {(r.holder, r.value) for r in found.readings if r.quantity == "feeder.max_speed"}
    assert speeds == {(feeder(1), 41), (feeder(2), 30)}


@pytest.mark.parametrize(
    "whose", ["E is the first fan, W the second one", "W is the second winch", "E is the feeder of W"]
)
def test_what_counts_other_things_tells_no_feeders_apart(whose: str) -> None:
    assert "feeder.max_speed" not in read_as(machine(f"{CODES}; {whose}\n{BESIDE}"))


@pytest.mark.parametrize(
    ("remark", "is_read"),
    [
        ("steps per mm, W is the roll of labels", True),
        ("steps per mm; W rinser", True),
        ("steps per mm", False),
        ("steps per mm, W is the second one", False),
        ("steps per mm, W the new speed", False),
    ],
)
def test_one_letter_of_a_line_may_be_explained_as_something_else(remark: str, is_read: bool) -> None:
    found = read_as(machine(f"C61 X81 Y82 Z405 E103.5 W22 ; {remark}\n"))
    assert ("feeder.steps_per_mm" in found) == is_read
    assert 22 not in found.values()


LISTED = "C63 L4.9 F1980 Z0.25 ; retraction: L length, F speed, Z lift\n"


def test_letters_of_a_list_are_the_same_for_another_feeder() -> None:
    found = machine(f"{LISTED}C64 L3.2 F1500 ; retraction of the second feeder\n")
    assert {(r.holder, r.value) for r in found.readings if r.quantity == "retraction.length"} == {
        (MACHINE, 4.9),
        (feeder(2), 3.2),
    }


@pytest.mark.parametrize(
    "remark",
    [
        "retraction of the second winch",
        "label of the second feeder",
        "retraction, again",
        "loading of the second feeder",
    ],
)
def test_letters_of_a_list_say_nothing_of_other_things(remark: str) -> None:
    found = machine(f"{LISTED}C64 L3.2 F1500 ; {remark}\n")
    assert 3.2 not in read_as(found).values()


def test_two_lists_about_one_thing_explain_no_other_code() -> None:
    other = "C66 F4.9 L33 Z0.25 ; retraction: F length, L speed mm/s, Z lift\n"
    found = machine(f"{LISTED}{other}C64 L3.2 F1500 ; retraction of the second feeder\n")
    assert all(r.holder != feeder(2) for r in found.readings)


@pytest.mark.parametrize(
    "remark", ["acceleration, mm/s^2", "speed of the fan", "motor current, mA RMS", "speed of the winch"]
)
def test_a_legend_that_the_line_s_own_remark_contradicts_says_nothing(remark: str) -> None:
    found = read_as(machine(f"; top speed (mm/s): C62\nC62 X170 E41 ; {remark}\n"))
    assert not {"axis.x.max_speed", "feeder.max_speed"} & found.keys()


@pytest.mark.parametrize(
    "head",
    ["; not used any more: C62", "; see the list of codes: C62", "; speed of the winch = C62", "; top speed (mm/s): C99",
     "; speed = C62 and a half"],
)  # fmt: skip
def test_words_before_a_code_that_do_not_say_what_it_sets_say_nothing(head: str) -> None:
    assert not read_as(machine(f"{head}\n\nC62 X170 Y160 Z8 E41\n"))


@pytest.mark.parametrize(
    ("title", "is_read"),
    [
        ("codes of the mill next door, for comparison", False),
        ("what the codes meant on the old board:", False),
        ("the other printer's codes:", False),
        ("codes of the laser", False),
        ("my codes:", True),
        ("the codes, for when I am old", True),
        ("same codes as on the other printer", True),
        ("codes of this printer, its fans and its feeder", True),
    ],
)
def test_a_legend_of_another_machine_explains_nothing_here(title: str, is_read: bool) -> None:
    found = read_as(machine(f"; {title}\n; C61 steps per mm\n; C62 top speed mm/s\n\n{LINES}"))
    assert ("feeder.steps_per_mm" in found, "feeder.max_speed" in found) == (is_read, is_read)


def test_a_legend_below_that_of_another_machine_is_this_one_s() -> None:
    other = "; codes of the laser:\n; C61 power\n; C62 steps per mm\n"
    found = read_as(machine(f"{other}; and mine:\n; C61 steps per mm\n; C62 top speed mm/s\n\n{LINES}"))
    assert found["feeder.steps_per_mm"] == 103.5 and found["feeder.max_speed"] == 41


@pytest.mark.parametrize(
    ("heading", "is_read"),
    [
        ("motor currents in mA rms, C47 stores them", True),
        ("motor currents in mA rms (saved by C47)", True),
        ("motor currents in mA rms: C47 stores them", True),
        ("motor currents in mA rms: C68", False),
        ("motor currents, mA rms = C68", False),
        ("C68: motor currents in mA rms", False),
        ("C68 = motor currents in mA rms", False),
        ("motor currents in mA rms (C68)", False),
        ("motor currents in mA rms [C68]", False),
        ("motor currents in mA rms (code C68)", False),
        ("motor currents (C68), mA rms", False),
        ("motor currents in mA rms, C68", False),
        ("motor currents in mA rms; C68", False),
        ("motor currents in mA rms, set by C68", False),
        ("motor currents in mA rms (C68, C69)", False),
        ("motor currents in mA rms (C68 and C69)", False),
        ("--- motor currents, mA rms (C68) ---", False),
        ("--- motor currents, mA rms (C67) ---", True),
        ("motor currents in mA rms (C67)", True),
        ("motor currents in mA rms, C67", True),
        ("motor currents in mA rms (C67, C68)", True),
        ("motor currents in mA rms, C68 and C67", True),
        ("motor currents in mA rms (see C47)", True),
        ("motor currents in mA rms (as after C47)", True),
    ],
)
def test_a_heading_that_mentions_another_code_is_its_lines_unless_it_explains_that_code(
    heading: str, is_read: bool
) -> None:
    found = read_as(machine(f"; {heading}\nC67 X810 Y810 Z820 E710\n"))
    assert found.get("motor.run_current") == (pytest.approx(0.71) if is_read else None)


@pytest.mark.parametrize(
    ("lines", "quantity", "value"),
    [
        ("; steps per mm, C47 stores them\nC61 X81 Y82 Z405 E103.5\n", "feeder.steps_per_mm", 103.5),
        ("; retraction length in mm (saved by C47)\nC63 L4.9\n", "retraction.length", 4.9),
    ],
)
def test_a_code_behind_a_verb_or_in_brackets_leaves_the_heading_as_it_was(
    lines: str, quantity: str, value: float
) -> None:
    assert read_as(machine(lines)).get(quantity) == value


@pytest.mark.parametrize("words", ["D dividend", "R root", "T tenths", "S standby", "C lift"])
def test_a_letter_whose_words_name_no_thing_may_change_what_the_others_mean(words: str) -> None:
    letter = words[0]
    behind = machine(f"C61 X81 Y82 Z405 E1035 {letter}10 ; steps per mm, {words}\n")
    head = machine(f"{CODES}; X Y Z slides, E extruder, {words}\n{BESIDE.replace('W', letter)}")
    assert "feeder.steps_per_mm" not in read_as(behind)
    assert "feeder.steps_per_mm" not in read_as(head)


@pytest.mark.parametrize("words", ["S standby of the pump", "D pump dividend"])
def test_what_is_only_something_of_a_thing_may_do_so_as_well(words: str) -> None:
    found = machine(f"C61 X81 Y82 Z405 E1035 {words[0]}10 ; steps per mm, {words}\n")
    assert "feeder.steps_per_mm" not in read_as(found)


@pytest.mark.parametrize("words", ["W wash arm", "W the pump", "W fan of the box", "W roll of paper"])
def test_a_letter_whose_words_name_a_thing_leaves_the_rest_of_its_line(words: str) -> None:
    found = read_as(machine(f"C61 X81 Y82 Z405 E103.5 W22 ; steps per mm, {words}\n"))
    assert found["feeder.steps_per_mm"] == 103.5 and 22 not in found.values()


@pytest.mark.parametrize(
    ("said", "counted"),
    [
        ("feeder", True),
        ("feeder motor", True),
        ("wire feed", True),
        ("filament drive (soft plastics)", True),
        ("feeder of the head", True),
        ("feeder fan", False),
        ("feeder heater", False),
        ("feeder sensor", False),
        ("feeder light", False),
        ("feeder hold", False),
        ("filament drive fan", False),
        ("big and red feeder fan", False),
        ("feeder's fan", False),
    ],
)
def test_what_is_only_something_of_a_second_feeder_is_no_feeder(said: str, counted: bool) -> None:
    found = machine(f"; A is the second {said}\nC61 X81 Y82 Z405 A40 E103.5 ; steps per mm\n")
    holders = {r.holder for r in found.readings if r.quantity == "feeder.steps_per_mm"}
    assert (feeder(2) in holders) == counted
    assert counted or 40 not in read_as(found).values()


@pytest.mark.parametrize(
    "title",
    ["what the codes mean, written down by my neighbour Jo", "meanings of the codes (the old board had others)",
     "the codes of the new controller, the old machine had none", "what the codes mean on my second machine and here",
     "meanings by the robot club", "codes of the plotter firmware which runs this printer", "codes for the old board and this one"],
)  # fmt: skip
def test_a_legend_that_only_mentions_another_machine_is_this_one_s(title: str) -> None:
    found = read_as(machine(f"; {title}\n; C61 steps per mm\n; C62 top speed mm/s\n\n{LINES}"))
    assert found["feeder.steps_per_mm"] == 103.5 and found["feeder.max_speed"] == 41


@pytest.mark.parametrize(
    "title", ["codes of the mill next door", "what the codes meant on the old board:", "codes of the laser"]
)
def test_codes_that_only_another_machine_s_list_explains_are_asked_about(title: str) -> None:
    found = machine(f"; {title}\n; C61 steps per mm\n; C62 top speed mm/s\n\n{LINES}")
    asked = [doubt for doubt in found.doubts if "another machine's" in doubt.why]
    assert [doubt.place.line for doubt in asked] == [5]
    assert "C61 (line 5), C62 (line 6)" in asked[0].why and title in asked[0].why
    assert asked[0].text == "C61 X81" and "{C61.X: QUANTITY}" in asked[0].remedy


def test_codes_that_their_own_remarks_explain_are_not_asked_about_for_another_machine_s_list() -> None:
    own = LINES.replace("E103.5", "E103.5 ; steps per mm").replace("E41", "E41 ; top speed mm/s")
    found = machine(f"; codes of the laser\n; C61 power\n; C62 focus\n\n{own}")
    assert read_as(found)["feeder.steps_per_mm"] == 103.5
    assert not [doubt for doubt in found.doubts if "another machine's" in doubt.why]
