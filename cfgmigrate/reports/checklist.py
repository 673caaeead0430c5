"""checklist.md: the day's order of work, from the last old print to the tuned machine.

The order is the one in which nobody gets hurt and nothing breaks: power off before hands, direction before
filament, limits before speed, measuring before printing. The general steps and cautions stand in
`templates/checklist.md`; this module puts the machine's own values into their places.

It deliberately repeats no derivation: the reasons are in changes.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from cfgmigrate.knowledge.day import place_in_day
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.plan.identity import WHOLE_MACHINE
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.plan.model import Plan
from cfgmigrate.reports import gfm, in_force, overview, wording
from cfgmigrate.reports.card import Card, Cards, cards_of
from cfgmigrate.rules.result import Status
from cfgmigrate.rules.rule import MOMENTS

STOP = (
    "Settle {number}, prepare again, and go on with the new packet; until then what follows here is not safe."
)

OF_A_DRIVE = (
    "work.gear",
    "work.grip",
    "work.guide",
    "work.keep",
    "work.motor",
    "work.pinion",
    "work.wires",
    "feeder.",
)
"""How the rules begin whose step is done at each drive, though it is the same for all and so the whole machine's."""

DIRECTION = "feeder.direction"
"""The rule whose by-hand item is a test of direction, so that the general one is not said again."""


def render_checklist(plan: Plan) -> str:
    """The text of checklist.md."""
    cards = cards_of(plan)
    hands = list(_hands(cards))
    checks = list(_checks(cards, {item.id: item.label for item in plan.by_hand}))
    text = (
        gfm.environment()
        .get_template("checklist_tune.md" if plan.kind == "tune" else "checklist.md")
        .render(
            plan=plan,
            cards=cards,
            sentence=overview.sentence(plan),
            alarms=overview.alarms(cards),
            unknown=[light.name for light in plan.lights if light.state == UNKNOWN],
            named=any(overview.ANSWERED_BY_NAME.search(card.instruction) for card in cards.doubts),
            hands=_in_order(hands),
            values=_values(cards),
            clearance=_clearance(cards),
            load=in_force.steps(plan),
            feeds=any(_belongs(card.quantity, "feeder") for card in cards.changes),
            direction=any(card.rule == DIRECTION for card in cards.by_hand),
            checks=_in_order(checks),
            steps=_in_order([*hands, *checks]),
            tuning=[card for card in cards.changes if _moment(card) == "tuning"],
            no_check="no check is known: compare with the old prints",
        )
    )
    return gfm.tidy(text)


def _moment(card: Card) -> str:
    """When a change is checked, so that nothing is checked after what it protects. An older packet does not say it:
    an estimate is then tuned, and the rest is checked before anything is loaded."""
    usual = "tuning" if card.status == Status.ESTIMATE else "first move"
    return card.check_at if card.check_at in MOMENTS else usual


_Step = tuple[str, str, gfm.Ready]
"""A line of the day: its moment, the rule or quantity that it is about, its text."""


def _in_order(steps: Iterable[_Step]) -> dict[str, list[gfm.Ready]]:
    """The lines of each moment in the order of `day.yaml`; where that says nothing, as they come."""
    found: dict[str, list[_Step]] = {part: [] for part in MOMENTS}
    for step in steps:
        found[step[0]].append(step)
    return {
        part: [text for _, _, text in sorted(lines, key=lambda line: place_in_day(part, line[1]))]
        for part, lines in found.items()
    }


def _checks(cards: Cards, labels: Mapping[str, str]) -> Iterator[_Step]:
    """What is checked at each moment: changes, and steps by hand that can only be checked later than they are done."""
    for card in cards.changes:
        if _moment(card) != "tuning" and card.check:
            text = _check(card, card.title, [*card.warnings, *card.cautions])
            yield _moment(card), card.quantity or card.rule, text
    for card in cards.by_hand:
        if _checked_later(card):
            yield card.check_at, card.rule, _check(card, labels.get(card.key) or card.title, [])


def _checked_later(card: Card) -> bool:
    return bool(card.check) and card.check_at in MOMENTS and card.check_at != card.when


