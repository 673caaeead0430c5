"""One value that changes on one machine of a fleet."""

from __future__ import annotations

from msgspec import Struct

from cfgmigrate.plan.model import Change

DIGITS = 9


class Moved(Struct, frozen=True):
    """One value that changes. `old` is None where the file had none that is a number; `text` and `old_text` are
    as the files have them."""

    quantity: str
    label: str
    unit: str
    old: float | None
    old_text: str
    value: float | None
    text: str
    status: str

    @property
    def same(self) -> str:
        """What is the same for the same value, however it is written."""
        return self.text if self.value is None else f"{self.value:.{DIGITS}g}"


def moved(change: Change) -> Moved:
    old = change.old
    return Moved(
        change.id,
        change.label,
        change.unit,
        old.value if old else None,
        old.text if old else "",
        change.new.value,
        change.new.text,
        change.status.value,
    )
