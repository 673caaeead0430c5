"""A long history takes no more looking up than a short one, and tells the same."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.apply import past_steps
from cfgmigrate.apply.in_force import in_force
from cfgmigrate.apply.install import install
from cfgmigrate.apply.locate import LocatedSpan, locate
from cfgmigrate.apply.prior_installs import earlier_installs, told_by
from cfgmigrate.apply.revert import revert
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.edits import FileStep
from cfgmigrate.rules.age import Age
from cfgmigrate.store.history import history
from cfgmigrate.store.keeping import Store

LENGTH = "retraction.length"


def said(holder: str) -> Mapping[str, str]:
    return {}


@pytest.fixture
def looked_up(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files in which a step was looked up."""
    found: list[str] = []

    def counted(step: FileStep, present: bytes) -> tuple[LocatedSpan, ...]:
        found.append(step.path)
        return locate(step, present)

    monkeypatch.setattr(past_steps, "locate", counted)
    return found


def installed_often(config: Path, place: Path, kit: SimpleNamespace, times: int) -> None:
    """A swap installed and taken back so many times, over another remark each time; the last one stands."""
    for number in range(times):
        flow = config / "flow.conf"
        flow.write_bytes(flow.read_bytes() + f"; remark {number}\n".encode())
        files = kit.on_disk(config)
        change = kit.move(files, LENGTH, "flow.conf", b"retract.length=<5.4>", "0.6")
        made = kit.pack(place / f"swap {number}", files, [change], str(config))
        install(made.folder)
        if number < times - 1:
            revert(made.folder)


def test_what_was_installed_and_taken_back_before_is_not_looked_up(
    config: Path, tmp_path: Path, kit: SimpleNamespace, looked_up: list[str]
) -> None:
    installed_often(config, tmp_path, kit, 9)
    past, files = history(config), kit.on_disk(config)
    looked_up.clear()
    in_force(config)
    earlier = earlier_installs(past, config, files, said, whatever=True)
    assert earlier is not None
    told_by(past, config, earlier.old, said, earlier)
    assert len(looked_up) == 3  # by each of these once, for the step that stands
    assert [entry.number for entry in earlier.entries] == [len(past)]
    assert b"retract.length=5.4" in earlier.old["flow.conf"]


def test_an_edit_between_two_installs_of_a_swap_is_kept_when_both_are_taken_back(
    packet: object, config: Path, tmp_path: Path, kit: SimpleNamespace
) -> None:
    installed_often(config, tmp_path, kit, 1)
    revert(tmp_path / "swap 0")
    flow = config / "flow.conf"
    flow.write_bytes(flow.read_bytes().replace(b"retract.length=5.4", b"retract.length=4.9"))
    files = kit.on_disk(config)
    change = kit.move(files, LENGTH, "flow.conf", b"retract.length=<4.9>", "0.6")
    install(kit.pack(tmp_path / "again", files, [change], str(config)).folder)
    earlier = earlier_installs(history(config), config, kit.on_disk(config), said, whatever=True)
    assert earlier is not None and b"retract.length=4.9" in earlier.old["flow.conf"]


def test_a_backup_put_back_by_hand_is_told_by_the_step_that_was_taken_back(
    config: Path, tmp_path: Path, kit: SimpleNamespace
) -> None:
    installed_often(config, tmp_path, kit, 1)
    kept = (config / "flow.conf").read_bytes()
    revert(tmp_path / "swap 0")
    (config / "flow.conf").write_bytes(kept)
    told = told_by(history(config), config, kit.on_disk(config), said, None)
    assert told.installs and {each.age for each in told.written.values()} <= {Age.OLD, Age.UNKNOWN}
    assert len(in_force(config).entries) == 1


def test_a_step_under_a_newer_one_stands_or_not_by_its_own_texts(
    config: Path, tmp_path: Path, kit: SimpleNamespace
) -> None:
    for number, (old, new) in enumerate((("5.4", "0.6"), ("0.6", "0.8"), ("0.8", "0.6"))):
        files = kit.on_disk(config)
        change = kit.move(files, LENGTH, "flow.conf", f"retract.length=<{old}>".encode(), new)
        install(kit.pack(tmp_path / f"step {number}", files, [change], str(config)).folder)
    assert [entry.number for entry in in_force(config).entries] == [1, 3]  # the second's old text stands


def test_a_backup_of_the_first_of_two_swaps_put_back_by_hand_stands(
    config: Path, tmp_path: Path, kit: SimpleNamespace
) -> None:
    for new in ("0.6", "0.7"):
        files = kit.on_disk(config)
        change = kit.move(files, LENGTH, "flow.conf", b"retract.length=<5.4>", new)
        made = kit.pack(tmp_path / new, files, [change], str(config))
        install(made.folder)
        revert(made.folder)
    flow = config / "flow.conf"
    flow.write_bytes(flow.read_bytes().replace(b"retract.length=5.4", b"retract.length=0.6"))
    assert [entry.number for entry in in_force(config).entries] == [1]


def test_a_file_of_a_step_that_is_not_there_any_more_is_left_out(
    config: Path, tmp_path: Path, kit: SimpleNamespace
) -> None:
    installed_often(config, tmp_path, kit, 1)
    (entry,), files = history(config).entries, kit.on_disk(config)
    lookup = past_steps.Lookup(Store(config.resolve()))
    assert [path for path, _ in lookup.located(entry, files)] == ["flow.conf"]
    gone = {path: data for path, data in files.items() if path != "flow.conf"}
    assert past_steps.Lookup(Store(config.resolve())).located(entry, gone) == ()


def test_of_a_step_that_edited_several_files_the_others_are_told_where_one_is_gone(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    install(packet.folder)
    (entry,), files = history(config).entries, kit.on_disk(config)
    for gone in packet.after:
        left = {path: data for path, data in files.items() if path != gone}
        told = past_steps.Lookup(Store(config.resolve())).located(entry, left)
        assert {path for path, _ in told} == set(packet.after) - {gone}
        assert all(found for _, found in told)


def test_a_swap_taken_back_and_made_anew_is_told_once_though_one_of_its_files_is_gone(
    packet: Packet, config: Path
) -> None:
    install(packet.folder)
    revert(packet.folder)
    install(packet.folder)
    assert [entry.number for entry in in_force(config).entries] == [3]
    (config / "feeder.ini").unlink()
    assert [entry.number for entry in in_force(config).entries] == [3]
