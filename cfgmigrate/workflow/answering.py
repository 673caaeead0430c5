"""One answer of the interview taken in: understood, kept in the sheet, and what follows from it.

An answer that contradicts another one is not kept, and the sheet is what it was.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.rules.result import Result

if TYPE_CHECKING:
    from cfgmigrate.plan.unlocking import Standpoint
    from cfgmigrate.sheet.keeping import KeptAnswers
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.sheet.schema import Field


@dataclass(frozen=True)
class KeptAnswer:
    """The sheet with the answer, what it was taken for ("" where it says that itself), and the values that come to be."""

    kept: KeptAnswers
    note: str
    follows: tuple[Result, ...]


def take_in(
    stand: Callable[[Sheet], Standpoint], kept: KeptAnswers, field: Field, said: str, feeder: int = 0
) -> KeptAnswer:
    """Keep an answer, of that feeder where several are asked about; `stand` works out what comes of a sheet.

    Raises NotAQuantity where it says nothing of the field, BadInput where it contradicts another one; then the sheet is
    as it was. Raises Refused where the sheet was changed since it was read, or can't be written."""
    from cfgmigrate.plan.interview import new_results
    from cfgmigrate.sheet import keeping
    from cfgmigrate.sheet.answers import understood

    found = understood(field, said)
    after = keeping.answered(kept, f"{feeder}:{field.path}" if feeder else field.path, found.text)
    before, now = (
        each.sheet.about(feeder or kept.feeders[0]) if kept.feeders else each.sheet for each in (kept, after)
    )
    try:
        return KeptAnswer(after, found.note, new_results(stand(before), stand(now)))
    except BadInput:
        keeping.restored(after, kept)
        raise
