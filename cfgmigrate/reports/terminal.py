"""A plan in a terminal, on one screen: the lights, what is dangerous or open, every change in a row, what is next.

A person sees first what may break the machine, then what moves, then what to do. What does not fit is told in fewer
words, step by step, and never left out: the packet and `--full` have all of it. The last line repeats what must not
be missed, because that is where the eye is when the command ends.

This module deliberately prints only to the console it is given; how that wraps and colours is in `console.py`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.machine.quantities import present_id
from cfgmigrate.plan.identity import WHOLE_MACHINE
from cfgmigrate.plan.model import Plan
from cfgmigrate.reports import overview, wording
from cfgmigrate.reports.card import Card, Cards, cards_of
from cfgmigrate.reports.card_text import show_card
from cfgmigrate.reports.console import ALARM, MOST_LISTED, heading, line, make_console, print_lines
from cfgmigrate.reports.feeders_called import lights_named
from cfgmigrate.reports.picture_text import pictured
from cfgmigrate.reports.safe_text import inert
from cfgmigrate.reports.screen import ChangeRow, ScreenLine, table, wrapped
from cfgmigrate.rules.result import Status

if TYPE_CHECKING:
    from rich.console import Console

SCREEN = 40
"""So many lines are one screen."""
BRIEFEST = 10
"""The most that is left out to get there: 0 nothing, 7 all but the numbers and what fits beside them, 8 when each step
by hand is due too, 9 the further lines of a value and the titles of what is dangerous, 10 the values that no light and no
warning is about; these are told by their numbers."""
_FEW_VALUES = 3
"""So many values more are told in full also at the briefest."""
WITHOUT_MOMENTS, WITHOUT_PLACES = 8, 9
WARNED = (0, 0, 0, 3, 2, 1, 1, 1, 1, 1, 1)
"""For each brevity so many lines a warning may take; 0 is all that it needs."""
ESTIMATE = "~"

__all__ = [
    "make_console",
    "show_card",
    "show_doubts",
    "show_full",
    "show_plan",
]


def show_plan(plan: Plan, console: Console, following: Sequence[str] = (), room: int = SCREEN) -> None:
    """The plan on one screen, of which `room` lines are left. `following` are the lines that say what is next."""
    print_lines(console, screen(plan, console.width, following, room))


def screen(plan: Plan, width: int, following: Sequence[str] = (), room: int = SCREEN) -> list[ScreenLine]:
    """The lines of that screen: as many words as `room` lines hold, and never less than every number and title."""
    cards = cards_of(plan)
    made: list[ScreenLine] = []
    for brevity in range(BRIEFEST + 1):
        made = list(_screen(plan, cards, width, following, brevity))
        if len(made) <= room:
            break
    return made


def _screen(
    plan: Plan, cards: Cards, width: int, following: Sequence[str], brevity: int
) -> Iterable[ScreenLine]:
    gap = [ScreenLine("")] if brevity == 0 else []
    head = f"{plan.machine or 'This machine'}: {overview.sentence(plan)}"
    yield from _lines(wrapped(head, width, most=1 if brevity >= 5 else 0), "bold")
    if brevity < 3 and (swap := overview.swap_sentence(plan)):
        yield from _lines(wrapped(swap, width, "  "))
    yield from _lights(plan, width, gap, brevity)
    yield from _open(cards, width, gap, brevity)
    yield from _changes(cards, width, gap, brevity)
    yield from _by_hand(cards, width, gap, brevity)
    if following and brevity < WITHOUT_MOMENTS - 1:
        yield from (*gap, ScreenLine("Next (nothing is installed yet)", "bold"))
    yield from (ScreenLine(f"  {inert(text, 0)}") for text in following)
    yield from _lines(wrapped(_not_to_be_missed(plan, cards), width, "! "), ALARM)


def _lines(texts: Iterable[str], style: str = "") -> Iterable[ScreenLine]:
    return (ScreenLine(text, style) for text in texts)


def _lights(plan: Plan, width: int, gap: Sequence[ScreenLine], brevity: int) -> Iterable[ScreenLine]:
    """The lights in one line for each holder; an unknown one with its reason on a line of its own."""
    yield from gap if plan.lights else ()
    every = lights_named(plan)
    for holder in dict.fromkeys(light.holder for light in every):
        lights = [light for light in every if light.holder == holder]
        whose = "" if holder == WHOLE_MACHINE else f" of {holder}"
        told = ", ".join(f"{light.light} {light.state}" for light in lights)
        yield from _lines(wrapped(f"Lights{whose}: {told}", width, "", "  "), "bold")
        for light in lights:
            if light.state == "unknown":
                told = "; ".join((light.why, *light.missing))
                most = max(WARNED[brevity], 2) if WARNED[brevity] else 0
                why = wrapped(f"{light.light} is unknown: {told}", width, "  ! ", most=most)
                yield from _lines(why, ALARM)


def _open(cards: Cards, width: int, gap: Sequence[ScreenLine], brevity: int) -> Iterable[ScreenLine]:
    """What may do damage, and what was not guessed."""
    alarms = overview.alarms(cards)
    if not alarms and not cards.doubts:
        return
    yield from (*gap, ScreenLine("Dangerous or open", "bold"))
    # two warnings of one step that are cut off at the same word are one line here
    told_of = (
        tuple(wrapped(text, width, "  ! ", most=WARNED[brevity]))
        for text in _warnings(alarms, width, brevity)
    )
    for lines_of_it in dict.fromkeys(told_of):
        yield from _lines(lines_of_it, ALARM)
    if brevity < 2:
        for card in cards.doubts[:MOST_LISTED]:
            told = f"{card.number} {card.places[0]}: {card.says}"
            yield from _lines(wrapped(told, width, "  ? ", most=(0, 1)[brevity]))
        return
    if brevity >= WITHOUT_PLACES and cards.doubts:
        files = Counter(card.places[0].partition(":")[0] for card in cards.doubts)
        listed = ", ".join(f"{file} ({many})" for file, many in files.most_common())
        told = f"{_from_to(cards.doubts)}: {wording.count(len(cards.doubts), 'question')} in {listed}"
        yield from _lines(wrapped(told, width, "  ? ", most=3))
        return
    for file, those in groupby(cards.doubts, key=lambda card: card.places[0].partition(":")[0]):
        doubts = list(those)
        lines = ", ".join(
            dict.fromkeys(card.places[0].split(":")[1] for card in doubts if ":" in card.places[0])
        )
        told = f"{_from_to(doubts)}: {wording.count(len(doubts), 'question')} in {file}{':' if lines else ''}{lines}"
        yield from _lines(wrapped(told, width, "  ? ", most=2))


def _warnings(alarms: Iterable[overview.Alarm], width: int, brevity: int) -> Iterable[str]:
    """What may do damage, each with its number. Where room is short what is wrong is told and not the step against it, and
    those of which a line says the same are one."""
    if brevity < WITHOUT_PLACES:
        return [f"{alarm.number} {alarm.about}: {alarm.text}" for alarm in alarms]
    alike: dict[str, list[overview.Alarm]] = {}
    for alarm in alarms:
        alike.setdefault(wrapped(alarm.text, width - 4 * len("  ! "), most=1)[0], []).append(alarm)
    return [f"{', '.join(alarm.number for alarm in those)}: {those[0].text}" for those in alike.values()]


def _by_hand(cards: Cards, width: int, gap: Sequence[ScreenLine], brevity: int) -> Iterable[ScreenLine]:
    """What no file can do. Where room is short, what is told as dangerous already is not told again."""
    above = (
        {number for alarm in overview.alarms(cards) for number in alarm.numbers} if brevity == 5 else set()
    )
    shown = [card for card in cards.by_hand if card.number not in above]
    moments = [(when, list(those)) for when, those in groupby(shown, key=lambda card: card.when)]
    if not shown:
        return
    if brevity >= WITHOUT_MOMENTS:
        yield ScreenLine(f"By hand: {_from_to(cards.by_hand)}, see checklist.md", "bold")
        return
    if brevity == WITHOUT_MOMENTS - 1:
        told = ", ".join(f"{_from_to(those)} {when}" for when, those in moments)
        yield from _lines(wrapped(f"By hand (see checklist.md): {told}", width, "", "  "), "bold")
        return
    yield from (*gap, ScreenLine("By hand", "bold"))
    if brevity == WITHOUT_MOMENTS - 2:
        for when, those in moments:
            titles = "; ".join(card.title.rstrip(".") for card in those)
            yield from _lines(wrapped(f"{_from_to(those)} {when}: {titles}", width, "  ", most=1))
        return
    for card in shown:
        told = f"{card.when}: {card.title}{': ' if card.new else ''}{card.new}"
        yield from _lines(wrapped(told, width, f"  {card.number} ", most=0 if brevity < 2 else 1))


def _changes(cards: Cards, width: int, gap: Sequence[ScreenLine], brevity: int) -> Iterable[ScreenLine]:
    """Every change in a row, by holder; at the briefest what a light or a warning is about, and the others' numbers."""
    if not cards.changes:
        return
    estimates = any(card.status == Status.ESTIMATE for card in cards.changes)
    note = f" ({ESTIMATE} is an estimate: a start, to be tuned)" if estimates else ""
    yield from (*gap, *_lines(wrapped(f"Changes{note}", width, "", "  "), "bold"))
    told = [card for card in cards.changes if brevity < BRIEFEST or card.warnings or _is_lit(card)]
    if len(cards.changes) - len(told) <= _FEW_VALUES:
        told = list(cards.changes)
    for holder in dict.fromkeys(card.holder for card in told):
        if len(cards.holders) > 1:
            yield ScreenLine(f"  {inert(holder)}", "bold")
        rows = [_row(card, brevity) for card in told if card.holder == holder]
        yield from _lines(table(rows, width))
    others = [card.number for card in cards.changes if card not in told]
    if others:
        rest = (
            f"{wording.count(len(others), 'other value')}: {overview.spans(others)}, see changes.md or --full"
        )
        yield from _lines(wrapped(rest, width, "  "))


