"""The summary of a fleet: as JSON for programs, as one page for people, and in a terminal.

It says first who has no packet and why, then what needs hands, then which machines are alike and which stand
out, and last every machine with the way to its own page. Names, paths and values come from people's files, so
the page is built like the others: inert, escaped, nothing fetched, nothing run.

What makes machines alike is said in `groups.py`; nothing is worked out here. How a packet came about
(now, or in a run before) is not told in the files, so that a run that was interrupted ends with the same summary.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from cfgmigrate.fleet.groups import FleetComparison, Moved, Outlier, Record, compare
from cfgmigrate.fleet.pieces import Shared
from cfgmigrate.ground import number_text
from cfgmigrate.ground.plain_json import inert_json
from cfgmigrate.reports import html, wording
from cfgmigrate.reports.safe_text import inert, shell_word

if TYPE_CHECKING:
    from rich.console import Console

    from cfgmigrate.fleet.file import Fleet

#: so many names of machines stand in a line; the rest is counted
NAMED = 8
#: and so many on the page where a group is listed
MOST_NAMED = 200
STAYS = "not changed"


def summary_bytes(fleet: Fleet, records: Sequence[Record], beside: Sequence[str] = ()) -> bytes:
    """summary.json: `summary` as it is written."""
    text = json.dumps(summary(fleet, records, beside), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    return inert_json(text).encode("utf-8", "surrogateescape")


def summary(fleet: Fleet, records: Sequence[Record], beside: Sequence[str] = ()) -> dict[str, Any]:
    """Format 1; fields may be added, never renamed. `beside` are packets of machines that the fleet doesn't name."""
    found = compare(records)
    group_of = {name: number for number, group in enumerate(found.groups, 1) for name in group.machines}
    return {
        "format": 1,
        "fleet": {"path": fleet.path, "sha256": hashlib.sha256(fleet.source).hexdigest()},
        "counts": counts(records, found),
        "machines": [_machine(record, group_of.get(record.name)) for record in records],
        "groups": [
            {
                "machines": list(group.machines),
                "changes": [_moved(one) for one in group.changes],
                "shared": [_shared_item(one) for one in group.shared],
            }
            for group in found.groups
        ],
        "standing_out": [_outlier(one) for one in found.outliers],
        "by_hand": [
            {"about": about, "what": what, "machines": list(names)}
            for about, items in found.hands.items()
            for what, names in items.items()
        ],
        "warnings": [{"text": text, "machines": list(names)} for text, names in found.warnings.items()],
        "beside": list(beside),
    }


def counts(records: Sequence[Record], found: FleetComparison) -> dict[str, int]:
    return {
        "machines": len(records),
        "packets": sum(record.done for record in records),
        "failed": sum(bool(record.error) for record in records),
        "unreached": sum(record.unreached for record in records),
        "groups": len(found.groups),
        "standing_out": len({one.machine for one in found.outliers}),
        "need_hands": sum(bool(record.by_hand) for record in records),
        "in_doubt": sum(bool(record.doubts) for record in records),
    }


def _machine(record: Record, group: int | None) -> dict[str, Any]:
    return {
        "name": record.name,
        "config": list(record.config),
        "sheet": record.sheet,
        "differs": dict(record.differs),
        "packet": record.name if record.done else None,
        "hash": record.hash,
        "installed": record.installed,
        "group": group,
        "changes": [_moved(one) for one in record.changes],
        "by_hand": [{"about": one.about, "what": one.what, "when": one.when} for one in record.by_hand],
        "warnings": list(record.warnings),
        "doubts": [doubt.to_json() for doubt in record.doubts],
        "notes": list(record.notes),
        "error": {"status": record.status, "text": record.error} if record.error else None,
        "unreached": record.unreached,
    }


def _moved(one: Moved) -> dict[str, Any]:
    return {
        "quantity": one.quantity,
        "label": one.label,
        "unit": one.unit,
        "old": {"value": one.old, "text": one.old_text},
        "new": {"value": one.value, "text": one.text},
        "status": one.status,
    }


