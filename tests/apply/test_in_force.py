"""What was asked of hands, from the install until it is done, and until it is undone again."""

from __future__ import annotations

import shutil
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from cfgmigrate.apply.in_force import InForce, in_force, tick
from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.packet.folder import Packet
from cfgmigrate.store.entries import DONE, HistoryEntry
from cfgmigrate.store.history import history

SCREW = "turn the current screw"


def hands(config: Path) -> tuple[list[str], list[str], list[str]]:
    """What is open, what was done and stands, and what is to be undone."""
    found = in_force(config)
    done = [item.what for item in found.by_hand if item.done and not item.undo]
    return [item.what for item in found.open], done, [item.what for item in found.to_undo]


def test_what_was_never_done_goes_with_its_packet(packet: Packet, config: Path) -> None:
    assert hands(config) == ([], [], [])
    install(packet.folder)
    assert hands(config) == ([SCREW], [], [])
    revert(packet.folder)
    assert hands(config) == ([], [], [])
    assert in_force(config).entries == ()


def test_what_was_taken_back_and_installed_again_is_asked_once(packet: Packet, config: Path) -> None:
    for _ in range(2):
        install(packet.folder)
        revert(packet.folder)
    install(packet.folder)
    assert hands(config) == ([SCREW], [], [])
    assert [entry.number for entry in in_force(config).entries] == [5]


@pytest.mark.parametrize("name", ["1", SCREW])
def test_what_was_done_is_to_be_undone_where_its_packet_goes_and_is_asked_anew_where_it_comes_again(
    packet: Packet, config: Path, name: str
) -> None:
    install(packet.folder)
    assert not tick(config, name).done
    assert hands(config) == ([], [SCREW], [])
    revert(packet.folder)
    assert hands(config) == ([], [], [SCREW])
    tick(config, name)
    assert hands(config) == ([], [], [])
    install(packet.folder)
    assert hands(config) == ([SCREW], [], [])
    assert [entry.number for entry in in_force(config).entries] == [len(history(config))]


def test_what_was_done_and_not_undone_is_asked_anew_and_not_to_be_undone_where_its_packet_comes_again(
    packet: Packet, config: Path
) -> None:
    install(packet.folder)
    tick(config, "1")
    revert(packet.folder)
    install(packet.folder)
    assert hands(config) == ([SCREW], [], [])


@pytest.mark.parametrize("ticked", [False, True])
def test_what_a_later_packet_asks_anew_takes_the_place_of_what_was_never_done(
    config: Path, tmp_path: Path, kit: SimpleNamespace, ticked: bool
) -> None:
    changes = [
        kit.move(kit.FILES, "lag.coefficient", "flow.conf", b"lag.coefficient <0.55>", "0.04"),
        kit.move(kit.FILES, "retraction.length", "flow.conf", b"retract.length=<5.4>", "0.6"),
    ]
    install(kit.pack(tmp_path / "one", kit.FILES, changes[:1], str(config)).folder)
    if ticked:
        tick(config, "1")
    files = {**kit.FILES, "flow.conf": (config / "flow.conf").read_bytes()}
    install(
        kit.pack(
            tmp_path / "two",
            files,
            [kit.move(files, "retraction.length", "flow.conf", b"retract.length=<5.4>", "0.6")],
            str(config),
        ).folder
    )
    still, done, undo = hands(config)
    assert len(still) == 1 and still[0].startswith(SCREW) and not undo
    assert done == ([SCREW] if ticked else [])
    assert ("install 1 asked for it too, and that was never ticked" in still[0]) is not ticked


def test_what_is_ticked_twice_is_noted_once(packet: Packet, config: Path) -> None:
    install(packet.folder)
    assert [tick(config, "1").done for _ in range(2)] == [False, True]
    assert [entry.kind for entry in history(config)] == ["install", DONE]


def test_what_nobody_asked_for_can_t_be_ticked(packet: Packet, config: Path) -> None:
    with pytest.raises(BadInput, match="Nothing was asked of hands"):
        tick(config, "1")
    install(packet.folder)
    for name in ("0", "2", "turn"):
        with pytest.raises(BadInput, match=f"There are: 1 {SCREW}"):
            tick(config, name)
    assert len(history(config)) == 1


def test_what_was_edited_since_stands_and_what_was_taken_back_in_part_stands_in_part(
    config: Path, tmp_path: Path, kit: SimpleNamespace
) -> None:
    change = kit.move(kit.FILES, "lag.coefficient", "flow.conf", b"lag.coefficient <0.55>", "0.04")
    other = kit.move(kit.FILES, "retraction.length", "flow.conf", b"retract.length=<5.4>", "0.6")
    made = kit.pack(tmp_path / "two", kit.FILES, [change, other], str(config))
    install(made.folder)
    flow = config / "flow.conf"
    flow.write_bytes(made.after["flow.conf"].replace(b"0.04", b"0.05").replace(b"=0.6", b"=0.7"))
    found = in_force(config)
    (entry,) = found.entries
    assert found.values(entry) == 2, "a number edited since is no number taken back"
    assert {change["id"] for change in found.changes} == {"lag.coefficient", "retraction.length"}
    flow.write_bytes(made.after["flow.conf"])
    revert(made.folder, only=["lag.coefficient"])
    found = in_force(config)
    assert found.entries == (entry,) and found.values(entry) == 1
    assert [change["id"] for change in found.changes] == ["retraction.length"]
    revert(made.folder)
    assert in_force(config).entries == ()


