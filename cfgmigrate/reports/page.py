"""changes.html: the one file that the second person gets.

They have not seen the machine and may not be at the same desk: the page shows what moves, from what to
what, how it follows and how to check it, and takes their verdict on each card. It asks for nothing from
the network and runs no script but its own.

This module deliberately computes nothing: it puts a plan's texts and numbers into the places that
`templates/changes.html` has for them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cfgmigrate.packet.review import review_basis
from cfgmigrate.plan.model import ByHand, Change, Edit, Finding, Plan
from cfgmigrate.reports import html, mathml, overview, wording
from cfgmigrate.reports.excerpt import Line, Pair, Side, excerpt, side_by_side
from cfgmigrate.reports.pictures import draw
from cfgmigrate.rules.result import Derivation

if TYPE_CHECKING:
    from markupsafe import Markup

SMALL = 400
"""Files with at most this many lines stand open on the page."""


def render_page(plan: Plan, before: Mapping[str, bytes], after: Mapping[str, bytes], packet_hash: str) -> str:
    """The text of changes.html. `before` and `after` map each file's path to its bytes."""
    style, script = html.asset("page.css"), html.asset("page.js")
    edits = overview.edits_of(plan)
    pairs, rest = overview.swap_table(plan)
    anchors = {item.rule: f"finding-{index}" for index, item in enumerate(plan.findings, 1)}
    anchors |= {change.rule: f"change-{index}" for index, change in enumerate(plan.changes, 1) if change.rule}
    page = html.environment().get_template("changes.html")
    return page.render(
        machine=plan.machine or "this machine",
        sentence=overview.sentence(plan),
        swap=overview.swap_sentence(plan),
        alarms=overview.alarms(plan),
        mismatches=overview.mismatches(plan, before, after),
        pairs=pairs,
        rest=rest,
        counts=overview.counts(plan),
        meaning=overview.MEANING,
        changes=[_change(change, f"change-{index}", before) for index, change in enumerate(plan.changes, 1)],
        by_hand=[_by_hand(item, f"by-hand-{index}") for index, item in enumerate(plan.by_hand, 1)],
        findings=[_finding(item, f"finding-{index}") for index, item in enumerate(plan.findings, 1)],
        pictures=[_picture(picture) for picture in draw(plan)],
        left_alone=plan.left_alone,
        doubts=plan.doubts,
        files=[_file(path, before.get(path, b""), edits[path]) for path in edits],
        unchanged=[file.path for file in plan.files if file.path not in edits],
        rests_on=[(file.path, file.sha256) for file in plan.files]
        + [(plan.sheet_path, plan.sheet_sha256), ("the rule book", plan.rules_sha256)],
        sheet_says="What was measured, as the measured sheet has it"
        if plan.kind == "tune"
        else "What was swapped, as the swap sheet has it",
        packet_hash=packet_hash,
        basis=html.exact(review_basis(plan)),
        anchors=anchors,
        policy=html.own(html.policy(style, script)),
        css=html.own(style),
        script=html.own(script),
    ).lstrip()


def _change(change: Change, anchor: str, before: Mapping[str, bytes]) -> dict[str, Any]:
    files = dict.fromkeys(edit.file for edit in change.edits)
    checks = [
        (
            f"Cross-check by {check.way}",
            "; ".join(filter(None, [overview.check_value(check, change), check.note])),
        )
        for check in change.cross_checks
    ]
    facts = [
        ("Way", change.way),
        ("Source", change.derivation.source),
        ("Rounding", change.rounding),
        *checks,
    ]
    facts += [("Try", overview.try_range(change)), ("Rests on", ", ".join(change.depends))]
    return {
        "anchor": anchor,
        "key": html.exact(change.quantity),
        "id": change.quantity,
        "title": overview.title(change),
        "status": change.status.value,
        "sure": overview.sureness(change),
        "places": overview.places(change),
        "old": overview.old_value(change),
        "new": overview.new_value(change),
        "says": change.says,
        "excerpts": [
            (file, excerpt(before.get(file, b""), [edit for edit in change.edits if edit.file == file]))
            for file in files
        ],
        "facts": [(name, text) for name, text in facts if text],
        "warnings": change.warnings,
        "cautions": change.cautions,
        "notes": change.notes,
        "verify": change.verify,
        **_derivation(change.derivation, overview.worked_out(change)),
    }


