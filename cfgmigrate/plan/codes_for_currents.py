"""The code for a new current, where a remark of the files has the formula: told in the question about the code, and not written.

    // I = (n + 1) / 32 * Vref / (Rsense + 0.02) / sqrt2, Vref 0.325 V, Rsense 0.11 ohm

The formula is worked out only where everything in it but the code is a number that the remark or the same file states, where its
unit is clear, where a larger code sets more, and where the code that stands there comes to a current that a motor has.
In every other case the question stays as it was asked. A code sets no amount exactly: the one told is the largest
that sets no more than the new current.

That such a number is a code is found in `machine/currents_in_codes.py`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from msgspec import Struct

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.currents_in_codes import (
    CODE_FOR_A_CURRENT,
    LARGEST_CURRENT_CODE,
    CodeRemark,
    lines_with_codes,
)
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import facts
from cfgmigrate.rules.formula import Expression, FormulaError, evaluate, names, read_expression
from cfgmigrate.rules.result import Result

_ROOT = pattern(r"√[ \t]*2\b|\bsqrt[ \t]*\(?[ \t]*2\b(?:[ \t]*\))?")
_TOKEN = pattern(r"[ \t]*(?:(\d+(?:\.\d+)?)(?![\w.])|([A-Za-z]\w{0,20})|([-+*/()]))")
_CODE_S_NAMES = frozenset(
    {"n", "k", "x", "cs", "code", "value", "count", "number", "reg", "register", "setting"}
)
#: the trade's names for a voltage and a resistor, with which a formula comes to amperes
_VOLTS, _OHMS = frozenset({"vref", "vfs", "v"}), frozenset({"rsense", "rs", "r", "rshunt"})
_UNIT_BEHIND = pattern(r"[ \t]*[\[(]?[ \t]*(mA|A)\b")
_UNIT_BEFORE = pattern(r"\b(mA|A)[ \t]*[\])]?[ \t]*=[ \t]*$")
_RMS = pattern(r"(?i)\brms\b")
_PEAK = pattern(r"(?i)\bpeak\b")
#: how many codes there are, or the largest of them
_MOST = pattern(r"/[ \t]*(16|32|64|128|256)\b|(?:\bto|\.\.|-|–|\bof)[ \t]*(15|31|63|127|255)\b")
_UNIT_ENDINGS = ("ohms", "ohm", "volts", "volt", "v")


class _Formula(Struct, frozen=True):
    """A formula with the name of its code, what its other names are, and how many A its unit is."""

    tree: Expression
    code: str
    given: Mapping[str, float]
    unit: float
    rms: bool
    #: the largest code that there is
    most: int

    def amperes(self, code: int) -> float:
        return float(evaluate(self.tree, {**self.given, self.code: float(code)})) * self.unit


def with_codes(doubts: Iterable[Doubt], machine: Machine, right: Mapping[str, Result]) -> Iterator[Doubt]:
    """The doubts, those about a code with the one for the new current where it can be worked out. `right` are the results
    by quantity."""
    doubts = list(doubts)
    lines = {(each.place.file, each.place.line) for each in doubts if each.asks(CODE_FOR_A_CURRENT)}
    remarks = dict(lines_with_codes(lines, machine.documents, None)) if lines else {}
    documents = {each.path: each for each in machine.documents}
    for doubt in doubts:
        at = doubt.place.file, doubt.place.line
        result = right.get(doubt.about)
        if doubt.asks(CODE_FOR_A_CURRENT) and at in remarks and result is not None and result.value:
            told = _told(doubt, documents[doubt.place.file], remarks[at], result.value)
            yield replace(doubt, why=f"{doubt.why}{told}")
        else:
            yield doubt


def _told(doubt: Doubt, document: Document, remark: CodeRemark, wanted: float) -> str:
    formula = _formula(remark.text, document)
    old = next((each.value for each in document.settings if each.line == doubt.place.line), "").strip()
    if formula is None or not old.isdigit():
        return ""
    try:
        amounts = [formula.amperes(code) for code in range(formula.most + 1)]
    except FormulaError:
        return ""
    rising = all(one < other for one, other in itertools.pairwise(amounts))
    now = amounts[int(old)] if int(old) < len(amounts) else 0.0
    if not rising or not facts(doubt.about).quantity.plausible(now) or not amounts[0] <= wanted < amounts[-1]:
        return ""
    code = max(at for at, amount in enumerate(amounts) if amount <= wanted)
    kind = "A RMS" if formula.rms else "A (RMS or peak is not said there; the new one is RMS)"
    return (
        f". By that formula {old} sets {now:.3g} {kind} now; for {wanted:.3g} A RMS the code is {code}, which sets {amounts[code]:.3g} "
        f"A, and {code + 1} would set more. So it is as long as the driver is the same one; check it against its data sheet"
    )


def _formula(text: str, document: Document) -> _Formula | None:
    text = _ROOT.sub("1.41421356", text).translate({ord("×"): "*", ord("·"): "*", ord("\N{MINUS SIGN}"): "-"})
    if _PEAK.search(text) and not _RMS.search(text):
        return None
    rms = bool(_RMS.search(text)) or "1.41421356" in text
    for start, end, found in _expressions(text):
        given = {name: value for name in found if (value := _stated(name, text, document)) is not None}
        others = [name for name in found if name not in given]
        if len(others) != 1 or others[0].casefold() not in _CODE_S_NAMES:
            continue
        kinds = {name.casefold() for name in given}
        unit = _unit(text, start, end) or (1.0 if kinds & _VOLTS and kinds & _OHMS else 0.0)
        if unit:
            tree = read_expression(_dotted(text[start:end]))
            of_names = {f"x.{name.casefold()}": value for name, value in given.items()}
            return _Formula(tree, f"x.{others[0].casefold()}", of_names, unit, rms, _largest(text))
    return None


def _largest(text: str) -> int:
    told = (int(found[1]) - 1 if found[1] else int(found[2]) for found in _MOST.finditer(text))
    return min(told, default=LARGEST_CURRENT_CODE)


def _unit(text: str, start: int, end: int) -> float:
    found = _UNIT_BEHIND.match(text, end) or _UNIT_BEFORE.search(text, 0, start)
    return 0.0 if found is None else 1e-3 if found[1] == "mA" else 1.0


def _expressions(text: str) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """The pieces of arithmetic with a name in them, where each begins and ends, and its names."""
    at = 0
    while at < len(text):
        token = _TOKEN.match(text, at)
        if token is None or token[3] not in (None, "("):
            at = at + 1 if token is None else token.end()
            continue
        end = _arithmetic(text, at)
        piece = text[at:end]
        try:
            found = tuple(dict.fromkeys(names(read_expression(_dotted(piece))))) if end else ()
        except FormulaError:
            found = ()
        if found and any(sign in piece for sign in "+*/"):
            yield token.end() - len(token[0].lstrip()), end, tuple(n.partition(".")[2] for n in found)
        at = max(end, token.end())


def _arithmetic(text: str, at: int) -> int:
    """Where the longest arithmetic that begins here ends; 0 where none does."""
    end, depth, operand = 0, 0, True
    while (token := _TOKEN.match(text, at)) is not None:
        number, name, sign = token.groups()
        if operand and sign == "(":
            depth += 1
        elif operand and (number or name):
            operand = False
        elif not operand and sign == ")" and depth:
            depth -= 1
        elif not operand and sign in ("+", "-", "*", "/"):
            operand = True
        else:
            break
        at = token.end()
        end = at if not operand and not depth else end
    return end


def _dotted(text: str) -> str:
    """A formula as those of the rule book are written."""
    return pattern(r"[A-Za-z]\w*").sub(lambda name: f"x.{name[0].casefold()}", " ".join(text.split()))


def _stated(name: str, text: str, document: Document) -> float | None:
    """What a name of a formula is: by the remark, before the formula or behind it, or by the one line of the file that has that name."""
    said = pattern(rf"(?i)\b{name}\b[ \t]*(?:=|:|is)?[ \t]*(\d+(?:\.\d+)?)(?![\w.]*[*/(])").search(text)
    if said is not None:
        return float(said[1])
    found = {
        value.value
        for each in document.settings
        if each.state is State.ACTIVE and _plain(each.key).endswith(name.casefold()) and len(name) > 1
        for value in (read_value(each.value),)
        if isinstance(value, Number) and not value.unit and math.isfinite(value.value)
    }
    return found.pop() if len(found) == 1 else None


def _plain(key: str) -> str:
    plain = "".join(each for each in key.casefold() if each.isalnum())
    return next((plain.removesuffix(each) for each in _UNIT_ENDINGS if plain.endswith(each)), plain)
