"""A mail in plain words is read the careful way: consent only where nothing else is said, and never from a quote."""

from __future__ import annotations

import pytest

from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.packet.answer import Answer, read_answer

HASH = "3f0ac9d1" + "0" * 56
ITEMS = {name: f"id of {name}" for name in ("C1", "C2", "C3", "C4", "C10", "H1", "H2", "D1", "D2")}


def read(text: str) -> Answer:
    return read_answer(f"packet 3f0ac9d1\n{text}", "mail.txt", ITEMS, HASH)


def verdicts(text: str) -> dict[str, str]:
    return {each.item.removeprefix("id of "): each.verdict.value for each in read(text).judgements}


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("C1 accepted", {"C1": "accepted"}),
        ("c1: ok", {"C1": "accepted"}),
        ("C 1 - fine.", {"C1": "accepted"}),
        ("C1 to C3, H1: ok", {"C1": "accepted", "C2": "accepted", "C3": "accepted", "H1": "accepted"}),
        ("C1\u20133 ok", {"C1": "accepted", "C2": "accepted", "C3": "accepted"}),
        ("ok: C1, C2 and H1", {"C1": "accepted", "C2": "accepted", "H1": "accepted"}),
        ("I accept C1 and C3, hold C2", {"C1": "accepted", "C3": "accepted", "C2": "held"}),
        ("C1 accepted, C2 held: why so long?", {"C1": "accepted", "C2": "held"}),
        ("hold C2 because it oozes", {"C2": "held"}),
        ("C2 not accepted", {"C2": "held"}),
        ("C2 is not ok", {"C2": "held"}),
        ("don\u2019t do C2", {"C2": "held"}),
        ("C2 not sure", {"C2": "questioned"}),
        ("C2 why?", {"C2": "questioned"}),
        ("C2 ok, but why 0.1?", {"C2": "questioned"}),
        ("C1 to C3 accepted, but C2: where is it?", {"C1": "accepted", "C2": "questioned", "C3": "accepted"}),
        ("C1, C2 ok but C2: at 40", {"C1": "accepted", "C2": "questioned"}),
        ("C1 and C2 ok, but C2 held", {"C1": "accepted", "C2": "held"}),
        ("C1, C2 ok, but C2 has to be halved first", {}),
        ("C1 ok, but C2: at 40", {"C1": "questioned"}),
        ("C1, C2 ok if cold, but C2: at 40", {"C1": "questioned", "C2": "questioned"}),
        ("C2 ok if the fan is on", {"C2": "questioned"}),
        ("ok C2 if the fan is on", {"C2": "questioned"}),
        ("C2?", {"C2": "questioned"}),
        ("C10 ok", {"C10": "accepted"}),
        ("C1 cannot be accepted", {"C1": "held"}),
        ("C1 isn\u2019t accepted", {"C1": "held"}),
        ("C1 un-accepted", {"C1": "held"}),
        ("C1 ok?", {"C1": "questioned"}),
        ("ok: C1?", {"C1": "questioned"}),
        ("C1 ok (after you fix it)", {"C1": "questioned"}),
        ("C1 ok (as long as it is 0.5)", {"C1": "questioned"}),
        ("C1 ok: subject to a second look", {"C1": "questioned"}),
        ("C1 ok because I was told to; I disagree", {"C1": "questioned"}),
        ("C1-C3 ok: less C2", {"C1": "accepted", "C3": "accepted"}),
        ("C1 accepted: is the gear new?", {"C1": "questioned"}),
        ("C1 nicht accepted", {}),
        ("C1 will be accepted tomorrow", {}),
        ("C1 accepted by nobody", {}),
        ("nobody accepted C1", {}),
        ("On Monday you wrote: C1 accepted", {}),
        ("C1, as you wrote: accepted", {}),
        ("C1 and C2 both look good to me, thanks", {"C1": "accepted", "C2": "accepted"}),
        ("C1 accepted: weighed and counted", {"C1": "accepted"}),
        ("accepted: C2, 4 mm left", {}),
        ("ok C3, 4 times counted", {}),
        ("no, hold C3, 4 mm", {"C3": "held"}),
        ("hold C3 to 4 mm", {"C3": "held"}),
        ("ok C3 - 4 % is little", {}),
        ("accepted: C2, 3,4 mm are left", {}),
        ("accepted: C2, 3.5 mm", {}),
        ("C1, 2 and 3 are fine", {"C1": "accepted", "C2": "accepted", "C3": "accepted"}),
        ("C1, 2: ok", {"C1": "accepted", "C2": "accepted"}),
        ("C1, 2 held, it oozes", {"C1": "held", "C2": "held"}),
        ("ok: C1, 2.", {"C1": "accepted", "C2": "accepted"}),
        ("C1, 2 and 3 good turns", {}),
        ("D1: yes; H2: no", {"D1": "accepted", "H2": "held"}),
        ("1. C1 ok", {"C1": "accepted"}),
        ("C1 ok!", {"C1": "accepted"}),
        ("C1 ok (counted twice)", {"C1": "accepted"}),
        *(
            (f"C1{consent}", {})
            for consent in (
                " = 1.5: ok",
                ": 1.5 ok",
                ": ok => 1.5",
                " \u2192 1.5: ok",
                ": ok, 1.5",
                ": \u2260 ok",
                ": !ok",
                ": \u274c ok",
                ": ok \U0001f44e",
                ": ~~ok~~",
                ".1 ok",
                ": 0 ok",
                ": ok, far too short for that tube",
                ": ok, hmm, halve it",
            )
        ),
        ("Is C3 ok", {}),
        ("are C1 and C2 ok", {}),
        ("C3 is to be accepted by you", {}),
        ("C3: yes please change", {}),
        ("C3: ok, change to 1.2", {}),
        ("C3: ok - C4: wrong", {"C3": "accepted", "C4": "held"}),
        ("C1: ok / C2: ok / C3: wrong", {"C1": "accepted", "C2": "accepted", "C3": "held"}),
        ("C1: looks good to me, thanks", {"C1": "accepted"}),
        ("C1 and C2: yes, both fine", {"C1": "accepted", "C2": "accepted"}),
        ("C4 to C1: ok", {}),
        ("C1 to H2: ok", {}),
    ],
)
def test_a_line_is_read(line: str, expected: dict[str, str]) -> None:
    assert verdicts(line) == expected


