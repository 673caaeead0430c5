"""What is asked of formulas of a header that follow a changed number, and of those that come by it to another number than the one
that is right for them.

Where it was worked out what a formula's value should be, that is said beside what it comes to, with the parts of it that stand in the
way, and what they would have to be. A formula that comes to less than nothing is a question, and what a sensor that stays where it was
has behind it is no shorter because the tube is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collect import definitions_of
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import facts
from cfgmigrate.machine.values import LEAVE_IT
from cfgmigrate.machine.word_places import key_says
from cfgmigrate.machine.words import read_name, split
from cfgmigrate.plan.formulas_that_follow import (
    MOST_NAMES_DEEP,
    Followed,
    NamedTexts,
    changed_names,
    followed_in,
    formula_comes_to,
    name_comes_to,
    told_in_row,
)
from cfgmigrate.plan.items import shown
from cfgmigrate.plan.model import Change
from cfgmigrate.plan.old_numbers import OF_A_SENSOR
from cfgmigrate.plan.parts_of_formulas import new_parts
from cfgmigrate.rules.result import Result
from cfgmigrate.sheet.model import Sheet

BEHIND_SENSOR = "new.filament_behind_sensor"
#: parts of a number by which another one is the same, and by which a limit may lie to the safe side
RIGHT, SAFE = 0.005, 0.1
#: mm by which two lengths are the same one
SAME_LENGTH = 1.0
#: how far a number that is π may lie from it: where its name says so, and where it doesn't
_CALLED_PI, _PI = 0.002, 0.00001
_NAME = pattern(r"[A-Za-z_]\w*")


class Apart(Struct, frozen=True):
    """A formula of a quantity that comes to another number by the changes than the one that is right for it. `stays` are the
    names and texts of its parts that no change moves, `needs` what its parts would have to be, where only one is not known."""

    followed: Followed
    quantity: str
    right: float
    #: where the names that it rests on are set, in bytes
    parts: tuple[tuple[str, int, int], ...]
    stays: tuple[tuple[str, str], ...] = ()
    needs: str = ""
    #: what all names stand for in the files, for a change that a formula holds back is not made
    texts: Mapping[str, str] = MappingProxyType({})
    names: tuple[str, ...] = ()

    @property
    def at(self) -> tuple[str, int]:
        return self.followed.document.path, self.followed.setting.line

    @property
    def told(self) -> str:
        """Both figures, with what stands in the way."""
        path, line = self.at
        way = f": {told_in_row([f'{name} stays {text}' for name, text in self.stays])}" if self.stays else ""
        return f"{self.followed.setting.key} ({path}:{line}) would come to {self.followed.comes_to}, and {self.right:.6g} is right{way}"

    @property
    def remedy(self) -> str:
        return f"by hand write {self.right:.6g} in place of the formula{f', or {self.needs}' if self.needs else ''}"

    def by_parts(self, sheet: Sheet) -> str:
        """How to come to the right number by the formula's parts, where the sheet has them; "" where it doesn't come out so."""
        ways = new_parts({name: self.texts[name] for name in self.names}, sheet)
        right = [(parts, after) for parts in ways if (after := self._with(parts)) is not None]
        if len(right) != 1:
            return ""
        ((parts, after),) = right
        told = ", ".join(f"{name} {old} → {new}" for name, (old, new) in parts.items())
        return f"by hand change its parts: {told}; then it comes to {after:.6g}. A factor that was measured with the old drive becomes 1 until it is measured anew"

    def _with(self, parts: Mapping[str, tuple[str, str]]) -> float | None:
        """What the formula comes to with these parts, where that is the right number."""
        tried = NamedTexts({**self.texts, **{name: new for name, (_, new) in parts.items()}})
        after = name_comes_to(self.followed.setting.key, tried)
        return after if after is not None and abs(after - self.right) <= RIGHT * abs(self.right) else None

    def rests_on(self, change: Change) -> bool:
        """Whether a change is to one of its parts."""
        return any(
            edit.file == path and start <= edit.start and edit.end <= end
            for edit in change.edits
            for path, start, end in self.parts
        )


def formulas_apart(
    machine: Machine, changes: Iterable[Change], right: Mapping[str, Result]
) -> Iterator[Apart]:
    """The formulas that come by the changes to another number than the one in `right` for their quantity."""
    asked = [each for each in machine.doubts if each.about and is_of_a_formula(each)]
    about = {(each.place.file, each.place.line): each.about for each in asked}
    if not about:
        return
    defined = definitions_of(machine.documents)
    old = NamedTexts({name: setting.value for name, (_, setting) in defined.items()})
    new = NamedTexts({**old.of, **dict(changed_names(defined, changes))})
    for followed in followed_in(defined, old, new):
        what = about.get((followed.document.path, followed.setting.line), "")
        result = right.get(what)
        wanted = _in_unit_of(followed, what, result) if result is not None else None
        if result is None or wanted is None or _is_right(followed.after, wanted, result):
            continue
        names = tuple(_resting_on(followed.setting.value, old))
        stays = [
            name
            for name in names
            if old.of[name] == new.of[name]
            and (number := formula_comes_to(old.of[name], NamedTexts({}), 0)) is not None
            and not _is_pi(name, number)
        ]
        unread = [name for name in stays if not _is_read(machine, *defined[name])]
        yield Apart(
            followed,
            what,
            wanted,
            tuple((defined[n][0].path, defined[n][1].start, defined[n][1].end) for n in names),
            tuple((name, old.of[name]) for name in unread or stays),
            _what_it_takes(followed, wanted, names, unread, old, new),
            old.of,
            names,
        )


def _is_pi(name: str, number: float) -> bool:
    """Whether a part of a formula is π, which stays on any machine."""
    called = "pi" in split(name)
    return abs(number - math.pi) <= (_CALLED_PI if called else _PI)


def is_of_a_formula(doubt: Doubt) -> bool:
    """Whether a doubt says that a value is a formula of a header."""
    return doubt.remedy.startswith(LEAVE_IT)


def _in_unit_of(followed: Followed, what: str, result: Result) -> float | None:
    """A result in the unit that a formula's name says; None where the formula had no number before that it could have."""
    unit, _ = key_says(what, read_name("", followed.setting.key).key)
    written = facts(what).unit(unit) if unit else None
    factor = 1.0 if written is None or written.reciprocal else written.factor
    plausible = facts(what).quantity.plausible(followed.before * factor)
    return result.value / factor if plausible and result.value is not None else None


