"""Installing puts in exactly the planned values, and refuses whenever something is not as it was."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace

from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.plan.model import Light
from cfgmigrate.store.history import history


def test_the_files_hold_the_planned_bytes_after_an_install(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    report = install(packet.folder)
    assert kit.on_disk(config) == dict(packet.after)
    assert report.written and report.entry == 1
    assert report.files == ("feeder.ini", "flow.conf", "parts/axes.ini")


def test_install_and_revert_give_the_original_bytes(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    install(packet.folder)
    report = revert(packet.folder)
    assert kit.on_disk(config) == dict(packet.before)
    assert report.written and not report.left and not report.kept
    assert {item.name for item in report.restored} == {change.quantity for change in packet.plan.changes}


def test_nothing_but_the_three_files_and_our_own_folder_is_left_behind(packet: Packet, config: Path) -> None:
    install(packet.folder)
    assert sorted(path.name for path in config.iterdir()) == [
        ".cfgmigrate",
        "feeder.ini",
        "flow.conf",
        "parts",
    ]
    assert sorted(path.name for path in (config / ".cfgmigrate").iterdir()) == [
        "history.jsonl",
        "kept",
        "lock",
    ]


def test_a_dry_run_writes_nothing_at_all(packet: Packet, config: Path, kit: SimpleNamespace) -> None:
    report = install(packet.folder, dry_run=True)
    assert not report.written and report.files
    assert kit.on_disk(config) == dict(packet.before)
    assert not (config / ".cfgmigrate").exists()


def test_who_else_names_an_edited_file_is_told_with_the_install_too(packet: Packet, config: Path) -> None:
    (config / "hall").mkdir()
    (config / "hall" / "hall.txt").write_text("a = 1\nflow = ../flow.conf\n")
    (told,) = install(packet, dry_run=True).notes
    assert "flow.conf is named at hall/hall.txt:2" in told
    assert install(packet).notes == (told,)


def test_one_file_by_two_names_is_not_written_twice(tmp_path: Path, kit: SimpleNamespace) -> None:
    """The second writing would take the first for somebody's edit, or undo it."""
    files = dict.fromkeys(("flow.conf", "feed.conf"), b"retract.length=5.4\n")
    moves = [
        kit.move(files, f"retraction.{name}", f"{file}.conf", b"retract.length=<5.4>", "0.6")
        for name, file in (("length", "flow"), ("speed", "feed"))
    ]
    config = kit.lay_out(tmp_path / "config", files)
    packet = kit.pack(tmp_path / "packet", files, moves, str(config))
    (config / "feed.conf").unlink()
    (config / "feed.conf").symlink_to("flow.conf")
    with pytest.raises(Refused, match=r"the same file as (flow|feed)\.conf"):
        install(packet.folder)
    assert (config / "flow.conf").read_bytes() == files["flow.conf"]


def test_a_second_install_says_that_all_is_there_already(packet: Packet, config: Path) -> None:
    install(packet.folder)
    again = install(packet.folder)
    assert again.already and not again.written


def test_another_root_can_be_said(packet: Packet, config: Path, tmp_path: Path, kit: SimpleNamespace) -> None:
    config.rename(tmp_path / "moved")
    with pytest.raises(BadInput, match="not there"):
        install(packet.folder)
    install(packet.folder, tmp_path / "moved")
    assert kit.on_disk(tmp_path / "moved") == dict(packet.after)


@pytest.mark.parametrize("path", ["feeder.ini", "parts/axes.ini", "flow.conf"])
def test_a_file_changed_since_is_refused_and_named(
    packet: Packet, config: Path, path: str, kit: SimpleNamespace
) -> None:
    with (config / path).open("ab") as file:
        file.write(b"\n# one more line\n")
    as_it_was = kit.on_disk(config)
    with pytest.raises(Refused, match=f"{path}: the file is no longer what was read"):
        install(packet.folder)
    assert kit.on_disk(config) == as_it_was
    assert not (config / ".cfgmigrate").exists()


def test_a_file_removed_since_is_refused_and_named(packet: Packet, config: Path) -> None:
    (config / "flow.conf").unlink()
    with pytest.raises(Refused, match=r"flow\.conf: the file is no longer there"):
        install(packet.folder)


def test_mode_owner_and_extended_attributes_are_kept(packet: Packet, config: Path) -> None:
    file = config / "flow.conf"
    file.chmod(0o640)
    os.chown(file, 1234, 2345)
    try:
        os.setxattr(file, "user.ring", b"heron 7")
    except OSError:
        pytest.skip("this file system has no extended attributes")
    install(packet.folder)
    found = file.stat()
    assert stat.S_IMODE(found.st_mode) == 0o640
    assert (found.st_uid, found.st_gid) == (1234, 2345)
    assert os.getxattr(file, "user.ring") == b"heron 7"


