"""The plan in a terminal: the same content as changes.md, shorter, through rich.

Width, colour and pipe are the console's business: rich reads the terminal's width, leaves colour out where
it is not wanted (`NO_COLOR`, `TERM=dumb`, output into a pipe) and so does this module, which says nothing
by colour alone. Every text is inert and put in as `Text`, so that `[brackets]` of a file are never markup.

This module deliberately prints only to the console it is given.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, TextIO

from cfgmigrate.changes.plan import ByHand, Change, Plan
from cfgmigrate.findings import Doubt, Place
from cfgmigrate.reports import overview, words
from cfgmigrate.reports.inert import inert

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

ALARM = "bold"
DIM = "dim"


def make_console(file: TextIO | None = None, *, error: bool = False) -> Console:
    """A console for standard output (or `file`, or standard error) that takes no text for markup."""
    from rich.console import Console

    return Console(file=file, stderr=error, markup=False, emoji=False, highlight=False)


def show_plan(plan: Plan, console: Console) -> None:
    """Everything in the plan, as a person reads it before looking at the page."""
    heading(console, f"Changes for {plan.machine or 'this machine'}")
    line(console, overview.sentence(plan))
    pairs, rest = overview.swap_table(plan)
    for name, old, new in pairs:
        line(console, f"{name}: {old or '–'} → {new or '–'}", bullet="·")
    for name, text in rest:
        line(console, f"{name}: {text}", bullet="·")
    alarms = overview.alarms(plan)
    if alarms:
        heading(console, "First: what could damage the machine")
        for alarm in alarms:
            line(console, f"{alarm.about}: {alarm.text}", bullet="!", style=ALARM)
    if plan.changes or plan.by_hand:
        console.print()
        console.print(_glance(plan))
    for index, change in enumerate(plan.changes, start=1):
        _show_change(console, index, change)
    if plan.by_hand:
        heading(console, "By hand")
        for item in plan.by_hand:
            _show_by_hand(console, item)
    if plan.findings:
        heading(console, "Worth knowing")
        for finding in plan.findings:
            line(console, f"{overview.title(finding)}: {overview.finding_value(finding)}", bullet="-")
    if plan.left_alone:
        heading(console, "Left alone")
        for left in plan.left_alone:
            line(console, f"{left.quantity}: {left.why}", bullet="-")
    show_doubts(plan.doubts, console)


def show_survey(survey: dict[str, Any], console: Console) -> None:
    """What was understood, where it stands, and what was not. `survey` is what `survey --json` prints."""
    heading(console, "What was understood")
    files = make_table("file", "dialect", "lines", "settings", "understood")
    for file in survey["files"]:
        known = f"{file['understood']} of {file['settings']}" if file["settings"] else "–"
        files.add_row(
            plain(file["path"]), plain(file["dialect"]), str(file["lines"]), str(file["settings"]), known
        )
    console.print(files)
    if survey["quantities"]:
        table = make_table("quantity", "value", "as written", "where", "converted")
        for quantity, reading in survey["quantities"].items():
            table.add_row(
                plain(quantity),
                plain(value_text(reading)),
                plain(str(reading["text"])),
                plain(place_text(reading)),
                plain(str(reading.get("converted") or "")),
            )
        console.print(table)
    _show_list(console, "Protected: read and compared, never written", survey.get("protected", []))
    _show_list(console, "Looks relevant, but was not understood", survey.get("unrecognised", []))
    _show_list(console, "Doubts: not guessed, to be settled", survey.get("doubts", []), bullet="?")


def _show_list(console: Console, title: str, items: Sequence[Any], bullet: str = "-") -> None:
    """Things with a place: whatever fields an item has are shown in the order place, text, why, remedy."""
    if not items:
        return
    heading(console, title)
    for item in items:
        if isinstance(item, str):
            line(console, item, bullet=bullet)
            continue
        what = str(item.get("quantity") or item.get("text") or "")
        value = value_text(item) if "value" in item else ""
        line(console, ": ".join(filter(None, [place_text(item), what, value])), bullet=bullet)
        for name in ("why", "remedy"):
            if item.get(name):
                line(console, str(item[name]), indent=4)
        if item.get("nearest"):
            line(console, f"nearest: {', '.join(item['nearest'])}", indent=4)


def place_text(item: Mapping[str, Any]) -> str:
    """`machine.ini:12:14` from a mapping that has file, and perhaps line and column."""
    if not item.get("file"):
        return ""
    return str(Place(str(item["file"]), int(item.get("line") or 0), int(item.get("column") or 0)))


def value_text(item: Mapping[str, Any]) -> str:
    """A value with its unit from a mapping; text where it is no number."""
    value = item.get("value")
    if isinstance(value, int | float) and not isinstance(value, bool):
        return words.measure(float(value), name=str(item.get("unit") or ""))
    return str(item.get("text") or "") if value is None else str(value)


def show_doubts(doubts: Iterable[Doubt], console: Console) -> None:
    """What was not guessed, with the place and how to settle it."""
    doubts = list(doubts)
    if not doubts:
        return
    heading(console, "Doubts: not guessed, to be settled")
    for doubt in doubts:
        line(console, f"{doubt.place}: {inert(doubt.text)}", bullet="?")
        line(console, doubt.why, indent=4)
        if doubt.remedy:
            line(console, f"to settle it: {doubt.remedy}", indent=4)


def heading(console: Console, text: str) -> None:
    """A heading of its own: bold where the console can, underlined by a rule of text where it can't."""
    from rich.text import Text

    shown = inert(text)
    console.print()
    console.print(Text(shown, style="bold"))
    console.print(Text("─" * min(Text(shown).cell_len, console.width), style=DIM))


