"""What the history keeps of a packet is what the packet says, and who looked at this very packet."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

from msgspec.structs import replace

from cfgmigrate import Judgement, Review, Verdict
from cfgmigrate.apply.recorded_reasons import reasons_of
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.packet.review import write_reviews
from cfgmigrate.packet.standing import record_review

WHEN = "2031-05-04T10:11:12Z"


def reviewed(packet: Packet, *verdicts: Judgement) -> Packet:
    record_review(packet.folder, Review(packet.hash, "B. Plover", WHEN, verdicts, {}))
    return read_packet(packet.folder)


def test_each_value_is_kept_with_what_was_there_before(packet: Packet) -> None:
    found = reasons_of(packet, packet.plan.changes)["changes"]
    assert [(each["old"], each["new"]) for each in found] == [
        (edit.old, edit.new) for change in packet.plan.changes for edit in change.edits
    ]
    first = packet.plan.changes[0]
    assert reasons_of(packet, [replace(first, old=None)])["changes"][0]["old"] == ""


def test_who_reviewed_is_told_where_a_verdict_stands_or_the_record_is_of_this_packet(
    packet: Packet, tmp_path: Path, kit: SimpleNamespace
) -> None:
    assert reasons_of(packet, ())["reviewer"] == ""
    looked = reviewed(packet)
    assert [reasons_of(looked, ())[key] for key in ("reviewer", "reviewed")] == ["B. Plover", WHEN]
    judged = reviewed(packet, Judgement("axis.z.max", Verdict.ACCEPTED, ""))
    assert reasons_of(judged, ())["reviewer"] == "B. Plover"

    record = Review("0" * 64, "B. Plover", WHEN, (Judgement("axis.z.max", Verdict.ACCEPTED, ""),), {})
    write_reviews(packet, [record])
    other = reasons_of(read_packet(packet.folder), ())
    assert (other["reviewer"], other["reviewed"]) == ("", ""), "what they judged is no longer what is here"
    write_reviews(packet, [replace(record, judgements=())])
    assert reasons_of(read_packet(packet.folder), ())["reviewer"] == ""
