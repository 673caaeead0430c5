"""An install writes what somebody holds only where a person says so of that change."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.apply.install import install
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.review import Judgement, Review, Verdict
from cfgmigrate.packet.standing import record_review
from cfgmigrate.store.history import history

WRECKS = {value.quantity for kind in light_kinds().kinds for value in kind.values}


def judged(packet: Packet, verdict: Verdict, who: str = "B. Redshank", wrecks: bool = True) -> str:
    """The id of the first change of what can wreck something, or else of what can't, on which this person now says that."""
    name = next(
        change.id for change in packet.plan.changes if change.edits and (change.quantity in WRECKS) is wrecks
    )
    note = "the other lathe reads this line"
    record_review(
        packet.folder,
        Review(packet.hash, who, "2031-05-04T10:11:12Z", (Judgement(name, verdict, note),), {}),
    )
    return name


@pytest.mark.parametrize("dry_run", [True, False])
def test_a_held_change_stops_the_install_and_its_dry_run(
    packet: Packet, config: Path, kit: SimpleNamespace, dry_run: bool
) -> None:
    name = judged(packet, Verdict.HELD)
    with pytest.raises(Refused) as said:
        install(packet.folder, dry_run=dry_run)
    assert f"{name}: held by B. Redshank: the other lathe reads this line" in str(said.value)
    assert f"--despite-hold {name}" in said.value.remedy
    assert kit.on_disk(config) == dict(packet.before) and not (config / ".cfgmigrate").exists()


def test_who_says_the_same_twice_is_named_once_and_another_word_of_theirs_besides(packet: Packet) -> None:
    name = judged(packet, Verdict.HELD)
    judgement = Judgement(name, Verdict.HELD, "the other lathe reads this line")
    for note in (judgement.note, "and the press"):
        review = Review(
            packet.hash, "C. Dunlin", "2031-05-05T10:11:12Z", (Judgement(name, Verdict.HELD, note),), {}
        )
        record_review(packet.folder, review)
    record_review(packet.folder, Review(packet.hash, "B. Redshank", "2031-05-06T10:11:12Z", (judgement,), {}))
    with pytest.raises(Refused) as said:
        install(packet.folder)
    assert str(said.value).count("held by B. Redshank") == 1
    assert "held by C. Dunlin: and the press" in str(said.value)


def test_the_preparer_s_own_hold_counts_too(packet: Packet) -> None:
    judged(packet, Verdict.HELD, packet.preparer)
    with pytest.raises(Refused, match="somebody holds what would be written"):
        install(packet.folder)


def test_a_held_change_goes_in_where_it_is_named_and_that_is_on_the_record(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    name = judged(packet, Verdict.HELD)
    assert install(packet.folder, despite_hold=[f" {name.upper()} "]).written
    assert kit.on_disk(config) == dict(packet.after)
    (entry,) = history(config).entries
    assert (entry.reasons or {})["despite_hold"] == [name]


@pytest.mark.parametrize(
    ("verdict", "wrecks"), [(Verdict.ACCEPTED, True), (Verdict.ACCEPTED, False), (Verdict.QUESTIONED, False)]
)
def test_what_nobody_holds_and_nothing_wrecks_needs_no_word_and_takes_none(
    packet: Packet, verdict: Verdict, wrecks: bool
) -> None:
    name = judged(packet, verdict, wrecks=wrecks)
    with pytest.raises(BadInput, match="no held change"):
        install(packet.folder, despite_hold=[name])
    assert install(packet.folder).written


@pytest.mark.parametrize("dry_run", [True, False])
def test_a_question_on_what_can_wreck_something_stops_the_install_until_it_is_named(
    packet: Packet, config: Path, kit: SimpleNamespace, dry_run: bool
) -> None:
    name = judged(packet, Verdict.QUESTIONED)
    with pytest.raises(Refused) as said:
        install(packet.folder, dry_run=dry_run)
    assert f"{name}: questioned by B. Redshank: the other lathe reads this line" in str(said.value)
    assert f"--despite-hold {name}" in said.value.remedy
    assert kit.on_disk(config) == dict(packet.before)
    assert install(packet.folder, dry_run=dry_run, despite_hold=[name]).written is not dry_run


def test_a_question_that_was_settled_stops_nothing(packet: Packet) -> None:
    judged(packet, Verdict.QUESTIONED)
    judged(packet, Verdict.ACCEPTED)
    assert install(packet.folder).written


def test_where_only_the_accepted_goes_in_a_hold_stops_nothing_else(packet: Packet) -> None:
    held = next(change.id for change in packet.plan.changes if change.edits)
    verdicts = tuple(
        Judgement(change.id, Verdict.HELD if change.id == held else Verdict.ACCEPTED)
        for change in packet.plan.changes
    )
    record_review(packet.folder, Review(packet.hash, "B. Redshank", "2031-05-04T10:11:12Z", verdicts, {}))
    report = install(packet.folder, require_review=True)
    assert report.written and held not in report.installed


def test_a_packet_that_is_installed_already_is_not_refused(packet: Packet) -> None:
    install(packet.folder)
    judged(packet, Verdict.HELD)
    assert install(packet.folder).already
