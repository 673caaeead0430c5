"""A line that is protected by its words may say how high the probe acts: it is pointed at, and set by hand once a person says so."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api
from cfgmigrate.packet.folder import Packet

FILE = """\
[axis x]
high end = 210
steps per mm = 80
[axis z]
high end = 240
steps per mm = 400
[feeder]
steps per mm = 97.2
[retraction]
length = 5.5
[probe]
offset x = -30
offset y = -12
trip height = -1.9
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16, tube: {length: 40 mm}}
carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: -6 mm}, probe_shift: {x: 0 mm, y: 0 mm, z: PROBE}, z_stop: probe}
clearance: {as_before: yes}
"""
LINE = '"[probe] trip height": probe.offset_z'


def prepared(folder: Path, site: str = "", probe: str = "-6 mm") -> Packet:
    (folder / "ladle").mkdir()
    (folder / "ladle" / "ladle.conf").write_text(FILE)
    if site:
        (folder / "ladle" / "cfgmigrate.yaml").write_text(f"site: 1\nmeanings:\n  {site}\n")
    (folder / "swap.yaml").write_text(SHEET.replace("PROBE", probe))
    return api.prepare(folder / "ladle", folder / "swap.yaml", out=folder / "packet")


def height(packet: Packet) -> tuple[str, str]:
    return next((light.state, light.why) for light in packet.plan.lights if light.light == "height")


def test_the_line_is_pointed_at_with_what_to_write_where_it_is_the_one(tmp_path: Path) -> None:
    packet = prepared(tmp_path, probe="0 mm")
    state, why = height(packet)
    assert state == "unknown" and "ladle.conf:14" in why and LINE in why
    (item,) = [each for each in packet.plan.by_hand if each.rule == "probe.height_unread"]
    assert "ladle.conf:14" in item.steps[0]


def test_once_a_person_says_that_it_is_the_line_it_is_read_never_written_and_the_light_is_by_hand(
    tmp_path: Path,
) -> None:
    packet = prepared(tmp_path, LINE)
    assert height(packet)[0] == "by hand" and "ladle.conf:14" in height(packet)[1]
    assert not [change for change in packet.plan.changes if change.quantity == "probe.offset_z"]
    assert not [doubt for doubt in packet.plan.doubts if "can't make it anything else" in doubt.why]
    assert b"trip height = -1.9" in packet.after["ladle.conf"]
    assert not api.verify(packet.folder)


def test_a_probe_that_would_act_too_late_is_set_lower_first_whatever_the_line_says(tmp_path: Path) -> None:
    state, why = height(prepared(tmp_path, LINE, "0 mm"))
    assert state == "unknown" and "Set the probe lower" in why
