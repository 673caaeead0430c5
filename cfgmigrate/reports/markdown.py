"""changes.md: the plan for a forum post or a pull request, or to be read as plain text.

This module deliberately computes nothing: it puts the cards of a plan into the places that
`templates/changes.md` has for them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cfgmigrate.apply.other_readers import told_before_install
from cfgmigrate.plan.model import Edit, Plan
from cfgmigrate.reports import gfm, overview
from cfgmigrate.reports.calculation import Calculation
from cfgmigrate.reports.card import Card, Cards, cards_of
from cfgmigrate.reports.edition import edition
from cfgmigrate.reports.excerpt import Side, excerpt
from cfgmigrate.reports.feeders_called import lights_named
from cfgmigrate.reports.picture_text import pictured

#: how a step says that its value is tried later and not set
_STAYS = "stays for the first print"
_SIGN = {Side.BOTH: " ", Side.OLD: "-", Side.NEW: "+"}


def render_markdown(
    plan: Plan, before: Mapping[str, bytes], after: Mapping[str, bytes], packet_hash: str
) -> str:
    """The text of changes.md. `before` and `after` map each file's path to its bytes."""
    edits, cards = overview.edits_of(plan), cards_of(plan)
    text = (
        gfm.environment()
        .get_template("changes.md")
        .render(
            plan=plan,
            cards=cards,
            sentence=overview.sentence(plan),
            swap=_swap(plan),
            alarms=overview.alarms(cards),
            readers=told_before_install(plan),
            answers=overview.how_to_answer(cards),
            lights=lights_named(plan),
            mismatches=overview.mismatches(plan, before, after),
            glance=_glance(cards),
            counts=overview.counts(plan),
            meaning=overview.MEANING,
            excerpts={card.number: _excerpts(card, before) for card in cards.changes},
            places=_places,
            legend=_legend,
            practice=cards.legend,
            pictures=[(one.title, gfm.table(["what", "value"], one.numbers)) for one in pictured(plan)],
            files=[(path, diff_lines(before.get(path, b""), edits[path])) for path in edits],
            unchanged=[file.path for file in plan.files if file.path not in edits],
            packet_hash=packet_hash,
            edition=edition(),
        )
    )
    return gfm.tidy(text)


def diff_lines(before: bytes, edits: Sequence[Edit]) -> list[str]:
    """The edited lines with their surroundings, signed as in a unified diff, groups headed by their line."""
    lines: list[str] = []
    for group in excerpt(before, edits):
        lines.append(f"@@ line {group[0].number} @@")
        lines += [f"{_SIGN[line.side]} {line.text}" for line in group]
    return lines


def _excerpts(card: Card, before: Mapping[str, bytes]) -> list[tuple[str, list[str]]]:
    """The lines of each file that a change touches."""
    files = dict.fromkeys(edit.file for edit in card.edits)
    return [
        (file, diff_lines(before.get(file, b""), [edit for edit in card.edits if edit.file == file]))
        for file in files
    ]


def _swap(plan: Plan) -> gfm.Ready:
    pairs, rest = overview.swap_table(plan)
    parts = [gfm.table(["what", "came off", "goes on"], pairs)] if pairs else []
    said = (
        ["measured", "as the sheet has it"] if plan.kind == "tune" else ["also", "as the swap sheet has it"]
    )
    parts += [gfm.table(said, rest)] if rest else []
    return gfm.Ready("\n\n".join(parts))


def _glance(cards: Cards) -> gfm.Ready:
    whose = len(cards.holders) > 1
    rows: list[list[object]] = [
        [
            card.number,
            f"{card.holder}: {card.title}" if whose else card.title,
            _places(card),
            card.old,
            gfm.Ready(f"**{gfm.escaped(card.new)}**"),
            card.how_sure,
        ]
        for card in cards.changes
    ]
    rows += [
        [card.number, card.title, card.when, "", _number_only(card), card.status] for card in cards.by_hand
    ]
    if not rows:
        return gfm.Ready("Nothing changes.")
    return gfm.table(["no.", "what", "where", "from", "to", "how sure"], rows)


def _number_only(card: Card) -> str:
    if not card.amount:
        return "see below"
    stays = card.when == "first print" and _STAYS in card.title
    return f"stays; try {card.amount}" if stays else card.amount


def _places(card: Card) -> gfm.Ready:
    return gfm.Ready(", ".join(gfm.code_in_table(place) for place in card.places) or "no file")


def _legend(calculation: Calculation) -> gfm.Ready:
    """Each name of a formula with its value, where it comes from, and its part in the uncertainty."""
    if not calculation.legend:
        return gfm.Ready("")
    rows = [[given.label, given.value, given.origin, given.share] for given in calculation.legend]
    return gfm.table(["input", "value", "where it comes from", "part of the uncertainty"], rows)