def _shared_item(one: Shared) -> dict[str, Any]:
    """An item that one verdict can be on for the group's machines but `others`."""
    piece = one.piece
    return {"item": piece.item, "piece": piece.name, "digest": piece.digest, "others": list(one.others)}


def _outlier(one: Outlier) -> dict[str, Any]:
    return {
        "machine": one.machine,
        "quantity": one.quantity,
        "here": _moved(one.here)["new"] if one.here else None,
        "usual": _moved(one.usual)["new"] if one.usual else None,
        "machines_with_the_usual": one.many,
        "machines_with_the_sheet": one.of,
    }


def render_page(fleet: Fleet, records: Sequence[Record], beside: Sequence[str] = ()) -> str:
    """The text of summary.html."""
    found = compare(records)
    style, script = html.asset("page.css"), html.scripts("record.js", "lists.js", "together.js")
    by_name = {record.name: record for record in records}
    page = html.environment().get_template("hall.html")
    return page.render(
        title=f"{wording.count(len(records), 'machine')}, prepared together",
        sentence=sentence(counts(records, found)),
        failed=[record for record in records if record.error],
        unreached=_named([record.name for record in records if record.unreached]),
        warnings=[(text, _named(names)) for text, names in found.warnings.items()],
        hands=[
            (about, sum(map(len, items.values())), [(what, _named(names)) for what, names in items.items()])
            for about, items in found.hands.items()
        ],
        groups=[
            {
                "number": number,
                "title": wording.count(len(group.machines), "machine"),
                "names": _named(group.machines, MOST_NAMED),
                "changes": [(wording.capital(one.label), _value(one), one.status) for one in group.changes],
                "shared": [
                    _shared_row(one, f"{number}-{at}", len(group.machines))
                    for at, one in enumerate(group.shared)
                ],
                "basis": html.exact({one.piece.name: one.piece.digest for one in group.shared}),
                "machines": html.exact(group.machines),
                "packets": _packets(group.machines),
            }
            for number, group in enumerate(found.groups, 1)
            if len(group.machines) > 1
        ],
        alone=_named([group.machines[0] for group in found.groups if len(group.machines) == 1], MOST_NAMED),
        outliers=[_outlier_row(one, by_name[one.machine]) for one in found.outliers],
        machines=[_machine_row(record, found, number) for number, record in _numbered(records, found)],
        beside=_named(beside, MOST_NAMED),
        installed=_named([record.name for record in records if record.installed], MOST_NAMED),
        fleet=fleet.path,
        policy=html.own(html.policy(style, script)),
        css=html.own(style),
        script=html.own(script),
    ).lstrip()


def _numbered(records: Sequence[Record], found: FleetComparison) -> list[tuple[int, Record]]:
    group_of = {name: number for number, group in enumerate(found.groups, 1) for name in group.machines}
    return [(group_of.get(record.name, 0), record) for record in records]


def _machine_row(record: Record, found: FleetComparison, group: int) -> dict[str, Any]:
    return {
        "name": record.name,
        "href": html.own(f"{quote(record.name)}/changes.html") if record.done and record.browsed else "",
        "group": group or "",
        "changes": len(record.changes) if record.done else "no packet",
        "by_hand": len(record.by_hand) or "",
        "warnings": len(record.warnings) or "",
        "doubts": len(record.doubts) or "",
        "out": sum(one.machine == record.name for one in found.outliers) or "",
        "notes": "; ".join(record.notes),
    }


def _packets(names: Sequence[str]) -> str:
    """The packets of a group for a command line; of a very large group only what stands for them."""
    return " ".join(map(shell_word, names)) if len(names) <= MOST_NAMED else "PACKET..."


def _shared_row(one: Shared, key: str, of: int) -> dict[str, Any]:
    return {
        "item": html.exact(one.piece.item),
        "key": key,
        "label": wording.capital(one.piece.label),
        "text": one.piece.text,
        "status": one.piece.status,
        "warnings": one.piece.warnings,
        "same": f"{one.many} of {of}" + (f", not {_named(one.others)}" if one.others else ""),
    }