def test_the_order_does_not_matter_and_the_rest_is_what_is_not_named() -> None:
    found = verdicts("The rest: accepted\nD2: held, which unit?\nC4 why?\nH2 looks odd")
    assert found == {
        "C1": "accepted", "C2": "accepted", "C3": "accepted", "C4": "questioned", "C10": "accepted",
        "H1": "accepted", "D1": "accepted", "D2": "held",
    }  # fmt: skip
    assert "H2" not in found, "what was said of it could not be read"


@pytest.mark.parametrize(
    "line",
    [
        "The others are fine.",
        "the rest: ok",
        "All the others accepted",
        "I accept everything else",
        "all ok",
        "Remaining",
    ],
)
def test_the_others_are_the_rest(line: str) -> None:
    found = verdicts(f"C2 held: it oozes\n{line}")
    assert found["C2"] == "held"
    assert len(found) == (1 if line == "Remaining" else len(ITEMS))


@pytest.mark.parametrize(
    "line",
    [
        "The others look odd",
        "All in all a good page",
        "The others are fine, more or less",
        "They are fine",
        "both ok",
    ],
)
def test_a_line_on_items_that_it_does_not_name_is_never_dropped_in_silence(line: str) -> None:
    found = read(f"C2 held: it oozes\n{line}")
    assert [each.item for each in found.judgements] == ["id of C2"]
    assert found.unread == ((3, line),)


@pytest.mark.parametrize(
    "line",
    [
        "are the rest ok",
        "Are the rest ok?",
        "the rest: to be accepted",
        "the rest is fine by them",
        "all fine by them",
    ],
)
def test_no_question_and_no_plan_accepts_the_rest(line: str) -> None:
    assert "accepted" not in verdicts(f"C2 held: it oozes\n{line}").values()


