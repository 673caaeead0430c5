"""`cfgmigrate review`: give verdicts on a packet's items, take in those of others, and see who said what."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.findings import BadInput, Place

if TYPE_CHECKING:
    from cfgmigrate.packet.answer import Answer
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.packet.review import Review


@click.command("review", short_help="Give verdicts on a packet, and see who said what.")
@click.argument("packets", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="PACKET...")
@click.option("--as", "reviewer", metavar="NAME", help="Go through the open items here, as this person.")
@click.option(
    "--record",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Take in the record that changes.html saved, or a fleet's summary for a group; several packets take what is the same.",
)
@click.option(
    "--mail",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Take in a mail with lines such as “C7 held: why”; --as says who wrote it.",
)
@click.option(
    "--withdraw", multiple=True, metavar="ITEM", help="Withdraw the verdict on this item (C7); needs --as."
)
@click.option(
    "--sign",
    "key",
    type=click.Path(path_type=Path),
    metavar="KEY",
    help="Sign the record of --as with this OpenSSH key, by ssh-keygen; install --signed-by checks it.",
)
@options.full
@options.as_json
def command(
    packets: tuple[Path, ...],
    reviewer: str | None,
    record: Path | None,
    mail: Path | None,
    withdraw: tuple[str, ...],
    key: Path | None,
    full: bool,
    as_json: bool,
) -> int | None:
    """Accept, hold or question each item of a packet. With no option: who said what, and what is open.

    One record a person is kept in the packet. A verdict stands as long as its item stays the same. A record proves what
    was judged, not by whom: anybody can write one. With --sign it carries a signature (FILE.sig beside --record is
    taken in as it is), and install --signed-by lets in only what is signed.

    Several packets take one record in together: each gets the verdicts on what is the same there, and what is not the
    same is named and stays as it was.
    """
    from cfgmigrate import api
    from cfgmigrate.workflow.reviewing import review_mail, sign_record
    from cfgmigrate.workflow.reviewing import withdraw as take_back
    from cfgmigrate.workflow.reviewing_groups import is_for_several

    if key is not None and not reviewer:
        raise BadInput("whose record is signed?", Place("--sign"), "Say it with --as NAME.")
    if sum((record is not None, mail is not None, bool(withdraw))) > 1:
        raise BadInput(
            "only one of --record, --mail and --withdraw can be given", Place("review"), "Do one at a time."
        )
    if record is not None and key is None and (len(packets) > 1 or is_for_several(record)):
        return _together(packets, record, as_json)
    if len(packets) > 1:
        raise BadInput(
            "several packets take in a record and nothing else",
            Place("review"),
            "Name one packet, or --record FILE.",
        )
    (packet,) = packets
    answer: Answer | None = None
    if withdraw:
        if not reviewer:
            raise BadInput("whose verdict is withdrawn?", Place("--withdraw"), "Say it with --as NAME.")
        take_back(packet, withdraw, reviewer=reviewer)
    elif record is not None:
        api.review(packet, record)
    elif mail is not None:
        _, answer = review_mail(packet, mail, reviewer=reviewer or "")
    elif reviewer is not None:
        _asked(api.open_packet(packet), reviewer)
    if key is not None:
        sign_record(packet, reviewer or "", key)
    opened = api.open_packet(packet)
    from cfgmigrate.reports.review_text import review_to_json, show_reviews

    if as_json:
        options.print_json(review_to_json(opened))
        return None
    from cfgmigrate.reports.console import line, make_console

    console = make_console()
    show_reviews(opened, console, full=full)
    from cfgmigrate.reports.review_text import beside_lines
    from cfgmigrate.workflow.reviewing import verdicts_beside

    for told in beside_lines(verdicts_beside(opened), packet):
        line(console, told, bullet="·")
    for number, text in answer.unread if answer else ():
        line(console, f"not read, so still open: line {number}: {text}", bullet="!")
    return None


def _together(packets: tuple[Path, ...], record: Path, as_json: bool) -> int:
    """One record for several packets; the exit status is the highest of what went wrong with one of them."""
    from cfgmigrate.reports.console import make_console
    from cfgmigrate.reports.review_text import show_taken
    from cfgmigrate.workflow.reviewing_groups import review_group

    found = review_group(packets, record)
    if as_json:
        options.print_json({"packets": [each.to_json() for each in found]})
    else:
        show_taken([each.to_json() for each in found], make_console())
    return max(each.error.status if each.error else 0 for each in found)


def _asked(packet: Packet, reviewer: str) -> Review | None:
    """Show each item that this person has not judged yet, one at a time, and ask for a verdict."""
    from cfgmigrate import api
    from cfgmigrate.packet.review import Judgement, Verdict
    from cfgmigrate.reports.card import cards_of
    from cfgmigrate.reports.terminal import make_console, show_card
    from cfgmigrate.workflow.reviewing import own_verdicts

    if not reviewer.strip():
        raise BadInput("a review needs a name", Place("--as"))
    console = make_console()
    judgements = list(own_verdicts(packet, reviewer))
    judged = {judgement.item for judgement in judgements}
    choice = click.Choice([verdict.value for verdict in Verdict], case_sensitive=False)
    cards = [card for card in cards_of(packet.plan).reviewed if card.key not in judged]
    if not cards:
        click.echo("Nothing is open for you; --withdraw ITEM opens an item again.")
        return None
    for card in cards:
        show_card(console, card)
        verdict = click.prompt(f"{card.number}", type=choice, default=Verdict.HELD.value)
        note = click.prompt("note", default="", show_default=False)
        judgements.append(Judgement(card.key, Verdict(verdict), note))
    return api.record_verdicts(packet.folder, reviewer, judgements=judgements)
