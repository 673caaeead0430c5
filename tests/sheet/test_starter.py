"""The starter sheet: valid as written for any machine, and complete once its fields are filled in."""

from __future__ import annotations

import re
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.machine.model import Form, Holder, Machine, Profile, Reading, feeder
from cfgmigrate.sheet.reader import parse_sheet
from cfgmigrate.sheet.schema import Field, sheet_schema
from cfgmigrate.sheet.starter import check_answer, fill, starter_sheet

SCHEMA = sheet_schema()
READ = [field for field in SCHEMA.fields.values() if field.reads]
EMPTY = Machine((), ())


def reading(field: Field, value: float, file: str = "feed.conf", text: str = "") -> Reading:
    setting = Setting("feed", "key", text, 0, 1, 12, 5)
    form = Form(field.unit, ratio=field.kind == "ratio")
    return Reading(field.reads, value, text or f"{value:g}", Place(file, 12, 5), 0, 1, form, setting)


def uncommented(text: str) -> str:
    """The sheet with every example taken as a value, as a person would take away the marks."""
    return "\n".join(re.sub(r"^( *)# (?=[a-z_]+: )", r"\1", line) for line in text.splitlines()) + "\n"


@st.composite
def machines(draw: st.DrawFn) -> Machine:
    fields = draw(st.lists(st.sampled_from(READ), unique_by=lambda field: field.reads))
    names = st.text(min_size=1, max_size=20)
    values = st.floats(0.001, 1e6, allow_nan=False)
    found = [reading(field, draw(values), draw(names), draw(st.text(max_size=12))) for field in fields]
    return Machine((), tuple(found))


@given(
    machines(),
    st.text(max_size=100) | st.sampled_from(["Wren", "~", "null", "wren: #1", "- a", "&x", "50:9", "'"]),
)
def test_the_starter_sheet_of_any_machine_reads_and_says_no_more_than_its_name(
    machine: Machine, name: str
) -> None:
    text = starter_sheet(machine, name)
    sheet = parse_sheet(text.encode("utf-8"), "s.yaml")
    assert set(sheet.entries) <= {"machine"}
    if name.strip() and name.isprintable():
        assert sheet.machine == name.strip()[:80].strip()


@given(machines())
def test_with_every_mark_taken_away_each_field_says_its_example(machine: Machine) -> None:
    sheet = parse_sheet(uncommented(starter_sheet(machine, "Wren")).encode(), "s.yaml")
    assert list(sheet.entries) == [path for path, field in SCHEMA.fields.items() if not field.several]
    for path, entry in sheet.entries.items():
        assert entry.text == SCHEMA.fields[path].example


def test_every_field_stands_below_its_meaning_and_how_to_measure_it() -> None:
    said = " ".join(line.strip().removeprefix("##").strip() for line in starter_sheet(EMPTY).splitlines())
    for field in (field for field in SCHEMA.fields.values() if not field.several):
        assert field.says in said and field.measure in said


def test_it_warns_before_anything_is_measured() -> None:
    head = starter_sheet(EMPTY).split("\n\n")[0]
    for caution in ("unplug it and let it cool", "Never unplug a motor", "maker's data sheets", "licensed"):
        assert caution in re.sub(r"\s*## ", " ", head)


def machine_of_two() -> Machine:
    slot = [
        replace(reading(SCHEMA.fields["old.retraction"], value), holder=feeder(number), serves=(number,))
        for number, value in ((1, 5.4), (2, 6.1))
    ]
    place = Place("petg.conf", 1, 1)
    found = [
        Profile(Holder("filament", name), (1, 2), place, word)
        for name, word in (("petg", "PETG"), ("a: b", ""))
    ]
    return Machine((), tuple(slot), feeders=(1, 2), found_profiles=tuple(found))


def test_a_machine_of_several_feeders_and_filaments_gets_a_part_for_each() -> None:
    text = starter_sheet(machine_of_two(), "Wren")
    sheet = parse_sheet(text.encode(), "s.yaml")
    assert (set(sheet.entries), sheet.swapped, dict(sheet.profiles)) == ({"machine"}, (), {})
    assert "In the files: 5.4 mm" in text and "In the files: PETG." in text and "# feeder:" not in text
    for wanted, value in (
        ("    # same_as: 1", "    same_as: 1"),
        ("        # length: 38 mm", "        length: 41 mm"),
    ):
        assert text.count(wanted) == 1
        text = text.replace(wanted, value)
    text = text.replace('  "a: b":\n', '  "a: b":\n    material: TPU\n')
    sheet = parse_sheet(text.encode(), "s.yaml")
    assert sheet.swapped == (1, 2)
    assert [sheet.lane(number).entries["new.tube.length"].value for number in (1, 2)] == [41, 41]
    assert sheet.lane(1, Holder("filament", "a: b")).entries["filament.material"].word == "TPU"