def test_the_rest_is_nothing_that_is_named_in_a_note() -> None:
    found = verdicts("C2 held: see C3\nthe rest: ok")
    assert found["C2"] == "held" and "C3" not in found and found["C1"] == "accepted"


def test_a_line_longer_than_any_that_a_person_writes_is_refused() -> None:
    with pytest.raises(BadInput, match=r"mail\.txt:2: this line has more than 2,000 letters"):
        read("C1 ok, " * 2000)


def test_the_rest_is_not_what_was_quoted_last() -> None:
    found = verdicts("> C3 Retraction length: 5 mm to 0.6 mm\nThe others are fine.\nC3 held: why")
    assert found["C3"] == "held" and found["C1"] == "accepted"


def test_what_is_quoted_gives_no_verdict_and_says_what_an_answer_is_about() -> None:
    found = read("> C1 accepted, C2 accepted\n> C3 Retraction length: 5 mm to 0.6 mm\nhold, it oozes\nthanks")
    (only,) = found.judgements
    assert (only.item, only.verdict.value, only.note) == ("id of C3", "held", "hold, it oozes")


@pytest.mark.parametrize(
    ("line", "note"),
    [
        ("C2 held: it oozes", "it oozes"),
        ("C2 ok", ""),
        ("hold C2 because it oozes", "because it oozes"),
        ("C2 held: see C3, ok?", "see C3, ok?"),
    ],
)
def test_the_reason_is_kept_as_the_note(line: str, note: str) -> None:
    assert [each.note for each in read(line).judgements] == [note]


def test_what_cannot_be_read_is_handed_back_and_stays_open() -> None:
    found = read("C1 looks odd\nC2 ok")
    assert [each.item for each in found.judgements] == ["id of C2"]
    assert found.unread == ((2, "C1 looks odd"),)
    assert read("C1 ok C2 not").unread == ((2, "C1 ok C2 not"),)


@pytest.mark.parametrize(
    "text",
    [
        "C1, C2 and C3 are ok\nbut only if the motor current is halved first",
        "C1 ok\nThat is far too short for this tube",
        "C1 to C3: ok\n\nBut only with half the current.",
        "If you halve the current first\nC1 to C3 are fine",
        "> C1 Retraction length: 5 mm to 0.6 mm\nok\nonly with half the current",
        "> C1 Retraction length: 5 mm to 0.6 mm\nI think that is too short\nC1 ok",
        "all ok\nprovided that the gear is new",
        "C1 ok\n\n\nunless you halve it",
        "C1 ok\n\nBo\n\nPS: all only if halved",
        "Draft, not final:\nC1 ok",
        "C1 ok\n\nDon't take this as final.",
        "From Bo's mail:\nC1 ok",
        "C1 ok\nC2 ok\n\nBest,\nKim\n\nPS: only if the fan is on",
        "C1 ok\nC2 ok\n\nPlease do not install yet.",
    ],
)
def test_a_consent_whose_sentence_is_in_two_lines_is_not_read(text: str) -> None:
    found = read(text)
    assert found.judgements == () and found.unread


@pytest.mark.parametrize(
    "text",
    [
        "C1 ok\nWim",
        "C1 ok\nthanks",
        "Hello Hanne,\nC1 ok\nKind regards",
        "I looked at all of it.\nC1 ok",
        "packet 3f0ac9d1\nC1 ok\nC2 held: too long\nit oozes",
    ],
)
def test_greetings_and_names_take_nothing_from_a_consent(text: str) -> None:
    assert verdicts(text)["C1"] == "accepted"


def test_a_reason_in_two_lines_is_kept_whole() -> None:
    (only,) = read("C2 held: it oozes\nat each corner").judgements
    assert only.note == "it oozes at each corner"


def test_the_rest_is_not_what_could_not_be_read_nor_what_it_answers() -> None:
    found = read("> C4 Retraction length: 6.2 mm to 0.74 mm\nI think that is too short\n\nthe rest: accepted")
    assert (
        "id of C4" not in {each.item for each in found.judgements} and len(found.judgements) == len(ITEMS) - 1
    )


