"""The way back gives every value its old text, keeps what else was edited, and asks where it can't know."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.apply.going_back import RevertReport, Unanswered
from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert, revert_to
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.edits import FileStep, Span
from cfgmigrate.plan.model import Change
from cfgmigrate.store.history import history, record
from cfgmigrate.store.keeping import Store

Edit = Callable[[str, bytes, bytes], None]


@pytest.fixture
def edit(config: Path) -> Edit:
    """Somebody edits a file by hand: one text becomes another, everywhere in it."""

    def carry_out(path: str, old: bytes, new: bytes) -> None:
        data = (config / path).read_bytes()
        assert old in data, old
        (config / path).write_bytes(data.replace(old, new))

    return carry_out


@pytest.fixture
def installed(packet: Packet) -> Packet:
    install(packet.folder)
    return packet


def quantities(items: tuple[object, ...]) -> set[str]:
    return {item.name for item in items}  # type: ignore[attr-defined]


def everything_but(packet: Packet, *names: str) -> set[str]:
    return {change.quantity for change in packet.plan.changes} - set(names)


def present(config: Path, path: str) -> bytes:
    return (config / path).read_bytes()


def test_other_edits_are_kept_and_listed(installed: Packet, config: Path, edit: Edit) -> None:
    edit("flow.conf", b"retract.speed=45", b"retract.speed=30")
    edit("flow.conf", b"; lag below", b"; lag below, tuned on Tuesday")
    report = revert(installed.folder)
    assert present(config, "flow.conf") == (
        installed.before["flow.conf"]
        .replace(b"retract.speed=45", b"retract.speed=30")
        .replace(b"; lag below", b"; lag below, tuned on Tuesday")
    )
    assert present(config, "feeder.ini") == installed.before["feeder.ini"]
    kept = [(item.file, item.line, item.installed.strip(), item.present) for item in report.kept]
    assert kept == [
        (
            "flow.conf",
            2,
            "retract.speed=45\n; lag below",
            "retract.speed=30\n; lag below, tuned on Tuesday\n",
        )
    ]
    assert quantities(report.restored) == everything_but(installed)


def test_a_value_is_found_when_its_lines_moved(installed: Packet, config: Path, edit: Edit) -> None:
    edit("parts/axes.ini", b"[axis z]\nhighest spot = 186.5\n", b"")
    edit("parts/axes.ini", b"[axis x]", b"[axis z]\n# moved up\nhighest spot = 186.5\n[axis x]")
    revert(installed.folder)
    assert b"[axis z]\n# moved up\nhighest spot = 235\n[axis x]" in present(config, "parts/axes.ini")
    assert b"186.5" not in present(config, "parts/axes.ini")


def test_a_value_is_found_when_its_own_line_was_edited_beside_it(
    installed: Packet, config: Path, edit: Edit
) -> None:
    edit("feeder.ini", b"mm_per_turn: 4.15   ; as measured in spring", b"mm_per_turn = 4.15 ; new gear")
    edit("flow.conf", b"lag.coefficient 0.04", b"lag.coefficient   0.04   ")
    report = revert(installed.folder)
    assert b"mm_per_turn = 22.9 ; new gear\r\n" in present(config, "feeder.ini")
    assert b"lag.coefficient   0.55   \n" in present(config, "flow.conf")
    assert not report.left


def test_the_same_line_in_another_section_is_never_mistaken_for_it(
    installed: Packet, config: Path, edit: Edit
) -> None:
    """Axis z is gone and axis y now ends where z did: y must not get z's old value."""
    edit("parts/axes.ini", b"[axis y]\nhighest spot = 235\n[axis z]\n", b"[axis y]\n")
    with pytest.raises(Unanswered) as raised:
        revert(installed.folder)
    assert quantities(raised.value.report.conflicts) == {"axis.z.max"}
    assert b"[axis y]\nhighest spot = 186.5" in present(config, "parts/axes.ini")
    revert(installed.folder, keep=["axis.z.max"])
    assert b"[axis y]\nhighest spot = 186.5" in present(config, "parts/axes.ini")


def test_an_item_of_a_list_is_restored_though_another_item_was_edited(
    installed: Packet, config: Path, edit: Edit
) -> None:
    edit("parts/axes.ini", b"10, 10, 225, 221", b"12, 10, 225, 221")
    revert(installed.folder)
    assert b"limits = 12, 10, 225, 225" in present(config, "parts/axes.ini")


