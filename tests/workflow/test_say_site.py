"""What is said of the files is kept in the site file; what was said before is replaced, and all else stays."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.files.roles import Role
from cfgmigrate.files.site_reading import site_at
from cfgmigrate.ground.findings import BadInput, CfgError
from cfgmigrate.workflow.site import say_meaning, say_roles

SAMPLES = Path(__file__).parents[2] / "sample_configs"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SAMPLES / "wren", tmp_path / "wren"))


def test_a_role_takes_the_place_of_the_one_said_before_and_remarks_stay(place: Path) -> None:
    (place / "cfgmigrate.yaml").write_text("# ours\nroles: {slicing.conf: profile} # since May\nsite: 1\n")
    say_roles(place, {"slicing.conf": Role.COPY})
    text = (place / "cfgmigrate.yaml").read_text()
    assert "# ours" in text and "# since May" in text and "slicing.conf: kept copy" in text


def test_a_file_that_is_not_there_has_no_role(place: Path) -> None:
    with pytest.raises(BadInput):
        say_roles(place, {"../elsewhere.conf": Role.IN_FORCE})
    assert not (place / "cfgmigrate.yaml").exists()


def test_a_meaning_is_read_at_once_and_one_that_can_t_be_is_taken_back(place: Path) -> None:
    feed = place / "feed.conf"
    feed.write_text(feed.read_text() + "\n[feeder]\nmm at a stretch = 512\n")
    say_meaning(place, "[feeder] mm at a stretch", "feeder.load_length")
    before = (place / "cfgmigrate.yaml").read_bytes()
    assert any(each.quantity == "feeder.load_length" for each in api.survey(place).readings)
    with pytest.raises(CfgError):
        say_meaning(place, "[feeder] mm at a stretch", "no.such.quantity")
    assert (place / "cfgmigrate.yaml").read_bytes() == before
    say_meaning(place, "[feeder] mm at a stretch", "ignore")
    assert site_at(place).there
    assert not any(each.quantity == "feeder.load_length" for each in api.survey(place).readings)
