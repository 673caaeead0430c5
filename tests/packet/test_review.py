"""A review says what a second person accepted, of exactly one packet, and is void for any other."""

from __future__ import annotations

import errno
from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from cfgmigrate.apply.install import install
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.packet.binding import review_basis
from cfgmigrate.packet.folder import Contents, Packet
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.packet.review import Judgement, Review, Verdict, parse_review, parse_reviews, read_reviews
from cfgmigrate.packet.standing import allowed_changes, record_review, standings, what_changed
from cfgmigrate.packet.write import write_packet
from cfgmigrate.plan.model import Change

Changes = tuple[Change, ...]
WHEN = "2031-05-04T10:11:12Z"


def review_of(packet: Packet, reviewer: str = "B. Redshank", **verdicts: str) -> Review:
    """Everything accepted but what `verdicts` says (with `_` for `.`)."""
    judgements = tuple(
        Judgement(
            change.quantity, Verdict(verdicts.get(change.quantity.replace(".", "_"), "accepted")), "a note"
        )
        for change in packet.plan.changes
    )
    return Review(packet.hash, reviewer, WHEN, judgements, review_basis(packet.plan))


def test_a_recorded_review_is_read_again_as_it_was(packet: Packet) -> None:
    review = review_of(packet, motor_run_current="held", lag_coefficient="questioned")
    record_review(packet.folder, review)
    assert read_reviews(packet.folder) == (review,)


@pytest.mark.parametrize("joint", [",", ":", " #", "'"])
def test_long_things_to_do_by_hand_are_reviewed_and_read_again(
    tmp_path: Path, kit: SimpleNamespace, joint: str
) -> None:
    """The keys of a record are whole sentences; a key that is broken over two lines is no YAML."""
    words = (
        "set the y end stop's position in the files, once, from 0 mm to −6 mm{} it moves with the nozzle. "
    )
    plan = kit.plan_for(kit.FILES, ())
    for length in range(80, 400, 7):
        what = (words.format(joint) * 5)[:length].strip()
        hands = replace(plan, by_hand=(replace(plan.by_hand[0], what=what),))
        packet = write_packet(
            tmp_path / str(length),
            Contents(hands, kit.FILES, {}, b"machine: Wren\n", None, {}),
            {},
            "A. Dunlin",
        )
        given = Review(packet.hash, "B. Redshank", WHEN, (Judgement(what, Verdict.ACCEPTED),), {})
        assert read_reviews(packet.folder) == ()
        recorded = record_review(packet.folder, given)
        assert read_reviews(packet.folder) == (recorded,)


@pytest.mark.parametrize(
    "note",
    [
        "",
        "plain",
        "it's 50:9, isn't it?",
        "two\nlines",
        "# no comment",
        "- x",
        "\u2192 \u9ce5 \u202e rtl",
        "'\"",
        "null",
        "x" * 5000,
    ],
    ids=ascii,
)
def test_any_note_survives(packet: Packet, note: str) -> None:
    review = replace(
        review_of(packet), judgements=(Judgement("motor.run_current", Verdict.HELD, note),), reviewer="123"
    )
    record_review(packet.folder, review)
    assert read_reviews(packet.folder) == (review,)


def test_a_record_as_the_page_saves_it_is_taken_in(packet: Packet) -> None:
    record = (
        f"format: 1\npacket: {packet.hash}\nreviewer: B. Redshank\ntime: {WHEN}\nverdicts:\n"
        "  - item: motor.run_current\n    verdict: held\n    note: too warm in the hut\n"
        "  - {item: turn the current screw, verdict: questioned}\n"
    )
    record_review(packet.folder, parse_review(record.encode(), "record.yaml"))
    (found,) = read_reviews(packet.folder)
    assert found.of("motor.run_current") == Judgement(
        "motor.run_current", Verdict.HELD, "too warm in the hut"
    )
    assert found.basis == review_basis(packet.plan)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("format: 1", "format: 2", r"record\.yaml:1.*format: 1"),
        ("reviewer", "reviever", r"record\.yaml:3:1: .*no field 'reviever'\n  Did you mean reviewer"),
        ("reviewer: B. Redshank\n", "", "`reviewer` is missing"),
        (
            "verdict: held",
            "verdict: fine",
            r"record\.yaml:6:54: 'fine' is no verdict\n  Use one of: accepted",
        ),
        ("item: motor.run_current, ", "", r"record\.yaml:6:5: `item` is missing"),
        ("verdicts:\n", "verdicts: yes\nbasis:\n", "`verdicts` must be a list"),
        ("verdict: held", "verdict: held, mood: grim", "no field 'mood'"),
        ("item: motor.run_current", "item: &a motor.run_current", "anchor"),
        ("item: motor.run_current", "item: !!python/name:os.system motor", "tag"),
        ("item: motor.run_current", "item: [", "not YAML"),
        ("format: 1", "", "`format` is missing"),
    ],
)
def test_a_wrong_record_is_one_clear_error(packet: Packet, old: str, new: str, said: str) -> None:
    record = (
        f"format: 1\npacket: {packet.hash}\nreviewer: B. Redshank\ntime: {WHEN}\nverdicts:\n"
        "  - {item: motor.run_current,               verdict: held}\n"
    )
    assert old in record
    with pytest.raises(BadInput, match=said):
        parse_review(record.replace(old, new).encode(), "record.yaml")


