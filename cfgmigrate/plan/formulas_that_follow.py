"""Formulas of a header that follow a changed number by its name: what each of them came to, and what it comes to now.

`(TUBE_LEN - 15)` stays as it is and changes all the same. What it comes to then may be less than nothing, and what a sensor
that stays where it was has behind it is no shorter because the tube is. Those two are questions, and so is every formula
that was one before the numbers were known; the rest is told with the lines that are left.

Only names and plain arithmetic are worked out, and whole numbers are divided as C divides them. Nothing is written by this.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.collect import definitions_of
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.values import LEAVE_IT
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.model import Change
from cfgmigrate.plan.old_numbers import OF_A_SENSOR
from cfgmigrate.sheet.model import Sheet

BEHIND_SENSOR = "new.filament_behind_sensor"
#: so much of a formula is looked at, and so deep in names
LONGEST_ARITHMETIC, MOST_NAMES_DEEP = 200, 8
#: what is more is nothing that a machine has
MOST_COMES_TO = 1e15
#: mm by which two lengths are the same one
SAME_LENGTH = 1.0
_NAME = re.compile(r"[A-Za-z_]\w*")
#: a number with what C lets stand behind it to say its type
_TYPED = re.compile(r"(?<![\w.])(\d{1,9}(?:\.\d{0,9})?|\.\d{1,9})([fFuUlL]{0,3})(?![\w.])")


class Followed(Struct, frozen=True):
    """A formula, the changed names that it rests on, and what it came to and comes to now."""

    document: Document
    setting: Setting
    names: tuple[str, ...]
    before: float
    after: float

    @property
    def told(self) -> str:
        return (
            f"it follows {', '.join(self.names)} and comes to {self.after:g} then, for {self.before:g} before"
        )


def formulas_that_follow(machine: Machine, changes: Iterable[Change]) -> tuple[Followed, ...]:
    """The formulas that come to something else by the changes, in the order of the files."""
    defined = definitions_of(machine.documents)
    old = _Texts({name: setting.value for name, (_, setting) in defined.items()})
    new = _Texts({**old.of, **dict(_changed(defined, changes))})
    moved = {name for name in old.of if old.of[name] != new.of[name]}
    found = []
    for name, (document, setting) in defined.items() if moved else ():
        before, after = _comes_to(name, old), _comes_to(name, new)
        if name not in moved and before is not None and after is not None and before != after:
            parts = (each for each in _NAME.findall(setting.value) if each in old.of)
            rests = [each for each in parts if _comes_to(each, old) != _comes_to(each, new)]
            found.append(Followed(document, setting, tuple(dict.fromkeys(rests)), before, after))
    return tuple(found)


def questions(
    found: Sequence[Followed], doubts: Iterable[Doubt], sheet: Sheet, changes: Iterable[Change] = ()
) -> Iterator[Doubt]:
    """The doubts, those about a formula with what it comes to, or with what is written elsewhere where it doesn't follow, and
    one more for each that comes to less than nothing or to another length behind a sensor."""
    written: dict[str, list[Change]] = {}
    for each in changes:
        if each.edits:
            written.setdefault(each.quantity, []).append(each)
    at = {(each.document.path, each.setting.line): each for each in found}
    for doubt in doubts:
        followed = at.get((doubt.place.file, doubt.place.line))
        if not doubt.remedy.startswith(LEAVE_IT):  # whatever else is asked there stays
            yield doubt
        elif followed is None:
            yield _not_followed(doubt, written.get(doubt.about, ()))
        else:
            del at[doubt.place.file, doubt.place.line]
            yield replace(
                doubt, why=f"{followed.told}{_wrong(followed, sheet)}", remedy=_remedy(followed, sheet)
            )
    for followed in at.values():
        if wrong := _wrong(followed, sheet):
            setting = followed.setting
            place = Place(followed.document.path, setting.line, setting.column)
            text = f"{setting.key} = {setting.value}"
            yield Doubt(place, text, f"{followed.told}{wrong}", _remedy(followed, sheet))


def _not_followed(doubt: Doubt, written: Sequence[Change]) -> Doubt:
    """The doubt about a formula that stays as it was; where its value is written elsewhere, with what that becomes, if that
    is one."""
    if not written:
        return doubt
    stays = "this formula stays what it was: none of its parts changes"
    if len({each.new.text for each in written}) > 1:
        return replace(doubt, why=stays, remedy="write there by hand what it is with the new drive")
    edit = written[0].edits[0]
    why = f"{stays}, while {edit.file}:{edit.line} becomes {written[0].new.text}"
    remedy = "where the machine reads this line, write the same amount there by hand, in this line's own unit"
    return replace(doubt, why=why, remedy=remedy)


def notes(found: Iterable[Followed]) -> Iterator[Beside]:
    """Their lines, for those that no question is about."""
    for each in found:
        text = f"{each.setting.key} = {each.setting.value}"
        yield each.document.path, each.setting.line, text, each.told


def _changed(
    defined: Mapping[str, tuple[Document, Setting]], changes: Iterable[Change]
) -> Iterator[tuple[str, str]]:
    """The names that are edited, with their new texts."""
    edits = [edit for change in changes for edit in change.edits]
    for name, (document, setting) in defined.items():
        for edit in edits:
            if edit.file == document.path and setting.start <= edit.start and edit.end <= setting.end:
                yield name, setting.value.replace(edit.old, edit.new, 1)


def _wrong(followed: Followed, sheet: Sheet) -> str:
    if followed.after < 0 <= followed.before:
        return ": less than nothing, so it goes the other way"
    if not OF_A_SENSOR.search(followed.setting.key):
        return ""
    said = sheet.get(BEHIND_SENSOR)
    if said is None or said.value is None:
        return "; what lies behind a sensor that stayed where it was does not get shorter with the tube"
    return f", and the sheet says {said.value:g} mm" if abs(said.value - followed.after) > SAME_LENGTH else ""


def _remedy(followed: Followed, sheet: Sheet) -> str:
    if not _wrong(followed, sheet):
        return (
            f"leave the formula where {followed.after:g} is right; else write the number in its place by hand"
        )
    said = sheet.get(BEHIND_SENSOR) if OF_A_SENSOR.search(followed.setting.key) else None
    number = "the number that is right now" if said is None or said.value is None else f"{said.value:g}"
    return f"write {number} in place of the formula by hand"


class _Texts(Struct):
    """What names stand for, and what they came to so far, by the depth at which they stood: many formulas rest on one name."""

    of: dict[str, str]
    known: dict[tuple[str, int], float | None] = {}


def _comes_to(name: str, texts: _Texts, depth: int = 0) -> float | None:
    """What a name comes to, None where it is no plain arithmetic, or more than any machine has."""
    if depth > MOST_NAMES_DEEP:
        return None
    if (name, depth) not in texts.known:
        found = _formula(texts.of.get(name, ""), texts, depth)
        texts.known[name, depth] = found if found is not None and abs(found) <= MOST_COMES_TO else None
    return texts.known[name, depth]


def _formula(text: str, texts: _Texts, depth: int) -> float | None:
    text = text[:LONGEST_ARITHMETIC].replace("\\", " ")
    plain = _TYPED.sub(lambda at: at[1] if "f" not in at[2].lower() or "." in at[1] else f"{at[1]}.0", text)
    try:
        return _worked_out(ast.parse(" ".join(plain.split()), mode="eval").body, texts, depth)
    except (SyntaxError, ValueError, OverflowError, ZeroDivisionError, RecursionError, MemoryError):
        return None


def _worked_out(node: ast.expr, texts: _Texts, depth: int) -> float | None:
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, int | float) else None
    if isinstance(node, ast.Name):
        return _comes_to(node.id, texts, depth + 1)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        inner = _worked_out(node.operand, texts, depth)
        return None if inner is None else -inner
    if not isinstance(node, ast.BinOp):
        return None
    left, right = (_worked_out(each, texts, depth) for each in (node.left, node.right))
    if left is None or right is None:
        return None
    match node.op:
        case ast.Add():
            return left + right
        case ast.Sub():
            return left - right
        case ast.Mult():
            return left * right
        case ast.Div() if isinstance(left, int) and isinstance(right, int):
            return int(left / right)
        case ast.Div():
            return left / right
    return None
