"""`5,5` may be one number or two: where one number belongs it is never taken for two in silence."""

from __future__ import annotations

from pathlib import Path

import pytest
from feederbench import spelled
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.files.roles import FileSet
from cfgmigrate.machine.commas import MIXED, WHY, once_a_file
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.site_questions import site_questions
from cfgmigrate.plan.edits import apply_edits
from cfgmigrate.plan.encoding import write
from cfgmigrate.plan.model import Edit
from cfgmigrate.rules.result import Derivation, Result, Status


def machine(text: str, dialect: str = "sectioned") -> Machine:
    return recognise([read("redstart.ini", text.encode(), dialect)])


@pytest.mark.parametrize(
    ("line", "remedy"),
    [
        ("[feeder]\nmm per turn = 7,82", "write 7.82;"),
        ("[feeder]\ngear ratio = 3,5", "write 3.5;"),
        ("[feeder]\nretraction length: 5,5", "write 5.5;"),
        ("[feeder]\nrun current: 0,62", "write 0.62;"),
        ("[feeder]\nmax feed length: 1,200", "write 1.200 or 1200;"),
        ("[nozzle]\ndiameter: 0,4", "write 0.4;"),
        ("[axis x]\nhighest spot: 221,5", "write 221.5;"),
        ("[probe]\noffset x: -24,5", "write -24.5;"),
        ("[probe]\noffset z: 1,88", "write 1.88;"),
        ("[axes]\nmax accel: 2400,5", "write 2400.5;"),
    ],
)
def test_one_number_with_a_comma_is_a_doubt_that_says_what_to_write(line: str, remedy: str) -> None:
    found = machine(line + "\n")
    assert found.readings == ()
    (doubt,) = found.doubts
    assert doubt.place.line == 2 and remedy in doubt.remedy


@pytest.mark.parametrize("value", ["5, 4", "5 4", "[5,4]", "{ 5,4 }", "5.0,4.0"])
def test_what_can_only_be_a_list_is_one_number_for_each_feeder(value: str) -> None:
    found = machine(f"[feeder]\nretraction length: {value}\n")
    assert [(spelled(reading), reading.value) for reading in found.readings] == [
        ("retraction.length", 5.0),
        ("retraction2.length", 4.0),
    ]
    assert found.doubts == ()


@pytest.mark.parametrize(
    ("key", "first"), [("[mesh]\nmin", "mesh.from_x"), ("[probe]\noffset", "probe.offset_x")]
)
def test_where_two_numbers_belong_they_are_two(key: str, first: str) -> None:
    found = machine(f"{key}: 12,14\n").get(first)
    assert found is not None and found.value == 12.0


def test_a_key_that_names_one_axis_has_no_list_for_all() -> None:
    assert machine("[probe]\noffset z: 1, 88\n").readings == ()
    whole = machine("z probe offset xyz: 1, 2, -3\n", "flat")
    assert [reading.value for reading in whole.readings] == [1.0, 2.0, -3.0]


def test_who_names_the_line_as_one_quantity_says_that_it_is_one_number_and_writes_the_new_one_by_hand(
    tmp_path: Path,
) -> None:
    (tmp_path / "names.yaml").write_text(
        "draw_back: retraction.length\nlongest_feed: feeder.max_feed_length\n"
    )
    names = read_names(tmp_path / "names.yaml")
    text = "draw_back = 6,1   # a comma is fine\nlongest_feed = 1,200\n"
    found = recognise([read("reel.txt", text.encode(), "flat")], names)
    (reading,) = found.readings
    assert (reading.quantity, reading.value, reading.text) == ("retraction.length", 6.1, "6,1")
    assert not reading.editable and "by hand" in reading.why_not
    assert [doubt.place.line for doubt in found.doubts] == [2]


@pytest.mark.parametrize(
    ("text", "commas"),
    [
        # a line that is named as one quantity is one number, as the others are
        ("backspeed = 25,4540\nflow: 1,05\nretraction length: 5,2\nlag: 0,58\nthread diameter: 1,75\n", True),
        # a list of two that was read tells that the others may be lists, too
        (
            "backspeed = 25,4540\nflow: 1,05\nretraction length: 5,2\nlag: 0,58\nthread diameter: 1,75\nprobe offset: 12,14\n",
            False,
        ),
    ],
)
def test_naming_one_line_does_not_make_the_commas_of_its_file_unknown(
    tmp_path: Path, text: str, commas: bool
) -> None:
    (tmp_path / "names.yaml").write_text("backspeed: retraction.return_speed\n")
    found = recognise([read("reel.txt", text.encode(), "flat")], read_names(tmp_path / "names.yaml"))
    assert found.documents[0].commas is commas
    if commas:
        reading = found.get("retraction.return_speed")
        assert reading is not None and reading.editable and reading.value == 25.454


@pytest.mark.parametrize(
    ("target", "unit", "value", "text"),
    [
        ("retraction.return_speed", "mm/s", 25.454, "25,45"),  # as a person types a speed
        ("retraction.return_speed", "mm/s", 1.214, "1,2140"),  # too much would be lost
        ("feeder.steps_per_mm", "1/mm", 96.415, "96,4150"),  # it counts in every move
    ],
)
def test_a_speed_with_a_comma_gets_no_third_decimal(target: str, unit: str, value: float, text: str) -> None:
    key = {"mm/s": "retraction return speed: 35,5 mm/s", "1/mm": "steps per mm: 80,5"}[unit]
    reading = in_file(f"[feeder]\n{key}\n", "sectioned", "comma").get(target)
    assert reading is not None
    derivation = Derivation("new.x", "", (), "made up")
    result = Result("r", target, "", unit, value, 0.0, Status.COMPUTED, "w", derivation)
    assert write(result, reading).text == text


