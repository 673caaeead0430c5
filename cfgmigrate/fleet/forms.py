"""In what way a quantity changes alike on many machines: it gets the same value, grows by the same, or by the same share.

A limit that becomes 7 mm less is the same change on a large machine and on a small one, though no two values are the
same. So each quantity is told in the form by which most machines agree; the plain value, unless another form has a
clearly larger majority. Shares within a hundredth of each other are the same, since files round.

Nothing is worded here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from enum import StrEnum

from msgspec import Struct

from cfgmigrate.fleet.moved import DIGITS, Moved

#: how much larger a majority has to be than that of a plainer form
CLEARLY = 0.2
#: shares this close are one
ONE_SHARE = 0.01


class FormKind(StrEnum):
    VALUE, DIFFERENCE, SHARE = "value", "difference", "share"


class ChangeForm(Struct, frozen=True):
    """How a quantity's changes are compared. `shares` are where each group of shares begins, in order."""

    kind: FormKind = FormKind.VALUE
    shares: tuple[float, ...] = ()

    def same(self, one: Moved) -> str:
        """What is the same for the same change."""
        by = self.by(one)
        if by is None:
            return one.same
        if self.kind is FormKind.SHARE:
            by = max((begin for begin in self.shares if begin <= by), default=by)
        return f"{self.kind}:{by:.{DIGITS}g}"

    def by(self, one: Moved) -> float | None:
        """By how much it changes in this form; None where the value itself is what counts."""
        if self.kind is FormKind.VALUE or one.old is None or one.value is None:
            return None
        if self.kind is FormKind.DIFFERENCE:
            return round(one.value - one.old, DIGITS)
        return one.value / one.old if one.old else None


#: the value itself
VALUE_ITSELF = ChangeForm()


def form_of(moves: Sequence[Moved]) -> ChangeForm:
    """The form in which most of these changes of one quantity are the same."""
    plain = VALUE_ITSELF
    if len(moves) < 2 or any(one.old is None or not one.old or one.value is None for one in moves):
        return plain
    best, most = plain, _majority(plain, moves)
    others = (ChangeForm(FormKind.DIFFERENCE), ChangeForm(FormKind.SHARE, _begins(moves)))
    for form in others:
        part = _majority(form, moves)
        if part > most + CLEARLY:
            best, most = form, part
    return best


def _majority(form: ChangeForm, moves: Sequence[Moved]) -> float:
    return Counter(map(form.same, moves)).most_common(1)[0][1] / len(moves)


def _begins(moves: Iterable[Moved]) -> tuple[float, ...]:
    begins: list[float] = []
    for share in sorted(one.value / one.old for one in moves if one.value is not None and one.old):
        if not begins or abs(share - begins[-1]) > ONE_SHARE * abs(begins[-1]):
            begins.append(share)
    return tuple(begins)
