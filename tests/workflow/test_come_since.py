"""What came to the configuration after a packet was prepared here is seen before it is installed, however old it looks."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.ground.findings import Refused
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.made_here import PART_OF_IT, made_a_moment_ago

FEED = "[feeder]\nmm per turn = 21.4\ngear ratio = 3:1\n[retraction]\nlength = 5.5\n"
PROFILE = "[print soft shoes]\nlayer height = 0.2\nretraction length = 5.8 mm\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, drive_gear: {effective_diameter: 8 mm, gear_ratio: "50:9"}, tube: {length: 40 mm}}
"""
LIGHTS = ["current", "height"]


def laid(folder: Path, files: dict[str, str]) -> Path:
    for path, text in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text)
        os.utime(folder / path, (1e9, 1e9))
    return folder


@pytest.fixture
def packet(tmp_path: Path) -> Packet:
    (tmp_path / "swap.yaml").write_text(SHEET)
    laid(tmp_path / "one", {"feed.conf": FEED})
    return api.prepare(tmp_path / "one", tmp_path / "swap.yaml", out=tmp_path / "packet")


def test_a_folder_that_was_moved_in_is_seen(
    packet: Packet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cfgmigrate.workflow.placed._changed_after", lambda *_: False)  # as old as it can be
    laid(tmp_path / "aside", {"soft.conf": PROFILE}).rename(tmp_path / "one" / "qualities")
    with pytest.raises(Refused, match=r"qualities/soft\.conf: in this configuration it is"):
        api.install(packet.folder, accept_unknown=LIGHTS)


def test_a_site_file_that_was_moved_in_is_seen(packet: Packet, tmp_path: Path) -> None:
    site = "site: 1\nmeanings: {'[feeder] mm per turn': ignore}\n"
    laid(tmp_path / "aside", {"cfgmigrate.yaml": site})
    (tmp_path / "aside" / "cfgmigrate.yaml").rename(tmp_path / "one" / "cfgmigrate.yaml")
    with pytest.raises(Refused, match="what the site file says is something else"):
        api.install(packet.folder, accept_unknown=LIGHTS)


def test_a_wrong_line_in_a_site_file_is_named_by_its_place(packet: Packet, tmp_path: Path) -> None:
    laid(tmp_path / "one", {"cfgmigrate.yaml": "site: 1\nwords: {up: z}\n"})
    with pytest.raises(Refused) as caught:
        api.install(packet.folder, accept_unknown=LIGHTS)
    said = str(caught.value)
    assert "cfgmigrate.yaml:2:" in said and "'up' is understood already" in said
    assert "no configuration" not in said


def test_a_note_and_a_picture_are_no_matter(packet: Packet, tmp_path: Path) -> None:
    (tmp_path / "one" / "notes.txt").write_text("The rods want grease, and the belt was new in March!\n")
    (tmp_path / "one" / "frame.jpg").write_bytes(b"\0\1\2")
    assert api.install(packet.folder, accept_unknown=LIGHTS).written


def test_nothing_is_read_again_where_nothing_came(packet: Packet, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cfgmigrate.workflow.placed._read_otherwise", lambda *_: pytest.fail("read again"))
    assert api.install(packet.folder, accept_unknown=LIGHTS).written


def test_another_root_is_compared_in_full_whoever_made_the_packet(packet: Packet, tmp_path: Path) -> None:
    two = laid(tmp_path / "two", {"feed.conf": FEED, "qualities/soft.conf": PROFILE})
    with pytest.raises(Refused, match=r"qualities/soft\.conf: in this configuration it is"):
        api.install(packet.folder, two, accept_unknown=LIGHTS)
    same = laid(tmp_path / "three", {"feed.conf": FEED})
    assert api.install(packet.folder, same, accept_unknown=LIGHTS).written


def test_beside_files_that_were_named_others_are_no_matter(tmp_path: Path) -> None:
    (tmp_path / "swap.yaml").write_text(SHEET)
    folder = laid(tmp_path / "one", {"feed.conf": FEED, "soft.conf": PROFILE})
    packet = api.prepare(folder / "feed.conf", tmp_path / "swap.yaml", out=tmp_path / "packet")
    made = made_a_moment_ago(packet)
    assert made is not None and made.standing == PART_OF_IT
    assert api.install(packet.folder, accept_unknown=LIGHTS).written
