"""`review` shows who said what, takes verdicts in from a record, a mail or the terminal, and takes them back."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from commandline import Runner

import cfgmigrate
from cfgmigrate.packet.opening import read_packet

ROOT = Path(cfgmigrate.__file__).parents[1]


@pytest.fixture
def packet(cli: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(ROOT / "sample_configs" / "knot", tmp_path / "knot")
    shutil.copy(ROOT / "sample_configs" / "sheets" / "knot.yaml", tmp_path / "swap.yaml")
    assert cli("prepare", "knot", "--sheet", "swap.yaml", "-o", "packet", "-q").status == 0
    return tmp_path / "packet"


def mail(packet: Path, text: str) -> str:
    Path("mail.txt").write_text(f"packet {read_packet(packet).hash[:8]}\n{text}\n", encoding="utf-8")
    return "mail.txt"


def said_of(cli: Runner, packet: Path) -> dict[str, dict[str, Any]]:
    found = json.loads(cli("review", packet, "--json").out)
    return {item["number"]: item["verdicts"] for item in found["items"]}


def test_nobody_has_reviewed_it_yet_and_the_command_says_how(cli: Runner, packet: Path) -> None:
    said = cli("review", packet)
    assert said.status == 0
    assert "Nobody has reviewed this packet yet" in said.out and "--mail FILE" in said.out


def test_two_people_answer_by_mail_and_both_stand_in_the_table(cli: Runner, packet: Path) -> None:
    first = cli(
        "review",
        packet,
        "--mail",
        mail(packet, "C1: ok\nC2 held: too short\nD1 looks odd"),
        "--as",
        "B. Plover",
    )
    assert first.status == 0, first.err
    assert "not read, so still open: line 4: D1 looks odd" in first.out
    second = cli("review", packet, "--mail", mail(packet, "From: C. Teal <c@hut.example>\nall: accepted"))
    assert second.status == 0, second.err
    found = said_of(cli, packet)
    assert found["C2"]["B. Plover"] == {"verdict": "held", "note": "too short"}
    assert {name: said["verdict"] for name, said in found["C1"].items()} == {
        "B. Plover": "accepted", "C. Teal": "accepted",
    }  # fmt: skip
    assert (
        "B. Plover" in second.out and "C. Teal" in second.out and "B. Plover on C2: too short" in second.out
    )


def test_a_verdict_is_taken_back(cli: Runner, packet: Path) -> None:
    cli("review", packet, "--mail", mail(packet, "C1: ok\nC2 held"), "--as", "B. Plover")
    said = cli("review", packet, "--as", "b. plover", "--withdraw", "c2")
    assert said.status == 0, said.err
    found = said_of(cli, packet)
    assert found["C2"] == {} and len(found["C1"]) == 1
    again = cli("review", packet, "--as", "B. Plover", "--withdraw", "C2")
    assert (again.status, "gave no verdict on 'C2'" in again.err) == (2, True)


@pytest.mark.parametrize(
    ("text", "status", "error"),
    [
        ("C1 ok", 2, "does not say who wrote it"),
        ("Name: B. Plover\nhello", 2, "no verdict can be read"),
        ("Name: B. Plover\nC99 ok", 2, "the packet has no C99"),
        ("Name: B. Plover\npacket 00000000\nC1 ok", 3, "answers the packet 00000000"),
    ],
)
def test_a_mail_that_is_no_answer_is_one_clear_error(
    text: str, status: int, error: str, cli: Runner, packet: Path
) -> None:
    said = cli("review", packet, "--mail", mail(packet, text))
    assert said.status == status and error in said.err
    assert not (packet / "review.yaml").exists()


def test_what_a_person_writes_is_inert(cli: Runner, packet: Path) -> None:
    said = cli("review", packet, "--mail", mail(packet, "C1 held: x"), "--as", "\x1b[2J")
    assert said.status == 2 and "\x1b" not in said.err and r"\x1b[2J" in said.err
    cli("review", packet, "--mail", mail(packet, "C1 held: \x1b[2J\u202e[red]"), "--as", "B. [bold]Redshank")
    shown = cli("review", packet).out
    assert "\x1b" not in shown and "\u202e" not in shown and "[red]" in shown


def test_preparing_again_says_which_verdicts_stay(cli: Runner, packet: Path) -> None:
    cli("review", packet, "--mail", mail(packet, "all: ok"), "--as", "B. Plover")
    sheet = Path("swap.yaml").read_text(encoding="utf-8")
    changed = sheet.replace("recommended_current: 0.55 A", "recommended_current: 0.45 A")
    assert changed != sheet
    Path("swap.yaml").write_text(changed, encoding="utf-8")
    said = cli("prepare", "knot", "--sheet", "swap.yaml", "-o", "packet", "--replace")
    assert said.status == 0, said.err
    assert "Review: B. Plover's verdicts stand on" in said.out and "reopened: C" in said.out


def test_a_mail_without_the_packets_number_counts_where_only_one_packet_can_be_meant(
    cli: Runner, packet: Path
) -> None:
    Path("mail.txt").write_text("C1 ok\n")
    assert cli("review", packet, "--mail", "mail.txt", "--as", "B. Plover").status == 0
    assert said_of(cli, packet)["C1"]["B. Plover"]["verdict"] == "accepted"
    assert cli("prepare", "knot", "--sheet", "swap.yaml", "-o", "other", "-q").status == 0
    beside = cli("review", packet, "--mail", "mail.txt", "--as", "C. Teal")
    assert beside.status == 3 and "add the line: packet" in beside.err


def other_sheet() -> None:
    text = Path("swap.yaml").read_text()
    assert "effective_diameter: 10.9" in text
    Path("swap.yaml").write_text(text.replace("effective_diameter: 10.9", "effective_diameter: 11.9"))


def test_a_mail_without_a_number_is_refused_where_another_packet_stood_before(
    cli: Runner, packet: Path
) -> None:
    first = read_packet(packet).hash
    other_sheet()
    assert cli("prepare", "knot", "--sheet", "swap.yaml", "-o", "packet", "--replace", "-q").status == 0
    assert read_packet(packet).hash != first
    Path("mail.txt").write_text("C1 ok\n")
    refused = cli("review", packet, "--mail", "mail.txt", "--as", "B. Plover")
    assert refused.status == 3 and "add the line: packet" in refused.err
    assert cli("verify", packet).status == 0


def test_verdicts_in_a_packet_beside_are_told_and_can_be_taken_over(cli: Runner, packet: Path) -> None:
    assert (
        cli("review", packet, "--mail", mail(packet, "C1 ok\nC2 held: too short"), "--as", "B. Plover").status
        == 0
    )
    told = cli("prepare", "knot", "--sheet", "swap.yaml", "-o", "packet-2").out
    assert "2 verdicts on what is the same here lie in packet" in " ".join(told.split())
    assert "cfgmigrate review packet-2 --record" in told
    assert "lie in packet" in " ".join(cli("review", "packet-2").out.split())
    taken = cli("review", "packet-2", "--record", packet / "review.yaml")
    assert taken.status == 0, taken.err
    assert said_of(cli, Path("packet-2"))["C2"]["B. Plover"]["verdict"] == "held"
    assert "lie in packet" not in taken.out


def test_the_page_of_a_packet_that_was_prepared_again_marks_what_is_new_or_changed(
    cli: Runner, packet: Path
) -> None:
    before = (packet / "changes.html").read_text()
    assert "Since the packet before" not in before and 'class="fresh"' not in before
    other_sheet()
    assert cli("prepare", "knot", "--sheet", "swap.yaml", "-o", "packet", "--replace", "-q").status == 0
    page = (packet / "changes.html").read_text()
    assert "Since the packet before" in page and 'class="fresh">changed<' in page
    assert cli("verify", packet).status == 0
    again = read_packet(packet)
    assert cli("prepare", "knot", "--sheet", "swap.yaml", "-o", "packet", "--replace", "-q").status == 0
    assert read_packet(packet).index == again.index, "written again it says the same"


def test_a_change_that_somebody_holds_is_installed_only_where_it_is_named(cli: Runner, packet: Path) -> None:
    cli("review", packet, "--mail", mail(packet, "C2 held: Teal reads this line"), "--as", "B. Plover")
    for more in ([], ["--dry-run"]):
        said = cli("install", packet, *more)
        assert said.status == 3 and not Path("knot/.cfgmigrate/history.jsonl").exists()
        assert "held by B. Plover: Teal reads this line" in " ".join(said.err.split())
        assert "--despite-hold" in said.err
    assert cli("install", packet, "--despite-hold", "C1").status == 2
    done = cli("install", packet, "--despite-hold", "c2", "--json")
    assert done.status == 0 and json.loads(done.out)["written"], done.err
