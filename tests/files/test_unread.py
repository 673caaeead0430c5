"""A file that reads as none of the dialects, and may be the machine's after all, says how it would be read."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import detect, read
from cfgmigrate.files.configuration import Configuration, open_configuration
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.files.telling import ask_first, told_of
from cfgmigrate.files.unread import as_listed, dialect_by_site
from cfgmigrate.ground.findings import BadInput, Refused

MACHINE = (
    "[axis x]\nhigh end = 210\nsteps per mm = 84\n[axis y]\nhigh end = 190\n[feeder]\nsteps per mm = 97.2\n"
)
TASKS = """\
TASK fetch left
  TAKE left
  WARM left 220
  G1 E20 F240
  G1 E595 F2700 ; all the way
  G1 E70 F180
DONE
TASK park
  TAKE left
  SAY "ready"
DONE
"""


def opened(folder: Path, site: str = "", tasks: str = TASKS) -> Configuration:
    (folder / "ladle.conf").write_text(MACHINE)
    (folder / "tasks.job").write_text(tasks)
    if site:
        (folder / "cfgmigrate.yaml").write_text(f"site: 1\n{site}\n")
    return open_configuration([folder])


def test_one_that_looks_like_a_script_offers_the_line_that_has_it_read(tmp_path: Path) -> None:
    found = opened(tmp_path)
    (line,) = [each for each in told_of(found.roles) if each.startswith("tasks.job")]
    assert 'dialects: {"tasks.job": command}' in line


def test_codes_of_a_makers_own_letters_look_like_a_script_too(tmp_path: Path) -> None:
    own = "; at switch-on, and wins\nK20 S6.9\nK31 S1.2 X0.9 ; motors\nK52 X300 Y300\ncall edges.job\nlamp on\nlid shut\n"
    (line,) = [each for each in told_of(opened(tmp_path, tasks=own).roles) if each.startswith("tasks.job")]
    assert "3 of its 6 lines are words of a letter and a number" in line


def test_and_that_line_has_it_read(tmp_path: Path) -> None:
    found = opened(tmp_path, 'dialects: {"tasks.job": command}')
    assert "tasks.job" in {document.path for document in found.documents}


def test_one_that_is_nearly_in_a_dialect_is_refused_with_the_first_line_that_is_not(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("G21\nM92 E95.5\nhello there, what is this\nmore of 5 such\nM906 E750\n")
    with pytest.raises(BadInput) as refused:
        api.read_machine([tmp_path])
    assert "comes nearest to command, but for line 3: 'hello there, what is this'" in refused.value.remedy


def test_prose_offers_nothing(tmp_path: Path) -> None:
    found = opened(tmp_path, tasks="G1 is a move.\nSo I wrote G1 E20 once, and it fed.\nNever again.\n" * 4)
    assert not [each for each in told_of(found.roles) if each.startswith("tasks.job")]


@pytest.mark.parametrize("role", ["in force", "profile"])
def test_one_that_is_part_of_the_machine_by_the_site_file_stops_what_would_be_written(
    tmp_path: Path, role: str
) -> None:
    found = opened(tmp_path, f"roles: {{tasks.job: {role}}}")
    with pytest.raises(Refused, match=r"cfgmigrate.yaml:2:\d+: tasks.job is .*none of the dialects"):
        ask_first(found.roles, tmp_path)


def test_one_of_saved_values_is_told_and_stops_nothing(tmp_path: Path) -> None:
    found = opened(tmp_path, "roles: {tasks.job: saved values}", "hello\nthe pulses are 97.2\n")
    ask_first(found.roles, tmp_path)
    assert any("tasks.job" in each and "none was taken from it" in each for each in told_of(found.roles))


def test_the_line_is_offered_in_the_site_file_out_of_force_and_taking_the_sign_away_has_it_read(
    tmp_path: Path,
) -> None:
    (tmp_path / "ladle.conf").write_text(MACHINE)
    (tmp_path / "tasks.job").write_text(TASKS)
    site = api.write_site([tmp_path])
    text = site.read_text()
    (line,) = [each for each in text.splitlines() if '"tasks.job": command' in each]
    assert line.startswith("#") and "tasks.job" not in {
        each.path for each in open_configuration([tmp_path]).documents
    }
    site.write_text(text.replace(line, line.replace("#", " ", 1)))
    assert "tasks.job" in {document.path for document in open_configuration([tmp_path]).documents}


def test_a_site_file_by_another_name_is_told_to_be_one(tmp_path: Path) -> None:
    (tmp_path / "ladle.conf").write_text(MACHINE)
    (tmp_path / "answers.yaml").write_text("site: 1\nroles:\n  ladle.conf: in force\n")
    told = told_of(open_configuration([tmp_path]).roles)
    assert any("answers.yaml" in each and "called cfgmigrate.yaml" in each for each in told)


TALK = "connected\n> list all\n{}yes, that was all of it; bye (3)\n"


@pytest.mark.parametrize(
    ("role", "lines", "dialect"),
    [
        ("saved values", "feeder.steps_per_mm 97.2\nretraction.length 5.2\nfeeder.max_speed 40\n", "flat"),
        ("saved values", "", None),
        ("in force", "feeder.steps_per_mm 97.2\nretraction.length 5.2\nfeeder.max_speed 40\n", None),
    ],
)
def test_what_a_console_printed_of_saved_values_is_read_as_what_it_is_most_like(
    role: str, lines: str, dialect: str | None
) -> None:
    site = parse_site(f"site: 1\nroles: {{kept.txt: {role}}}\n".encode(), "cfgmigrate.yaml")
    data = TALK.format(lines).encode()
    assert detect(data) is None
    assert dialect_by_site("kept.txt", data, site) == dialect


@pytest.mark.parametrize(("role", "whole"), [("saved values", False), ("in force", True)])
def test_talk_is_taken_out_of_saved_values_alone(role: str, whole: bool) -> None:
    site = parse_site(f"site: 1\nroles: {{kept.txt: {role}}}\n".encode(), "cfgmigrate.yaml")
    document = read("kept.txt", TALK.format("feeder.steps_per_mm 97.2\n").encode(), "flat")
    assert (as_listed(document, site) == document) is whole


SETTINGS = """\
feeder bite | 34.5
feeder gear | 3:1
feeder current | 900
lag | 0.4
retraction | 5.5
as Anna left it
"""


@pytest.mark.parametrize(
    ("name", "text", "site", "stops"),
    [
        ("mill.set", SETTINGS, "", True),
        ("old/mill.set", SETTINGS, "", True),
        ("mill.log", SETTINGS, "", False),
        ("ladle.conf.old", SETTINGS, "", False),
        ("mill.set", SETTINGS, "roles: {'*.set': other machine}", False),
        ("mill.set", SETTINGS, "roles: {'*.set': in force}", True),
        ("mill.set", f"{SETTINGS}{'so it stayed' * 3}\n" + "and nobody knows why\n" * 8, "", False),
    ],
)
def test_a_text_of_names_of_the_trade_and_numbers_in_no_dialect_stops_until_somebody_says_what_it_is(
    tmp_path: Path, name: str, text: str, site: str, stops: bool
) -> None:
    (tmp_path / name).parent.mkdir(exist_ok=True)
    (tmp_path / name).write_text(text)
    found = opened(tmp_path, site)
    assert found.roles[name].role.taken is False
    if not stops:
        ask_first(found.roles, tmp_path)
        return
    with pytest.raises(
        Refused, match=r"mill\.set.* 5 of its 6 lines are a name and a number \(feeder, gear, current …\)"
    ):
        ask_first(found.roles, tmp_path)


def test_one_that_is_said_to_be_a_profile_is_read_as_what_it_comes_nearest_to(tmp_path: Path) -> None:
    reel = "name         clear glass\nhot          238\npullback     3600 um\npullback_v   2400 mm/min\nhop          0.2 mm\n"
    assert detect(reel.encode()) is None
    found = opened(tmp_path, "roles: {tasks.job: profile}", reel)
    (document,) = (each for each in found.documents if each.path == "tasks.job")
    assert [each.key for each in document.settings] == ["name", "hot", "pullback", "pullback_v", "hop"]


OWN_WORDS = "Material: PETG\nRetraction: 4,8 mm\nRetraction speed: 35\nLag: 0,74 s\n"
GERMAN = (
    "PETG klar\n(Komma ist Komma)\n\nMaterial: PETG\nDichte: 1,27\nRueckzug: 4,8 mm\nNachlauf: 0,74 s\nnach dem Druck:\n"
    "  G1 E-4,8 F2100\nVerlauf:\n  2023-06: Rueckzug von 6 auf 5,2\nNotizen:\n  - zieht Faeden\nSterne: 3\n"
)


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        (OWN_WORDS, True),
        (OWN_WORDS.replace(",", "."), True),
        (GERMAN, True),
        (OWN_WORDS.replace("Material: PETG", "Shelf: third"), False),
        (OWN_WORDS + "and so it was, as I wrote then.\n" * 9, False),
        ("Material: PETG\nas Anna left it\n", False),
        ("Material: PETG\nRoll: 212\nBox: 2\nDried: 4\n", False),
        ("Material: PETG\nRoll: 212\nBox: 2\nzurueck: 4\n", True),
    ],
)
def test_a_text_that_says_its_plastic_in_one_s_own_words_stops_until_it_is_said_whether_it_is_a_profile(
    tmp_path: Path, text: str, asked: bool
) -> None:
    assert detect(text.encode()) is None
    found = opened(tmp_path, tasks=text)
    assert (found.roles["tasks.job"].why.find("'Material: PETG'") > 0) is asked
    if not asked:
        ask_first(found.roles, tmp_path)
        return
    with pytest.raises(Refused, match=r"roles: {\"tasks.job\": profile}"):
        ask_first(found.roles, tmp_path)
    for role, taken in (("profile", True), ("no configuration", False)):
        said = opened(tmp_path, f"roles: {{tasks.job: {role}}}", text)
        ask_first(said.roles, tmp_path)
        assert ("tasks.job" in {each.path for each in said.documents}) is taken


def test_and_of_such_a_profile_the_retraction_is_a_question_until_its_commas_are_settled(
    tmp_path: Path,
) -> None:
    opened(tmp_path, "roles: {tasks.job: profile}", OWN_WORDS)
    _, machine = api.read_machine([tmp_path])
    assert any(each.text == "Retraction = 4,8 mm" and "comma" in each.why for each in machine.doubts)
    opened(tmp_path, "roles: {tasks.job: profile}\ndecimals: {tasks.job: comma}", OWN_WORDS)
    _, machine = api.read_machine([tmp_path])
    (pull,) = (each for each in machine.every_reading if each.quantity == "retraction.length")
    assert pull.value == 4.8 and str(pull.holder).startswith("filament")


def test_a_profile_in_a_dialect_that_it_is_not_in_breaks_nothing(tmp_path: Path) -> None:
    opened(tmp_path, "roles: {tasks.job: profile}\ndialects: {tasks.job: nested}", GERMAN)
    _, machine = api.read_machine([tmp_path])
    assert all(each.place.file != "tasks.job" for each in machine.every_reading)


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("mill.set", MACHINE.encode() + b"\0", "zero bytes (1, from line 8 on)"),
        ("mill.set", MACHINE.encode("utf-16"), "UTF-16"),
        ("mill.log", MACHINE.encode() + b"\0", ""),
        ("mill.bin", MACHINE.encode() + bytes(range(8)) * 40, ""),
    ],
)
def test_one_that_would_be_read_but_for_zero_bytes_or_two_for_each_letter_stops_and_says_why(
    tmp_path: Path, name: str, data: bytes, why: str
) -> None:
    (tmp_path / name).write_bytes(data)
    found = opened(tmp_path)
    if not why:
        ask_first(found.roles, tmp_path)
        return
    assert why in found.roles[name].why
    with pytest.raises(Refused, match="else it reads as sectioned"):
        ask_first(found.roles, tmp_path)
    ask_first(opened(tmp_path, f"roles: {{{name}: no configuration}}").roles, tmp_path)
