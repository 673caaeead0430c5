"""Packets and histories that an earlier release wrote are still verified, reviewed, shown and taken back.

The archives beside this file were made by `make.py` with version 0.1.0 and are never made anew: what was written
once must be read for ever. Each is unpacked and asked through the command line alone, and must say and do what was
seen when it was made. Pages may be worded otherwise by now; that is no fault of a packet.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import tarfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from commandline import Runner, Said

from cfgmigrate.rules.former_names import present_name

ARCHIVES = {
    path.name.removesuffix(".tar.xz"): path for path in sorted(Path(__file__).parent.glob("*.tar.xz"))
}


@dataclass(frozen=True)
class Past:
    """A machine of the past, unpacked: its configuration, its packets, and what was seen of them."""

    folder: Path
    seen: dict[str, Any]

    @property
    def config(self) -> Path:
        return self.folder / "config"

    @property
    def reviewed(self) -> dict[str, dict[str, Any]]:
        found = {name: packet["review"] for name, packet in self.seen["packets"].items()}
        return {name: review for name, review in found.items() if review is not None}

    def packet(self, name: str) -> Path:
        return self.folder / "packets" / name

    def arguments(self, step: dict[str, Any]) -> list[str]:
        places = {name: self.packet(name) for name in self.seen["packets"]}
        found = [part.format(config=self.config, **places) for part in step["arguments"]]
        # What another release knew can't be proven here, so whoever installs takes that on.
        return [*found, "--accept-unproven"] if found[0] == "install" else found

    def state(self) -> dict[str, str]:
        """The SHA-256 of each file of the configuration, without what the tool keeps beside them."""
        return {
            path.relative_to(self.config).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in self.config.rglob("*")
            if path.is_file() and ".cfgmigrate" not in path.parts
        }


def unpack(name: str, folder: Path) -> Past:
    with tarfile.open(ARCHIVES[name]) as archive:
        archive.extractall(folder, filter="data")
    return Past(folder, json.loads((folder / "expect.json").read_text(encoding="utf-8")))


@pytest.fixture(params=list(ARCHIVES))
def past(request: pytest.FixtureRequest, tmp_path: Path) -> Past:
    return unpack(request.param, tmp_path)


def everything(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def restored(said: Said) -> list[str]:
    """What a revert gave back, in a form that can be sorted."""
    keys = ("quantity", "file", "present", "old")
    return sorted(str([item[key] for key in keys]) for item in json.loads(said.out).get("restored", ()))


def told(held: list[dict[str, str]]) -> list[dict[str, str]]:
    """What is held back, by the fields that there were; those that came since say that it is the machine's."""
    assert {each["holder"] for each in held} <= {"machine"}
    return [{field: each[field] for field in ("quantity", "why")} for each in held]


def words(text: str) -> str:
    return " ".join(text.split())


def test_every_kind_of_past_is_there() -> None:
    told = [name.partition("-") for name in ARCHIVES]
    assert {machine for machine, _, what in told if what == "prepared"} == {
        "dunlin", "knot", "plover", "siskin", "wren",
    }  # fmt: skip
    assert {what for _, _, what in told} >= {
        "reviewed", "rest", "tuned", "from-wren", "named", "edited", "again", "twice", "interrupted",
    }  # fmt: skip


def test_its_packets_hold(cli: Runner, past: Past) -> None:
    for name in past.seen["packets"]:
        said = cli("verify", past.packet(name), "--json")
        found = json.loads(said.out)
        assert (said.status, found["problems"]) == (0, [])
        assert any("said to be written by another release" in note for note in found["notes"])


def test_its_packets_hold_the_changes_that_were_seen(past: Past) -> None:
    """The archives are what they were: neither packed anew nor mended."""
    for name, seen in past.seen["packets"].items():
        plan = json.loads((past.packet(name) / "changes.json").read_bytes())
        assert (plan["format"], plan["kind"], plan["hash"]) == (1, seen["kind"], seen["hash"])
        assert seen["changes"] == [
            [change["quantity"], edit["old"], edit["new"], edit["file"], edit["line"]]
            for change in plan["changes"]
            for edit in change["edits"]
        ]
    assert past.state() == past.seen["states"][past.seen["state"]]


def test_one_changed_byte_of_its_packets_is_found(cli: Runner, past: Past) -> None:
    for name in past.seen["packets"]:
        index = past.packet(name) / "changes.json"
        index.write_bytes(index.read_bytes().replace(b'"new"', b'"nww"', 1))
        assert cli("verify", past.packet(name)).status == 1


def test_its_reviews_are_shown_and_still_hold_back_what_was_not_accepted(cli: Runner, past: Past) -> None:
    for name, review in past.reviewed.items():
        packet = past.packet(name)
        root = shutil.copytree(packet / "before", past.folder / f"{name}.before")
        asked = (
            "install",
            packet,
            "--require-review",
            "--dry-run",
            "--json",
            "--accept-unproven",
            "--root",
            root,
        )
        for record in (packet / "review.yaml", past.folder / "records" / name):
            assert told(json.loads(cli(*asked).out)["held"]) == review["held"]
            said = cli("review", packet, "--record", record)
            assert said.status == 0, said.err
            shown = words(said.out)
            assert review["reviewer"] in shown and review["time"] in shown
            items = json.loads(cli("review", packet, "--json").out)["items"]
            kept = {item["id"]: item["verdicts"].get(review["reviewer"]) for item in items}
            for verdict in review["verdicts"]:
                assert kept[verdict["item"]] == {"verdict": verdict["verdict"], "note": verdict["note"]}
                assert words(verdict["note"]) in shown
        assert told(json.loads(cli(*asked).out)["held"]) == review["held"]