def test_a_symbolic_link_is_followed_and_kept(packet: Packet, config: Path) -> None:
    (config / "real").mkdir()
    (config / "flow.conf").rename(config / "real" / "flow.txt")
    (config / "flow.conf").symlink_to("real/flow.txt")
    install(packet.folder)
    assert (config / "flow.conf").is_symlink()
    assert (config / "real" / "flow.txt").read_bytes() == packet.after["flow.conf"]


def test_a_symbolic_link_out_of_the_root_is_refused(packet: Packet, config: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside.conf"
    (config / "flow.conf").rename(outside)
    (config / "flow.conf").symlink_to(outside)
    with pytest.raises(Refused, match="leads out of the configuration's folder"):
        install(packet.folder)
    assert outside.read_bytes() == packet.before["flow.conf"]


def test_hard_links_are_reported(packet: Packet, config: Path, tmp_path: Path) -> None:
    os.link(config / "flow.conf", tmp_path / "second name")
    report = install(packet.folder)
    assert any("flow.conf" in note and "2 names" in note for note in report.notes)
    assert (tmp_path / "second name").read_bytes() == packet.before["flow.conf"]


def test_a_read_only_file_is_refused(packet: Packet, config: Path, kit: SimpleNamespace) -> None:
    (config / "flow.conf").chmod(0o444)
    with pytest.raises(Refused, match=r"flow\.conf: the file is read-only"):
        install(packet.folder)
    assert kit.on_disk(config) == dict(packet.before)


def test_a_pipe_in_place_of_a_file_is_refused(packet: Packet, config: Path) -> None:
    (config / "flow.conf").unlink()
    os.mkfifo(config / "flow.conf")
    with pytest.raises(Refused, match="not an ordinary file"):
        install(packet.folder)


def test_an_unknown_light_stops_an_install_until_it_is_accepted_by_name(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    light = Light("feed", "feeder 2", UNKNOWN, "steps stay old", ("tell me the motor's step angle",))
    dark = replace(packet, plan=replace(packet.plan, lights=(light,)))
    with pytest.raises(Refused, match="tell me the motor's step angle") as caught:
        install(dark)
    assert '--accept-unknown "feed @ feeder 2"' in caught.value.remedy
    assert kit.on_disk(config) == dict(packet.before)
    with pytest.raises(BadInput, match="no light that is unknown") as said:
        install(dark, accept_unknown=["feed"])
    assert "'feed @ feeder 2'" in said.value.remedy
    assert install(dark, accept_unknown=[" Feed @  FEEDER 2"]).written
    assert '"accepted_unknown": ["feed @ feeder 2"]' in (config / ".cfgmigrate" / "history.jsonl").read_text()


def test_what_was_taken_on_is_on_the_record_and_nothing_else(packet: Packet, config: Path) -> None:
    install(packet.folder, unproven=["its rules are somebody's own"])
    (entry,) = history(config).entries
    reasons = entry.reasons or {}
    assert reasons["accepted_unproven"] == ["its rules are somebody's own"]
    assert "accepted_unknown" not in reasons


def test_what_was_not_taken_on_is_not_on_the_record(packet: Packet, config: Path) -> None:
    install(packet.folder)
    (entry,) = history(config).entries
    assert not {"accepted_unproven", "accepted_unknown", "held"} & set(entry.reasons or {})


def test_a_dry_run_finishes_nothing_that_was_interrupted(
    packet: Packet, config: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Killed(BaseException):
        pass

    def die(*_: object) -> None:
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr("cfgmigrate.store.transaction.put_in", die)
        patch.setattr("cfgmigrate.store.transaction.undo", die)
        with pytest.raises(Killed):
            install(packet.folder)
    untouched = {path: path.read_bytes() for path in config.rglob("*") if path.is_file()}
    with pytest.raises(Refused, match="waits to be finished"):
        install(packet.folder, dry_run=True)
    assert {path: path.read_bytes() for path in config.rglob("*") if path.is_file()} == untouched
    assert install(packet.folder).recovered


@pytest.mark.parametrize("act", [install, revert])
def test_what_was_undone_first_is_told_by_what_is_done_after_it(
    packet: Packet, config: Path, monkeypatch: pytest.MonkeyPatch, act: Callable[[Path], Any]
) -> None:
    if act is revert:
        install(packet.folder)

    def die(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("cfgmigrate.store.transaction.write_new", die)
        patch.setattr("cfgmigrate.store.transaction.undo", die)
        with pytest.raises(KeyboardInterrupt):
            act(packet.folder)
    report = act(packet.folder)
    assert report.written and report.recovered is not None
    assert report.recovered.outcome == "undone" and report.recovered.kind == act.__name__
