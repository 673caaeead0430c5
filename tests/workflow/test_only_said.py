"""What a packet only says, of people, of a packet before it and of files of another machine, is told to be only said."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.packet.folder import Packet
from cfgmigrate.workflow.again import _rested_on_by_nothing
from cfgmigrate.workflow.only_said import of_before, of_preparer
from cfgmigrate.workflow.placed import _carried_from
from cfgmigrate.workflow.verify import verified

FEED = "[feeder]\nmm per turn = 21.4\ngear ratio = 3:1\n[retraction]\nlength = 5.5\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, drive_gear: {effective_diameter: 8 mm, gear_ratio: "50:9"}, tube: {length: 40 mm}}
"""


@pytest.fixture(scope="module")
def again(tmp_path_factory: pytest.TempPathFactory) -> Packet:
    """A packet that was prepared in the place of another one, which is kept beside it."""
    folder = tmp_path_factory.mktemp("again")
    (folder / "one").mkdir()
    (folder / "one" / "feed.conf").write_text(FEED)
    (folder / "swap.yaml").write_text(SHEET)
    api.prepare(folder / "one", folder / "swap.yaml", out=folder / "packet")
    shutil.copytree(folder / "packet", folder / "packet-first")
    (folder / "swap.yaml").write_text(SHEET.replace("8 mm", "8.1 mm"))
    return api.prepare(folder / "one", folder / "swap.yaml", out=folder / "packet", replace=True)


@pytest.fixture
def elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cfgmigrate.packet.made_here.made_a_moment_ago", lambda _: None)


def told(packet: Packet, **other: Any) -> Packet:
    return replace(packet, index={**packet.index, "in_place_of": {**packet.index["in_place_of"], **other}})


def test_what_was_written_here_a_moment_ago_needs_no_proof(again: Packet) -> None:
    assert (of_before(again), of_preparer(again)) == (((), ()), ())
    assert verified(again.folder).notes == ()


@pytest.mark.usefixtures("elsewhere")
def test_the_packet_before_is_compared_where_it_lies_beside(again: Packet) -> None:
    assert again.index["in_place_of"]["items"]
    assert of_before(again) == ((), ())
    first, *rest = sorted(again.index["in_place_of"]["items"])
    items = {name: again.index["in_place_of"]["items"][name] for name in rest}
    for forged in ({**items, first: "0" * 64}, items, {**items, "change of.nothing": "0" * 64}):
        unproven, unlike = of_before(told(again, items=forged))
        assert not unproven and "not what it says of the packet before it, packet-first" in unlike[0]


@pytest.mark.usefixtures("elsewhere")
def test_of_a_packet_before_that_is_not_there_nothing_is_proven(again: Packet, tmp_path: Path) -> None:
    ((said,), unlike) = of_before(told(again, packets=["0" * 64]))
    assert "neither in it nor beside it" in said and unlike == ()
    found = verified(shutil.copytree(again.folder, tmp_path / "packet"))
    assert found.problems == () and said in found.unproven


@pytest.mark.usefixtures("elsewhere")
def test_who_prepared_it_is_only_said(again: Packet) -> None:
    (said,) = of_preparer(replace(again, preparer="A. Heron"))
    assert said.startswith("that 'A. Heron' prepared it is only said")
    assert said.replace("A. Heron", again.preparer) in verified(again.folder).notes


def test_files_of_another_machine_are_looked_at_anew(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "feed.conf").write_text(FEED)
    (tmp_path / "swap.yaml").write_text(SHEET)
    packet = api.prepare(
        tmp_path / "two", tmp_path / "swap.yaml", out=tmp_path / "packet", source=[tmp_path / "one"]
    )
    assert len([*_carried_from(packet)]) == 1 and not [*_rested_on_by_nothing(packet)]

    def recorded(**other: str) -> Packet:
        (origin,) = packet.plan.basis.origin
        basis = replace(packet.plan.basis, origin=(replace(origin, **other),))
        return replace(packet, plan=replace(packet.plan, basis=basis))

    _, said = _carried_from(recorded(role="profile"))
    assert said.startswith("origin/feed.conf: recorded as profile")
    _, said = _carried_from(recorded(dialect="flat"))
    assert "it is in force, sectioned" in said
    (fault,) = _rested_on_by_nothing(recorded(role="kept copy"))
    assert fault == "feed.conf: recorded as kept copy, and values are taken from it"
