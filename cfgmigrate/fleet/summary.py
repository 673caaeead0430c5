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
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from cfgmigrate.files.gaps import of_gaps, told
from cfgmigrate.fleet.forms import ChangeForm, FormKind
from cfgmigrate.fleet.groups import FleetComparison, Outlier, Record, compare
from cfgmigrate.fleet.moved import Moved
from cfgmigrate.fleet.pieces import Shared
from cfgmigrate.fleet.shared_files import WHAT_TO_DO, shared_files
from cfgmigrate.fleet.still_open import MOST_QUESTIONS, still_open
from cfgmigrate.ground import number_text
from cfgmigrate.ground.plain_json import inert_json
from cfgmigrate.reports import html, wording
from cfgmigrate.reports.safe_text import inert, shell_word

if TYPE_CHECKING:
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
                "changes": [
                    {**_moved(one), "alike": form.kind.value, "by": form.by(one)}
                    for one, form in zip(group.changes, group.forms, strict=True)
                ],
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
        "questions": [{"text": text, "machines": list(names)} for text, names in found.questions.items()],
        "differs": [
            {"field": path, "text": text, "machines": list(names)}
            for path, texts in found.differs.items()
            for text, names in texts.items()
        ],
        "open": [
            {"machine": one.machine, "lights": list(one.lights), "places": list(one.places)}
            for one in still_open(records)
        ],
        "shared_files": [each.to_json() for each in shared_files(records)],
        "lacking": [{"machine": name, "settings": list(names)} for name, names in found.lacking.items()],
        "beside": list(beside),
        "keeping_their_drive": [machine.name for machine in fleet.keeping],
    }


def keeping_text(fleet: Fleet) -> str:
    """Which machines keep their drive, and what follows for the others; "" where none does."""
    names = [machine.name for machine in fleet.keeping]
    if not names:
        return ""
    one = len(names) == 1
    return (
        f"{named(names)} {'keeps its' if one else 'keep their'} drive: no packet, and no file that "
        f"{'it reads' if one else 'they read'} is written for another machine."
    )


def counts(records: Sequence[Record], found: FleetComparison) -> dict[str, int]:
    return {
        "machines": len(records),
        "packets": sum(record.done for record in records),
        "failed": sum(bool(record.error) for record in records),
        "unreached": sum(record.unreached for record in records),
        "groups": len(found.groups),
        "alike": sum(len(group.machines) > 1 for group in found.groups),
        "standing_out": len({*(one.machine for one in found.outliers), *found.lacking}),
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
        "lights": dict(record.lights),
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
    shared = shared_files(records)
    page = html.environment().get_template("hall.html")
    return page.render(
        title=f"{wording.count(len(records), 'machine')}, prepared together",
        sentence=sentence(counts(records, found)),
        failed=[record for record in records if record.error],
        unreached=named([record.name for record in records if record.unreached]),
        several=[each for each in shared if len(each.machines) > 1],
        keeping=keeping_text(fleet),
        what_to_do=WHAT_TO_DO,
        read=[each.sentence for each in shared if each.sentence],
        warnings=[(text, names) for text, names in found.warnings.items()],
        questions=[(text, names) for text, names in found.questions.items()],
        open_here=[
            (one, one.questions[:MOST_QUESTIONS], len(one.questions) - MOST_QUESTIONS)
            for one in still_open(records)
        ],
        differs=[(path, list(texts.items())) for path, texts in found.differs.items()],
        missing=[(record.name, told(doubt)) for record in records for doubt in of_gaps(record.doubts)],
        lacking=[(name, some(names), len(names)) for name, names in found.lacking.items()],
        hands=[
            (about, sum(map(len, items.values())), list(items.items()))
            for about, items in found.hands.items()
        ],
        groups=[
            {
                "number": number,
                "title": wording.count(len(group.machines), "machine"),
                "names": group.machines,
                "changes": [
                    (wording.capital(one.label), change_text(one, form), one.status)
                    for one, form in zip(group.changes, group.forms, strict=True)
                ],
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
        alone=[group.machines[0] for group in found.groups if len(group.machines) == 1],
        outliers=[_outlier_row(one, by_name[one.machine]) for one in found.outliers],
        machines=[_machine_row(record, found, number) for number, record in _numbered(records, found)],
        beside=named(beside, MOST_NAMED),
        installed=named([record.name for record in records if record.installed], MOST_NAMED),
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
        "lights": record.lights,
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
        "same": f"{one.many} of {of}" + (f", not {named(one.others)}" if one.others else ""),
    }


def _outlier_row(one: Outlier, record: Record) -> tuple[str, str, str, str, str, str]:
    """Machine, quantity, its value, the usual one, how usual that is, and what is otherwise on the machine."""
    known = one.here or one.usual
    assert known is not None
    was = one.here.old_text if one.here else ""
    usual = change_text(one.usual, one.form) if one.usual else STAYS
    why = [f"{path}: {text if text is not None else 'not so here'}" for path, text in record.differs]
    return (
        one.machine,
        wording.capital(known.label),
        (value_text(one.here) + (f" (was {was})" if was else "")) if one.here else STAYS,
        usual,
        f"{one.many} of {one.of}",
        "; ".join(why),
    )


def change_text(one: Moved, form: ChangeForm) -> str:
    """How a value changes, in the form in which it is the same for all."""
    by = form.by(one)
    if by is None:
        return value_text(one)
    if form.kind is FormKind.DIFFERENCE:
        amount = number_text.measure(abs(by), name=one.unit)
        return f"{'+' if by > 0 else '−'}{amount}"
    return f"{number_text.measure(100 * by, name='%')} of the old one".replace(" %", "\u00a0%")


def value_text(one: Moved) -> str:
    if one.value is None or ":" in one.text:
        return inert(one.text)
    return number_text.measure(one.value, name=one.unit)


def some(names: Sequence[str], most: int = NAMED) -> str:
    """The first of many names of settings."""
    return ", ".join(names[:most]) + (", …" if len(names) > most else "")


def named(names: Sequence[str], most: int = NAMED) -> str:
    """Names in a line, the rest counted."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def sentence(many: Mapping[str, int]) -> str:
    """The whole in a sentence or two."""
    packets = f"{many['packets']:,} of {wording.count(many['machines'], 'machine')} {_verb(many['packets'], 'has', 'have')} a packet"
    parts = [packets if many["packets"] < many["machines"] else "Every machine has its packet"]
    if many["failed"]:
        parts.append(f"{many['failed']:,} could not be prepared")
    if many["unreached"]:
        parts.append(f"{many['unreached']:,} not reached")
    alike = wording.count(many["alike"], "group") if many["alike"] else "no group"
    rest = [
        f"They make {alike} of machines that are alike",
        f"{many['standing_out']:,} {_verb(many['standing_out'], 'stands', 'stand')} out",
        f"{many['need_hands']:,} {_verb(many['need_hands'], 'needs', 'need')} hands",
        f"{many['in_doubt']:,} {_verb(many['in_doubt'], 'has', 'have')} questions to settle",
    ]
    return f"{'; '.join(parts)}. {', '.join(rest)}." if many["packets"] else f"{'; '.join(parts)}."


def _verb(many: int, one: str, more: str) -> str:
    return one if many == 1 else more
