"""What install, revert, review and the history have to say, in a terminal.

Each function takes a report's `to_json()` and prints only to the console it is given. What was done comes
first, what was not done and why comes after it, and how to go on comes last.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from cfgmigrate.reports.console import heading, line, make_table, plain

if TYPE_CHECKING:
    from rich.console import Console

Report = Mapping[str, Any]


def show_install(report: Report, console: Console, *, dry_run: bool, packet: str) -> None:
    """What an install did, or with a dry run would do."""
    _show_recovered(report, console)
    if report["already"]:
        heading(console, "Nothing to do: the files hold the new values already")
    elif not report["files"]:
        heading(console, "Nothing to install: the packet changes no file")
    else:
        heading(console, "Would be installed" if dry_run else "Installed")
    for file in report["files"]:
        line(console, file, bullet="·")
    if report["installed"]:
        line(console, f"values: {', '.join(report['installed'])}")
    if report["held"]:
        heading(console, "Held back")
        for held in report["held"]:
            line(console, f"{held['quantity']}: {held['why']}", bullet="-")
    for note in report["notes"]:
        line(console, note, bullet="!")
    if report["written"]:
        line(console, f"entry {report['entry']} of the history at {report['root']}")
        line(console, "Read the files into the machine again before you move anything.")
        line(console, f"take it back: cfgmigrate revert {packet}")


def show_revert(report: Report, console: Console, *, dry_run: bool) -> None:
    """What a revert restored, kept and left."""
    _show_recovered(report, console)
    heading(console, "Would be restored" if dry_run else "Restored")
    _show_items(report["restored"], console, "nothing")
    if report["kept"]:
        heading(console, "Kept: edits made since")
        _show_items(report["kept"], console)
    if report["left"]:
        heading(console, "Left as they are")
        _show_items(report["left"], console)
    if report["conflicts"]:
        heading(console, "Conflicts: changed again since")
        _show_items(report["conflicts"], console)
        line(console, "Answer each with --keep QUANTITY or --force QUANTITY.")
    for note in report["notes"]:
        line(console, note, bullet="!")
    if report["written"]:
        line(console, f"entry {report['entry']} of the history at {report['root']}")


def show_history(report: Report, console: Console) -> None:
    """The entries, oldest first, and what is wrong with the chain."""
    if not report["entries"]:
        line(console, "Nothing was installed or reverted here.", indent=0)
    else:
        table = make_table("entry", "time", "what", "files", "values")
        for entry in report["entries"]:
            values = "; ".join(f"{name} {old} → {new}" for name, old, new in entry["values"])
            files = ", ".join(str(file.get("path", file)) for file in entry["files"])
            fault = f" ({entry['problem']})" if entry.get("problem") else ""
            what = f"{entry['kind']}{fault}"
            table.add_row(
                str(entry["number"]), plain(entry["time"]), plain(what), plain(files), plain(values)
            )
        console.print(table)
    for problem in report["problems"]:
        line(console, f"the chain is broken: {problem}", bullet="!")


def show_review(report: Report, console: Console) -> None:
    """The verdicts of a review that was taken in."""
    heading(console, f"Review by {report['reviewer']}, {report['time']}")
    for verdict in report["verdicts"]:
        note = f" ({verdict['note']})" if verdict["note"] else ""
        line(console, f"{verdict['verdict']}: {verdict['item']}{note}", bullet="·")


def _show_recovered(report: Report, console: Console) -> None:
    if report.get("recovered"):
        heading(console, "An interrupted run was put in order first")
        for name, value in report["recovered"].items():
            line(console, f"{name}: {value}", bullet="·")


def _show_items(items: Iterable[Report], console: Console, nothing: str = "") -> None:
    shown = False
    for item in items:
        shown = True
        place = f"{item['file']}:{item['line']}" if item.get("line") else item["file"]
        what = f"{item['quantity']}: " if item["quantity"] else ""
        texts = ""
        if item.get("installed") is not None or item.get("present") is not None:
            texts = f"before {item['old']!r}, installed {item['installed']!r}, now {item['present']!r}"
        why = f" – {item['why']}" if item.get("why") else ""
        line(console, f"{place}: {what}{texts}{why}", bullet="·")
    if not shown and nothing:
        line(console, nothing, bullet="·")
