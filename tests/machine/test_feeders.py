"""Which feeder a value is of: by number, by side, by its place in a list, and by what stands beside it."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.model import MACHINE, Holder, Machine, feeder
from cfgmigrate.machine.recognise import recognise


def machine(text: str, dialect: str = "sectioned", counts_from: int | None = None) -> Machine:
    told = {} if counts_from is None else {"feeder": counts_from}
    return recognise([read("wren.ini", text.encode(), dialect)], counts_from=told)


def held(found: Machine) -> dict[tuple[str, str], float | None]:
    return {(reading.quantity, str(reading.holder)): reading.value for reading in found.readings}


TWO = "[feeder]\nsteps per mm = 96\n[feeder 2]\nsteps per mm = 438\n"


def test_with_one_feeder_its_values_are_the_machines() -> None:
    found = machine("[feeder]\nsteps per mm = 96\n[retraction]\nlength = 5\n")
    assert {reading.holder for reading in found.readings} == {MACHINE}
    assert found.feeders == (1,)


def test_what_has_no_number_beside_a_sibling_with_one_is_the_first_feeders() -> None:
    found = machine(TWO)
    assert held(found) == {("feeder.steps_per_mm", "feeder 1"): 96, ("feeder.steps_per_mm", "feeder 2"): 438}
    assert found.feeders == (1, 2)


def test_what_has_no_number_and_no_sibling_serves_all_that_have_no_own() -> None:
    found = machine(TWO + "[retraction]\nlength = 5\n[lag]\ncoefficient = 0.5\n[feeder 2]\nlag = 0.9\n")
    shared = found.reading("retraction.length", MACHINE)
    assert shared is not None and shared.serves == (1, 2)
    assert found.view(1).get("retraction.length") is found.view(2).get("retraction.length") is shared
    lag = found.reading("lag.coefficient", MACHINE)
    assert lag is not None and lag.serves == (1,)
    assert found.view(2).get("lag.coefficient") is found.reading("lag.coefficient", feeder(2))


@pytest.mark.parametrize(
    ("text", "dialect"),
    [
        ("[retraction]\nlength = 5\n[retraction 2]\nlength = 6\n", "sectioned"),
        ("T0_PULLBACK_MM 5\nT1_PULLBACK_MM 6\n", "flat"),
        ("tool.1.retract.length = 5\ntool.2.retract.length = 6\n", "flat"),
        ("feed.left.retract.length = 5\nfeed.right.retract.length = 6\n", "flat"),
        ("#define PULLBACK_1_MM 5\n#define PULLBACK_2_MM 6\n", "header"),
        ("T0\nM207 S5\nT1\nM207 S6\n", "command"),
        ("T0\nM207 S5\nT1\nM207 S6\n", "command"),
        ('{"feeders": [{"retraction": {"length": 5}}, {"retraction": {"length": 6}}]}', "nested"),
        ('{"feeders": {"retraction length": [5, 6]}}', "nested"),
        ('{"left feeder": {"retraction length": 5}, "right feeder": {"retraction length": 6}}', "nested"),
    ],
)
def test_each_feeders_retraction_is_its_own_in_every_dialect(text: str, dialect: str) -> None:
    assert held(machine(text, dialect)) == {
        ("retraction.length", "feeder 1"): 5,
        ("retraction.length", "feeder 2"): 6,
    }


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("wire motor 0", "wire motor 1"),
        ("feedStepper1", "feedStepper2"),
        ("cord unit left", "cord unit right"),
    ],
)
def test_a_number_or_a_side_behind_what_carries_out_a_feeders_word_is_the_feeders(
    one: str, other: str
) -> None:
    found = machine(
        f"[{one}]\nsteps per mm = 96\npull back = 4\n[{other}]\nsteps per mm = 438\npull back = 2\n"
    )
    assert held(found) == {
        ("feeder.steps_per_mm", "feeder 1"): 96,
        ("feeder.steps_per_mm", "feeder 2"): 438,
        ("retraction.length", "feeder 1"): 4,
        ("retraction.length", "feeder 2"): 2,
    }


@pytest.mark.parametrize("section", ["wire motor 4", "drive motor 2"])
def test_a_motors_place_on_the_board_is_no_feeder(section: str) -> None:
    found = machine(f"[{section}]\nsteps per mm = 96\n")
    assert {str(reading.holder) for reading in found.readings} <= {"machine"}


@pytest.mark.parametrize("word", ["wire", "thread", "cord"])
def test_a_letter_behind_a_word_for_the_filament_is_a_feeders_and_no_ampere(word: str) -> None:
    found = machine(f"steps.{word}.a = 96\nsteps.{word}.b = 438\n", "flat")
    assert held(found) == {("feeder.steps_per_mm", "feeder 1"): 96, ("feeder.steps_per_mm", "feeder 2"): 438}


def test_tools_and_the_machines_own_words_are_counted_apart() -> None:
    text = "feeder 1 steps per mm = 96\nfeeder 2 steps per mm = 438\nT0 retract length = 5\nT1 retract length = 6\n"
    found = machine(text, "flat")
    assert found.feeders == (1, 2)
    assert held(found)["retraction.length", "feeder 2"] == 6
    assert held(found)["feeder.steps_per_mm", "feeder 2"] == 438


ONE = "FEEDER_1_STEPS_PER_MM = 138\nFEEDER_1_PULLBACK_LENGTH = 4\n"


def test_a_1_that_is_alone_is_the_machines_feeder_and_a_question() -> None:
    found = machine(ONE, "flat")
    assert found.feeders == (1,)
    assert {reading.holder for reading in found.readings} == {MACHINE}
    (doubt,) = found.doubts
    assert "known_as: [T1]" in doubt.remedy and doubt.place.line == 1


def test_one_like_thing_without_a_number_does_not_make_the_1_a_second_feeder() -> None:
    text = ONE + "FEEDER_1_PULLBACK_SPEED = 30\nFEEDER_1_LAG_S = 0.4\nLAG_S = 0.5\n"
    assert machine(text, "flat").feeders == (1,)
    assert machine(text + "STEPS_PER_MM_OF_FEEDER = 96\n", "flat").feeders == (1, 2)


@pytest.mark.parametrize(("begins", "holder"), [(1, "machine"), (0, "feeder 2")])
def test_the_answer_says_where_counting_begins(begins: int, holder: str) -> None:
    found = machine(ONE, "flat", begins)
    assert {str(reading.holder) for reading in found.readings} == {holder}
    assert found.doubts == ()


def test_where_counting_begins_is_what_the_user_said_whatever_numbers_there_are() -> None:
    text = "feeder.1.retraction.length = 4.6 mm\nfeeder.2.retraction.length = 5.8 mm\n"
    assert [str(each.holder) for each in machine(text, "flat").readings] == ["feeder 1", "feeder 2"]
    assert [str(each.holder) for each in machine(text, "flat", 0).readings] == ["feeder 2", "feeder 3"]


def test_a_1_that_may_be_either_of_two_feeders_is_not_edited() -> None:
    found = machine(TWO + "[tool 1]\nretraction length = 5\n")
    (doubt,) = found.doubts
    assert "where counting begins" in doubt.why
    (reading,) = (each for each in found.readings if each.quantity == "retraction.length")
    assert not reading.editable and "which feeder" in reading.why_not


QUANTITIES = {"retraction length": "retraction.length", "lag coefficient": "lag.coefficient"}
NAMES = ("feeder", "feeder 1", "feeder 2", "feeder 3", "machine")


@given(st.lists(st.tuples(st.sampled_from(NAMES), st.sampled_from(sorted(QUANTITIES))), unique=True))
def test_two_feeders_never_share_a_reading_of_their_own(said: list[tuple[str, str]]) -> None:
    text = "".join(f"[{name}]\n{key} = {0.1 + at / 100}\n" for at, (name, key) in enumerate(said))
    found = machine(text)
    spans = Counter((each.place.file, each.start) for each in found.every_reading)
    assert set(spans.values()) <= {1}
    assert len(found.every_reading) == len(said)
    for reading in found.readings:
        assert reading.holder == MACHINE or reading.serves == (int(reading.holder.name),)
        for number in found.feeders:
            seen = found.view(number).get(reading.quantity) is reading
            assert seen == (number in reading.serves)
    for number in found.feeders[1:]:
        assert Holder("feeder", str(number)) in {reading.holder for reading in found.every_reading}


def test_what_a_person_says_that_a_setting_of_the_second_feeder_means_stays_the_second_feeders(
    tmp_path: Path,
) -> None:
    """The question about rms or peak is answered for both; each current stays its own feeder's."""
    (tmp_path / "f.txt").write_text(
        "axis.z.max = 300\nfeeder.1.amps.moving = 0.80\nfeeder.1.steps_per_mm = 94\nfeeder.2.amps.moving = 0.70\n"
        "feeder.2.steps_per_mm = 95\n"
    )
    meaning = "{quantity: motor.run_current, unit: A rms}"
    (tmp_path / "cfgmigrate.yaml").write_text(
        f"site: 1\nmeanings:\n  feeder.1.amps.moving: {meaning}\n  feeder.2.amps.moving: {meaning}\n"
    )
    _, found = api.read_machine([tmp_path])
    currents = {
        str(each.holder): each.value for each in found.readings if each.quantity == "motor.run_current"
    }
    assert currents == {"feeder 1": 0.80, "feeder 2": 0.70}


