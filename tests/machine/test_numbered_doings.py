"""A numbered load or unload beside several feeders: one feeder's, or a part of a load of all of them."""

from __future__ import annotations

from cfgmigrate.dialects import read
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.model import MACHINE, Machine, feeder
from cfgmigrate.machine.recognise import recognise

TWO = "[feeder 1]\nsteps per mm = 386.8\n[feeder 2]\nsteps per mm = 386.8\n"
ONE = "[feeder]\nsteps per mm = 386.8\n"
LOAD = "[load 1]\nlength = 610\n"


def machine(text: str, *feeders: Feeder, counts_from: dict[str, int] | None = None) -> Machine:
    documents = [read("plover.conf", text.encode(), "sectioned")]
    return recognise(documents, counts_from=counts_from or {}, feeders=feeders)


def questions(found: Machine) -> list[str]:
    return [each.text for each in found.doubts if "parts of a load" in each.why]


def test_a_numbered_load_beside_two_feeders_is_asked_about_and_not_taken_for_both() -> None:
    found = machine(TWO + LOAD)
    load = found.reading("feeder.load_length", MACHINE)
    assert load is not None and not load.editable
    assert "counts the feeders" in load.why_not
    assert questions(found) == ["[load 1] length"]


def test_a_numbered_load_that_a_person_gives_to_a_feeder_is_that_ones() -> None:
    found = machine(TWO + LOAD, Feeder(2, known_as=("load 1",)), counts_from={"load": 0})
    load = found.reading("feeder.load_length", feeder(2))
    assert load is not None and load.editable
    assert found.reading("feeder.load_length", feeder(1)) is None
    assert found.feeders == (1, 2)
    assert not questions(found)


def test_a_number_of_a_load_says_nothing_of_how_feeders_are_counted() -> None:
    found = machine(
        TWO + "[load 0]\nlength = 610\n", Feeder(1, known_as=("load 0",)), counts_from={"load": 0}
    )
    assert found.feeders == (1, 2)
    assert found.reading("feeder.steps_per_mm", feeder(1)) is not None


def test_a_load_without_a_number_serves_both_feeders_unasked() -> None:
    found = machine(TWO + LOAD.replace("load 1", "load"))
    load = found.reading("feeder.load_length", MACHINE)
    assert load is not None and load.editable and load.serves == (1, 2)
    assert not questions(found)


def test_with_one_feeder_a_numbered_load_is_not_asked_about() -> None:
    found = machine(ONE + LOAD)
    load = found.reading("feeder.load_length", MACHINE)
    assert load is not None and load.editable
    assert not questions(found)
