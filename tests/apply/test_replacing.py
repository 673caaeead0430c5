"""A packet that is the way back, or may be, gives its place to no other; and it is said why."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cfgmigrate.apply.install import install
from cfgmigrate.apply.replacing import refuse_replacing
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import Refused
from cfgmigrate.packet.folder import Packet


def test_a_packet_gives_way_before_its_install_and_after_its_revert_and_not_in_between(
    packet: Packet, config: Path
) -> None:
    refuse_replacing(packet, str(config))
    install(packet.folder)
    with pytest.raises(Refused, match="installed, and is the way back"):
        refuse_replacing(packet, str(config))
    revert(packet.folder)
    refuse_replacing(packet, str(config))


@pytest.mark.parametrize("left", [b"", b"{}\n"], ids=["nothing", "a line"])
def test_where_a_history_is_broken_that_is_said_even_where_nothing_of_it_can_be_read(
    packet: Packet, config: Path, left: bytes
) -> None:
    install(packet.folder)
    (config / ".cfgmigrate" / "history.jsonl").write_bytes(left)
    with pytest.raises(Refused, match=r"can't be told .* its history is broken"):
        refuse_replacing(packet, str(config))


def test_where_a_configuration_is_not_there_that_is_said_with_its_place(packet: Packet, config: Path) -> None:
    install(packet.folder)
    config.rename(config.with_name("moved"))
    with pytest.raises(
        Refused, match=rf"can't be told .* there is no configuration at {re.escape(str(config))}"
    ):
        refuse_replacing(packet, str(config))
