"""A file that may hold what the board keeps and prefers is asked about, and is no kept copy in silence."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.roles import Role
from cfgmigrate.files.telling import roles_by
from cfgmigrate.ground.findings import Refused

FEED = "[feeder]\nmm per turn = 21.4\ngear ratio = 3:1\nrun current = 0.8 A\n[retraction]\nlength = 5.5\n"
PART = "[feeder]\nmm per turn = {}\nrun current = 0.8 A\n"
REMARK = "# {}\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, drive_gear: {effective_diameter: 8 mm, gear_ratio: "50:9"}, tube: {length: 40 mm}}
"""


def opened(folder: Path, files: dict[str, str]):
    for path, text in {"feed.conf": FEED, **files}.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text)
    return open_configuration([folder]).roles


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("saved.conf", PART.format("33")),
        ("saved_values.conf", PART.format("33")),
        ("saved.conf", "[feeder]\nmm per turn = 21.4\n"),
        ("saved.conf", REMARK.format("written by the board when values are kept") + FEED),
        ("feed_saved.conf", REMARK.format("The board writes this, hands off") + FEED),
        ("saved/feed.conf", REMARK.format("kept up to date by the controller") + FEED),
    ],
)
def test_what_the_board_may_keep_is_asked_about(tmp_path: Path, path: str, text: str) -> None:
    roles = opened(tmp_path, {path: text})
    (question,) = roles.questions
    assert question.text.startswith(path)
    assert roles_by(question, 1) == {path: Role.SAVED}
    assert roles_by(question, 0) == {path: Role.COPY}


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("saved.conf", FEED),
        ("feed_saved.conf", FEED.replace("21.4", "22")),
        ("feed.conf.save", FEED.replace("21.4", "22")),
        ("saved_old.conf", PART.format("33")),
        ("axes_saved.conf", FEED.replace("21.4", "22")),
        ("saved_2.conf", FEED.replace("21.4", "22")),
        ("saved/2024-03-09/feed.conf", FEED.replace("21.4", "22")),
        ("feed_old.conf", REMARK.format("written by the board when values are kept") + FEED),
    ],
)
def test_a_plain_copy_is_not(tmp_path: Path, path: str, text: str) -> None:
    roles = opened(tmp_path, {path: text})
    assert (roles.role(path), roles.questions) == (Role.COPY, ())


def test_a_copy_of_what_the_board_writes_says_so_too(tmp_path: Path) -> None:
    remark = REMARK.format("written by the board when values are kept")
    roles = opened(tmp_path, {"feed.conf": remark + FEED, "feed_saved.conf": remark + FEED})
    assert (roles.role("feed_saved.conf"), roles.questions) == (Role.COPY, ())


def test_nothing_is_prepared_before_it_is_said_and_then_neither_stays_old_in_silence(tmp_path: Path) -> None:
    folder, sheet = tmp_path / "a", tmp_path / "swap.yaml"
    sheet.write_text(SHEET)
    opened(folder, {"saved.conf": PART.format("33")})
    with pytest.raises(Refused, match="is called saved") as caught:
        api.prepare(folder, sheet, out=tmp_path / "packet")
    for role in (Role.SAVED, Role.COPY):
        assert f"roles: {{saved.conf: {role}}}" in caught.value.remedy
    (folder / "cfgmigrate.yaml").write_text("site: 1\nroles: {saved.conf: saved values}\n")
    packet = api.prepare(folder, sheet, out=tmp_path / "packet")
    assert "mm per turn = 21.4\n" not in packet.after["feed.conf"].decode()
    (item,) = [item for item in packet.plan.by_hand if item.rule == "files.at_console"]
    assert any("saved.conf:2" in step for step in item.steps)
