"""A sheet is kept after every answer, with all that stood in it before."""

from __future__ import annotations

import os
from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.sheet import keeping
from cfgmigrate.sheet.keeping import answered, declined, open_kept, put_off, restored
from cfgmigrate.sheet.reader import parse_sheet, read_sheet
from cfgmigrate.sheet.schema import sheet_schema
from cfgmigrate.sheet.several import Known

OWN = """\
# mine
machine: Wren   # of the left bench
old: {tube: {length: 365 mm}}
new:
  drive: on the carriage  # bought second-hand
"""


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "swap.yaml"


def test_an_answer_is_in_the_file_at_once(place: Path) -> None:
    answered(open_kept(place, "Wren"), "new.tube.length", "41 mm")
    read = read_sheet(place)
    assert read.machine == "Wren" and read.entries["new.tube.length"].value == 41


@pytest.mark.parametrize(
    "path", sorted(path for path, field in sheet_schema().fields.items() if not field.several)
)
def test_every_field_comes_back_as_it_was_answered(path: str, place: Path) -> None:
    example = sheet_schema().fields[path].example
    answered(open_kept(place), path, example)
    assert read_sheet(place).entries[path].text == example


def test_what_stood_in_a_sheet_stays_with_its_comments(place: Path) -> None:
    place.write_text(OWN)
    answered(open_kept(place), "new.tube.length", "41 mm")
    text = place.read_text()
    assert all(line in text for line in OWN.splitlines())
    assert {"old.tube.length", "new.drive", "new.tube.length"} <= read_sheet(place).entries.keys()


REMARKED = """\
# mine
old:
    drive: tube-fed
    tube: {length: 540 mm,
           bore: 2.0 mm}
    # new: {drive: on the carriage}
carriage:
    old_mass: 240 g
    new_mass: 351 g  # weighed
    # without the cable chain
# last: the October packet
"""


@pytest.mark.parametrize(
    ("path", "text", "before", "after"),
    [
        ("carriage.new_mass", "", "    new_mass: 351 g  # weighed\n", ""),
        ("old.tube.bore", "", ",\n           bore: 2.0 mm", ""),
        ("old.drive", "", "    drive: tube-fed\n", ""),
        ("carriage.new_mass", "360 g", "351 g", "360 g"),
        ("old.tube.bend", "90 deg", "2.0 mm}", "2.0 mm, bend: 90 deg}"),
        ("carriage.probe_room", "3 mm", "cable chain\n", "cable chain\n    probe_room: 3 mm\n"),
        ("new.tube.length", "41 mm", "packet\n", "packet\nnew:\n  tube:\n    length: 41 mm\n"),
    ],
)
def test_a_field_is_put_in_or_taken_back_and_every_other_byte_stays(
    place: Path, path: str, text: str, before: str, after: str
) -> None:
    place.write_text(REMARKED)
    kept = answered(open_kept(place), path, text) if text else keeping.taken_back(open_kept(place), path)
    body = "".join(line for line in place.read_text().splitlines(True) if not line.startswith("# asked"))
    assert body == REMARKED.replace(before, after) and (path in kept.sheet.entries) == bool(text)


def test_a_sheet_that_ends_in_a_group_of_remarks_alone_takes_an_answer(place: Path) -> None:
    place.write_text("new:\n  motor:\n    # rated_current: 2 A\n")
    answered(open_kept(place), "new.gears_as_before", "yes")
    assert read_sheet(place).entries["new.gears_as_before"].word == "yes"
    assert "    # rated_current: 2 A\n" in place.read_text()


def test_an_answer_of_a_feeder_goes_to_that_feeder(place: Path) -> None:
    place.write_text("feeders:\n  2:\n    new: {drive: on the carriage}\n")
    answered(open_kept(place), "new.tube.length", "41 mm")
    assert read_sheet(place).feeders[2]["new.tube.length"].value == 41


def test_what_nobody_can_say_and_what_is_put_off_is_kept_too(place: Path) -> None:
    kept = put_off(declined(open_kept(place), "old.tube.bore"), "new.tube.length")
    again = open_kept(place)
    assert (again.declined, again.later) == (("old.tube.bore",), ("new.tube.length",))
    kept = answered(kept, "new.tube.length", "41 mm")
    assert (open_kept(place).declined, open_kept(place).later) == (("old.tube.bore",), ())


def test_the_way_back_is_the_sheet_before(place: Path) -> None:
    place.write_text(OWN)
    before = open_kept(place)
    after = declined(answered(before, "new.tube.length", "41 mm"), "old.tube.bore")
    restored(after, before)
    assert place.read_text() == OWN