def _outlier_row(one: Outlier, record: Record) -> tuple[str, str, str, str, str, str]:
    """Machine, quantity, its value, the usual one, how usual that is, and what is otherwise on the machine."""
    known = one.here or one.usual
    assert known is not None
    was = one.here.old_text if one.here else ""
    why = [f"{path}: {text if text is not None else 'not so here'}" for path, text in record.differs]
    return (
        one.machine,
        wording.capital(known.label),
        (_value(one.here) + (f" (was {was})" if was else "")) if one.here else STAYS,
        _value(one.usual) if one.usual else STAYS,
        f"{one.many} of {one.of}",
        "; ".join(why),
    )


def _value(one: Moved) -> str:
    if one.value is None or ":" in one.text:
        return inert(one.text)
    return number_text.measure(one.value, name=one.unit)


def _named(names: Sequence[str], most: int = NAMED) -> str:
    """Names in a line, the rest counted."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def sentence(many: Mapping[str, int]) -> str:
    """The whole in a sentence or two."""
    packets = f"{many['packets']:,} of {wording.count(many['machines'], 'machine')} have a packet"
    parts = [packets if many["packets"] < many["machines"] else "Every machine has its packet"]
    if many["failed"]:
        parts.append(f"{many['failed']:,} could not be prepared")
    if many["unreached"]:
        parts.append(f"{many['unreached']:,} not reached")
    rest = [
        f"They make {wording.count(many['groups'], 'group')} of machines that are alike",
        f"{many['standing_out']:,} stand out",
        f"{many['need_hands']:,} need hands",
        f"{many['in_doubt']:,} have questions to settle",
    ]
    return f"{'; '.join(parts)}. {', '.join(rest)}." if many["packets"] else f"{'; '.join(parts)}."


def show(
    fleet: Fleet,
    records: Sequence[Record],
    folder: Path,
    console: Console,
    beside: Sequence[str] = (),
    kept: bool = False,
) -> None:
    """The summary in a terminal: the same, in short. `kept` where the summary of an earlier run stays."""
    from cfgmigrate.reports.console import heading, line

    found = compare(records)
    heading(console, f"{wording.capital(wording.count(len(records), 'machine'))} of {fleet.path}")
    line(console, sentence(counts(records, found)))
    standing = sum(record.standing for record in records)
    if standing:
        line(
            console, f"{wording.count(standing, 'packet')} stood there already and were not worked out again."
        )
    for record in records:
        for note in record.notes:
            line(console, f"{record.name}: {note}", bullet="!")
    if found.groups:
        heading(console, "Alike")
        for group in found.groups[:NAMED]:
            values = wording.count(len(group.changes), "value") + (" each" if len(group.machines) > 1 else "")
            machines = wording.count(len(group.machines), "machine")
            line(console, f"{machines}, {values}: {_named(group.machines)}", bullet="·")
        if len(found.groups) > NAMED:
            line(console, f"and {len(found.groups) - NAMED} groups more", bullet="·")
    if found.outliers:
        heading(console, "Standing out")
        for one in found.outliers[:NAMED]:
            name, what, here, usual, many, _ = _outlier_row(
                one, next(r for r in records if r.name == one.machine)
            )
            line(console, f"{name}: {what}: {here}; {many} have {usual}", bullet="-")
        if len(found.outliers) > NAMED:
            line(console, f"and {len(found.outliers) - NAMED} values more", bullet="-")
    if found.hands:
        heading(console, "By hand")
        for about, items in list(found.hands.items())[:NAMED]:
            everyone = dict.fromkeys(name for names in items.values() for name in names)
            line(console, f"{wording.capital(about)}: {_named(list(everyone))}", bullet="-")
    console.print()
    if beside:
        line(console, f"Packets of machines that the fleet doesn't name: {_named(beside)}", indent=0)
    if kept:
        line(
            console,
            f"No packet was made: {folder / 'summary.html'} stays as an earlier run left it.",
            indent=0,
        )
        return
    line(console, f"The whole summary: {folder / 'summary.html'}", indent=0)
    if any(record.done and not record.browsed for record in records):
        line(console, "Their pages:       the same command with --pages writes them", indent=0)
    line(console, f"One machine:       cfgmigrate install {shell_word(folder / 'NAME')}", indent=0)