def _check(card: Card, what: str, cautions: list[str]) -> gfm.Ready:
    """A line for a check. `what` names it: a step by hand was told in full where it is done, so here its label does."""
    title = f"**{gfm.escaped(what.removesuffix('.'))}**"
    title += f" ({gfm.escaped(card.new)})" if card.new else ""
    lines = [f"- [ ] {card.number}. Check {title}: {gfm.escaped(card.check)}"]
    lines += [f"    - Caution: {gfm.escaped(text)}" for text in cautions]
    lines.append("    - found: __________")
    return gfm.Ready("\n".join(lines))


def _hands(cards: Cards) -> Iterator[_Step]:
    feeders = sorted({card.holder for card in cards.all if card.holder.startswith("feeder ")})
    for alike in _alike(cards.by_hand):
        card = alike[0]
        yield card.when if card.when in MOMENTS else "power off", card.rule, _hand(alike, feeders)


def _alike(cards: Sequence[Card]) -> list[list[Card]]:
    """Steps that differ in their holder alone are one step of the day; each keeps its number, for it is reviewed."""
    found: dict[tuple[object, ...], list[Card]] = {}
    for card in cards:
        said = card.title, card.new, card.instruction, card.says, card.steps, card.check, card.check_at
        found.setdefault((*said, card.rule, card.when, card.warnings, card.cautions), []).append(card)
    return list(found.values())


def _hand(alike: Sequence[Card], feeders: Sequence[str]) -> gfm.Ready:
    """One by-hand step with its cautions under it, and for whom it is where it is one for several."""
    card = alike[0]
    numbers = ", ".join(each.number for each in alike)
    title = wording.stop(f"{card.title}: {card.new}" if card.new else card.title)
    unusual = "" if card.when in MOMENTS else f"(When: {card.when})"
    holders = [each.holder for each in alike]
    if holders == [WHOLE_MACHINE] and card.rule.startswith(OF_A_DRIVE):
        holders = list(feeders)
    whose = f"(For each of: {', '.join(holders)}.)" if len(holders) > 1 else ""
    said = " ".join(filter(None, [card.instruction, wording.sentence(card.says), whose, unusual]))
    lines = [f"- [ ] {numbers}. **{gfm.escaped(title)}** {gfm.escaped(said)}".rstrip()]
    lines += [f"    {number}. {gfm.escaped(step)}" for number, step in enumerate(card.steps, start=1)]
    lines += [f"    - Warning: {gfm.escaped(text)}" for text in card.warnings]
    lines += [f"    - Caution: {gfm.escaped(text)}" for text in card.cautions]
    if card.check and not _checked_later(card):
        lines.append(f"    - Check: {gfm.escaped(card.check)}")
    if card.rule in _stops():
        lines.append(f"- [ ] **Stop here.** {STOP.format(number=numbers)}")
    return gfm.Ready("\n".join(lines))


def _stops() -> frozenset[str]:
    """The rules whose step has to be done, and the packet prepared again, before the day can go on."""
    return frozenset(rule for kind in light_kinds().kinds for rule in kind.stops)


def _values(cards: Cards) -> gfm.Ready:
    rows = [
        [
            card.number,
            gfm.code_in_table(f"{edit.file}:{edit.line}"),
            card.title,
            gfm.code_in_table(edit.old),
            gfm.code_in_table(edit.new),
        ]
        for card in cards.changes
        for edit in card.edits
    ]
    if not rows:
        return gfm.Ready("(no file changes)")
    return gfm.table(["no.", "where", "what", "was", "becomes"], rows)


def _clearance(cards: Cards) -> list[str]:
    """What to measure while the machine is still without power."""
    return [
        f"Lift the carriage slowly by hand or by its screw to {card.new}: "
        "nothing of the new drive touches the frame, and there is room left."
        for card in cards.changes
        if card.quantity == "axis.z.max"
    ]


def _belongs(quantity: str, family: str) -> bool:
    return quantity.partition(".")[0].rstrip("0123456789") == family
