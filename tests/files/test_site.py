"""The site file: found by itself, before the evidence and behind the command line, written with its comments kept."""

from __future__ import annotations

import json
import re
import unicodedata
from pathlib import Path
from typing import Literal

import pytest

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.found import SITE
from cfgmigrate.files.roles import Role
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.files.site_writing import answered_text, answers_offered, site_text, with_lessons, write_site
from cfgmigrate.files.telling import FilesUnclear, ask_first
from cfgmigrate.ground.findings import Doubt, Refused
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.recognise import recognise

STEPPERS = "[axis x]\nsteps_per_mm: 84\n[axis y]\nsteps_per_mm: 84\n[feeder]\nsteps_per_mm: 96\nmax_speed: 40\nhardest: 9\n"


def lay(place: Path, files: dict[str, str]) -> Path:
    for path, text in files.items():
        (place / path).parent.mkdir(parents=True, exist_ok=True)
        (place / path).write_text(text)
    return place


def test_it_is_found_by_itself_and_comes_before_evidence_and_behind_the_command_line(tmp_path: Path) -> None:
    lay(
        tmp_path,
        {
            "a.conf": STEPPERS,
            "a_old.conf": STEPPERS,
            SITE: "site: 1\nroles: {a_old.conf: in force, a.conf: kept copy}\n",
        },
    )
    assert [each.path for each in open_configuration([tmp_path]).documents] == ["a_old.conf"]
    found = open_configuration([tmp_path], machine=[tmp_path / "a.conf"])
    assert found.roles["a.conf"].role is Role.IN_FORCE


def test_a_file_in_force_that_is_gone_and_an_included_one_that_is_a_copy_stop_who_writes(
    tmp_path: Path,
) -> None:
    lay(tmp_path, {"a.conf": STEPPERS, SITE: "site: 1\nroles: {gone.conf: in force}\n"})
    with pytest.raises(Refused, match="not there"):
        ask_first(open_configuration([tmp_path]).roles, tmp_path)
    lay(
        tmp_path,
        {"b.conf": "include = a.conf\n[fan]\nspeed: 1\n", SITE: "site: 1\nroles: {a.conf: kept copy}\n"},
    )
    with pytest.raises(Refused, match=r"b\.conf:1 takes it in"):
        ask_first(open_configuration([tmp_path]).roles, tmp_path)


def test_an_answer_is_kept_and_not_asked_again(tmp_path: Path) -> None:
    lay(tmp_path, {"den.conf": STEPPERS, "tuesday.conf": STEPPERS})
    found = open_configuration([tmp_path])
    with pytest.raises(FilesUnclear):
        ask_first(found.roles, tmp_path)
    answers = {"den.conf": Role.IN_FORCE, "tuesday.conf": Role.COPY}
    write_site(tmp_path, found.site, answered_text(found.site, answers))
    again = open_configuration([tmp_path])
    assert not again.roles.questions
    assert [each.path for each in again.documents] == ["den.conf"]


def test_it_is_written_commented_and_rewritten_with_its_comments(tmp_path: Path) -> None:
    lay(
        tmp_path,
        {"a.conf": STEPPERS, "a_old.conf": STEPPERS, "notes.txt": "Grease the rods, not the belt!\n"},
    )
    found = open_configuration([tmp_path])
    write_site(tmp_path, found.site, site_text(found.site, found.roles))
    text = (tmp_path / SITE).read_text()
    assert "a.conf: in force" in text and "a_old.conf: kept copy" in text and "notes" not in text
    assert text.count("#") > 4
    own = text.replace("kept copy", "in force  # I know better", 1) + "# last words\n"
    (tmp_path / SITE).write_text(own)
    lay(tmp_path, {"b.conf": "[sensor]\npin: 3\n"})
    found = open_configuration([tmp_path])
    write_site(tmp_path, found.site, site_text(found.site, found.roles))
    text = (tmp_path / SITE).read_text()
    assert "I know better" in text and "last words" in text and "b.conf: in force" in text


def test_no_role_is_written_that_hangs_on_an_open_question(tmp_path: Path) -> None:
    lay(tmp_path, {name: f"[machine]\nname: {name}\n{STEPPERS}" for name in ("den", "tuesday")})
    found = open_configuration([tmp_path])
    assert len(found.roles.questions) == 1
    text = with_lessons(site_text(found.site, found.roles), {"roles": answers_offered(found.roles)})
    assert not parse_site(text.encode(), SITE).roles
    (tmp_path / SITE).write_text(text.replace("#  tuesday: in force", "  tuesday: in force"))
    answered = open_configuration([tmp_path])
    assert not answered.roles.questions and [each.path for each in answered.documents] == ["tuesday"]


def test_it_is_never_written_over_a_change_made_meanwhile(tmp_path: Path) -> None:
    lay(tmp_path, {"a.conf": STEPPERS})
    found = open_configuration([tmp_path])
    (tmp_path / SITE).write_text("site: 1\n")
    with pytest.raises(Refused, match="changed since it was read"):
        write_site(tmp_path, found.site, site_text(found.site, found.roles))
    assert (tmp_path / SITE).read_text() == "site: 1\n"


