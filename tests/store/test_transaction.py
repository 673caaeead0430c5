"""Several files together, the journal that guards them, and what a hostile or damaged one can do: nothing."""

from __future__ import annotations

import errno
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import Refused
from cfgmigrate.ground.paths import existing_root
from cfgmigrate.packet.folder import Packet, sha256
from cfgmigrate.store import exchanging, keeping, transaction
from cfgmigrate.store.journal import read_journal
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.transaction import FileReplacement, carry_out
from cfgmigrate.store.undoing import Recovery, recover, recover_at

JOURNAL = ".cfgmigrate/journal.json"


@pytest.fixture
def store(config: Path) -> Store:
    return Store(existing_root(config))


def leave_journal(
    config: Path, state: str, change: Callable[[dict[str, Any]], None] = lambda item: None
) -> None:
    """A journal such as an interrupted install of flow.conf leaves, with one thing in it changed."""
    (config / ".cfgmigrate").mkdir(exist_ok=True)
    present = (config / "flow.conf").read_bytes()
    item = {
        "path": "flow.conf",
        "temporary": ".cfgmigrate-0a0b-0",
        "before": sha256(present),
        "after": sha256(b"new\n"),
    }
    change(item)
    data = {"format": 1, "kind": "install", "state": state, "items": [item]}
    (config / JOURNAL).write_text(json.dumps(data))


def test_copies_that_a_killed_run_left_half_written_are_cleared_up_by_the_next_one(
    store: Store, config: Path
) -> None:
    with store.locked():
        whole = store.keep(b"whole")
        store.carried_out()
    kept = config / ".cfgmigrate" / "kept"
    (kept / f"{sha256(b'half')}.new").write_bytes(b"ha")
    (kept / "mine.new").write_bytes(b"mine")
    with store.locked():
        pass
    assert {each.name for each in kept.iterdir()} == {whole, "mine.new"}


def test_all_files_get_their_new_content_and_new_files_are_made(store: Store, config: Path) -> None:
    before = (config / "flow.conf").read_bytes()
    with store.locked():
        notes = carry_out(
            store,
            "install",
            [FileReplacement("flow.conf", before, b"new\n"), FileReplacement("parts/made.ini", None, b"x")],
        )
    assert notes == () or sys.platform != "linux", "every moment was watched"
    assert (config / "flow.conf").read_bytes() == b"new\n"
    assert (config / "parts" / "made.ini").read_bytes() == b"x"
    assert not (config / JOURNAL).exists()


@pytest.mark.parametrize("can_exchange", [True, False])
def test_a_file_that_is_not_as_expected_stops_all_of_them(
    store: Store, config: Path, kit: SimpleNamespace, monkeypatch: pytest.MonkeyPatch, can_exchange: bool
) -> None:
    if not can_exchange:
        monkeypatch.setattr(exchanging, "exchange", lambda one, other: False)
    moves = [
        FileReplacement("flow.conf", (config / "flow.conf").read_bytes(), b"new\n"),
        FileReplacement("parts/made.ini", None, b"x"),
        FileReplacement("feeder.ini", b"something else", b"new\n"),
    ]
    with store.locked(), pytest.raises(Refused, match=r"feeder\.ini: it was changed while this ran"):
        carry_out(store, "install", moves)
    assert kit.on_disk(config) == kit.FILES
    assert not store.pending


def test_no_change_is_begun_over_the_journal_of_one_that_was_interrupted(
    store: Store, config: Path, kit: SimpleNamespace
) -> None:
    leave_journal(config, "renaming")
    journal = (config / JOURNAL).read_bytes()
    move = FileReplacement("feeder.ini", (config / "feeder.ini").read_bytes(), b"new\n")
    with store.locked(), pytest.raises(Refused, match="interrupted change waits"):
        carry_out(store, "install", [move])
    assert kit.on_disk(config) == kit.FILES and (config / JOURNAL).read_bytes() == journal


def test_stopped_while_writing_is_undone(store: Store, config: Path, kit: SimpleNamespace) -> None:
    leave_journal(config, "writing")
    (config / ".cfgmigrate-0a0b-0").write_bytes(b"ne")
    assert recover_at(store.root) == Recovery("install", "undone", ("flow.conf",))
    assert kit.on_disk(config) == kit.FILES


