"""checklist.md: the day's order of work, from the last old print to the tuned machine.

The order is the one in which nobody gets hurt and nothing breaks: power off before hands, direction before
filament, limits before speed, measuring before printing. The general steps and cautions stand in
`templates/checklist.md`; this module puts the machine's own values into their places. How a line is worded is in
`checklist_lines.py`.

It deliberately repeats no derivation: the reasons are in changes.md.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.apply.other_readers import told_before_install, told_before_revert
from cfgmigrate.knowledge.day import place_in_day
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.plan.identity import WHOLE_MACHINE
from cfgmigrate.plan.lights import UNAFFECTED, UNKNOWN
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.old_numbers import TO_HAVE
from cfgmigrate.reports import gfm, in_force, overview
from cfgmigrate.reports.card import Card, Cards, cards_of, in_order
from cfgmigrate.reports.checklist_lines import (
    NO_CHECK,
    DayLine,
    SaidBefore,
    check_lines,
    hand_line,
    heads,
    shared_cautions,
    tuning_lines,
    written,
)
from cfgmigrate.reports.feeders_called import lights_named
from cfgmigrate.reports.wording import in_a_row
from cfgmigrate.rules.result import Status
from cfgmigrate.rules.rule import MOMENTS

STOP = (
    "Settle {number}, prepare again, and go on with the new packet; until then what follows here is not safe. "
    "Without the computer the work ends here: hand back what was found so far."
)

NOT_TO_HOME = (
    "Where {number} could not be settled, **stop here**: {axis} is not to be homed, so nothing of part 7 or later is done. "
    "Ask whoever prepared this packet."
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

#: so many lines of a file that was left out are shown; changes.md has the others
LEFT_OUT_LINES = 3
#: characters of a title at the top
MOST_OF_A_TITLE = 60
PARTS_ALONE = "work.keep_parts"
"""The rule whose by-hand item says that the drive stays, and only parts of it come off."""
DIRECTION = ("feeder.direction", "feeder.sense")
"""The rules whose by-hand item is a test of direction, so that the general one is not said again."""
WRONG_WAY = (
    "If the gear turns the wrong way: don't swap wires under power. Reverse the direction in the configuration, or switch off"
    " and pull the plug before you touch the motor's wires."
)
"""What is done where a test of direction fails; it stands under the test."""
CURRENT_OPEN = ("motor.current_to_set", "motor.too_hot")
"""The rules whose by-hand item says that the new motor's current is not to be set yet."""
STOP_DOUBTED = {"axis.x.stop_doubt": "x", "axis.y.stop_doubt": "y"}
"""The rules whose by-hand item says that an axis is not to be homed before it is known where its end stop acts."""
MOUNT = "motor.mount_limit"
"""The rule that says how hot the motor's mount may get."""
FILAMENT = "path.filament_softens"
"""The rule that says from when the filament softens, which goes along a gear on the motor's shaft."""
BY_ITS_SCREW = "motor.reference_voltage"
"""The rule whose by-hand item says what to turn the driver's screw to."""


def render_checklist(plan: Plan) -> str:
    """The text of checklist.md."""
    cards = cards_of(plan)
    tune = plan.kind == "tune"
    alarms = overview.alarms(cards)
    hands = list(_hands(cards))
    checks = list(check_lines(_checks(cards, {item.id: item.label for item in plan.by_hand})))
    tuned = [card for card in cards.changes if moment_of(card) == "tuning"]
    tuning = list(tuning_lines(sorted(tuned, key=lambda card: place_in_day("tuning", card.quantity))))
    shared = {} if tune else shared_cautions([*hands, *checks, *tuning])
    swapped, others = _feeders(plan)
    lowered = currents_that_fall(plan, cards)
    whose = dict.fromkeys(holder for _, holder in lowered if holder in swapped)
    text = (
        gfm.environment()
        .get_template("checklist_tune.md" if tune else "checklist.md")
        .render(
            plan=plan,
            cards=cards,
            sentence=overview.sentence(plan),
            alarms=[replace(alarm, about=_short(alarm.about)) for alarm in alarms],
            unknown=[light.name for light in plan.lights if light.state == UNKNOWN],
            named=any(overview.ANSWERED_BY_NAME.search(card.instruction) for card in cards.doubts),
            readers=told_before_install(plan),
            read_again=told_before_revert(plan),
            hands=_in_order(hands, shared),
            heads={part: heads(shared.get(part, {})) for part in MOMENTS},
            current=current_open(plan, cards),
            turned=_in_a_row(card.number for card in cards.by_hand if card.rule == BY_ITS_SCREW),
            doubted=[
                (STOP_DOUBTED[card.rule], card.number) for card in cards.by_hand if card.rule in STOP_DOUBTED
            ],
            lowered=_in_a_row(number for number, _ in lowered),
            lowered_of=in_a_row(whose) if 0 < len(whose) < len(swapped) else "",
            lowered_many=len(whose) > 1,
            others_many=len(swapped) - len(whose) > 1,
            stands=lowest_found(plan, MOUNT),
            softens=lowest_found(plan, FILAMENT),
            values=_values(cards),
            clearance=_clearance(cards),
            load=in_force.steps(plan),
            whole=all(card.rule != PARTS_ALONE for card in cards.by_hand),
            feeds=any(_belongs(card.quantity, "feeder") for card in cards.changes),
            wrong_way=WRONG_WAY,
            direction=any(card.rule in DIRECTION for card in cards.by_hand),
            checks=_in_order(checks, shared),
            steps=_in_order([*hands, *checks], shared),
            tuning=[written(line, shared.get("tuning", ())) for line in tuning],
            no_check=NO_CHECK,
            lines_shown=_lines_shown,
            of=_in_a_row(swapped),
            many=len(swapped) > 1,
            stay=f"{in_a_row(others)} {'stays' if len(others) == 1 else 'stay'}" if others else "",
        )
    )
    return gfm.tidy(text)


