"""The survey says what was understood, where it stands, and what was not."""

from __future__ import annotations

import json

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.survey import Survey, survey_of

TEXT = """\
[feeder]
turn length = 21.4   # counted
run current = 450
fidget = 3
max fidget speed = 40
[bed heater]
max temperature = 110
"""


class Skipping:
    skipped = (("notes.txt", "reads as no dialect"),)
    roles = FileSet({"notes.txt": FileRole("notes.txt", Role.NONE, "reads as no dialect")})
    left: tuple[Document, ...] = ()


def survey() -> Survey:
    return survey_of(recognise([read("wren.ini", TEXT.encode(), "sectioned")]), Skipping())


def test_the_document_has_the_fields_of_the_design() -> None:
    found = survey().to_json()
    assert set(found) >= {"files", "quantities", "protected", "unrecognised", "doubts"}
    file, left = found["files"]
    assert (left["path"], left["role"], left["why"]) == (
        "notes.txt",
        "no configuration",
        "reads as no dialect",
    )
    assert {key: file[key] for key in ("path", "dialect", "settings", "lines", "understood")} == {
        "path": "wren.ini",
        "dialect": "sectioned",
        "settings": 5,
        "lines": 7,
        "understood": 3,
    }
    assert file["share"] == 0.6
    current = found["quantities"]["motor.run_current"]
    assert {
        key: current[key] for key in ("value", "unit", "text", "file", "line", "column", "converted")
    } == {
        "value": 0.45,
        "unit": "A",
        "text": "450",
        "file": "wren.ini",
        "line": 3,
        "column": 15,
        "converted": "mA / 1000",
    }
    json.dumps(found)


def test_each_reading_stands_with_its_holder() -> None:
    text = TEXT + "[filament petg]\nretraction length = 6\nlag = 0.7\n"
    found = survey_of(recognise([read("wren.ini", text.encode(), "sectioned")])).to_json()["readings"]
    (own,) = (each for each in found if each["quantity"] == "retraction.length")
    assert {name: own[name] for name in ("holder", "value", "unit", "text", "file", "line", "column")} == {
        "holder": "filament petg", "value": 6.0, "unit": "mm", "text": "6", "file": "wren.ini", "line": 9, "column": 21,
    }  # fmt: skip
    assert (own["editable"], own["why_not"], own["follows"]) == (True, "", False)
    (guarded,) = (each for each in found if each["quantity"] == "heater.bed.max_temperature")
    assert guarded["protected"] and not guarded["editable"] and guarded["why_not"]


def test_a_further_feeders_quantities_keep_their_number() -> None:
    text = "[feeder]\nsteps per mm = 96\n[feeder 2]\nsteps per mm = 438\n"
    found = survey_of(recognise([read("wren.ini", text.encode(), "sectioned")])).to_json()
    assert {name: each["value"] for name, each in found["quantities"].items()} == {
        "feeder.steps_per_mm": 96,
        "feeder2.steps_per_mm": 438,
    }
    assert [each["holder"] for each in found["readings"]] == ["feeder 1", "feeder 2"]


def test_protected_quantities_stand_by_themselves() -> None:
    found = survey().to_json()
    assert [item["quantity"] for item in found["protected"]] == ["heater.bed.max_temperature"]
    assert "heater.bed.max_temperature" not in found["quantities"]


def test_lines_that_look_relevant_come_first_with_the_nearest_quantities_and_a_line_for_a_names_file() -> (
    None
):
    first, second = survey().to_json()["unrecognised"]
    assert (first["line"], first["nearest"][0]) == (5, "feeder.max_speed")
    assert '"[feeder] max fidget speed": feeder.max_speed' in first["remedy"]
    assert second["line"] == 4 and "nearest" not in second
    assert len(survey().relevant) == 1


def test_files_that_were_not_read_are_listed() -> None:
    assert survey().to_json()["skipped"] == [{"path": "notes.txt", "why": "reads as no dialect"}]


def test_readings_that_move_together_are_shown_with_the_one_in_force() -> None:
    text = b"[axis z]\nhighest spot = 200\n[machine]\nbuild height = 200\n"
    found = survey_of(recognise([read("wren.ini", text, "sectioned")])).to_json()
    assert [also["line"] for also in found["quantities"]["axis.z.max"]["also"]] == [2]


def test_of_a_quantity_that_is_set_already_no_line_is_offered_that_would_set_it_twice() -> None:
    text = b"travel.x.to_stop = -4\ntravel.x.to = 302\n"
    found = survey_of(recognise([read("turnstone.txt", text, "flat")])).to_json()
    (unread,) = found["unrecognised"]
    assert found["quantities"]["axis.x.max"]["value"] == 302
    assert "axis.x.max (X maximum) is set at turnstone.txt:2 already" in unread["remedy"]
    assert unread["remedy"].endswith('"travel.x.to_stop": QUANTITY')


def test_a_line_to_copy_is_for_the_file_in_which_it_stands_and_its_dialect() -> None:
    lines = read("one.nc", b"; load the filament, slowly\nA9 L80\n", "command")
    found = survey_of(
        recognise([lines, read("wren.ini", b"[feeder]\nmax fidget speed = 4\n", "sectioned")])
    ).to_json()
    remedies = {each["file"]: each.get("remedy", "") for each in found["unrecognised"]}
    assert "under meanings" in remedies["wren.ini"] and "codes" not in remedies["wren.ini"]
