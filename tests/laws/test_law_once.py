"""Law 10: a scaled value is scaled from its own old value, once for one cause, whatever came before it.

A machine lives through sheets, filaments that come later, installs in whole or in part, and reverts. What a filament's
retraction is in the end is told beside it, by counting the causes that it went through: its own old value, that after
the swap, or that after the swap and a further one. What a cause makes of a value is seen on a machine without a past.
"""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cfgmigrate import api
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.review import Judgement, Verdict
from cfgmigrate.plan.lights_left import after_review, unknown

OLD = {"pla": "5.2", "petg": "6.0", "abs": "4.4"}
FRAME = "[feeder]\nturn length = 22.9 mm\n[limits]\nmax acceleration = 3000\n"
FILAMENT = "[filament {0}]\nmaterial = {1}\nnozzle = 210\nretraction length = {2}\n"
SWAP = """machine: Heron
old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
new: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}, feed_per_turn: 5.1 mm}
filament: {material: PLA, diameter: 1.75 mm}
"""
#: a further swap, of the tube alone: its old side is the new side of the first
FURTHER = """machine: Heron
old: {drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}}
new: {drive: on the carriage, tube: {length: 120 mm, bore: 2 mm, bend: 20 deg}}
filament: {material: PLA, diameter: 1.75 mm}
"""
SHEETS = {"swap": SWAP, "further": FURTHER}


@dataclass
class Life:
    """A machine with its packets; `stage` counts the causes that each filament's retraction went through."""

    folder: Path
    stage: dict[str, int] = field(default_factory=dict)
    packets: list[tuple[Path, dict[str, int]]] = field(default_factory=list)
    made: int = 0

    def __post_init__(self) -> None:
        (self.folder / "config").mkdir(parents=True)
        for name, text in SHEETS.items():
            (self.folder / f"{name}.yaml").write_text(text)
        (self.folder / "config/frame.conf").write_text(FRAME)

    def add(self, name: str, value: str = "") -> None:
        if name not in self.stage:
            with (self.folder / "config/filaments.conf").open("a") as file:
                file.write(FILAMENT.format(name, name.upper(), value or OLD[name]))
            self.stage[name] = 0

    def prepare(self, sheet: str) -> Packet:
        self.made += 1
        out = self.folder / f"packet{self.made}"
        return api.prepare([self.folder / "config"], self.folder / f"{sheet}.yaml", out=out)

    def install(self, sheet: str, held: frozenset[str] = frozenset()) -> None:
        if sheet == "further" and not all(self.stage.values()):
            return  # it tells of a machine that went through the swap
        packet = self.prepare(sheet)
        if not packet.plan.changes:
            return
        ids = {change.id for change in packet.plan.changes}
        hold = {name for one in held if (name := f"retraction.length @ filament {one}") in ids}
        items = (*packet.plan.changes, *packet.plan.by_hand)
        verdicts = [
            Judgement(each.id, Verdict.HELD if each.id in hold else Verdict.ACCEPTED) for each in items
        ]
        api.record_verdicts(packet.folder, "B. Redshank", judgements=verdicts)
        before = dict(self.stage)
        accepted = [light.name for light in unknown(after_review(packet.plan.lights, hold))]
        report = api.install(packet.folder, require_review=True, accept_unknown=accepted).installed
        for name in report:
            filament = name.removeprefix("retraction.length @ filament ")
            if filament in self.stage:
                self.stage[filament] += 1
        self.packets.append((packet.folder, before))

    def revert(self) -> None:
        if self.packets:
            folder, before = self.packets.pop()
            api.revert(folder)
            self.stage.update(before)

    def values(self) -> dict[str, str]:
        path = self.folder / "config/filaments.conf"
        text = path.read_text() if path.exists() else ""
        found = re.findall(r"\[filament (\w+)\](?:.*\n)*?retraction length = (\S+)", text)
        return dict(found)


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, int], str]:
    """What the causes make of each filament's value, on machines without a past."""
    found = {(name, 0): text for name, text in OLD.items()}
    for stage, sheet in enumerate(SHEETS):
        for name in OLD:
            life = Life(tmp_path_factory.mktemp("seen") / "life")
            life.add(name, found[name, stage])
            life.stage[name] = stage
            changes = {change.id: change.new.text for change in life.prepare(sheet).plan.changes}
            found[name, stage + 1] = changes[f"retraction.length @ filament {name}"]
    return found


STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("add"), st.sampled_from(sorted(OLD))),
        st.tuples(st.just("swap"), st.frozensets(st.sampled_from(sorted(OLD)), max_size=2)),
        st.tuples(st.just("further"), st.just(frozenset())),
        st.tuples(st.just("revert"), st.none()),
    ),
    min_size=2,
    max_size=7,
)


@settings(max_examples=max(6, settings().max_examples // 3), suppress_health_check=list(HealthCheck))
@given(steps=STEPS)
def test_each_value_is_the_product_of_its_distinct_causes(
    tmp_path_factory: pytest.TempPathFactory,
    seen: dict[tuple[str, int], str],
    steps: list[tuple[str, object]],
) -> None:
    life = Life(tmp_path_factory.mktemp("once") / "life")
    life.add("pla")
    for what, more in steps:
        if what == "add":
            life.add(str(more))
        elif what == "revert":
            life.revert()
        else:
            assert isinstance(more, frozenset)
            life.install(what, more)
        assert life.values() == {name: seen[name, stage] for name, stage in life.stage.items()}, (what, more)
    shutil.rmtree(life.folder)
