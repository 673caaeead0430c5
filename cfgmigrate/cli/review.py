"""`cfgmigrate review`: accept or hold each change, in the terminal or from the page's record."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.findings import BadInput, Place

if TYPE_CHECKING:
    from cfgmigrate.packet.review import Review


@click.command("review", short_help="Accept or hold each change of a packet.")
@options.packet
@click.option("--as", "reviewer", metavar="NAME", help="Go through the changes here, as this person.")
@click.option(
    "--record",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Take in the record that changes.html saved.",
)
def command(packet: Path, reviewer: str | None, record: Path | None) -> None:
    """Accept, hold or question each change of a packet; the verdicts are kept in the packet, bound to its content."""
    from cfgmigrate import api

    if (reviewer is None) == (record is None):
        raise BadInput(
            "a review needs a name or a record", Place("review"), "Give --as NAME or --record FILE."
        )
    if record is not None:
        found = api.review(packet, record)
    else:
        assert reviewer is not None
        found = _asked(packet, reviewer)
    from cfgmigrate.reports.outcome_text import show_review
    from cfgmigrate.reports.terminal import make_console

    show_review(found.to_json(), make_console())


def _asked(packet: Path, reviewer: str) -> Review:
    """Show each change and by-hand item, one at a time, and ask for a verdict."""
    from cfgmigrate import api
    from cfgmigrate.packet.review import Judgement, Verdict
    from cfgmigrate.reports.card import cards_of
    from cfgmigrate.reports.terminal import make_console, show_card

    console = make_console()
    opened = api.open_packet(packet)
    judgements: list[Judgement] = []
    choice = click.Choice([verdict.value for verdict in Verdict], case_sensitive=False)
    for card in cards_of(opened.plan).reviewed:
        show_card(console, card)
        verdict = click.prompt(f"{card.number}", type=choice, default=Verdict.HELD.value)
        note = click.prompt("note", default="", show_default=False)
        judgements.append(Judgement(card.key, Verdict(verdict), note))
    return api.record_verdicts(packet, reviewer, judgements=judgements)
