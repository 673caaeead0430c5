"""What a rule has to say: a value with its uncertainty, and the derivation a second person can follow.

These are values only. They are made by `engine.py` and turned into changes to files in `plan/`.
"""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from cfgmigrate.machine.model import Form


class Status(StrEnum):
    """How sure a value is."""

    MEASURED = "measured"
    COMPUTED = "computed"
    ESTIMATE = "estimate"
    BY_HAND = "by hand"


class Input(Struct, frozen=True):
    """One number (or word) that went into a derivation.

    `origin` says where it came from, for a person: `printer.ini:12`, `sheet.yaml:9`, `constant: …source…`
    or `rule motor.run_current`. `share` is its part (0 to 1) of the result's variance. `word` is set
    instead of `value` for a word such as a material.
    """

    name: str
    label: str
    value: float | None
    unit: str
    uncertainty: float
    origin: str
    share: float = 0.0
    word: str = ""


class Contribution(Struct, frozen=True):
    """One measured or assumed number behind a result, and its part (0 to 1) of the result's variance.

    Unlike an `Input` it may stand several rules back: what two inputs have in common is counted once."""

    name: str
    origin: str
    share: float


class Derivation(Struct, frozen=True):
    """`formula` is the rule's own text; `substituted` the same with numbers and units put in; `inputs`
    are the formula's names, `contributions` what the uncertainty comes from, both with the largest share
    first."""

    formula: str
    substituted: str
    inputs: tuple[Input, ...]
    source: str
    contributions: tuple[Contribution, ...] = ()


class CrossCheck(Struct, frozen=True):
    """The same quantity by another way, and what the comparison says."""

    way: str
    value: float
    note: str
    uncertainty: float = 0.0


class Result(Struct, frozen=True):
    """One rule's outcome in the quantity's own unit.

    `target` is the quantity it sets, "" for an intermediate value or a by-hand item. `word` is set for
    results that are not numbers. `hand` says what a person has to do where no file can, and `steps` how, one
    after the other. `text` is a form the
    value must be written in (gear stages), "" for a plain number. `round_down` and `round_up` ask for rounding
    to the safe side of an upper or a lower limit. `low`, `high`, `step` give the range to try for an estimate
    (None where there is none), `check_at` the moment of the day by which `verify` is due. `unsettled` says why the value is a question and is
    not to be written, "" where it is none.
    """

    rule: str
    target: str
    label: str
    unit: str
    value: float | None
    uncertainty: float
    status: Status
    way: str
    derivation: Derivation
    says: str = ""
    hand: str = ""
    steps: tuple[str, ...] = ()
    word: str = ""
    text: str = ""
    round_down: bool = False
    round_up: bool = False
    low: float | None = None
    high: float | None = None
    step: float | None = None
    cross_checks: tuple[CrossCheck, ...] = ()
    cautions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    verify: str = ""
    depends: tuple[str, ...] = ()
    check_at: str = ""
    unsettled: str = ""
    #: the form in which a file has what it is about
    form: Form = Form()


class Silent(Struct, frozen=True):
    """A rule that did not fire, and why."""

    rule: str
    quantity: str
    why: str
