"""What install, revert and the history have to say, in a terminal.

Each function takes a report's `to_json()` and prints only to the console it is given. What was done comes
first, what was not done and why comes after it, and how to go on comes last.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from cfgmigrate.apply.asked_machine import sentences_of_others, told_of_below
from cfgmigrate.apply.file_revert import KEPT_AS_ASKED, NOT_ASKED_FOR, in_full
from cfgmigrate.apply.going_back import ANSWERS, TO_THE_LETTER
from cfgmigrate.apply.made_for_the_new import how_many_asked
from cfgmigrate.reports.console import heading, line
from cfgmigrate.reports.feeders_called import named
from cfgmigrate.reports.safe_text import shell_word

if TYPE_CHECKING:
    from rich.console import Console

Report = Mapping[str, Any]


def show_install(report: Report, console: Console, *, dry_run: bool, packet: str) -> None:
    """What an install did, or with a dry run would do."""
    _show_recovered(report, console)
    if report["already"]:
        heading(console, "Nothing to do: the files already hold the new values")
    elif not report["files"]:
        heading(console, "Nothing to install: the packet changes no file")
    else:
        heading(console, "Would be installed" if dry_run else "Installed")
    for file in report["files"]:
        line(console, file, bullet="·")
    if report["installed"]:
        values = "; ".join(map(in_words, report["installed"]))
        line(console, f"values: {named(values, report.get('called', {}))}")
    if report["held"]:
        heading(console, "Held back")
        for held in report["held"]:
            line(console, f"{held.get('id', held['quantity'])}: {held['why']}", bullet="-")
    for note in report["notes"]:
        line(console, note, bullet="!")
    if report["written"]:
        line(console, f"entry {report['entry']} of the history at {report['root']}")
        line(console, "Load the files into the machine again before you move anything.")
        line(console, f"the day's work in order, with what you do by hand: {packet}/checklist.md")
        line(console, f"revert: cfgmigrate revert {shell_word(packet)}")


def show_revert(report: Report, console: Console, *, dry_run: bool) -> None:
    """What a revert restored, kept and left."""
    _show_recovered(report, console)
    heading(console, reverted_heading(report, dry_run=dry_run))
    _show_items(report["restored"], console, _restored, report.get("called", {}))
    if not report["restored"] and report["conflicts"]:
        line(console, "nothing", bullet="·")
    if report["kept"]:
        heading(console, kept_heading(report))
        _show_items(report["kept"], console, _stays)
    if report["left"]:
        heading(console, "Left as they are")
        _show_items(report["left"], console, _stays)
    if report["conflicts"]:
        heading(console, "Conflicts: nothing is written until you answer each")
        _show_items(report["conflicts"], console, _conflict)
        line(console, answers_to(report["conflicts"]))
    if report.get("taken_out", ()):
        heading(console, taken_out_heading(report))
        _show_items(report.get("taken_out", ()), console, _stays)
    elif report["kept"] or report["conflicts"]:
        line(console, f"{TO_THE_LETTER}.")
    if report["by_hand"]:
        heading(console, "Done by hand: no file holds these, so undo by hand the ones you did")
        for what in report["by_hand"]:
            line(console, named(what, report.get("called", {})), bullet="-")
    for note in report["notes"]:
        line(console, note, bullet="!")
    if report["written"]:
        line(console, f"entry {report['entry']} of the history at {report['root']}")
        line(console, "Load the files into the machine again before you move anything.")
    if asked := how_many_asked(report["notes"]):
        line(console, asked, bullet="!")


def reverted_heading(report: Report, *, dry_run: bool) -> str:
    """The heading over what a revert gives back: where nothing is there to give back, that says so."""
    if not (report["restored"] or report["conflicts"] or report.get("taken_out", ())):
        asked = any(
            item["why"] in (KEPT_AS_ASKED, NOT_ASKED_FOR)
            for item in (*report.get("kept", ()), *report.get("left", ()))
        )
        return "Nothing reverted, as you asked" if asked else "Nothing to revert"
    return "Would be reverted" if dry_run else "Reverted"


def kept_heading(report: Report) -> str:
    """What is said over what stays: values that were to be kept, edits made since, or both."""
    values = sum(bool(item["quantity"]) for item in report["kept"])
    if not values:
        return "Kept: edits made since"
    return (
        "Kept, as you asked" if values == len(report["kept"]) else "Kept, as you asked, and edits made since"
    )


def answers_to(conflicts: Iterable[Report]) -> str:
    """How conflicts are answered, with the names to type."""
    return f"{ANSWERS}; in full: {in_full(item.get('typed') or item.get('id', item['quantity']) for item in conflicts)}"


def taken_out_heading(report: Report) -> str:
    """What is said over the edits that went with the files, and where these are with them."""
    where = f"; the files with them are in {report['beside']}" if report.get("beside") else ""
    return f"Taken out: edits made since{where}"


def show_history(report: Report, console: Console) -> None:
    """The entries, oldest first, and what is wrong with the chain."""
    if not report["entries"]:
        line(console, "Nothing was installed or reverted here.", indent=0)
    if report.get("below"):
        line(console, f"{told_of_below(report['below'])}.", bullet="!")
    for entry in report["entries"]:
        fault = f" ({entry['problem']})" if entry.get("problem") else ""
        if done := (entry.get("reasons") or {}).get("done"):
            line(console, f"by hand: {'; '.join(done)}")
            continue
        files = ", ".join(str(file.get("path", file)) for file in entry["files"])
        line(console, f"{entry['number']}. {entry['time']}: {entry['kind']}{fault}", indent=0, style="bold")
        line(console, f"files: {files}")
        values = "; ".join(
            f"{in_words(name)} {old} → {new}" for name, old, new in dict.fromkeys(map(tuple, entry["values"]))
        )
        line(console, f"values: {named(values, (entry.get('reasons') or {}).get('called') or {})}")
    for text in sentences_of_others(report.get("others", ())):
        line(console, text, bullet="!")
    for problem in report["problems"]:
        line(console, f"the chain is broken: {problem}", bullet="!")


def _show_recovered(report: Report, console: Console) -> None:
    if report.get("recovered"):
        heading(console, "An interrupted run was put in order first")
        for name, value in report["recovered"].items():
            line(console, f"{name}: {value}", bullet="·")


def _show_items(
    items: Iterable[Report],
    console: Console,
    tell: Callable[[Report], str],
    called: Mapping[str, str] = MappingProxyType({}),
) -> None:
    for item in items:
        line(console, named(_placed(item, tell), called), bullet="·")


def restored_line(item: Report) -> str:
    """`feed.txt:7: Feeder steps per mm: 775 → 185.2`."""
    return _placed(item, _restored)


def in_words(name: str) -> str:
    """A value's name as people call it: `Retraction length, print fine`. What they have to answer by its name keeps that."""
    from cfgmigrate.machine.quantities import known, quantity
    from cfgmigrate.plan.identity import WHOLE_MACHINE, parts_of
    from cfgmigrate.reports.wording import capital

    what, holder = parts_of(name)
    label = capital(quantity(what).label) if known(what) else what
    return label if holder == WHOLE_MACHINE else f"{label}, {holder}"


