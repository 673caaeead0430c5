"""The third room: the swap sheet as a form in three sittings, with what follows from it beside.

An answer is read as at the terminal (a bare number, `about 540`, several measurements), kept at once, and what
follows is worked out again. Which question comes next, and which measurement would help most, takes longer to work
out; the page asks for that by itself once it is there. A form carries what it showed, so that two windows do not
write over each other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from cfgmigrate.desk.drawings import drawing_of
from cfgmigrate.desk.session import Stale, stamp
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


@dataclass(frozen=True)
class FormField:
    """One field as the form shows it. `state` is said, not known, later or open; `text` what the sheet says; `usual` what
    the files say; `error` why an answer (`typed`) was not taken."""

    field: Field
    state: str
    text: str
    stamp: str
    usual: str = ""
    drawing: str = ""
    heading: str = ""
    error: str = ""
    typed: str = ""


def show(visit: Visit, path: str = "", error: str = "", typed: str = "", status: int = 200) -> Response:
    """The room; with what is to be said of one field."""
    kept = visit.desk.kept()
    bench = visit.desk.bench()
    now = _standpoint(visit, kept)
    fields = [_with_error(each, path, error, typed) for each in form_fields(visit, kept)]
    from cfgmigrate.sheet.schema import sheet_schema

    schema = sheet_schema()
    sittings = [
        (word, title, says, [each for each in fields if schema.sitting(each.field.path) == word])
        for word, title, says in SITTINGS_OF_THE_DAY
    ]
    shown = {each.field.path for each in fields}
    others = [
        each for each in schema.fields.values() if each.path not in shown and _sensible(each, bench.machine)
    ]
    return visit.page(
        "swap.html",
        status,
        title="The swap",
        room="swap",
        sittings=sittings,
        others=others,
        sheet=str(kept.path),
        there=kept.present is not None,
        several=len(bench.machine.feeders) > 1,
        swapped=kept.sheet.swapped,
        live=live(now),
        ready=bool(kept.present) and not now.unknown,
        wrong=error,
    )


def ahead(visit: Visit) -> Response:
    """The next question and what would help most: worked out apart, so that answers need not wait for it."""
    from cfgmigrate.plan.interview import next_question
    from cfgmigrate.plan.surer import surer

    with visit.desk.lock:
        kept, bench = visit.desk.kept(), visit.desk.bench("ahead")
    with visit.desk.ahead:
        question = next_question(bench, kept.sheet, kept.declined, kept.later)
        helps = surer(bench, kept.sheet, MOST_HELPFUL)
    field = form_field(kept, question.field, bench) if question is not None else None
    return visit.page("ahead.html", title="What helps most now", question=question, each=field, helps=helps)


def answer(visit: Visit) -> Response:
    """One answer from the form: kept, put off, not known, or taken back."""
    from cfgmigrate.sheet import keeping
    from cfgmigrate.workflow.answering import take_in

    field = _field(visit.field("path"))
    kept = visit.desk.kept()
    if visit.field("stamp") != _stamp(kept, field.path):
        raise Stale(
            f"{field.label} was answered in the meantime, in another window or at the terminal: {_now(kept, field.path)}",
            Place(str(kept.path)),
            f"Your answer, {_typed(visit) or visit.field('do')!r}, was not written. Say it again if it is to be yours.",
        )
    do = visit.field("do")
    if do == "later":
        keeping.put_off(kept, field.path)
        return visit.go("swap", f"{field.label}: put off.", at=_id(field.path))
    if do == "not known":
        keeping.declined(kept, field.path)
        return visit.go("swap", f"{field.label}: not known.", at=_id(field.path))
    if do == "take back":
        keeping.taken_back(kept, field.path)
        return visit.go("swap", f"{field.label}: taken back.", at=_id(field.path))
    return _kept(visit, kept, field, take_in)


def _kept(visit: Visit, kept: KeptAnswers, field: Field, take_in: Any) -> Response:
    said = _typed(visit)
    if not said:
        return show(
            visit, field.path, "nothing was said. Give an answer, or say that you don't know.", said, 422
        )
    try:
        taken = take_in(visit.desk.bench(), kept, field, said)
    except NotAQuantity as wrong:
        return show(visit, field.path, f"{wrong.what}. {wrong.remedy}".strip(), said, 422)
    except BadInput as wrong:
        return show(visit, field.path, f"{wrong.what}. {wrong.remedy}".strip(), said, 422)
    follows = "".join(f"\n→ {_result(each)}" for each in taken.follows)
    note = f" ({taken.note})" if taken.note else ""
    return visit.go("swap", f"Kept: {field.label}{note}.{follows}", at=_id(field.path))


def form_fields(visit: Visit, kept: KeptAnswers) -> Iterator[FormField]:
    """The fields that this swap needs, and those that the sheet says anything of, in the order of the sheet."""
    from cfgmigrate.plan.open_fields import said_in
    from cfgmigrate.sheet.schema import sheet_schema

    bench = visit.desk.bench()
    more = visit.asked("more") or visit.field("more")
    said = said_in(kept.sheet) if kept.present is not None else {}
    wanted = {*visit.desk.needed(), *said, *kept.declined, *kept.later, more}
    heading = ""
    for field in sheet_schema().fields.values():
        if field.path in wanted and (field.kind != "text" or field.path in said or field.path == more):
            above = field.path.rpartition(".")[0]
            yield form_field(
                kept, field, bench, "" if above == heading else sheet_schema().sections.get(above, "")
            )
            heading = above


def form_field(kept: KeptAnswers, field: Field, bench: Any, heading: str = "") -> FormField:
    """One field with what the sheet says of it."""
    state, text = _state(kept, field.path)
    reading = bench.machine.usual.get(field.reads) if field.reads else None
    usual = ""
    if reading is not None and reading.value is not None:
        written = reading.text if reading.form.ratio else f"{reading.value:.6g} {field.unit}".rstrip()
        usual = f"{written} ({Place(reading.place.file, reading.place.line)})"
    return FormField(field, state, text, _stamp(kept, field.path), usual, drawing_of(field.path), heading)


def live(now: Standpoint) -> dict[str, Any]:
    """The lights and the values as they are worked out now, each value with its picture."""
    from cfgmigrate.ground.number_text import measure
    from cfgmigrate.reports import html
    from cfgmigrate.reports.ratio import ratio_picture

    values = [
        {
            "id": change.id,
            "label": change.label,
            "holder": change.holder,
            "old": change.old.text if change.old else "",
            "new": measure(change.new.value, change.new.uncertainty, change.unit)
            if change.new.value is not None
            else change.new.text,
            "status": str(change.status),
            "picture": html.own(ratio_picture(change)),
        }
        for change in now.decided.changes
    ]
    hands = [each.what for each in now.decided.by_hand]
    return {"lights": now.lights, "values": values, "hands": hands}


def _standpoint(visit: Visit, kept: KeptAnswers) -> Standpoint:
    return visit.desk.bench().stand(kept.sheet)


def _result(result: Any) -> str:
    from cfgmigrate.ground.number_text import measure

    return f"{result.label}: {measure(result.value, result.uncertainty, result.unit, 4)}"


def _state(kept: KeptAnswers, path: str) -> tuple[str, str]:
    from cfgmigrate.plan.open_fields import said_in

    entry = said_in(kept.sheet).get(path)
    if entry is not None:
        return "said", entry.text
    return ("not known" if path in kept.declined else "later" if path in kept.later else "open"), ""


def _now(kept: KeptAnswers, path: str) -> str:
    state, text = _state(kept, path)
    return text or {"open": "it was taken back", "later": "it was put off", "not known": "not known"}[state]


def _stamp(kept: KeptAnswers, path: str) -> str:
    return stamp(path, *_state(kept, path))


def _typed(visit: Visit) -> str:
    """The answer as typed; several measurements as the terminal takes them."""
    often = [each.strip() for each in visit.said.get("often", ()) if each.strip()]
    one = visit.field("answer").strip()
    return " ".join([one, *often] if one else often)


def _field(path: str) -> Field:
    from cfgmigrate.sheet.schema import sheet_schema

    found = sheet_schema().fields.get(path)
    if found is None:
        raise BadInput("the sheet has no such field", Place("swap"), "Go back to the swap.")
    return found


def _sensible(field: Field, machine: Any) -> bool:
    return not field.several or len(machine.feeders) > 1


def _with_error(each: FormField, path: str, error: str, typed: str) -> FormField:
    from dataclasses import replace

    return replace(each, error=error, typed=typed) if error and each.field.path == path else each


def _id(path: str) -> str:
    return f"field-{path}"
