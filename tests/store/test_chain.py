"""A long history is read no longer than a short one, tells the same, and hides nothing that was done to it."""

from __future__ import annotations

import json
import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from cfgmigrate.apply.in_force import in_force
from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert, revert_to
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.ground.hashing import sha256
from cfgmigrate.ground.later import Later
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.edits import FileStep, Span
from cfgmigrate.store import chain, checked
from cfgmigrate.store import history as records
from cfgmigrate.store.chain import BUNDLE, LEFT, head_of
from cfgmigrate.store.checked import read_note
from cfgmigrate.store.history import history, record
from cfgmigrate.store.keeping import Store

LONG = 3 * BUNDLE + 5
#: a file system may give two changes within a clock's tick (10 ms at most, Linux) one time
TICK = 0.03


def add(config: Path, number: int, machine: str = "Wren") -> None:
    """A tuning of the retraction, recorded as an install does."""
    store, before = Store(config.resolve()), (config / "flow.conf").read_bytes()
    start = before.index(b"retract.length=") + len(b"retract.length=")
    end = before.index(b"\n", start)
    new = f"{number % 7}.{number}".encode()
    span = Span("retraction.length", start, end, start, start + len(new))
    step = FileStep("flow.conf", "flat", before, before[:start] + new + before[end:], (span,))
    reasons = {"said": [["machine", f"Wren {number}"]], "by_hand": [{"what": f"look {number}", "why": "so"}]}
    with store.locked():
        packet = sha256(str(number).encode())
        record(store, "tune", [step], {"flow.conf": "flow.conf"}, packet, machine, reasons=reasons)


