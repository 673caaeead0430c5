"""Names that a file says in another language and in English."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

BLOCK = "{}\nsteps per mm = 96\ntop speed = 44 mm/s\n"
SECOND = "\n[Gebläse (part fan)]\nslowest = 20\n"


def read_of(text: str) -> dict[str, float | None]:
    found = recognise([read("dunlin.ini", text.encode(), "sectioned")])
    return {each.quantity: each.value for each in found.readings}


@pytest.mark.parametrize("heading", ["Vorschub (filament feed)", "Tråden (feeder)", "Foerderer (extruder)"])
def test_the_english_in_brackets_is_what_a_word_of_another_language_is(heading: str) -> None:
    text = BLOCK.format(f"[{heading}]")
    assert read_of(text + SECOND) == {"feeder.steps_per_mm": 96, "feeder.max_speed": 44}
    assert not read_of(text)  # it may be a machine's name


def test_a_key_may_be_said_twice_likewise() -> None:
    text = "[feeder]\nDrehsinn (motor reversed) = yes\nEinzugsweg (load length) = 600 mm\n"
    assert read_of(text) == {"feeder.direction": 1, "feeder.load_length": 600}


@pytest.mark.parametrize(
    "heading",
    [
        "Waschpumpe (wash pump)",
        "Spule (filament)",
        "Trockner (filament dryer)",
        "Vorschub (old feeder)",
        "Vorschub (spare feeder)",
        "Vorschub (not the feeder)",
        "Vorschub (feeder of the parrot cage)",
        "pump (filament feed)",
    ],
)
def test_no_other_english_makes_a_feeder_of_what_nobody_knows(heading: str) -> None:
    assert not read_of(BLOCK.format(f"[{heading}]") + SECOND)


def test_two_names_of_the_same_english_are_those_of_two_feeders() -> None:
    text = BLOCK.format("[Wrynose (feeder)]")
    text += text.replace("Wrynose", "Hardknott").replace("96", "310").replace("44", "28")
    found = recognise([read("dunlin.ini", (text + SECOND).encode(), "sectioned")])
    told = {(each.quantity, each.holder.name, each.value) for each in found.readings}
    assert {("feeder.steps_per_mm", "1", 96), ("feeder.steps_per_mm", "2", 310)} < told


@pytest.mark.parametrize("word", ["Ersatz", "Vecchio", "Kaputt"])
def test_two_sections_that_are_a_feeder_each_stay_words_that_nobody_knows(word: str) -> None:
    """The second may be a spare, or the one before."""
    text = BLOCK.format("[Vorschub (filament feed)]") + f"[{word} (extruder)]\nrun current = 0.6 A rms\n"
    assert not read_of(text + SECOND + "[Tisch (bed)]\nwide = 200\n")
