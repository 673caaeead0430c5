"""A site file that is a link is written where it leads, with the look that it has; a read-only one is left alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.files.site_reading import site_at
from cfgmigrate.files.site_writing import added, corrected, write_site
from cfgmigrate.ground.findings import BadInput, CfgError, Refused
from cfgmigrate.workflow.site import say_meaning

SAID = "site: 1   # shared by the whole workshop\n"


@pytest.fixture
def linked(tmp_path: Path) -> Path:
    (tmp_path / "one").mkdir()
    (tmp_path / "one" / "feed.conf").write_text("[feeder]\nmm per turn = 21.4\ngrip space = 3\n")
    (tmp_path / "one" / "cfgmigrate.yaml").symlink_to(tmp_path / "workshop.yaml")
    return tmp_path / "one"


def test_a_link_stays_one_and_the_shared_file_says_more(linked: Path, tmp_path: Path) -> None:
    shared = tmp_path / "workshop.yaml"
    shared.write_text(SAID)
    shared.chmod(0o664)
    say_meaning([linked], "[feeder] grip space", "ignore")
    assert (linked / "cfgmigrate.yaml").is_symlink()
    assert "grip space" in shared.read_text() and shared.read_text().startswith(SAID)
    assert shared.stat().st_mode & 0o777 == 0o664


def test_a_link_that_leads_nowhere_yet_is_followed_and_stays_when_what_was_said_is_wrong(
    linked: Path, tmp_path: Path
) -> None:
    with pytest.raises(CfgError):
        say_meaning([linked], "[feeder] grip space", "feeder.no_such_thing")
    assert (linked / "cfgmigrate.yaml").is_symlink() and not (tmp_path / "workshop.yaml").exists()
    api.write_site(linked)
    assert (linked / "cfgmigrate.yaml").is_symlink() and "feed.conf" in (
        tmp_path / "workshop.yaml"
    ).read_text()


def test_a_read_only_site_file_is_left_alone(linked: Path, tmp_path: Path) -> None:
    shared = tmp_path / "workshop.yaml"
    shared.write_text(SAID)
    shared.chmod(0o444)
    with pytest.raises(Refused, match="read-only"):
        write_site(linked, site_at(linked), SAID + "roles: {}\n")
    assert shared.read_text() == SAID
    assert not list(tmp_path.rglob("*.new"))


NAMES = ("part\nlist.txt", "a\x07b.txt", "c\x1b[2Jd.txt", "e\x85f.txt", 'g"h.txt', "k\u2028l.txt")


def test_a_site_file_that_names_strange_files_can_be_read_again(linked: Path) -> None:
    for name in NAMES:
        (linked / name).write_text("bed width = 3\n")
    api.write_site(linked)
    assert set(NAMES) <= {role.pattern for role in site_at(linked).roles}


KEPT_BY_HAND = (
    b"\xef\xbb\xbf# my notes\r\nsite: 1\r\nroles:\r\n      body.txt:   in force      # aligned by me\r\n"
    b'      "feed.txt":   "in force"\r\n\r\nmeanings:\r\n    "[a] b":    {quantity: retraction.length,   unit: mm}   # so\r\n'
)


@pytest.mark.parametrize("write", [added, corrected])
def test_what_a_person_wrote_stays_to_the_byte_where_a_line_is_added(write: Callable[..., str]) -> None:
    found = write(
        KEPT_BY_HAND, {"roles": {"old one.txt": "kept copy"}, "feeders": {"left": {"known_as": ["feeder 1"]}}}
    ).encode()
    new = b"      old one.txt: kept copy\r\n"
    section = b"feeders:\r\n  left: {known_as: [feeder 1]}\r\n"
    assert found == KEPT_BY_HAND.replace(b"\r\n\r\nmeanings", b"\r\n" + new + b"\r\nmeanings") + section


def test_a_section_in_one_line_is_printed_anew_and_says_the_same() -> None:
    found = added(b"site: 1   # ours\nroles: {a.txt: in force}\n", {"roles": {"b.txt": "kept copy"}})
    assert "# ours" in found and "a.txt: in force" in found and "b.txt: kept copy" in found


def test_what_is_there_is_not_said_twice_and_changes_no_byte() -> None:
    assert added(KEPT_BY_HAND, {"roles": {"body.txt": "kept copy"}}).encode() == KEPT_BY_HAND
    assert "body.txt:   kept copy" in corrected(KEPT_BY_HAND, {"roles": {"body.txt": "kept copy"}}).replace(
        "body.txt: ", "body.txt:   "
    )


@pytest.mark.parametrize("text", ["words: {1e1: feeder, 10.0: feeder}", "roles: {body.txt: !!int in force}"])
def test_what_can_be_read_and_not_written_again_is_one_clear_error(text: str) -> None:
    with pytest.raises(BadInput, match="can be read, and not written again"):
        added(f"site: 1\n{text}\n".encode(), {"roles": {"b.txt": "kept copy"}})


OFFERED = """\
site: 1

roles:
  finch.ini: in force

meanings:
# Not understood. Take away the # of each line that is right.
#  "[feeder] grip space": feeder.load_length    # 3
"""
PROFILE = {"profiles": {"spools/red.ini": {"filament": "red", "material": "TPU"}}}


@pytest.mark.parametrize(
    "text",
    [
        added(OFFERED.encode(), PROFILE),
        corrected(OFFERED.encode(), {"roles": {"finch.ini": "kept copy"}, **PROFILE}),
        added(
            OFFERED.replace("roles:\n  finch.ini: in force", "roles: {}").encode(),
            {"roles": {"a.ini": "profile"}, **PROFILE},
        ),
    ],
)
def test_a_new_section_never_comes_between_another_one_and_the_lines_that_are_offered_for_it(
    text: str,
) -> None:
    """To take away the sign of an offered line teaches what the line says, whatever was answered meanwhile."""
    taught = text.replace('#  "[feeder]', '  "[feeder]')
    found = corrected(taught.encode(), {"meanings": {"[feeder] grip space": "ignore"}})
    assert found.count("grip space") == 1 and "ignore" in found
    assert text.index("meanings:") < text.index("grip space") < text.index("profiles:")
