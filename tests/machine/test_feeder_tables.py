"""Values of several feeders side by side, each under its feeder's name or side."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

PLACED = "[feeder near]\nsteps per mm = 96\nmicrosteps = 16\nfull steps = 200\n[feeder far]\nsteps per mm = 97\nmicrosteps = 16\nfull steps = 200\n"


def machine_of(text: str, site: str = "", dialect: str = "sectioned") -> Machine:
    feeders = parse_site(f"site: 1\n{site}\n".encode(), "cfgmigrate.yaml").feeders if site else ()
    return recognise([read("m.conf", text.encode(), dialect)], feeders=feeders)


def of_feeders(machine: Machine, quantity: str) -> dict[str, float | None]:
    return {str(each.holder): each.value for each in machine.every_reading if each.quantity == quantity}


@pytest.mark.parametrize(
    ("text", "dialect"),
    [
        ("[lag coefficient s]\nport = 0.48\nstarboard = 0.52\n", "sectioned"),
        ("[port lag]\ncoefficient = 0.48\n[starboard lag]\ncoefficient = 0.52\n", "sectioned"),
        ("lag_port = 0.48\nlag_starboard = 0.52\n", "flat"),
        ("lag.coefficient.port = 0.48\nlag.coefficient.starboard = 0.52\n", "flat"),
        ('{"lag": {"port": 0.48, "starboard": 0.52}}', "nested"),
        ('{"lag": {"port": {"coefficientS": 0.48}, "starboard": {"coefficientS": 0.52}}}', "nested"),
        ("#define LAG_PORT 0.48\n#define LAG_STARBOARD 0.52\n", "header"),
    ],
)
def test_names_that_the_site_file_tells_count_wherever_they_stand(text: str, dialect: str) -> None:
    found = machine_of(
        text, "feeders: {port: {known_as: [port]}, starboard: {known_as: [starboard]}}", dialect
    )
    assert of_feeders(found, "lag.coefficient") == {"feeder 1": 0.48, "feeder 2": 0.52}
    assert not [each for each in found.doubts if "no effect" in each.why]


def test_the_site_file_says_which_side_is_the_first() -> None:
    found = machine_of(
        "[lag coefficient s]\nleft = 0.48\nright = 0.52\n", "feeders: {right: right, left: left}"
    )
    assert of_feeders(found, "lag.coefficient") == {"feeder 2": 0.48, "feeder 1": 0.52}


def test_words_of_place_name_feeders_that_set_the_same_and_count_in_tables() -> None:
    found = machine_of(PLACED + "[lag]\nnear = 0.48\nfar = 0.52\n[retraction]\nfar = 7\nnear = 6\n")
    assert of_feeders(found, "feeder.steps_per_mm") == {"feeder 1": 96, "feeder 2": 97}
    assert of_feeders(found, "lag.coefficient") == {"feeder 1": 0.48, "feeder 2": 0.52}
    assert of_feeders(found, "retraction.length") == {"feeder 1": 6, "feeder 2": 7}


def test_parts_of_one_feeder_are_no_feeders() -> None:
    found = machine_of(
        "[feeder motor]\nsteps per mm = 96\n[feeder top]\nspeed = 40\n[feeder lower]\nspeed = 2\n"
    )
    assert found.feeders == (1,)


def test_sides_that_the_machine_tells_its_feeders_by_count_in_tables() -> None:
    text = "[feeder left]\nsteps per mm = 96\n[feeder right]\nsteps per mm = 97\n"
    found = machine_of(text + "[lag coefficient s]\nleft = 0.48\nright = 0.52\n")
    assert of_feeders(found, "lag.coefficient") == {"feeder 1": 0.48, "feeder 2": 0.52}


@pytest.mark.parametrize("heading", ["{} pull back", "pull back {}", "pull back of {}"])
def test_a_heading_of_several_words_names_a_side_that_feeders_are_called_by(heading: str) -> None:
    text = "[feeder left]\nsteps per mm = 96\n[feeder right]\nsteps per mm = 97\n"
    told = "".join(
        f"[{heading.format(side)}]\nlength = {length}\n" for side, length in (("left", 5.4), ("right", 5.2))
    )
    assert of_feeders(machine_of(text + told), "retraction.length") == {"feeder 1": 5.4, "feeder 2": 5.2}


def test_what_is_left_of_a_length_is_no_side() -> None:
    text = "[feeder left]\nsteps per mm = 96\n[feeder right]\nsteps per mm = 97\n"
    found = machine_of(text + "[runout]\nlength left = 300\n")
    assert set(of_feeders(found, "runout.distance")) <= {"machine"}


def test_two_sides_of_which_nothing_says_that_they_are_feeders_are_asked_about() -> None:
    found = machine_of("[lag coefficient s]\nleft = 0.48\nright = 0.52\n[mesh]\nleft = 10\nright = 190\n")
    (asked,) = [each for each in found.doubts if "two feeders" in each.why]
    assert asked.place.line == 2 and "feeders: {left: {known_as: [left]}" in asked.remedy
    assert not of_feeders(found, "lag.coefficient")
    assert found.get("mesh.from_x").value == 10


def test_a_place_of_the_machine_that_a_feeder_is_called_after_stays_the_machines() -> None:
    found = machine_of(PLACED + "[park]\nfar = 3\n[mesh]\nnear = 10\nfar = 190\n")
    assert {str(each.holder) for each in found.every_reading if each.quantity.startswith("mesh.")} <= {
        "machine"
    }


def test_a_path_of_very_many_levels_is_passed_over() -> None:
    found = machine_of(f"lag.{'port.' * 20}port = 0.4\n", "feeders: {port: , starboard: }", "flat")
    assert not of_feeders(found, "lag.coefficient").keys() & {"feeder 1", "feeder 2"}
