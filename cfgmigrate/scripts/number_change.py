"""One number of a script as something that can be changed: where it stands, and the result that replaces it.

A `Script` is a script of the machine with its moves. A `ScriptChange` is a result like those of the rule book,
with the places of the numbers that it replaces. This module knows no limits and no paths.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.script_text import script_alone
from cfgmigrate.dialects.source import Source
from cfgmigrate.files.own_words import is_script_of
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Form, Machine, Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.rules import dimensions
from cfgmigrate.rules.derivation import derive
from cfgmigrate.rules.formula import evaluate, names, nominal, read_expression
from cfgmigrate.rules.result import Result, Status
from cfgmigrate.rules.rule import Way
from cfgmigrate.rules.scope import NamedValue, Scope
from cfgmigrate.scripts.feed_letter import feed_letter
from cfgmigrate.scripts.own_moves import read_own_script
from cfgmigrate.scripts.reading import INCH, Move, ScriptWord, read_script
from cfgmigrate.sheet.model import Sheet

#: M82, which says that feeds are to places
_FEEDS_TO_PLACES = pattern(rb"(?<![A-Za-z0-9_])[Mm]0{0,4}82(?![0-9.])")


class Script(Struct, frozen=True):
    """A script of the machine: its reading, the file it stands in, and its moves in their order."""

    reading: Reading
    source: Source
    moves: tuple[Move, ...]

    def feeders_at(self, move: Move, first: int | None) -> tuple[int, ...]:
        """The feeders that a move may be of: that of the tool in force, where `first` is the number by which tools are
        counted from, or of the one that was taken by name, else all that the script is for."""
        if move.feeder is not None:
            return (move.feeder,)
        number = None if move.tool is None or first is None else move.tool - first + 1
        return (number,) if number is not None and number in self.reading.serves else self.reading.serves

    @property
    def label(self) -> str:
        return quantity(self.reading.quantity).label

    def place(self, offset: int) -> Place:
        return self.source.place(offset)

    def line(self, offset: int) -> int:
        return self.source.where(offset)[0]

    def text(self, move: Move) -> str:
        """A move's line as a person reads it, without quotes or a written-out line end around it."""
        line = self.source.data[move.start : move.end].decode("utf-8", errors="backslashreplace").strip()
        line = line.removeprefix("- ")
        return line.removesuffix("\\").removesuffix("\\r").removesuffix("]").strip("\"', ")

    def doubt(self, move: Move, word: ScriptWord, why: str, remedy: str) -> Doubt:
        return Doubt(self.place(word.start), self.text(move), why, remedy)

    def number(self, word: ScriptWord, target: str, scale: float) -> Reading:
        """The number behind a letter as a reading of `target` in mm."""
        assert word.value is not None
        form = Form("inch", INCH, note="inch → mm (G20)")
        if abs(scale) == 1:
            form = Form("mm") if scale == 1 else Form("mm", -1.0, note="out of the hot end counts up")
        return Reading(
            target,
            word.value * scale,
            word.text,
            self.place(word.start),
            word.start,
            word.end,
            form,
            self.reading.setting,
        )


class ScriptChange(Struct, frozen=True):
    """A result for numbers within a script, and their places; its target is the script's id with a word's
    letter behind it (`script.end.z`)."""

    result: Result
    places: tuple[Reading, ...]


@once
def scripts_of(machine: Machine) -> tuple[Script, ...]:
    """Every script in force that moves something, with its twins, in the order of files and lines."""
    sources: dict[str, Source] = {}
    found: list[Script] = []
    letter = feed_letter(machine)
    names = {name.casefold(): number for name, number in machine.feeder_names.items()}
    follows = not any(_FEEDS_TO_PLACES.search(document.data) for document in machine.documents)
    for reading in machine.readings:
        if quantity(reading.quantity).kind != "script":
            continue
        for place in (*machine.followers(reading), reading):
            document = machine.document(place.place.file)
            source = sources.setdefault(document.path, Source(document.path, document.data))
            moves = moves_of(document, place, letter, names, follows)
            if moves:
                found.append(Script(place, source, moves))
    return tuple(found)


def moves_of(
    document: Document,
    script: Reading,
    letter: str,
    names: Mapping[str, int] | None = None,
    follows: bool = True,
) -> tuple[Move, ...]:
    """The moves of a script of a document, where `letter` moves the filament; see `read_script`. What its owner explained of
    the script's words counts before what a code usually is."""
    if explained_by_owner(document, script):
        return read_own_script(document, script, names)
    return read_script(document.data, script.start, script.end, document.dialect, letter, names, follows)


def explained_by_owner(document: Document, script: Reading) -> bool:
    """Whether a script is in codes whose words its owner explained: as a whole file, or by half of its lines."""
    if not document.own_words or document.dialect == "command":
        return bool(document.own_words)
    text = script_alone(document.data[script.start : script.end].decode("latin-1"), document.dialect)
    return is_script_of(text.encode("latin-1"), dict(document.own_words))


class Wording(Struct, frozen=True):
    """What a change to a script says of itself."""

    label: str
    way: str
    says: str
    source: str
    verify: str
    cautions: tuple[str, ...]
    check_at: str


def change_of(
    places: Sequence[Reading],
    formula: str,
    given: Sequence[NamedValue],
    wording: Wording,
    sheet: Sheet,
    *,
    status: Status = Status.COMPUTED,
    round_down: bool = False,
    round_up: bool = False,
) -> ScriptChange:
    """The change of `places` to what `formula` comes to. Names in it are those of `given`, fields of the
    sheet, and `was.` with the places' quantity: the first place's number."""
    first = places[0]
    scope = Scope(Machine((), ()), sheet, {})
    origin = f"{first.place.file}:{first.place.line}"
    own = NamedValue(
        f"was.{first.quantity}", wording.label, "mm", origin, base=_base(first.value), text=first.text
    )
    for each in (own, *given):
        scope.keep(each.name, "", each)
    tree = read_expression(formula)
    way = Way(wording.way, names(tree), status, wording.source, first.place, formula, tree)
    base = evaluate(tree, scope.bases(way.needs))
    unit = dimensions.unit("mm")
    result = Result(
        rule=first.quantity,
        target=first.quantity,
        label=wording.label,
        unit="mm",
        value=unit.from_base(nominal(base)),
        uncertainty=float(getattr(base, "std_dev", 0.0)) / unit.factor,
        status=status,
        way=wording.way,
        derivation=derive(way, base, scope),
        says=wording.says,
        round_down=round_down,
        round_up=round_up,
        verify=wording.verify,
        cautions=wording.cautions,
        check_at=wording.check_at,
        depends=tuple(each.name.removeprefix("will.") for each in given),
    )
    return ScriptChange(result, tuple(places))


def _base(value: float | None) -> float:
    assert value is not None
    return dimensions.unit("mm").to_base(value)