def test_a_sheet_that_was_changed_meanwhile_is_not_written_over(place: Path) -> None:
    place.write_text(OWN)
    kept = open_kept(place)
    place.write_text(OWN + "filament: {material: PLA}\n")
    with pytest.raises(Refused):
        answered(kept, "new.tube.length", "41 mm")
    assert "PLA" in place.read_text()


def test_an_answer_that_contradicts_another_one_leaves_the_sheet_as_it_was(place: Path) -> None:
    place.write_text("filament: {diameter: 1.75 mm}\n")
    kept = open_kept(place)
    with pytest.raises(BadInput):
        answered(kept, "new.tube.bore", "1.5 mm")
    assert place.read_bytes() == kept.present


def test_what_is_said_of_one_of_several_feeders_stands_below_it_and_is_taken_back_there(
    tmp_path: Path,
) -> None:
    kept = keeping.with_feeders(keeping.open_kept(tmp_path / "swap.yaml", "Bittern"), {1: None, 2: 1})
    kept = keeping.answered(kept, "1:new.tube.length", "38 mm")
    kept = keeping.answered(kept, "2:old.tube.length", "520 mm")
    kept = keeping.answered(kept, "filament.material", "PLA")
    kept = keeping.declined(kept, "1:old.tube.bend")
    again = keeping.open_kept(kept.path)
    assert again.feeders == (1, 2) and again.declined == ("1:old.tube.bend",)
    assert keeping.same_as(again) == {2: 1}
    assert set(again.sheet.feeders[2]) == {"old.tube.length", "new.tube.length"}
    assert set(again.sheet.feeders[1]) == {"new.tube.length"} and "filament.material" in again.sheet.entries
    back = keeping.taken_back(again, "2:old.tube.length")
    assert set(back.sheet.feeders[2]) == {"new.tube.length"} and keeping.same_as(back) == {2: 1}


def test_one_swapped_feeder_of_several_has_a_plain_sheet_with_its_number(tmp_path: Path) -> None:
    kept = keeping.with_feeders(keeping.open_kept(tmp_path / "swap.yaml", "Bittern"), {2: None})
    kept = keeping.answered(kept, "new.tube.length", "38 mm")
    assert kept.sheet.plain and kept.sheet.swapped == (2,) and not kept.feeders


@pytest.mark.parametrize(
    "note",
    [
        "# feeders swapped: ²",
        "# feeders swapped: " + "1" * 5000,
        "# left open in the files: " + "[" * 100_000,
        '# left open in the files: [1, "x"]',
        "# asked: ²:new.tube.length",
    ],
)
def test_a_note_that_no_interview_wrote_is_a_remark(place: Path, note: str) -> None:
    place.write_text(f"old: {{drive: tube-fed}}\n{note}\n")
    kept = open_kept(place)
    assert (kept.feeders, kept.left, kept.asked) == ((), (), ())
    put_off(kept, "new.tube.length")
    assert note in place.read_text().splitlines()


def test_a_sheet_that_is_no_file_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "nowhere").symlink_to(tmp_path / "gone")
    (tmp_path / "endless").symlink_to("/dev/zero")
    for path in (tmp_path, tmp_path / "pipe", tmp_path / "nowhere", tmp_path / "endless"):
        with pytest.raises(BadInput, match="the swap sheet"):
            open_kept(path)


def test_remarks_of_a_person_stay_whatever_they_begin_with(place: Path) -> None:
    own = (
        "# later: ask Heron about the gear, she has the drawing\nold:\n  drive: tube-fed  # asked\n"
        "# asked: by mail on 5 May\n# not known: yet\n# later:\n"
    )
    place.write_text(own)
    kept = put_off(open_kept(place), "new.tube.length")
    assert place.read_text() == own + "# later: new.tube.length\n# asked: new.tube.length\n"
    answered(kept, "new.tube.length", "41 mm")
    assert set(own.splitlines()) <= set(place.read_text().splitlines())
    assert open_kept(place).asked == ("new.tube.length",) and not open_kept(place).later


def test_notes_are_known_wherever_they_stand(place: Path) -> None:
    put_off(open_kept(place), "new.tube.length")
    place.write_text(place.read_text() + "filament: {material: PLA}\n")
    kept = put_off(open_kept(place), "new.tube.bore")
    assert kept.later == ("new.tube.length", "new.tube.bore")
    assert place.read_text().count("# later") == 1


def test_a_link_is_written_through_and_the_mode_stays(tmp_path: Path) -> None:
    shared, link = tmp_path / "shared.yaml", tmp_path / "swap.yaml"
    shared.write_text(OWN)
    shared.chmod(0o664)
    link.symlink_to(shared.name)
    answered(open_kept(link), "new.tube.length", "41 mm")
    assert link.is_symlink() and shared.stat().st_mode & 0o777 == 0o664
    assert read_sheet(shared).entries["new.tube.length"].value == 41


