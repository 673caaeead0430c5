"""Nobody's verdicts are lost to another person's, and a verdict stands as long as its item is the same."""

from __future__ import annotations

import shutil
import threading
import time
from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

import cfgmigrate
from cfgmigrate import Judgement, Refused, Review, Verdict
from cfgmigrate.packet.binding import basis_of, review_basis
from cfgmigrate.packet.folder import REVIEW, Packet
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.packet.review import read_reviews
from cfgmigrate.packet.standing import (
    Allowed,
    allowed_changes,
    counted_time,
    current_reviews,
    joint_verdict,
    of_group,
    record_review,
    standings,
    what_changed,
)
from cfgmigrate.rules.result import Input

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"
WHEN = "2031-05-04T10:11:12Z"


def said(packet: Packet, reviewer: str, time: str = WHEN, **verdicts: str) -> Review:
    """A record with these verdicts (with `_` for `.`)."""
    judgements = tuple(
        Judgement(change.id, Verdict(verdicts[change.id.replace(".", "_")]), "a note")
        for change in packet.plan.changes
        if change.id.replace(".", "_") in verdicts
    )
    return Review(packet.hash, reviewer, time, judgements, {})


def everything(packet: Packet, reviewer: str) -> Review:
    return said(packet, reviewer, **{each.id.replace(".", "_"): "accepted" for each in packet.plan.changes})


def test_a_second_persons_record_lies_beside_the_firsts(packet: Packet) -> None:
    record_review(packet.folder, said(packet, "B. Plover", axis_z_max="held"))
    record_review(packet.folder, everything(packet, "C. Teal"))
    assert [review.reviewer for review in read_reviews(packet.folder)] == ["B. Plover", "C. Teal"]
    held = {each.name: each.why for each in _allowed(packet).held}
    assert held["axis.z.max"] == "held by B. Plover: a note"


@pytest.mark.parametrize(
    ("time", "counts"),
    [
        ("2021-05-04T10:11:12Z", True),
        ("2021-05-04T10:11:12", False),
        ("2021-05-04T10:11:12+", False),
        ("2021-05-04T10:11:12.123Z", False),
        ("+021-05-04T10:11:12Z", False),
        ("9021-05-04T10:11:12Z", False),
        ("", False),
    ],
)
def test_what_is_no_time_or_is_still_to_come_makes_no_record_the_newer_one(time: str, counts: bool) -> None:
    assert counted_time(Review("hash", "B. Plover", time, (), {})) == (time if counts else "")


def test_a_persons_newer_record_takes_the_place_of_their_own_and_an_older_one_does_not(
    packet: Packet,
) -> None:
    older = said(packet, "B. Plover", "2021-05-04T10:11:12Z", axis_z_max="held")
    record_review(packet.folder, older)
    newer = said(packet, "b.  plover", "2021-05-05T10:11:12Z", axis_z_max="accepted")
    record_review(packet.folder, newer)
    assert [review.time for review in read_reviews(packet.folder)] == [newer.time]
    with pytest.raises(Refused, match="this one is older"):
        record_review(packet.folder, older)


def test_a_record_of_a_time_to_come_keeps_nobody_from_saying_something_else(packet: Packet) -> None:
    record_review(packet.folder, said(packet, "B. Plover", "9999-12-31T23:59:59Z", axis_z_max="accepted"))
    record_review(packet.folder, said(packet, "B. Plover", "2021-05-05T10:11:12Z", axis_z_max="held"))
    (review,) = read_reviews(packet.folder)
    assert [each.verdict for each in review.judgements] == [Verdict.HELD]


def test_the_preparers_hold_counts_and_their_acceptance_does_not(packet: Packet) -> None:
    record_review(packet.folder, everything(packet, packet.preparer))
    with pytest.raises(Refused, match="can't be its second person"):
        _allowed(packet)
    record_review(packet.folder, said(packet, "B. Plover", axis_z_max="accepted", mesh_to_y="accepted"))
    record_review(packet.folder, said(packet, packet.preparer, mesh_to_y="questioned"))
    assert [change.id for change in _allowed(packet).changes] == ["axis.z.max"]


def test_a_step_by_hand_that_is_held_stops_the_install(packet: Packet) -> None:
    step = Judgement(packet.plan.by_hand[0].id, Verdict.HELD, "which screw?")
    review = everything(packet, "B. Plover")
    record_review(packet.folder, replace(review, judgements=(*review.judgements, step)))
    with pytest.raises(Refused, match=r"not settled: .*held by B\. Plover: which screw\?"):
        _allowed(packet)


