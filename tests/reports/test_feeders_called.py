"""Whatever is read tells a feeder by what the files call it beside its number; what is typed has the number alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lights import SET, UNAFFECTED
from cfgmigrate.plan.model import BY_PROFILES, Light, Plan
from cfgmigrate.reports.feeders_called import lights_named, named
from cfgmigrate.reports.outcome_screen import revert_screen
from cfgmigrate.reports.status_text import status_lines
from cfgmigrate.reports.terminal import screen

SIDES = {"feeder 1": "left", "feeder 2": "right"}
FEEDER = "[feeder {}]\nsteps per mm = 96\nmicrosteps = 16\nretraction length = {}\n"
SHEET = """\
feeders: {right: {old: {drive: tube-fed, tube: {length: 450 mm}},
  new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16, tube: {length: 40 mm}}}}
"""


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("give feeder 2 a length of its own", "give feeder 2 (right) a length of its own"),
        ("Feeder 1 and feeder 2, filament x", "Feeder 1 (left) and feeder 2 (right), filament x"),
        ("feeder 12, feeder 2.5, feeder 3, my feeders", "feeder 12, feeder 2.5, feeder 3, my feeders"),
        ("--accept-unknown 'feed @ feeder 2'; feeders: {1: {known_as: [feeder 1]}}", ""),
        ("feeder 2 (right) once", ""),
    ],
)
def test_what_is_read_has_the_name_and_what_is_typed_has_not(text: str, read: str) -> None:
    assert named(text, SIDES) == (read or text)
    assert named(text, {}) == text


def test_a_light_that_profiles_have_each_for_itself_is_told_by_no_other_state() -> None:
    own = "filament pla"
    lights = (
        Light("retraction", "machine", UNAFFECTED, BY_PROFILES),
        Light("retraction", own, SET, "5 → 0.5 mm"),
    )
    plan = Plan("", (), "", "", "", lights=lights)
    assert [light.state for light in lights_named(plan)] == ["by profile", SET]


def test_screen_page_and_lists_call_a_feeder_alike(tmp_path: Path) -> None:
    config = tmp_path / "hen"
    config.mkdir()
    (config / "hen.conf").write_text(FEEDER.format("left", 5) + FEEDER.format("right", 6))
    (tmp_path / "sheet.yaml").write_text(SHEET)
    packet = tmp_path / "packet"
    plan = api.prepare([config], tmp_path / "sheet.yaml", out=packet).plan
    checklist = (packet / "checklist.md").read_text()
    assert "It is about feeder 2 (right), and feeder 1 (left) stays as before." in checklist
    assert "| Retraction length, feeder 2 (right) " in checklist
    accepted = [light.name for light in plan.lights if light.state == "unknown"]
    report = api.install(packet, accept_unknown=accepted).to_json()
    assert report["called"] == SIDES
    texts = [
        "\n".join(line.text for line in screen(plan, 79)),
        checklist,
        (packet / "changes.md").read_text(),
        "\n".join(line.text for line in status_lines(api.status(config).to_json(), 79)),
        "\n".join(
            line.text for line in revert_screen(api.revert_to(config, "start").to_json(), 79, dry_run=False)
        ),
    ]
    for text in texts:
        read = re.sub(r"`?@`? feeder \d", "", " ".join(text.split()))
        assert "feeder 2 (right)" in read
        assert not re.findall(r"[Ff]eeder [12](?! \()", read)