@pytest.mark.parametrize(
    "head",
    [
        "From: A. Heron\nSent: Monday\nTo: Tern\nSubject: the packet\n",
        "On Monday A. Heron wrote:\n",
    ],
)
def test_an_earlier_mail_below_gives_no_verdict_and_no_name(head: str) -> None:
    found = read(f"C2 held: too low\n\n{head}\nC1 to C4: ok")
    assert [(each.item, each.verdict.value) for each in found.judgements] == [("id of C2", "held")]
    assert found.name == ""


def test_below_what_somebody_wrote_and_is_quoted_the_writer_goes_on() -> None:
    assert verdicts("On Monday A. Heron wrote:\n> C1 Feed per turn\nok") == {"C1": "accepted"}


def test_a_signature_and_what_follows_a_divider_are_not_read() -> None:
    assert verdicts("C1 ok\n-- \nC2 ok") == {"C1": "accepted"}
    assert verdicts("C1 ok\n-----Original Message-----\nC2 ok") == {"C1": "accepted"}


def test_the_writers_name_is_taken_from_the_mail() -> None:
    assert read('From: "B. Plover" <b@hut.example>\nC1 ok').name == "B. Plover"
    assert read("C1 ok").name == ""


def test_a_mail_about_another_packet_or_none_is_refused() -> None:
    with pytest.raises(Refused, match="add the line: packet 3f0ac9d1"):
        read_answer("C1 ok", "mail.txt", ITEMS, HASH)
    with pytest.raises(Refused, match="answers the packet 99999999"):
        read_answer("packet 99999999\nC1 ok", "mail.txt", ITEMS, HASH)


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ("C9 ok", r"mail\.txt:2: the packet has no C9\n  It has C1 to C10"),
        ("the rest ok\nthe others held", r"two verdicts on the rest: accepted in line 2, here held"),
        ("C1 ok\nC1 held", r"mail\.txt:3: two verdicts on C1: accepted in line 2, here held"),
    ],
)
def test_a_wrong_number_or_two_verdicts_are_one_clear_error(text: str, error: str) -> None:
    with pytest.raises(BadInput, match=error):
        read(text)


def test_one_change_and_two_things_by_hand_are_named_as_one_and_two() -> None:
    few = {name: name for name in ("C1", "H1", "H2")}
    with pytest.raises(BadInput, match=r"It has C1, H1 to H2\."):
        read_answer("packet 3f0ac9d1\nC9 ok", "mail.txt", few, HASH)


def test_the_same_verdict_on_the_rest_said_twice_is_one() -> None:
    assert set(verdicts("the rest ok: thanks\nC1 held\nthe others ok").values()) == {"accepted", "held"}


def test_what_somebody_wrote_ends_the_mail_where_it_does_not_follow_as_a_quote() -> None:
    wrote = "C2 held: too long\nOn 4 May 2031, B. Plover wrote:\n"
    assert verdicts(f"{wrote}C1 accepted\n> C3 accepted\nC4 held: why") == {"C2": "held"}
    assert verdicts(f"{wrote}\n> C3 accepted\nC4 held: why") == {"C2": "held", "C4": "held"}


def test_a_remark_that_stands_apart_and_sets_no_condition_takes_nothing_from_a_consent() -> None:
    """What sets one is looked for there too, since a condition often stands below all items."""
    heron, unless = "The nights are long and I saw a heron this morning.", "Unless it oozes, that is."
    for said, expected in ((heron, {"C1": "accepted", "C2": "held"}), (unless, {"C2": "held"})):
        assert verdicts(f"C1 accepted\n\n{said}\n\nC2 held") == expected, said


@pytest.mark.parametrize(
    ("below", "stands"),
    [
        ("Mara", True),
        ("Mara Odo", True),
        ("Mara van Odo", True),
        ("mara van odo", False),
        ("Mara van der Odo", False),
    ],
)
def test_a_name_of_up_to_three_words_below_a_consent_is_the_writer_s_and_no_part_of_it(
    below: str, stands: bool
) -> None:
    assert verdicts(f"C1 accepted\n{below}") == ({"C1": "accepted"} if stands else {})
