"""Every file can come back to the letter, edits by hand and all, in one step; and what was edited is not lost."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.apply.going_back import Unanswered
from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert, revert_to
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.model import Change
from cfgmigrate.store.history import history

ONLY_READ = "parts/axes.ini"


@pytest.fixture
def packet(tmp_path: Path, config: Path, kit: SimpleNamespace, wren_changes: tuple[Change, ...]) -> Packet:
    """A packet that reads one file and changes the others."""
    changes = [each for each in wren_changes if all(edit.file != ONLY_READ for edit in each.edits)]
    return kit.pack(tmp_path / "packet", kit.FILES, tuple(changes), str(config))


@pytest.fixture
def edited(packet: Packet, config: Path) -> dict[str, bytes]:
    """Installed, and then edited by hand: a changed value, a line beside it, and a file that the packet only read."""
    install(packet.folder)
    edits = {
        "feeder.ini": (b"run current: 0.45", b"run current: 0.5"),
        "flow.conf": (b"retract.speed=45", b"retract.speed=30"),
    }
    for path, (old, new) in edits.items():
        data = (config / path).read_bytes()
        assert old in data
        (config / path).write_bytes(data.replace(old, new))
    (config / ONLY_READ).write_bytes(packet.before[ONLY_READ] + b"\n# by hand\n")
    return {path: (config / path).read_bytes() for path in packet.before}


def contents(config: Path, packet: Packet) -> dict[str, bytes]:
    return {path: (config / path).read_bytes() for path in packet.before}


@pytest.mark.parametrize("by", ["packet", "history"])
def test_every_file_comes_back_to_the_letter_and_the_edits_are_kept_beside(
    packet: Packet, config: Path, edited: dict[str, bytes], by: str
) -> None:
    way = (packet.folder,) if by == "packet" else (config, "start")
    report = (revert if by == "packet" else revert_to)(*way, whole=True)
    assert contents(config, packet) == packet.before
    changed = {path: data for path, data in edited.items() if data != packet.before[path]}
    assert {path: (config / report.beside / path).read_bytes() for path in changed} == changed
    told = {item.file: (item.installed, item.present) for item in report.taken_out}
    assert told["flow.conf"] == ("retract.speed=45\n", "retract.speed=30\n")
    assert told[ONLY_READ][1] == told[ONLY_READ][0] + "\n# by hand\n" and not report.conflicts
    assert [entry.kind for entry in history(config)] == ["install", "revert"] and history(config).whole


def test_after_it_nothing_of_the_packet_stands_any_more(
    packet: Packet, config: Path, edited: dict[str, bytes]
) -> None:
    revert(packet.folder, whole=True)
    again = revert(packet.folder)
    assert not again.restored and not again.written
    assert install(packet.folder).written


def test_it_is_on_the_record_with_each_value_that_went_back_from_what_stood_there(
    packet: Packet, config: Path, edited: dict[str, bytes]
) -> None:
    revert(packet.folder, whole=True)
    installed, back = history(config)
    first = {(name, old) for name, old, _ in installed.values}
    assert back.values and {(name, new) for name, _, new in back.values} <= first
    assert ("motor.run_current", "0.5") in {(name, old) for name, old, _ in back.values}


def test_a_file_that_was_removed_since_is_there_again(packet: Packet, config: Path) -> None:
    """The values say so of the one that was changed; of the one that was only read it is said."""
    install(packet.folder)
    for path in ("flow.conf", ONLY_READ):
        (config / path).unlink()
    report = revert(packet.folder, whole=True)
    assert [(item.file, item.present) for item in report.taken_out] == [(ONLY_READ, None)]
    assert contents(config, packet) == packet.before


def test_a_file_that_was_renamed_since_gets_no_old_one_beside_it(packet: Packet, config: Path) -> None:
    install(packet.folder)
    (config / "flow.conf").rename(config / "stream.conf")
    for back in (lambda: revert(packet.folder, whole=True), lambda: revert_to(config, "start", whole=True)):
        with pytest.raises(Refused, match=r"stream\.conf is the same file under another name"):
            back()
    assert not (config / "flow.conf").exists()
    (config / "stream.conf").rename(config / "flow.conf")
    revert(packet.folder, whole=True)
    assert contents(config, packet) == packet.before


def test_one_that_was_edited_as_well_gets_none_either_and_an_old_copy_is_no_such_file(
    packet: Packet, config: Path
) -> None:
    install(packet.folder)
    left = (config / "flow.conf").read_bytes()
    (config / "flow.conf").unlink()
    (config / "stream.conf").write_bytes(left + b"\n# by hand\n")
    forced = [change.quantity for change in packet.plan.changes]
    for back in (lambda: revert(packet.folder, whole=True), lambda: revert(packet.folder, force=forced)):
        with pytest.raises(Refused, match=r"stream\.conf seems to be that file"):
            back()
    (config / "stream.conf").write_bytes(packet.before["flow.conf"])
    revert(packet.folder, whole=True)
    assert contents(config, packet) == packet.before


def test_lines_that_were_moved_into_a_new_file_get_no_old_ones_beside_them(
    packet: Packet, config: Path
) -> None:
    install(packet.folder)
    left = (config / "flow.conf").read_text()
    moved = "lag.coefficient 0.04\n"
    (config / "flow.conf").write_text(left.replace(moved, ""))
    (config / "more.conf").write_text(moved)
    with pytest.raises(Refused, match=r"'lag.coefficient 0\.04' stands at more\.conf:1"):
        revert(packet.folder, whole=True)
    (config / "flow.conf").write_text(left)
    assert "'lag.coefficient 0.04' stands at more.conf:1, too, and is left" in revert(packet.folder).notes


def test_a_dry_run_of_it_writes_nothing(packet: Packet, config: Path, edited: dict[str, bytes]) -> None:
    report = revert(packet.folder, whole=True, dry_run=True)
    assert report.taken_out and not report.written and contents(config, packet) == edited


def test_it_can_itself_be_looked_up_and_taken_further_back(
    packet: Packet, config: Path, edited: dict[str, bytes]
) -> None:
    """Where all stands as it was before, there is nothing to write."""
    revert(packet.folder, whole=True)
    assert not revert_to(config, "start", whole=True).written


def test_who_is_refused_is_told_of_it(packet: Packet, edited: dict[str, bytes]) -> None:
    with pytest.raises(Unanswered) as caught:
        revert(packet.folder)
    assert "--whole" in str(caught.value) or "--whole" in caught.value.remedy


def test_it_leaves_out_nothing(packet: Packet, edited: dict[str, bytes]) -> None:
    with pytest.raises(BadInput, match="gives back all there is"):
        revert(packet.folder, whole=True, keep=["motor.run_current"])


def test_edits_that_were_kept_beside_stay_though_the_history_begins_anew(
    packet: Packet, config: Path, edited: dict[str, bytes]
) -> None:
    first = revert(packet.folder, whole=True).beside
    before = {
        path: (config / first / path).read_bytes() for path in edited if (config / first / path).exists()
    }
    (config / ".cfgmigrate" / "history.jsonl").rename(config.parent / "history elsewhere")
    install(packet.folder)
    (config / ONLY_READ).write_bytes(b"# another day\n")
    second = revert(packet.folder, whole=True).beside
    assert second != first and (config / second / ONLY_READ).read_bytes() == b"# another day\n"
    assert {path: (config / first / path).read_bytes() for path in before} == before


def test_a_run_that_was_cut_off_leaves_a_folder_that_the_next_one_takes(
    packet: Packet, config: Path, edited: dict[str, bytes]
) -> None:
    left = config / ".cfgmigrate" / "edited-2"
    (left / ONLY_READ).parent.mkdir(parents=True)
    (left / ONLY_READ).write_bytes(edited[ONLY_READ])
    assert revert(packet.folder, whole=True).beside == ".cfgmigrate/edited-2"
    assert (left / "feeder.ini").read_bytes() == edited["feeder.ini"]


@pytest.mark.parametrize(
    "what", ["a link to a folder", "a link to nothing", "a file", "a folder with a link"]
)
def test_edits_are_kept_nowhere_but_in_a_folder_of_their_own(
    packet: Packet, config: Path, edited: dict[str, bytes], tmp_path: Path, what: str
) -> None:
    """A link in its place would lead them out of the configuration, and over somebody else's files."""
    elsewhere, place = tmp_path / "elsewhere", config / ".cfgmigrate" / "edited-2"
    elsewhere.mkdir()
    if what == "a file":
        place.write_bytes(b"a note")
    elif what == "a folder with a link":
        place.mkdir()
        (place / "parts").symlink_to(elsewhere)
    else:
        place.symlink_to(elsewhere if what == "a link to a folder" else tmp_path / "nowhere")
    report = revert(packet.folder, whole=True)
    assert contents(config, packet) == packet.before and report.beside == ".cfgmigrate/edited-2-2"
    assert (config / report.beside / ONLY_READ).read_bytes() == edited[ONLY_READ]
    assert not any(elsewhere.iterdir()) and not (tmp_path / "nowhere").exists()


