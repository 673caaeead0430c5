"""Words that files tie to axes in their opening remarks."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

LIMITS = """
#define ACROSS_LEAST -2
#define ACROSS_MOST 238
#define ALONG_MOST 224
#define UP_MOST 250
#define COIL_MA_ALONG 1000
#define RETRACTION_HOP_UP 0.2
#define PLATE_MOST 60
#define STEPS { 71, 72, 512, 118 }
"""


def header(opening: str, path: str = "m.h", text: str = LIMITS) -> Machine:
    return recognise([read(path, f"/* {opening} */\n{text}".encode(), "header")])


@pytest.mark.parametrize(
    "opening",
    [
        "order in lists: ACROSS, ALONG, UP, FILAMENT",
        "order of the axes: across, along, up",
        "X across, Y along, Z up: places of the tip",
        "across = x, along = y, up = z",
    ],
)
def test_words_that_the_file_ties_to_axes_are_these(opening: str) -> None:
    found = header(opening)
    told = {each.quantity: each.value for each in found.readings}
    assert (told["axis.x.min"], told["axis.x.max"], told["axis.y.max"], told["axis.z.max"]) == (
        -2,
        238,
        224,
        250,
    )
    assert told["axis.y.run_current"] == 1.0


def test_beside_other_words_a_word_of_the_trade_keeps_its_meaning() -> None:
    text = "#define FEEDER_SPEED_UP 900\n#define UP_MOST 250\n"
    found = header("order in lists: across, along, up", text=text)
    assert found.get("feeder.max_acceleration").value == 900
    assert found.get("axis.z.max").value == 250


@pytest.mark.parametrize(
    "opening", ["", "order in lists: ALONG, ALONG, UP", "first across, then along, then up"]
)
def test_where_nothing_ties_them_no_axis_is_read(opening: str) -> None:
    assert not [each for each in header(opening).every_reading if each.quantity.endswith((".min", ".max"))]


def test_a_word_for_a_part_of_the_machine_stays_that_part() -> None:
    text = "#define BED_MAX_TEMPERATURE 110\n"
    found = header("order in lists: across, along, bed", text=text)
    assert found.get("heater.bed.max_temperature").value == 110


def test_what_one_file_says_holds_in_all_and_two_that_disagree_say_nothing() -> None:
    one = read("a.h", b"/* X across, Y along, Z up */\n#define SPEAKS 1\n", "header")
    other = read("b.h", b"/* Y across, X along, Z up */\n", "header")
    limits = read("c.h", LIMITS.encode(), "header")
    assert recognise([one, limits]).get("axis.x.max").value == 238
    swapped = read("d.h", b"/* order in lists: along, across, up */\n#define K 1\n", "header")
    found = recognise([one, swapped, limits])
    assert found.get("axis.x.max") is None and found.get("axis.z.max").value == 250
    assert recognise([other, limits]).get("axis.x.max") is None


def test_on_which_side_an_end_is_is_no_limit_and_no_question() -> None:
    text = "#define END_ACROSS_IS_AT RIGHT\n#define ACROSS_MOST 238\n"
    found = header("X across, Y along, Z up", text=text)
    assert found.get("axis.x.max").value == 238 and not found.doubts