def test_a_value_changed_again_is_a_conflict_and_nothing_is_written(
    installed: Packet, config: Path, edit: Edit
) -> None:
    edit("feeder.ini", b"run current: 0.45", b"run current: 0.5")
    as_it_was = {path: present(config, path) for path in installed.before}
    with pytest.raises(Unanswered) as raised:
        revert(installed.folder)
    (conflict,) = raised.value.report.conflicts
    assert (conflict.name, conflict.file, conflict.line) == ("motor.run_current", "feeder.ini", 7)
    assert (conflict.old, conflict.installed, conflict.present) == ("0.8", "0.45", "0.5")
    assert {path: present(config, path) for path in installed.before} == as_it_was
    for text in ("motor.run_current", "0.8", "0.45", "0.5", "feeder.ini:7"):
        assert text in str(raised.value)


def test_a_changed_unit_is_a_conflict_even_beside_the_same_number(
    tmp_path: Path, kit: SimpleNamespace
) -> None:
    files = {**kit.FILES, "feeder.ini": kit.FILES["feeder.ini"].replace(b"0.8", b"0.8 A")}
    root = kit.lay_out(tmp_path / "config", files)
    change = kit.move(files, "motor.run_current", "feeder.ini", b"run current: <0.8>", "0.45")
    packed = kit.pack(tmp_path / "packet", files, [change], str(root))
    install(packed.folder)
    data = present(root, "feeder.ini")
    (root / "feeder.ini").write_bytes(data.replace(b"0.45 A", b"0.45 mA"))
    with pytest.raises(Unanswered, match=r"now '0\.45 mA'"):
        revert(packed.folder)
    revert(packed.folder, force=["motor.run_current"])
    assert present(root, "feeder.ini") == files["feeder.ini"]


def test_a_conflict_can_be_kept_or_forced(installed: Packet, config: Path, edit: Edit) -> None:
    edit("feeder.ini", b"run current: 0.45", b"run current: 0.5")
    kept = revert(installed.folder, keep=["motor.run_current"])
    assert b"run current: 0.5\r\n" in present(config, "feeder.ini")
    assert quantities(kept.kept) >= {"motor.run_current"}
    forced = revert(installed.folder, force=["motor.run_current"])
    assert present(config, "feeder.ini") == installed.before["feeder.ini"]
    assert [item.why for item in forced.restored] == ["forced"]


def test_only_gives_back_what_is_named_and_a_conflict_elsewhere_does_not_matter(
    installed: Packet, config: Path, edit: Edit
) -> None:
    edit("feeder.ini", b"run current: 0.45", b"run current: 0.5")
    report = revert(installed.folder, only=["retraction.length"])
    assert quantities(report.restored) == {"retraction.length"}
    assert quantities(report.left) == everything_but(installed, "retraction.length")
    assert present(config, "flow.conf") == installed.after["flow.conf"].replace(b"=0.6", b"=5.4")
    assert b"run current: 0.5\r\n" in present(config, "feeder.ini")


def test_what_is_back_already_is_left(installed: Packet, config: Path, edit: Edit) -> None:
    edit("feeder.ini", b"gear ratio: 50:9", b"gear ratio: 7:4")
    report = revert(installed.folder)
    assert present(config, "feeder.ini") == installed.before["feeder.ini"]
    assert [(item.name, item.why) for item in report.left] == [
        ("feeder.gear_ratio", "is already as it was before")
    ]


def test_a_value_that_is_gone_can_be_kept_but_not_forced(installed: Packet, config: Path, edit: Edit) -> None:
    edit("flow.conf", b"lag.coefficient 0.04\n", b"")
    with pytest.raises(Unanswered, match=r"lag\.coefficient.*not found now") as raised:
        revert(installed.folder)
    assert [(item.line, item.present) for item in raised.value.report.conflicts] == [(0, None)]
    with pytest.raises(Unanswered):
        revert(installed.folder, force=["lag.coefficient"])
    revert(installed.folder, keep=["lag.coefficient"])
    assert b"lag.coefficient" not in present(config, "flow.conf")
    assert b"retract.length=5.4\n" in present(config, "flow.conf")


def test_a_file_that_is_gone_comes_back_whole_when_all_of_it_is_forced(
    installed: Packet, config: Path
) -> None:
    (config / "flow.conf").unlink()
    with pytest.raises(Unanswered):
        revert(installed.folder)
    revert(installed.folder, force=["retraction.length", "lag.coefficient"])
    assert present(config, "flow.conf") == installed.before["flow.conf"]


def test_a_file_that_can_t_be_read_any_more_still_gets_its_values_back(
    installed: Packet, config: Path, edit: Edit
) -> None:
    edit("feeder.ini", b"[script feed]", b"[script feed\x00")
    edit("feeder.ini", b"run current: 0.45", b"run current: 0.5")
    with pytest.raises(Unanswered, match=r"now '0\.5'"):
        revert(installed.folder)
    revert(installed.folder, force=["motor.run_current"])
    assert present(config, "feeder.ini") == installed.before["feeder.ini"].replace(
        b"[script feed]", b"[script feed\x00"
    )


