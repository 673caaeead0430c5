"""Prepare, review, install, edit by hand, tune, revert, go back: in any order, against a plain model.

The model is a dictionary from file and key to value and knows no bytes, spans, packets or histories. After
every step the files must say what the model says, and every byte outside of values must be as it was.
"""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

import packetbench as kit
import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, initialize, invariant, precondition, rule

from cfgmigrate.apply.going_back import Unanswered
from cfgmigrate.apply.in_force import in_force
from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert, revert_to
from cfgmigrate.ground.findings import Refused
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.review import Judgement, Review, Verdict
from cfgmigrate.packet.standing import record_review
from cfgmigrate.plan.model import Change
from cfgmigrate.store import chain, checked
from cfgmigrate.store import history as records
from cfgmigrate.store.chain import BUNDLE
from cfgmigrate.store.history import history

Key = tuple[str, str]
Model = dict[Key, str]

FILES = {"wren.ini": "sectioned", "hut/axes.ini": "sectioned", "flow.conf": "flat"}
KEYS = [
    (path, f"{name} {number}") for path in FILES for name, number in (("speed", 1), ("length", 2), ("gap", 3))
]
VALUES = st.sampled_from(["1", "2.5", "30", "0.04", "186.50", "-7"])


def quantity(key: Key) -> str:
    """The model's name of a key, as a packet names it."""
    return f"{Path(key[0]).stem}.{key[1].replace(' ', '_')}"


def spelled(key: Key) -> str:
    return key[1].replace(" ", "_") if FILES[key[0]] == "flat" else key[1]


def rendered(model: Model, remarks: dict[str, int]) -> dict[str, bytes]:
    """The files as bytes: the model's values within lines of their own, and remarks at the end."""
    files = {}
    for path, dialect in FILES.items():
        end = "\r\n" if path == "wren.ini" else "\n"
        lines = [f"# {path} of the ringing hut", "" if dialect == "flat" else "[feeder]"]
        for key in KEYS:
            if key[0] == path:
                lines += ["", f"{spelled(key)} = {model[key]}"]
        lines += [f"# remark {number}" for number in range(remarks[path])]
        files[path] = end.join(lines).encode()
    return files


@dataclass
class Prepared:
    """A packet, and in the model's words: what it was read from and what it changes."""

    packet: Packet
    read: dict[str, bytes]
    whole: Model
    remarks: dict[str, int]
    old: Model
    new: Model
    accepted: frozenset[Key] | None = None


