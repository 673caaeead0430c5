"""The neutral model: what a machine's files say, free of any dialect.

A `Quantity` is one physical thing with its unit. A `Reading` is one file's value for it, in the
quantity's own unit, with the form in which the file has it, so that a new value can be written back in
that same form. A `Machine` is all readings of a configuration, with what was in doubt and what was not
understood.

This module deliberately holds no words (`words.yaml`), no list of quantities (`quantities.yaml`) and no
rules.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.findings import Doubt, Place


@dataclass(frozen=True, slots=True)
class Quantity:
    """One physical thing. `kind` is number, ratio, truth, text or script. `low` and `high` bound what is
    plausible, in `unit` (None: unbounded). A protected quantity is read and compared, never written."""

    id: str
    label: str
    unit: str
    meaning: str
    kind: str = "number"
    low: float | None = None
    high: float | None = None
    protected: bool = False

    def plausible(self, value: float) -> bool:
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


@dataclass(frozen=True, slots=True)
class Form:
    """How the file writes a quantity. value = factor · written, or factor / written where `reciprocal`.

    `unit` is the unit the file's number is in (for people). `note` says in words how it was converted,
    "" where it was not. `ratio` is true where the file writes gear stages such as `50:17`.
    """

    unit: str = ""
    factor: float = 1.0
    reciprocal: bool = False
    ratio: bool = False
    note: str = ""

    def to_value(self, written: float) -> float:
        return self.factor / written if self.reciprocal else self.factor * written

    def to_written(self, value: float) -> float:
        return self.factor / value if self.reciprocal else value / self.factor


@dataclass(frozen=True, slots=True, order=True)
class Holder:
    """Whose a value is. `kind` is machine, feeder, filament or print; `name` the feeder's number or the
    profile's name, "" for the machine."""

    kind: str
    name: str = ""

    def __str__(self) -> str:
        return f"{self.kind} {self.name}" if self.name else self.kind


MACHINE = Holder("machine")


@dataclass(frozen=True, slots=True)
class Reading:
    """One quantity as one file has it.

    `value` is in the quantity's unit; None for kinds text and script (then `text` is the reading; truth is 1.0 or
    0.0). `text` is what stands in the file at `start`..`end` (bytes), exactly the span an edit would
    replace. `place` is where that span begins. `holder` says whose value it is.
    """

    quantity: str
    value: float | None
    text: str
    place: Place
    start: int
    end: int
    form: Form
    setting: Setting
    holder: Holder = MACHINE

    @property
    def converted(self) -> str:
        return self.form.note


@dataclass(frozen=True, slots=True)
class Unread:
    """A setting that was not understood. `nearest` are ids of the quantities that its words come closest to
    (empty: it does not look relevant)."""

    place: Place
    text: str
    setting: Setting
    nearest: tuple[str, ...] = ()


@dataclass(frozen=True)
class Machine:
    """All that a configuration says. `readings` stand in the order of the files and lines; for each
    quantity the last active one is in force (`get`), the others are `shadowed`."""

    documents: tuple[Document, ...]
    readings: tuple[Reading, ...]
    doubts: tuple[Doubt, ...] = ()
    unread: tuple[Unread, ...] = ()
    shadowed: tuple[Reading, ...] = ()
    #: further readings of the same quantity that must move together with the one in force
    twins: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)

    def get(self, quantity: str) -> Reading | None:
        """The reading in force, or None where no file says it (or it is in doubt)."""
        return self.by_quantity.get(quantity)

    @property
    def by_quantity(self) -> dict[str, Reading]:
        return {reading.quantity: reading for reading in self.readings}

    def document(self, path: str) -> Document:
        return next(document for document in self.documents if document.path == path)