def test_a_value_changed_between_the_look_and_the_lock_is_a_conflict_too(
    installed: Packet, config: Path, edit: Edit, monkeypatch: pytest.MonkeyPatch
) -> None:
    def meanwhile(_: object) -> None:
        edit("feeder.ini", b"run current: 0.45", b"run current: 0.5")

    monkeypatch.setattr("cfgmigrate.apply.revert.recover", meanwhile)
    with pytest.raises(Unanswered, match=r"now '0\.5'"):
        revert(installed.folder)
    assert present(config, "flow.conf") == installed.after["flow.conf"]
    assert len(history(config)) == 1


def test_a_dry_run_shows_the_conflicts_and_writes_nothing(
    installed: Packet, config: Path, edit: Edit
) -> None:
    edit("feeder.ini", b"run current: 0.45", b"run current: 0.5")
    as_it_was = {path: present(config, path) for path in installed.before}
    report = revert(installed.folder, dry_run=True)
    assert not report.written and report.entry == 0
    assert quantities(report.conflicts) == {"motor.run_current"}
    assert quantities(report.restored) == everything_but(installed, "motor.run_current")
    assert {path: present(config, path) for path in installed.before} == as_it_was


def test_reverting_what_was_never_installed_changes_nothing(packet: Packet, config: Path) -> None:
    report = revert(packet.folder)
    assert not report.written and not report.restored
    assert quantities(report.left) == everything_but(packet)


def test_a_name_that_the_packet_does_not_have_is_refused_with_the_nearest(installed: Packet) -> None:
    with pytest.raises(BadInput, match=r"Did you mean motor\.run_current"):
        revert(installed.folder, only=["motor.run_curent"])
    with pytest.raises(BadInput, match="kept and forced"):
        revert(installed.folder, keep=["motor.run_current"], force=["motor.run_current"])


def test_it_works_on_another_machine_from_packet_and_files_alone(
    installed: Packet, config: Path, tmp_path: Path
) -> None:
    """No history, no journal, no rule book: the packet and the files were copied to another place."""
    shutil.copytree(installed.folder, tmp_path / "stick" / "packet")
    shutil.copytree(config, tmp_path / "stick" / "config", ignore=shutil.ignore_patterns(".cfgmigrate"))
    shutil.rmtree(config)
    revert(tmp_path / "stick" / "packet", tmp_path / "stick" / "config")
    for path, data in installed.before.items():
        assert present(tmp_path / "stick" / "config", path) == data


def test_a_read_only_file_refuses_the_way_back_too(installed: Packet, config: Path) -> None:
    (config / "flow.conf").chmod(0o444)
    with pytest.raises(Refused, match="read-only"):
        revert(installed.folder)
    assert present(config, "feeder.ini") == installed.after["feeder.ini"]


def test_the_report_is_plain_json(installed: Packet) -> None:
    import json

    report: RevertReport = revert(installed.folder)
    assert json.loads(json.dumps(report.to_json()))["restored"][0]["quantity"] == "feeder.feed_per_turn"


def why(found: pytest.ExceptionInfo[Unanswered], name: str) -> str:
    return next(item.why for item in found.value.report.conflicts if item.name == name)


def test_of_a_file_that_was_renamed_the_new_name_is_told(installed: Packet, config: Path) -> None:
    (config / "flow.conf").rename(config / "parts" / "stream.conf")
    with pytest.raises(Unanswered) as found:
        revert(installed.folder)
    assert "parts/stream.conf is the same file" in why(found, "lag.coefficient")
    (config / "parts" / "stream.conf").rename(config / "flow.conf")
    revert(installed.folder)
    assert present(config, "flow.conf") == installed.before["flow.conf"]


def test_of_a_line_that_was_moved_to_another_file_the_place_is_told(
    installed: Packet, config: Path, edit: Edit
) -> None:
    edit("flow.conf", b"lag.coefficient 0.04\n", b"")
    (config / "lag.conf").write_bytes(
        b"# the lag\nlag.coefficient 0.045; no\nlag.coefficient 0.04.5\n  lag.coefficient =  0.04  # here now\n"
    )
    with pytest.raises(Unanswered) as found:
        revert(installed.folder)
    assert why(found, "lag.coefficient").endswith("'lag.coefficient 0.04' stands at lag.conf:4")


def test_a_value_that_a_later_packet_changed_names_that_step(
    installed: Packet, config: Path, edit: Edit
) -> None:
    """The later step is one of the history; the packet itself knows nothing of it."""
    before = present(config, "feeder.ini")
    after = before.replace(b"run current: 0.45", b"run current: 0.5")
    start = before.index(b"0.45")
    span = Span("motor.run_current", start, start + 4, start, start + 3)
    step = FileStep("feeder.ini", "sectioned", before, after, (span,))
    record(Store(config), "tune", [step], {"feeder.ini": "feeder.ini"}, "another packet", "Wren")
    with pytest.raises(Unanswered) as found:
        revert(installed.folder)
    assert "by entry 2 of the history (tune)" in why(found, "motor.run_current")