def _is_right(after: float | None, wanted: float, result: Result) -> bool:
    """Whether a number is the wanted one as far as its uncertainty tells, or a limit that lies a little to the safe side."""
    if after is None or not after or not result.value:
        return after == wanted
    near = max(RIGHT * abs(wanted), abs(result.uncertainty * wanted / result.value))
    safe = (result.round_down and after < wanted) or (result.round_up and after > wanted)
    return abs(after - wanted) <= (SAFE * abs(wanted) if safe else near)


def _resting_on(text: str, texts: NamedTexts, depth: int = 0) -> Iterator[str]:
    """The names that a formula rests on, with those that these rest on."""
    for name in dict.fromkeys(_NAME.findall(text)) if depth <= MOST_NAMES_DEEP else ():
        if name in texts.of:
            yield name
            yield from _resting_on(texts.of[name], texts, depth + 1)


def _is_read(machine: Machine, document: Document, setting: Setting) -> bool:
    return any(
        each.place.file == document.path and setting.start <= each.start < setting.end
        for each in machine.every_reading
    )


def _what_it_takes(
    followed: Followed,
    wanted: float,
    names: Sequence[str],
    unread: Sequence[str],
    old: NamedTexts,
    new: NamedTexts,
) -> str:
    """What the parts that change would have to be with the only one that is not understood; "" where that can't be told."""
    number = name_comes_to(unread[0], new) if len(unread) == 1 else None
    if not number or not followed.after:
        return ""
    (name,) = unread
    shares = (wanted / followed.after, followed.after / wanted) if wanted else ()
    for share in shares:
        tried = name_comes_to(followed.setting.key, NamedTexts({**new.of, name: f"{number * share:.9g}"}))
        if tried is not None and abs(tried - wanted) <= RIGHT * abs(wanted):
            moved = [f"{each} {new.of[each]}" for each in names if old.of[each] != new.of[each]]
            return told_in_row([*moved, f"{name} {number * share:.4g}"])
    return ""


