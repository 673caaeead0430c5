"""What was asked of hands, from the install until it is done, and until it is undone again."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.apply.in_force import in_force, tick
from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.packet.folder import Packet
from cfgmigrate.store.history import DONE, history

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
