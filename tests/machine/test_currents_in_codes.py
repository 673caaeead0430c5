"""A number that is a code for the driver, by what a remark or its own name says, is never taken for a current."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.currents_in_codes import CODE_FOR_A_CURRENT, CURRENTS
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise

FORMULA = "I = (n + 1) / 32 * Vref / (Rsense + 0.02) / sqrt2"


def header(text: str) -> Machine:
    return recognise([read("heron.h", f"#define WIRE_DIAMETER 1.75\n\n{text}\n".encode(), "header")])


def asked(machine: Machine) -> list[str]:
    return [each.about for each in machine.doubts if each.asks(CODE_FOR_A_CURRENT)]


def taken(machine: Machine) -> list[str]:
    return [each.quantity for each in machine.every_reading if each.quantity in CURRENTS]


@pytest.mark.parametrize(
    "text",
    [
        f"#define FEED_RUNNING_CURRENT 3   // {FORMULA}",
        f"// {FORMULA}\n#define FEED_RUNNING_CURRENT 3",
        "// code n means (n+1)*50 mA\n#define FEED_RUNNING_CURRENT 124",
        "#define FEED_RUNNING_CURRENT 124   // (124+1)*10 mA",
        "#define FEED_RUNNING_CURRENT 124   // units of 10 mA",
        "#define FEED_RUNNING_CURRENT 124   // 10 mA per count",
        "#define FEED_RUNNING_CURRENT 124   /* code, 0..255 */",
        "#define FEED_RUNNING_CURRENT 124   // of 255",
        f"/* The driver takes a code n:\n   {FORMULA} */\n#define FEED_REVERSED 1\n#define FEED_RUNNING_CURRENT 2",
        f"#define FEED_CURRENT_A 1   // {FORMULA}",
        "#define FEED_CURRENT_MA 124   // code n means (n+1)*10 mA",
        "#define FEED_CURRENT_CODE 124",
        "#define FEED_DRIVER_CURRENT_REGISTER 2",
    ],
)
def test_a_current_that_is_a_code_is_a_question_and_no_amount(text: str) -> None:
    machine = header(text)
    assert taken(machine) == []
    assert asked(machine) == ["motor.run_current"]
    (doubt,) = [each for each in machine.doubts if each.about == "motor.run_current"]
    assert "a code for the driver" in doubt.why and "ignore" in doubt.remedy


def test_a_remark_elsewhere_counts_for_whole_numbers_without_a_unit() -> None:
    legend = "// Driver currents are codes: (n + 1) * 10 mA\n\n"
    assert asked(header(f"{legend}#define FEED_RUNNING_CURRENT 124")) == ["motor.run_current"]
    assert taken(header(f"{legend}#define FEED_RUNNING_CURRENT 0.8")) == ["motor.run_current"]
    assert taken(header(f"{legend}#define FEED_RUNNING_CURRENT_MA 124")) == ["motor.run_current"]
    assert taken(header(f"{legend}#define FEED_RUNNING_CURRENT 124 // mA RMS")) == ["motor.run_current"]


def test_it_counts_in_the_machine_s_other_files() -> None:
    board = read("board.h", b"// drivers take codes: mA = (code + 1) * 10\n#define BOARD_LINES 4\n", "header")
    drive = read("drive.h", b"#define FEED_RUNNING_CURRENT 124\n#define WIRE_DIAMETER 1.75\n", "header")
    assert asked(recognise([drive, board])) == ["motor.run_current"]


def test_beside_one_code_a_bare_whole_number_is_no_amount() -> None:
    machine = header(
        "// currents in mA\n#define FEED_RUNNING_CURRENT 124 // code, 0..255\n#define FEED_HOLDING_CURRENT 62"
    )
    assert taken(machine) == [] and sorted(asked(machine)) == sorted(CURRENTS)


@pytest.mark.parametrize(
    "text",
    [
        "#define FEED_RUNNING_CURRENT 0.62 // A RMS",
        "#define FEED_RUNNING_CURRENT 800 // mA, in steps of 50 mA",
        "#define FEED_RUNNING_CURRENT 200 // mA, in steps of 50 mA",
        "#define FEED_RUNNING_CURRENT 650 // mA; see the colour code of the coils",
        "#define FEED_RUNNING_CURRENT 0.62 // the code for it is worked out by the board",
    ],
)
def test_an_amount_stays_one(text: str) -> None:
    machine = header(text)
    assert taken(machine) == ["motor.run_current"] and asked(machine) == []


def test_so_it_is_in_other_dialects() -> None:
    text = f"[feeder]\n# {FORMULA}\nrun current = 3\nsteps per mm = 140\n"
    machine = recognise([read("drive.cfg", text.encode(), "sectioned")])
    assert taken(machine) == [] and asked(machine) == ["motor.run_current"]


def test_what_the_user_named_stands(tmp_path: Path) -> None:
    (tmp_path / "names.yaml").write_text('"FEED_RUNNING_CURRENT": {quantity: motor.run_current, unit: mA}\n')
    names = read_names(tmp_path / "names.yaml")
    text = b"// code n means (n+1)*50 mA\n#define FEED_RUNNING_CURRENT 124\n"
    machine = recognise([read("heron.h", text, "header")], names)
    assert machine.get("motor.run_current").value == pytest.approx(0.124)


_CHIPS = "/* Current. The chips take a CODE from 0 to 31:  I rms = (code + 1) / 32 * 0.3 V / R */\n#define SENSE_R 0.11\n\n"


def test_a_code_that_says_only_when_it_counts_is_a_currents_where_a_remark_tells_what_codes_set() -> None:
    lines = "// X Y Z E\n#define RUN_CODE { 14, 14, 13, 17 }\n#define REST_CODE { 7, 7, 8, 9 }\n"
    assert sorted(asked(header(_CHIPS + lines))) == ["motor.hold_current", "motor.run_current"]
    assert not asked(header(lines))
    assert not asked(header(_CHIPS + "#define LAMP_CODE 17\n#define RUN_CODE 4711\n"))


def test_a_remark_about_currents_that_has_the_range_of_codes_counts_for_lines_elsewhere() -> None:
    machine = header("// current scale runs 0..31 on every driver\n\n#define FEED_RUNNING_CURRENT 2")
    assert taken(machine) == []
    assert asked(machine) == ["motor.run_current"]


def test_a_code_for_a_fault_is_none_for_a_current() -> None:
    machine = header("// error code 7 of the driver: too hot\n\n#define FEED_RUNNING_CURRENT 1")
    assert asked(machine) == []
