"""One answer of the interview taken in: understood, kept in the sheet, and what follows from it.

An answer takes the place of an earlier one to the same question, whatever form that had: a length that of "as before". One that
contradicts the answer to another question is not kept, and the sheet is what it was.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.rules.result import Result
from cfgmigrate.sheet.schema import sheet_schema

if TYPE_CHECKING:
    from cfgmigrate.plan.unlocking import Standpoint
    from cfgmigrate.sheet.answers import Understood
    from cfgmigrate.sheet.keeping import KeptAnswers
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.sheet.schema import Field


class KeptAnswer(Struct, frozen=True):
    """The sheet with the answer, what it was taken for ("" where it says that itself), and the values that come to be;
    `so_far` are the rules of those that a light hangs on which is not settled yet: a further answer may change them."""

    kept: KeptAnswers
    note: str
    follows: tuple[Result, ...]
    so_far: frozenset[str] = frozenset()


def said_of(fields: Sequence[Field], said: str) -> tuple[Understood | None, ...]:
    """What an answer says of each of the fields that were asked together; None where nobody knows one. Raises
    NotAQuantity where it says nothing of them."""
    from cfgmigrate.sheet.answers import understood, understood_together

    return understood_together(fields, said) if len(fields) > 1 else (understood(fields[0], said),)


def take_in(
    stand: Callable[[Sheet], Standpoint],
    kept: KeptAnswers,
    field: Field | Sequence[Field],
    said: str,
    feeder: int = 0,
) -> KeptAnswer:
    """Keep an answer to the question for a field, or for several that were asked together; of that feeder where several
    are asked about; `stand` works out what comes of a sheet.

    Raises NotAQuantity where it says nothing of the field, BadInput where it contradicts another one; then the sheet is
    as it was. Raises Refused where the sheet was changed since it was read, or can't be written."""
    from cfgmigrate.plan.interview import new_results
    from cfgmigrate.plan.left_open import so_far
    from cfgmigrate.sheet import keeping

    fields = tuple(field) if isinstance(field, Sequence) else (field,)
    found = said_of(fields, said)
    own = sheet_schema().each

    def named(path: str) -> str:
        return f"{feeder}:{path}" if feeder and path.partition(".")[0] in own else path

    told = [part for each in found if each is not None for part in (each, *each.also)]
    _refuse_what_is_told_otherwise(told, kept.sheet.about(feeder) if feeder else kept.sheet, fields)
    texts = {named(each.entry.path): each.text for each in told}
    open_ones = [
        named(field.path)
        for field, each in zip(fields, found, strict=True)
        if each is None or sheet_schema().to_the_tip.get(field.path) == each.entry.path
    ]
    answered = [field.path for field, each in zip(fields, found, strict=True) if each is not None]
    gone = {named(path) for path in _withdrawn(answered, kept.sheet.about(feeder) if feeder else kept.sheet)}
    after = keeping.answered_together(kept, texts, open_ones, gone - texts.keys())
    before, now = (
        each.sheet.about(feeder or kept.feeders[0]) if kept.feeders else each.sheet for each in (kept, after)
    )
    note = "; ".join(dict.fromkeys(each.note for each in found if each is not None and each.note))
    try:
        follows, then = new_results(stand(before), stand(now)), stand(now)
        return KeptAnswer(after, note, follows, so_far(then, follows))
    except BadInput:
        keeping.restored(after, kept)
        raise


def _withdrawn(answered: Iterable[str], sheet: Sheet) -> Iterator[str]:
    """The fields under which an earlier answer to one of these questions may be kept: its own, and those of its other
    forms. The whole way to the tip is one only where the tube's length was not told beside it."""
    schema = sheet_schema()
    for path in answered:
        tip = "" if path in sheet.entries else schema.to_the_tip.get(path, "")
        others = (schema.less_far.get(path, ""), schema.holds_for.get(path, ""), tip)
        wholes = (whole for whole, of_it in schema.as_before.items() if path in of_it)
        yield from filter(None, (path, *wholes, *others))


def _refuse_what_is_told_otherwise(told: Sequence[Understood], sheet: Sheet, asked: Sequence[Field]) -> None:
    """Raises BadInput where "as before" for one figure would be kept as that of the whole, and the sheet has another figure
    of it."""
    schema = sheet_schema()
    for each in told:
        whole = each.entry.path
        if whole not in schema.as_before or each.entry.word != "yes":
            continue
        of_it = {
            *schema.as_before[whole],
            *(path for path, others in schema.rivals.items() if whole in others),
        }
        of_it -= {field.path for field in asked}
        if other := next((path for path in sheet.entries if path in of_it), ""):
            what = f"as before would be kept as {whole}: yes, and the sheet has {other}: {sheet.entries[other].text}"
            raise BadInput(
                what,
                remedy="Write this figure as it is; or, if all is as before, take that one out of the sheet.",
            )
