"""Feeders that go by a name: as files, as sections and objects, and in the site file."""

from __future__ import annotations

import pytest
from feederbench import OWN, two

from cfgmigrate.dialects import read
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.site import Site
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine import named_feeders as named
from cfgmigrate.machine.model import MACHINE, Machine
from cfgmigrate.machine.named_feeders import NamedFeeders
from cfgmigrate.machine.recognise import recognise


def test_what_a_file_of_all_feeders_sets_is_of_no_one_feeder() -> None:
    found = recognise(
        [
            read(path, OWN.replace('"feeder": "{name}", ', "").format(turn=35).encode(), "nested")
            for path in ("feeders/wren.json", "feeders/heron.json", "feeders/common.json")
        ]
    )
    assert found.feeders == (1, 2)


def test_a_feeders_own_corner_speed_is_not_the_machines() -> None:
    found = two("feeders/wren.json", "feeders/heron.json")
    assert found.reading("machine.corner_speed", MACHINE) is None


def test_feeders_of_the_site_file_go_by_number_or_by_name() -> None:
    def named(text: str) -> dict[str, int]:
        site: Site = parse_site(f"site: 1\nfeeders: {text}\n".encode(), "s.yaml")
        return {each.name: each.number for each in site.feeders}

    assert named("{1: port, 2: starboard}") == {"port": 1, "starboard": 2}
    assert named("{port: , starboard: }") == {"port": 1, "starboard": 2}
    assert named("{2: {name: port}, starboard: {known_as: [x]}}") == {"port": 2, "starboard": 1}
    with pytest.raises(BadInput):
        named("{port: {called: x}}")


PROFILE = '{"profile": "everyday", "material": ["PLA", "PLA"], "layer": 0.2, "retraction": {"lengthMm": [5.8, 6.8], "speedMmPerS": [40, 40]}}'


def profiled(*feeders: str) -> Machine:
    files = [(f"feeders/{name}.json", OWN.format(name=name, turn=35)) for name in feeders]
    roles = FileSet({"p.json": FileRole("p.json", Role.PROFILE, "said")})
    return recognise(
        [read(path, text.encode(), "nested") for path, text in (*files, ("p.json", PROFILE))], roles=roles
    )


def test_a_list_of_a_profile_holds_a_value_for_each_feeder() -> None:
    found = profiled("wren", "heron")
    (profile,) = found.profiles
    lengths = [
        each for each in found.readings if each.holder.profile and each.quantity == "retraction.length"
    ]
    assert [(str(each.holder), each.serves, each.value) for each in lengths] == [
        (f"{profile} for feeder 1", (1,), 5.8),
        (f"{profile} for feeder 2", (2,), 6.8),
    ]
    assert [found.view(number, profile).by_quantity["retraction.length"].value for number in (1, 2)] == [
        5.8,
        6.8,
    ]
    assert not any(found.followers(each) for each in lengths)


@pytest.mark.parametrize("feeders", [("wren",), ("wren", "heron", "robin")])
def test_a_list_that_is_not_as_long_as_there_are_feeders_is_not_edited(feeders: tuple[str, ...]) -> None:
    found = profiled(*feeders)
    entries = [
        each
        for each in found.every_reading
        if each.place.file == "p.json" and each.quantity.startswith("retr")
    ]
    assert len(entries) == 4
    assert not any(each.editable for each in entries)


def test_what_the_board_keeps_of_a_feeder_is_that_feeder_s_by_the_name_in_its_line() -> None:
    file = '{"feeders": {"near": {"filamentPerTurn": "21.4 mm", "runCurrentMilliampRms": 800},\n "far": {"filamentPerTurn": "21.1 mm", "runCurrentMilliampRms": 810}}}'
    kept = "feeders.far.filament_per_turn_mm 20.95\nfeeders.near.run_current_milliamp_rms 760\nfeeders.heron.filament_per_turn_mm 9\n"
    roles = FileSet({"kept.txt": FileRole("kept.txt", Role.SAVED, "said in the test")})
    documents = [read("a.json", file.encode(), "nested"), read("kept.txt", kept.encode(), "flat")]
    feeders = (Feeder(1, "near", ("near",)), Feeder(2, "far", ("far",)))
    machine = recognise(documents, roles=roles, feeders=feeders)
    held = {(each.quantity, str(each.holder)): each.value for each in machine.readings}
    assert held["feeder.feed_per_turn", "feeder 2"] == 20.95
    assert held["feeder.feed_per_turn", "feeder 1"] == 21.4
    assert held["motor.run_current", "feeder 1"] == 0.76
    assert held["motor.run_current", "feeder 2"] == 0.81


def test_a_section_is_of_the_one_feeder_whose_name_it_has_as_words_of_its_own() -> None:
    named = NamedFeeders({"port": 1, "far left": 2})
    told = {"watcher port": 1, "port": 1, "spring, far left": 2, "far side, left": None, "porthole": None,
            "port and far left": None, "watcher": None, "": None}  # fmt: skip
    assert {section: named.by_section(section) for section in told} == told


NAMES = {("port",): 1, ("far", "left"): 2}


@pytest.mark.parametrize(
    ("section", "part"),
    [
        ("only on feeder port", (1, "")),
        ("feeder port", (1, "")),
        ("port feeder", (1, "")),
        ("feeders port", (1, "")),
        ("feeder far left", (2, "")),
        ("retraction for feeder port", (1, "retraction")),
        ("retraction.feeder port", (1, "retraction")),
        ("retraction feeder port speed", (1, "retraction speed")),
        ("port", None),
        ("fan port", None),
        ("feeder far", None),
        ("feeder port and feeder far left", None),
    ],
)
def test_a_part_of_a_profile_is_for_the_one_feeder_that_it_names_beside_a_word_for_one(
    section: str, part: tuple[int, str] | None
) -> None:
    assert named._part(section, NAMES) == part