def test_stopped_while_renaming_is_finished(store: Store, config: Path) -> None:
    leave_journal(config, "renaming")
    (config / ".cfgmigrate-0a0b-0").write_bytes(b"new\n")
    assert recover_at(store.root) == Recovery("install", "finished", ("flow.conf",))
    assert (config / "flow.conf").read_bytes() == b"new\n"


def test_a_hidden_file_cut_short_by_the_power_cut_is_not_used(
    store: Store, config: Path, kit: SimpleNamespace
) -> None:
    """A disk that lies about flushing can lose the content that the journal counts on."""
    leave_journal(config, "renaming")
    (config / ".cfgmigrate-0a0b-0").write_bytes(b"")
    assert recover_at(store.root) == Recovery("install", "undone", ("flow.conf",))
    assert kit.on_disk(config) == kit.FILES


@pytest.mark.parametrize("field", ["path", "temporary"])
@pytest.mark.parametrize(
    "path",
    [
        "../outside",
        "/etc/passwd",
        "parts/../../outside",
        "link/outside",
        7,
        None,
        ".cfgmigrate/../../outside",
    ],
)
@pytest.mark.parametrize("state", ["writing", "renaming"])
def test_a_journal_that_leads_outside_is_refused(
    store: Store, config: Path, tmp_path: Path, kit: SimpleNamespace, field: str, path: object, state: str
) -> None:
    outside = tmp_path / "outside"
    outside.write_bytes(kit.FILES["flow.conf"])
    (config / "link").symlink_to(tmp_path)
    leave_journal(config, state, lambda item: item.update({field: path}))
    with pytest.raises(Refused, match="journal of an interrupted change can't be read"):
        recover_at(store.root)
    assert outside.read_bytes() == kit.FILES["flow.conf"]
    assert store.pending


@pytest.mark.parametrize("folder", ["..", "link", "/tmp", "parts/../.."])
@pytest.mark.parametrize("state", ["writing", "renaming"])
def test_a_journal_that_leads_outside_with_all_its_paths_is_refused(
    store: Store, config: Path, tmp_path: Path, folder: str, state: str
) -> None:
    """Both paths agree with each other, so that no other check stands in for the one that is asked for."""
    outside = tmp_path / "outside"
    outside.write_bytes(b"old\n")
    (tmp_path / ".cfgmigrate-0a0b-0").write_bytes(b"new\n")
    (config / "link").symlink_to(tmp_path)
    where = {"path": f"{folder}/outside", "temporary": f"{folder}/.cfgmigrate-0a0b-0"}
    leave_journal(
        config, state, lambda item: item.update(where, before=sha256(b"old\n"), after=sha256(b"new\n"))
    )
    with pytest.raises(Refused, match="is not allowed"):
        recover_at(store.root)
    assert outside.read_bytes() == b"old\n"
    assert (tmp_path / ".cfgmigrate-0a0b-0").read_bytes() == b"new\n"


@pytest.mark.parametrize("lost", ["flow.conf", "feeder.ini"])
def test_where_one_hidden_file_is_lost_all_files_are_taken_back(
    store: Store, config: Path, kit: SimpleNamespace, lost: str
) -> None:
    """One file is new already, the other one's new content is gone: to call that finished would leave half of each."""
    names = ("flow.conf", "feeder.ini")
    items = []
    with store.locked():
        for at, name in enumerate(names):
            old, new = (config / name).read_bytes(), b"new " + name.encode()
            hidden = f".cfgmigrate-0a0b-{at}"
            store.keep(old), store.keep(new)
            items.append({"path": name, "temporary": hidden, "before": sha256(old), "after": sha256(new)})
            if name != lost:
                (config / name).write_bytes(new)
        store.carried_out()
    data = {"format": 1, "kind": "install", "state": "renaming", "items": items}
    (config / JOURNAL).write_text(json.dumps(data))
    found = recover_at(store.root)
    assert found is not None and found.outcome == "undone" and not found.conflicts
    assert kit.on_disk(config) == kit.FILES


