"""The third room: the swap sheet as a form in three sittings, with what follows from it beside.

An answer is read as at the terminal (a bare number, `about 540`, several measurements), kept at once, and what
follows is worked out again. Which question comes next, and which measurement would help most, takes longer to work
out; the page asks for that by itself once it is there. A form carries what it showed, so that two windows do not
write over each other. Where a machine has several feeders it is asked first which of them are swapped; the form is then
about one of them at a time.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace
from starlette.responses import Response

from cfgmigrate.desk.session import Stale, same_stamp, stamp
from cfgmigrate.desk.sheet_form import (
    field_stamp,
    form_field,
    form_fields,
    name_of,
    named,
    takers,
    told_now,
)
from cfgmigrate.desk.web import Visit
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.quantity_text import NotAQuantity

if TYPE_CHECKING:
    from cfgmigrate.plan.unlocking import Standpoint
    from cfgmigrate.sheet.keeping import KeptAnswers
    from cfgmigrate.sheet.schema import Field

#: the sittings of the day: their word in the schema, a heading, and a line on it
SITTINGS_OF_THE_DAY = (
    ("before", "Before the old drive comes off", "This can't be measured any more once it is off."),
    (
        "mounted",
        "Once the new drive is mounted",
        "Switch off, unplug, and let it cool down before you measure.",
    ),
    ("any time", "From papers, at any time", "The maker's data sheets come first."),
)
MOST_HELPFUL = 3


def show(visit: Visit, name: str = "", error: str = "", typed: str = "", status: int = 200) -> Response:
    """The room; with what is to be said of one field."""
    from cfgmigrate.sheet.schema import sheet_schema

    kept, bench, schema = visit.desk.kept(), visit.desk.bench(), sheet_schema()
    several = _several(visit, kept)
    if several["ask"]:
        return visit.page("swap_feeders.html", title="The swap", room="swap", sheet=str(kept.path), **several)
    feeder, now = several["about"], visit.desk.stand(kept.sheet)
    more = visit.asked("more") or name
    fields = [
        replace(each, error=error, typed=typed) if error and each.name == name else each
        for each in form_fields(bench.machine, visit.desk.needed(), kept, feeder, more)
    ]
    sittings = [
        (word, title, says, [each for each in fields if schema.sitting(each.field.path) == word])
        for word, title, says in SITTINGS_OF_THE_DAY
    ]
    shown = {each.field.path for each in fields}
    others = [
        (name_of(each, feeder), each.label)
        for each in schema.fields.values()
        if each.path not in shown and _sensible(each, bench.machine)
    ]
    return visit.page(
        "swap.html",
        status,
        title="The swap",
        room="swap",
        sittings=sittings,
        others=others,
        sheet=str(kept.path),
        live=live(now),
        ready=bool(kept.present) and not now.unknown,
        wrong=error,
        **several,
    )


def ahead(visit: Visit) -> Response:
    """The next question and what would help most: worked out apart, so that answers need not wait for it."""
    from cfgmigrate.plan.interview import next_of_several, next_question
    from cfgmigrate.plan.surer import surer

    with visit.desk.turn():
        kept, bench = visit.desk.kept(), visit.desk.bench("ahead")
    with visit.desk.ahead:
        if kept.feeders:
            same = takers(kept.sheet.source)
            question = next_of_several(bench, kept.sheet, kept.feeders, kept.declined, kept.later, same)
        else:
            question = next_question(bench, kept.sheet, kept.declined, kept.later)
        helps = surer(bench, kept.sheet, MOST_HELPFUL)
    with visit.desk.turn():
        about = question.feeder or (kept.feeders[0] if kept.feeders else 0) if question is not None else 0
        field = form_field(bench.machine, kept, question.field, about) if question is not None else None
    wished = visit.asked("feeder")
    shown = next((number for number in kept.feeders if str(number) == wished), 0)
    return visit.page(
        "ahead.html", title="What helps most now", question=question, each=field, helps=helps, about=shown
    )


def answer(visit: Visit) -> Response:
    """One answer from the form: kept, put off, not known, or taken back."""
    from cfgmigrate.sheet import keeping

    name, do = visit.field("path"), visit.field("do")
    field, feeder = named(name)
    kept = visit.desk.kept()
    if (feeder and feeder not in kept.feeders) or visit.field("stamp") != field_stamp(kept, name):
        raise Stale(
            f"{field.label} was answered in the meantime, in another window or at the terminal: {told_now(kept, name)}",
            Place(str(kept.path)),
            f"Your answer, {_typed(visit) or do!r}, was not written. Say it again if it is to be yours.",
        )
    done: dict[str, tuple[Callable[[KeptAnswers, str], KeptAnswers], str]] = {
        "later": (keeping.put_off, "put off"),
        "not known": (keeping.declined, "not known"),
        "take back": (keeping.taken_back, "taken back"),
    }
    if do in done:
        change, said = done[do]
        change(kept, name)
        return _on(visit, name, f"{field.label}: {said}.")
    return _kept(visit, kept, name)


def say_feeders(visit: Visit) -> Response:
    """Which feeders are swapped, and which of them as which, as the terminal asks it."""
    from cfgmigrate.sheet.keeping import with_feeders

    kept, machine = visit.desk.kept(), visit.desk.bench().machine
    same_stamp(visit.field("stamp"), kept.present)
    swapped = [number for number in machine.feeders if str(number) in visit.said.get("swapped", ())]
    if not swapped:
        raise BadInput("no feeder was chosen", Place("swap"), "Choose those that are swapped.")
    same: dict[int, int | None] = {}
    for number in swapped:
        other = visit.field(f"same-{number}")
        same[number] = int(other) if other in {str(each) for each in swapped if each != number} else None
    with_feeders(kept, same)
    said = "; ".join(
        f"feeder {number}" + (f" as feeder {other}" if other else "") for number, other in same.items()
    )
    return visit.go(f"swap?feeder={swapped[0]}", f"Kept: swapped are {said}.")


def _kept(visit: Visit, kept: KeptAnswers, name: str) -> Response:
    from cfgmigrate.workflow.answering import take_in

    (field, feeder), said = named(name), _typed(visit)
    if not said:
        wrong = "nothing was said. Give an answer, or say that you don't know."
        return show(visit, name, wrong, said, 422)
    try:
        taken = take_in(visit.desk.stand, kept, field, said, feeder)
    except (NotAQuantity, BadInput) as error:
        return show(visit, name, f"{error.what}. {error.remedy}".strip(), said, 422)
    follows = "".join(f"\n→ {_result(each)}" for each in taken.follows)
    note = f" ({taken.note})" if taken.note else ""
    return _on(visit, name, f"Kept: {field.label}{note}.{follows}")


def _several(visit: Visit, kept: KeptAnswers) -> dict[str, Any]:
    """What the page says of feeders: whether to `ask` first, which the form is `about` (0: there is one only), and the rows
    of the question."""
    from cfgmigrate.machine.called_feeders import called
    from cfgmigrate.sheet.keeping import tells_of_one

    machine, same = visit.desk.bench().machine, takers(kept.sheet.source)
    plain = kept.sheet.feeder if kept.sheet.feeder is not None else 1
    swapped = kept.feeders or ((plain,) if tells_of_one(kept) else ())
    wished = visit.asked("feeder") or visit.field("path").rpartition(":")[0]
    about = next((each for each in kept.feeders if str(each) == wished), next(iter(kept.feeders), 0))
    names = called(machine)
    many = len(machine.feeders) > 1
    return {
        "ask": many and not swapped,
        "many": many,
        "about": about,
        "plain": 0 if kept.feeders else plain,
        "told": kept.sheet.feeder is not None,
        "swapped": swapped,
        "there": kept.present is not None,
        "feeders": [(number, names.get(number, ""), same.get(number)) for number in machine.feeders],
        "feeders_stamp": stamp(kept.present),
    }


def _on(visit: Visit, name: str, note: str) -> Response:
    """Back to the field in the form of its feeder; the machine's own fields keep the form's."""
    number = visit.field("path").rpartition(":")[0] or visit.field("feeder")
    place = f"swap?feeder={number}" if number.isdecimal() else "swap"
    return visit.go(place, note, at=f"field-{name}")


def live(now: Standpoint) -> dict[str, Any]:
    """The lights and the values as they are worked out now, each value with its picture."""
    from cfgmigrate.reports import html
    from cfgmigrate.reports.item_text import new_value, old_value, sureness
    from cfgmigrate.reports.ratio import ratio_picture

    values = [
        {
            "id": change.id,
            "label": change.label,
            "holder": change.holder,
            "old": old_value(change),
            "new": " ".join(filter(None, (new_value(change), sureness(change)))),
            "status": str(change.status),
            "picture": html.own(ratio_picture(change)),
        }
        for change in now.decided.changes
    ]
    hands = [each.what for each in now.decided.by_hand]
    return {"lights": now.lights, "values": values, "hands": hands}


def _result(result: Any) -> str:
    from cfgmigrate.ground.number_text import measure

    return f"{result.label}: {measure(result.value, result.uncertainty, result.unit, 4)}"


def _typed(visit: Visit) -> str:
    """The answer as typed; several measurements as the terminal takes them."""
    often = [each.strip() for each in visit.said.get("often", ()) if each.strip()]
    one = visit.field("answer").strip()
    return " ".join([one, *often] if one else often)


def _sensible(field: Field, machine: Any) -> bool:
    return not field.several or len(machine.feeders) > 1
