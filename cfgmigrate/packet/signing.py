"""Signatures under review records, for people who want proof of who reviewed.

A review record is sealed with a hash, and anybody can seal one: it proves what was judged, not by whom. A signature
proves that whoever holds a key let exactly this record stand. Keys and signatures are those of OpenSSH
(`ssh-keygen -Y`, since release 8.0), called as a program, because whoever writes configuration often has such a key
already; nothing of cryptography is done here.

A signed record lies in the packet as it was signed, in `signed/`, with its signature beside it. Which key is whose is
said by a file in the form of OpenSSH's allowed signers, a line each: `NAME KEYTYPE KEY`. The name there has to be the
reviewer's in the record, so that nobody who has a key signs as somebody else.

What verdicts come to is in `standing.py`; this module only says whose count.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cfgmigrate.ground.disk import write_over
from cfgmigrate.ground.findings import CfgError, Place, Refused
from cfgmigrate.ground.paths import read_ordinary
from cfgmigrate.packet.folder import Packet, sha256
from cfgmigrate.packet.persons import same_person
from cfgmigrate.packet.review import Review, Verdict, parse_review
from cfgmigrate.packet.standing import counted_time, standings

if TYPE_CHECKING:
    import subprocess

#: the folder of a packet with signed records; what a signature is of, so that one made for something else is none
SIGNED, PURPOSE = "signed", "cfgmigrate-review"
#: what is added to a file's name for its signature, as ssh-keygen does
SIGNATURE = ".sig"
_SECONDS = 60


def sign(record: Path, key: Path) -> Path:
    """Sign the record in a file with a private key (or its public half, where an agent holds it); gives the signature's
    file, beside the record. A passphrase is asked for by ssh-keygen itself. Raises Refused where it can't be signed."""
    import subprocess

    signature = record.with_name(record.name + SIGNATURE)
    signature.unlink(missing_ok=True)
    command = [_program(), "-Y", "sign", "-q", "-f", str(key.resolve()), "-n", PURPOSE, str(record)]
    found = subprocess.run(command, stderr=subprocess.PIPE, check=False)
    if found.returncode or not signature.is_file():
        raise Refused(
            f"it can't be signed: {_last(found.stderr)}",
            Place(str(key)),
            "Nothing was signed. Check the key.",
        )
    return signature


def keep_signed(packet: Packet, record: bytes, signature: bytes) -> None:
    """Put a signed record and its signature into a packet. Raises Refused where they can't be written."""
    name = f"{sha256(record)[:16]}.yaml"
    folder = packet.folder / SIGNED
    try:
        folder.mkdir(exist_ok=True)
        write_over(folder / name, record)
        write_over(folder / (name + SIGNATURE), signature)
    except OSError as error:
        raise Refused(
            f"the signature can't be kept: {error.strerror or error}", Place(str(folder))
        ) from error


def is_signed_record(packet: Packet, name: str) -> bool:
    """Whether a file of a packet's folder has the name of a signed record, or of the signature beside one."""
    folder, _, file = name.rpartition("/")
    record = file.removesuffix(SIGNATURE)
    return folder == SIGNED and record.endswith(".yaml") and (packet.folder / SIGNED / record).is_file()


def proven(packet: Packet, signers: Path) -> tuple[tuple[Review, str], ...]:
    """The records in a packet that are signed by one of the `signers`, each with the signer's name there.

    Raises Refused where ssh-keygen or the file of signers is missing, a signature of a signer does not hold, or a signer
    has another name than the record, unless that person's own whole record lies beside it. A record of another packet, signed or not, says nothing of this one and is passed
    over. So is what none of the signers signed, where there is something that one did: it counts like an unsigned one."""
    program, signers = _program(), signers.resolve()
    if not signers.is_file():
        raise Refused("there is no such file of signers", Place(str(signers)), "Nothing was changed.")
    folder = packet.folder.resolve() / SIGNED
    found: list[tuple[Review, str]] = []
    passed_over: list[NoneOfThem] = []
    mistaken: list[NotTheirs] = []
    for path in sorted(folder.glob("*.yaml")) if folder.is_dir() else ():
        try:
            signed = _signed(program, packet, path, signers)
        except NoneOfThem as strange:
            passed_over.append(strange)
            continue
        except NotTheirs as wrong:
            mistaken.append(wrong)
            continue
        if signed is not None:
            found.append(signed)
    for slip in mistaken:
        if not any(same_person(slip.reviewer, name) for _, name in found):
            raise slip
    if passed_over and not found:
        raise passed_over[0]
    return tuple(found)


class NotTheirs(Refused):
    """A record whose signature does not hold, or is another signer's than the record names."""

    def __init__(self, what: str, place: Place, remedy: str, reviewer: str) -> None:
        self.reviewer = reviewer
        super().__init__(what, place, remedy)


class NoneOfThem(Refused):
    """What lies among the signed records is none, or none of the signers signed it."""


