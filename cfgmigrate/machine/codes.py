"""Settings written as word-address lines: which quantity a word sets, by its code and letter.

The table is `codes.yaml`. A line may say which feeder it is about (`T1`), or give one letter several numbers
joined by colons, one a feeder. The stretches of a file that move axes are scripts: their moves are for the
rules that look after limits, so they are given as such, with the occasion that the file's name says.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Number, Ratio, read_value
from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import check_fields, load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.machine.quantities import facts, known, of_feeder
from cfgmigrate.machine.script_role import occasion
from cfgmigrate.machine.values import Said, Spot, one_a_feeder, reading_of
from cfgmigrate.machine.words import read_name

_FILE = "codes.yaml"
_FIELDS = frozenset({"says", "words", "beside", "without", "where"})
_CODE = re.compile(r"([A-Za-z])0*(\d+(?:\.\d+)?)")
_LINE = re.compile(rb"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+\Z")
DIALECT = "command"

#: The words of one line: letter and value.
Line = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Use:
    """What the letters of a code set where the conditions hold: quantity and unit."""

    words: Mapping[str, tuple[str, str]]
    beside: frozenset[str]
    without: frozenset[str]
    where: Mapping[str, float]

    def holds(self, line: Line) -> bool:
        if (self.beside and not self.beside & set(line)) or self.without & set(line):
            return False
        return all(_is(line.get(letter), number) for letter, number in self.where.items())


def _is(text: str | None, number: float) -> bool:
    value = read_value(text) if text is not None else None
    return isinstance(value, Number) and value.value == number


@dataclass(frozen=True, slots=True)
class _Table:
    codes: Mapping[str, tuple[_Use, ...]]
    tool: str
    moves: frozenset[str]


@compiled
def _table() -> _Table:
    data = load(Path(__file__).with_name(_FILE), {"codes": dict, "tool": str, "moves": list})
    codes = {code: tuple(_use(code, raw) for raw in uses) for code, uses in data["codes"].items()}
    return _Table(codes, data["tool"], frozenset(data["moves"]))


def _use(code: str, raw: object) -> _Use:
    fields = check_fields(_FILE, code, raw, _FIELDS)
    words = {}
    for letter, meaning in fields["words"].items():
        spelled = meaning if isinstance(meaning, dict) else {"quantity": meaning}
        name, unit = spelled["quantity"], spelled.get("unit", "")
        if not known(name) or (unit and facts(name).unit(unit) is None):
            raise BadInput(f"`{code}` {letter}: there is no {name} in {unit or 'its unit'}", Place(_FILE))
        words[letter] = (name, unit)
    return _Use(
        words,
        frozenset(fields.get("beside", [])),
        frozenset(fields.get("without", [])),
        {letter: float(number) for letter, number in fields.get("where", {}).items()},
    )


def coded(code: str) -> str:
    """A code as the table has it: capital letter, no leading zeros."""
    found = _CODE.fullmatch(code.strip())
    return f"{found[1].upper()}{found[2]}" if found else code.strip().upper()


def table_codes() -> Mapping[str, frozenset[str]]:
    """All codes that the table has, each with its letters."""
    return {
        code: frozenset(letter for use in uses for letter in use.words)
        for code, uses in _table().codes.items()
    }


def lines_of(document: Document) -> dict[int, dict[str, str]]:
    """The words of every line of a document, by line."""
    found: dict[int, dict[str, str]] = {}
    for setting in document.settings:
        found.setdefault(setting.line, {})[setting.key.upper()] = setting.value
    return found


def selects_tool(setting: Setting) -> bool:
    """Whether a word by itself chooses the feeder that the next lines are about."""
    return setting.section == setting.key == _table().tool


def tool_number(text: str) -> int | None:
    """The number of a feeder, None where the text is none."""
    value = read_value(text)
    return int(value.value) if isinstance(value, Number) and value.value >= 0 else None


def code_fit(setting: Setting, line: Line, tool: int | None = None) -> tuple[Fit, int | None] | None:
    """The quantity that a word sets and the number of the feeder it is about: what its line says, else the
    one that is chosen (`tool`). None where the table has no such word."""
    use = next((use for use in _table().codes.get(coded(setting.section), ()) if use.holds(line)), None)
    meaning = use.words.get(setting.key.upper()) if use else None
    if meaning is None:
        return None
    quantity, unit = meaning
    said = line.get(_table().tool)
    number = tool if said is None else tool_number(said)
    return Fit(quantity, unit, measure=quantity.rpartition(".")[2]), number


def code_said(spot: Spot, fit: Fit) -> Said:
    """What a word says: one number, or several joined by colons, one a feeder."""
    setting = spot.setting
    value = read_value(setting.resolved or setting.value)
    if setting.resolved and isinstance(value, Number):
        value = replace(value, start=0, end=len(setting.value))
    if isinstance(value, Ratio) and len(value.stages) == 1 and facts(fit.quantity).quantity.kind != "ratio":
        if not of_feeder(fit.quantity):
            return Said((), (spot.doubt("several numbers stand where one belongs"),))
        return one_a_feeder(spot, fit, value.stages[0])
    return reading_of(spot, fit, value)


def scripts_of(document: Document) -> list[Reading]:
    """The stretches of a document that move axes, as scripts: runs of lines between those that set something.

    So an edit of a setting never falls into a script. [] for a document that moves nothing.
    """
    lines = lines_of(document)
    setting_lines = {s.line for s in document.settings if code_fit(s, lines[s.line])}
    moving = {
        s.line for s in document.settings if s.state is State.ACTIVE and coded(s.section) in _table().moves
    }
    spans = [found.span() for found in _LINE.finditer(document.data)]
    runs: list[list[int]] = [[]]
    for number in range(1, len(spans) + 1):
        if number in setting_lines:
            runs.append([])
        else:
            runs[-1].append(number)
    runs = [run for run in runs if moving.intersection(run)]
    role = occasion(read_name("", PurePosixPath(document.path).stem))
    return [
        _script(document, role, run[0], spans[run[0] - 1][0], spans[run[-1] - 1][1], len(runs) == 1)
        for run in runs
    ]


def _script(document: Document, role: str, line: int, start: int, end: int, single: bool) -> Reading:
    text = document.slice(start, end)
    key = document.path if single else f"{document.path}:{line}"
    whole = Setting("", key, text, start, end, line, 1)
    return Reading(role, None, text, Place(document.path, line, 1), start, end, Form(), whole)