def test_its_history_lists_the_same_entries(cli: Runner, past: Past) -> None:
    said = cli("history", past.config, "--json")
    assert said.status == 0, said.err
    found, seen = json.loads(said.out), past.seen["history"]
    assert found["whole"] and len(found["entries"]) == len(seen["entries"])
    for entry, wanted in zip(found["entries"], seen["entries"], strict=True):
        for field in ("number", "kind", "packet", "machine", "values", "previous", "hash"):
            assert entry[field] == wanted[field]
        for file, was in zip(entry["files"], wanted["files"], strict=True):
            assert [file[field] for field in ("path", "before", "after")] == [
                was[field] for field in ("path", "before", "after")
            ]
    shown = words(cli("history", past.config).out)
    for wanted in seen["entries"]:
        assert f"{wanted['number']}. {wanted['time']}: {wanted['kind']}" in shown


def test_its_record_names_who_reviewed_it(cli: Runner, past: Past) -> None:
    said = cli("report", past.config)
    assert said.status == 0, said.err
    installed = {entry["packet"] for entry in past.seen["history"]["entries"]}
    for name, review in past.reviewed.items():
        assert (review["reviewer"] in said.out) == (past.seen["packets"][name]["hash"] in installed)


def test_nothing_is_installed_that_can_t_be_proven_unless_told(cli: Runner, tmp_path: Path) -> None:
    past = unpack("wren-prepared", tmp_path)
    untouched = everything(past.folder)
    said = cli("install", past.packet("swap"), "--root", past.config)
    assert said.status == 3 and "it is of an older format" in said.err and "--accept-unproven" in said.err
    assert everything(past.folder) == untouched


def test_every_way_back_and_there_ends_as_it_did(cli: Runner, past: Past, tmp_path: Path) -> None:
    for number, way in enumerate(past.seen["ways"]):
        copy = Past(tmp_path / f"way {number}", past.seen)
        for part in ("config", "packets"):
            shutil.copytree(past.folder / part, copy.folder / part)
        for step in way:
            arguments = copy.arguments(step)
            if step["arguments"][0] == "history":
                assert cli(*arguments).status == step["status"]
            else:
                goes_as_seen(cli, copy, arguments, step)
            assert copy.state() == past.seen["states"][step["state"]], arguments


def goes_as_seen(cli: Runner, past: Past, arguments: list[str], step: dict[str, Any]) -> None:
    """An install or a revert: a dry run tells the same and writes nothing; what is refused writes nothing."""
    untouched = everything(past.folder)
    tried = cli(*arguments, "--dry-run", "--json")
    assert tried.status == 0, tried.err
    assert everything(past.folder) == untouched
    said = cli(*arguments, "--json")
    assert said.status == step["status"], said.err
    if said.status:
        assert json.loads(tried.out)["conflicts"] and everything(past.folder) == untouched
    else:
        assert restored(said) == restored(tried) == sorted(map(str, step["restored"]))


@pytest.mark.parametrize(
    "name", [name for name in ARCHIVES if not name.endswith(("prepared", "edited", "again"))]
)
def test_the_start_is_what_the_first_packet_was_made_from(cli: Runner, tmp_path: Path, name: str) -> None:
    """Where nobody edited the files themselves, their first bytes come back; seen from the packet's own copies."""
    past = unpack(name, tmp_path)
    first = past.packet("swap") / "before"
    assert cli("revert", "--to", "start", past.config).status == 0
    now = {
        path.relative_to(past.config): path.read_bytes() for path in past.config.iterdir() if path.is_file()
    }
    assert now == {path.relative_to(first): path.read_bytes() for path in first.iterdir()}


def test_what_an_earlier_release_installed_is_not_worked_out_a_second_time(
    cli: Runner, tmp_path: Path
) -> None:
    past = unpack("wren-rest", tmp_path)
    sheet = past.packet("swap") / "sheet.yaml"
    said = cli("prepare", past.config, "--sheet", sheet, "-o", tmp_path / "again", "--json")
    assert said.status == 0, said.err
    again = {change["quantity"] for change in json.loads(said.out)["changes"] if change["edits"]}
    (entry,) = past.seen["history"]["entries"]
    # both currents are rounded down to what the driver can be set to since then; nothing else is worked out anew
    assert again & {present_name(quantity) for quantity, _, _ in entry["values"]} == {
        "motor.run_current",
        "motor.hold_current",
    }
    assert again >= {present_name(held["quantity"]) for held in past.reviewed["swap"]["held"]}


def test_what_had_another_name_then_is_compared_with_what_this_release_calls_it(
    cli: Runner, tmp_path: Path
) -> None:
    past = unpack("wren-prepared", tmp_path)
    notes = json.loads(cli("verify", past.packet("swap"), "--json").out)["notes"]
    names = {
        change for change, *_ in past.seen["packets"]["swap"]["changes"] if present_name(change) != change
    }
    assert names and not [
        note for note in notes if note.partition(":")[0] in names and "comes to nothing" in note
    ]


def test_what_had_another_name_then_is_taken_back_by_either(cli: Runner, tmp_path: Path) -> None:
    past = unpack("wren-rest", tmp_path)
    (entry,) = past.seen["history"]["entries"]
    renamed = {name: now for name, _, _ in entry["values"] if (now := present_name(name)) != name}
    assert {"feeder.rotation_distance", "axis.x.max_accel"} <= renamed.keys()
    for before, now in renamed.items():
        asked = ("revert", past.packet("swap"), "--root", past.config, "--dry-run", "--json", "--only")
        by_either = [cli(*asked, name) for name in (before, now)]
        assert [said.status for said in by_either] == [0, 0], by_either[1].err
        assert restored(by_either[0]) == restored(by_either[1]) != []
