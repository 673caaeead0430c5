"""Which quantity a name's words stand for: all of them must have a meaning, and nothing else may be named."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.matching import MOST_NAME_WORDS, all_fits, best_fits, fits, next_fits
from cfgmigrate.machine.words import names_of, read_name, readings_of_name


def fit(section: str, key: str) -> set[str]:
    return {each.quantity for each in fits(read_name(section, key))}


@pytest.mark.parametrize(
    ("section", "key", "meant"),
    [
        ("", "retraction length", {"retraction.length"}),
        ("", "length of the retraction", {"retraction.length"}),
        ("retraction", "length", {"retraction.length"}),
        ("length", "retraction", {"retraction.length"}),
        ("retraction", "length zum", set()),
        ("fan", "max speed", set()),
        ("axis x", "max speed", {"axis.x.max_speed"}),
        ("axis x", "max speed of the fan", set()),
        ("feeder", "max speed", {"feeder.max_speed"}),
        ("axis x 2", "max speed", {"axis.x.max_speed"}),
        ("axis x", "max speed 2", set()),
        ("acceleration", "load", set()),
        ("accelerations", "load length", {"feeder.load_length"}),
        ("current", "retraction length", set()),
        ("speeds", "retraction length", {"retraction.length"}),
        ("speeds", "retraction", {"retraction.speed"}),
        ("load and unload", "retraction length", set()),
        ("load and unload", "load length", {"feeder.load_length"}),
        ("load and unload", "unload length", {"feeder.unload_length"}),
        ("load and unload", "length", set()),
        ("retraction", "value", {"retraction.length"}),
        ("retraction length", "value", {"retraction.length"}),
        ("retraction length", "note", set()),
    ],
)
def test_a_name_means_what_all_its_words_say(section: str, key: str, meant: set[str]) -> None:
    assert fit(section, key) == meant


@pytest.mark.parametrize(
    ("section", "key", "strange", "alone", "unit", "qualifier"),
    [
        ("feeder", "run current ma rms", False, False, "mA", "rms"),
        ("feeder zum", "run current ma", True, False, "mA", ""),
        ("", "run current rms ma", False, True, "mA", "rms"),
        ("feeder driver", "run current", False, False, "", ""),
        ("zum", "run current peak", True, True, "", "peak"),
    ],
)
def test_a_fit_says_what_nothing_names_an_owner_of_and_where_a_section_is_strange(
    section: str, key: str, strange: bool, alone: bool, unit: str, qualifier: str
) -> None:
    (found,) = (each for each in fits(read_name(section, key)) if each.quantity == "motor.run_current")
    assert (found.strange, found.alone, found.unit, found.qualifier) == (strange, alone, unit, qualifier)


def test_a_number_of_a_feeder_is_none_of_the_machine_s_own_parts() -> None:
    assert fit("feeder 2", "steps per mm") == {"feeder.steps_per_mm"}
    assert not any(each.startswith("axis") for each in fit("feeder 2", "axis x max speed"))


def test_a_name_of_very_many_words_is_prose() -> None:
    words = ("retraction", "length", *["the"] * (MOST_NAME_WORDS - 2))
    assert [each.quantity for each in all_fits(names_of((), words)[0])] == ["retraction.length"]
    assert all_fits(names_of((), (*words, "the"))[0]) == ()


def test_of_the_ways_to_take_a_name_that_which_says_most_is_meant() -> None:
    name, found = best_fits(readings_of_name("", "wren.feeder.steps per mm"))
    assert name.words and {each.quantity for each in found} <= {"feeder.steps_per_mm"}
    two = best_fits((read_name("", "retraction length"), read_name("", "retraction speed")))[1]
    assert {each.quantity for each in two} == {"retraction.length", "retraction.speed"}
    first = best_fits((read_name("", "zum"), read_name("", "retraction speed")))
    assert first[0].key == ("retraction", "speed")
    more = best_fits((read_name("", "retraction speed"), read_name("feeder", "retraction speed")))
    assert {each.quantity for each in more[1]} == {"retraction.speed"}
    same = best_fits((read_name("", "retraction speed"), read_name("", "speed retraction")))
    assert same[0].key == ("retraction", "speed") and len(same[1]) == 1


def test_what_else_a_name_may_mean_is_what_says_most_of_the_others() -> None:
    name = read_name("feeder", "max speed")
    (best,) = fits(name)
    others = next_fits((name,), best)
    assert best.quantity not in {each.quantity for each in others}
    assert not any(each.strange or each.alone for each in others)