def test_with_every_mark_taken_away_each_feeder_and_filament_says_its_example() -> None:
    sheet = parse_sheet(uncommented(starter_sheet(machine_of_two(), "Wren")).encode(), "s.yaml")
    assert sheet.feeders[1].keys() == {path for path in SCHEMA.fields if path.startswith(("old.", "new."))}
    assert sheet.feeders[2] == sheet.feeders[1]
    assert [set(said) for said in sheet.profiles.values()] == [{"filament.material", "filament.diameter"}] * 2


def test_a_filled_sheet_says_which_of_several_feeders_it_is_about() -> None:
    sheet = parse_sheet(
        fill({"feeder": "2", "new.tube.length": "41 mm"}, machine_of_two()).encode(), "s.yaml"
    )
    assert sheet.feeder == 2 and sheet.plain


def test_what_the_files_say_stands_beside_its_field_with_file_and_line() -> None:
    fields = SCHEMA.fields
    machine = Machine(
        (),
        (
            reading(fields["old.retraction"], 5.4),
            reading(fields["old.drive_gear.gear_ratio"], 138 / 15, text="46:15 x 3:1"),
            reading(fields["old.microsteps"], 16),
        ),
    )
    lines = [line.strip() for line in starter_sheet(machine, "Wren").splitlines()]
    for said, name in (("5.4 mm", "retraction"), ("46:15 x 3:1", "gear_ratio"), ("16", "microsteps")):
        at = lines.index(f"## In the files: {said} (feed.conf:12). Leave it out if that still holds.")
        assert lines[at + 1].startswith(f"# {name}: ")


def test_sections_that_hold_no_value_yet_stand_open_so_that_one_field_can_be_filled_in_alone() -> None:
    text = starter_sheet(EMPTY, "Wren").replace("    # length: 38 mm", "    length: 41 mm")
    assert parse_sheet(text.encode(), "s.yaml").entries["new.tube.length"].value == 41.0


@given(st.sets(st.sampled_from(sorted(SCHEMA.fields))))
def test_answers_come_back_from_the_sheet_that_they_fill(paths: set[str]) -> None:
    answers = {path: SCHEMA.fields[path].example for path in paths}
    sheet = parse_sheet(fill(answers, EMPTY).encode(), "s.yaml")
    assert {path: entry.text for path, entry in sheet.entries.items()} == answers


@given(st.text(alphabet=string.printable, max_size=30))
def test_a_name_comes_back_as_it_was_given_or_is_refused(name: str) -> None:
    try:
        text = fill({"machine": name})
    except BadInput:
        assert not name.strip().isprintable()
    else:
        assert parse_sheet(text.encode(), "s.yaml").machine == name.strip()


def test_an_empty_answer_leaves_the_field_out() -> None:
    assert "length: 38 mm" in fill({"new.tube.length": "  "})
    assert not parse_sheet(fill({"new.tube.length": " "}).encode(), "s.yaml").entries


@pytest.mark.parametrize(
    ("path", "answer", "said"),
    [
        ("new.tube.length", "38", "has no unit"),
        ("new.tube.length", "-38 mm", "negative"),
        ("new.tube.lenght", "38 mm", "no field"),
        ("new.drive", "carriage", "on the carriage"),
    ],
)
def test_a_wrong_answer_is_refused_as_the_sheet_would_refuse_it(path: str, answer: str, said: str) -> None:
    for ask in (lambda: check_answer(path, answer), lambda: fill({path: answer})):
        with pytest.raises(BadInput, match=said):
            ask()


def test_answers_that_contradict_each_other_are_refused() -> None:
    with pytest.raises(BadInput, match="not more than"):
        fill({"new.tube.bore": "1.7 mm", "filament.diameter": "1.75 mm"})


def test_a_short_sheet_has_the_needed_fields_and_what_the_files_say_of_others() -> None:
    machine = Machine((), (reading(SCHEMA.fields["old.retraction"], 5.4),))
    text = starter_sheet(machine, "Wren", ("new.tube.length", "carriage.old_mass"))
    assert "# length: 38 mm" in text and "# old_mass: " in text and "# bore: " not in text
    assert "##   old.retraction: 5.4 mm (feed.conf:12)" in text
    assert "When: before the old drive comes off." in text
    sheet = parse_sheet(uncommented(text).encode(), "s.yaml")
    assert set(sheet.entries) == {"machine", "new.tube.length", "carriage.old_mass"}