@pytest.fixture
def noted(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was looked at is noted at once, as if it had lain there for a while."""
    monkeypatch.setattr(checked, "TOO_NEAR", -(10**15))


@pytest.fixture(scope="module")
def grown(tmp_path_factory: pytest.TempPathFactory, kit: SimpleNamespace) -> Path:
    """Where a long history is, but for its last entry."""
    root = tmp_path_factory.mktemp("grown") / "config"
    kit.lay_out(root, kit.FILES)
    for number in range(LONG - 1):
        add(root, number)
    return root


@pytest.fixture
def long(grown: Path, config: Path, noted: None) -> Path:
    """Where a long history is, all of it noted."""
    shutil.rmtree(config)
    shutil.copytree(grown, config)
    add(config, LONG - 1)
    time.sleep(TICK)
    return config


def folder(config: Path) -> Path:
    return config / ".cfgmigrate"


def bundles(config: Path) -> list[str]:
    first = (folder(config) / "history.jsonl").read_text("utf-8").splitlines()[0]
    names: list[str] = json.loads(first).get("bundles", [])
    return names


def same(config: Path) -> bool:
    """Whether all is told as it is where everything is read anew."""
    quick, anew = history(config), history(config, anew=True)
    standing = in_force(config, quick) == in_force(config, anew)
    return standing and tuple(quick) == tuple(anew) and quick.problems == anew.problems


@pytest.mark.parametrize("length", [1, BUNDLE, BUNDLE + LEFT - 1, BUNDLE + LEFT, BUNDLE + LEFT + 1, LONG])
def test_a_history_of_any_length_is_told_by_the_note_as_it_is_read_anew(
    config: Path, noted: None, length: int
) -> None:
    for number in range(length):
        add(config, number)
    found = history(config)
    assert same(config) and found.whole and len(found) == length
    assert [entry.number for entry in found] == list(range(1, length + 1))
    assert [entry.number for entry in reversed(found.entries)] == list(range(length, 0, -1))
    assert found.entries[-1].values[0][2] == f"{(length - 1) % 7}.{length - 1}"
    assert [entry.number for entry in found.entries[length // 2 :]] == list(
        range(length // 2 + 1, length + 1)
    )
    assert found.to_json(newest=3)["entries"] == found.to_json()["entries"][-3:]
    ends = {mark.first: mark.last for mark in read_note(Store(config.resolve())).values()}
    assert ends == {first: found.entries[first + BUNDLE - 2].hash for first in ends}
    with pytest.raises(IndexError):
        found.entries[length]


def test_the_newest_entries_are_read_in_full_and_no_others(
    long: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_full: list[int] = []
    read: list[str] = []
    entry_of, kept = chain.entry_of, Store.kept

    def counted(line: str, number: int, previous: str) -> Any:
        in_full.append(number)
        return entry_of(line, number, previous)

    def watched(store: Store, name: str) -> bytes:
        read.append(name)
        return kept(store, name)

    monkeypatch.setattr(chain, "entry_of", counted)
    monkeypatch.setattr(Store, "kept", watched)
    found = history(long)
    assert found.whole and found.entries[-1].number == LONG
    newest = list(found.entries[2 * BUNDLE :])
    assert in_full == [entry.number for entry in newest]
    assert set(read) <= {copy for entry in newest for _, copy in entry.copies}
    read.clear()
    assert found.entries[0].number == 1 and read == bundles(long)[:1], (
        "an entry that is asked for is read then"
    )
    read.clear()
    assert isinstance(found.entries[0].reasons, Later) and read == []
    history(long, anew=True)
    assert in_full[len(newest) :] == list(range(1, LONG + 1))


def test_what_is_kept_does_not_grow_with_the_history_itself(long: Path) -> None:
    mine = {copy for entry in history(long) for _, copy in entry.copies}
    assert {path.name for path in (folder(long) / "kept").iterdir()} == mine | set(bundles(long))
    assert len((folder(long) / "history.jsonl").read_bytes().splitlines()) <= BUNDLE + LEFT


def test_a_history_in_one_file_is_read_and_bundled_by_the_next_step(long: Path) -> None:
    """As an earlier release wrote it."""
    path, entries = folder(long) / "history.jsonl", history(long)
    lines = [(folder(long) / "kept" / name).read_text("utf-8") for name in bundles(long)]
    rest = path.read_text("utf-8").partition("\n")[2]
    path.write_text(f"{head_of(LONG, entries.entries[-1].hash, [])}\n{''.join(lines)}{rest}", "utf-8")
    (folder(long) / "checked.json").unlink()
    assert not bundles(long) and tuple(history(long)) == tuple(entries)
    add(long, LONG)
    assert len(bundles(long)) == 2 and same(long) and tuple(history(long))[:-1] == tuple(entries)


def spoil(path: Path) -> None:
    """Another byte in the middle, and size and time of writing as they were."""
    data, about = bytearray(path.read_bytes()), path.stat()
    data[len(data) // 2] ^= 1
    with path.open("r+b") as file:
        file.write(data)
    os.utime(path, ns=(about.st_atime_ns, about.st_mtime_ns))


def rewrite_head(config: Path, change: Callable[[list[str]], list[str]]) -> None:
    path = folder(config) / "history.jsonl"
    first, _, rest = path.read_text("utf-8").partition("\n")
    said = json.loads(first)
    path.write_text(f"{head_of(said['entries'], said['last'], change(said['bundles']))}\n{rest}", "utf-8")


@pytest.mark.parametrize(("named", "said"), [([], 1), (["a" * 64], 2)])
def test_a_history_with_bundles_says_that_it_is_of_the_second_format(named: list[str], said: int) -> None:
    """An older release, which knows the first alone, must not take its lines for all that there are."""
    head = json.loads(head_of(7, "f" * 64, named))
    assert (head["format"], head["entries"], head["last"], head.get("bundles", [])) == (
        said,
        7,
        "f" * 64,
        named,
    )


def of_the_first(config: Path) -> list[Path]:
    """The copies that the oldest entry needs."""
    return [folder(config) / "kept" / copy for _, copy in history(config).entries[0].copies]


def bundle(config: Path) -> Path:
    return folder(config) / "kept" / bundles(config)[0]


def forge_a_bundle(config: Path) -> None:
    """A value in an old entry is another, and the bundle has the name of what it holds now."""
    data = bundle(config).read_bytes()
    made = data.replace(b'"kind": "tune"', b'"kind": "done"', 1)
    (folder(config) / "kept" / sha256(made)).write_bytes(made)
    rewrite_head(config, lambda names: [sha256(made), *names[1:]])


def lengthen_a_bundle(config: Path) -> None:
    data = bundle(config).read_bytes()
    made = data + data.splitlines(keepends=True)[-1]
    (folder(config) / "kept" / sha256(made)).write_bytes(made)
    rewrite_head(config, lambda names: [sha256(made), *names[1:]])


BREAKS: dict[str, Callable[[Path], object]] = {
    "a bundle is gone": lambda config: bundle(config).unlink(),
    "a byte of a bundle is another": lambda config: spoil(bundle(config)),
    "a bundle is cut": lambda config: bundle(config).write_bytes(bundle(config).read_bytes()[:-40]),
    "a bundle is empty": lambda config: bundle(config).write_bytes(b""),
    "a bundle is another one's text": lambda config: bundle(config).write_bytes(
        (folder(config) / "kept" / bundles(config)[1]).read_bytes()
    ),
    "a bundle is a folder": lambda config: (bundle(config).unlink(), bundle(config).mkdir()),
    "a bundle is a link": lambda config: bundle(config).rename(config / "moved") and bundle(config).symlink_to("../../moved"),
    "a bundle is named no more": lambda config: rewrite_head(config, lambda names: names[1:]),
    "no bundle is named": lambda config: rewrite_head(config, lambda names: []),
    "bundles are swapped": lambda config: rewrite_head(config, lambda names: names[::-1]),
    "a bundle is named twice": lambda config: rewrite_head(config, lambda names: [*names, names[-1]]),
    "a bundle has a path for a name": lambda config: rewrite_head(config, lambda names: ["../lock", *names[1:]]),
    "a bundle is named by a number": lambda config: rewrite_head(config, lambda names: [*names[1:], 7]),  # type: ignore[list-item]
    "a bundle is named by a list": lambda config: rewrite_head(config, lambda names: [*names[1:], []]),  # type: ignore[list-item]
    "an entry of a bundle is forged": forge_a_bundle,
    "a bundle has an entry too many": lengthen_a_bundle,
    "an old copy is gone": lambda config: of_the_first(config)[0].unlink(),
    "a byte of an old copy is another": lambda config: spoil(of_the_first(config)[1]),
    "an old copy is another one's": lambda config: of_the_first(config)[0].write_bytes(
        of_the_first(config)[1].read_bytes()
    ),
    "all copies are gone": lambda config: [path.unlink() for path in (folder(config) / "kept").iterdir()],
}  # fmt: skip


@pytest.mark.parametrize("note", ["noted", "not noted"])
@pytest.mark.parametrize("how", BREAKS)
def test_what_was_done_to_an_old_part_is_said_and_nothing_is_built_on_it(
    long: Path, packet: Packet, kit: SimpleNamespace, how: str, note: str
) -> None:
    entries = len(history(long))
    if how in ("a bundle is a link",) and os.name != "posix":
        pytest.skip("links")
    if note == "not noted":
        (folder(long) / "checked.json").unlink()
    BREAKS[how](long)
    found, as_it_was = history(long), kit.on_disk(long)
    assert not found.whole and same(long)
    if "named" not in how and "path" not in how:
        assert len(found) == entries
    in_force(long)
    with pytest.raises((Refused, BadInput)):
        revert_to(long, "start")
    with pytest.raises(Refused, match="history is broken"):
        add(long, LONG)
    assert kit.on_disk(long) == as_it_was


@pytest.mark.parametrize("left", [0, 1, -1])
def test_newest_entries_that_were_cut_off_are_missed(long: Path, left: int) -> None:
    """What is left is whole by itself: only the first line says that there was more."""
    path = folder(long) / "history.jsonl"
    first, *lines = path.read_text("utf-8").splitlines(keepends=True)
    path.write_text("".join([first, *lines[:left]]), "utf-8")
    found = history(long)
    assert not any(entry.problem for entry in found)
    assert any("the first line says" in each for each in found.problems)
    with pytest.raises(Refused, match="history is broken"):
        add(long, LONG)


def test_a_copy_that_was_just_written_is_read_each_time(config: Path) -> None:
    """A second change might bear the same time."""
    for number in range(LONG):
        add(config, number)
    for path in (bundle(config), of_the_first(config)[1]):
        data = path.read_bytes()
        spoil(path)
        assert not history(config).whole
        path.write_bytes(data)
        assert history(config).whole


def sealed(body: bytes) -> bytes:
    return f"{sha256(body)}\n".encode() + body


def altered(change: Callable[[dict[str, Any]], object]) -> Callable[[bytes], bytes]:
    """A note of which something is changed in the mark of its last bundle, sealed again."""

    def alter(data: bytes) -> bytes:
        marks = json.loads(data.partition(b"\n")[2])
        change(marks[list(marks)[-1]])
        return sealed(json.dumps(marks).encode())

    return alter


NOTES: dict[str, Callable[[bytes], bytes]] = {
    "nothing": lambda data: b"",
    "no note": lambda data: b"hello\n",
    "cut": lambda data: data[:-7],
    "a digit is another": lambda data: data[:-30] + bytes([data[-30] ^ 1]) + data[-29:],
    "deep": lambda data: sealed(b"[" * 100_000),
    "no marks": lambda data: sealed(b"{}"),
    "a list": lambda data: sealed(b"[1]"),
    "marks of another kind": lambda data: sealed(json.dumps(dict.fromkeys(json.loads(data.partition(b"\n")[2]), 5)).encode()),
    "another first": altered(lambda mark: mark.update(first=2)),
    "another entry before": altered(lambda mark: mark.update(previous="f" * 64)),
    "another last": altered(lambda mark: mark.update(last="f" * 64)),
    "a field too few": altered(lambda mark: mark.pop("last")),
    "looks of another kind": altered(lambda mark: mark.update(copies={"a": "b"})),
    "no looks": altered(lambda mark: mark.update(copies=dict.fromkeys(mark["copies"]))),
    "other looks": altered(lambda mark: mark.update(copies={name: [1, 2, 3, 4] for name in mark["copies"]})),
}  # fmt: skip


@pytest.mark.parametrize("how", NOTES)
def test_a_note_is_never_believed_over_the_history(long: Path, how: str) -> None:
    path = folder(long) / "checked.json"
    path.write_bytes(NOTES[how](path.read_bytes()))
    assert same(long) and history(long).whole
    add(long, LONG)
    assert same(long) and history(long).whole
    marks = json.loads(path.read_bytes().partition(b"\n")[2])
    assert list(marks) == bundles(long), "and the next step mends it"


def test_a_bundle_out_of_order_is_not_read_even_where_its_note_calls_it_whole(long: Path) -> None:
    """What is undone in another order than it was done gives back a value in between."""
    old, lines = bundles(long)[0], bundle(long).read_bytes().splitlines(keepends=True)
    made = b"".join([lines[0], lines[2], lines[1], *lines[3:]])
    (folder(long) / "kept" / sha256(made)).write_bytes(made)
    rewrite_head(long, lambda names: [sha256(made), *names[1:]])
    path = folder(long) / "checked.json"
    marks = json.loads(path.read_bytes().partition(b"\n")[2])
    marks = {sha256(made): {**marks.pop(old), "copies": {sha256(made): None}}, **marks}
    path.write_bytes(sealed(json.dumps(marks).encode()))
    with pytest.raises(Refused, match="no part of the history"):
        list(history(long))


def test_a_note_of_another_copy_of_the_folder_is_not_believed(long: Path, tmp_path: Path) -> None:
    shutil.copytree(long, tmp_path / "copied")
    assert same(tmp_path / "copied") and history(tmp_path / "copied").whole
    spoil(of_the_first(tmp_path / "copied")[0])
    assert not history(tmp_path / "copied").whole and same(tmp_path / "copied")


def test_no_note_can_be_written_and_all_goes_on(config: Path, noted: None) -> None:
    (folder(config)).mkdir()
    (folder(config) / "checked.json").mkdir()
    for number in range(LONG):
        add(config, number)
    assert same(config) and history(config).whole and len(bundles(config)) == 2


def test_a_name_that_is_no_text_goes_into_a_bundle_and_back(
    config: Path, packet: Packet, noted: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What JSON can't say as it stands is read by the other way."""
    for module in (chain, records):
        monkeypatch.setattr(module, "BUNDLE", 1)
        monkeypatch.setattr(module, "LEFT", 1)
    install(packet.folder)
    revert(packet.folder)
    (text,) = ((folder(config) / "kept" / name).read_bytes() for name in bundles(config))
    for said in (b"Wren", b"Wr\\udcffn"):
        line = text.replace(b'"machine": "Wren"', b'"machine": "%s"' % said)
        (found,) = chain.entries_known(line, 1, "")
        assert found.problem == ("" if said == b"Wren" else "it was changed after it was written")


def test_a_long_history_of_a_machine_whose_name_is_no_text_is_told_like_any_other(
    config: Path, noted: None
) -> None:
    """Its lines are read in full each time, and each of them follows the one before it."""
    for number in range(LONG):
        add(config, number, machine="Wr\udcffn")
    time.sleep(TICK)
    found = history(config)
    assert found.whole and len(read_note(Store(config.resolve()))) == len(bundles(config)) == 2
    assert not any(entry.problem for entry in found) and same(config)
    revert_to(config, "start")
    assert b"retract.length=5.4" in (config / "flow.conf").read_bytes()