def test_one_file_named_belongs_to_the_nearest_folder_with_a_site_file(tmp_path: Path) -> None:
    lay(tmp_path, {SITE: "site: 1\n", "parts/feed.conf": STEPPERS, "heat.conf": "[bed heater]\nmax: 110\n"})
    found = open_configuration([tmp_path / "parts" / "feed.conf"])
    assert found.root == tmp_path
    assert [each.path for each in found.documents] == ["heat.conf", "parts/feed.conf"]
    assert found.editable("parts/feed.conf") and not found.editable("heat.conf")


def test_several_folders_named_are_all_that_is_read_whatever_site_file_lies_above(tmp_path: Path) -> None:
    """A site file in one of them has no effect, and that is said."""
    other = {"wren/b.conf": STEPPERS.replace("710", "415"), "parts/feed.conf": "[bed heater]\nmax: 110\n"}
    lay(tmp_path, {"dunlin/a.conf": STEPPERS, **other, f"dunlin/{SITE}": "site: 1\n"})
    named = [tmp_path / "dunlin", tmp_path / "parts"]
    before = open_configuration(named)
    (tmp_path / SITE).write_text("site: 1\nroles: {parts/feed.conf: in force}\n")
    found = open_configuration(named)
    assert [each.path for each in found.documents] == ["dunlin/a.conf", "parts/feed.conf"]
    assert found.documents == before.documents
    assert [each.place.file for each in found.roles.idle] == [f"dunlin/{SITE}"]


def test_two_histories_one_above_the_other_are_refused(tmp_path: Path) -> None:
    lay(tmp_path, {"wren/a.conf": STEPPERS})
    (tmp_path / ".cfgmigrate").mkdir()
    assert open_configuration([tmp_path / "wren"]).root == tmp_path
    (tmp_path / "wren" / ".cfgmigrate").mkdir()
    with pytest.raises(Refused, match="another history above"):
        open_configuration([tmp_path / "wren"])


def test_lines_that_teach_are_out_of_force_and_added_once(tmp_path: Path) -> None:
    lay(tmp_path, {"a.conf": STEPPERS})
    found = open_configuration([tmp_path])
    plain = site_text(found.site, found.roles)
    line = '# "[feeder] quux": QUANTITY    # 410'
    text = with_lessons(plain, {"meanings": [line, line.replace("410", "12")]})
    assert text.count("quux") == 1
    assert text.startswith(plain) and '#  "[feeder] quux": QUANTITY' in text
    write_site(tmp_path, found.site, text)
    assert open_configuration([tmp_path]).site.there
    assert with_lessons(text, {"meanings": [line]}) == text


@pytest.mark.parametrize(
    "before", ["", "words:\n    lomik: feeder\n", "words:  # mine\n  lomik: feeder\nroles: {}\n"]
)
def test_to_take_away_the_sign_of_a_line_is_all_that_teaches_it(before: str) -> None:
    lessons = {
        "words": ["# zum klo: run current    # zum_klo = 650", "# zum klo: hold current", "# dub: lift"]
    }
    text = with_lessons(f"site: 1\n{before}", lessons)
    assert len(parse_site(text.encode(), "cfgmigrate.yaml").words) == bool(before)
    taught = re.sub(r"^#(?=.*(?:hold|lift))", "", text, flags=re.M)
    words = {each.key: each.node.text for each in parse_site(taught.encode(), "cfgmigrate.yaml").words}
    assert words == {"zum klo": "hold current", "dub": "lift", **({"lomik": "feeder"} if before else {})}


def of_the_site_file(place: Path) -> list[Doubt]:
    return [each for each in recognise(open_configuration([place])).doubts if each.place.file == SITE]


@pytest.mark.parametrize(
    ("line", "said", "near"),
    [
        ("roles: {reels/PETG.conf: kept copy}", "roles: reels/PETG.conf", "did you mean reels/petg.conf?"),
        ("roles: {'reel/*': other machine}", "roles: reel/*", ""),
        ("decimals: {reels/PETG.conf: comma}", "decimals: reels/PETG.conf", "did you mean reels/petg.conf?"),
        ("shared: {reels/PETG.conf: left}", "shared: reels/PETG.conf", "did you mean reels/petg.conf?"),
        (
            "profiles: {reels/pegt.conf: {filament: PETG}}",
            "profiles: reels/pegt.conf",
            "did you mean reels/petg.conf?",
        ),
    ],
)
def test_a_line_that_names_no_file_is_a_doubt_at_its_line(
    tmp_path: Path, line: str, said: str, near: str
) -> None:
    lay(tmp_path, {"machine.conf": STEPPERS, "reels/petg.conf": "nozzle: 240\n", SITE: f"site: 1\n{line}\n"})
    (doubt,) = of_the_site_file(tmp_path)
    assert (doubt.text, doubt.place.line) == (said, 2) and near in doubt.remedy