def test_undoing_takes_no_file_away_of_which_there_is_no_copy(
    store: Store, config: Path, kit: SimpleNamespace
) -> None:
    leave_journal(
        config, "writing", lambda item: item.update(before=None, after=sha256(kit.FILES["flow.conf"]))
    )
    with pytest.raises(Refused, match="kept"):
        recover_at(store.root)
    assert (config / "flow.conf").read_bytes() == kit.FILES["flow.conf"]


@pytest.mark.parametrize(
    "temporary", ["flow.conf", "feeder.ini", "parts/.cfgmigrate-0a0b-0", ".cfgmigrate/lock"]
)
@pytest.mark.parametrize("state", ["writing", "renaming"])
def test_a_journal_can_take_no_file_away_that_is_not_one_of_ours(
    store: Store, config: Path, kit: SimpleNamespace, temporary: str, state: str
) -> None:
    leave_journal(config, state, lambda item: item.update(temporary=temporary))
    with pytest.raises(Refused, match="no file of ours"):
        recover_at(store.root)
    assert {path: (config / path).read_bytes() for path in kit.FILES} == kit.FILES


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"items": 7}', '{"items": [7]}', '{"items": [{}]}', "[" * 99_999]
)
def test_a_journal_that_is_none_is_said_and_kept(
    packet: Packet, config: Path, kit: SimpleNamespace, text: str
) -> None:
    (config / ".cfgmigrate").mkdir()
    (config / JOURNAL).write_text(text)
    for command in (install, revert):
        with pytest.raises(Refused, match=r"journal\.json: .*can't be read"):
            command(packet.folder)
    assert (config / JOURNAL).read_text() == text
    assert kit.on_disk(config) == kit.FILES


def test_a_kept_copy_that_is_missing_stops_the_undoing_and_nothing_is_lost(
    store: Store, config: Path
) -> None:
    leave_journal(config, "writing", lambda item: item.update(before=sha256(b"long gone")))
    (config / "flow.conf").write_bytes(b"new\n")
    with store.locked(), pytest.raises(Refused, match="can't be read"):
        recover(store)
    assert (config / "flow.conf").read_bytes() == b"new\n"
    assert store.pending


@pytest.mark.parametrize("name", [7, "../../secret", "", "x" * 64])
def test_a_kept_copy_has_no_other_name_than_its_hash(store: Store, name: Any) -> None:
    with pytest.raises(Refused, match="no name of a kept copy"):
        store.kept(name)


@pytest.mark.parametrize("name", [".cfgmigrate", ".cfgmigrate/lock", ".cfgmigrate/history.jsonl"])
def test_a_link_in_place_of_our_own_files_is_refused(
    packet: Packet, config: Path, tmp_path: Path, kit: SimpleNamespace, name: str
) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "file").write_bytes(b"precious\n")
    (config / name).parent.mkdir(exist_ok=True)
    (config / name).symlink_to(tmp_path / ("elsewhere" if name == ".cfgmigrate" else "file"))
    with pytest.raises(Refused):
        install(packet.folder)
    assert kit.on_disk(config) == kit.FILES
    assert (tmp_path / "file").read_bytes() == b"precious\n"
    assert not list((tmp_path / "elsewhere").iterdir())