def test_forcing_a_part_of_a_lost_file_says_that_it_comes_back_only_as_a_whole(
    installed: Packet, config: Path
) -> None:
    (config / "flow.conf").unlink()
    with pytest.raises(Unanswered, match="force all of its values"):
        revert(installed.folder, force=["lag.coefficient"], keep=["retraction.length"])
    assert not (config / "flow.conf").exists()


def test_of_a_lost_file_only_what_is_asked_for_matters(installed: Packet, config: Path) -> None:
    (config / "flow.conf").unlink()
    report = revert(installed.folder, only=["axis.z.max"])
    assert quantities(report.restored) == {"axis.z.max"}
    assert {"retraction.length", "lag.coefficient"} <= quantities(report.left)
    with pytest.raises(Unanswered) as found:
        revert(installed.folder, only=["lag.coefficient"])
    assert quantities(found.value.report.conflicts) == {"lag.coefficient"}
    assert why(found, "lag.coefficient") == "the file is not there"


def test_where_edits_are_kept_nothing_is_put_beside_the_files(
    installed: Packet, config: Path, edit: Edit
) -> None:
    edit("flow.conf", b"retract.speed=45", b"retract.speed=30")
    there = {path.name for path in config.iterdir()}
    assert revert(installed.folder).beside == ""
    assert {path.name for path in config.iterdir()} == there


def test_only_what_was_changed_since_is_told_as_forced(installed: Packet, edit: Edit) -> None:
    edit("flow.conf", b"lag.coefficient 0.04", b"lag.coefficient 0.05")
    report = revert(installed.folder, force=["lag.coefficient", "retraction.length"])
    told = {item.name: item.why for item in report.restored}
    assert told.pop("lag.coefficient") == "forced"
    assert set(told.values()) == {"was as installed"}


def test_what_was_done_by_hand_is_named_where_a_whole_packet_goes_back(
    installed: Packet, config: Path
) -> None:
    asked = tuple(item.what for item in installed.plan.by_hand)
    assert asked
    assert revert(installed.folder, only=["retraction.length"]).by_hand == ()
    assert revert_to(config, "start", dry_run=True).by_hand == asked
    assert revert(installed.folder).by_hand == asked
    assert revert(installed.folder).by_hand == ()
    assert revert_to(config, "start").by_hand == ()


def test_what_went_back_already_is_not_to_be_undone_by_hand_a_second_time(
    installed: Packet, config: Path, tmp_path: Path, wren_changes: tuple[Change, ...], kit: SimpleNamespace
) -> None:
    revert(installed.folder)
    install(kit.pack(tmp_path / "fewer", kit.FILES, wren_changes[:-1], str(config)).folder)
    assert revert_to(config, "start").by_hand == tuple(item.what for item in installed.plan.by_hand)


def test_an_edit_is_shown_without_the_values_beside_it(installed: Packet, edit: Edit) -> None:
    edit("flow.conf", b"retract.speed=45", b"retract.speed=30")
    kept = [(item.line, item.installed, item.present) for item in revert(installed.folder).kept]
    assert kept == [(2, "retract.speed=45\n", "retract.speed=30\n")]
    assert [item.line for item in revert(installed.folder).kept] == [2]


def test_an_edit_beside_a_forced_value_is_shown_as_it_stands_in_the_end(
    installed: Packet, config: Path, edit: Edit
) -> None:
    edit("flow.conf", b"lag.coefficient 0.04", b"lag.coefficient 0.05 ; tuned")
    report = revert(installed.folder, force=["lag.coefficient"])
    assert [(item.installed, item.present) for item in report.kept] == [
        ("lag.coefficient 0.04\n", "lag.coefficient 0.55 ; tuned\n")
    ]
    assert b"lag.coefficient 0.55 ; tuned\n" in present(config, "flow.conf")


def test_a_number_within_a_word_is_restored_though_another_word_beside_it_was_edited(
    tmp_path: Path, kit: SimpleNamespace
) -> None:
    files = {"axes.ini": b"[mesh]\nlimits = x=10, y=225mm\n"}
    root = kit.lay_out(tmp_path / "root", files)
    change = kit.move(files, "mesh.to_y", "axes.ini", b"y=<225>mm", "9")
    packet = kit.pack(tmp_path / "packet", files, [change], str(root))
    install(packet.folder)
    edited = (root / "axes.ini").read_bytes().replace(b"x=10", b"x=10.5")
    (root / "axes.ini").write_bytes(edited)
    revert(packet.folder)
    assert (root / "axes.ini").read_bytes() == b"[mesh]\nlimits = x=10.5, y=225mm\n"
