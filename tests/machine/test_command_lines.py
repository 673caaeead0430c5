"""Word-address lines: by the table of codes, else by what remarks say; a checksum and a tool's letter shut them."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.command_lines import told_in_other_files
from cfgmigrate.machine.gear_pairs import ENDS_IN_CHECKSUM
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def machine(text: str) -> Machine:
    return recognise([read("one.nc", text.encode(), "command")])


def values(found: Machine) -> list[tuple[str, str, float | None, bool]]:
    return [(each.quantity, str(each.holder), each.value, each.editable) for each in found.readings]


@pytest.mark.parametrize(
    ("text", "read_as"),
    [
        ("A9 C900 ; feeder current mA rms\n", [("motor.run_current", "machine", 0.9, True)]),
        ("A9 E96 ; steps per mm\n", [("feeder.steps_per_mm", "machine", 96, True)]),
        ("; A9 is the lag, in s\nA9 K0.05\n", [("lag.coefficient", "machine", 0.05, True)]),
        ("A9 S200 ; hotend max temperature\n", [("heater.hotend.max_temperature", "machine", 200, False)]),
        ("A9 L20 ; filament switch: filament left behind it, mm\n", [("runout.distance", "machine", 20, True)]),
        ("T0\nA9 E96 ; steps per mm\nT1\nA9 E97 ; steps per mm\n",
         [("feeder.steps_per_mm", "feeder 1", 96, True), ("feeder.steps_per_mm", "feeder 2", 97, True)]),
    ],
)  # fmt: skip
def test_a_word_is_what_its_remark_says_of_the_tool_that_was_chosen_last(
    text: str, read_as: list[tuple[str, str, float | None, bool]]
) -> None:
    assert values(machine(text)) == read_as


@pytest.mark.parametrize(
    ("remark", "apart"), [(" ; steps per mm", True), (" ; load filament", False), ("", False)]
)
def test_a_line_that_sets_what_its_remark_says_is_no_part_of_a_script(remark: str, apart: bool) -> None:
    found = machine(f"G1 X10 F900\nA9 E96{remark}\nG1 X20\n")
    scripts = [each.text for each in found.readings if each.quantity.startswith("script.")]
    assert (len(scripts), any("A9" in text for text in scripts)) == ((2, False) if apart else (1, True))


@pytest.mark.parametrize("line", ["A9 E96*33 ; steps per mm", "A9 E96 * 33", "A9 E96*33"])
def test_a_line_that_ends_in_a_checksum_is_read_and_never_edited(line: str) -> None:
    found = machine(f"; A9 is steps per mm of the feeder\n{line}\n")
    assert [(each.value, each.editable) for each in found.readings] in ([], [(96, False)])
    assert all(each.why_not == ENDS_IN_CHECKSUM for each in found.readings)
    assert found.doubts or found.unread


@pytest.mark.parametrize(
    "text",
    [
        "; load filament\nA9 L80\n",
        "A9 S1 ; filament sensor: 1 = on\n",
        "A9 Q5 ; zumklo\n",
        "A9 Q5\n",
        "A9 L80 ; load filament\n",
    ],
)
def test_what_no_remark_explains_or_only_by_its_occasion_is_not_read(text: str) -> None:
    found = machine(text)
    assert not [each for each in found.readings if each.quantity != "protected.runout"]


def test_a_tool_beside_what_is_set_is_asked_about() -> None:
    found = machine("; A9 is steps per mm\nT1\nA9 E96\n")
    assert len(found.doubts) == 1 and "where counting begins" in found.doubts[0].why


@pytest.mark.parametrize(
    ("files", "told"),
    [
        ([("a.nc", "; A9 = lag\nA9 K1\n", "command"), ("b.nc", "A9 K1\n", "command")], {"A9": "lag"}),
        ([("a.nc", "; A9 = lag\nA9 K1\n", "command")], {}),
        ([("a.nc", "; A9 = lag\nA9 K1\n", "command"), ("b.ini", "a = 1\n", "flat")], {}),
        ([("a.nc", "; A9 = lag\n", "command"), ("b.nc", "; A9 = speed\n", "command")], {}),
        (
            [("a.nc", "A9 K1 ; flow lag in s\n", "command"), ("b.nc", "A9 K1 ; s\n", "command")],
            {"A9": "flow lag in s"},
        ),
        ([("a.nc", "A9 K1 ; flow lag in s\n", "command"), ("b.nc", "A9 L1\n", "command")], {}),
        (
            [
                ("a.nc", "A9 K1 ; flow lag in s\n", "command"),
                ("b.nc", "A9 K1 ; retraction length\n", "command"),
            ],
            {},
        ),
    ],
)
def test_what_one_word_address_file_explains_holds_in_the_others_unless_they_differ(
    files: list[tuple[str, str, str]], told: dict[str, str]
) -> None:
    documents = [read(path, text.encode(), dialect) for path, text, dialect in files]
    assert told_in_other_files(documents) == told


@pytest.mark.parametrize("apart", ["", " P1", " P5"])
def test_lines_of_one_code_of_which_a_remark_says_one_and_then_the_other_differ_in_a_letter_or_not(
    apart: str,
) -> None:
    second = apart.replace("1", "0").replace("5", "6")
    found = machine(
        f"G21\n; ends of travel: lowest, then highest, mm\nA9 X2 Y3 Z4{apart}\nA9 X20 Y30 Z40{second}\n"
    )
    assert {each.quantity: each.value for each in found.readings} == {
        **{"axis.x.min": 2, "axis.y.min": 3, "axis.z.min": 4},
        **{"axis.x.max": 20, "axis.y.max": 30, "axis.z.max": 40},
    }


def test_whose_line_it_is_may_be_told_at_the_console_where_the_board_writes_the_file() -> None:
    found = machine("; B71 feeder steps per mm (E)\nB71 P0 E416.5\nB71 P1 E415\n")
    assert not found.readings
    assert [doubt.place.line for doubt in found.doubts] == [2, 3]
    assert all("at the board's console" in doubt.remedy for doubt in found.doubts)


@pytest.mark.parametrize(
    ("head", "second"),
    [
        ("", "L4.4 V2520 W1980"),  # no feeder has the number 1980
        ("", "L4.4 W19.5"),
        ("; B74 retract: L length, V out, W back\n", "L4.4 V2700 W2100"),
        ("; B74 retract: L length, V speed out mm/s, W speed back\n", "L4.4 V1.5 W400"),
        ("; B74 retract: L length, V out speed, W back speed\n", "L4.4 V42 W33"),
        ("; B74 retract  L length, V out speed, W back speed\n", "L4.4 V42 W33"),
    ],
)
def test_a_letter_that_counts_nothing_makes_no_line_another_feeders_and_the_later_line_wins(
    head: str, second: str
) -> None:
    found = machine(f"{head or '; B74 retraction length (L), mm'}\nB74 {second}\nB74 L4.1\n")
    assert [each.value for each in found.readings if each.quantity == "retraction.length"] == [4.1]


@pytest.mark.parametrize(
    ("head", "lines"),
    [
        ("; B74 retraction length (L), mm\n", ("P0 L4.4", "P1 L4.1")),
        ("; B74 retraction length (L), mm\n", ("L4.4", "P1 L4.1")),
        ("; B74 retract: L length, P slot\n", ("L4.4 P1", "L4.1 P2")),
        ("; B74 retract: L length, P slot\n", ("L4.4 P301", "L4.1 P302")),
        ("; B74 retract: L length mm, P hotend\n", ("L4.4 P0", "L4.1 P1")),
        ("; B74 retract: L length mm, P hotend\n", ("L4.4 P6", "L4.1")),
        ("; B74 retract: L length, P hotend, mm\n", ("L4.4 P0", "L4.1 P1")),
        ("; B74 retract: L length, P reel\n", ("L4.4 P1", "L4.1 P2")),
        ("; B74 retract: L length, P position\n", ("L4.4 P1", "L4.1 P2")),
        ("; B74 retract: L length, P left 0 or right 1\n", ("L4.4 P0", "L4.1 P1")),
        ("; B74 retract: L length, P speed of slot\n", ("L4.4 P5", "L4.1 P6")),
        ("; B74 retract: L length, P current\n", ("L4.4 P0", "L4.1 P1")),
        ("; B74 retract: L length, V out, W back\n", ("L4.4 V42 W33", "L4.1")),
        ("; B74 retraction length (L), mm\n", ("L4.4 P100", "L4.1 P101")),
        ("; B74 retraction length (L), mm\n", ("L4.4 P1.0", "L4.1 P2.0")),
        ("; B74 retraction length (L), mm\n", ("L4.4 P-1", "L4.1 P1")),
        ("; B74 retraction length (L), mm\n", ("L4.4 P0\nB74 P300 L4.4", "L4.1 P1")),
    ],
)
def test_a_letter_that_may_count_feeders_leaves_it_a_question_whose_each_line_is(
    head: str, lines: tuple[str, str]
) -> None:
    found = machine(f"{head}B74 {lines[0]}\nB74 {lines[1]}\n")
    assert not [each for each in found.readings if each.quantity == "retraction.length"]
    asked = [doubt.about for doubt in found.doubts if "another feeder" in doubt.why]
    assert asked == ["retraction.length"] * f"B74 {lines[0]}\nB74 {lines[1]}".count("B74")
