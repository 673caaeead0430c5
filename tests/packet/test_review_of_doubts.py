"""A doubt is reviewed like a change: under a name that edits above it don't move, and held it stops the install."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

import cfgmigrate
from cfgmigrate import Doubt, Judgement, Place, Refused, Verdict
from cfgmigrate.plan.identity import doubt_names

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"


def test_a_doubts_name_has_no_line_and_two_alike_are_told_apart() -> None:
    one = Doubt(Place("a.conf", 3, 1), "G1 E-4 F2100", "why")
    names = doubt_names([one, replace(one, place=Place("a.conf", 9, 1)), replace(one, text="other")])
    assert names == ("doubt a.conf: G1 E-4 F2100", "doubt a.conf: G1 E-4 F2100 (2)", "doubt a.conf: other")
    moved = doubt_names([replace(one, place=Place("a.conf", 30, 5))])
    assert moved == names[:1]


@pytest.mark.parametrize("verdict", [Verdict.HELD, Verdict.QUESTIONED])
def test_a_doubt_that_is_held_or_questioned_stops_a_reviewed_install(
    verdict: Verdict, tmp_path: Path
) -> None:
    shutil.copytree(SAMPLES / "knot", tmp_path / "knot")
    before = {path: path.read_bytes() for path in (tmp_path / "knot").iterdir()}
    packet = cfgmigrate.prepare(
        tmp_path / "knot", SAMPLES / "sheets" / "knot.yaml", out=tmp_path / "packet", preparer="A. Heron"
    )
    accepted = [Judgement(change.id, Verdict.ACCEPTED) for change in packet.plan.changes]
    (doubt,) = doubt_names(packet.plan.doubts)
    judged = [*accepted, Judgement(doubt, verdict, "rms or peak?")]
    cfgmigrate.record_verdicts(packet.folder, "B. Plover", judgements=judged)
    with pytest.raises(Refused, match=rf"doubt settings\.nc: .*{verdict.value} by B\. Plover: rms or peak"):
        cfgmigrate.install(packet.folder, require_review=True)
    assert {path: path.read_bytes() for path in before} == before
    cfgmigrate.record_verdicts(
        packet.folder, "B. Plover", judgements=[*accepted, Judgement(doubt, Verdict.ACCEPTED)]
    )
    assert cfgmigrate.install(packet.folder, require_review=True).written
