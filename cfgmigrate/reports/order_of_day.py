"""The day of the swap as a short list: what is done when, by whom, with links to the cards.

Who stands at the machine with the page alone sees from it what comes first and what is not theirs. How a step is done
stands at its card, and in the checklist, which has every line.

This module deliberately repeats no instruction: a step is told by its label.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.apply.undone_by_hand import leaves_nothing
from cfgmigrate.files.roles import Role
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.knowledge.day import place_in_day, tools_of_day
from cfgmigrate.plan.at_console import STORE_RULE
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.screw_lines import WITH_THE_OLD
from cfgmigrate.reports import overview, wording
from cfgmigrate.reports.card import Card, Cards, Kind
from cfgmigrate.reports.checklist import (
    BY_ITS_SCREW,
    DIRECTION,
    PARTS_ALONE,
    current_open,
    currents_that_fall,
    moment_of,
    rules_that_stop,
)
from cfgmigrate.rules.result import Status

_HANDS, _FILES = "hands", "files"
#: the parts of the day, each with its moments and with what holds there for everybody
_PARTS = (
    ("Before", ("before",), ""),
    ("Switched off, unplugged, cold", ("unplugged",), "Never plug or unplug a motor under power."),
    ("New parts on, still unplugged", ("mounting", "power off"), ""),
    ("New values in", ("after install",), "Where it needs power: a hand at the switch, nothing heated."),
    ("First power", ("before it moves", "power on"), "A hand at the switch, nothing heated but where a step asks for it, no filament."),
    ("First moves", ("x and y homed", "first move"), "Slowly, x and y first, the bed empty, a hand at the switch."),
    ("First loading", ("first loading",), "Hot: the nozzle burns, and gears draw in fingers."),
    ("First print", ("first print",), "Stay beside it; don't feel the motor with a finger."),
    ("Tuning", ("tuning",), ""),
)  # fmt: skip
_AXIS = pattern(r"\b[xyzXYZ]\b")
_OF_FILES = "files."
#: rules whose step is a measurement, though what it finds goes into a file
_MEASURED = ("_measured", ".to_measure", ".masses")
#: rules whose step tests, looks or finds out, and sets nothing
_ONLY_SEEN = frozenset((
    *DIRECTION,
    "protected.first_homing",
    "protected.fault_protection",
    "axis.clearance",
    "probe.not_in_files",
    "motor.filament_heat",
    "filament.flexible",
))  # fmt: skip
#: when nothing is set yet
_BEFORE = ("before", "unplugged")
_SEVERAL = 3
_START = "~"
STOP_HERE = " (stop here until it is settled and prepared again)"
"""What is said of a step without which nothing that follows is safe."""


class DayTask(Struct, frozen=True):
    """One thing that is done or looked at: the numbers of its cards, and what it is in few words."""

    numbers: tuple[str, ...]
    label: str


class DayStep(Struct, frozen=True):
    """A part of the day: what holds there, and who does what, as (who, in words, tasks)."""

    title: str
    mind: str
    parts: tuple[tuple[str, str, tuple[DayTask, ...]], ...]

    @property
    def who(self) -> str:
        """Whose part of the day it is."""
        return wording.in_a_row(dict.fromkeys(who for who, _, _ in self.parts))


def order_of_day(plan: Plan, cards: Cards) -> list[DayStep]:
    """The parts of the day that have something to do; [] for a packet of measurements, for which nothing is mounted."""
    if plan.kind == "tune":
        return []
    labels = {item.id: item.label for item in plan.by_hand}
    steps = [
        DayStep(title, mind, tuple(_parts(title, moments, plan, cards, labels)))
        for title, moments, mind in _PARTS
    ]
    return [step for step in steps if step.parts]


def by_files(cards: Cards) -> list[Card]:
    """The steps by hand that are work on files, and so of whoever has them."""
    return [card for card in cards.by_hand if _is_of_files(card)]


def undone_by_hands(cards: Cards) -> list[Card]:
    """The steps of whoever stands at the machine that are undone when the old parts go on again. A screw is not among them:
    it is read with power, see `screws_back`."""
    return [
        card
        for card in cards.by_hand
        if card.when not in _BEFORE
        and card.rule not in (*_ONLY_SEEN, BY_ITS_SCREW)
        and not (_is_of_files(card) or card.rule.endswith(_MEASURED) or leaves_nothing(card.rule))
    ]


def screws_back(cards: Cards) -> list[tuple[str, str]]:
    """The steps that turn a screw, each with the voltage that it goes back to."""
    return [
        (
            card.number,
            next(
                (
                    step.removeprefix(WITH_THE_OLD).partition(",")[0]
                    for step in card.steps
                    if step.startswith(WITH_THE_OLD)
                ),
                "what it was",
            ),
        )
        for card in cards.by_hand
        if card.rule == BY_ITS_SCREW
    ]


def tools(cards: Cards) -> list[DayTask]:
    """What is measured with, and for which cards."""
    found = []
    for tool, words in tools_of_day().items():
        asked = [card for card in (*cards.by_hand, *cards.changes) if _asks_for(card, words)]
        if asked:
            found.append(DayTask(tuple(card.number for card in asked), tool))
    return found


def left_to_others(plan: Plan) -> str:
    """The files of another machine, which stay as they are; "" where none lies beside."""
    found = [file.path for file in plan.left_out if file.role == Role.OTHER]
    if not found:
        return ""
    if len(found) > _SEVERAL:
        return f"{len(found)} files of other machines"
    return f"{wording.in_a_row(found)}, of another machine"


def what_moved(plan: Plan) -> list[str]:
    """Where nozzle and probe sit now, against where they sat: `the probe 2 mm lower`."""
    said = dict(plan.swap)
    found = []
    for name in ("nozzle", "probe"):
        ways = [_way(axis, said.get(f"carriage.{name}_shift.{axis}", "")) for axis in "xyz"]
        if any(ways):
            found.append(f"the {name} {wording.in_a_row(filter(None, ways))}")
    return found


def _way(axis: str, text: str) -> str:
    amount = text.lstrip("-\u2212").strip()
    if not any(digit in amount.split(" ")[0] for digit in "123456789"):
        return ""
    back = amount != text.strip()
    if axis == "z":
        return f"{amount} {'lower' if back else 'higher'}"
    return f"{amount} to {'lower' if back else 'higher'} {axis}"


def _parts(
    title: str, moments: Sequence[str], plan: Plan, cards: Cards, labels: Mapping[str, str]
) -> Iterator[tuple[str, str, tuple[DayTask, ...]]]:
    """What each side does in one part of the day: the files before the hands, who wait for them."""
    files = [card for card in by_files(cards) if _done_at(card) in moments]
    done = [card for card in cards.by_hand if card.when in moments and not _is_of_files(card)]
    looked = [
        card
        for card in (*cards.by_hand, *cards.changes)
        if card.check and _seen_at(card) in moments and card not in done
    ]
    yield from ((_FILES, text, ()) for text in _of_files(title, plan, cards))
    if files:
        yield _FILES, "by hand", tuple(_stopping(_tasks(files, labels), cards))
    yield from ((_HANDS, text, ()) for text in _of_hands(title, plan, cards))
    if screws := [card for card in done if card.rule == BY_ITS_SCREW]:
        done = [card for card in done if card.rule != BY_ITS_SCREW]
        yield _HANDS, "with the new motor's plug still out", tuple(_tasks(screws, labels))
        yield _HANDS, "then off, unplugged and dark: the plug in", ()
    if done:
        yield _HANDS, "", tuple(_stopping(_tasks(_in_order(done), labels), cards))
    if looked:
        words = "find the values that are only a start:" if title == "Tuning" else "check"
        yield _HANDS, words, tuple(_tasks(_in_order(looked), labels))


def _stopping(tasks: Iterable[DayTask], cards: Cards) -> Iterator[DayTask]:
    """The tasks, each with whether the day stops at it, as the checklist has it."""
    stops = rules_that_stop()
    stopping = {card.number for card in cards.by_hand if card.rule in stops}
    for task in tasks:
        yield replace(task, label=f"{task.label}{STOP_HERE}") if stopping.intersection(task.numbers) else task


def _of_files(title: str, plan: Plan, cards: Cards) -> Iterator[str]:
    """What no card tells whoever has the files."""
    if title == "Before" and (unknown := [light.name for light in plan.lights if light.state == UNKNOWN]):
        yield f"stop here until what install would refuse is settled: {wording.in_a_row(unknown)}"
    if title == "Before" and cards.doubts:
        yield f"settle {overview.spans([card.number for card in cards.doubts])} and prepare again"
    if title == "New values in" and cards.changes:
        yield f"install {overview.spans([card.number for card in cards.changes])}, and send them to the machine"


def _of_hands(title: str, plan: Plan, cards: Cards) -> Iterator[str]:
    """What no card tells whoever stands at the machine."""
    fall = [number for number, _ in currents_that_fall(plan, cards)]
    open_at = current_open(plan, cards)
    screw = any(card.rule == BY_ITS_SCREW for card in cards.by_hand)
    whole = all(card.rule != PARTS_ALONE for card in cards.by_hand)
    if title == "Before" and screw:
        asks = overview.spans([card.number for card in cards.by_hand if card.rule == BY_ITS_SCREW])
        yield (
            f"while all is as it was, read the voltage at the screw of the feeder's driver by steps 1 to 4 of {asks} and note it; where it is "
            "more than asked for there, turn it down by steps 5 and 6"
        )
    elif title.startswith("Switched off"):
        yield "the old drive off, in one piece" if whole else "what is replaced off, and no more"
    elif title.startswith("New parts"):
        plug = ", but not its motor's plug" if fall or open_at or screw else ""
        yield f"the new {'drive' if whole else 'parts'} on{plug}"
        if moved := what_moved(plan):
            yield f"see with a ruler: {'; '.join(moved)} than before"
    elif title.startswith("New values"):
        if open_at:
            yield f"leave the new motor's plug out until its current is known and set{open_at}"
        if cards.changes:
            yield "where the machine shows its settings, compare them with the values below"
        if fall and not screw and not open_at:
            yield f"then off, unplugged and dark: the new motor's plug in ({', '.join(fall)} is lower now)"


def _done_at(card: Card) -> str:
    """When a step by hand is done. No file is written once the machine has power, and a board stores nothing before."""
    early = _is_of_files(card) and card.when == "before it moves" and card.rule != STORE_RULE
    return "after install" if early else card.when


def _is_of_files(card: Card) -> bool:
    return card.kind is Kind.BY_HAND and (
        card.rule.startswith(_OF_FILES)
        or (card.when == "after install" and not card.rule.endswith(_MEASURED))
    )


def _seen_at(card: Card) -> str:
    """When a card is checked; a step by hand that is checked where it is done is not told twice."""
    if card.kind is Kind.BY_HAND:
        return card.check_at if card.check_at not in (card.when, "mounting", "power off") else ""
    return moment_of(card)


def _in_order(cards: Iterable[Card]) -> list[Card]:
    moments = [moment for _, several, _ in _PARTS for moment in several]

    def key(card: Card) -> tuple[int, int]:
        at = card.when if card.kind is Kind.BY_HAND and not card.check_at else _seen_at(card) or card.when
        return moments.index(at) if at in moments else 0, place_in_day(at, card.quantity or card.rule)

    return sorted(cards, key=key)


def _tasks(cards: Iterable[Card], labels: Mapping[str, str]) -> Iterator[DayTask]:
    """Cards that are about the same thing, on whatever axis and of whatever filament, as one, with the values that there are."""
    alike: dict[str, dict[str, list[Card]]] = {}
    for card in cards:
        label = labels.get(card.key) or card.title.rstrip(".")
        axis = _AXIS.search(label)
        found = alike.setdefault(_AXIS.sub("@", label, count=1), {})
        found.setdefault(axis[0].lower() if axis else "", []).append(card)
    for label, by_axis in alike.items():
        one_each = all(len(several) == 1 or not _values(several) for several in by_axis.values())
        together = [tuple(by_axis)] if one_each else [(axis,) for axis in by_axis]
        for axes in together:
            several = [card for axis in axes for card in by_axis[axis]]
            named = _small(label.replace("@", wording.in_a_row(axes)))
            yield DayTask(
                tuple(card.number for card in several), " ".join(filter(None, [named, _values(several)]))
            )


def _values(cards: Sequence[Card]) -> str:
    """What changes become, a start with its mark; of one value also what to try."""
    signed = [
        (
            f"{_START if card.status == Status.ESTIMATE else ''}{card.new}",
            card.range.partition(" in steps")[0],
        )
        for card in cards
        if card.kind is Kind.CHANGE
    ]
    if len(set(signed)) == 1:
        (value, worth), *_ = signed
        return f"{value} (try {worth})" if worth else value
    return ", ".join(value for value, _ in signed)


def _small(label: str) -> str:
    return f"{label[:1].lower()}{label[1:]}" if label[1:2].islower() else label


def _asks_for(card: Card, words: Iterable[str]) -> bool:
    text = " ".join((card.instruction, *card.steps, card.check)).lower()
    return any(word in text for word in words)
