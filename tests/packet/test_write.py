"""Writing a packet: whole or not at all, over nothing else, and what a stopped one left is put right by the next."""

from __future__ import annotations

import errno
import os
import shutil
from pathlib import Path
from types import SimpleNamespace

import pytest
from packetbench import Changes, members

from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.packet.folder import Contents, Packet, aside
from cfgmigrate.packet.opening import read_packet, verify_hashes
from cfgmigrate.packet.write import write_packet


def test_a_folder_with_something_else_in_it_is_not_written_to(
    wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "thesis.txt").write_text("ten years of work")
    with pytest.raises(Refused, match="not empty and holds no packet"):
        kit.pack(tmp_path / "out", kit.FILES, wren_changes)
    assert members(tmp_path) == ["out/thesis.txt"]


def test_an_empty_folder_is_used(wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace) -> None:
    (tmp_path / "out").mkdir()
    kit.pack(tmp_path / "out", kit.FILES, wren_changes)
    assert verify_hashes(tmp_path / "out") == ()


def test_a_file_or_a_link_in_the_way_is_refused(
    wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    (tmp_path / "file").write_text("x")
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere")
    for name in ("file", "link"):
        with pytest.raises(Refused, match="in the way"):
            kit.pack(tmp_path / name, kit.FILES, wren_changes)


def test_what_the_disk_does_not_take_is_refused(packet: Packet, tmp_path: Path, kit: SimpleNamespace) -> None:
    """A file stands where a folder above the packet would."""
    (tmp_path / "file").write_text("x")
    with pytest.raises(Refused, match=r"(?s)can't be written.*Nothing was changed"):
        kit.pack(tmp_path / "file" / "packet", kit.FILES, packet.plan.changes)


def test_an_identical_packet_is_written_again_and_keeps_its_review(
    reviewed: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    handles = len(list(Path("/dev/fd").glob("*")))
    again = kit.pack(reviewed.folder, kit.FILES, wren_changes, str(config))
    assert len(list(Path("/dev/fd").glob("*"))) == handles, "the desk prepares without end"
    assert again.review == reviewed.review is not None
    assert again.hash == reviewed.hash
    assert not [path for path in reviewed.folder.parent.iterdir() if path.name.startswith(".")]


@pytest.mark.parametrize("exchanged", [True, False])
def test_another_packet_in_the_way_is_refused_unless_it_may_be_replaced(
    packet: Packet,
    wren_changes: Changes,
    kit: SimpleNamespace,
    config: Path,
    monkeypatch: pytest.MonkeyPatch,
    exchanged: bool,
) -> None:
    """Also where the system can't let two folders change names."""
    if not exchanged:
        monkeypatch.setattr("cfgmigrate.packet.write.exchange", lambda one, other: False)
    with pytest.raises(Refused, match="may be the way back"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config))
    assert read_packet(packet.folder) == packet
    replaced = kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    assert replaced.hash != packet.hash
    assert verify_hashes(packet.folder) == ()
    assert [path for path in packet.folder.parent.iterdir() if path.name.startswith(".")] == []


def test_what_somebody_laid_into_a_packet_stays_when_it_is_prepared_again(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    laid = {"notes.txt": b"of the day", "photos/of/may/1.jpg": b"jpg", "signed/of.yaml": b"a record"}
    for name, data in laid.items():
        (packet.folder / name).parent.mkdir(parents=True, exist_ok=True)
        (packet.folder / name).write_bytes(data)
    kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    assert {name: (packet.folder / name).read_bytes() for name in laid} == laid
    assert not {path.name for path in packet.folder.parent.iterdir()} & {".packet"}


def test_a_file_of_somebodys_is_not_written_over_by_a_new_packets_own(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    (packet.folder / "mine.html").write_bytes(b"mine")
    whole = {path: path.read_bytes() for path in packet.folder.rglob("*") if path.is_file()}
    contents = Contents(
        packet.plan, packet.before, packet.after, packet.sheet, packet.names, dict(packet.rules)
    )
    with pytest.raises(Refused, match="has the name of one of the new packet's"):
        write_packet(packet.folder, contents, {"mine.html": "new"}, packet.preparer)
    assert {path: path.read_bytes() for path in packet.folder.rglob("*") if path.is_file()} == whole


@pytest.mark.parametrize(
    "name",
    ["after/flow.conf", "sheet.yaml", "forward.patch", "review.yaml", "changes.json", "more/page.html"],
)
def test_a_page_never_takes_the_place_of_what_was_put_in_or_comes_out(
    packet: Packet, tmp_path: Path, name: str
) -> None:
    contents = Contents(
        packet.plan, packet.before, packet.after, packet.sheet, packet.names, dict(packet.rules)
    )
    with pytest.raises(ValueError, match="no name for a page"):
        write_packet(tmp_path / "new", contents, {name: "a"}, packet.preparer)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("alike", [True, False])
def test_a_packet_never_takes_the_place_of_another_machines(
    alike: bool, packet: Packet, wren_changes: Changes, kit: SimpleNamespace, tmp_path: Path
) -> None:
    """Though all files are the same: its review and its install are that machine's."""
    other = tmp_path / "other"
    other.mkdir()
    with pytest.raises(Refused, match="is another machine's"):
        kit.pack(
            packet.folder, kit.FILES, wren_changes if alike else wren_changes[:-1], str(other), replace=True
        )
    assert read_packet(packet.folder) == packet


def test_an_installed_packet_is_never_replaced_until_it_was_taken_back(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    install(packet.folder)
    flow = config / "flow.conf"
    flow.write_bytes(flow.read_bytes() + b"# nets\n")
    with pytest.raises(Refused, match="is installed, and is the way back"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    revert(packet.folder, only=["retraction.length", "lag.coefficient"])
    with pytest.raises(Refused, match="is installed, and is the way back"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    assert read_packet(packet.folder) == packet
    revert(packet.folder)
    assert (
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True).hash != packet.hash
    )


def test_a_packet_whose_configuration_is_not_there_may_be_installed_elsewhere_and_stays(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    config.rename(config.with_name("moved"))
    with pytest.raises(Refused, match="can't be told whether the packet in the way is installed"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config), replace=True)
    assert read_packet(packet.folder) == packet


def test_a_replacing_that_was_stopped_in_the_middle_is_undone_by_the_next_one(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    """Only where the system can't let two folders change names is there a middle."""
    packet.folder.rename(aside(packet.folder))
    with pytest.raises(BadInput, match=r"(?s)no such folder.*rename .*\.packet\.replaced"):
        install(packet.folder)
    with pytest.raises(Refused, match="another packet is in the way"):
        kit.pack(packet.folder, kit.FILES, wren_changes[:-1], str(config))
    assert read_packet(packet.folder) == packet
    assert not aside(packet.folder).exists()


def test_where_a_stopped_replacing_cannot_be_undone_it_is_said_how_and_nothing_is_written(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The packet that waits aside may be the only way back of an install."""
    packet.folder.rename(aside(packet.folder))
    renames = Path.rename

    def refused(path: Path, to: Path) -> Path:
        if path == aside(packet.folder):
            raise PermissionError(errno.EACCES, "Permission denied")
        return renames(path, to)

    monkeypatch.setattr(Path, "rename", refused)
    with pytest.raises(Refused, match=rf"(?s)can't be undone.*Rename it to {packet.folder.name} by hand"):
        kit.pack(packet.folder, kit.FILES, wren_changes, str(config))
    assert not packet.folder.exists()
    monkeypatch.undo()
    assert read_packet(aside(packet.folder)).hash == packet.hash


def test_what_a_stopped_replacing_left_beside_the_new_packet_is_cleared_up_by_the_next_one(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    shutil.copytree(packet.folder, aside(packet.folder))
    kit.pack(packet.folder, kit.FILES, wren_changes, str(config))
    assert read_packet(packet.folder) == packet
    assert not aside(packet.folder).exists()


@pytest.mark.skipif(os.name != "posix", reason="nothing tells there whether the run still lives")
def test_what_a_killed_run_left_half_written_beside_is_cleared_up_by_the_next_one(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    import fcntl

    left, living, somebodys, named = (
        packet.folder.parent / f".packet-{end}" for end in ("ab12_cd3", "living_1", "notes_of", "mine")
    )
    for each in (left, living, somebodys, named):
        (each / "packet").mkdir(parents=True)
        (each / "packet" / "half").write_text("a")
    (somebodys / "notes.txt").write_text("a")
    handle = os.open(living, os.O_RDONLY)
    fcntl.flock(handle, fcntl.LOCK_EX)  # as a run does that is not done yet
    kit.pack(packet.folder, kit.FILES, wren_changes, str(config))
    os.close(handle)
    hidden = {each.name for each in packet.folder.parent.glob(".packet-*")}
    assert hidden == {living.name, somebodys.name, named.name}


def test_a_packet_makes_the_folders_above_it(
    wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    kit.pack(tmp_path / "a" / "b" / "packet", kit.FILES, wren_changes)
    assert verify_hashes(tmp_path / "a" / "b" / "packet") == ()


def test_file_names_with_blanks_quotes_and_letters_of_any_script_travel(
    tmp_path: Path, kit: SimpleNamespace
) -> None:
    name = "ring hut/m\u00f6we \u9ce5 'a' \"b\".ini"
    files = {name: b"[feeder]\nmm_per_turn: 22.9\n"}
    root = kit.lay_out(tmp_path / "config", files)
    change = kit.move(files, "feeder.feed_per_turn", name, b"mm_per_turn: <22.9>", "4.15")
    packet = kit.pack(tmp_path / "packet", files, [change], str(root))
    install(packet.folder)
    assert kit.on_disk(root) == {name: b"[feeder]\nmm_per_turn: 4.15\n"}
    revert(packet.folder)
    assert kit.on_disk(root) == files
