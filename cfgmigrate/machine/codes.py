"""Settings written as word-address lines: which quantity a word sets, by its code and letter.

The table is `codes.yaml`; what it lacks, the file's remarks (`told_codes.py`) or a site file say. A line that selects
a tool says which feeder the next lines are about. The stretches of a file that move axes are scripts: their moves are for the
rules that look after limits, so they are given as such, with the occasion that the file's name says.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path, PurePosixPath

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.own_lines import own_lines
from cfgmigrate.dialects.value import Number, Ratio, read_value
from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import check_fields, load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import units
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.machine.quantities import facts, known, of_feeder
from cfgmigrate.machine.script_role import occasion
from cfgmigrate.machine.spots import Said, Spot, joined
from cfgmigrate.machine.values import reading_of
from cfgmigrate.machine.words import read_name

_FILE = "codes.yaml"
_FIELDS = frozenset({"says", "known", "words"})
_CODE = pattern(r"([A-Za-z])0*(\d+(?:\.\d+)?)")
_LINE = pattern(rb"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+\Z")
DIALECT = "command"
_DIAMETER = "filament.diameter"


class _Table(Struct, frozen=True):
    """`codes` give for a code and a letter quantity and unit."""

    codes: Mapping[str, Mapping[str, tuple[str, str]]]
    tool: str
    moves: frozenset[str]
    places: frozenset[str]
    labels: frozenset[str]


@compiled
def _table() -> _Table:
    fields = {"codes": dict, "tool": str, "moves": list, "places": list, "labels": list}
    data = load(Path(__file__).with_name(_FILE), fields)
    codes = {code: _words(code, raw) for code, raw in data["codes"].items()}
    moves, places, labels = (frozenset(data[each]) for each in ("moves", "places", "labels"))
    return _Table(codes, data["tool"], moves, places, labels)


def _words(code: str, raw: object) -> Mapping[str, tuple[str, str]]:
    words = {}
    for letter, meaning in check_fields(_FILE, code, raw, _FIELDS)["words"].items():
        spelled = meaning if isinstance(meaning, dict) else {"quantity": meaning}
        name, unit = spelled["quantity"], spelled.get("unit", "")
        if not known(name) or (unit and facts(name).unit(unit) is None):
            raise BadInput(f"`{code}` {letter}: there is no {name} in {unit or 'its unit'}", Place(_FILE))
        words[letter] = (name, unit)
    return words


@lru_cache(maxsize=4096)
def coded(code: str) -> str:
    """A code as the table has it: capital letter, no leading zeros."""
    found = _CODE.fullmatch(code.strip())
    return f"{found[1].upper()}{found[2]}" if found else code.strip().upper()


def table_codes() -> Mapping[str, frozenset[str]]:
    """All codes that the table has, each with its letters."""
    return {code: frozenset(words) for code, words in _table().codes.items()}


def letters_of(code: str) -> frozenset[str]:
    """The letters that the table has of a code."""
    return frozenset(_table().codes.get(coded(code), ()))


def set_by(code: str, letter: str) -> str:
    """The quantity that the table has of a code's letter."""
    return _table().codes[coded(code)][letter.upper()][0]


def moves_axes(code: str) -> bool:
    """Whether a code moves axes."""
    return coded(code) in _table().moves


def sets_nothing(code: str) -> bool:
    """Whether a code gives a place another number, and no remark makes it a setting."""
    return coded(code) in _table().places


def holds_a_label(setting: Setting) -> bool:
    """Whether the words of a key say that its value is a pin, a port, a version, and nothing of when it would run."""
    name = read_name(setting.section, setting.key)
    of_section = set(name.section) if len(name.section) == 1 else set()
    return not _table().labels.isdisjoint({*name.key} | of_section) and occasion(name) == "script.other"


def selects_tool(setting: Setting) -> bool:
    """Whether a word by itself chooses the feeder that the next lines are about."""
    return setting.section == setting.key == _table().tool


def tool_number(text: str) -> int | None:
    """The number of a feeder, None where the text is none."""
    value = read_value(text)
    return int(value.value) if isinstance(value, Number) and value.value >= 0 else None


def code_fit(setting: Setting) -> Fit | None:
    """The quantity that a word sets, None where the table has no such word."""
    meaning = _table().codes.get(coded(setting.section), {}).get(setting.key.upper())
    if meaning is None:
        return None
    quantity, unit = meaning
    return Fit(quantity, unit, measure=quantity.rpartition(".")[2])


def of_two_feeders(spot: Spot, fit: Fit) -> Said | None:
    """What the feeder's letter says of two of them with a colon between, the first feeder's first: `E94.1:93.4`; None for
    any other word."""
    value = read_value(spot.setting.value)
    meant = facts(fit.quantity).quantity
    if not (
        isinstance(value, Ratio) and len(value.stages) == 1 and of_feeder(meant.id) and meant.kind == "number"
    ):
        return None
    return joined([reading_of(spot, fit, one).of_feeder(at) for at, one in enumerate(value.stages[0], 1)])