@pytest.mark.parametrize("at", ["put_in", "write_new"])
def test_what_was_interrupted_is_put_in_order_before_a_tick(
    packet: Packet,
    config: Path,
    tmp_path: Path,
    kit: SimpleNamespace,
    monkeypatch: pytest.MonkeyPatch,
    at: str,
) -> None:
    install(packet.folder)
    files = kit.on_disk(config)
    change = kit.move(files, "lag.coefficient", "flow.conf", b"lag.coefficient <0.04>", "0.05")
    tuned = kit.pack(tmp_path / "tuned", files, [change], str(config))

    def die(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(f"cfgmigrate.store.transaction.{at}", die)
        patch.setattr("cfgmigrate.store.transaction.undo", die)
        with pytest.raises(KeyboardInterrupt):
            install(tuned.folder, kind="tune")
    tick(config, "1")
    finished = at == "put_in"
    assert kit.on_disk(config) == (dict(tuned.after) if finished else files)
    kinds = ["install", "tune", DONE] if finished else ["install", DONE]
    assert [entry.kind for entry in history(config)] == kinds
    assert not list(config.rglob(".cfgmigrate-*"))


def test_a_step_whose_copies_are_gone_is_passed_over(packet: Packet, config: Path) -> None:
    install(packet.folder)
    shutil.rmtree(config / ".cfgmigrate" / "kept")
    assert in_force(config).entries == () and in_force(config).by_hand == ()


def test_a_step_stands_by_its_other_files_where_one_is_gone(packet: Packet, config: Path) -> None:
    install(packet.folder)
    (config / "flow.conf").unlink()
    assert [entry.number for entry in in_force(config).entries] == [1]


def test_the_lights_of_a_step_that_was_taken_back_in_part_are_no_longer_told() -> None:
    def entry(number: int, light: str, state: str) -> HistoryEntry:
        told = {"lights": [{"light": light, "holder": "machine", "state": state, "why": ""}]}
        return HistoryEntry(number, "install", "", f"p{number}", "Wren", (), (), "", reasons=told)

    steps = (entry(1, "feed", "set"), entry(2, "height", "set"), entry(3, "feed", "by hand"))
    assert [each["state"] for each in InForce(steps, ()).lights] == ["by hand", "set"]
    kept = {3: frozenset({("feed.conf", "feeder.steps_per_mm")})}
    assert [each["state"] for each in InForce(steps, (), kept).lights] == ["set", "set"]


@pytest.mark.parametrize(("gone", "lost"), [((1,), ()), ((2,), ("new.conf",)), ((1, 2), ("new.conf",))])
def test_a_value_is_lost_where_the_last_entry_that_moved_it_left_it(
    gone: tuple[int, ...], lost: tuple[str, ...]
) -> None:
    files = {1: "old.conf", 2: "new.conf"}
    moved: dict[str, Any] = {"changes": [{"id": "lag.coefficient", "quantity": "lag.coefficient"}]}
    steps = tuple(
        HistoryEntry(at, "install", "", f"p{at}", "Wren", (), (), "", reasons=moved) for at in files
    )
    names = {at: frozenset({(files[at], "lag.coefficient")}) for at in gone}
    assert tuple(file for _, file in InForce(steps, (), gone=names).lost) == lost


def test_a_value_that_was_taken_back_and_put_in_again_by_hand_stands_like_the_others(
    config: Path, tmp_path: Path, kit: SimpleNamespace
) -> None:
    change = kit.move(kit.FILES, "lag.coefficient", "flow.conf", b"lag.coefficient <0.55>", "0.04")
    other = kit.move(kit.FILES, "retraction.length", "flow.conf", b"retract.length=<5.4>", "0.6")
    made = kit.pack(tmp_path / "two", kit.FILES, [change, other], str(config))
    install(made.folder)
    revert(made.folder, only=["lag.coefficient"])
    assert in_force(config).kept == {1: {("flow.conf", "retraction.length")}}
    (config / "flow.conf").write_bytes(made.after["flow.conf"])
    assert in_force(config).kept == {} and len(in_force(config).entries) == 1
    assert in_force(config).gone == {1: frozenset()}
    (config / "flow.conf").write_bytes(made.after["flow.conf"].replace(b"retract.length", b"length"))
    assert in_force(config).gone == {1: {("flow.conf", "retraction.length")}}