def _signed(program: str, packet: Packet, path: Path, signers: Path) -> tuple[Review, str] | None:
    """A signed record with its signer's name; None where it is of another packet."""
    shown = f"{SIGNED}/{path.name}"
    try:
        record = read_ordinary(path, shown)
        review = parse_review(record, shown)
    except CfgError as problem:
        raise NoneOfThem(problem.what, problem.place, problem.remedy) from problem
    if review.packet != packet.hash:
        return None
    name = _signer(program, record, path.with_name(path.name + SIGNATURE), signers, review.reviewer)
    if not same_person(name, review.reviewer):
        raise NotTheirs(
            f"the record is {review.reviewer}'s, and {name} signed it",
            Place(shown),
            f"Nothing was changed. Have {review.reviewer} sign a record with a key of their own, or {name} review under this name.",
            review.reviewer,
        )
    return review, name


def reviews_by(packet: Packet, signers: Path) -> tuple[Review, ...]:
    """What counts where only `signers` are believed: their records, and of all others the objections, which need no
    proof. What a signer accepted and does not accept in the record that lies in the packet does not count, signed or not. Raises Refused
    as `proven`, and where no signer's record lies in the packet."""
    own: dict[str, Review] = {}
    for review, name in proven(packet, signers):
        if name not in own or counted_time(own[name]) <= counted_time(review):
            own[name] = review
    said = tuple(standing.review for standing in standings(packet))
    if not own:
        raise Refused(
            "no record of this packet is signed by one of the signers",
            Place(str(packet.folder)),
            "Nothing was changed. Have it reviewed and signed: cfgmigrate review PACKET --as NAME --sign KEY",
        )
    objections = (
        replace(
            each,
            judgements=tuple(said for said in each.judgements if said.verdict is not Verdict.ACCEPTED),
        )
        for each in said
    )
    return (*(_still_accepted(each, said) for each in own.values()), *objections)


def _still_accepted(signed: Review, said: Sequence[Review]) -> Review:
    """A signed record without what its author's record in the packet does not accept. A packet has one record of each person,
    the last that was taken in; times don't say which is later, for the clock of the computer where one was made may be slow."""
    now = next((each for each in said if same_person(each.reviewer, signed.reviewer)), None)
    if now is None:
        return signed
    accepted = {each.item for each in now.judgements if each.verdict is Verdict.ACCEPTED}
    left = (
        each for each in signed.judgements if each.verdict is not Verdict.ACCEPTED or each.item in accepted
    )
    return replace(signed, judgements=tuple(left))


def _signer(program: str, record: bytes, signature: Path, signers: Path, reviewer: str) -> str:
    """Who signed a record, by the file of signers: of all names that it has for the key the `reviewer`'s own, where that is
    one of them or fits one that stands for several."""
    place = Place(f"{SIGNED}/{signature.name}")
    if not signature.is_file() or signature.is_symlink():
        raise NoneOfThem("the signature is missing", place, "Nothing was changed. Have the record signed.")
    common = ["-n", PURPOSE, "-s", str(signature), "-f", str(signers)]
    who = _run([program, "-Y", "find-principals", *common[2:]], record)
    names = _names_of(who.stdout)
    if who.returncode or not names:
        raise NoneOfThem(
            "none of the signers made this signature",
            place,
            f"Nothing was changed. Whose keys count says {signers}.",
        )
    own = next((each for each in names if same_person(each, reviewer)), reviewer)
    for name in (own, names[0]):
        checked = _run([program, "-Y", "verify", "-I", name, *common], record)
        if not checked.returncode:
            break
    else:
        raise NotTheirs(
            f"the signature does not hold: {_last(checked.stderr or checked.stdout)}",
            place,
            "Nothing was changed. The record is not what was signed; have it signed again.",
            reviewer,
        )
    return name


def _names_of(said: bytes) -> list[str]:
    """All names that the file of signers has for a key: several in a line stand between commas, and may be in quotes."""
    lines = said.decode("utf-8", "replace").splitlines()
    names = (name.strip().strip('"').strip() for line in lines for name in line.split(","))
    return list(dict.fromkeys(name for name in names if name))


def _run(command: list[str], data: bytes) -> subprocess.CompletedProcess[bytes]:
    import subprocess

    try:
        return subprocess.run(command, input=data, capture_output=True, check=False, timeout=_SECONDS)
    except subprocess.TimeoutExpired as error:
        raise Refused("ssh-keygen did not answer", Place(command[0])) from error


def _program() -> str:
    import shutil

    found = shutil.which("ssh-keygen")
    if found is None:
        raise Refused(
            "signatures are made and checked by ssh-keygen, and it is not on this machine",
            Place("ssh-keygen"),
            "Install OpenSSH's client programs. Without a signature a record proves what was judged, not by whom.",
        )
    return found


def _last(said: bytes) -> str:
    lines = [line.strip() for line in said.decode("utf-8", "replace").splitlines() if line.strip()]
    return lines[-1][:200] if lines else "ssh-keygen says nothing"
