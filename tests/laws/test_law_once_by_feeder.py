"""Law 10 on a machine with two feeders: swaps of one or both, measurements and ways back, in any order.

Each feeder's retraction is told beside the machine: the old one, that after its swap, or what was measured since. What a
swap makes of it is seen on a machine without a past.
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
from cfgmigrate.plan.lights_left import unknown

OLD = {1: "5.2", 2: "6.4"}
FILES = """[feeder]
turn length = 22.9 mm
[retraction]
length = 5.2
[feeder 2]
turn length = 23.4 mm
[retraction 2]
length = 6.4
"""
OLD_SIDE = "{drive: tube-fed, tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}"
NEW_SIDE = "{drive: on the carriage, tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}, feed_per_turn: 5.1 mm}"
FILAMENT = "filament: {material: PLA, diameter: 1.75 mm}\n"
SWAPS = {
    (1,): f"feeder: 1\nold: {OLD_SIDE}\nnew: {NEW_SIDE}\n{FILAMENT}",
    (2,): f"feeder: 2\nold: {OLD_SIDE}\nnew: {NEW_SIDE}\n{FILAMENT}",
    (1, 2): f"feeders:\n  1: {{old: {OLD_SIDE}, new: {NEW_SIDE}}}\n  2: {{same_as: 1}}\n{FILAMENT}",
}
TOWER = (
    "of: {{feeder: {0}}}\nmeasured: {{retraction: {{start: 0 mm, step: 0.1 mm, best_band: {1}, bands: 9}}}}\n"
)


@dataclass
class TwoFeeders:
    """The machine with its packets; `values` is what each feeder's retraction should be."""

    folder: Path
    values: dict[int, str] = field(default_factory=lambda: dict(OLD))
    swapped: set[int] = field(default_factory=set)
    packets: list[tuple[Path, dict[int, str], set[int]]] = field(default_factory=list)
    made: int = 0

    def __post_init__(self) -> None:
        (self.folder / "config").mkdir(parents=True)
        (self.folder / "config/machine.conf").write_text(FILES)

    def _sheet(self, text: str) -> tuple[Path, Path]:
        self.made += 1
        sheet = self.folder / f"sheet{self.made}.yaml"
        sheet.write_text(text)
        return sheet, self.folder / f"packet{self.made}"

    def _install(self, packet: Packet, becomes: dict[int, str], swapped: set[int]) -> None:
        if packet.plan.changes:
            api.install(packet.folder, accept_unknown=[each.name for each in unknown(packet.plan.lights)])
            self.packets.append((packet.folder, dict(self.values), set(self.swapped)))
        self.values |= becomes
        self.swapped |= swapped

    def swap(self, feeders: tuple[int, ...], new: dict[int, str]) -> None:
        sheet, out = self._sheet(SWAPS[feeders])
        packet = api.prepare(self.folder / "config", sheet, out=out)
        fresh = set(feeders) - self.swapped
        self._install(packet, {number: new[number] for number in fresh}, fresh)

    def tune(self, number: int, band: int) -> None:
        if number in self.swapped:
            sheet, out = self._sheet(TOWER.format(number, band))
            packet = api.tune(self.folder / "config", sheet, out=out)
            self._install(packet, {number: f"{0.1 * (band - 1):g}"}, set())

    def revert(self) -> None:
        if self.packets:
            packet, self.values, self.swapped = self.packets.pop()
            api.revert(packet)

    def found(self) -> dict[int, float]:
        text = (self.folder / "config/machine.conf").read_text()
        return dict(enumerate(map(float, re.findall(r"^length = (\S+)", text, re.MULTILINE)), start=1))


@pytest.fixture(scope="module")
def new(tmp_path_factory: pytest.TempPathFactory) -> dict[int, str]:
    """What its swap makes of each feeder's retraction, on a machine without a past."""
    found = {}
    for number in OLD:
        machine = TwoFeeders(tmp_path_factory.mktemp("new") / "life")
        sheet, out = machine._sheet(SWAPS[number,])
        for change in api.prepare(machine.folder / "config", sheet, out=out).plan.changes:
            if change.quantity == "retraction.length":
                assert change.holder == f"feeder {number}"
                found[number] = change.new.text
    return found


STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("swap"), st.sampled_from(sorted(SWAPS)), st.none()),
        st.tuples(st.just("tune"), st.sampled_from(sorted(OLD)), st.integers(3, 9)),
        st.tuples(st.just("revert"), st.none(), st.none()),
    ),
    min_size=2,
    max_size=6,
)


@pytest.mark.exhaustive
@settings(max_examples=max(6, settings().max_examples // 5), suppress_health_check=list(HealthCheck))
@given(steps=STEPS)
def test_each_feeders_value_is_the_product_of_its_own_causes(
    tmp_path_factory: pytest.TempPathFactory, new: dict[int, str], steps: list[tuple[str, object, object]]
) -> None:
    assert set(new) == set(OLD)
    machine = TwoFeeders(tmp_path_factory.mktemp("once") / "life")
    for what, whom, band in steps:
        if what == "swap":
            assert isinstance(whom, tuple)
            machine.swap(whom, new)
        elif what == "tune":
            assert isinstance(whom, int) and isinstance(band, int)
            machine.tune(whom, band)
        else:
            machine.revert()
        wanted = {number: pytest.approx(float(text)) for number, text in machine.values.items()}
        assert machine.found() == wanted, (what, whom, band)
    shutil.rmtree(machine.folder)