def test_a_line_that_names_a_file_is_no_doubt(tmp_path: Path) -> None:
    site = "site: 1\nroles: {reels/petg.conf: kept copy, 'old/': kept copy}\n"
    lay(tmp_path, {"machine.conf": STEPPERS, "reels/petg.conf": "nozzle: 240\n", SITE: site})
    (tmp_path / "old").mkdir()
    assert of_the_site_file(tmp_path) == []


def test_a_history_above_counts_only_where_it_tells_of_a_file_in_the_folder(tmp_path: Path) -> None:
    """The history of a machine whose files lie in two folders stands above its neighbours too."""
    lay(tmp_path, {"wren/a.conf": STEPPERS, "dunlin/a.conf": STEPPERS, "parts/heat.conf": STEPPERS})
    (tmp_path / "dunlin" / ".cfgmigrate").mkdir()
    own = tmp_path / ".cfgmigrate"
    own.mkdir()

    def tells(path: str, *read: str, **more: object) -> None:
        entry = {"kind": "install", "files": [{"path": path}], "reasons": {"inputs": read}, **more}
        (own / "history.jsonl").write_text(f'{{"entries": 1}}\n{json.dumps(entry)}\n')

    def root(name: str) -> Path:
        return open_configuration([tmp_path / name]).root

    tells("wren/a.conf", "wren/a.conf", "parts/heat.conf")
    assert root("dunlin") == tmp_path / "dunlin"
    assert root("wren") == root("parts") == tmp_path
    (own / "journal.json").touch()
    with pytest.raises(Refused, match="keep it"):
        root("dunlin")
    (own / "journal.json").unlink()
    # it read one of its files, it does not say what it read, or what it changed has gone: it may be there now
    for path, more in (("wren/a.conf", {}), ("wren/a.conf", {"reasons": {}}), ("gone/a.conf", {})):
        tells(path, "Dunlin/a.conf" if path[0] == "w" else path, **more)
        with pytest.raises(Refused, match="another history above"):
            root("dunlin")


@pytest.mark.parametrize(("on_disk", "in_the_file"), [("NFD", "NFC"), ("NFC", "NFD")])
def test_a_letter_with_an_accent_is_the_same_letter_as_one_sign_or_as_two(
    tmp_path: Path, on_disk: Literal["NFC", "NFD"], in_the_file: Literal["NFC", "NFD"]
) -> None:
    said = (
        "site: 1\nroles: {tête/vieux.conf: kept copy, tête/corps_é.conf: in force, né/: kept copy, 'rê*.conf': profile}\n"
        "dialects: {tête/corps_é.conf: sectioned}\ndecimals: {tête/corps_é.conf: point}\n"
        "meanings: {'tête/corps_é.conf [feeder] hardest': motor.run_current}\n"
    )
    files = {
        "tête/corps_é.conf": STEPPERS.replace("hardest: 9", "hardest: 0.9"),
        "tête/vieux.conf": STEPPERS,
        "né/a.conf": STEPPERS,
        "rêve.conf": STEPPERS,
    }
    spelled = {unicodedata.normalize(on_disk, path): text for path, text in files.items()}
    lay(tmp_path, {**spelled, SITE: unicodedata.normalize(in_the_file, said)})
    found = open_configuration([tmp_path])
    roles = {unicodedata.normalize("NFC", path): each.role for path, each in found.roles.items() if each.said}
    assert roles == {
        "tête/corps_é.conf": Role.IN_FORCE,
        "tête/vieux.conf": Role.COPY,
        "né/a.conf": Role.COPY,
        "rêve.conf": Role.PROFILE,
    }
    assert not found.roles.idle and not found.roles.faults
    ask_first(found.roles, tmp_path)
    assert any(
        each.quantity == "motor.run_current"
        for each in recognise(found, names_said(None, found.site)).readings
    )


def test_of_two_files_whose_names_look_the_same_each_has_the_role_that_is_said_of_it(tmp_path: Path) -> None:
    one, other = "corps_\u00e9.conf", "corps_e\u0301.conf"
    lay(
        tmp_path,
        {one: STEPPERS, other: STEPPERS, SITE: f"site: 1\nroles: {{{one}: kept copy, {other}: in force}}\n"},
    )
    found = open_configuration([tmp_path])
    assert {path: each.role for path, each in found.roles.items() if each.said} == {
        one: Role.COPY,
        other: Role.IN_FORCE,
    }
    (tmp_path / SITE).write_text(f"site: 1\nroles: {{{one}: kept copy}}\n")
    assert not open_configuration([tmp_path]).roles[other].said


@pytest.mark.parametrize("folder", ["loft", "loft/", "loft/*"])
def test_a_folder_names_all_that_is_in_it_with_or_without_a_slash(tmp_path: Path, folder: str) -> None:
    lay(
        tmp_path,
        {
            "steppers.conf": STEPPERS,
            "loft/steppers.conf": STEPPERS.replace("96", "438"),
            "cfgmigrate.yaml": f"site: 1\nroles: {{{folder!r}: other machine}}\n",
        },
    )
    found = open_configuration([tmp_path]).roles["loft/steppers.conf"]
    assert found.role is Role.OTHER and found.said
