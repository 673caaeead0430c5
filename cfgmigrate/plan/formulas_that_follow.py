"""Formulas of a header that follow a changed number by its name: what each of them came to, and what it comes to now.

`(TUBE_LEN - 15)` stays as it is and changes all the same. What is asked of such formulas is in `formulas_apart.py`; the rest is told with
the lines that are left.

Only names and plain arithmetic are worked out, and whole numbers are divided as C divides them. Nothing is written by this.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collect import definitions_of
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.model import Change

Defined = Mapping[str, tuple[Document, Setting]]

#: so much of a formula is looked at, and so deep in names
LONGEST_ARITHMETIC, MOST_NAMES_DEEP = 200, 8
#: what is more is nothing that a machine has
MOST_COMES_TO = 1e15
_NAME = pattern(r"[A-Za-z_]\w*")
#: a number with what C lets stand behind it to say its type
_TYPED = pattern(r"(?<![\w.])(\d{1,9}(?:\.\d{0,9})?|\.\d{1,9})([fFuUlL]{0,3})(?![\w.])")


class Followed(Struct, frozen=True):
    """A formula, the changed names that it rests on, and what it came to and comes to now: None where that is no number."""

    document: Document
    setting: Setting
    names: tuple[str, ...]
    before: float
    after: float | None
    #: those of the names that become 0
    zeros: tuple[str, ...] = ()

    @property
    def comes_to(self) -> str:
        """What it comes to now, in words."""
        become = "become" if len(self.zeros) > 1 else "becomes"
        zero = f" since {told_in_row(self.zeros)} {become} 0" if self.zeros and not self.after else ""
        return f"{'no number' if self.after is None else f'{self.after:g}'}{zero}"

    @property
    def told(self) -> str:
        return f"it follows {', '.join(self.names)} and comes to {self.comes_to} then, for {self.before:g} before"


def told_in_row(texts: Sequence[str]) -> str:
    """Texts of a sentence, with `and` before the last."""
    *before, last = texts
    return f"{', '.join(before)} and {last}" if before else last


def formulas_that_follow(machine: Machine, changes: Iterable[Change]) -> tuple[Followed, ...]:
    """The formulas that come to something else by the changes, in the order of the files."""
    defined = definitions_of(machine.documents)
    old = NamedTexts({name: setting.value for name, (_, setting) in defined.items()})
    new = NamedTexts({**old.of, **dict(changed_names(defined, changes))})
    return tuple(followed_in(defined, old, new))


def followed_in(defined: Defined, old: NamedTexts, new: NamedTexts) -> Iterator[Followed]:
    """The same between what the names stood for and what they stand for now."""
    moved = {name for name in old.of if old.of[name] != new.of[name]}
    for name, (document, setting) in defined.items() if moved else ():
        before, after = name_comes_to(name, old), name_comes_to(name, new)
        if name not in moved and before is not None and before != after:
            parts = (each for each in _NAME.findall(setting.value) if each in old.of)
            rests = dict.fromkeys(
                each for each in parts if name_comes_to(each, old) != name_comes_to(each, new)
            )
            zeros = (each for each in rests if name_comes_to(each, new) == 0)
            yield Followed(document, setting, tuple(rests), before, after, tuple(zeros))


def notes(found: Iterable[Followed]) -> Iterator[Beside]:
    """Their lines, for those that no question is about."""
    for each in found:
        text = f"{each.setting.key} = {each.setting.value}"
        yield each.document.path, each.setting.line, text, each.told


def changed_names(defined: Defined, changes: Iterable[Change]) -> Iterator[tuple[str, str]]:
    """The names that are edited, with their new texts."""
    edits = [edit for change in changes for edit in change.edits]
    for name, (document, setting) in defined.items():
        for edit in edits:
            if edit.file == document.path and setting.start <= edit.start and edit.end <= setting.end:
                yield name, setting.value.replace(edit.old, edit.new, 1)


class NamedTexts(Struct):
    """What names stand for, and what they came to so far, by the depth at which they stood: many formulas rest on one name."""

    of: dict[str, str]
    known: dict[tuple[str, int], float | None] = {}


def name_comes_to(name: str, texts: NamedTexts, depth: int = 0) -> float | None:
    """What a name comes to, None where it is no plain arithmetic, or more than any machine has."""
    if depth > MOST_NAMES_DEEP:
        return None
    if (name, depth) not in texts.known:
        found = formula_comes_to(texts.of.get(name, ""), texts, depth)
        texts.known[name, depth] = found if found is not None and abs(found) <= MOST_COMES_TO else None
    return texts.known[name, depth]


def formula_comes_to(text: str, texts: NamedTexts, depth: int) -> float | None:
    """What the text of a formula comes to, in the same way."""
    text = text[:LONGEST_ARITHMETIC].replace("\\", " ")
    plain = _TYPED.sub(lambda at: at[1] if "f" not in at[2].lower() or "." in at[1] else f"{at[1]}.0", text)
    try:
        return _worked_out(ast.parse(" ".join(plain.split()), mode="eval").body, texts, depth)
    except (SyntaxError, ValueError, OverflowError, ZeroDivisionError, RecursionError, MemoryError):
        return None


def _worked_out(node: ast.expr, texts: NamedTexts, depth: int) -> float | None:
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, int | float) else None
    if isinstance(node, ast.Name):
        return name_comes_to(node.id, texts, depth + 1)
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
