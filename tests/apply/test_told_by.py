"""What a history tells of values that stand: of this swap, of one before it, or of none that can be told."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.apply.prior_installs import basis_of, recalled, told_by
from cfgmigrate.plan.edits import FileStep, Span
from cfgmigrate.rules.age import Age, Past, Told
from cfgmigrate.store.history import history, record
from cfgmigrate.store.keeping import Store

BEFORE, AFTER = b"retract.length=5.4\n", b"retract.length=0.6\n"
#: what the sheet of the install said
THEN = [
    ["carriage.new_mass", "0.4 kg"],
    ["new.tube.length", "40 mm"],
    ["new.drive", "on the carriage"],
    ["old.tube.length", "430 mm"],
]


def told(config: Path, reasons: Mapping[str, object], now: Mapping[str, str]) -> Past:
    """What an install for these `reasons` tells, where the sheet says this `now`."""
    config.mkdir()
    (config / "flow.conf").write_bytes(BEFORE)
    store, step = (
        Store(config),
        FileStep("flow.conf", "flat", BEFORE, AFTER, (Span("retraction.length", 15, 18, 15, 18),)),
    )
    with store.locked():
        record(store, "install", [step], {"flow.conf": "flow.conf"}, "ab" * 32, "Wren", reasons=reasons)
    return told_by(history(config), config, {"flow.conf": AFTER}, lambda _: now, None)


@pytest.mark.parametrize(
    ("now", "age"),
    [
        ({"old.tube.length": "40 mm", "new.tube.length": "0 mm"}, Age.OLD),
        ({"old.tube.length": "40 mm", "old.hotend": "long"}, Age.OLD),
        ({"carriage.old_mass": "0.4 kg", "carriage.new_mass": "0.3 kg"}, Age.OLD),
        ({"carriage.old_mass": "0.5 kg", "carriage.new_mass": "0.4 kg"}, Age.UNKNOWN),
        ({"old.tube.length": "45 mm"}, Age.UNKNOWN),
        ({"old.tube.length": "40 mm", "old.drive": "remote"}, Age.UNKNOWN),
        ({"new.tube.length": "40 mm"}, Age.UNKNOWN),
        ({}, Age.UNKNOWN),
    ],
    ids=[
        "a further swap",
        "with more to tell",
        "of a mass",
        "of another mass",
        "from another tube",
        "half of it",
        "no old side",
        "nothing",
    ],
)
def test_what_an_install_wrote_is_old_where_its_new_side_is_this_sheet_s_old_one(
    tmp_path: Path, now: dict[str, str], age: Age
) -> None:
    past = told(tmp_path / "config", {"said": THEN}, now)
    assert past.installs
    assert {span: each.age for span, each in past.written.items()} == {("flow.conf", 15, 18): age}


def test_the_files_that_an_install_read_are_known_as_far_as_it_kept_them(tmp_path: Path) -> None:
    assert told(tmp_path / "one", {"inputs": ["flow.conf", "axes.ini"]}, {}).inputs == {
        "flow.conf",
        "axes.ini",
    }
    assert told(tmp_path / "other", {"said": THEN}, {}).inputs is None


@pytest.mark.parametrize(
    "inputs", [None, frozenset(), frozenset({"a.conf", "b.conf"})], ids=["not known", "none", "two"]
)
def test_what_a_packet_records_of_a_history_is_recalled_as_it_was_told(
    kit: SimpleNamespace, inputs: frozenset[str] | None
) -> None:
    written = {("a.conf", 3, 7): Told(Age.OLD, "a further swap"), ("b.conf", 0, 2): Told(Age.UNKNOWN, "why")}
    past = Past(written, frozenset(), True, inputs, frozenset({"machine", "feeder 2"}))
    assert recalled(basis_of(past, None), {}) == (past, None)
