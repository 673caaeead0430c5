"""A line of codes that sets a feeder's value once more, without saying whose it is, is asked about where feeders have it of their own."""

from __future__ import annotations

from cfgmigrate.dialects import read
from cfgmigrate.machine.command_lines import EACH_OF_ANOTHER
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import names_in
from cfgmigrate.machine.recognise import recognise

TWO = "[feeder wren]\ncoil current = 640 ; mA rms\n[feeder finch]\ncoil current = 1170 ; mA rms\n"
ONE = "[feeder]\ncoil current = 1170 ; mA rms\n"
NONE_OWN = "[feeder wren]\nsteps per mm = 96.4\n[feeder finch]\nsteps per mm = 97.2\n"
EXPLAINED = b'"[C61] B": {quantity: motor.run_current, unit: mA rms}'


def machine(sections: str, lines: str = "C61 A640 B1170\n") -> Machine:
    documents = [
        read("birds.conf", sections.encode(), "sectioned"),
        read("sent.nc", lines.encode(), "command"),
    ]
    return recognise(documents, names_in(EXPLAINED, "names.yaml"))


def asked(found: Machine) -> list[tuple[int, str]]:
    return [(each.place.line, each.about) for each in found.doubts if each.why.endswith(EACH_OF_ANOTHER)]


def taken(found: Machine) -> list[float | None]:
    every = (each for reading in found.readings for each in (reading, *found.followers(reading)))
    return [each.value for each in every if each.place.file == "sent.nc"]


def test_a_code_beside_two_feeders_own_values_is_asked_about_and_says_nothing_of_either() -> None:
    found = machine(TWO)
    assert asked(found) == [(1, "motor.run_current")]
    assert taken(found) == []
    (doubt,) = (each for each in found.doubts if each.why.endswith(EACH_OF_ANOTHER))
    assert "known_as: [B]" in doubt.remedy


def test_a_code_beside_the_own_value_of_one_of_two_feeders_is_asked_about() -> None:
    found = machine(
        "[feeder wren]\nsteps per mm = 96.4\n[feeder finch]\nsteps per mm = 97.2\ncoil current = 1170 ; mA rms\n"
    )
    assert asked(found) == [(1, "motor.run_current")]


def test_a_code_beside_another_feeder_s_code_of_the_same_file_is_the_others() -> None:
    found = machine("", "C61 A640 B1170\nC62 B640 ; run current of the second feeder, mA rms\n")
    assert asked(found) == []
    assert 1.17 in taken(found)


def test_a_code_is_read_where_there_is_one_feeder_or_none_has_the_value_of_its_own() -> None:
    for sections in (ONE, NONE_OWN):
        found = machine(sections)
        assert asked(found) == []
        assert taken(found) == [1.17]


def test_a_setting_of_a_section_for_all_is_what_feeders_have_without_one_of_their_own_and_no_question() -> (
    None
):
    found = machine(f"[motors]\nfeeder coil current = 900 ; mA rms\n{TWO}", "")
    assert asked(found) == []