def _allowed(packet: Packet) -> Allowed:
    return allowed_changes(
        packet.plan, current_reviews(cfgmigrate.open_packet(packet.folder)), packet.preparer
    )


@pytest.mark.parametrize("sample", ["dunlin", "wren"])
def test_a_remark_above_everything_reopens_nothing_and_another_value_what_rests_on_it(
    sample: str, tmp_path: Path
) -> None:
    shutil.copytree(SAMPLES / sample, tmp_path / "c")
    swap = (SAMPLES / "sheets" / f"{sample}.yaml").read_text(encoding="utf-8")
    (tmp_path / "swap.yaml").write_text(swap, encoding="utf-8")

    def prepare() -> Packet:
        return cfgmigrate.prepare(
            tmp_path / "c", tmp_path / "swap.yaml", out=tmp_path / "p", preparer="A. Heron", replace=True
        )

    first = prepare()
    judged = [Judgement(item, Verdict.ACCEPTED) for item in _items(first)]
    cfgmigrate.record_verdicts(first.folder, "B. Plover", judgements=judged)
    for file in {edit.file for change in first.plan.changes for edit in change.edits}:
        whole = (tmp_path / "c" / file).read_bytes()
        remark = b"// seen\n" if whole.lstrip().startswith(b"/") else b"# seen\n"
        (tmp_path / "c" / file).write_bytes(remark + whole)
    second = prepare()
    assert second.hash != first.hash
    (kept,) = standings(second)
    assert (kept.reopened, kept.gone) == ((), ())
    assert len(kept.review.judgements) == len(judged)

    lengthened = swap.replace("length: 4", "length: 5", 1)
    assert lengthened != swap
    (tmp_path / "swap.yaml").write_text(lengthened, encoding="utf-8")
    (kept,) = standings(prepare())
    assert kept.reopened and kept.review.judgements


def _items(packet: Packet) -> list[str]:
    basis = review_basis(packet.plan)
    found = [change.id for change in packet.plan.changes] + [item.id for item in packet.plan.by_hand]
    return found + [piece for piece in basis if piece.startswith("doubt ")]


def test_a_record_of_another_packet_never_counts_as_one_of_this(packet: Packet) -> None:
    """Even where every piece is the same: what it is bound to is the whole packet."""
    review = replace(everything(packet, "B. Plover"), basis=basis_of(packet))
    assert what_changed(review, packet) == ()
    assert what_changed(replace(review, packet="0" * 64), packet) != ()


HEIGHT = "axis.z.max"


@pytest.fixture
def twin(tmp_path: Path, kit: SimpleNamespace) -> Packet:
    """A packet of a machine of the same group, which is the same but for the height."""
    moves = [(*each[:3], "187", *each[4:]) if each[0] == HEIGHT else each for each in kit.MOVES]
    changes = [kit.move(kit.FILES, *each) for each in moves]
    return kit.pack(tmp_path / "twin packet", kit.FILES, changes, str(tmp_path / "twin"))


def _of_all(packet: Packet, reviewer: str = "B. Plover") -> Review:
    return replace(everything(packet, reviewer), basis=basis_of(packet))


def _said_of(review: Review) -> dict[str, str]:
    found = [(each.item, each.verdict.value) for each in review.judgements]
    assert len(dict(found)) == len(found), "one verdict an item"
    return dict(found)


def test_a_group_s_record_says_nothing_of_what_is_another_value_in_a_packet_of_it(
    packet: Packet, twin: Packet
) -> None:
    found = of_group(_of_all(packet), twin)
    same = {each.id for each in twin.plan.changes} - {HEIGHT}
    assert _said_of(found.review) == dict.fromkeys(same, "accepted") and found.reopened == (HEIGHT,)
    assert (found.review.packet, found.review.group) == (twin.hash, ())
    record_review(twin.folder, found.review)
    assert {each.name: each.why for each in _allowed(twin).held} == {HEIGHT: "not reviewed"}


@pytest.mark.parametrize("here", ["accepted", "held"])
def test_what_is_another_value_stays_as_the_same_person_judged_it_there_and_never_as_somebody_else_did(
    packet: Packet, twin: Packet, here: str
) -> None:
    """Else whoever consents to a group would stand behind a value that only a third person looked at."""
    record_review(twin.folder, said(twin, "C. Teal", axis_z_max=here))
    there = read_packet(twin.folder)
    assert HEIGHT not in _said_of(of_group(_of_all(packet), there).review)
    assert _said_of(of_group(_of_all(packet, "c.  teal"), there).review)[HEIGHT] == here