def _is_lit(card: Card) -> bool:
    return present_id(card.quantity) in {
        value.quantity for kind in light_kinds().kinds for value in kind.values
    }


def _row(card: Card, brevity: int) -> ChangeRow:
    sign = ESTIMATE if card.status == Status.ESTIMATE else ""
    places = card.places
    if brevity >= WITHOUT_PLACES and len(places) > 1:
        places = (f"{places[0]} +{len(places) - 1}",)
    return ChangeRow(card.number, card.title, f"{card.old} → {sign}{card.new}", places)


def _not_to_be_missed(plan: Plan, cards: Cards) -> str:
    """What stands further up and must not be missed, by its numbers."""
    unknown = [light.light for light in plan.lights if light.state == "unknown"]
    alarmed = {number for alarm in overview.alarms(cards) for number in alarm.numbers}
    warned = [card.number for card in cards.all if card.number in alarmed]
    told = [
        f"{', '.join(dict.fromkeys(unknown))} unknown" if unknown else "",
        f"{', '.join(warned)} dangerous" if warned else "",
        f"{_from_to(cards.doubts)} to settle" if cards.doubts else "",
        f"{_from_to(cards.by_hand)} by hand" if cards.by_hand else "",
    ]
    missed = "; ".join(filter(None, told))
    return f"Not to be missed: {missed}." if missed else "Nothing is open."