def test_what_an_editor_saves_in_the_very_moment_of_the_exchange_is_there_afterwards(
    store: Store, config: Path, kit: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the last look at a file and the renaming over it, an editor saves it, as editors do: by a new file."""
    real = exchanging.exchange

    def saved_meanwhile(one: Path, other: Path) -> bool:
        if other.name == "flow.conf" and b"by hand" not in one.read_bytes() + other.read_bytes():
            saved = other.with_name("saved")
            saved.write_bytes(b"by hand\n")
            saved.replace(other)
        return real(one, other)

    monkeypatch.setattr(exchanging, "exchange", saved_meanwhile)
    moves = [
        FileReplacement(name, (config / name).read_bytes(), b"new\n") for name in ("feeder.ini", "flow.conf")
    ]
    with store.locked(), pytest.raises(Refused, match=r"flow\.conf: it was changed while this ran"):
        carry_out(store, "install", moves)
    assert kit.on_disk(config) == {**kit.FILES, "flow.conf": b"by hand\n"}
    assert not store.pending


def test_of_two_saves_in_the_moment_of_the_exchange_and_of_the_way_back_the_last_is_there(
    store: Store, config: Path, kit: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, saves = exchanging.exchange, [b"first save\n", b"second save\n"]

    def saved_meanwhile(one: Path, other: Path) -> bool:
        if saves:
            saved = other.with_name("saved")
            saved.write_bytes(saves.pop(0))
            saved.replace(other)
        return real(one, other)

    monkeypatch.setattr(exchanging, "exchange", saved_meanwhile)
    moves = [FileReplacement("flow.conf", (config / "flow.conf").read_bytes(), b"new\n")]
    with store.locked(), pytest.raises(Refused, match=r"flow\.conf: it was changed while this ran"):
        carry_out(store, "install", moves)
    assert kit.on_disk(config) == {**kit.FILES, "flow.conf": b"second save\n"}
    assert not store.pending


def test_what_an_editor_saved_is_there_after_a_kill_within_the_exchange(
    store: Store, config: Path, kit: SimpleNamespace
) -> None:
    """Killed between the exchange and the look at what came out: the hidden file holds what the editor saved."""
    leave_journal(config, "renaming")
    (config / ".cfgmigrate-0a0b-0").write_bytes(b"by hand\n")
    (config / "flow.conf").write_bytes(b"new\n")
    assert recover_at(store.root) == Recovery("install", "undone", ("flow.conf",), ("flow.conf",))
    assert kit.on_disk(config) == {**kit.FILES, "flow.conf": b"by hand\n"}


def test_killed_behind_the_exchange_the_change_is_finished(
    store: Store, config: Path, kit: SimpleNamespace
) -> None:
    leave_journal(config, "renaming")
    (config / ".cfgmigrate-0a0b-0").write_bytes(kit.FILES["flow.conf"])
    (config / "flow.conf").write_bytes(b"new\n")
    assert recover_at(store.root) == Recovery("install", "finished", ("flow.conf",))
    assert kit.on_disk(config) == {**kit.FILES, "flow.conf": b"new\n"}


def test_killed_before_the_journal_went_the_change_is_finished_and_the_journal_goes(
    store: Store, config: Path, kit: SimpleNamespace
) -> None:
    """Every file has its new content and no hidden file is left: nothing is taken back."""
    leave_journal(config, "renaming")
    (config / "flow.conf").write_bytes(b"new\n")
    assert recover_at(store.root) == Recovery("install", "finished", ("flow.conf",))
    assert kit.on_disk(config) == {**kit.FILES, "flow.conf": b"new\n"}
    assert not store.pending


@pytest.mark.parametrize("state", ["writing", "renaming"])
def test_what_was_put_in_order_is_not_found_again(store: Store, config: Path, state: str) -> None:
    leave_journal(config, state)
    (config / ".cfgmigrate-0a0b-0").write_bytes(b"new\n")
    assert recover_at(store.root) is not None
    assert not store.pending
    assert recover_at(store.root) is None


@pytest.mark.parametrize("left", [b"", b"half of the ol"])
def test_what_a_killed_undoing_left_goes_away(
    store: Store, config: Path, kit: SimpleNamespace, left: bytes
) -> None:
    leave_journal(config, "writing")
    with store.locked():
        store.keep(kit.FILES["flow.conf"])
        store.carried_out()
    (config / "flow.conf").write_bytes(b"new\n")
    (config / ".cfgmigrate-0a0b-0-back").write_bytes(left)
    assert recover_at(store.root) == Recovery("install", "undone", ("flow.conf",))
    assert kit.on_disk(config) == kit.FILES
    assert not list(config.rglob(".cfgmigrate-*"))


def test_what_somebody_edited_is_named(store: Store, config: Path) -> None:
    leave_journal(config, "writing")
    (config / "flow.conf").write_bytes(b"by hand\n")
    found = recover_at(store.root)
    assert found is not None and "Edited in the meantime, and left as they are: flow.conf" in str(found)


def test_edits_are_told_of_an_interrupted_change_where_there_were_any_and_only_there() -> None:
    finished, undone = (
        str(Recovery("install", outcome, ("flow.conf", "feeder.ini"), conflicts))
        for outcome, conflicts in (("finished", ()), ("undone", ("feeder.ini",)))
    )
    assert finished == "An interrupted install was found and finished: flow.conf, feeder.ini."
    assert undone.startswith("An interrupted install was found and undone: flow.conf, feeder.ini. Edited")
    assert undone.endswith(": feeder.ini.")


def test_a_system_that_cannot_exchange_files_says_so(
    store: Store, config: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(exchanging, "exchange", lambda one, other: False)
    with store.locked():
        notes = carry_out(
            store, "install", [FileReplacement("flow.conf", (config / "flow.conf").read_bytes(), b"new\n")]
        )
    assert (config / "flow.conf").read_bytes() == b"new\n"
    assert any("can't exchange two files" in note for note in notes)


@pytest.mark.parametrize("damage", [b"", b"something else"])
def test_a_damaged_kept_copy_is_written_again(store: Store, damage: bytes) -> None:
    with store.locked():
        name = store.keep(b"old\n")
        (store.folder / "kept" / name).write_bytes(damage)
        assert store.keep(b"old\n") == name
        assert store.kept(name) == b"old\n"


@pytest.mark.skipif(os.name != "posix", reason="only there has a file a mode of its own")
@pytest.mark.parametrize("mode", [0o600, 0o640])
def test_a_copy_can_be_read_by_whom_the_file_can_be_read(store: Store, config: Path, mode: int) -> None:
    file = config / "flow.conf"
    file.chmod(mode)
    with store.locked():
        name = store.keep(b"a secret\n", file)
    assert (store.folder / "kept" / name).stat().st_mode & 0o777 == mode


def test_what_a_new_file_could_not_have_of_the_old_one_is_told(
    store: Store, config: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever could write it before may not be able to now."""
    monkeypatch.setattr("cfgmigrate.store.transaction.write_new", _without_its_owner)
    with store.locked():
        move = FileReplacement("flow.conf", (config / "flow.conf").read_bytes(), b"first\n")
        notes = carry_out(store, "install", [move])
    assert "flow.conf: its owner" in notes


def _without_its_owner(path: Path, data: bytes, like: Path | None) -> tuple[str, ...]:
    path.write_bytes(data)
    return ("its owner",)


@pytest.mark.parametrize("spoilt", [False, True])
def test_a_change_that_fails_takes_its_own_copies_away_and_no_other(
    store: Store, config: Path, spoilt: bool
) -> None:
    """One that was spoilt and is written again is no new one: an older change needs it."""
    present = (config / "flow.conf").read_bytes()
    with store.locked():
        carry_out(store, "install", [FileReplacement("flow.conf", present, b"first\n")])
    kept = sorted((store.folder / "kept").iterdir())
    for copy in kept if spoilt else ():
        copy.write_bytes(b"spoilt")
    moves = [
        FileReplacement("flow.conf", b"first\n", b"second\n"),
        FileReplacement("feeder.ini", b"not so", b"third\n"),
    ]
    with pytest.raises(Refused), store.locked():
        carry_out(store, "install", moves)
    assert sorted((store.folder / "kept").iterdir()) == kept


def test_a_change_that_fails_behind_its_journal_leaves_the_copies_by_which_it_is_undone(
    store: Store, config: Path, kit: SimpleNamespace
) -> None:
    present = (config / "flow.conf").read_bytes()
    with pytest.raises(Refused, match="Nothing is lost"), store.locked():
        name = store.keep(present)
        leave_journal(config, "renaming")
        (config / "flow.conf").write_bytes(b"torn")
        raise OSError(errno.EIO, "Input/output error")
    assert store.kept(name) == present


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can give files away")
def test_what_root_keeps_belongs_to_whom_the_configuration_belongs(packet: Packet, config: Path) -> None:
    for path in (config, *config.rglob("*")):
        os.chown(path, 12345, 23456)
    config.chmod(0o775)
    old = os.umask(0o077)
    try:
        install(packet.folder)
    finally:
        os.umask(old)
    for path in ((config / ".cfgmigrate"), *(config / ".cfgmigrate").rglob("*")):
        assert (path.stat().st_uid, path.stat().st_gid) == (12345, 23456), path
        assert path.stat().st_mode & 0o060 == 0o060 or path.parent.name == "kept", path


def test_what_the_system_refuses_without_naming_a_file_is_said_of_the_configuration(store: Store) -> None:
    with pytest.raises(Refused, match="No space left") as raised, store.locked():
        raise OSError(errno.ENOSPC, "No space left on device")
    assert str(store.root) in str(raised.value)
    with pytest.raises(Refused, match=r"there\.conf"), store.locked():
        raise OSError(errno.ENOSPC, "No space left on device", "there.conf")


def test_a_first_change_that_fails_leaves_no_folder_of_its_own(store: Store, config: Path) -> None:
    """An empty one above other machines' would be taken for a history of theirs."""
    with pytest.raises(Refused, match="No space left"), store.locked():
        store.keep((config / "flow.conf").read_bytes())
        raise OSError(errno.ENOSPC, "No space left on device")
    assert not store.folder.exists()
    with store.locked():
        name = store.keep(b"kept")
        store.carried_out()
    with pytest.raises(Refused, match="No space left"), store.locked():
        raise OSError(errno.ENOSPC, "No space left on device")
    assert store.kept(name) == b"kept"


def test_a_lock_that_a_failed_run_took_away_lets_nobody_in(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever opened it before would hold another one than whoever comes next."""
    locks = keeping._lock

    def after_another(handle: int, root: Path, busy: str) -> None:
        (store.folder / "lock").unlink()
        locks(handle, root, busy)

    monkeypatch.setattr(keeping, "_lock", after_another)
    with pytest.raises(Refused, match="another run"), store.locked():
        pytest.fail("it was let in")


def test_a_run_that_made_the_folder_and_finds_another_one_at_work_leaves_the_lock_to_it(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Were it taken away, whoever comes next would make a new one and be at work beside the other."""

    def busy(_handle: int, _root: Path, busy: str) -> None:
        raise Refused(busy)

    monkeypatch.setattr(keeping, "_lock", busy)
    assert not store.folder.exists()
    with pytest.raises(Refused, match="another run"), store.locked():
        pytest.fail("it was let in")
    assert (store.folder / "lock").exists()


def test_nothing_is_written_beside_a_file_before_the_journal_tells_of_it(
    store: Store, config: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a kill left there else, nobody would ever take away."""
    writes, told = transaction.write_new, []

    def written(path: Path, data: bytes, like: Path | None) -> tuple[str, ...]:
        journal = read_journal(store)
        told.append(path.relative_to(store.root).as_posix() in {item.temporary for item in journal.items})
        return writes(path, data, like)

    monkeypatch.setattr(transaction, "write_new", written)
    moves = [
        FileReplacement("flow.conf", (config / "flow.conf").read_bytes(), b"new\n"),
        FileReplacement("made.ini", None, b"x"),
    ]
    with store.locked():
        carry_out(store, "install", moves)
    assert told == [True, True]


def test_a_file_saved_by_somebody_while_it_is_taken_back_is_left_and_named(
    store: Store, config: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with store.locked():
        store.keep((config / "flow.conf").read_bytes())
    leave_journal(config, "writing")
    (config / "flow.conf").write_bytes(b"new\n")

    def refuse(*_: object) -> None:
        raise Refused("it was changed while this ran")

    monkeypatch.setattr("cfgmigrate.store.undoing.put_in", refuse)
    found = recover_at(store.root)
    assert found is not None and found.conflicts == ("flow.conf",)
    assert (config / "flow.conf").read_bytes() == b"new\n"
    assert not list(config.rglob(".cfgmigrate-*"))


def test_what_another_run_has_put_in_by_then_is_not_taken_back(store: Store, config: Path) -> None:
    before = (config / "flow.conf").read_bytes()
    (config / "flow.conf").write_bytes(b"new\n")
    with store.locked(), pytest.raises(Refused, match="changed while this ran"):
        carry_out(store, "install", [FileReplacement("flow.conf", before, b"new\n")])
    assert (config / "flow.conf").read_bytes() == b"new\n"
    assert not (config / JOURNAL).exists()