def test_of_what_is_the_same_a_group_s_record_says_what_counts_now(packet: Packet, twin: Packet) -> None:
    record_review(twin.folder, said(twin, "B. Plover", "2021-05-04T10:11:12Z", lag_coefficient="held"))
    found = of_group(_of_all(packet), read_packet(twin.folder))
    assert _said_of(found.review)["lag.coefficient"] == "accepted"


def test_a_verdict_is_bound_to_what_the_sheet_says_and_not_to_where_it_lies(packet: Packet) -> None:
    """Machines of a fleet have a sheet each, and each of its places stands in texts, lists and inputs."""

    def basis(sheet: str, says: str = "the tube") -> dict[str, str]:
        given = Input("new.tube.length", "", 40.0, "mm", 0.0, f"{sheet}:12")
        (first, *others), (hand, *_) = packet.plan.changes, packet.plan.by_hand
        derivation = replace(first.derivation, inputs=(given,), source=f"{says}, {sheet}:12:3")
        change = replace(first, derivation=derivation, cautions=(f"see {sheet}:12 and 14",))
        by_hand = (replace(hand, why=f"{sheet}:9 says so"),)
        return review_basis(
            replace(packet.plan, sheet_path=sheet, changes=(change, *others), by_hand=by_hand)
        )

    one, other = basis("wren-swap.yaml"), basis("sheets of the hut/wren two.yaml")
    pieces = [piece for piece in one if piece.startswith(("change ", "by hand "))]
    assert len(pieces) == len(packet.plan.changes) + 1
    assert [one[piece] for piece in pieces] == [other[piece] for piece in pieces]
    first = f"change {packet.plan.changes[0].id}"
    assert basis("wren-swap.yaml", "the cable")[first] != one[first]


def test_what_is_kept_of_several_verdicts_is_the_objection_with_every_note(packet: Packet) -> None:
    yes = said(packet, "B. Plover", axis_z_max="accepted", mesh_to_y="accepted")
    no = said(packet, "C. Teal", axis_z_max="held")
    assert joint_verdict("lag.coefficient", [yes, no]) == {"verdict": "", "note": ""}
    assert joint_verdict("mesh.to_y", [yes, no]) == {"verdict": "accepted", "note": "a note"}
    for order in ((yes, no), (no, yes)):
        found = joint_verdict("axis.z.max", order)
        assert found["verdict"] == "held"
        assert sorted(found["note"].split("; ")) == ["B. Plover: a note", "C. Teal: a note"]


def test_another_line_of_a_file_is_the_same_item_and_another_number_behind_a_colon_is_not(
    packet: Packet,
) -> None:
    (item,) = packet.plan.by_hand

    def digest(why: str) -> str:
        plan = replace(packet.plan, by_hand=(replace(item, why=why),))
        return review_basis(plan)[f"by hand {item.id}"]

    assert digest("as in feeder.ini:3, with 50:9") == digest("as in feeder.ini:14, with 50:9")
    assert digest("as in feeder.ini:3, with 50:9") != digest("as in feeder.ini:3, with 50:11")
    assert digest("as in feeder.ini:3, with 50:9") != digest("as in flow.conf:3, with 50:9")


def test_a_plan_whose_sheet_has_no_path_is_bound_like_any_other(packet: Packet) -> None:
    named, bare = (review_basis(replace(packet.plan, sheet_path=path)) for path in ("swap.yaml", ""))
    assert [bare[piece] for piece in bare if piece in named] == [
        named[piece] for piece in bare if piece in named
    ]
    assert len(bare) == len(named)


def test_a_record_that_was_altered_under_its_seal_is_not_read(packet: Packet) -> None:
    record_review(packet.folder, said(packet, "B. Plover", axis_z_max="held"))
    path = packet.folder / REVIEW
    path.write_bytes(path.read_bytes().replace(b"held", b"accepted"))
    with pytest.raises(Refused, match="seal does not hold"):
        read_reviews(replace(packet, review=path.read_bytes()))


def test_of_two_records_taken_in_at_one_moment_both_stay(
    packet: Packet, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = threading.Event()

    def slowly(*args: object) -> object:
        found = read_reviews(*args)  # type: ignore[arg-type]
        if not first.is_set():
            first.set()
            time.sleep(0.2)
        return found

    monkeypatch.setattr("cfgmigrate.packet.standing.read_reviews", slowly)
    names = ("B. Plover", "C. Teal")
    both = [
        threading.Thread(target=record_review, args=(packet.folder, said(packet, name, axis_z_max="held")))
        for name in names
    ]
    for each in both:
        each.start()
    for each in both:
        each.join()
    assert {review.reviewer for review in read_reviews(packet.folder)} == {*names}
