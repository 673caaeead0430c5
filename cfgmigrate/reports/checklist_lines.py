"""The lines of the checklist: one thing, one line, and nothing twice.

A person reads this list beside the machine, so a reason is left to changes.md, and what several lines share is said once:
a caution of several things stands at the head of its part, checks in the same words are one check of all of them, and
remarks to look through are listed by their places. No caution and no value is lost by that.

Which line comes when is said in `checklist.py`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.ground.findings import by_file
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.plan.feeds_left import FEEDS_TOO
from cfgmigrate.plan.identity import WHOLE_MACHINE
from cfgmigrate.plan.lines_left import LINES_LEFT, OF_A_REMARK
from cfgmigrate.reports import gfm, wording
from cfgmigrate.reports.card import Card
from cfgmigrate.rules.rule import MOMENTS

NO_CHECK = "no check is known: compare with the old prints"
#: characters from which a text is long
LONG = 120
_AXIS = pattern(r"\b[xyz]\b")
#: where a person at the machine writes what somebody else is told, who has the files
FOUND = "found: ____"
_FOR_THE_SHEET = pattern(r"\bin (?:the|your) sheet\b")
#: moments that are one part of the day
_PARTS = {"power on": "before it moves", "first move": "x and y homed"}


class DayLine(Struct, frozen=True):
    """One thing of the day: its moment, the rule or quantity that it is about, its cards' numbers, its own lines without
    the cautions, what else must stand with it, and its cautions."""

    moment: str
    about: str
    numbers: tuple[str, ...]
    text: str
    below: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    #: a further line of its own behind it
    behind: str = ""

    @property
    def part(self) -> str:
        return _PARTS.get(self.moment, self.moment)


def written(line: DayLine, shared: Collection[str] = ()) -> gfm.Ready:
    """A line with what stands below it; without the cautions that its part says at its head."""
    own = [f"    - Caution: {gfm.escaped(text)}" for text in line.cautions if text not in shared]
    return gfm.Ready("\n".join(filter(None, [line.text, *line.below, *own, line.behind])))


def shared_cautions(lines: Iterable[DayLine]) -> dict[str, dict[str, tuple[str, ...]]]:
    """For each part the cautions of more than one of its lines, each with the numbers that it is for."""
    found: dict[str, dict[str, list[DayLine]]] = {}
    for line in lines:
        for text in dict.fromkeys(line.cautions):
            found.setdefault(line.part, {}).setdefault(text, []).append(line)
    return {
        part: {
            text: tuple(number for line in several for number in line.numbers)
            for text, several in texts.items()
            if len(several) > 1
        }
        for part, texts in found.items()
    }


def heads(shared: Mapping[str, tuple[str, ...]]) -> list[gfm.Ready]:
    """What a part says at its head."""
    return [
        gfm.Ready(f"**Caution** for {', '.join(numbers)}: {gfm.escaped(text)}")
        for text, numbers in shared.items()
    ]


def check_lines(checks: Iterable[tuple[str, Card, str, tuple[str, ...]]]) -> Iterator[DayLine]:
    """Checks, each with its moment, card, what it is of, and cautions: those in the same words are one."""
    alike: dict[tuple[str, str, str, tuple[str, ...]], list[tuple[Card, str]]] = {}
    for moment, card, what, cautions in checks:
        about = (card.quantity or card.rule).rpartition(".")[2] if card.quantity else card.rule
        alike.setdefault((moment, about, card.check, cautions), []).append((card, what))
    for (moment, _, check, cautions), several in alike.items():
        titles = ", ".join(_titles(several))
        numbers = tuple(card.number for card, _ in several)
        first = several[0][0]
        yield DayLine(
            moment,
            first.quantity or first.rule,
            numbers,
            f"- [ ] {', '.join(numbers)}. Check {titles}: {gfm.escaped(check)} {FOUND}",
            cautions=cautions,
        )


def _titles(several: Sequence[tuple[Card, str]]) -> Iterator[str]:
    """What a check is of, each thing once: with its value, and with whose that is where several have one. A step by hand was
    told in full where it is done, so here its label does."""
    by_title: dict[str, list[Card]] = {}
    for card, what in several:
        by_title.setdefault(what.removesuffix("."), []).append(card)
    for title, cards in by_title.items():
        values = [f"{card.holder}: {card.new}" if len(cards) > 1 and card.new else card.new for card in cards]
        told = "; ".join(dict.fromkeys(filter(None, values)))
        yield f"**{gfm.escaped(title)}**{f' ({gfm.escaped(told)})' if told else ''}"


def hand_line(
    alike: Sequence[Card],
    holders: Sequence[str],
    later: bool,
    stop: str,
    said_before: SaidBefore,
) -> DayLine:
    """One by-hand step, and for whom it is where it is one for several. `later`
    is whether its check comes at another moment, `stop` what stands behind it, and `said_before` what other steps say."""
    card = alike[0]
    numbers = tuple(each.number for each in alike)
    title = wording.stop(f"{card.title}: {card.new}" if card.new else card.title)
    unusual = "" if card.when in MOMENTS else f"(When: {card.when})"
    each = "each of: " if len(holders) > 1 else ""
    whose = f"(For {each}{', '.join(holders)}.)" if holders and holders != [WHOLE_MACHINE] else ""
    reason = "" if card.instruction or card.steps or card.check else wording.sentence(card.says)
    said = " ".join(filter(None, [card.instruction, reason, whose, unusual]))
    below = [
        f"    {number}. {gfm.escaped(said_before.once(numbers[0], f'step {number}', step))}"
        for number, step in enumerate(_steps(card), start=1)
    ]
    below += [f"    - Warning: {gfm.escaped(text)}" for text in card.warnings]
    told = FOUND if _FOR_THE_SHEET.search(f"{title} {said}") else ""
    if card.check and not later:
        below.append(f"    - Check: {gfm.escaped(card.check)}{'' if told else f' {FOUND}'}")
    return DayLine(
        card.when if card.when in MOMENTS else "power off",
        card.rule,
        numbers,
        " ".join(
            filter(None, [f"- [ ] {', '.join(numbers)}. **{gfm.escaped(title)}**", gfm.escaped(said), told])
        ),
        tuple(below),
        card.cautions,
        stop,
    )


def _steps(card: Card) -> tuple[str, ...]:
    """The steps; of lines to be looked through those that say nothing of their own by their places."""
    if card.rule != LINES_LEFT:
        return card.steps
    by_why: dict[str, list[str]] = {}
    for step in card.steps:
        text, _, why = step.removesuffix(")").rpartition(" (") if step.endswith(")") else (step, "", "")
        by_why.setdefault(why, []).append(text)
    found: list[str] = []
    for why, texts in by_why.items():
        if not why:
            found += texts
        elif why in (OF_A_REMARK, FEEDS_TOO):
            found.append(f"{_places(texts)} ({why})")
        else:
            found.append(f"{'; '.join(texts)} ({why})")
    return tuple(found)


def _places(texts: Iterable[str]) -> str:
    """Lines by their places alone: `drive.conf:4, 35; park.nc:7`."""
    places = (text.partition(": ")[0].rpartition(":") for text in texts)
    return by_file((file, line) for file, _, line in places)


class SaidBefore:
    """The long texts of a list, by what they say of whatever axis: said again for another, one is pointed to."""

    def __init__(self) -> None:
        self._said: dict[str, tuple[str, str]] = {}

    def once(self, number: str, what: str, text: str) -> str:
        """The text, or where it stands already and for which axis it holds here. `what` is what it is called there."""
        axes = sorted(set(_AXIS.findall(text)))
        if len(text) < LONG or len(axes) > 1:
            return text
        at = self._said.setdefault(_AXIS.sub("@", text), (number, what))
        if at[0] == number:
            return text
        return f"As {at[1]} of {at[0]}{f', for {axes[0]}' if axes else ''}."


def tuning_lines(cards: Iterable[Card]) -> Iterator[DayLine]:
    """Values to be tuned; those that are tuned in the same words are one line, with where each begins."""
    alike: dict[tuple[object, ...], list[Card]] = {}
    for card in cards:
        alike.setdefault((card.title, card.check, card.warnings, card.cautions), []).append(card)
    for several in alike.values():
        first, numbers = several[0], tuple(card.number for card in several)
        starts = [f"starts at {card.new}{f', try {card.range}' if card.range else ''}" for card in several]
        check = gfm.escaped(first.check or NO_CHECK)
        alone = len(several) == 1
        begins = f" ({gfm.escaped(starts[0])})" if alone else ""
        text = f"- [ ] {', '.join(numbers)}. **{gfm.escaped(first.title)}**{begins}: {check}"
        below = [
            f"    - {card.number}{'' if card.holder == WHOLE_MACHINE else f', {gfm.escaped(card.holder)}'}: "
            f"{gfm.escaped(start)}. best: ____"
            for card, start in zip(several, starts, strict=True)
        ]
        yield DayLine(
            "tuning",
            first.quantity,
            numbers,
            f"{text} best: ____" if alone else text,
            () if alone else tuple(below),
            (*first.warnings, *first.cautions),
        )
