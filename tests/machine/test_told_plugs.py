"""A plug that the files or the site file tell of a feeder goes before any counting of numbers; where they contradict, nothing is edited."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import names_in
from cfgmigrate.machine.recognise import recognise

SECTIONS = "[feeder wren]\n{one}steps per mm = 96.4\n[feeder finch]\n{other}steps per mm = 97.2\n"
HEADER = "#define E0_MICROSTEPS 16{behind}\n#define E1_MICROSTEPS 32\n"


def machine(
    one: str = "",
    other: str = "",
    above: str = "",
    behind: str = "",
    told: tuple[Feeder, ...] = (),
    header: str = HEADER,
) -> Machine:
    texts = [
        ("birds.conf", SECTIONS.format(one=one, other=other), "sectioned"),
        ("wires.h", above + header.format(behind=behind), "header"),
    ]
    return recognise([read(name, text.encode(), dialect) for name, text, dialect in texts], feeders=told)


def microsteps(found: Machine) -> dict[float | None, str]:
    every = [each for each in found.readings if each.quantity == "feeder.microsteps"]
    return {each.value: str(each.holder) for each in every if each.editable}


CROSSED = {32: "feeder 1", 16: "feeder 2"}
COUNTED = {16: "feeder 1", 32: "feeder 2"}


@pytest.mark.parametrize(
    "said",
    [
        {"one": "plug = E1\n", "other": "plug = E0\n"},
        {"one": "plug = E1\n"},
        {"one": "motor socket = E 1\n"},
        {"above": "/* E0 = FINCH (left post) */\n/* E1 = WREN (rear post) */\n"},
        {"above": "// E0 is finch, E1 is wren\n"},
        {"above": "// wren = E1, finch = E0\n"},
        {"above": "// E1: the wren feeder\n"},
        {"behind": " /* finch */"},
        {"behind": " // the finch one"},
        {"told": (Feeder(1, "wren", ("E1",)), Feeder(2, "finch", ("E0",)))},
        {"told": (Feeder(1, "wren", ("E1",)),)},
        {"told": (Feeder(1, "wren", ("e1",)), Feeder(2, "finch")), "above": "// E1 = finch\n"},
    ],
    ids=str,
)
def test_a_told_plug_goes_before_counting(said: dict[str, str]) -> None:
    assert microsteps(machine(**said)) == CROSSED  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "said",
    [
        {},
        {"one": "plug = E0\n", "other": "plug = E1\n"},
        {"one": "sensor plug = E1\n"},
        {"one": "heater plug = E1\n"},
        {"one": "plug = M7\n"},
        {"above": "/* E1 was wren until the spring */\n"},
        {"above": "// E1 is not wren\n"},
        {"above": "// E1 = wrench\n"},
        {"above": "// wren works with E1 boards\n"},
        {"behind": " /* not finch */"},
        {"behind": " /* finch's is 32 */"},
    ],
    ids=str,
)
def test_numbers_are_counted_where_nothing_tells_a_plug(said: dict[str, str]) -> None:
    assert microsteps(machine(**said)) == COUNTED  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "said",
    [
        {"one": "plug = E1\n", "above": "/* E1 = FINCH */\n"},
        {"one": "plug = E1\n", "other": "plug = E1\n"},
    ],
    ids=str,
)
def test_a_plug_that_is_told_of_two_feeders_is_asked_about_and_nothing_is_edited_by_it(
    said: dict[str, str],
) -> None:
    found = machine(**said)  # type: ignore[arg-type]
    assert 32 not in microsteps(found)
    (doubt,) = (each for each in found.doubts if "E1 of different feeders" in each.why)
    assert "known_as: [E1]" in doubt.remedy


def test_two_plugs_of_one_letter_are_not_of_one_feeder() -> None:
    found = machine(one="plug = E1\n", above="/* E0 = WREN */\n")
    assert microsteps(found) == {}
    assert any("E0" in each.why and "known_as" in each.remedy for each in found.doubts)


def test_the_plugs_of_sides_are_told_in_the_same_way() -> None:
    sections = (
        "[feeder left]\nplug = E1\nsteps per mm = 96.4\n[feeder right]\nplug = E0\nsteps per mm = 97.2\n"
    )
    found = recognise(
        [
            read("birds.conf", sections.encode(), "sectioned"),
            read("wires.h", HEADER.format(behind="").encode(), "header"),
        ]
    )
    assert microsteps(found) == CROSSED


LINES = "; list of what is kept\n{told}C9201 P0 E96.4\nC9201 P1 E97.2\n"


def steps(told: str = "", feeders: tuple[Feeder, ...] = ()) -> tuple[dict[float | None, str], Machine]:
    sections = "[feeder wren]\nlag = 0.4\nload speed = 20\n[feeder finch]\nlag = 0.5\nload speed = 20\n"
    documents = [
        read("birds.conf", sections.encode(), "sectioned"),
        read("kept.txt", LINES.format(told=told).encode(), "command"),
    ]
    names = names_in(b'"[C9201] E": {quantity: feeder.steps_per_mm, unit: 1/mm}\n', "cfgmigrate.yaml")
    found = recognise(documents, names, feeders=feeders)
    every = [each for each in found.readings if each.quantity == "feeder.steps_per_mm"]
    return {each.value: str(each.holder) for each in every}, found


def test_a_code_that_is_given_a_meaning_sets_each_feeder_by_its_plug() -> None:
    crossed = {97.2: "feeder 1", 96.4: "feeder 2"}
    assert steps("; P0 is finch, P1 is wren\n")[0] == crossed
    assert steps(feeders=(Feeder(1, "wren", ("P1",)), Feeder(2, "finch", ("P0",))))[0] == crossed


def test_lines_of_a_code_that_differ_in_a_letter_nobody_explains_are_asked_about_when_the_code_has_a_meaning() -> (
    None
):
    read_, found = steps()
    assert read_ == {}
    doubts = [each for each in found.doubts if each.about == "feeder.steps_per_mm"]
    assert len(doubts) == 2
    assert all("known_as: [P0]" in each.remedy for each in doubts)


COILS = "[feeder wren]\ncoil current = 640 ; mA rms\n[feeder finch]\ncoil current = 1170 ; mA rms\n"
SENT = "C61 A640 B1170\n"
EXPLAINED = '"[C61] B": {quantity: motor.run_current, unit: mA rms}'


def sent(
    told: tuple[Feeder, ...], lines: str = SENT, explained: str = EXPLAINED
) -> dict[tuple[str, int], str]:
    documents = [
        read("birds.conf", COILS.encode(), "sectioned"),
        read("sent.nc", lines.encode(), "command"),
    ]
    found = recognise(documents, names_in(explained.encode(), "names.yaml"), feeders=told)
    every = (each for reading in found.readings for each in (reading, *found.followers(reading)))
    return {(each.text, each.place.line): str(each.holder) for each in every if each.place.file == "sent.nc"}


BIRDS = (Feeder(1, "wren", ("wren", "A")), Feeder(2, "finch", ("finch", "B")))


def test_a_letter_that_a_person_explained_is_the_feeder_s_that_goes_by_it() -> None:
    assert sent(BIRDS) == {("1170", 1): "feeder 2"}


def test_nobody_s_letter_is_a_feeder_s_where_nobody_explained_what_it_sets() -> None:
    assert sent(BIRDS, explained='"[C61] X": ignore') == {}
    other = '"[C61] D": {quantity: motor.run_current, unit: mA rms}'
    assert sent(BIRDS, "C61 A640 B1170 D1170\n", other) == {}


def test_a_letter_that_two_feeders_go_by_is_no_one_s() -> None:
    both = (Feeder(1, "wren", ("wren", "B")), Feeder(2, "finch", ("finch", "B")))
    assert sent(both) == {}


def test_a_letter_of_a_feeder_goes_before_the_tool_that_is_selected_above() -> None:
    assert sent(BIRDS, "T0\n" + SENT) == {("1170", 2): "feeder 2"}
