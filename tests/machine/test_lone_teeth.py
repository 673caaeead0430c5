"""The teeth of one of two gears are never written as the whole gear ratio."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise

PAIR = "#define FEED_COGS_MOTOR {}\n#define FEED_COGS_SHAFT {}\n"
FORMULA = "#define FEED_RATIO ((float)FEED_COGS_SHAFT / FEED_COGS_MOTOR)\n"


def machine(text: str, names: str, tmp_path: Path, dialect: str = "header") -> Machine:
    (tmp_path / "names.yaml").write_text(names + "\n")
    return recognise([read("wren.h", text.encode(), dialect)], read_names(tmp_path / "names.yaml"))


@pytest.mark.parametrize("taught", ["FEED_COGS_MOTOR", "FEED_COGS_SHAFT"])
@pytest.mark.parametrize("formula", ["", FORMULA])
@pytest.mark.parametrize(("motor", "shaft", "ratio"), [(1, 1, 1), (16, 60, 3.75)])
@pytest.mark.parametrize("order", ["", ", order: driving:driven"])
def test_a_count_of_teeth_that_is_named_the_ratio_is_asked_about_and_not_written(
    taught: str, formula: str, motor: int, shaft: int, ratio: float, order: str, tmp_path: Path
) -> None:
    names = f"{taught}: {{quantity: feeder.gear_ratio{order}}}"
    found = machine(PAIR.format(motor, shaft) + formula, names, tmp_path)
    ours = [each for each in found.readings if each.setting.key in ("FEED_COGS_MOTOR", "FEED_COGS_SHAFT")]
    assert [(each.value, each.editable) for each in ours] == [(ratio, False)]
    assert any(
        "which gear drives" in each.why or "driving one is not said" in each.why for each in found.doubts
    )


def test_a_count_that_a_formula_divides_by_is_one_of_two_whatever_the_other_is_called(tmp_path: Path) -> None:
    text = (
        "#define FEED_MOTOR_COUNT 16\n#define GRIP_SIDE 60\n#define RELATION (GRIP_SIDE / FEED_MOTOR_COUNT)\n"
    )
    found = machine(text, "FEED_MOTOR_COUNT: feeder.gear_ratio", tmp_path)
    assert [each.editable for each in found.readings if each.setting.key == "FEED_MOTOR_COUNT"] == [False]
    assert any("driving one is not said (GRIP_SIDE in line 2 beside it)" in each.why for each in found.doubts)


@pytest.mark.parametrize(
    "text",
    [
        "#define FEED_MOTOR_GEAR 3\n",
        "#define FEED_MOTOR_GEAR 3\n#define FEED_MOTOR_LABEL 2\n",
        "#define FEED_MOTOR_GEAR 3\n#define FEED_SHAFT_GEAR 7.5\n",
    ],
)
def test_a_whole_number_without_a_partner_is_the_ratio_that_it_is_said_to_be(
    text: str, tmp_path: Path
) -> None:
    found = machine(text, "FEED_MOTOR_GEAR: feeder.gear_ratio", tmp_path)
    assert [(each.value, each.editable) for each in found.readings] == [(3, True)]
    assert not any("two gears" in each.why for each in found.doubts)


def test_two_counts_whose_words_say_which_drives_are_still_written_together(tmp_path: Path) -> None:
    text = "#define FEED_COGS_DRIVING 16\n#define FEED_COGS_DRIVEN 60\n"
    found = machine(text, "FEED_COGS_DRIVING: feeder.gear_ratio", tmp_path)
    both = [each for one in found.readings for each in (one, *found.followers(one))]
    assert sorted((each.value, each.form.teeth, each.editable) for each in both) == [
        (3.75, "driven", True),
        (3.75, "driving", True),
    ]


@pytest.mark.parametrize("counts", [(39, 13), (104, 11)])
@pytest.mark.parametrize("driven", ["TEETH_DRIVEN", "GEAR_TEETH_DRIVEN"])
def test_two_counts_that_are_both_said_to_be_it_are_written_together_however_many_they_are(
    counts: tuple[int, int], driven: str, tmp_path: Path
) -> None:
    text = "#define {} {}\n#define TEETH_DRIVING {}\n".format(driven, *counts)
    names = f"{driven}: feeder.gear_ratio\nTEETH_DRIVING: feeder.gear_ratio"
    found = machine(text, names, tmp_path)
    both = [each for one in found.readings for each in (one, *found.followers(one))]
    assert {each.form.teeth for each in both if each.editable} == {"driven", "driving"}
    assert {each.value for each in both} == {counts[0] / counts[1]} and not found.doubts


def test_the_teeth_of_one_gear_whose_other_is_not_there_are_no_ratio(tmp_path: Path) -> None:
    found = machine("#define GEAR_TEETH 39\n", "GEAR_TEETH: feeder.gear_ratio", tmp_path)
    assert not found.readings and "the other gear's line is not known" in found.doubts[0].why
