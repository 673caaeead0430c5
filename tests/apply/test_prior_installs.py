"""What the history tells of a swap that was installed in parts: what stands, what was held back, and where."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from cfgmigrate.apply.install import install
from cfgmigrate.apply.prior_installs import earlier_installs, partly_installed, told_by
from cfgmigrate.apply.replacing import is_installed
from cfgmigrate.apply.revert import revert
from cfgmigrate.packet.binding import review_basis
from cfgmigrate.packet.folder import Contents, Packet
from cfgmigrate.packet.review import Judgement, Review, Verdict
from cfgmigrate.packet.standing import record_review
from cfgmigrate.packet.write import write_packet
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import Change
from cfgmigrate.rules.age import Age
from cfgmigrate.store.entries import HistoryEntry
from cfgmigrate.store.history import history

#: what the review holds; the lag rests on the retraction, so it stays out too
HELD = {"motor.run_current", "retraction.length"}
OUT = HELD | {"lag.coefficient"}


@pytest.fixture
def part(packet: Packet) -> Packet:
    """The packet, installed without what its review holds back."""
    judgements = tuple(
        Judgement(each.id, Verdict.HELD if each.id in HELD else Verdict.ACCEPTED)
        for each in packet.plan.changes
    )
    review = Review(packet.hash, "B. Redshank", "2031-05-04T10:11:12Z", judgements, review_basis(packet.plan))
    record_review(packet.folder, review)
    assert {each.name for each in install(packet.folder, require_review=True).held} == OUT
    return packet


def partly(config: Path, kit: SimpleNamespace) -> HistoryEntry | None:
    return partly_installed(history(config), config, kit.on_disk(config))


def edit(config: Path, name: str, old: bytes, new: bytes) -> None:
    data = (config / name).read_bytes()
    assert data.count(old) == 1
    (config / name).write_bytes(data.replace(old, new))


def test_what_was_held_back_is_kept_where_it_stands_and_nothing_else(part: Packet, config: Path) -> None:
    held = (history(config).entries[-1].reasons or {})["held"]
    assert held["why"].keys() == OUT
    assert [file["path"] for file in held["files"]] == ["feeder.ini", "flow.conf"]
    found = {}
    for file in held["files"]:
        data = (config / file["path"]).read_bytes()
        for name, *places in file["spans"]:
            assert places[:2] == places[2:]
            found[name] = data[places[0] : places[1]].decode()
    assert found == {each.id: each.edits[0].old for each in part.plan.changes if each.id in OUT}


def test_a_swap_is_installed_in_part_until_all_of_it_is_or_none(
    part: Packet, config: Path, kit: SimpleNamespace
) -> None:
    last = history(config).entries[-1]
    assert partly(config, kit) == last
    edit(config, "parts/axes.ini", b"highest spot = 186.5", b"highest spot = 180")
    assert partly(config, kit) == last, "an edit takes nothing back"
    edit(config, "parts/axes.ini", b"highest spot = 180", b"highest spot = 186.5")
    revert(part.folder)
    assert partly(config, kit) is None
    edit(config, "parts/axes.ini", b"[axis z]\nhighest spot = 235", b"[axis z]\nhighest spot = 180")
    assert partly(config, kit) is None, "what was edited after it was taken back is nobody's install"
    edit(config, "parts/axes.ini", b"highest spot = 180", b"highest spot = 235")
    install(part.folder, despite_hold=HELD)
    assert partly(config, kit) is None


def test_where_nothing_was_installed_nothing_is_in_part(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    assert partly(config, kit) is None
    assert not is_installed(packet)


def test_a_broken_history_does_not_tell_of_a_part(part: Packet, config: Path, kit: SimpleNamespace) -> None:
    path = config / ".cfgmigrate" / "history.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"kind": "install"', b'"kind": "instill"'))
    assert partly(config, kit) is None
    assert not is_installed(part)


def test_a_packet_is_installed_as_long_as_anything_of_it_stands(
    part: Packet, config: Path, kit: SimpleNamespace
) -> None:
    assert is_installed(part)
    revert(part.folder, only=["axis.z.max"])
    assert is_installed(part)
    revert(part.folder)
    assert not is_installed(part)
    assert earlier_installs(history(config), config, kit.on_disk(config), lambda _: {}) is None


def test_what_was_held_back_is_old_until_somebody_settles_it(
    part: Packet, config: Path, kit: SimpleNamespace
) -> None:
    def told_old() -> set[str]:
        files = kit.on_disk(config)
        del files["feeder.ini"]
        past = told_by(history(config), config, files, lambda _: {}, None)
        held = [span for span, told in past.written.items() if "held it back" in told.why]
        assert all(past.written[span].age is Age.OLD for span in held)
        return {files[path][start:end].decode() for path, start, end in held}

    assert told_old() == {"5.4", "0.55"}
    edit(config, "flow.conf", b"retract.length=5.4", b"retract.length=1.2")
    assert told_old() == {"0.55"}


def test_an_install_of_another_swap_is_no_part_of_this_one_and_neither_is_what_it_held_back(
    part: Packet, config: Path, kit: SimpleNamespace
) -> None:
    past, files = history(config), kit.on_disk(config)
    assert earlier_installs(past, config, files, lambda _: {"new.drive": "another"}) is None
    edit(config, "flow.conf", b"retract.length=5.4", b"retract.length=1.2")
    earlier = earlier_installs(past, config, kit.on_disk(config), lambda _: {})
    assert earlier is not None and earlier.old == dict(part.before), "settled by hand since"
    assert [each.installed for each in earlier.taken["flow.conf"]] == [None]


def test_those_values_are_of_this_swap_that_moved_by_what_the_sheet_says_still(
    config: Path, tmp_path: Path, kit: SimpleNamespace, wren_changes: tuple[Change, ...]
) -> None:
    changes = [replace(each, cause=(("new.drive", each.id),)) for each in wren_changes]
    made = kit.pack(tmp_path / "of causes", kit.FILES, changes, str(config))
    install(made.folder)
    told = {"new.drive": "axis.z.max", "new.more": "told since"}
    earlier = earlier_installs(history(config), config, kit.on_disk(config), lambda _: told)
    assert earlier is not None and not earlier.whole
    axes = made.after["parts/axes.ini"].replace(b"186.5", b"235")
    assert earlier.old == {**made.after, "parts/axes.ini": axes}
    all_of_it = earlier_installs(history(config), config, kit.on_disk(config), lambda _: told, whatever=True)
    assert all_of_it is not None and all_of_it.whole and all_of_it.old == dict(made.before)


def test_what_can_t_be_found_any_more_is_lost_unless_it_was_taken_back_before(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    install(packet.folder)
    revert(packet.folder, only=["mesh.to_y"])
    for old in (b"limits = 10, 10, 225, 225", b"[axis z]\nhighest spot = 186.5\n"):
        edit(config, "parts/axes.ini", old, b"")
    (config / "flow.conf").rename(config / "renamed.conf")
    earlier = earlier_installs(history(config), config, kit.on_disk(config), lambda _: {})
    assert earlier is not None
    assert {name: (each.file, each.installed) for name, each in earlier.lost.items()} == {
        "axis.z.max": ("parts/axes.ini", "186.5"),
        "retraction.length": ("flow.conf", "0.6"),
        "lag.coefficient": ("flow.conf", "0.04"),
    }


def swapped(
    config: Path, kit: SimpleNamespace, out: Path, sheet: str, change: tuple[str, str, bytes, str]
) -> None:
    """One value installed by what a sheet says, whose every field reads `sheet`."""
    files, told = kit.on_disk(config), (("new.drive", sheet),)
    changes = [replace(kit.move(files, *change), cause=told)]
    plan = replace(kit.plan_for(files, changes, str(config)), swap=told)
    after = {path: apply_edits(files[path], edits) for path, edits in edits_by_file(changes).items()}
    packet = write_packet(out, Contents(plan, files, after, b"machine: Wren\n", None, {}), {}, "A. Dunlin")
    install(packet.folder)


LENGTH, LAG, REACH = "retraction.length", "lag.coefficient", "axis.z.max"


@pytest.mark.parametrize(("whatever", "numbers"), [(False, []), (True, [2, 3])])
def test_with_the_last_install_all_that_its_sheet_installed_is_of_this_swap(
    config: Path, tmp_path: Path, kit: SimpleNamespace, whatever: bool, numbers: list[int]
) -> None:
    steps = (
        ("first", (REACH, "parts/axes.ini", b"[axis z]\nhighest spot = <235>", "186.5")),
        ("second", (LENGTH, "flow.conf", b"retract.length=<5.4>", "0.6")),
        ("second", (LAG, "flow.conf", b"lag.coefficient <0.55>", "0.04")),
    )
    for at, (sheet, change) in enumerate(steps):
        swapped(config, kit, tmp_path / str(at), sheet, change)
    earlier = earlier_installs(history(config), config, kit.on_disk(config), lambda _: {}, whatever)
    assert [each.number for each in earlier.entries] == numbers if earlier else not numbers
    assert earlier is None or earlier.old["flow.conf"] == kit.FILES["flow.conf"]


def test_a_value_that_another_swap_wrote_over_is_that_one_s(
    config: Path, tmp_path: Path, kit: SimpleNamespace
) -> None:
    swapped(config, kit, tmp_path / "1", "first", (LENGTH, "flow.conf", b"retract.length=<5.4>", "0.6"))
    swapped(config, kit, tmp_path / "2", "first", (LAG, "flow.conf", b"lag.coefficient <0.55>", "0.04"))
    swapped(config, kit, tmp_path / "3", "other", (LENGTH, "flow.conf", b"retract.length=<0.6>", "0.8"))
    earlier = earlier_installs(history(config), config, kit.on_disk(config), lambda _: {"new.drive": "first"})
    assert earlier is not None and [each.number for each in earlier.entries] == [2]
    assert earlier.old["flow.conf"] == kit.FILES["flow.conf"].replace(b"=5.4", b"=0.8")


def test_a_value_that_stands_in_one_of_its_two_places_stands(
    config: Path, tmp_path: Path, kit: SimpleNamespace
) -> None:
    """Both places are of one name, and are told apart."""
    places = (b"[axis x]\nhighest spot = <235>", b"[axis y]\nhighest spot = <235>")
    x, y = (kit.move(kit.FILES, REACH, "parts/axes.ini", place, "230") for place in places)
    made = kit.pack(tmp_path / "both", kit.FILES, [replace(x, edits=x.edits + y.edits)], str(config))
    install(made.folder)
    edit(config, "parts/axes.ini", b"[axis y]\nhighest spot = 230", b"[axis y]\nhighest spot = 235")
    assert is_installed(made)
    edit(config, "parts/axes.ini", b"highest spot = 230", b"highest spot = 235")
    assert not is_installed(made)


def test_a_value_that_no_field_moved_is_of_the_swap_that_it_was_installed_with(
    part: Packet, config: Path, kit: SimpleNamespace
) -> None:
    """A filament's sheet says its material besides, so that no sheet of its own says what the whole one did."""
    past = history(config)
    *before, last = past.entries
    reasons = dict(last.reasons or {})
    moved = {"new.drive": "on the carriage"}
    reasons["changes"] = [
        {**each, "cause": [] if at else [*moved.items()]} for at, each in enumerate(reasons["changes"])
    ]
    past = replace(past, entries=(*before, replace(last, reasons=reasons)))
    now = {**moved, "filament.material": "TPU"}
    found = earlier_installs(past, config, kit.on_disk(config), lambda _: now)
    assert found is not None and found.whole
    assert earlier_installs(past, config, kit.on_disk(config), lambda _: {"new.drive": "tube-fed"}) is None