def test_what_is_kept_beside_goes_again_where_the_disk_has_no_room_for_the_rest(
    packet: Packet, config: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half of the edits in a folder would look like all of them."""
    install(packet.folder)
    for path in packet.after:
        with (config / path).open("ab") as file:
            file.write(b"# by hand\n")
    present = {path: (config / path).read_bytes() for path in packet.after}
    kept = {path for path in (config / ".cfgmigrate").rglob("*") if path.name != "checked.json"}
    real, at = os.write, 0

    for at in range(1, 100):
        left = at

        def failing(handle: int, data: bytes) -> int:
            nonlocal left
            left -= 1
            if not left:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return real(handle, data)

        with monkeypatch.context() as patch:
            patch.setattr(os, "write", failing)
            try:
                revert(packet.folder, whole=True)
            except Refused:
                pass
            else:
                break
        assert {path: (config / path).read_bytes() for path in packet.after} == present
        assert set((config / ".cfgmigrate").rglob("*")) <= kept, at
    assert at > len(present)


def test_what_is_kept_beside_can_be_read_by_those_who_could_read_the_file(
    packet: Packet, config: Path
) -> None:
    config.chmod(0o775)
    install(packet.folder)
    for path in packet.after:
        (config / path).write_bytes((config / path).read_bytes() + b"# by hand\n")
        (config / path).chmod(0o640)
    old = os.umask(0o077)
    try:
        revert(packet.folder, whole=True)
    finally:
        os.umask(old)
    (beside,) = (config / ".cfgmigrate").glob("edited-*")
    for path in packet.after:
        assert stat.S_IMODE((beside / path).stat().st_mode) == 0o640
    assert stat.S_IMODE(beside.stat().st_mode) == 0o775