@pytest.mark.parametrize("several", ["5", "{a: b}", ""])
def test_records_of_several_people_are_a_list(several: str) -> None:
    with pytest.raises(BadInput, match="`reviews` must be a list"):
        parse_reviews(f"format: 2\nreviews: {several}\n".encode(), "review.yaml")


def test_two_verdicts_on_one_item_are_an_error(packet: Packet) -> None:
    line = "  - {item: motor.run_current, verdict: held}\n"
    record = f"format: 1\npacket: x\nreviewer: B\ntime: {WHEN}\nverdicts:\n{line}{line}"
    with pytest.raises(BadInput, match=r"record\.yaml:7:5: a second verdict"):
        parse_review(record.encode(), "record.yaml")


def test_many_aliases_cost_nothing(packet: Packet) -> None:
    bomb = "a: &a [x, x]\n" + "".join(
        f"{n}: &{n} [*{m}, *{m}]\n" for m, n in zip("abcdefgh", "bcdefghi", strict=True)
    )
    with pytest.raises(BadInput, match="anchor"):
        parse_review(bomb.encode(), "record.yaml")
    with pytest.raises(BadInput, match="too many"):
        parse_review(b"#" * 10_000_000, "record.yaml")


def test_a_verdict_on_something_that_is_not_there_is_an_error(packet: Packet) -> None:
    review = replace(review_of(packet), judgements=(Judgement("motor.run_curent", Verdict.ACCEPTED),))
    with pytest.raises(BadInput, match=r"Did you mean motor\.run_current"):
        record_review(packet.folder, review)
    assert read_reviews(packet.folder) == ()