def code_said(spot: Spot, fit: Fit) -> Said:
    """What a word says: one number."""
    setting = spot.setting
    value = read_value(setting.resolved or setting.value)
    if setting.resolved and isinstance(value, Number):
        value = replace(value, start=0, end=len(setting.value))
    if fit.quantity == _DIAMETER and isinstance(value, Number) and not value.value:
        return Said((), ())  # it switches counting by volume off, and says nothing of the filament
    if facts(fit.quantity).quantity.kind == "truth":
        fit = replace(fit, turned=True)
    return reading_of(spot, fit, value)


def code_line(setting: Setting, quantity: str, read_in: str = "") -> str:
    """The entry of a site file's `codes` that says what a word of a code sets, "" for a word that has none; in the unit that its
    number was `read_in`, where there is one."""
    unit = facts(quantity).quantity.unit if known(quantity) else ""
    if unit in units() and read_in in units() and units()[read_in].of == units()[unit].of:
        unit = read_in
    meant = f"{{quantity: {quantity}, unit: {unit}}}" if unit in units() else quantity
    return (
        f"{setting.section}.{setting.key.upper()}: {meant}"
        if setting.section and not setting.key.islower()
        else ""
    )


def as_told(said: Said, spot: Spot) -> Said:
    """Readings of a code that only a remark explains: editable where its unit is stated or confirmed, or where it has
    none."""
    readings = []
    for reading in said.readings:
        unit = facts(reading.quantity).quantity.unit
        of = units()[unit].of if unit in units() else ""
        certain = not unit or spot.unit is not None or of in spot.file_units or of in spot.confirmed
        line = code_line(spot.setting, reading.quantity, reading.form.unit)
        taught = f"; if it is that, add to cfgmigrate.yaml, under codes: {line}" if line else ""
        if not reading.editable and certain:
            readings.append(reading)
            continue
        why = "" if certain else f"only a remark says what this code sets, and no unit is stated{taught}"
        readings.append(replace(reading, editable=certain, why_not=why))
    return Said(tuple(readings), said.doubts)


def scripts_of(document: Document, explained: Iterable[int] = ()) -> list[Reading]:
    """The stretches of a document that move axes, as scripts: runs of lines between those that set something.

    `explained` are the lines that set something by what a remark says. So an edit of a setting never falls into a
    script. [] for a document that moves nothing.
    """
    moves = {s.line for s in document.settings if coded(s.section) in _table().moves}
    setting_lines = {s.line for s in document.settings if code_fit(s)} | (set(explained) - moves)
    moving = {
        s.line for s in document.settings if s.state is State.ACTIVE and coded(s.section) in _table().moves
    }
    runs = [run for run in _between(setting_lines, document) if moving.intersection(run)]
    role = occasion(read_name("", PurePosixPath(document.path).stem))
    return _scripts(document, role, runs)


def _between(setting_lines: Container[int], document: Document) -> Iterator[list[int]]:
    """The runs of lines, by number, between those that set something."""
    run: list[int] = []
    for number in range(1, len(_LINE.findall(document.data)) + 1):
        if number not in setting_lines:
            run.append(number)
        elif run:
            yield run
            run = []
    if run:
        yield run


def _scripts(document: Document, role: str, runs: Sequence[Sequence[int]]) -> list[Reading]:
    spans = [found.span() for found in _LINE.finditer(document.data)]
    return [
        _script(document, role, run[0], spans[run[0] - 1][0], spans[run[-1] - 1][1], len(runs) == 1)
        for run in runs
    ]


def _script(document: Document, role: str, line: int, start: int, end: int, single: bool) -> Reading:
    text = document.slice(start, end)
    key = document.path if single else f"{document.path}:{line}"
    whole = Setting("", key, text, start, end, line, 1)
    return Reading(role, None, text, Place(document.path, line, 1), start, end, Form(), whole)


def own_script(document: Document) -> list[Reading]:
    """A script in codes of its owner's own as a whole, but for lines that set something: what they set is no move's."""
    setting_lines = {each.line for each in document.settings}
    first = next((line.remark for line in own_lines(document.data.decode("latin-1")) if line.remark), "")
    roles = [occasion(read_name("", name)) for name in (PurePosixPath(document.path).stem, first)]
    role = next((each for each in roles if each != "script.other"), "script.other")
    return _scripts(document, role, list(_between(setting_lines, document)))


def in_rows(document: Document) -> list[Setting]:
    """The settings of a word-address file that stand in a row with a label and have names, as in any other dialect."""
    named = [each for each in document.settings if each.key.islower()]
    lines = Counter(each.line for each in named)
    return [each for each in named if lines[each.line] > 1]