def lowest_found(plan: Plan, rule: str) -> int:
    """The lowest temperature that a rule found, in whole degrees; 0 where it found none."""
    return min((int(each.value) for each in plan.findings if each.rule == rule and each.value), default=0)


def currents_that_fall(plan: Plan, cards: Cards) -> list[tuple[str, str]]:
    """The numbers of the run currents that come down, or that the board alone keeps, each with whose it is: a new motor that is
    powered before would get the old one's."""
    less = [(card.number, card.holder) for card in cards.by_hand if card.rule == "motor.run_current"]
    less += [
        (card.number, change.holder)
        for change, card in zip(in_order(plan.changes), cards.changes, strict=True)
        if change.quantity == "motor.run_current"
        and change.old is not None
        and (change.old.value or 0.0) > (change.new.value or 0.0)
    ]
    return less


def _feeders(plan: Plan) -> tuple[list[str], list[str]]:
    """The feeders that are swapped, and those that stay, where a machine has several."""
    states: dict[str, set[str]] = {}
    for light in lights_named(plan):
        if light.holder.startswith("feeder "):
            states.setdefault(light.holder, set()).add(light.state)
    stay = [holder for holder, found in states.items() if found == {UNAFFECTED}]
    return [holder for holder in states if holder not in stay], stay


def current_open(plan: Plan, cards: Cards) -> str:
    """Where it is told how to find out the motor's current, in brackets; "" where that is known."""
    step = next((card.number for card in cards.by_hand if card.rule in CURRENT_OPEN), "")
    unknown = any(light.light == "current" and light.state == UNKNOWN for light in plan.lights)
    return f" ({step})" if step else " (see the light of the current in changes.md)" if unknown else ""


def _short(title: str) -> str:
    """A title that stands in full where the step is done."""
    if len(title) <= MOST_OF_A_TITLE:
        return title
    return f"{title[:MOST_OF_A_TITLE].rpartition(' ')[0].rstrip(',:;')} …"


def moment_of(card: Card) -> str:
    """When a change is checked, so that nothing is checked after what it protects. An older packet does not say it:
    an estimate is then tuned, and the rest is checked before anything is loaded."""
    usual = "tuning" if card.status == Status.ESTIMATE else "first move"
    return card.check_at if card.check_at in MOMENTS else usual


def _lines_shown(lines: Sequence[str]) -> int:
    """How many lines of a file that was left out are shown: all that say what to have there, and some in any case."""
    return max(LEFT_OUT_LINES, sum(f" ({TO_HAVE}: " in each for each in lines))


def _in_a_row(texts: Iterable[str]) -> str:
    return in_a_row(several) if (several := tuple(texts)) else ""


def _in_order(lines: Iterable[DayLine], shared: Mapping[str, Collection[str]]) -> dict[str, list[gfm.Ready]]:
    """The lines of each moment in the order of `day.yaml`; where that says nothing, as they come."""
    found: dict[str, list[DayLine]] = {part: [] for part in MOMENTS}
    for line in lines:
        found[line.moment].append(line)
    return {
        moment: [
            written(line, shared.get(line.part, ()))
            for line in sorted(several, key=lambda line: place_in_day(moment, line.about))
        ]
        for moment, several in found.items()
    }


def _checks(cards: Cards, labels: Mapping[str, str]) -> Iterator[tuple[str, Card, str, tuple[str, ...]]]:
    """What is checked at each moment: changes, and steps by hand that can only be checked later than they are done."""
    for card in cards.changes:
        if moment_of(card) != "tuning" and card.check:
            yield moment_of(card), card, card.title, (*card.warnings, *card.cautions)
    for card in cards.by_hand:
        if _checked_later(card):
            yield card.check_at, card, labels.get(card.key) or card.title, ()


def _checked_later(card: Card) -> bool:
    return bool(card.check) and card.check_at in MOMENTS and card.check_at != card.when


def _hands(cards: Cards) -> Iterator[DayLine]:
    feeders = sorted({card.holder for card in cards.all if card.holder.startswith("feeder ")})
    said_before = SaidBefore()
    for alike in overview.alike(cards.by_hand):
        card = alike[0]
        holders = [each.holder for each in alike]
        if holders == [WHOLE_MACHINE] and card.rule.startswith(OF_A_DRIVE):
            holders = list(feeders)
        if holders == feeders and len(feeders) == 1:
            holders = []  # the head of the list says which one it is about
        numbers = ", ".join(each.number for each in alike)
        stop = f"- [ ] **Stop here.** {STOP.format(number=numbers)}" if card.rule in rules_that_stop() else ""
        if card.rule in DIRECTION:
            stop = f"- [ ] {WRONG_WAY}"
        if axis := STOP_DOUBTED.get(card.rule):
            stop = f"- [ ] {NOT_TO_HOME.format(number=numbers, axis=axis)}"
        yield hand_line(alike, holders, _checked_later(card), stop, said_before)


def rules_that_stop() -> frozenset[str]:
    """The rules whose step has to be done, and the packet prepared again, before the day can go on."""
    return frozenset(rule for kind in light_kinds().kinds for rule in kind.stops)


def _values(cards: Cards) -> gfm.Ready:
    rows = [
        [
            card.number,
            gfm.code_in_table(f"{edit.file}:{edit.line}"),
            card.title if card.holder == WHOLE_MACHINE else f"{card.title}, {card.holder}",
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
