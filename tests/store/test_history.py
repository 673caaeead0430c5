"""The history lists every step in a chain of hashes, and any of them can be gone back to."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from cfgmigrate.apply.going_back import Unanswered
from cfgmigrate.apply.in_force import in_force
from cfgmigrate.apply.install import install
from cfgmigrate.apply.prior_installs import told_by
from cfgmigrate.apply.revert import revert, revert_to
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.packet.folder import Packet, hash_of_json
from cfgmigrate.plan.edits import FileStep
from cfgmigrate.reports.record import steps_of
from cfgmigrate.store.history import history, record
from cfgmigrate.store.history import steps_of as steps_of_entry
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.kept_reasons import are_reasons

HISTORY = ".cfgmigrate/history.jsonl"


@pytest.fixture
def three_steps(packet: Packet, config: Path, tmp_path: Path, kit: SimpleNamespace) -> list[dict[str, bytes]]:
    """Install, a hand edit, two tunings; gives the states in between."""
    states = [kit.on_disk(config)]
    install(packet.folder)
    states.append(kit.on_disk(config))
    flow = (config / "flow.conf").read_bytes()
    (config / "flow.conf").write_bytes(flow.replace(b"retract.speed=45", b"retract.speed=30"))
    for number, (old, new) in enumerate([("0.04", "0.05"), ("0.05", "0.045")]):
        files = kit.on_disk(config)
        change = kit.move(files, "lag.coefficient", "flow.conf", f"lag.coefficient <{old}>".encode(), new)
        tuned = kit.pack(tmp_path / f"tuned {number}", files, [change], str(config))
        install(tuned.folder, kind="tune")
        states.append(kit.on_disk(config))
    return states


def test_there_is_none_before_the_first_install(config: Path) -> None:
    assert len(history(config)) == 0 and history(config).whole
    assert not (config / ".cfgmigrate").exists()


def test_each_step_is_an_entry_with_what_it_changed(
    packet: Packet, config: Path, three_steps: list[dict[str, bytes]]
) -> None:
    revert(packet.folder, only=["axis.z.max"])
    found = history(config)
    assert found.whole
    assert [(entry.number, entry.kind) for entry in found] == [
        (1, "install"),
        (2, "tune"),
        (3, "tune"),
        (4, "revert"),
    ]
    assert found.entries[0].packet == packet.hash
    assert ("lag.coefficient", "0.05", "0.045") in found.entries[2].values
    assert found.entries[3].values == (("axis.z.max", "186.5", "235"),)
    assert [entry.previous for entry in found][1:] == [entry.hash for entry in found][:-1]
    assert {(entry.packet, entry.machine) for entry in found if entry.kind != "tune"} == {
        (packet.hash, "Wren")
    }
    told = json.loads(json.dumps(found.to_json()))
    assert told["whole"] is True and all("problem" not in entry for entry in told["entries"])


def test_going_back_to_the_start_keeps_the_edit_made_in_between(
    config: Path, three_steps: list[dict[str, bytes]], kit: SimpleNamespace
) -> None:
    report = revert_to(config, "start")
    expected = dict(three_steps[0])
    expected["flow.conf"] = expected["flow.conf"].replace(b"retract.speed=45", b"retract.speed=30")
    assert kit.on_disk(config) == expected
    assert any("retract.speed=30" in (item.present or "") for item in report.kept)
    assert len([item for item in report.restored if item.name == "lag.coefficient"]) == 1
    assert len(history(config)) == 4 and history(config).whole
    last = history(config).entries[-1]
    assert (last.kind, last.machine) == ("revert", "Wren")
    assert last.packet == history(config).entries[2].packet, "the newest of those that went back"


@pytest.mark.parametrize("entry", [2, "2"])
def test_going_back_to_an_entry_gives_the_state_right_after_it(
    config: Path, three_steps: list[dict[str, bytes]], kit: SimpleNamespace, entry: int | str
) -> None:
    revert_to(config, entry)
    assert kit.on_disk(config) == three_steps[2]


def test_going_back_can_itself_be_gone_back_over(
    config: Path, three_steps: list[dict[str, bytes]], kit: SimpleNamespace
) -> None:
    revert_to(config, "start")
    revert_to(config, 3)
    assert kit.on_disk(config) == three_steps[3]
    revert_to(config, 1)
    assert b"lag.coefficient 0.04\n" in kit.on_disk(config)["flow.conf"]
    assert history(config).whole


def test_going_back_to_where_one_is_changes_nothing(
    config: Path, three_steps: list[dict[str, bytes]]
) -> None:
    report = revert_to(config, 3)
    assert not report.written and len(history(config)) == 3


def test_a_value_changed_by_hand_is_a_conflict_on_the_way(
    config: Path, three_steps: list[dict[str, bytes]], kit: SimpleNamespace
) -> None:
    flow = config / "flow.conf"
    flow.write_bytes(flow.read_bytes().replace(b"lag.coefficient 0.045", b"lag.coefficient 0.06"))
    with pytest.raises(Unanswered):
        revert_to(config, "start")
    revert_to(config, "start", force=["lag.coefficient"])
    assert b"lag.coefficient 0.55\n" in flow.read_bytes()


@pytest.mark.parametrize("entry", [0, 4, -1, "soon", ""])
def test_an_entry_that_is_not_there_is_bad_input(
    config: Path, three_steps: list[dict[str, bytes]], entry: int | str
) -> None:
    with pytest.raises(BadInput, match="has no entry"):
        revert_to(config, entry)


def test_the_last_packet_can_be_reverted_after_later_steps(
    packet: Packet, config: Path, three_steps: list[dict[str, bytes]]
) -> None:
    """The lag was tuned since the packet was installed: that is a change made since, so it is asked for."""
    with pytest.raises(Unanswered) as raised:
        revert(packet.folder)
    assert [item.name for item in raised.value.report.conflicts] == ["lag.coefficient"]
    revert(packet.folder, keep=["lag.coefficient"])
    assert b"lag.coefficient 0.045" in (config / "flow.conf").read_bytes()
    assert (config / "feeder.ini").read_bytes() == packet.before["feeder.ini"]


def lines(config: Path) -> list[bytes]:
    return (config / HISTORY).read_bytes().splitlines(keepends=True)


BREAKS: dict[str, Callable[[list[bytes]], list[bytes]]] = {
    "the last entry is gone": lambda found: found[:-1],
    "the first entry is gone": lambda found: [found[0], *found[2:]],
    "two entries are swapped": lambda found: [found[0], found[2], found[1], found[3]],
    "an entry is there twice": lambda found: [*found, found[-1]],
    "a letter is another": lambda found: [*found[:2], found[2].replace(b"tune", b"tuna"), found[3]],
    "a line is cut": lambda found: [*found[:3], found[3][:40]],
    "a line is no JSON": lambda found: [found[0], b"hello\n", *found[2:]],
    "the first line is gone": lambda found: found[1:],
    "all entries are gone": lambda found: found[:1],
    "all is gone": lambda found: [],
}


@pytest.mark.parametrize("how", BREAKS)
def test_a_broken_chain_is_said_and_nothing_is_built_on_it(
    packet: Packet, config: Path, three_steps: list[dict[str, bytes]], kit: SimpleNamespace, how: str
) -> None:
    (config / HISTORY).write_bytes(b"".join(BREAKS[how](lines(config))))
    found = history(config)
    assert not found.whole and found.problems
    told = json.loads(json.dumps(found.to_json()))
    assert (told["whole"], told["problems"]) == (False, list(found.problems))
    assert [each.get("problem", "") for each in told["entries"]] == [entry.problem for entry in found]
    as_it_was = kit.on_disk(config)
    for entry in ("start", 1):
        with pytest.raises((Refused, BadInput)):
            revert_to(config, entry)
    for dry_run in (True, False):
        with pytest.raises(Refused, match="history is broken"):
            revert(packet.folder, dry_run=dry_run, keep=["lag.coefficient"])
    assert kit.on_disk(config) == as_it_was


def test_a_kept_copy_that_was_changed_is_said(config: Path, three_steps: list[dict[str, bytes]]) -> None:
    first = history(config).entries[0].files[0].before
    copy = config / ".cfgmigrate" / "kept" / str(first)
    copy.write_bytes(copy.read_bytes() + b" ")
    found = history(config)
    assert "can't be given back" in found.entries[0].problem
    with pytest.raises(Refused, match="kept copy was changed"):
        revert_to(config, "start")


def test_a_broken_history_can_be_moved_away_and_a_packet_still_reverted(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    install(packet.folder)
    (config / HISTORY).write_bytes(b"garbage\n")
    with pytest.raises(Refused, match=r"move \.cfgmigrate/history\.jsonl away"):
        revert(packet.folder)
    (config / HISTORY).rename(config.parent / "old history")
    revert(packet.folder)
    assert kit.on_disk(config) == kit.FILES


def write_only(path: Path, entry: dict[str, Any]) -> None:
    """A history of this one entry, with every hash right."""
    entry.pop("hash", None)
    entry["hash"] = hash_of_json(entry)
    head = json.dumps({"format": 1, "entries": 1, "last": entry["hash"]})
    path.write_text(f"{head}\n{json.dumps(entry)}\n", encoding="utf-8")


def chained(*entries: dict[str, Any]) -> str:
    """A history of these entries, each of its own hash, and of a first line that fits."""
    for entry in entries:
        entry.pop("hash", None)
        entry["hash"] = hash_of_json(entry)
    head = {"format": 1, "entries": len(entries), "last": entries[-1]["hash"]}
    return "".join(json.dumps(line) + "\n" for line in (head, *entries))


def test_an_entry_that_does_not_follow_is_found_even_with_every_hash_right(
    config: Path, three_steps: list[dict[str, bytes]]
) -> None:
    path = config / HISTORY
    _, first, second, third = map(json.loads, path.read_text(encoding="utf-8").splitlines())
    path.write_text(chained(first, second, third), encoding="utf-8")
    assert history(config).whole
    for altered in ({**first, "machine": "Wigeon"}, {**first, "number": 7}):
        path.write_text(chained(altered, dict(second), dict(third)), encoding="utf-8")
        assert "does not follow the one before it" in history(config).problems[0]
    path.write_text(chained(dict(first), {**second, "number": 3}), encoding="utf-8")
    assert "entry 2: it does not follow the one before it" in history(config).problems[0]


def test_a_history_whose_last_line_end_was_lost_is_still_whole(
    config: Path, three_steps: list[dict[str, bytes]]
) -> None:
    path = config / HISTORY
    path.write_bytes(path.read_bytes().removesuffix(b"\n"))
    assert history(config).whole and len(history(config)) == 3
    revert_to(config, 2)
    assert history(config).whole and len(history(config)) == 4


def places_in(data: Any, at: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """The way to everything in a piece of JSON."""
    for step in data if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ():
        yield (*at, step)
        yield from places_in(data[step], (*at, step))


@pytest.mark.parametrize("value", [None, 5, "x", {}, [1], ["a", "b"], {"a": 1}, [[1]]], ids=ascii)
def test_reasons_of_another_kind_are_never_handed_on_even_with_every_hash_right(
    packet: Packet, config: Path, value: object
) -> None:
    """Whatever reads them finds what it knows, or the entry can't be read."""
    install(packet.folder)
    path = config / HISTORY
    entry = json.loads(path.read_text(encoding="utf-8").splitlines()[1])
    ways = {
        tuple("*" if type(step) is int else step for step in way): way for way in places_in(entry["reasons"])
    }
    assert len(ways) > 30
    for way in ways.values():
        altered = copy.deepcopy(entry)
        *path_to, last = way
        place = altered["reasons"]
        for step in path_to:
            place = place[step]
        place[last] = value
        write_only(path, altered)
        if history(config).whole:
            found = in_force(config)
            assert found.entries and steps_of(history(config))
            assert repr((found.changes, found.lights, found.by_hand))
            told_by(history(config), config, dict(packet.after), lambda _: {}, None)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("kind", {"a": 1}),
        ("kind", None),
        ("machine", 5),
        ("number", True),
        ("reasons", [["said", 1]]),
        ("path", -1),
        ("dialect", []),
        ("after", 7),
    ],
)
def test_an_entry_with_a_field_of_another_kind_can_t_be_read_even_with_its_hash_right(
    packet: Packet, config: Path, field: str, value: object
) -> None:
    install(packet.folder)
    path = config / HISTORY
    entry = json.loads(path.read_text(encoding="utf-8").splitlines()[1])
    (entry["files"][0] if field in entry["files"][0] else entry)[field] = value
    write_only(path, entry)
    first = history(config).problems[0]
    assert first in ("entry 1: it can't be read", "entry 1: it was changed after it was written")
    with pytest.raises(Refused, match="history is broken"):
        revert_to(config, "start")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("number", "1970-01-01"),
        ("reasons", {"said": [[]]}),
        ("reasons", {"by_hand": [0]}),
        ("reasons", {"changes": ["x"]}),
    ],
)
def test_of_an_entry_that_was_altered_to_another_kind_nothing_is_told_but_that(
    packet: Packet, config: Path, field: str, value: object
) -> None:
    install(packet.folder)
    path = config / HISTORY
    first, line = path.read_text(encoding="utf-8").splitlines()
    altered = json.dumps({**json.loads(line), field: value})
    path.write_text(f"{first}\n{altered}\n", encoding="utf-8")
    found = history(config)
    assert found.problems[0] == "entry 1: it was changed after it was written"
    assert [(each.number, each.values, each.by_hand) for each in steps_of(found)] == [(1, (), ())]


def test_a_file_that_was_not_there_before_a_step_has_no_copy_of_before(config: Path) -> None:
    store, step = Store(config.resolve()), FileStep("new.conf", "flat", None, b"lag = 1\n", ())
    with store.locked():
        record(store, "install", [step], {"new.conf": "new.conf"}, "p", "Wren")
    (entry,) = history(config).entries
    assert steps_of_entry(store, entry) == (step,)


def test_a_light_is_kept_with_its_name_its_holder_and_its_state_and_a_reason_if_there_is_one() -> None:
    light = {"light": "feed", "holder": "machine", "state": "set"}
    assert are_reasons({"lights": [light]}) and are_reasons({"lights": [{**light, "why": "so"}]})
    for name in light:
        assert not are_reasons({"lights": [light, {key: light[key] for key in light if key != name}]})
