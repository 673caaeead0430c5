"""Codes that stand in settings' values are read as in a file of codes, and named where nothing explains them."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.files.unread import as_listed
from cfgmigrate.machine.codes_in_values import UNEXPLAINED, WRITTEN_OTHERWISE
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.codes_unexplained import codes_near

PROFILE = b"name   clear\nhot    238\npullback  4.2\nbefore   K44 S0.52\nbefore   K31 S1.3 ; more of it\n"
SITE = b"site: 1\ncodes: {K31.S: {quantity: motor.run_current, unit: A rms}, K44.S: ignore}\n"


def of_profile(site: bytes = b"site: 1\n", text: bytes = PROFILE) -> Machine:
    said = parse_site(site, "cfgmigrate.yaml")
    document = as_listed(read("clear.reel", text, "flat"), said)
    roles = FileSet({"clear.reel": FileRole("clear.reel", Role.PROFILE, "")})
    return recognise([document], names_said(None, said), roles=roles)


def test_codes_that_nothing_explains_are_one_question_that_names_their_lines() -> None:
    (asked,) = (each for each in of_profile().doubts if each.why.startswith(UNEXPLAINED))
    assert "lines 4 (K44 S0.52), 5 (K31 S1.3)" in asked.why and asked.place.line == 4
    alone = of_profile(text=PROFILE.replace(b"K44", b"P44"))
    assert not any(each.why.startswith(UNEXPLAINED) for each in alone.doubts)


def test_what_the_site_file_says_of_a_code_is_read_where_it_stands_and_is_the_profile_s() -> None:
    machine = of_profile(SITE)
    (current,) = (each for each in machine.readings if each.quantity == "motor.run_current")
    assert (current.text, current.place.line, current.place.column, current.editable) == ("1.3", 5, 15, True)
    assert str(current.holder) == "filament clear"
    assert not any(each.why.startswith(UNEXPLAINED) for each in machine.doubts)


def test_codes_of_the_table_in_a_text_of_several_lines_are_read_at_their_words() -> None:
    text = '{"walk": {"at": 3},\n "begin": "G28\\nM906 E850 ; feeder\\nM92 E431 X80\\nG1 X5\\nM104 S200"}\n'
    machine = recognise([read("a.json", text.encode(), "nested")])
    found = {each.quantity: each for each in machine.readings if each.value is not None}
    assert {name: each.value for name, each in found.items()} == {
        "motor.run_current": 0.85, "feeder.steps_per_mm": 431.0, "axis.x.steps_per_mm": 80.0
    }  # fmt: skip
    for each in found.values():
        assert text[each.start : each.end] == each.text
        assert text.splitlines()[each.place.line - 1][each.place.column - 1 :].startswith(each.text)


def test_what_remarks_of_a_file_of_codes_explain_holds_in_values_too() -> None:
    codes = b"; K31: S is the feeder's run current, A rms\nK31 S1.2\nK31 S1.2\nK44 S3\nK44 S3\n"
    profile = read("clear.reel", PROFILE.replace(b" ; more of it", b""), "flat")
    machine = recognise([read("start.mv", codes, "command"), profile])
    held = {
        each.place.file: each.value for each in machine.every_reading if each.quantity == "motor.run_current"
    }
    assert held == {"start.mv": 1.2, "clear.reel": 1.3}


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("M92 E94.1:93.4", True),
        ("M92 E=94", True),
        ("M92 X80 E 94", True),
        ("N10 M92 E94*33", True),
        ("if x { M92 E94 }", True),
        ("M92 E{old}", True),
        ("M92 E94", False),
        ("M92 (what E does)", False),
        ("G28 ; M92 E=94", False),
        ("M301 P=20", False),
    ],
)
def test_a_code_of_the_table_that_is_written_otherwise_is_a_question_that_names_its_line(
    line: str, asked: bool
) -> None:
    text = f"[feeder]\nsteps per mm = 94\n[scripts]\nopening = {line}\n"
    machine = recognise([read("a.ini", text.encode(), "sectioned")])
    found = [each.place.line for each in machine.doubts if each.why.startswith(WRITTEN_OTHERWISE)]
    assert found == [4] * asked
    assert dict(codes_near(machine, {"feeder.steps_per_mm"})) == dict.fromkeys(
        ["feeder.steps_per_mm"] * asked, "a.ini:4"
    )


def test_a_code_written_otherwise_is_asked_about_beside_one_that_is_read_in_the_same_text() -> None:
    text = b'{"feeder": {"steps per mm": 94},\n "begin": "G28\\nM92 E94\\nM92 E=95"}\n'
    machine = recognise([read("a.json", text, "nested")])
    assert [each.text for each in machine.doubts if each.why.startswith(WRITTEN_OTHERWISE)] == ["M92 E=95"]


@pytest.mark.parametrize(
    ("rows", "asked"),
    [
        ("pin a = P3 S1\npin b = P5 S5.2\ngrid = A1 B2\ngrid2 = A2 B3\n", False),
        ("[port]\na = P3 S1\nb = P5 S5.2\n", False),
        ("begin = P3 S1\nend = P5 S5.2\n", True),
        ("port = P3 S1\n P5 S5.2\n", True),
        ("port, at the end = P3 S1\nport, at the start = P5 S5.2\n", True),
    ],
)
def test_what_stands_behind_a_pin_a_port_or_a_grid_is_no_code(rows: str, asked: bool) -> None:
    text = f"[retraction]\nlength = 5\n[panel]\n{rows}"
    machine = recognise([read("a.ini", text.encode(), "sectioned")])
    assert any(each.why.startswith(UNEXPLAINED) for each in machine.doubts) == asked
    assert ("retraction.length" in dict(codes_near(machine, {"retraction.length"}))) == asked


def test_a_feed_by_a_letter_that_was_explained_is_no_code_but_a_line_of_two_such_letters_is_asked_about() -> (
    None
):
    lines = ("D16 F3600", "W17 F3600", "D3 F200", "W3 F200", "W17 D17 F1500")
    text = "begin:\n" + "".join(f"  - {line}\n" for line in lines)
    words = (("D", "filament in"), ("W", "filament in"), ("F", "mm per minute"))
    for own, named in (
        ((), "lines 2 (D16 F3600), 3 (W17 F3600), 4 (D3 F200)"),
        (words, "line 6 (W17 D17 F1500)"),
    ):
        machine = recognise([replace(read("a.yml", text.encode(), "nested"), own_words=own)])
        (asked,) = (each for each in machine.doubts if each.why.startswith(UNEXPLAINED))
        assert named in asked.why


KEPT = "M715 L6.2 V40   ; pull: mm, mm/s\nM718 S3\nM719 S4\n"


@pytest.mark.parametrize(
    ("start", "asked"),
    [
        ("M715 L5.4 V35", True),
        ("M718 S9", False),  # nothing explains it there either
        ("G28", False),
    ],
)
def test_a_code_in_a_value_that_a_file_of_codes_explains_and_that_is_not_read_is_asked_about(
    start: str, asked: bool
) -> None:
    profile = (
        f'{{"name": "PETG", "pull": {{"length": 5.4, "speed": 35}},\n "on_start": [\n  "{start}"\n ]}}\n'
    )
    machine = recognise(
        [read("kept.nc", KEPT.encode(), "command"), read("petg.json", profile.encode(), "nested")]
    )
    about = [each for each in machine.doubts if "kept.nc:1" in each.why and each.place.file == "petg.json"]
    if asked:
        (doubt,) = about
        assert doubt.place.line == 3 and doubt.about == "retraction.length" and "M715.L" in doubt.remedy
    else:
        assert not about


def test_a_code_in_a_value_that_the_site_file_explains_is_not_asked_about_again() -> None:
    said = parse_site(
        b"site: 1\ncodes: {M715.L: {quantity: retraction.length, unit: mm}, M715.V: ignore}\n",
        "cfgmigrate.yaml",
    )
    profile = (
        b'{"name": "PETG", "pull": {"length": 5.4, "speed": 35},\n "on_start": [\n  "M715 L5.4 V35"\n ]}\n'
    )
    documents = [
        as_listed(read("kept.nc", KEPT.encode(), "command"), said),
        as_listed(read("petg.json", profile, "nested"), said),
    ]
    machine = recognise(documents, names_said(None, said))
    assert not [each for each in machine.doubts if "which M715 sets" in each.why]
