"""A number of which its remark says that it is 1 or -1 is a sign, whatever its name says."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise

SIGN = "#define FEED_TURN 1 /* 1 or -1 */\n"


@pytest.mark.parametrize("remark", ["1 or -1", "-1 or 1: the way round", "+1 / -1", "+/-1", "+1 or -1.0"])
def test_a_number_that_is_1_or_less_than_nothing_is_asked_and_not_taken_for_a_length(remark: str) -> None:
    found = recognise([read("knot.h", f"#define FEED_TURN 1 /* {remark} */\n".encode(), "header")])
    assert not found.every_reading
    (doubt,) = [each for each in found.doubts if "1 or -1" in each.why]
    assert doubt.place.line == 1


@pytest.mark.parametrize(
    "text",
    [
        "#define FEED_TURN 8.4 /* 1 or -1 */\n",
        "#define FEED_TURN 1 /* mm, worn by 1 or 2 in 10 */\n",
        "#define FEED_TURN 1 /* mm, 1 or -1.2 at most */\n",
        "#define FEED_TURN 1 /* mm */\n",
    ],
)
def test_a_length_whose_remark_says_no_sign_is_read(text: str) -> None:
    found = recognise([read("knot.h", text.encode(), "header")])
    assert [each.quantity for each in found.every_reading] == ["feeder.feed_per_turn"]


def test_a_number_of_less_than_nothing_is_asked_as_the_sign_and_as_nothing_else() -> None:
    found = recognise([read("knot.h", b"#define FEED_TURN -1 /* 1 or -1 */\n", "header")])
    assert not found.every_reading
    assert not [each for each in found.doubts if each.about]


def test_what_a_person_named_is_taken_in_spite_of_its_remark(tmp_path: Path) -> None:
    (tmp_path / "names.yaml").write_text("FEED_TURN: feeder.feed_per_turn\n")
    found = recognise([read("knot.h", SIGN.encode(), "header")], read_names(tmp_path / "names.yaml"))
    assert [each.quantity for each in found.every_reading] == ["feeder.feed_per_turn"]


@pytest.mark.parametrize("remark", ["// +/- 1 tuned", "/* +/-1 */", "// \u00b11"])
@pytest.mark.parametrize(
    ("name", "meant"), [("RETRACTION_MM", "retraction.length"), ("LAG_S", "lag.coefficient")]
)
def test_how_far_off_a_length_or_a_time_may_be_is_no_sign(name: str, meant: str, remark: str) -> None:
    found = recognise([read("knot.h", f"#define {name} 1.0 {remark}\n".encode(), "header")])
    assert [each.quantity for each in found.every_reading] == [meant]
    assert not [each for each in found.doubts if "which way round" in each.why]


@pytest.mark.parametrize("remark", ["1 or -1", "-1 or 1", "+/-1: 1 or -1"])
def test_a_length_whose_remark_has_both_signs_in_full_is_asked(remark: str) -> None:
    found = recognise([read("knot.h", f"#define RETRACTION_MM 1 // {remark}\n".encode(), "header")])
    assert not found.every_reading