def line(console: Console, text: str, indent: int = 2, bullet: str = "", style: str = "") -> None:
    """One paragraph, wrapped at the console's width with its indentation kept and no trailing spaces."""
    from rich.text import Text

    lead = " " * indent + (f"{bullet} " if bullet else "")
    width = max(console.width - len(lead), 10)
    for index, part in enumerate(plain(text, style).wrap(console, width)):
        part.rstrip()
        console.print(Text(lead if index == 0 else " " * len(lead), style=style) + part, soft_wrap=True)


def plain(text: str, style: str = "") -> Text:
    """Inert text for rich, nothing in it markup."""
    from rich.text import Text

    return Text(inert(text, 2000), style=style, overflow="fold")


def make_table(*columns: str) -> Table:
    """An empty table in the house style: no colour, thin rules, long cells folded."""
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="bold")
    for column in columns:
        table.add_column(column, overflow="fold")
    return table


def _glance(plan: Plan) -> Table:
    table = make_table("", "what", "where", "from", "to", "how sure")
    for index, change in enumerate(plan.changes, start=1):
        sure = " ".join(filter(None, [change.status.value, overview.sureness(change)]))
        table.add_row(
            str(index),
            plain(overview.title(change)),
            plain(", ".join(overview.places(change))),
            plain(overview.old_value(change)),
            plain(overview.new_value(change), "bold"),
            sure,
        )
    for item in plan.by_hand:
        value = "see below"
        if item.value is not None:
            value = words.measure(item.value, item.uncertainty, item.unit)
        table.add_row("", plain(overview.title(item)), plain(item.when), "", plain(value, "bold"), "by hand")
    return table


def _show_change(console: Console, index: int, change: Change) -> None:
    heading(console, f"{index}. {overview.title(change)}")
    line(
        console,
        f"{change.quantity}, {change.status.value}{', ' if change.way else ''}{change.way}",
        style=DIM,
    )
    for edit in change.edits:
        line(console, f"{edit.file}:{edit.line}:{edit.column}: {inert(edit.old)} → {inert(edit.new)}")
    if change.says:
        line(console, change.says)
    for text in overview.derivation_lines(change.derivation, overview.worked_out(change)):
        line(console, text, indent=4)
    for given in change.derivation.inputs:
        part = words.share(given.share)
        shared = f", {part} of the uncertainty" if part else ""
        label = given.label or given.name
        line(
            console, f"{label}: {overview.input_value(given)} ({given.origin}{shared})", indent=4, bullet="·"
        )
    for check in change.cross_checks:
        value = overview.check_value(check, change)
        line(console, f"cross-check by {check.way}: {value}; {check.note}", bullet="=")
    if overview.try_range(change):
        line(console, f"try {overview.try_range(change)}", bullet="~")
    _show_cautions(console, change)


def _show_by_hand(console: Console, item: ByHand) -> None:
    value = overview.by_hand_value(item)
    line(
        console,
        f"{overview.title(item)}{': ' if value else ''}{value} ({item.when})",
        bullet="-",
        style="bold",
    )
    line(console, item.why, indent=4)
    if item.derivation:
        for text in overview.derivation_lines(item.derivation, value):
            line(console, text, indent=6)
    _show_cautions(console, item, indent=4)


def _show_cautions(console: Console, item: Change | ByHand, indent: int = 2) -> None:
    for text in item.warnings:
        line(console, f"could damage the machine: {text}", indent=indent, bullet="!", style=ALARM)
    for text in item.cautions:
        line(console, f"caution: {text}", indent=indent, bullet="!")
    if item.verify:
        line(console, f"verify: {item.verify}", indent=indent, bullet=">")
