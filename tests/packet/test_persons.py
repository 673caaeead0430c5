"""A name that looks like another one makes one person neither two nor somebody else."""

from __future__ import annotations

import pytest

from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.persons import looks_like, same_person
from cfgmigrate.packet.review import Judgement, Review, Verdict, read_reviews
from cfgmigrate.packet.standing import allowed_changes, record_review

ALIKE = [
    ("A. Dunlin", "А. Dunlin"),  # Cyrillic
    ("A. Dunlin", "Α. Dunlin"),  # Greek
    ("A. Dunlin", "A. DunIin"),  # a capital I
    ("A. Dunlin", "A. Dun1in"),
    ("A. Dunlin", "A․ Dunlin"),  # a one dot leader
    ("A. Dunlin", "A.\u2009Dunlin"),
    ("A. Dunlin", "A. Dun\u200blin"),
    ("A. Dunlin", "A. Dun\u00adlin"),
    ("A. Dunlin", "A. Dun\u034flin"),
    ("A. Dunlin", "A. Dunlin\ufe0f"),
    ("A. Dunlin", "A. Dunlin\u3164"),
    ("A. Dunlin", "A. Dunlin\u2800"),
    ("A. Dunlin", "\u202eA. Dunlin"),
    ("A. Dunlin", "Ａ. Ｄunlin"),
    ("A. Dunlin", "A. 𝐃unlin"),
    ("Мария", "Mapия"),
    ("Arno", "Amo"),
    ("A. Dunlin", "A. Dun!in"),
    ("A. Dunlin", "A, Dunlin"),
    ("A. Dunlin", "A Dunlin"),
]


@pytest.mark.parametrize(("one", "other"), ALIKE, ids=ascii)
def test_names_that_can_t_be_told_apart_are_seen_to_be_alike(one: str, other: str) -> None:
    assert looks_like(one, other) and looks_like(other, one)


@pytest.mark.parametrize(
    ("one", "other"),
    [("A. Dunlin", "B. Dunlin"), ("Ann E", "Anne"), ("Åsa", "Asa"), ("…", "–"), ("王", "李")],
)
def test_other_names_are_other_people(one: str, other: str) -> None:
    assert not looks_like(one, other)


def test_blanks_and_capitals_make_no_other_name() -> None:
    assert same_person("A. Dunlin", "a.  dunlin") and not same_person(*ALIKE[0])


def accepted(packet: Packet, reviewer: str) -> Review:
    verdicts = tuple(Judgement(change.id, Verdict.ACCEPTED) for change in packet.plan.changes)
    return Review(packet.hash, reviewer, "2031-05-04T10:11:12Z", verdicts, {})


@pytest.mark.parametrize(("one", "other"), [pair for pair in ALIKE if pair[0] == "A. Dunlin"], ids=ascii)
def test_the_preparer_is_no_second_person_under_a_name_that_looks_the_same(
    packet: Packet, one: str, other: str
) -> None:
    assert packet.preparer == one
    with pytest.raises(Refused, match="can't be its second person"):
        allowed_changes(packet.plan, (accepted(packet, other),), packet.preparer)
    if not same_person(one, other):
        with pytest.raises((Refused, BadInput), match=r"looks like|can't be seen"):
            record_review(packet.folder, accepted(packet, other))
        assert read_reviews(packet.folder) == ()


def test_nobody_s_record_is_joined_by_one_of_a_name_that_looks_the_same(packet: Packet) -> None:
    record_review(packet.folder, accepted(packet, "B. Plover"))
    with pytest.raises(Refused, match=r"looks like 'B\. Plover'"):
        record_review(packet.folder, accepted(packet, "B. P1over"))
    assert [each.reviewer for each in read_reviews(packet.folder)] == ["B. Plover"]


@pytest.mark.parametrize("name", ["B.\u202e Plover", "B. Plo\u200bver", "\x1b[2J"], ids=ascii)
def test_a_name_that_can_t_be_seen_whole_is_refused(packet: Packet, name: str) -> None:
    with pytest.raises(BadInput, match="letters that can't be seen"):
        record_review(packet.folder, accepted(packet, name))
    assert read_reviews(packet.folder) == ()