def test_a_review_of_another_packet_is_void_and_says_what_changed(
    packet: Packet, wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    review = review_of(packet)
    sheet = kit.FILES["flow.conf"]
    files = {**kit.FILES, "flow.conf": sheet + b"fan.speed=0.4\n"}
    moved = [
        replace(change, new=replace(change.new, uncertainty=0.1))
        if change.quantity == "axis.z.max"
        else change
        for change in wren_changes[:-1]
    ]
    other = kit.pack(tmp_path / "other", files, moved)
    assert set(what_changed(review, other)) == {
        "file flow.conf changed",
        "change axis.z.max changed",
        "change lag.coefficient is gone",
    }
    (kept,) = standings(other.folder) if record_review(other.folder, review) else ()
    assert kept.reopened == ("axis.z.max",) and kept.gone == ("lag.coefficient",)
    assert what_changed(review, packet) == ()


def test_a_review_of_nothing_that_is_in_the_packet_is_void(
    packet: Packet, wren_changes: Changes, tmp_path: Path, kit: SimpleNamespace
) -> None:
    review = replace(review_of(packet), judgements=(Judgement("lag.coefficient", Verdict.ACCEPTED),))
    other = kit.pack(tmp_path / "other", kit.FILES, wren_changes[:-1])
    with pytest.raises(Refused, match=r"(?s)void.*change lag\.coefficient is gone"):
        record_review(other.folder, review)
    assert read_reviews(other.folder) == ()


def test_a_packet_that_is_prepared_again_keeps_the_verdicts_on_what_is_the_same(
    packet: Packet, wren_changes: Changes, kit: SimpleNamespace, config: Path
) -> None:
    record_review(packet.folder, review_of(packet))
    moved = [
        replace(change, new=replace(change.new, uncertainty=0.1))
        if change.quantity == "axis.z.max"
        else change
        for change in wren_changes
    ]
    kit.pack(packet.folder, kit.FILES, moved, str(config), replace=True)
    (kept,) = standings(packet.folder)
    assert kept.reopened == ("axis.z.max",) and kept.gone == ()
    report = install(packet.folder, require_review=True)
    assert {held.name: held.why for held in report.held} == {"axis.z.max": "not reviewed"}


def test_only_accepted_changes_are_installed_and_the_held_are_named(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    record_review(packet.folder, review_of(packet, motor_run_current="held", mesh_to_y="questioned"))
    report = install(packet.folder, require_review=True)
    assert {held.name: held.why for held in report.held} == {
        "motor.run_current": "held by B. Redshank: a note",
        "mesh.to_y": "questioned by B. Redshank: a note",
    }
    found = kit.on_disk(config)
    assert b"run current: 0.8\r\n" in found["feeder.ini"] and b"mm_per_turn: 4.15 " in found["feeder.ini"]
    assert found["parts/axes.ini"] == packet.after["parts/axes.ini"].replace(b"225, 221", b"225, 225")


def test_what_depends_on_something_held_is_held_with_it(packet: Packet) -> None:
    allowed = allowed_changes(packet.plan, [review_of(packet, retraction_length="held")], packet.preparer)
    assert {held.name: held.why for held in allowed.held} == {
        "retraction.length": "held by B. Redshank: a note",
        "lag.coefficient": "depends on retraction.length, which is held",
    }
    assert "lag.coefficient" not in {change.quantity for change in allowed.changes}


def test_holding_goes_through_a_chain_and_a_ring_of_dependences_ends(
    wren_changes: Changes, kit: SimpleNamespace, packet: Packet
) -> None:
    first, second, third, *rest = wren_changes
    ring = (
        replace(first, depends=("drive.gears",)),
        replace(second, depends=(first.quantity,), rule="drive.ratio"),
        replace(third, depends=("drive.ratio",), rule="drive.gears"),
    )
    plan = kit.plan_for(kit.FILES, (*ring, *rest))
    review = review_of(packet, feeder_gear_ratio="held")
    held = {each.name for each in allowed_changes(plan, [review], "A").held}
    assert held == {first.quantity, second.quantity, third.quantity}


def test_what_nobody_looked_at_stays_out(packet: Packet) -> None:
    review = replace(review_of(packet), judgements=(Judgement("axis.z.max", Verdict.ACCEPTED),))
    allowed = allowed_changes(packet.plan, [review], packet.preparer)
    assert [change.quantity for change in allowed.changes] == ["axis.z.max"]
    assert {held.why for held in allowed.held if held.name != "lag.coefficient"} == {"not reviewed"}


@pytest.mark.parametrize("name", ["A. Dunlin", "a. dunlin", "  A.   Dunlin ", "\uff21. Dunlin"])
def test_the_preparer_is_no_second_person(
    packet: Packet, config: Path, kit: SimpleNamespace, name: str
) -> None:
    record_review(packet.folder, review_of(packet, reviewer=name.strip()))
    with pytest.raises(Refused, match="can't be its second person"):
        install(packet.folder, require_review=True)
    assert kit.on_disk(config) == kit.FILES


def test_without_a_known_preparer_no_review_can_be_required(packet: Packet) -> None:
    with pytest.raises(Refused, match="does not say who prepared"):
        allowed_changes(packet.plan, [review_of(packet)], " ")


def test_a_packet_that_was_not_reviewed_is_not_installed_where_that_is_required(
    packet: Packet, config: Path, kit: SimpleNamespace
) -> None:
    with pytest.raises(Refused, match="was not reviewed"):
        install(packet.folder, require_review=True)
    assert kit.on_disk(config) == kit.FILES


def test_a_record_that_the_disk_does_not_take_is_refused_and_the_one_before_stays(
    packet: Packet, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Were nothing said, a hold would be taken for recorded, and the packet would go in."""
    first = review_of(packet)
    record_review(packet.folder, first)

    def full(path: Path, data: bytes) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", str(path))

    monkeypatch.setattr("cfgmigrate.packet.review.write_over", full)
    with pytest.raises(Refused, match=r"the review can't be written: No space left on device"):
        record_review(packet.folder, review_of(packet, "C. Teal", motor_run_current="held"))
    assert read_reviews(packet.folder) == (first,)


def test_a_review_does_not_change_the_packets_identity(packet: Packet) -> None:
    record_review(packet.folder, review_of(packet))
    again = read_packet(packet.folder)
    assert again.hash == packet.hash and again.review is not None


@pytest.mark.parametrize("head", ["format: 3", "format: 1", "format: two", ""], ids=ascii)
def test_records_of_a_packet_in_another_format_than_is_known_are_not_read(packet: Packet, head: str) -> None:
    """A later release may mean something else by the same words."""
    record_review(packet.folder, review_of(packet))
    text = (packet.folder / "review.yaml").read_text(encoding="utf-8")
    assert "format: 2\n" in text and parse_reviews(text.encode(), "review.yaml")
    with pytest.raises(BadInput, match=r"review\.yaml.*format"):
        parse_reviews(text.replace("format: 2\n", f"{head}\n").encode(), "review.yaml")