def _by_hand(item: ByHand, anchor: str) -> dict[str, Any]:
    source = item.derivation.source if item.derivation else ""
    return {
        "anchor": anchor,
        "key": html.exact(item.what),
        "title": overview.title(item),
        "when": item.when,
        "value": overview.by_hand_value(item),
        "instruction": overview.instruction(item),
        "says": item.why,
        "facts": [("Source", source)] if source else [],
        "warnings": item.warnings,
        "cautions": item.cautions,
        "notes": (),
        "verify": item.verify,
        "steps": item.steps,
        **_derivation(item.derivation, overview.by_hand_result(item)),
    }


def _finding(item: Finding, anchor: str) -> dict[str, Any]:
    value = overview.finding_value(item)
    return {
        "anchor": anchor,
        "title": overview.title(item),
        "value": value,
        "says": item.says,
        "facts": [("Source", item.derivation.source)] if item.derivation.source else [],
        "warnings": item.warnings,
        "cautions": (),
        "notes": (),
        "verify": "",
        **_derivation(item.derivation, value),
    }


def _derivation(derivation: Derivation | None, result: str) -> dict[str, Any]:
    if derivation is None:
        return {"formula": "", "inputs": [], "contributions": []}
    inputs = {given.name: given for given in derivation.inputs}
    math = mathml.typeset(derivation.formula)
    bare = overview.is_bare_name(derivation.formula)
    return {
        "formula": "" if derivation.formula == result else derivation.formula,
        "substituted": "" if bare else derivation.substituted,
        "math": html.own(math),
        "put_in": html.own("" if bare else mathml.put_in(derivation.formula, inputs)),
        "result": result,
        "inputs": [
            {
                "label": given.label or given.name,
                "name": given.name,
                "value": overview.input_value(given),
                "origin": given.origin,
                "rule": given.origin.removeprefix("rule ") if given.origin.startswith("rule ") else "",
                "share": wording.share(given.share),
                "percent": round(100 * given.share),
            }
            for given in derivation.inputs
        ],
        "contributions": [
            {
                "name": part.name,
                "origin": part.origin,
                "share": wording.share(part.share),
                "percent": round(100 * part.share),
            }
            for part in overview.deeper(derivation)
        ],
    }


def _picture(picture: Any) -> dict[str, Any]:
    return {"title": picture.title, "svg": html.own(picture.svg), "numbers": picture.numbers}


def _file(path: str, before: bytes, edits: Sequence[Edit]) -> dict[str, Any]:
    total = len(before.splitlines())
    changed = len({edit.line for edit in edits})
    return {
        "path": path,
        "summary": f"{changed} of {wording.count(total, 'line')} changed",
        "small": total <= SMALL,
        "rows": html.own("\n".join(_row(pair) for pair in side_by_side(before, edits))),
    }


def _row(pair: Pair) -> str:
    """One row of the side-by-side table. Written here because a file has thousands of them."""
    if pair.folded:
        return _folded(pair.folded)
    kind = "same" if pair.same else "changed"
    return f'<tr class="{kind}" role="row">{_cells(pair.old, "old")}{_cells(pair.new, "new")}</tr>'


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


def _marked(line: Line) -> Markup:
    from markupsafe import Markup, escape

    mark = "ins" if line.side is Side.NEW else "del"
    return Markup("").join(
        Markup(f"<{mark}>") + escape(part.text) + Markup(f"</{mark}>") if part.marked else escape(part.text)
        for part in line.parts
    )