def test_a_read_only_sheet_is_left_as_it_is(place: Path) -> None:
    place.write_text(OWN)
    place.chmod(0o444)
    with pytest.raises(Refused, match="read-only"):
        answered(open_kept(place), "new.tube.length", "41 mm")
    assert place.read_text() == OWN and place.stat().st_mode & 0o777 == 0o444


def test_a_sheet_that_calls_its_feeders_by_name_is_gone_on_with(tmp_path: Path) -> None:
    """`feeders: far:` is what prepare takes, so the interview takes it too, and puts its answers there."""
    place, known = tmp_path / "swap.yaml", Known({"near": 1, "far": 2})
    place.write_text("feeders:\n  far: {new: {drive: on the carriage}}\n")
    kept = keeping.answered(keeping.open_kept(place, known=known), "2:new.tube.length", "38 mm")
    assert kept.feeders == (2,) and "\n  2:" not in place.read_text()
    assert set(parse_sheet(place.read_bytes(), "swap.yaml", known=known).feeders[2]) == {
        "new.drive",
        "new.tube.length",
    }
    assert not set(keeping.taken_back(kept, "2:new.tube.length").sheet.feeders[2]) - {"new.drive"}


def test_the_way_to_the_tip_settles_the_question_for_the_tube_and_goes_with_it(place: Path) -> None:
    from cfgmigrate.workflow.answering import take_in

    kept = answered(open_kept(place), "new.drive", "on the carriage")
    field = sheet_schema().fields["new.tube.length"]
    after = take_in(lambda sheet: SimpleNamespace(results={}), kept, field, "65 mm to the tip").kept  # type: ignore[arg-type,return-value]
    assert after.sheet.entries["new.path_length"].text == "65 mm" and after.declined == ("new.tube.length",)
    back = keeping.taken_back(after)
    assert back.declined == () and set(back.sheet.entries) == {"new.drive"}


def test_as_before_is_not_kept_of_a_whole_of_which_the_sheet_tells_otherwise(place: Path) -> None:
    from cfgmigrate.workflow.answering import take_in

    kept = answered(open_kept(place), "new.drive_gear.effective_diameter", "7.6 mm")
    field = sheet_schema().fields["new.drive_gear.gear_ratio"]
    with pytest.raises(BadInput, match=r"7\.6 mm"):
        take_in(lambda sheet: SimpleNamespace(results={}), kept, field, "as before")  # type: ignore[arg-type,return-value]
    assert open_kept(place).sheet.entries.keys() == {"new.drive_gear.effective_diameter"}


def test_the_last_answer_of_a_feeder_that_another_takes_over_can_be_taken_back(place: Path) -> None:
    kept = keeping.with_feeders(open_kept(place, "Bittern"), {1: None, 2: 1})
    kept = keeping.taken_back(answered(kept, "1:new.tube.length", "41 mm"))
    assert keeping.same_as(kept) == {2: 1} and not kept.sheet.feeders[1]


@pytest.mark.parametrize(
    ("path", "first", "second", "left"),
    [
        ("new.tube.length", "as before", "40 mm", {"new.tube.length"}),
        ("new.tube.length", "65 mm to the tip", "40 mm", {"new.tube.length"}),
        ("new.tube.length", "40 mm", "65 mm to the tip", {"new.path_length"}),
        ("clearance.highest_z", "200 mm", "20 mm lower", {"clearance.less_at_high_z"}),
        ("clearance.highest_z", "20 mm lower", "as before", {"clearance.as_before"}),
        ("new.feed_per_turn", "as before", "5.5 mm", {"new.feed_per_turn"}),
    ],
)
def test_a_corrected_answer_takes_the_place_of_the_one_that_is_withdrawn_whatever_form_that_had(
    place: Path, path: str, first: str, second: str, left: set[str]
) -> None:
    from cfgmigrate.workflow.answering import take_in

    kept, field = open_kept(place), sheet_schema().fields[path]
    for said in (first, second):
        kept = take_in(lambda sheet: SimpleNamespace(results={}), kept, field, said).kept  # type: ignore[arg-type,return-value]
    assert read_sheet(place).entries.keys() == left
    assert {*kept.declined} == {path} - left if path == "new.tube.length" else not kept.declined


def test_a_way_to_the_tip_that_was_told_beside_the_tube_stays_when_the_tube_is_corrected(place: Path) -> None:
    from cfgmigrate.workflow.answering import take_in

    kept = answered(answered(open_kept(place), "new.path_length", "65 mm"), "new.tube.length", "41 mm")
    field = sheet_schema().fields["new.tube.length"]
    take_in(lambda sheet: SimpleNamespace(results={}), kept, field, "40 mm")  # type: ignore[arg-type,return-value]
    assert read_sheet(place).entries.keys() == {"new.path_length", "new.tube.length"}
