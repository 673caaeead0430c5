"""A packet by its content: the files that it has, and the hash that depends on all that was put in and on nothing else."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from packetbench import Changes, members

from cfgmigrate.packet.folder import Contents, Packet


def test_its_files_are_the_ones_that_the_design_lists(packet: Packet) -> None:
    assert members(packet.folder) == [
        "after/feeder.ini",
        "after/flow.conf",
        "after/parts/axes.ini",
        "before/feeder.ini",
        "before/flow.conf",
        "before/parts/axes.ini",
        "changes.html",
        "changes.json",
        "changes.md",
        "checklist.md",
        "forward.patch",
        "revert.patch",
        "rules/feed_per_turn.yaml",
        "sheet.yaml",
    ]


def test_its_pages_are_what_is_for_people_and_nothing_that_was_put_in_or_comes_out(packet: Packet) -> None:
    assert sorted(packet.pages) == ["changes.html", "changes.md", "checklist.md"]


def test_its_hash_depends_neither_on_the_place_nor_on_the_pages(
    packet: Packet, wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    elsewhere = kit.pack(tmp_path / "elsewhere", kit.FILES, wren_changes, "/another/root", "C. Curlew")
    assert elsewhere.hash == packet.hash
    given = (packet.before, packet.after, packet.sheet, packet.names, packet.rules)
    assert Contents(packet.plan, *given).hash == packet.hash


@pytest.mark.parametrize("part", ["before", "sheet", "rules", "changes", "names", "more"])
def test_its_hash_depends_on_everything_that_was_put_in(
    packet: Packet, wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace, part: str
) -> None:
    plan, sheet, rules = packet.plan, packet.sheet, dict(packet.rules)
    before, after, names, more = dict(packet.before), dict(packet.after), packet.names, {}
    match part:
        case "before":
            before["flow.conf"] += b"\n"
        case "sheet":
            sheet += b"# a word\n"
        case "rules":
            rules["feed_per_turn.yaml"] += b"# a word\n"
        case "changes":
            plan = kit.plan_for(kit.FILES, wren_changes[:-1], plan.root)
        case "names":
            names = b"a: b\n"
        case "more":
            more = {"origin/flow.conf": b"# as it came\n"}
    assert Contents(plan, before, after, sheet, names, rules, more).hash != packet.hash


@pytest.mark.parametrize("path", ["checklist.md", "review.yaml", "elsewhere/flow.conf"])
def test_what_is_put_in_further_can_t_take_the_place_of_a_page(packet: Packet, path: str) -> None:
    given = (packet.before, packet.after, packet.sheet, packet.names, packet.rules)
    with pytest.raises(ValueError, match="no place for an input"):
        Contents(packet.plan, *given, {path: b"a"}).files()
