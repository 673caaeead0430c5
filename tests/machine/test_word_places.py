"""Where a phrase's words stand in a name, and what is left of the name."""

from __future__ import annotations

import pytest

from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.word_places import cover_things, key_says, named_else, strange_section, uses
from cfgmigrate.machine.words import read_name


def places(section: str, key: str, *names: str) -> list[tuple[str, ...]]:
    """The words that were used, for each way to find them."""
    name = read_name(section, key)
    return [tuple(use.words[at] for at in sorted(use.used)) for use in uses(name, names)]


def test_words_are_found_in_any_order_the_key_before_the_section_and_each_once() -> None:
    (found, *_) = uses(read_name("speed", "speed retraction"), ("retraction", "speed"))
    assert found.used == {0, 1} and found.key == 2 and found.own == 3
    assert not places("", "speed", "speed", "speed")
    assert places("speed", "speed", "speed", "speed") == [("speed", "speed")]
    assert not places("", "speed", "speed", "retraction")
    assert next(iter(uses(read_name("", "speed"), ()))).used == frozenset()


@pytest.mark.parametrize(
    ("quantity", "key", "says"),
    [
        ("motor.run_current", "run current ma", ("mA", "")),
        ("motor.run_current", "run current ma rms", ("mA", "rms")),
        ("motor.run_current", "run current peak", ("", "peak")),
        ("motor.run_current", "run current rms peak", ("", "")),
        ("motor.run_current", "a", ("", "")),
        ("retraction.speed", "speed mm min", ("mm/min", "")),
        ("retraction.speed", "speed mm s", ("mm/s", "")),
        ("retraction.speed", "speed", ("", "")),
    ],
)
def test_a_key_says_a_unit_by_its_words_and_never_by_a_letter_alone(
    quantity: str, key: str, says: tuple[str, str]
) -> None:
    assert key_says(quantity, key.split()) == says


@pytest.mark.parametrize(
    ("words", "free", "things", "covered"),
    [
        ("feeder speed", [0, 1], {"feeder"}, {0}),
        ("feeder speed", [1], {"feeder"}, set()),
        ("feeder feeder speed", [0, 1, 2], {"feeder"}, {0, 1}),
        ("probe speed", [0, 1], {"feeder"}, set()),
        ("curtain lift table", [0, 1, 2], {"device"}, {0, 1, 2}),
        ("lift table curtain", [0, 1], {"device"}, {0, 1}),
        ("lift speed table", [0, 1, 2], {"device"}, {0, 2}),
    ],
)
def test_things_are_named_by_words_that_are_free(
    words: str, free: list[int], things: set[str], covered: set[int]
) -> None:
    assert cover_things(tuple(words.split()), free, frozenset(things)) == covered


@pytest.mark.parametrize(
    ("section", "key", "allowed", "else_"),
    [
        ("", "feeder speed", {"feeder"}, False),
        ("", "feeder speed", set(), True),
        ("feeder", "speed", {"feeder"}, False),
        ("probe", "speed", {"feeder"}, True),
        ("lift table", "speed", {"feeder"}, True),
        ("lift table", "speed", {"device"}, False),
        ("zum", "speed", {"feeder"}, False),
        ("", "speed", {"feeder"}, False),
    ],
)
def test_another_thing_in_key_or_section_is_something_else(
    section: str, key: str, allowed: set[str], else_: bool
) -> None:
    (use, *_) = uses(read_name(section, key), ("speed",))
    assert named_else(use, frozenset(allowed), ("speed",)) is else_


@pytest.mark.parametrize(
    ("section", "things", "strange"),
    [
        ("feeder", {"feeder"}, False),
        ("zum", {"feeder"}, True),
        ("feeder zum", {"feeder"}, True),
        ("7", {"feeder"}, False),
        ("limits", {"feeder"}, False),
        ("motion", {"feeder"}, False),
        ("", {"feeder"}, False),
    ],
)
def test_a_section_s_word_is_strange_that_is_no_thing_of_these_and_no_filler(
    section: str, things: set[str], strange: bool
) -> None:
    (use, *_) = uses(read_name(section, "speed"), ("speed",))
    assert strange_section(use, frozenset(things), frozenset(), ("speed",)) is strange


def test_every_thing_is_spelled_by_words_that_are_known() -> None:
    assert all(
        word in vocabulary().known
        for thing in vocabulary().things
        for spelling in vocabulary().spelled(thing)
        for word in spelling
    )