def _from_to(cards: Sequence[Card]) -> str:
    """`D1 to D5`, or the one number that there is."""
    return cards[0].number if len(cards) == 1 else f"{cards[0].number} to {cards[-1].number}"


def show_full(plan: Plan, console: Console, following: Sequence[str] = ()) -> None:
    """Everything in the plan: the screen, then each card whole, the pictures' numbers, and what was left alone."""
    cards = cards_of(plan)
    heading(console, f"Changes for {plan.machine or 'this machine'}")
    line(console, overview.sentence(plan))
    pairs, rest = overview.swap_table(plan)
    for name, old, new in pairs:
        line(console, f"{name}: {old or '–'} → {new or '–'}", bullet="·")
    for name, text in rest:
        line(console, f"{name}: {text}", bullet="·")
    for card in (*cards.by_hand, *cards.changes):
        show_card(console, card)
    for picture in pictured(plan):
        heading(console, picture.title)
        for name, value in picture.numbers:
            line(console, f"{name}: {value}", bullet="·")
    for card in cards.findings:
        show_card(console, card)
    if plan.left_alone:
        heading(console, "Left alone")
        for left in plan.left_alone:
            line(console, f"{left.quantity}: {left.why}", bullet="-")
    show_doubts(cards.doubts, console)
    if cards.legend:
        console.print()
        line(console, cards.legend)
    console.print()
    show_plan(plan, console, following)


def show_doubts(doubts: Sequence[Card], console: Console) -> None:
    """What was not guessed, with the place and how to settle it."""
    if not doubts:
        return
    heading(console, "Questions: not guessed, to be settled")
    for card in doubts[:MOST_LISTED]:
        line(console, f"{card.number}, {card.places[0]}: {inert(card.title)}", bullet="?")
        line(console, card.says, indent=4)
        if card.instruction:
            line(console, f"to settle it: {card.instruction}", indent=4)
    if len(doubts) > MOST_LISTED:
        line(console, f"and {len(doubts) - MOST_LISTED:,} more; --json has them all", bullet="?")