class AnyOrder(RuleBasedStateMachine):
    packets = Bundle("packets")

    @initialize(bundle=st.sampled_from([1, 3, BUNDLE]))
    def begin(self, bundle: int) -> None:
        self.patch = pytest.MonkeyPatch()
        for module in (chain, records):
            self.patch.setattr(module, "BUNDLE", bundle)
            self.patch.setattr(module, "LEFT", 1)
        self.patch.setattr(checked, "TOO_NEAR", -(10**15))  # what was looked at is noted at once
        self.base = Path(tempfile.mkdtemp(dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
        self.root = self.base / "config"
        self.model: Model = {key: str(100 + number) for number, key in enumerate(KEYS)}
        self.remarks = dict.fromkeys(FILES, 1)
        kit.lay_out(self.root, rendered(self.model, self.remarks))
        self.made = 0
        #: the model after each entry of the history; 0 is the start
        self.states: list[Model] = [dict(self.model)]
        #: keys whose value somebody changed by hand, by the number of the entry they were changed after
        self.by_hand: list[tuple[int, Key]] = []

    @rule(target=packets, new=st.dictionaries(st.sampled_from(KEYS), VALUES, min_size=1, max_size=4))
    def prepare(self, new: Model) -> Prepared:
        files = kit.on_disk(self.root)
        changes: list[Change] = []
        moved = {key: value for key, value in new.items() if self.model[key] != value}
        for key, value in moved.items():
            marked = f"\n{spelled(key)} = <{self.model[key]}>".encode()
            changes.append(kit.move(files, quantity(key), key[0], marked, value))
        self.made += 1
        packet = kit.pack(self.base / f"packet {self.made}", files, changes, str(self.root))
        old = {key: self.model[key] for key in moved}
        return Prepared(packet, files, dict(self.model), dict(self.remarks), old, moved)

    @rule(target=packets, new=st.dictionaries(st.sampled_from(KEYS), VALUES, min_size=1, max_size=2))
    def tune(self, new: Model) -> Prepared:
        """A small packet that is installed at once."""
        prepared = self.prepare(new)
        self.put_in(prepared, "tune")
        return prepared

    @rule(prepared=packets, data=st.data())
    def review(self, prepared: Prepared, data: st.DataObject) -> None:
        accepted = data.draw(st.sets(st.sampled_from(sorted(prepared.new)))) if prepared.new else set()
        verdicts = tuple(
            Judgement(quantity(key), Verdict.ACCEPTED if key in accepted else Verdict.HELD)
            for key in prepared.new
        )
        review = Review(prepared.packet.hash, "B. Redshank", "2031-05-04T10:11:12Z", verdicts, {})
        record_review(prepared.packet.folder, review)
        prepared.accepted = frozenset(accepted)

    @rule(prepared=packets)
    def install(self, prepared: Prepared) -> None:
        self.put_in(prepared, "install")

    @rule(prepared=packets)
    def install_what_was_accepted(self, prepared: Prepared) -> None:
        if prepared.accepted is None:
            with pytest.raises(Refused, match="was not reviewed"):
                install(prepared.packet.folder, require_review=True)
            return
        self.put_in(prepared, "install", prepared.accepted)

    def put_in(self, prepared: Prepared, kind: str, accepted: frozenset[Key] | None = None) -> None:
        keys = prepared.new.keys() if accepted is None else accepted
        reviewed = accepted is not None
        moved = {key: prepared.new[key] for key in keys}
        present = kit.on_disk(self.root)
        already = bool(keys) and present == rendered({**prepared.whole, **moved}, prepared.remarks)
        if present != prepared.read and not already:
            with pytest.raises(Refused, match="no longer what was read"):
                install(prepared.packet.folder, require_review=reviewed, kind=kind)
            return
        # whoever asks for no review says so of each change that somebody holds
        holds = (
            set()
            if reviewed or already or prepared.accepted is None
            else prepared.new.keys() - prepared.accepted
        )
        names = [quantity(key) for key in holds]
        if names:
            with pytest.raises(Refused, match="somebody holds what would be written"):
                install(prepared.packet.folder, kind=kind)
        report = install(prepared.packet.folder, require_review=reviewed, kind=kind, despite_hold=names)
        assert report.already == already and report.written == (bool(keys) and not already)
        held = {quantity(key) for key in prepared.new.keys() - set(keys)}
        assert {each.name for each in report.held} == held
        if report.written:
            self.model |= moved
            self.states.append(dict(self.model))

    def model_of(self, files: dict[str, bytes]) -> Model:
        """The values that some bytes hold, read by nothing but this test."""
        found = {}
        for path, key in KEYS:
            for line in files[path].decode().splitlines():
                if line.startswith(f"{spelled((path, key))} = "):
                    found[path, key] = line.partition(" = ")[2]
        return found

    @rule(key=st.sampled_from(KEYS), value=VALUES)
    def edit_a_value(self, key: Key, value: str) -> None:
        data = (self.root / key[0]).read_bytes()
        old, new = (f"{spelled(key)} = {text}".encode() for text in (self.model[key], value))
        ends = (b"\r\n", b"\n")
        assert any(data.count(b"\n" + old + end) == 1 for end in ends) or data.endswith(old)
        if self.model[key] != value:
            at = data.index(b"\n" + old) + 1
            (self.root / key[0]).write_bytes(data[:at] + new + data[at + len(old) :])
            self.model[key] = value
            self.by_hand.append((len(self.states) - 1, key))

    @rule(path=st.sampled_from(sorted(FILES)))
    def write_a_remark(self, path: str) -> None:
        end = b"\r\n" if path == "wren.ini" else b"\n"
        with (self.root / path).open("ab") as file:
            file.write(end + b"# remark %d" % self.remarks[path])
        self.remarks[path] += 1

    @rule(prepared=packets, how=st.sampled_from(["ask", "keep", "force"]))
    def revert(self, prepared: Prepared, how: str) -> None:
        conflicts = {
            key for key, new in prepared.new.items() if self.model[key] not in (new, prepared.old[key])
        }
        names = [quantity(key) for key in conflicts]
        before = kit.on_disk(self.root)
        if conflicts and how == "ask":
            with pytest.raises(Unanswered) as raised:
                revert(prepared.packet.folder)
            assert {item.name for item in raised.value.report.conflicts} == set(names)
            assert kit.on_disk(self.root) == before
            return
        keep, force = (names, []) if how == "keep" else ([], names)
        report = revert(prepared.packet.folder, keep=keep, force=force)
        for key, old in prepared.old.items():
            if how == "force" or key not in conflicts:
                self.model[key] = old
        assert report.written == (kit.on_disk(self.root) != before)
        if report.written:
            self.states.append(dict(self.model))

    @precondition(lambda self: len(self.states) > 1)
    @rule(data=st.data())
    def go_back(self, data: st.DataObject) -> None:
        """Back to any entry. A value changed by hand since is either asked for or kept."""
        entry = data.draw(st.integers(0, len(self.states) - 1))
        touched = {key for number, key in self.by_hand if number >= entry}
        before = kit.on_disk(self.root)
        wanted = self.states[entry]
        report = revert_to(self.root, entry or "start", dry_run=True)
        assert {item.name for item in report.conflicts} <= {quantity(key) for key in touched}
        assert kit.on_disk(self.root) == before
        if report.conflicts:
            with pytest.raises(Unanswered):
                revert_to(self.root, entry or "start")
            return
        report = revert_to(self.root, entry or "start")
        found = self.model_of(kit.on_disk(self.root))
        for key in KEYS:
            assert key in touched or found[key] == wanted[key], key
        self.model = found
        if report.written:
            self.states.append(dict(found))

    @invariant()
    def the_files_say_what_the_model_says(self) -> None:
        assert kit.on_disk(self.root) == rendered(self.model, self.remarks)

    @invariant()
    def the_history_is_whole_and_has_every_step(self) -> None:
        found = history(self.root)
        assert found.whole and len(found) == len(self.states) - 1

    @invariant()
    def what_was_read_before_is_told_as_it_is_read_anew(self) -> None:
        quick, anew = history(self.root), history(self.root, anew=True)
        assert tuple(quick) == tuple(anew)
        assert in_force(self.root, quick) == in_force(self.root, anew)

    def teardown(self) -> None:
        if hasattr(self, "base"):
            self.patch.undo()
            shutil.rmtree(self.base)


TestAnyOrder = AnyOrder.TestCase
TestAnyOrder.settings = settings(settings(), stateful_step_count=25, suppress_health_check=list(HealthCheck))
