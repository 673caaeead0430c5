"""One card for each thing in a plan that a person looks at: a change, a step by hand, a finding, a doubt.

Terminal, Markdown, page, checklist and record all render these cards. What a card says is put into words here
once, so that no report says less than another: every text of the rule that spoke is in it.

Cards are numbered for reading: C1 is a change, H1 a step by hand, F1 a finding, D1 a doubt. They stand by holder,
and within a holder the most dangerous first. A number means nothing outside its plan: a verdict is on the card's
`key`, which stays when the numbers move.

This module deliberately knows no output format, and it works out no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from enum import StrEnum
from functools import cached_property
from typing import Any

from msgspec import Struct

from cfgmigrate.ground import number_text
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.machine.quantities import present_id
from cfgmigrate.plan.identity import WHOLE_MACHINE, doubt_names
from cfgmigrate.plan.model import ByHand, Change, Edit, Finding, Plan
from cfgmigrate.plan.surer import budget_line
from cfgmigrate.reports import item_text, wording
from cfgmigrate.reports.calculation import Calculation, calculation_of
from cfgmigrate.reports.feeders_called import all_named
from cfgmigrate.reports.practice import LEGEND, MARK, marked
from cfgmigrate.rules.result import Derivation, Status


class Kind(StrEnum):
    """What a card is of, and the letter of its number."""

    CHANGE = "C"
    BY_HAND = "H"
    FINDING = "F"
    DOUBT = "D"


class Card(Struct, frozen=True):
    """What a person looks at and decides on.

    `number` is for reading (C7), `key` is what a verdict is on. `quantity` is the changed quantity, "" where there
    is none. `old` and `new` are values with their units; only a change has both. `status` says how sure the new
    value is, in a word, and `sure` with which uncertainty. `facts` are the smaller texts as (name, text), without
    those that are empty. `check` is how to check it at the machine, `instruction` what to do, `steps` in which
    steps. `when` is the moment of what is done by hand, `check_at` that of the check, `if_held` what it means to hold a
    change. `verdict` is what a reviewer said, where that is known."""

    kind: Kind
    number: str
    key: str
    title: str
    holder: str = WHOLE_MACHINE
    quantity: str = ""
    rule: str = ""
    old: str = ""
    new: str = ""
    status: str = ""
    sure: str = ""
    way: str = ""
    when: str = ""
    amount: str = ""
    says: str = ""
    instruction: str = ""
    steps: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    edits: tuple[Edit, ...] = ()
    calculation: Calculation | None = None
    range: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    check: str = ""
    check_at: str = ""
    if_held: str = ""
    verdict: str = ""

    @property
    def how_sure(self) -> str:
        """`estimate ± 0.034 mm`."""
        return " ".join(filter(None, [self.status, self.sure]))


class Cards(Struct, frozen=True, dict=True):
    """All cards of a plan, each kind in the order of its numbers."""

    changes: tuple[Card, ...]
    by_hand: tuple[Card, ...]
    findings: tuple[Card, ...]
    doubts: tuple[Card, ...]

    @property
    def all(self) -> tuple[Card, ...]:
        return (*self.by_hand, *self.changes, *self.findings, *self.doubts)

    @property
    def holders(self) -> tuple[str, ...]:
        """Whose values change, in the order of the cards."""
        return tuple(dict.fromkeys(card.holder for card in self.changes))

    @cached_property
    def legend(self) -> str:
        """What the mark of common practice means, where a card has it."""
        return LEGEND if any(MARK in repr(card) for card in self.all) else ""

    @property
    def reviewed(self) -> tuple[Card, ...]:
        """Those that a second person gives a verdict on."""
        return (*self.changes, *self.by_hand, *self.doubts)


#: what of a card is looked up or typed, and so tells feeders by their numbers alone
_LOOKED_UP = frozenset({"number", "key", "quantity", "rule", "places", "verdict"})
#: the plan whose cards were made last, and those: its pages are written one after the other
_last: tuple[Plan, Cards] | None = None


def cards_of(plan: Plan) -> Cards:
    """The cards of a plan."""
    global _last
    last = _last
    if last is None or last[0] is not plan:
        last = _last = plan, _cards_of(plan)
    return last[1]


def _cards_of(plan: Plan) -> Cards:
    found = Cards(
        changes=tuple(
            change_card(item, f"C{number}") for number, item in enumerate(in_order(plan.changes), 1)
        ),
        by_hand=tuple(by_hand_card(item, f"H{number}") for number, item in enumerate(plan.by_hand, 1)),
        findings=tuple(finding_card(item, f"F{number}") for number, item in enumerate(plan.findings, 1)),
        doubts=tuple(
            doubt_card(item, f"D{number}", name)
            for number, (item, name) in enumerate(zip(plan.doubts, doubt_names(plan.doubts), strict=True), 1)
        ),
    )
    if not plan.called:
        return found
    called = dict(plan.called)
    groups = (found.changes, found.by_hand, found.findings, found.doubts)
    return Cards(*(tuple(all_named(card, called, _LOOKED_UP) for card in cards) for cards in groups))


def in_order(changes: Iterable[Change]) -> list[Change]:
    """Changes by holder in the order in which the holders come, the most dangerous first, else as they were."""
    found = list(changes)
    holders = list(dict.fromkeys([WHOLE_MACHINE, *(change.holder for change in found)]))
    return sorted(found, key=lambda change: (holders.index(change.holder), *_danger(change)))


def _danger(change: Change) -> tuple[bool, bool]:
    """What is warned of comes first, then what belongs to a light: it can wreck a machine or a print."""
    lit = {value.quantity for kind in light_kinds().kinds for value in kind.values}
    return (not change.warnings, present_id(change.quantity) not in lit)


def change_card(change: Change, number: str) -> Card:
    """The card of a change to the files."""
    derivation = change.derivation
    checks = [
        (
            f"Cross-check by {check.way}",
            "; ".join(filter(None, [item_text.check_value(check, change), check.note])),
        )
        for check in change.cross_checks
    ]
    worth = item_text.try_range(change)
    calculation = calculation_of(derivation, item_text.worked_out(change))
    return Card(
        Kind.CHANGE, number, change.id, item_text.title(change), change.holder, change.quantity, change.rule,
        old=item_text.old_value(change),
        new=item_text.new_value(change),
        status=change.status.value,
        sure=item_text.sureness(change),
        way=marked(change.way),
        says=marked(change.says),
        places=tuple(item_text.places(change)),
        edits=change.edits,
        check_at=change.check_at,
        calculation=calculation,
        range=worth,
        facts=_facts(
            ("Uncertainty from", calculation.behind_text),
            ("To be surer", budget_line(derivation.contributions, change.label)),
            ("Source", derivation.source),
            ("Rounding", change.rounding),
            *checks,
            ("Try", worth),
            ("Rests on", ", ".join(_rests_on(change))),
        ),
        **_told(change),
        notes=_marked(change.notes),
        if_held=_if_held(change),
    )  # fmt: skip


def _if_held(change: Change) -> str:
    """What it means that a change is held: the value stays, with what the light that it belongs to warns of."""
    harm = next(
        (
            kind.says
            for kind in light_kinds().kinds
            if present_id(change.quantity) in {value.quantity for value in kind.values}
        ),
        "",
    )
    return wording.stop(f"it stays {item_text.old_value(change)}{': ' if harm else ''}{harm}")


def by_hand_card(item: ByHand, number: str) -> Card:
    """The card of what no file can do."""
    derivation = item.derivation
    calculation = None
    if derivation is not None:
        calculation = calculation_of(derivation, item_text.by_hand_result(item), item.text)
    return Card(
        Kind.BY_HAND, number, item.id, marked(item_text.title(item)), item.holder, rule=item.rule,
        new=item_text.by_hand_value(item),
        status=Status.BY_HAND.value,
        when=item.when,
        check_at=item.check_at,
        amount="" if item.value is None else item_text.by_hand_amount(item),
        says=marked(item.why),
        instruction=marked(item_text.instruction(item)),
        steps=_marked(item.steps),
        calculation=calculation,
        facts=_facts(("Source", derivation.source if derivation else "")),
        **_told(item),
    )  # fmt: skip


def finding_card(item: Finding, number: str) -> Card:
    """The card of a number that is worth knowing, and that neither a file nor a hand sets."""
    value = item_text.finding_value(item)
    return Card(
        Kind.FINDING, number, item.id, item_text.title(item), item.holder, rule=item.rule,
        new=value,
        says=marked(item.says),
        calculation=calculation_of(item.derivation, value),
        facts=_facts(("Source", item.derivation.source)),
        **_told(item),
    )  # fmt: skip


def _rests_on(change: Change) -> Iterator[str]:
    """The results of other rules that a change follows from, as its derivation calls them."""
    labels = {given.origin.removeprefix("rule "): given.label for given in change.derivation.inputs}
    for name in change.depends:
        yield labels.get(name) or name


def doubt_card(doubt: Doubt, number: str, name: str) -> Card:
    """The card of what was not guessed; `name` is what a verdict on it is on."""
    return Card(
        Kind.DOUBT, number, name, doubt.text,
        says=marked(doubt.why),
        instruction=marked(doubt.remedy),
        places=(str(doubt.place),),
    )  # fmt: skip


def recorded_card(name: str, old: str, new: str, said: Mapping[str, Any] | None, verdict: str) -> Card:
    """The card of a value in a history. `said` is what the history kept of the reasons, None where it kept none."""
    if said is None:
        return Card(Kind.CHANGE, "", name, name, quantity=name, old=old, new=new)
    spread = (
        number_text.measure(said["uncertainty"], name=said["unit"], digits=2) if said["uncertainty"] else ""
    )
    derivation = Derivation(said["formula"], said["substituted"], (), said["source"])
    return Card(
        Kind.CHANGE, "", name, name, said.get("holder", "") or WHOLE_MACHINE, name,
        old=old,
        new=new,
        status=str(said["status"]),
        sure=f"± {spread}" if spread else "",
        says=marked(said["says"]),
        places=tuple(said.get("places", ())),
        calculation=calculation_of(derivation, new),
        facts=_facts(("Source", said["source"])),
        warnings=_marked(said.get("warnings", ())),
        cautions=_marked(said.get("cautions", ())),
        check=marked(said["verify"]),
        verdict=verdict,
    )  # fmt: skip


def _told(item: Change | ByHand | Finding) -> dict[str, Any]:
    """What the rule warns of and how it is checked."""
    return {
        "warnings": _marked(item.warnings),
        "cautions": _marked(item.cautions),
        "check": marked(item.verify),
    }


def _marked(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(marked(text) for text in texts)


def _facts(*said: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple((name, marked(text)) for name, text in said if text)
