"""changes.html: the one file that the second person gets.

They have not seen the machine and may not be at the same desk: the page shows what moves, from what to
what, how it follows and how to check it, and takes their verdict on each card. It asks for nothing from
the network and runs no script but its own.

This module deliberately computes nothing: it puts a plan's texts and numbers into the places that
`templates/changes.html` has for them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import escape

from cfgmigrate.apply.other_readers import told_before_install
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.packet.binding import pieces_of, review_basis
from cfgmigrate.plan.model import Edit, Plan
from cfgmigrate.reports import html, mathml, order_of_day, overview, wording
from cfgmigrate.reports.calculation import Calculation
from cfgmigrate.reports.card import Card, Cards, cards_of
from cfgmigrate.reports.checklist import FILAMENT, MOUNT, lowest_found
from cfgmigrate.reports.edition import edition
from cfgmigrate.reports.excerpt import Line, Pair, Side, excerpt, side_by_side
from cfgmigrate.reports.feeders_called import lights_named
from cfgmigrate.reports.pictures import draw
from cfgmigrate.reports.ratio import ratio_picture

FEW_STEPS = 2
"""So many steps of usual work are no more to scroll past than the line that folds them away."""
_NO_PERSON = frozenset(("", "root", "admin", "administrator"))
"""Users of a computer who are nobody."""
_SHIFT = pattern(r"carriage, (?:nozzle|probe) shift, ")
USUAL_WORK = "work."
"""How the rules begin that tell of work that is the same at every swap."""


def render_page(
    plan: Plan,
    before: Mapping[str, bytes],
    after: Mapping[str, bytes],
    packet_hash: str,
    preparer: str = "",
    earlier: Mapping[str, str] | None = None,
) -> str:
    """The text of changes.html. `before` and `after` map each file's path to its bytes; `preparer` is who asks. `earlier`
    are the digests of the items of the packet that this one took the place of: what is new or different is marked."""
    style, script = html.asset("page.css"), html.scripts("record.js", "page.js")
    edits, cards = overview.edits_of(plan), cards_of(plan)
    pairs, rest = overview.swap_table(plan)
    ratios = {change.id: html.own(ratio_picture(change)) for change in plan.changes}
    folded = _folded_away(cards)
    page = html.environment().get_template("changes.html")
    return page.render(
        machine=plan.machine or "this machine",
        asks=_asks(cards, preparer),
        at_the_machine=_at_the_machine(plan, cards, preparer),
        day=order_of_day.order_of_day(plan, cards),
        tools=order_of_day.tools(cards),
        whose=_whose(plan, preparer),
        unheld=_unheld(cards),
        lights=lights_named(plan),
        notes=plan.notes,
        sentence=overview.sentence(plan),
        swap=overview.swap_sentence(plan),
        cards=cards,
        folded=folded,
        spans=lambda several: overview.spans([card.number for card in several]),
        hands=overview.alike([card for card in cards.by_hand if card not in folded]),
        alarms=overview.alarms(cards),
        readers=told_before_install(plan),
        answers=overview.how_to_answer(cards),
        questions=overview.questions(cards),
        mismatches=overview.mismatches(plan, before, after),
        pairs=pairs,
        rest=rest,
        counts=overview.counts(plan),
        meaning=overview.MEANING,
        shown={card.number: _shown(card, before) for card in cards.all},
        anchors={card.rule: card.number for card in (*cards.findings, *cards.changes) if card.rule},
        pictures=[_picture(picture) for picture in draw(plan)],
        ratios=ratios,
        left_alone=plan.left_alone,
        left_out=plan.left_out,
        files=[_file(path, before.get(path, b""), edits[path]) for path in edits],
        unchanged=[file.path for file in plan.files if file.path not in edits],
        rests_on=[(file.path, file.sha256) for file in plan.files]
        + [(plan.sheet_path, plan.sheet_sha256), ("the rule book", plan.rules_sha256)],
        said=_said(pairs, rest) if plan.kind != "tune" else {},
        sheet_says="What was measured, as the measured sheet has it"
        if plan.kind == "tune"
        else "What was swapped, as the swap sheet has it",
        fresh=_fresh(plan, cards, earlier or {}),
        mail=_mail(cards, packet_hash),
        packet_hash=packet_hash,
        edition=edition(),
        basis=html.exact(review_basis(plan)),
        policy=html.own(html.policy(style, script)),
        css=html.own(style),
        script=html.own(script),
    ).lstrip()


def _person(preparer: str) -> str:
    """Who prepared, where that is a name that somebody can be asked for by."""
    return "" if preparer.strip().casefold() in _NO_PERSON else preparer


def _asks(cards: Cards, preparer: str) -> str:
    """Who asks whom for what."""
    who = f"{person} asks you" if (person := _person(preparer)) else "You are asked"
    many = wording.count(len(cards.reviewed), "item")
    return f"{who}, as the second person, for your verdict on {many}: accepted, held or questioned."


def _whose(plan: Plan, preparer: str) -> str:
    """Who does what, and what of others stays."""
    stays = order_of_day.left_to_others(plan)
    return (
        f"Files: {_person(preparer) or 'whoever prepared this packet'}. Hands: whoever is at the machine, with this page alone."
        f"{f' Not touched: {stays}.' if stays else ''}"
    )


def _at_the_machine(plan: Plan, cards: Cards, preparer: str) -> str:
    """When somebody who works at the machine and has this page alone stops, and the way back."""
    who = _person(preparer) or "whoever prepared this packet"
    files = overview.spans([card.number for card in order_of_day.by_files(cards)])
    hands = overview.spans([card.number for card in order_of_day.undone_by_hands(cards)])
    screws = "".join(f", then {number} back to {volts}" for number, volts in order_of_day.screws_back(cards))
    limits = [limit for rule in (MOUNT, FILAMENT) if (limit := lowest_found(plan, rule))]
    hot = f" ({min(limits)} °C)" if limits else ""
    parts = "the old parts go on again" if plan.kind != "tune" else "nothing is unscrewed"
    return (
        f"Drive turns the wrong way, switch or probe not noticed, nozzle touches the bed, motor too hot{hot}, anything not as on this page: "
        f"switch off, and ask {who}. The way back: {parts}{f', {hands} undone if done' if hands else ''} (hands), the files go back in one step"
        f"{f', {files} by hand' if files else ''} (files); only then power{f'{screws} (hands)' if screws else ''}."
    )


def _folded_away(cards: Cards) -> list[Card]:
    """The steps by hand behind one line, so that on a small screen what has to be looked at is not far down: the work that
    is the same at every swap and that no warning is about, where that is more than a few steps."""
    plain = [card for card in cards.by_hand if card.rule.startswith(USUAL_WORK) and not card.warnings]
    return plain if len(plain) > FEW_STEPS else []


def _mail(cards: Cards, packet_hash: str) -> list[str]:
    """What an answer by mail may look like, with numbers of this packet."""
    said = ("accepted", "held: why", "question: what")
    shown = [card.number for card in cards.reviewed]
    picked = dict.fromkeys([*shown[:1], *shown[len(shown) // 2 :][:1], *shown[-1:]])
    lines = [f"{number} {words}" for number, words in zip(picked, said, strict=False)]
    return [f"packet {packet_hash[:8]}", *lines]


def _said(
    pairs: Sequence[tuple[str, str, str]], rest: Sequence[tuple[str, str]]
) -> dict[str, list[tuple[str, str]]]:
    """What the sheet says of the new parts, by part, in few words: what came off and is the same now is left out, and where
    nozzle and probe moved stands in the order of the day."""
    found: dict[str, list[tuple[str, str]]] = {}
    told = [(name, f"{old} → {new}" if old else new) for name, old, new in pairs if new and old != new]
    for name, text in (*told, *(each for each in rest if not _SHIFT.match(each[0]))):
        part, _, of = name.partition(", ")
        found.setdefault(part, []).append((of, text))
    return found


def _fresh(plan: Plan, cards: Cards, earlier: Mapping[str, str]) -> dict[str, str]:
    """By number, whether an item is `new` or `changed` since the packet before; {} where there was none."""
    if not earlier:
        return {}
    pieces, now = pieces_of(plan), review_basis(plan)
    marks = {}
    for card in cards.reviewed:
        piece = pieces[card.key]
        if earlier.get(piece) != now[piece]:
            marks[card.number] = "changed" if piece in earlier else "new"
    return marks


def _unheld(cards: Cards) -> str:
    """What happens if nothing is held."""
    return (
        f"If you hold nothing, {wording.count(len(cards.changes), 'value')} will be written. What you hold stays as it is, and so does what "
        "was worked out from it; a question or a step by hand that is held stops the install."
    )


def _shown(card: Card, before: Mapping[str, bytes]) -> dict[str, Any]:
    """What of a card is HTML: its key, its formula typeset, and the lines that it touches."""
    files = dict.fromkeys(edit.file for edit in card.edits)
    return {
        "key": html.exact(card.key),
        "excerpts": [
            (file, excerpt(before.get(file, b""), [edit for edit in card.edits if edit.file == file]))
            for file in files
        ],
        **_math(card.calculation),
    }


def _math(calculation: Calculation | None) -> dict[str, Any]:
    """The formula and the same with numbers put in, typeset; "" where there is none."""
    legend = calculation.legend if calculation else ()
    symbols = {given.name: html.own(mathml.typeset(given.name)) for given in legend}
    if calculation is None or not calculation.formula:
        return {"math": "", "put_in": "", "symbols": symbols, "spoken": ""}
    put_in = mathml.put_in(calculation.formula, calculation.inputs) if calculation.substituted else ""
    return {
        "math": html.own(mathml.typeset(calculation.formula)),
        "put_in": html.own(put_in),
        "symbols": symbols,
        "spoken": mathml.spoken(calculation.formula),
    }


def _picture(picture: Any) -> dict[str, Any]:
    return {"title": picture.title, "svg": html.own(picture.svg), "numbers": picture.numbers}


def _file(path: str, before: bytes, edits: Sequence[Edit]) -> dict[str, Any]:
    total = len(before.splitlines())
    changed = len({edit.line for edit in edits})
    return {
        "path": path,
        "summary": f"{changed} of {wording.count(total, 'line')} changed",
        "rows": html.own("\n".join(_row(pair) for pair in side_by_side(before, edits))),
    }


def _row(pair: Pair) -> str:
    """One row of the side-by-side table. Written here because a file has thousands of them."""
    if pair.folded:
        return _folded(pair.folded)
    if pair.old is not None and pair.new is not None and pair.same:
        shown = _marked(pair.old)
        cells = (
            f'<td class="no" role="cell">{line.number}</td><td class="code" role="cell">{shown}</td>'
            for line in (pair.old, pair.new)
        )
        return f'<tr class="same" role="row">{"".join(cells)}</tr>'
    return f'<tr class="changed" role="row">{_cells(pair.old, "old")}{_cells(pair.new, "new")}</tr>'


def _folded(lines: Sequence[Line]) -> str:
    """Many equal lines in one row: a cell each would make the page of a long file many times larger."""
    first, last = lines[0].number, lines[-1].number
    head = f"{wording.count(len(lines), 'line')}, the same in both (before: {first} to {last})"
    width = len(str(last))
    text = "\n".join(f"{line.number:{width}}  {_marked(line)}" for line in lines)
    return (
        '<tr class="skipped" role="row"><td colspan="4" role="cell">'
        f'<details><summary>{head}</summary><pre tabindex="0">{text}</pre></details></td></tr>'
    )


def _cells(line: Line | None, side: str) -> str:
    if line is None:
        return '<td class="no" role="cell"></td><td class="code" role="cell"></td>'
    colour = "" if line.side is Side.BOTH else f" {side}"
    return f'<td class="no" role="cell">{line.number}</td><td class="code{colour}" role="cell">{_marked(line)}</td>'


def _marked(line: Line) -> str:
    mark = "ins" if line.side is Side.NEW else "del"
    return "".join(
        f"<{mark}>{escape(part.text)}</{mark}>" if part.marked else escape(part.text) for part in line.parts
    )
