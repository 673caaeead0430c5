"""A machine's status on one screen: what is in force, what is open, what is next. The JSON has all of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from cfgmigrate.apply.asked_machine import sentences_of_others, told_of_below, told_of_several
from cfgmigrate.ground.number_text import MINUS, with_unit
from cfgmigrate.reports.feeders_called import named
from cfgmigrate.reports.screen import ScreenLine, wrapped
from cfgmigrate.reports.wording import capital, count

#: so many of one list are shown
MOST = 5


def status_lines(said: Mapping[str, Any], width: int) -> list[ScreenLine]:
    """The lines of a status (its JSON) for a screen of that width."""
    called = said.get("called", {})
    lines = [ScreenLine(line) for line in _lines(_named(said, called), width)]
    return [*lines, ScreenLine(f"Next: {said['next']}", "bold")]


def _lines(said: Mapping[str, Any], width: int) -> Iterator[str]:
    for problem in said["problems"]:
        yield from wrapped(f"The history is broken: {problem}", width, "! ")
    if not said["in_force"]:
        untold = "What is in force here can't be told from it."
        yield untold if said["problems"] else "Nothing that this program installed is in force here."
    for entry in said["in_force"]:
        values = count(entry["values"], "value")
        text = f"In force: {entry['kind']} {entry['entry']} of {entry['time'][:10]}, {values}, packet {entry['packet'][:12]}"
        yield from wrapped(text, width, others="  ")
    for text in told_beside(said):
        yield from wrapped(text, width, "! ", most=4)
    for each in said["changed"]:
        yield from wrapped(f"Not as installed: {not_as_installed(each)}", width, "! ", most=2)
    bad = [each for each in said["lights"] if each["state"] == "unknown"]
    good = [each for each in said["lights"] if each not in bad]
    for each in bad:
        yield from wrapped(f"{_name(each)} is unknown: {each['why']}", width, "! ", most=2)
    if good:
        listed = ", ".join(f"{_name(each)} {each['state']}" for each in good)
        title = "Lights" if said["in_force"] else "Lights, once what the sheet asks for is installed"
        yield from wrapped(f"{title}: {listed}", width, others="  ", most=3)
    yield from _listed("Undo by hand", [_hand(each) for each in said["by_hand"] if each["undo"]], width)
    left = [_hand(each) for each in said["by_hand"] if not each["done"] and not each["undo"]]
    yield from _listed("By hand, still open", left, width)
    estimates = [
        f"{capital(each['label'])}{_of(each)}: {with_unit(each['new'].replace('-', MINUS), each['unit'])}"
        for each in said["estimates"]
    ]
    yield from _listed("Still estimates", estimates, width)
    yield from _listed("To be surer", [each["why"] for each in said["surer"]], width)


def told_beside(said: Mapping[str, Any]) -> tuple[str, ...]:
    """What a status says of other machines that share the history, or have their own below."""
    several = said.get("several")
    told = (told_of_several(several),) if several else ()
    below = (f"{told_of_below(said['below'])}.",) if said.get("below") else ()
    return (*below, *told, *sentences_of_others(said.get("others", ())))


def _named(said: Any, called: Mapping[str, str]) -> Any:
    """A status with what the files call its feeders."""
    if isinstance(said, str):
        return named(said, called)
    if isinstance(said, Mapping):
        return {name: _named(value, called) if name != "called" else value for name, value in said.items()}
    return [_named(each, called) for each in said] if isinstance(said, (list, tuple)) else said


def not_as_installed(each: Mapping[str, str]) -> str:
    """What became of an installed value that does not count any more."""
    if not each["now"]:
        return f"{each['label']} is not found any more in {each['where']}, where {each['installed']} was installed"
    return f"{each['label']} is {each['now']} ({each['where']}), and {each['installed']} was installed"


def _name(light: Mapping[str, str]) -> str:
    return f"{light['light']}{_of(light)}"


def _of(each: Mapping[str, Any]) -> str:
    holder = each.get("holder") or "machine"
    return "" if holder == "machine" else f" of {holder}"


def _hand(item: Mapping[str, Any]) -> str:
    return f"[{item['number']}] {item['what']}"


def _listed(title: str, items: Sequence[str], width: int) -> Iterator[str]:
    if not items:
        return
    yield f"{title} ({len(items)}):" if len(items) > 1 else f"{title}:"
    for item in items[:MOST]:
        yield from wrapped(item, width, "  - ", most=2)
    if len(items) > MOST:
        yield f"  and {len(items) - MOST} more (--json has all)"