REEL = "flow: 1,05\nretraction length: 5,2\nlag: 0,58\nmax feed speed: 62,5 mm/s\n"


def in_file(text: str, dialect: str = "flat", said: str | None = None) -> Machine:
    roles = FileSet(decimals={"redstart.ini": said} if said is not None else {})
    return recognise([read("redstart.ini", text.encode(), dialect)], roles=roles)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("retraction length: 5,2\n", "comma"),
        ("# all numbers have decimal commas\nretraction length: 5,2\n", None),
        ("# numbers w/ comma\nretraction length: 5,2\n", None),
        ("# commas instead of points\nretraction length: 5,2\n", None),
        (REEL, None),
        (REEL + "steps per mm: 96\n", None),  # a whole number is written without
    ],
)
def test_numbers_have_commas_where_it_is_said_or_the_file_shows_it_beyond_doubt(
    text: str, said: str | None
) -> None:
    reading = in_file(text, said=said).get("retraction.length")
    assert reading is not None and reading.editable
    assert (reading.value, reading.text, reading.form.commas) == (5.2, "5,2", True)


@pytest.mark.parametrize(
    "text",
    [
        "# the other files have decimal commas\nretraction length: 5,2\n",
        "# numbers with commas are lists\nretraction length: 5,2\n",
        "# all numbers have decimal commas\nretraction length: 5,2\nlag: 0.58\n",
        REEL + "wall: 0.4\n",  # another number has a point
        REEL + "corner: 12, 14\n",  # commas stand in lists
        REEL + "purge: 1,200\n",  # or between thousands
        REEL.partition("max")[0],  # too few values
        "retraction length: 5,6\nlag: 0,1\nmax feed speed: 40,60 mm/s\n",  # all may be from and to
        REEL + "steps per mm of feeder 2: 96\n",  # each may be of two feeders
    ],
)
def test_else_nothing_is_read_and_it_is_asked_once_for_the_file(text: str) -> None:
    found = in_file(text)
    assert found.get("retraction.length") is None
    asked = [each for each in once_a_file(found.doubts) if each.why.startswith(WHY)]
    (doubt,) = asked
    assert 'decimals: {"redstart.ini": comma}' in doubt.remedy


def test_of_a_file_said_to_have_points_a_comma_is_no_question() -> None:
    found = in_file(REEL, said="point")
    assert found.get("retraction.length") is None
    assert {doubt.why for doubt in found.doubts} == {"a list stands where one number belongs"}


def test_in_such_a_file_another_way_of_writing_is_asked_and_a_list_by_commas_is_left() -> None:
    text = "[feeder]\nmax feed length: 1.500\n[axes]\nmax accel: 900, 900,5, 80\n"
    found = in_file(text, "sectioned", "comma")
    assert [(doubt.place.line, doubt.why) for doubt in found.doubts] == [(2, MIXED)]
    assert found.readings and not any(reading.editable for reading in found.readings)


DECIMAL = st.decimals(1, 15, places=2).map(str)


@given(length=DECIMAL, other=DECIMAL, new=st.floats(0.1, 15))
def test_a_number_is_written_with_a_comma_and_is_that_of_the_same_file_in_points(
    length: str, other: str, new: float
) -> None:
    text = f"[feeder]\nretraction length: {length}; {other}   # as ever\nmass = 62,5\n"
    derivation = Derivation("new.x", "", (), "made up")
    result = Result("r", "retraction.length", "", "mm", new, 0.0, Status.COMPUTED, "w", derivation)
    commas = in_file(text.replace(".", ","), "sectioned", "comma").every_reading
    points = in_file(text.replace("; ", ", "), "sectioned").every_reading
    assert [each.value for each in commas if each.quantity == result.target] == [
        each.value for each in points if each.quantity == result.target
    ]
    first, plain = commas[0], points[0]
    assert first.text == length.replace(".", ",")
    data = text.replace(".", ",").encode()
    written = write(result, first)
    assert written.value == write(result, plain).value and "," in written.text and "." not in written.text
    edit = Edit("redstart.ini", 2, 1, first.start, first.end, first.text, written.text)
    assert apply_edits(data, [replace(edit, new=edit.old)]) == data
    again = in_file(apply_edits(data, [edit]).decode(), "sectioned", "comma").every_reading
    assert (again[0].value, again[0].text) == (written.value, written.text)
    assert [each.text for each in again[1:]] == [each.text for each in commas[1:]]


@pytest.mark.parametrize(
    ("third", "keys"),
    [
        ("fan: 40\n", ["reels/*.txt"]),
        ("# decimal commas\nlag: 0,58\n", ["reels/*.txt"]),
        ("fan: 0.4\n", ["reels/one.txt", "reels/two.txt"]),
        ("corner: 12, 14\n", ["reels/one.txt", "reels/two.txt"]),
        ("corner: 12,14\n", ["reels/one.txt", "reels/two.txt"]),
    ],
)
def test_files_beside_each_other_are_asked_about_at_once_where_none_is_written_otherwise(
    third: str, keys: list[str]
) -> None:
    texts = {"one": "retraction length: 5,2\n", "two": "retraction length: 4,8\n", "three": third}
    files = [read(f"reels/{name}.txt", text.encode(), "flat") for name, text in texts.items()]
    found = recognise(files)
    assert [each.answers[0].key for each in site_questions(found) if "decimals" in each.name] == keys


def test_pairs_of_two_nozzles_are_no_decimals_whichever_of_two_is_more() -> None:
    text = b"[retraction]\nlength = 4,5\nspeed = 40,35\nreturn speed = 30,35\n"
    assert not recognise([read("a.conf", text, "sectioned")]).readings
