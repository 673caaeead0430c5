"""Sections and objects below one word for a feeder are a feeder each."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine import feeders_by_section
from cfgmigrate.machine.model import MACHINE
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("text", "dialect"),
    [
        ("[feeder wren]\nsteps per mm = 96\nretraction length = 5\n[feeder heron]\nsteps per mm = 96\nretraction length = 5\n",
         "sectioned"),
        ("[wren feeder]\nsteps per mm = 96\nretraction length = 5\n[heron feeder]\nsteps per mm = 96\nretraction length = 5\n",
         "sectioned"),
        ("[filament drive wren]\nsteps per mm = 96\nretraction length = 5\n[heron filament drive]\nsteps per mm = 96\nretraction length = 5\n",
         "sectioned"),
        ("[feeder. .wren]\nsteps per mm = 96\nretraction length = 5\n[/feeder/heron]\nsteps per mm = 96\nretraction length = 5\n",
         "sectioned"),
        ('{"feeders": {"wren": {"steps per mm": 96, "retraction": {"length": 5}},'
         ' "heron": {"steps per mm": 96, "retraction": {"length": 5}}}}', "nested"),
        ("pushers:\n  wren: {steps per mm: 96}\n  heron: {steps per mm: 96}\n  both: {diameter: 1.75}\n"
         "retraction length: {wren: 5, heron: 5}\n", "nested"),
    ],
)  # fmt: skip
def test_sections_and_objects_of_two_names_are_two_feeders(text: str, dialect: str) -> None:
    found = recognise([read("f", text.encode(), dialect)])
    assert {(each.quantity, str(each.holder)) for each in found.readings} == {
        (name, f"feeder {number}")
        for name in ("feeder.steps_per_mm", "retraction.length")
        for number in (1, 2)
    }
    assert found.feeder_names == {"wren": 1, "heron": 2}


@pytest.mark.parametrize(
    ("names", "feeders"),
    [(("tall", "small"), (1, 2)), (("round", "flat"), (1, 2)), (("loading", "printing"), (1,))],
)
def test_two_names_with_motors_of_their_own_are_two_feeders_whatever_the_words(
    names: tuple[str, str], feeders: tuple[int, ...]
) -> None:
    text = "".join(f"[drive {name}]\npulses per mm = 96\nmicrosteps = 16\n" for name in names)
    assert recognise([read("f", text.encode(), "sectioned")]).feeders == feeders


@pytest.mark.parametrize(
    ("text", "dialect"),
    [
        ("[feeder motor]\ncurrent = 0.8\n[feeder driver]\nmicrosteps = 16\n", "sectioned"),
        ('{"feeders": {"steps": {"value": 96, "unit": "1/mm"}, "current": {"value": 0.8, "unit": "A"}}}', "nested"),
    ],
)  # fmt: skip
def test_parts_of_one_feeder_are_no_feeders(text: str, dialect: str) -> None:
    assert recognise([read("f", text.encode(), dialect)]).feeders == (1,)


@pytest.mark.parametrize(
    ("below_main", "feeders"), [("steps per mm = 96\nretraction length = 5\n", (1, 2)), ("retraction length = 5\n", (1,))]
)  # fmt: skip
def test_the_main_one_is_a_feeder_beside_another_if_it_has_a_motor_of_its_own(
    below_main: str, feeders: tuple[int, ...]
) -> None:
    text = f"[feeder main]\n{below_main}[feeder lace]\nsteps per mm = 402\nretraction length = 1\n"
    found = recognise([read("f", text.encode(), "sectioned")])
    assert (found.feeders, set(found.feeder_names)) == (
        feeders,
        {"main", "lace"} if len(feeders) == 2 else set(),
    )


@pytest.mark.parametrize(
    ("text", "feeders"),
    [
        # names that are words of the trade elsewhere: a hatch beside the bed, a port on the board
        ("feeders:\n  both: {microsteps: 16}\n  hatch: {feed per turn: 8}\n  port: {feed per turn: 9, lag: 3, speed: 4}\n", (1, 2)),
        ("extruders:\n  hatch: {feed per turn: 8, plug: 3}\n  port: {feed per turn: 9, plug: 4}\n", (1, 2)),
        ("plugs: {1: feeder hatch, 2: feeder port}\nfeeder:\n  hatch: {feed per turn: 8, a: 1, b: 2}\n  port: {feed per turn: 9, c: 1, d: 2}\n",
         (1, 2)),
        # doings and parts of one feeder
        ("feeders:\n  all: {microsteps: 16}\n  pull: {speed: 40, length: 5}\n  unload: {speed: 20, length: 500}\n", (1,)),
        ("feeders:\n  motor: {current: 0.8, microsteps: 16}\n  driver: {current: 0.8, microsteps: 16}\n", (1,)),
    ],
)  # fmt: skip
def test_words_of_the_trade_name_feeders_where_they_explain_nothing_of_their_lines(
    text: str, feeders: tuple[int, ...]
) -> None:
    found = recognise([read("f", text.encode(), "nested")])
    assert found.feeders == feeders
    assert all(each.holder == MACHINE for each in found.readings if each.quantity == "feeder.microsteps")


def test_more_sections_than_a_machine_has_feeders_are_none() -> None:
    text = "".join(
        f"[feeder wren{chr(97 + n // 26)}{chr(97 + n % 26)}]\nsteps per mm = 96\n" for n in range(200)
    )
    assert recognise([read("f", text.encode(), "sectioned")]).feeder_names == {}


@pytest.mark.parametrize(
    ("section", "head", "known"),
    [
        ("feeder.port", ((), "port", ("feeder", "k")), None),
        ("feeders:port", ((), "port", ("feeder", "k")), None),
        ("feeder Port", ((), "port", ("feeder", "k")), None),
        ("port feeder", ((), "port", ("feeder", "k")), None),
        ("lag.feeder port.x", (("lag",), "port", ("lag.feeder.x", "k")), None),
        ("a/feeder/port/b", (("a",), "port", ("a.feeder.b", "k")), None),
        ("feeder", None, None),
        ("fan port", None, None),
        ("feeder.2", None, ((), "2", ("feeder", "k"))),
        ("feeder left", None, ((), "left", ("feeder", "k"))),
        ("feeder all", None, ((), "all", ("feeder", "k"))),
    ],
)
def test_a_name_stands_below_before_or_behind_a_word_for_a_feeder(
    section: str, head: tuple[object, ...] | None, known: tuple[object, ...] | None
) -> None:
    assert feeders_by_section.head_of(section, "k", set()) == head
    assert feeders_by_section.head_of(section, "k", {"2", "left", "all"}) == (known or head)


@pytest.mark.parametrize(
    ("one", "two", "keys", "feeders"),
    [
        ("first drive", "second drive", "steps_per_mm microsteps lag", (1, 2)),
        ("second-feed", "first-feed", "run_current microsteps lag", (1, 2)),
        ("near_pusher", "far_pusher", "steps_per_mm microsteps lag", (1, 2)),
        # the parts of one move, and what a mill feeds
        ("first feed", "second feed", "length speed acceleration", (1,)),
        ("first filament drive", "second filament drive", "steps_per_mm lag", (1,)),
    ],
)
def test_a_count_before_the_word_tells_feeders_apart_where_three_lines_are_alike_and_one_is_a_motors(
    one: str, two: str, keys: str, feeders: tuple[int, ...]
) -> None:
    text = "".join(
        f"[{name}]\n" + "".join(f"{key} = {at}\n" for key in keys.split())
        for at, name in enumerate((one, two), 41)
    )
    # a time, and a second tip, are of no feeder by that word
    text += "[retraction]\nmm per second = 40\n[second layer]\nretraction length = 3\n"
    found = recognise([read("f", text.encode(), "sectioned")])
    assert found.feeders == feeders
    if len(feeders) > 1:
        whose = {
            (reading.text, str(reading.holder)) for reading in found.readings if reading.text in ("41", "42")
        }
        first, second = ("42", "41") if one.startswith("second") else ("41", "42")
        assert whose == {(first, "feeder 1"), (second, "feeder 2")}
        assert {str(reading.holder) for reading in found.readings if reading.text == "40"} == {"machine"}


def test_words_of_place_are_feeders_where_three_settings_are_the_same() -> None:
    three, two = {("", each) for each in "abc"}, {("", each) for each in "abx"}
    assert feeders_by_section._by_place({"near": three, "far": three}) and not feeders_by_section._by_place(
        {"near": three, "far": two}
    )
    assert not feeders_by_section._by_place({"wren": three, "far": three})
