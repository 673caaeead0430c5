"""The laws of the design as far as recognition keeps them, over generated files and every sample.

Law 2: what a reading spans is exactly its text. Every reading has one holder, and views show what they should. Law 6: nothing goes by without a word. Law 7: what is
protected by its words can't be had as anything else.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, State
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.machine.context import Context
from cfgmigrate.machine.model import MACHINE, Machine, feeder
from cfgmigrate.machine.plain_words import protected_name
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.vocabulary import vocabulary

SAMPLES = sorted(
    path
    for path in (Path(__file__).parents[2] / "sample_configs").iterdir()
    if path.is_dir() and path.name != "sheets"
)
NAMES = [text for entry in vocabulary().entries for text in (*entry.examples, *entry.never)]
VALUES = st.one_of(
    st.sampled_from(
        [
            "450",
            "0.45",
            "1800 mm/min",
            "46:15",
            "88, 88, 640, 96",
            "yes",
            "reversed",
            "12 %",
            "4 + 1",
            "µm 3",
            '"7"',
            "",
            "0x10",
            "-1",
            "1e9",
            "Größe 5",
            "{ 1, 2 }",
        ]
    ),
    st.floats(-1e6, 1e6, allow_nan=False).map(lambda number: f"{number:.4f}"),
    st.integers(0, 5000).map(str),
    st.text(
        st.characters(codec="utf-8", exclude_characters="\r\n\x00", exclude_categories=["Cs", "Cc"]),
        max_size=12,
    ),
)


@st.composite
def configurations(draw: st.DrawFn) -> list[Document]:
    """One to three sectioned files of settings that the trade would write, with values of every kind."""
    documents = []
    for number in range(draw(st.integers(1, 3))):
        lines = []
        for name in draw(st.lists(st.sampled_from(NAMES), max_size=8)):
            section, _, key = name.rpartition("] ") if name.startswith("[") else ("[plain", "", name)
            lines.append(f"{section}]\n{key} = {draw(VALUES)}\n")
        documents.append(read(f"{number}.ini", "".join(lines).encode(), "sectioned"))
    return documents


def said_of(machine: Machine) -> set[tuple[str, int]]:
    """File and line of everything the machine has a word for."""
    readings = [(reading.place.file, reading.place.line) for reading in machine.every_reading]
    others = [(each.place.file, each.place.line) for each in (*machine.doubts, *machine.unread)]
    return {*readings, *others}


def check(machine: Machine) -> None:
    for reading in machine.every_reading:
        document = machine.document(reading.place.file)
        assert document.slice(reading.start, reading.end) == reading.text
        found = quantity(reading.quantity)
        if found.kind in ("number", "ratio") and not found.protected:
            assert reading.value is not None and found.plausible(reading.value)
            if not reading.form.ratio:
                assert reading.form.to_value(reading.form.to_written(reading.value)) == pytest.approx(
                    reading.value
                )
    check_holders(machine)


def check_holders(machine: Machine) -> None:
    """One holder for every reading, one reading in force for a quantity and holder; views by brute force."""
    holders = {MACHINE, *(feeder(number) for number in machine.feeders), *machine.profiles}
    assert len({reading.key for reading in machine.readings}) == len(machine.readings)
    in_force = {id(reading) for reading in machine.readings}
    for reading in machine.every_reading:
        assert reading.holder in holders
        assert set(reading.serves) <= set(machine.feeders)
        along = machine.followers(reading) if id(reading) in in_force else ()
        assert all(each.holder == reading.holder and each.quantity == reading.quantity for each in along)
    for number in machine.feeders:
        for profile in (None, *machine.profiles_serving(number)):
            view = machine.view(number, profile)
            for name in {reading.quantity for reading in machine.readings}:
                order = [holder for holder in (profile, feeder(number), MACHINE) if holder]
                reaching = [
                    found
                    for holder in order
                    if (found := machine.reading(name, holder)) is not None and number in found.serves
                ]
                assert view.get(name) is (reaching[0] if reaching else None)


@given(configurations())
def test_every_setting_in_force_has_a_reading_a_doubt_or_stands_as_not_understood(
    documents: list[Document],
) -> None:
    machine = recognise(documents)
    check(machine)
    said = said_of(machine)
    for document in documents:
        for setting in document.settings:
            assert (document.path, setting.line) in said, setting


@given(configurations())
def test_what_is_protected_by_its_words_is_never_read_as_anything_else(documents: list[Document]) -> None:
    machine = recognise(documents)
    contexts = {document.path: Context(document) for document in documents}
    for reading in machine.readings:
        if reading.quantity.startswith("protected."):
            spoken = contexts[reading.place.file].spoken(reading.setting)
            assert reading.quantity in {protected_name(name) for name in spoken.names}


@given(configurations())
def test_recognition_is_the_same_every_time(documents: list[Document]) -> None:
    assert recognise(documents) == recognise(documents)


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda folder: folder.name)
def test_every_sample_is_read_exactly_and_completely(folder: Path) -> None:
    configuration = open_configuration([folder])
    machine = recognise(configuration)
    check(machine)
    assert machine.readings
    said = said_of(machine)
    scripts = [reading for reading in machine.readings if quantity(reading.quantity).kind == "script"]
    for document in machine.documents:
        for setting in document.settings:
            within = any(
                script.place.file == document.path and script.start <= setting.start < script.end
                for script in scripts
            )
            tool = (setting.section, setting.key) == ("T", "T")
            behind_a_name = any(reading.setting == setting for reading in machine.readings)
            if setting.state is State.ACTIVE and not (within or tool or behind_a_name):
                assert (document.path, setting.line) in said, setting
