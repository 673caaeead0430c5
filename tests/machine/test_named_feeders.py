"""Feeders that go by a name: as files, as sections and objects, and in the site file."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.site import Site, parse_site
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine import named_feeders as named
from cfgmigrate.machine.model import MACHINE, Machine
from cfgmigrate.machine.named_feeders import NamedFeeders
from cfgmigrate.machine.recognise import recognise

OWN = """{{
  "feeder": "{name}", "driver": {{"microsteps": 16, "coilCurrentMilliampRms": 980}},
  "wheel": {{"gearRatio": "1:1", "filamentPerTurn": "{turn} mm"}},
  "cornerSpeed": "4 mm/s", "retraction": {{"length": "5.8 mm", "speed": "2400 mm/min"}}
}}"""
#: what says that a file is a feeder's
BARE = OWN.replace('"feeder": "{name}", ', "")


def two(
    first: str, second: str, text: str = OWN, feeders: tuple[Feeder, ...] = (), more: str = ""
) -> Machine:
    files = [(first, text.format(name="wren", turn=35.87)), (second, text.format(name="heron", turn=35.73))]
    files += [("all.json", more)] if more else []
    return recognise([read(path, said.encode(), "nested") for path, said in files], feeders=feeders)


def files_of(found: Machine) -> dict[str, set[str]]:
    """The files that each feeder's own values stand in."""
    held: dict[str, set[str]] = {}
    for each in found.every_reading:
        if each.holder.kind == "feeder":
            held.setdefault(str(each.holder), set()).add(each.place.file)
    return held


@pytest.mark.parametrize(
    ("first", "second", "text"),
    [
        ("feeders/wren.json", "feeders/heron.json", BARE),
        ("feeder_wren.json", "feeder_heron.json", BARE),
        ("parts/one.json", "parts/two.json", OWN),
        ("tools/left.json", "tools/right.json", BARE),
        ("tools/0.json", "tools/1.json", BARE),
    ],
)
def test_files_that_set_the_same_of_a_feeder_are_a_feeder_each(first: str, second: str, text: str) -> None:
    found = two(first, second, text)
    assert files_of(found) == {"feeder 1": {first}, "feeder 2": {second}}
    assert not any(found.followed.values()), "one value would be written into both"
    assert not [each for each in found.doubts if "which one holds" in each.why]


def test_a_list_of_the_names_says_which_is_the_first() -> None:
    found = two("feeders/wren.json", "feeders/heron.json", more='{"feederOrder": ["heron", "wren"]}')
    assert found.feeder_names == {"heron": 1, "wren": 2}
    assert files_of(found)["feeder 1"] == {"feeders/heron.json"}


def test_files_that_may_be_a_feeder_each_are_asked_about_and_not_edited() -> None:
    found = two("parts/wren.json", "parts/heron.json", BARE)
    open_ones = [each for each in found.every_reading if each.quantity.startswith(("retraction.", "feeder."))]
    assert open_ones and not any(each.editable for each in open_ones)
    (asked,) = [each for each in found.doubts if "feeder of its own" in each.why]
    assert "known_as: [parts/wren.json]" in asked.remedy


def test_the_site_file_settles_it() -> None:
    site = parse_site(
        b"site: 1\nfeeders: {heron: parts/heron.json, wren: {known_as: [parts/wren.json]}}\n",
        "cfgmigrate.yaml",
    )
    found = two("parts/wren.json", "parts/heron.json", BARE, site.feeders)
    assert files_of(found) == {"feeder 1": {"parts/heron.json"}, "feeder 2": {"parts/wren.json"}}
    assert all(each.editable for each in found.readings if each.quantity == "retraction.length")
    assert not [each for each in found.doubts if "no effect" in each.why]


