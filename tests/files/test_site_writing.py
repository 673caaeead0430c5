"""A site file that is a link is written where it leads, with the look that it has; a read-only one is left alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.files.site import site_at
from cfgmigrate.files.site_writing import write_site
from cfgmigrate.ground.findings import CfgError, Refused
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
        write_site(linked, site_at(linked), SAID + "counts_from: 0\n")
    assert shared.read_text() == SAID
    assert not list(tmp_path.rglob("*.new"))
