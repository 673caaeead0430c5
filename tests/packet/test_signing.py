"""A signature proves who let a record stand; nothing else passes for one."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.ground.findings import Refused
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.review import Judgement, Verdict, read_reviews, write_reviews
from cfgmigrate.packet.signing import PURPOSE, SIGNED, is_signed_record, reviews_by, sign
from cfgmigrate.packet.standing import allowed_changes
from cfgmigrate.workflow.only_said import of_signers
from cfgmigrate.workflow.reviewing import numbers_of, sign_record

pytestmark = pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="needs OpenSSH's ssh-keygen")
SAMPLES = Path(__file__).parents[2] / "sample_configs"
MARA, ODO = "mara@workshop.example", "odo@workshop.example"


@pytest.fixture(scope="module")
def keys(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("keys")
    for name in ("mara", "odo", "stranger"):
        command = ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", name, "-f", str(folder / name)]
        subprocess.run(command, check=True)
    lines = [f"{who} {(folder / f'{key}.pub').read_text()}" for who, key in ((MARA, "mara"), (ODO, "odo"))]
    (folder / "signers").write_text("".join(lines), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Packet:
    folder = tmp_path_factory.mktemp("packet")
    config = shutil.copytree(SAMPLES / "knot", folder / "knot")
    sheet = SAMPLES / "sheets" / "knot.yaml"
    return api.prepare([config], sheet, out=folder / "packet", preparer="Preparer")


@pytest.fixture
def packet(prepared: Packet, tmp_path: Path) -> Packet:
    return api.open_packet(shutil.copytree(prepared.folder, tmp_path / "packet"))


def judge(packet: Packet, name: str, verdict: Verdict = Verdict.ACCEPTED) -> None:
    judgements = [Judgement(item, verdict) for item in numbers_of(packet).values()]
    api.record_verdicts(packet.folder, name, judgements=judgements)


def let_in(packet: Packet, keys: Path) -> int:
    found = api.open_packet(packet.folder)
    allowed = allowed_changes(found.plan, reviews_by(found, keys / "signers"), found.preparer)
    return len(allowed.changes)


def test_what_a_signer_accepted_and_signed_is_let_in(packet: Packet, keys: Path) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    assert let_in(packet, keys) == len(packet.plan.changes) > 0
    report = api.install(packet.folder, require_review=True, signed_by=keys / "signers", dry_run=True)
    assert len(report.installed) == len(packet.plan.changes)


def test_whoever_prepared_it_by_its_own_word_does_not_count_though_they_signed(
    packet: Packet, keys: Path
) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    found = api.open_packet(packet.folder)
    with pytest.raises(Refused, match="can't be its second person"):
        allowed_changes(found.plan, reviews_by(found, keys / "signers"), MARA)


def test_one_signer_of_a_packet_from_elsewhere_proves_one_person(
    packet: Packet, keys: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    assert of_signers(packet, keys / "signers") == ()  # it was made here
    monkeypatch.setattr("cfgmigrate.packet.made_here.made_a_moment_ago", lambda _: None)
    (said,) = of_signers(packet, keys / "signers")
    assert said.startswith(f"{MARA} alone signed it")
    judge(packet, ODO)
    sign_record(packet.folder, ODO, keys / "odo")
    assert of_signers(packet, keys / "signers") == ()


def test_a_record_that_is_signed_anew_has_the_new_signature_alone(keys: Path, tmp_path: Path) -> None:
    record = tmp_path / "record.yaml"
    record.write_text("a: b\n", encoding="utf-8")
    first = sign(record, keys / "mara").read_bytes()
    assert sign(record, keys / "odo").read_bytes() != first
    (tmp_path / "no key").write_text("a shopping list", encoding="utf-8")
    with pytest.raises(Refused, match="it can't be signed"):
        sign(record, tmp_path / "no key")
    assert [path.name for path in tmp_path.glob("record*")] == ["record.yaml"]


def test_what_is_no_key_signs_nothing(packet: Packet, tmp_path: Path) -> None:
    judge(packet, MARA)
    (tmp_path / "no key").write_text("a shopping list", encoding="utf-8")
    with pytest.raises(Refused, match="it can't be signed"):
        sign_record(packet.folder, MARA, tmp_path / "no key")
    assert not list(packet.folder.rglob("*.sig"))


def test_signers_that_are_not_there_are_named(packet: Packet, keys: Path) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    with pytest.raises(Refused, match=r"nowhere: there is no such file of signers"):
        reviews_by(api.open_packet(packet.folder), keys / "nowhere")


def test_what_nobody_signed_is_not_let_in(packet: Packet, keys: Path) -> None:
    judge(packet, MARA)
    with pytest.raises(Refused, match="signed by one of the signers"):
        api.install(packet.folder, require_review=True, signed_by=keys / "signers", dry_run=True)


def test_a_signature_of_a_stranger_is_none(packet: Packet, keys: Path) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "stranger")
    with pytest.raises(Refused, match="none of the signers"):
        let_in(packet, keys)


def test_nobody_signs_as_somebody_else(packet: Packet, keys: Path) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "odo")
    with pytest.raises(Refused, match=ODO):
        let_in(packet, keys)


def test_a_record_altered_after_it_was_signed_is_refused(packet: Packet, keys: Path) -> None:
    judge(packet, MARA, Verdict.HELD)
    sign_record(packet.folder, MARA, keys / "mara")
    (record,) = (packet.folder / SIGNED).glob("*.yaml")
    record.write_bytes(record.read_bytes().replace(b"held", b"accepted"))
    with pytest.raises(Refused, match=r"does not hold|none of the signers"):
        let_in(packet, keys)


def test_a_record_whose_signature_was_taken_away_is_refused(packet: Packet, keys: Path) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    (signature,) = (packet.folder / SIGNED).glob("*.sig")
    signature.unlink()
    with pytest.raises(Refused, match="missing"):
        let_in(packet, keys)


def test_a_signature_for_something_else_is_none(packet: Packet, keys: Path, tmp_path: Path) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    (record,) = (packet.folder / SIGNED).glob("*.yaml")
    other = shutil.copy(record, tmp_path / "other.yaml")
    command = ["ssh-keygen", "-Y", "sign", "-q", "-f", str(keys / "mara"), "-n", f"not-{PURPOSE}", str(other)]
    subprocess.run(command, check=True)
    shutil.copy(f"{other}.sig", f"{record}.sig")
    with pytest.raises(Refused):
        let_in(packet, keys)


def test_the_objection_of_somebody_who_signs_nothing_still_counts(packet: Packet, keys: Path) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    held = packet.plan.changes[0].id
    api.record_verdicts(packet.folder, "Somebody", judgements=[Judgement(held, Verdict.HELD)])
    assert let_in(packet, keys) < len(packet.plan.changes)


def test_what_a_signer_takes_back_no_longer_counts_signed_or_not(packet: Packet, keys: Path) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    whole = let_in(packet, keys)
    api.withdraw(packet.folder, [packet.plan.changes[0].id], reviewer=MARA)
    assert let_in(packet, keys) < whole
    judge(packet, MARA)
    assert let_in(packet, keys) == whole


@pytest.mark.parametrize("signs", [True, False])
def test_what_is_taken_back_where_the_clock_is_slow_does_not_count_either(
    packet: Packet, keys: Path, signs: bool
) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    whole = let_in(packet, keys)

    api.withdraw(packet.folder, [packet.plan.changes[0].id], reviewer=MARA)
    found = api.open_packet(packet.folder)
    write_reviews(found, [replace(each, time="2021-05-04T10:11:12Z") for each in read_reviews(found)])
    if signs:
        sign_record(packet.folder, MARA, keys / "mara")
    assert let_in(packet, keys) < whole


def test_a_record_signed_with_the_wrong_key_blocks_nobody_once_its_author_signed_a_whole_one(
    packet: Packet, keys: Path
) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "odo")
    wrong = {path: path.read_bytes() for path in (packet.folder / SIGNED).iterdir()}
    for path in wrong:
        path.unlink()
    sign_record(packet.folder, MARA, keys / "mara")
    for number, (path, data) in enumerate(sorted(wrong.items())):
        path.with_name("0.yaml" + (".sig" if number else "")).write_bytes(data)
    assert let_in(packet, keys) == len(packet.plan.changes)


def test_what_somebody_else_signed_blocks_nobody(packet: Packet, keys: Path) -> None:
    for name, key in (("Stranger", "stranger"), (MARA, "mara")):
        judge(packet, name)
        sign_record(packet.folder, name, keys / key)
    (packet.folder / SIGNED / "0.yaml").write_text("a shopping list", encoding="utf-8")
    assert let_in(packet, keys) == len(packet.plan.changes)
    for file in (packet.folder / SIGNED).iterdir():
        assert is_signed_record(packet, f"{SIGNED}/{file.name}")
    assert not is_signed_record(packet, f"{SIGNED}/lonely.yaml.sig"), "a signature of nothing"


def test_the_consent_of_somebody_who_signs_nothing_does_not_count(packet: Packet, keys: Path) -> None:
    one = packet.plan.changes[0].id
    api.record_verdicts(packet.folder, MARA, judgements=[Judgement(one, Verdict.ACCEPTED)])
    sign_record(packet.folder, MARA, keys / "mara")
    judge(packet, "Somebody")
    assert let_in(packet, keys) == 1


def test_a_record_signed_elsewhere_is_taken_in_with_its_signature(
    packet: Packet, keys: Path, tmp_path: Path
) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    (signed,) = (packet.folder / SIGNED).glob("*.yaml")
    record = tmp_path / "record.yaml"
    shutil.copy(signed, record)
    shutil.copy(f"{signed}.sig", f"{record}.sig")
    shutil.rmtree(packet.folder / SIGNED)
    api.review(packet.folder, record)
    assert let_in(packet, keys) == len(packet.plan.changes)


def test_without_the_program_it_is_said_what_a_record_proves(
    packet: Packet, keys: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    judge(packet, MARA)
    monkeypatch.setattr("shutil.which", lambda _: None)
    with pytest.raises(Refused, match="ssh-keygen"):
        let_in(packet, keys)


def test_of_two_records_of_a_signer_the_later_one_counts_in_whatever_order_they_lie(
    packet: Packet, keys: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    judge(packet, MARA)
    (yes,) = read_reviews(packet.folder)
    no = replace(yes, time="2021-05-04T10:11:13Z", judgements=())
    yes = replace(yes, time="2021-05-04T10:11:12Z")
    for order in ((yes, no), (no, yes)):
        monkeypatch.setattr(
            "cfgmigrate.packet.signing.proven", lambda *_, o=order: tuple((r, MARA) for r in o)
        )
        assert not any(each.judgements for each in reviews_by(packet, keys / "signers"))


@pytest.mark.parametrize("does", ["exit 0", 'touch "$8.sig"; exit 1'])
def test_what_was_not_signed_to_the_end_is_not_signed(
    packet: Packet, keys: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, does: str
) -> None:
    program = tmp_path / "ssh-keygen"
    program.write_text(f"#!/bin/sh\n{does}\n")
    program.chmod(0o755)
    (tmp_path / "record").write_text("a record")
    monkeypatch.setattr("cfgmigrate.packet.signing._program", lambda: str(program))
    with pytest.raises(Refused, match="Nothing was signed"):
        sign(tmp_path / "record", keys / "mara")


@pytest.mark.parametrize(
    ("says", "told"),
    [
        ("echo reading; echo the key is worn; echo", "the key is worn"),
        ("true", "ssh-keygen says nothing"),
        ("printf '\\377 is no letter'", "\ufffd is no letter"),
        ("printf '%0250d' 0", "0" * 200),
    ],
    ids=["lines", "nothing", "no text", "long"],
)
def test_why_a_record_can_t_be_signed_is_told_in_the_program_s_last_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, says: str, told: str
) -> None:
    program, record = tmp_path / "ssh-keygen", tmp_path / "record"
    program.write_text(f"#!/bin/sh\n{{ {says}; }} >&2\nexit 1\n")
    program.chmod(0o755)
    record.write_text("a record")
    monkeypatch.setattr("cfgmigrate.packet.signing._program", lambda: str(program))
    with pytest.raises(Refused) as refused:
        sign(record, tmp_path / "key")
    assert refused.value.what == f"it can't be signed: {told}"


@pytest.mark.parametrize("as_listed", [f'{ODO},"{MARA}"', "mara@*", f"{MARA},{ODO}"])
def test_a_signer_s_key_may_have_several_names_or_a_pattern(
    packet: Packet, keys: Path, tmp_path: Path, as_listed: str
) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    signers = tmp_path / "signers"
    signers.write_text(f"{as_listed} {(keys / 'mara.pub').read_text()}", encoding="utf-8")
    found = api.open_packet(packet.folder)
    assert len(allowed_changes(found.plan, reviews_by(found, signers), found.preparer).changes) > 0


def test_a_key_on_two_lines_counts_for_both_names(packet: Packet, keys: Path, tmp_path: Path) -> None:
    judge(packet, MARA)
    sign_record(packet.folder, MARA, keys / "mara")
    signers, key = tmp_path / "signers", (keys / "mara.pub").read_text()
    signers.write_text(f"{ODO} {key}{MARA} {key}", encoding="utf-8")
    found = api.open_packet(packet.folder)
    assert len(allowed_changes(found.plan, reviews_by(found, signers), found.preparer).changes) > 0