@pytest.mark.parametrize(
    ("text", "dialect"),
    [
        ("[feeder wren]\nsteps per mm = 96\nretraction length = 5\n[feeder heron]\nsteps per mm = 96\nretraction length = 5\n",
         "sectioned"),
        ("[wren feeder]\nsteps per mm = 96\nretraction length = 5\n[heron feeder]\nsteps per mm = 96\nretraction length = 5\n",
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


def test_parts_of_one_feeder_are_no_feeders() -> None:
    text = "[feeder motor]\ncurrent = 0.8\n[feeder driver]\nmicrosteps = 16\n"
    assert recognise([read("f", text.encode(), "sectioned")]).feeders == (1,)


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


def test_what_the_site_file_says_of_feeders_without_effect_is_told() -> None:
    site = parse_site(
        b"site: 1\nfeeders:\n  1: {name: port, known_as: [nowhere.json]}\n  7: stern\n", "s.yaml"
    )
    told = [each for each in two("a/x.json", "b/y.json", OWN, site.feeders).doubts if "no effect" in each.why]
    assert [(each.place.line, each.text) for each in told] == [
        (3, "feeders: port: known_as: nowhere.json"),
        (4, "feeders: stern"),
    ]


def test_feeders_of_the_site_file_go_by_number_or_by_name() -> None:
    def named(text: str) -> dict[str, int]:
        site: Site = parse_site(f"site: 1\nfeeders: {text}\n".encode(), "s.yaml")
        return {each.name: each.number for each in site.feeders}

    assert named("{1: port, 2: starboard}") == {"port": 1, "starboard": 2}
    assert named("{port: , starboard: }") == {"port": 1, "starboard": 2}
    assert named("{2: {name: port}, starboard: {known_as: [x]}}") == {"port": 2, "starboard": 1}
    with pytest.raises(BadInput):
        named("{port: {called: x}}")


def test_a_question_tells_its_answers_apart() -> None:
    one = "[retraction]\nlength = {}\n"
    found = recognise([read(p, one.format(n).encode(), "sectioned") for p, n in (("a.ini", 5), ("b.ini", 6))])
    (asked,) = found.doubts
    said = " or ".join(f'"{path} [retraction] length": retraction.length' for path in ("a.ini", "b.ini"))
    assert said in asked.remedy


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


def test_more_sections_than_a_machine_has_feeders_are_none() -> None:
    text = "".join(
        f"[feeder wren{chr(97 + n // 26)}{chr(97 + n % 26)}]\nsteps per mm = 96\n" for n in range(200)
    )
    assert recognise([read("f", text.encode(), "sectioned")]).feeder_names == {}


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


def test_one_file_of_a_feeder_beside_one_of_all_is_the_machine_s() -> None:
    found = two("feeders/wren.json", "feeders/common.json", BARE)
    assert (found.feeders, found.feeder_names, files_of(found)) == ((1,), {}, {})


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
    assert named._head(section, "k", set()) == head
    assert named._head(section, "k", {"2", "left", "all"}) == (known or head)


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [("abc", "abc", True), ("ab", "ab", False), ("abcdef", "abc", True), ("abcdefg", "abc", False), ("abcx", "abcy", True),
     ("abcvwx", "abcxyz", True), ("abcuvwx", "abcdefg", False)],
)  # fmt: skip
def test_siblings_share_three_settings_and_half_of_what_the_larger_has(
    one: str, other: str, alike: bool
) -> None:
    keys = [frozenset(("", each) for each in several) for several in (one, other)]
    assert named._siblings(*keys) is alike and named._siblings(*reversed(keys)) is alike


@pytest.mark.parametrize(
    ("path", "text", "name"),
    [
        ("a/wren.ini", "feeder = Heron\n", "heron"),
        ("a/wren.ini", "[feeder]\ndrive = 'Heron'\n", "heron"),
        ("a/wren.ini", "[fan]\nfeeder = heron\n", ""),
        ("a/wren.ini", "feeder = 4\n", ""),
        ("a/wren.ini", f"feeder = {'h' * 39}\n", "h" * 39),
        ("a/wren.ini", f"feeder = {'h' * 40}\n", ""),
        ("a/feeder_wren.ini", "a = 1\n", "wren"),
        ("feeders/wren.ini", "a = 1\n", "wren"),
        ("a/wren.ini", "a = 1\n", ""),
    ],
)
def test_a_file_is_a_feeder_s_by_a_line_its_own_name_or_its_folder_s(path: str, text: str, name: str) -> None:
    document = read(path, text.encode(), "sectioned")
    assert named._own_name(document, path.rpartition("/")[0]) == name


@pytest.mark.parametrize(
    ("called", "told", "text", "numbers"),
    [
        (["wren", "heron"], (), "", {"wren": 1, "heron": 2}),
        (["right", "left"], (), "", {"left": 1, "right": 2}),
        (["2", "1"], (), "", {"1": 1, "2": 2}),
        (["wren", "heron"], (), "order = heron, wren\n", {"heron": 1, "wren": 2}),
        (["wren", "heron"], (), "order = heron, wren, other\n", {"wren": 1, "heron": 2}),
        (["wren"], (), "order = wren\n", {"wren": 1}),
        (["wren", "heron"], (Feeder(1, "heron"),), "", {"heron": 1, "wren": 2}),
        (["wren", "heron"], (Feeder(2, "wren"),), "", {"wren": 2, "heron": 1}),
        (["wren"], (Feeder(2),), "", {"2": 2, "wren": 1}),
        (["wren", "port"], (), "", {"wren": 1, "port": 2}),
        (["wren", "left"], (), "", {"left": 1, "wren": 2}),
    ],
)
def test_which_is_the_first_is_said_by_the_site_file_a_list_a_number_or_side_or_the_order(
    called: list[str], told: tuple[Feeder, ...], text: str, numbers: dict[str, int]
) -> None:
    document = read("wren.ini", f"a = 1\n{text}".encode(), "flat")
    assert named._numbers(called, [document], told) == numbers


@pytest.mark.parametrize(
    ("name", "may", "new"),
    [("port", True, False), ("wren", True, True), ("left", False, True), ("2", False, False), ("all", False, True), ("feeder", False, False), ("speed", True, False),
     ("", False, True)],
)  # fmt: skip
def test_a_feeder_s_name_is_no_number_no_side_and_not_all(name: str, may: bool, new: bool) -> None:
    assert named._may_name(name) is may
    if may:
        assert named._is_new(name) is new


@pytest.mark.parametrize(
    ("wanted", "words", "within"),
    [("a b", "x a b", True), ("a b", "a x b", False), ("", "a", False), ("a", "", False), ("a b", "a b", True), ("b", "a b", True)],
)  # fmt: skip
def test_words_stand_within_others_side_by_side(wanted: str, words: str, within: bool) -> None:
    assert named._within(wanted.split(), words.split()) is within


def test_words_of_place_are_feeders_where_three_settings_are_the_same() -> None:
    three, two = {("", each) for each in "abc"}, {("", each) for each in "abx"}
    assert named._by_place({"near": three, "far": three}) and not named._by_place({"near": three, "far": two})
    assert not named._by_place({"wren": three, "far": three})


@pytest.mark.parametrize(
    "second, held", [("filament, inner", 2), ("inner filament pump", 0), ("soap pump", 0)]
)
def test_objects_of_a_list_are_a_feeder_each_by_what_stands_beside_the_filament(
    second: str, held: int
) -> None:
    rows = '"microsteps": 16, "steps per mm": 140, "run current": "600 mA", "pull back": {"mm": 4}'
    text = '{"motors": [{"for": "x", "microsteps": 16}, {"for": "filament, outer", %s}, {"for": "%s", %s}]}'
    found = recognise([read("tern.json", (text % (rows, second, rows)).encode(), "nested")])
    pulls = [str(each.holder) for each in found.every_reading if each.quantity == "retraction.length"]
    assert len(pulls) == len(set(pulls)) == held


def test_the_objects_of_a_list_below_feeds_are_a_feeder_each() -> None:
    each = '{{"label": "{}", "steps_per_mm": {}, "microsteps": {}, "full_steps": 200}}'
    text = f'{{"wire_feeds": [{each.format("left", 401.5, 16)}, {each.format("right", 98.5, 32)}]}}'
    readings = recognise([read("one.json", text.encode(), "nested")]).readings
    assert {(each.holder.name, each.quantity, each.value) for each in readings} >= {
        ("1", "feeder.steps_per_mm", 401.5), ("2", "feeder.steps_per_mm", 98.5), ("2", "feeder.microsteps", 32),
    }  # fmt: skip
