"""The path, the push and the probe are pictured from the plan's own numbers, and stand above what they are about."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

import cfgmigrate
from cfgmigrate import api
from cfgmigrate.plan.model import Plan
from cfgmigrate.reports.page import render_page
from cfgmigrate.reports.picture_text import path_lengths, pictured, probe_spots, push_forces
from cfgmigrate.reports.pictures import draw

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"


@pytest.fixture(scope="module")
def plover() -> Plan:
    return api.work_out(SAMPLES / "plover", SAMPLES / "sheets" / "plover.yaml").plan


def test_each_is_drawn_where_its_numbers_are_known_and_says_them_as_text(plover: Plan) -> None:
    names = [picture.name for picture in draw(plover)]
    assert names == [picture.name for picture in pictured(plover)]
    assert {"path", "push", "probe"} <= set(names)
    lengths, forces = path_lengths(plover), push_forces(plover)
    assert lengths is not None and lengths[0].value < lengths[1].value  # this swap goes to a tube
    assert forces is not None and forces[0].value < forces[1].value
    assert probe_spots(plover) == ((-21.5, 12.0), (-20.5, 9.5))


def test_none_is_drawn_of_half_its_numbers(plover: Plan) -> None:
    for missing, name in (("path.length_old", "path"), ("path.force", "push")):
        lacking = replace(plover, findings=tuple(one for one in plover.findings if one.rule != missing))
        assert name not in [picture.name for picture in draw(lacking)]
    lacking = replace(
        plover, changes=tuple(one for one in plover.changes if one.quantity != "probe.offset_y")
    )
    assert "probe" not in [picture.name for picture in draw(lacking)]


def test_a_bar_is_as_long_as_its_path(plover: Plan) -> None:
    picture = next(each for each in draw(plover) if each.name == "path")
    lengths = path_lengths(plover)
    assert lengths is not None
    for each in lengths:
        assert f"{each.value:.1f}"[:3] in picture.svg


def test_the_pictures_stand_behind_what_needs_a_verdict(plover: Plan) -> None:
    found = api.work_out(SAMPLES / "plover", SAMPLES / "sheets" / "plover.yaml")
    text = render_page(plover, found.before, found.after, "0" * 64)
    assert text.index('id="alarms-title"') < text.index('id="changes"') < text.index('id="pictures"')