FROM_0 = '{"feed": [{"n": 0, "name": "base", "mm per motor turn": 35.6, "retract": 6.0}, {"n": 1, "name": "accent", "mm per motor turn": 35.4, "retract": 6.3}]}'
FROM_1 = "[feeder 1]\nsteps per mm = 89.35\n[feeder 2]\nsteps per mm = 89.4\n"


def of_two_files(numbered: str, listed: str) -> Machine:
    return recognise(
        [read("feeders.ini", numbered.encode(), "sectioned"), read("memory.json", listed.encode(), "nested")]
    )


def test_two_files_that_count_as_many_feeders_from_0_and_from_1_are_asked_about_and_neither_is_edited() -> (
    None
):
    found = of_two_files(FROM_1, FROM_0)
    (asked,) = [doubt for doubt in found.doubts if "counts the feeders from 0" in doubt.why]
    assert asked.place.file == "feeders.ini" and "feeders:" in asked.remedy
    assert not any(reading.editable for reading in found.readings if reading.holder != MACHINE)


@pytest.mark.parametrize(
    ("numbered", "listed"),
    [
        (FROM_1.replace("feeder 2", "feeder 0"), FROM_0),
        (FROM_1 + "[feeder 3]\nsteps per mm = 90\n", FROM_0),
    ],
)
def test_files_that_count_alike_or_not_as_many_are_not_asked_whether_they_count_apart(
    numbered: str, listed: str
) -> None:
    assert not any("counts the feeders from 0" in each.why for each in of_two_files(numbered, listed).doubts)