def questions(
    found: Sequence[Followed],
    doubts: Iterable[Doubt],
    sheet: Sheet,
    changes: Iterable[Change] = (),
    apart: Sequence[Apart] = (),
    right: Mapping[str, Result] = MappingProxyType({}),
) -> Iterator[Doubt]:
    """The doubts, those about a formula with what it comes to, or with what is written elsewhere where it doesn't follow, and
    one more for each that comes to less than nothing or to another length behind a sensor. `apart` are the formulas that
    would come to another number than the one in `right`."""
    written: dict[str, list[Change]] = {}
    for each in changes:
        if each.edits:
            written.setdefault(each.quantity, []).append(each)
    at = {(each.document.path, each.setting.line): each for each in found}
    wrong_at = {each.at: each for each in apart}
    told: set[tuple[str, int]] = set()
    for doubt in doubts:
        place = doubt.place.file, doubt.place.line
        if not is_of_a_formula(doubt):  # whatever else is asked there stays
            yield doubt
            continue
        if place in told:  # a row that takes the formula in asks for it once more
            continue
        if (wrong := wrong_at.get(place)) is not None:
            yield replace(doubt, why=wrong.told, remedy=wrong.by_parts(sheet) or wrong.remedy)
        elif (followed := at.get(place)) is None:
            yield _not_followed(doubt, written.get(doubt.about, ()), right.get(doubt.about))
            continue
        else:
            remedy = _remedy(followed, sheet, right.get(doubt.about))
            yield replace(doubt, why=f"{followed.told}{_wrong(followed, sheet)}", remedy=remedy)
        told.add(place)
    for followed in at.values():
        setting = followed.setting
        if (followed.document.path, setting.line) not in told and (why := _wrong(followed, sheet)):
            place_ = Place(followed.document.path, setting.line, setting.column)
            text = f"{setting.key} = {setting.value}"
            yield Doubt(place_, text, f"{followed.told}{why}", _remedy(followed, sheet))


def _not_followed(doubt: Doubt, written: Sequence[Change], right: Result | None) -> Doubt:
    """The doubt about a formula that stays as it was; where its value is written elsewhere, with what that becomes, if that
    is one, and else with what was worked out for it."""
    stays = "this formula stays what it was: none of its parts changes"
    if not written and right is None:
        return doubt
    if not written:
        assert right is not None
        why, remedy = f"{stays}, and {shown(right)} is right", "write that in place of the formula by hand"
        return replace(doubt, why=why, remedy=f"{remedy}, in this line's own unit")
    if len({each.new.text for each in written}) > 1:
        return replace(doubt, why=stays, remedy="write there by hand what it is with the new drive")
    edit = written[0].edits[0]
    why = f"{stays}, while {edit.file}:{edit.line} becomes {written[0].new.text}"
    remedy = "where the machine reads this line, write the same amount there by hand, in this line's own unit"
    return replace(doubt, why=why, remedy=remedy)


def _wrong(followed: Followed, sheet: Sheet) -> str:
    if followed.after is None or (not followed.after and followed.zeros):
        return ": a part of it is nothing now"
    if followed.after < 0 <= followed.before:
        return ": less than nothing, so it goes the other way"
    if not OF_A_SENSOR.search(followed.setting.key):
        return ""
    said = sheet.get(BEHIND_SENSOR)
    if said is None or said.value is None:
        return "; what lies behind a sensor that stayed where it was does not get shorter with the tube"
    return f", and the sheet says {said.value:g} mm" if abs(said.value - followed.after) > SAME_LENGTH else ""


def _remedy(followed: Followed, sheet: Sheet, right: Result | None = None) -> str:
    if not _wrong(followed, sheet):
        beside = f"; {shown(right)} was worked out for it" if right is not None else ""
        return f"leave the formula where {followed.comes_to} is right{beside}; else write the number in its place by hand"
    said = sheet.get(BEHIND_SENSOR) if OF_A_SENSOR.search(followed.setting.key) else None
    number = "the number that is right now" if said is None or said.value is None else f"{said.value:g}"
    return f"write {number} in place of the formula by hand"