def stays_line(item: Report) -> str:
    """What was not put back, as it is now, and why."""
    return _placed(item, _stays)


def conflict_line(item: Report) -> str:
    """What a person has to decide on, with the three values."""
    return _placed(item, _conflict)


def _placed(item: Report, tell: Callable[[Report], str]) -> str:
    place = f"{item['file']}:{item['line']}" if item.get("line") else item["file"]
    name = item.get("id", item["quantity"])
    told = in_words(name) if tell is _restored else name
    what = f"{told}: {tell(item)}" if item["quantity"] else _edited(item)
    return f"{place}: {what}"


def _restored(item: Report) -> str:
    """From what stood there to what it is again. A file that came back whole tells only that."""
    if item["present"] is None:
        return str(item["why"])
    forced = (
        f", {item['why']} (installed: {item['installed']})" if item["present"] != item["installed"] else ""
    )
    return f"{item['present']} → {item['old']}{forced}"


def _stays(item: Report) -> str:
    now = "not found" if item["present"] is None else f"stays {item['present']}"
    return f"{now} (before: {item['old']}, installed: {item['installed']}); {item['why']}"


def _conflict(item: Report) -> str:
    now = "" if item["present"] is None else f", now: {item['present']}"
    return f"before: {item['old']}, installed: {item['installed']}{now}; {item['why']}"


def _edited(item: Report) -> str:
    """Lines that somebody edited, as they were left and as they are; or that the whole file went."""
    if item["present"] is None:
        return "the file was taken away"
    left, now = item["installed"].rstrip("\r\n"), item["present"].rstrip("\r\n")
    if not left:
        return f"added: {now!r}"
    return f"was {left!r}, is {now!r}" if now else f"taken out: {left!r}"
