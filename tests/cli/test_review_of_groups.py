"""One record judges a group of machines: what is the same there gets its verdicts, and nothing else does."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from commandline import Runner

import cfgmigrate
from cfgmigrate import Refused, api
from cfgmigrate.packet.binding import basis_of, older_digests
from cfgmigrate.packet.review import Review, Verdict, parse_review, read_reviews
from cfgmigrate.packet.standing import standing_of

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"
WHEN = "2021-05-04T10:11:12Z"


@pytest.fixture
def out(cli: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Three machines that get the same values; the third had another one before."""
    monkeypatch.chdir(tmp_path)
    for number in "123":
        shutil.copytree(SAMPLES / "knot", f"knot-{number}")
    third = Path("knot-3", "settings.nc")
    third.write_text(third.read_text("utf-8").replace("M906 E720", "M906 E700"), encoding="utf-8")
    shutil.copy(SAMPLES / "sheets" / "knot.yaml", "swap.yaml")
    machines = "".join(f"  Knot {number}: knot-{number}\n" for number in "123")
    Path("fleet.yaml").write_text(f"sheet: swap.yaml\nmachines:\n{machines}", encoding="utf-8")
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status == 0
    return Path("out")


def the_group(out: Path) -> dict[str, Any]:
    (group,) = json.loads((out / "summary.json").read_bytes())["groups"]
    return dict(group)


def record(out: Path, verdict: str, *, machines: tuple[str, ...] = (), time: str = WHEN) -> Path:
    """What the page of the summary saves where every item of the group gets this verdict."""
    group = the_group(out)
    found = {
        "format": 1,
        "group": list(machines or group["machines"]),
        "reviewer": "B. Plover",
        "time": time,
        "verdicts": [{"item": one["item"], "verdict": verdict, "note": ""} for one in group["shared"]],
        "basis": {one["piece"]: one["digest"] for one in group["shared"]},
    }
    path = out.parent / "record.yaml"
    path.write_text(json.dumps(found), encoding="utf-8")  # JSON is YAML
    return path


def packets(out: Path) -> list[Path]:
    return [out / f"Knot {number}" for number in "123"]


def of_plover(packet: Path) -> Review:
    (found,) = read_reviews(packet)
    return found


def test_each_packet_takes_what_is_the_same_there_and_says_what_is_not(cli: Runner, out: Path) -> None:
    differing = {one["item"] for one in the_group(out)["shared"] if one["others"]}
    assert "motor.run_current" in differing
    # what follows from the sheet alone is the same on all, though each has a sheet of its own
    assert "feeder.steps_per_mm" in {one["item"] for one in the_group(out)["shared"]} - differing
    said = cli("review", *packets(out), "--record", record(out, "accepted"))
    assert (said.status, said.err) == (0, "")
    assert "Knot 3:" in said.out and "not the same here, so not judged: motor.run_current" in " ".join(
        said.out.split()
    )
    every = {one["item"] for one in the_group(out)["shared"]}
    for packet, missing in zip(packets(out), (set(), set(), differing), strict=True):
        review = of_plover(packet)
        assert {judgement.item for judgement in review.judgements} == every - missing
        assert (review.packet, review.group) == (api.open_packet(packet).hash, ())


def test_a_verdict_given_on_a_machine_alone_stays_where_the_group_does_not_judge_it(
    cli: Runner, out: Path
) -> None:
    third = packets(out)[2]
    own = cfgmigrate.Judgement("motor.run_current", Verdict.HELD, "too warm")
    api.record_verdicts(third, "B. Plover", judgements=[own])
    later = record(out, "accepted", time="2099-05-04T10:11:12Z")
    assert cli("review", *packets(out), "--record", later).status == 0
    assert own in of_plover(third).judgements and len(of_plover(third).judgements) > 1


def test_a_machine_that_the_group_does_not_name_is_refused_and_the_others_go_on(
    cli: Runner, out: Path
) -> None:
    given = record(out, "accepted", machines=("Knot 1", "Knot 3"))
    said = cli("review", *packets(out), "--record", given, "--json")
    assert said.status == Refused.status
    found = json.loads(said.out)["packets"]
    assert [bool(each["error"]) for each in found] == [False, True, False]
    assert "of a group without Knot 2" in found[1]["error"]["text"]
    assert read_reviews(packets(out)[1]) == () and read_reviews(packets(out)[0])


def test_a_hold_for_the_group_holds_on_each_machine_of_it(cli: Runner, out: Path) -> None:
    cli("review", *packets(out), "--record", record(out, "held"))
    for packet in packets(out):
        assert {judgement.verdict for judgement in of_plover(packet).judgements} == {Verdict.HELD}


def test_an_older_record_of_the_group_takes_no_newer_verdict_away(cli: Runner, out: Path) -> None:
    assert cli("review", *packets(out), "--record", record(out, "held")).status == 0
    older = record(out, "accepted", time="2020-05-04T10:11:12Z")
    said = cli("review", *packets(out), "--record", older)
    assert said.status == Refused.status and "Nothing was changed" in said.out and "\\n" not in said.out
    assert {judgement.verdict for judgement in of_plover(packets(out)[0]).judgements} == {Verdict.HELD}


def test_one_packet_takes_a_groups_record_too_and_one_of_another_content_takes_nothing(out: Path) -> None:
    given = record(out, "accepted")
    assert api.review(packets(out)[0], given).judgements
    changed = json.loads(given.read_bytes())
    changed["basis"] = dict.fromkeys(changed["basis"], "0" * 64)
    given.write_text(json.dumps(changed), encoding="utf-8")
    with pytest.raises(Refused, match="nothing that the record judges is the same"):
        api.review(packets(out)[1], given)
    assert read_reviews(packets(out)[1]) == ()


def test_a_signature_beside_a_groups_record_is_refused_before_anything_is_written(
    cli: Runner, out: Path
) -> None:
    given = record(out, "accepted")
    Path(f"{given}.sig").write_bytes(b"x")
    said = cli("review", *packets(out), "--record", given)
    assert said.status == Refused.status and "a signature is of one packet's record" in said.err
    assert read_reviews(packets(out)[0]) == ()


@pytest.mark.parametrize(
    ("said", "error"),
    [
        ("group: []\n", "`group` must be a list of machines"),
        ("group: Wren\n", "`group` must be a list of machines"),
        ("group: [Wren]\npacket: ab\n", "of a `packet` or of a `group`"),
        ("", "`packet` is missing"),
    ],
)
def test_a_record_says_what_it_is_of(said: str, error: str) -> None:
    text = f'format: 1\n{said}reviewer: B. Plover\ntime: "{WHEN}"\nverdicts: []\n'
    with pytest.raises(cfgmigrate.BadInput, match=error):
        parse_review(text.encode(), "record.yaml")


def test_several_packets_take_in_a_record_and_nothing_else(cli: Runner) -> None:
    said = cli("review", "one", "two", "--as", "B. Plover")
    assert said.status == 2 and "several packets take in a record" in said.err


def test_verdicts_bound_to_the_sheets_path_as_an_older_release_did_it_still_stand(out: Path) -> None:
    packet = api.open_packet(packets(out)[0])
    older = {piece: digests[-1] for piece, digests in older_digests(packet).items()}
    assert older["change feeder.steps_per_mm"] != basis_of(packet)["change feeder.steps_per_mm"]
    own = cfgmigrate.Judgement("feeder.steps_per_mm", Verdict.HELD, "")
    assert standing_of(Review("0" * 64, "B. Plover", WHEN, (own,), older), packet).review.judgements == (own,)
