"""What counts as made here a moment ago: only what the user's own list says, of this program, within a day."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from msgspec.structs import replace

from cfgmigrate.packet import made_here
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.made_here import A_MOMENT, MOST_SEALS, PART_OF_IT, made_a_moment_ago, remember
from cfgmigrate.plan.model import LeftOut

NOW = 1_900_000_000


class Clock:
    """A clock that the test sets."""

    now = float(NOW)

    def time(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Clock:
    found = Clock()
    monkeypatch.setattr(made_here, "time", found)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return found


@pytest.fixture
def seals(tmp_path: Path) -> Path:
    return tmp_path / "state" / "cfgmigrate" / "prepared"


def was_made_here(packet: Packet) -> bool:
    return made_a_moment_ago(packet) is not None


def sealed(packet: Packet, seal: str) -> Packet:
    return replace(packet, index={**packet.index, "seal": seal})


def test_a_packet_counts_for_a_day_and_not_before_it_was_made(packet: Packet, clock: Clock) -> None:
    assert made_a_moment_ago(packet) is None
    clock.now = NOW + 0.7
    remember(packet)
    for now, at in ((NOW + 0.7, NOW), (NOW + A_MOMENT - 1, NOW), (NOW + A_MOMENT, None), (NOW - 1, None)):
        clock.now = now
        found = made_a_moment_ago(packet)
        assert (found.when if found else None) == at
    assert A_MOMENT == 24 * 3600


def test_the_list_is_short_and_the_last_ones_are_on_it_once(
    packet: Packet, clock: Clock, seals: Path
) -> None:
    for number in range(MOST_SEALS + 3):
        remember(sealed(packet, f"{number:064x}"))
    remember(sealed(packet, f"{MOST_SEALS:064x}"))
    lines = [line.split()[0] for line in seals.read_text(encoding="ascii").splitlines()]
    assert len(lines) == len(set(lines)) == MOST_SEALS
    assert lines[-1] == f"{MOST_SEALS:064x}"
    assert lines[-2] == f"{MOST_SEALS + 2:064x}"


def test_every_packet_on_the_list_counts(packet: Packet, clock: Clock, seals: Path) -> None:
    both = [sealed(packet, number * 64) for number in "12"]
    for each in both:
        remember(each)
    assert all(map(was_made_here, both))


def test_what_a_killed_run_left_beside_the_list_is_no_hindrance(
    packet: Packet, clock: Clock, seals: Path
) -> None:
    seals.parent.mkdir(parents=True)
    seals.with_name(f".{seals.name}.{os.getpid()}").write_bytes(b"half")
    remember(packet)
    assert was_made_here(packet)


def test_only_the_user_can_read_and_write_the_list(packet: Packet, clock: Clock, seals: Path) -> None:
    old = os.umask(0)
    try:
        remember(packet)
    finally:
        os.umask(old)
    assert seals.stat().st_mode & 0o777 == 0o600
    assert seals.parent.stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize(("mode", "counts"), [(0o644, True), (0o611, True), (0o620, False), (0o602, False)])
@pytest.mark.parametrize("folder", [False, True])
def test_a_list_that_others_may_write_counts_for_nothing_and_is_begun_anew(
    packet: Packet, clock: Clock, seals: Path, mode: int, counts: bool, folder: bool
) -> None:
    remember(packet)
    (seals.parent if folder else seals).chmod(mode | 0o100 if folder else mode)
    assert was_made_here(packet) is counts


@pytest.mark.parametrize("folder", [False, True])
def test_a_link_in_place_of_the_list_counts_for_nothing(
    packet: Packet, clock: Clock, seals: Path, folder: bool
) -> None:
    remember(packet)
    one = seals.parent if folder else seals
    one.rename(one.with_name("elsewhere"))
    one.symlink_to(one.with_name("elsewhere"))
    assert not was_made_here(packet)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can give files away")
@pytest.mark.parametrize("folder", [False, True])
def test_somebody_else_s_list_counts_for_nothing(
    packet: Packet, clock: Clock, seals: Path, folder: bool
) -> None:
    remember(packet)
    os.chown(seals.parent if folder else seals, 12345, 23456)
    assert not was_made_here(packet)


def test_a_list_that_is_none_costs_only_time(packet: Packet, clock: Clock, seals: Path) -> None:
    remember(packet)
    seals.write_bytes(b"\xff\n")
    assert not was_made_here(packet)
    seals.unlink()
    seals.mkdir()
    assert not was_made_here(packet)
    remember(packet)


def test_a_relative_state_folder_is_none(
    packet: Packet, clock: Clock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An ordinary folder of the place where the user happens to stand is not their state (XDG Base Directory, 0.8)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_STATE_HOME", "here")
    remember(packet)
    assert was_made_here(packet)
    assert (tmp_path / "home" / ".local" / "state" / "cfgmigrate" / "prepared").is_file()
    assert not (tmp_path / "here").exists()


def test_what_lies_at_the_configuration_stands_beside_the_seal(
    packet: Packet, clock: Clock, config: Path
) -> None:
    """A file that the packet doesn't know was never looked at, so nothing is said of the folder as a whole."""

    def standing() -> str:
        remember(packet)
        found = made_a_moment_ago(packet)
        assert found is not None
        return found.standing

    first = standing()
    assert first not in ("", PART_OF_IT) and standing() == first
    (config / "flow.conf").write_bytes(b"retract.length=1.2\n")
    assert standing() not in (first, "", PART_OF_IT)
    (config / "more.conf").write_bytes(b"retract.length=1.2\n")
    assert standing() == PART_OF_IT
    left = (LeftOut("more.conf", "kept copy", "somebody's"),)
    packet = replace(packet, plan=replace(packet.plan, left_out=left))
    assert standing() != PART_OF_IT
