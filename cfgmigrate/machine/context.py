"""What a setting's place in its file says of it: the path without what stands before all keys, its unit, its remark.

What stands before all keys is left out (`wrappers.py`). In nested files a member `unit` says the unit of the numbers
beside it, and a member `value` is what the object's own name says.

What the keys beside it say of it is the matter of `keys_beside.py`. This module looks at words and places only; what
they mean together is the matter of `matching.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.value import Items, Number, Text, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import LEFT_AND_RIGHT
from cfgmigrate.ground.units import Unit, unit_written, units
from cfgmigrate.machine.asides import (
    DESCRIBES,
    is_past,
    turned_round,
    was_before,
    without_asides,
    without_occasion,
    without_site,
)
from cfgmigrate.machine.coded_keys import CodedKeys
from cfgmigrate.machine.converted import said_again, told_of_value, without_step_angle
from cfgmigrate.machine.explained import Explained
from cfgmigrate.machine.feeder_tables import sides_told
from cfgmigrate.machine.headings import heading
from cfgmigrate.machine.key_units import (
    DIMENSION_WORDS,
    goes_in,
    key_dimension,
    key_in_inches,
    measured_by_key,
    steps_said_once,
    without_in_of_unit,
)
from cfgmigrate.machine.keys_beside import WHOLE, KeysBeside
from cfgmigrate.machine.list_orders import order_and_sides, order_of_places, order_said, without_sides
from cfgmigrate.machine.members import Members
from cfgmigrate.machine.remarks import Remarks, remarks_of
from cfgmigrate.machine.rms_or_peak import QUALIFIERS, of_own_limit
from cfgmigrate.machine.sides import sided, twins
from cfgmigrate.machine.sides_by_sign import end_by_sign
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.stated import NOTHING, OF_A_SHARE, Stated
from cfgmigrate.machine.telling_keys import telling_keys
from cfgmigrate.machine.two_languages import in_english
from cfgmigrate.machine.two_meanings import filled, of_width, pushed_again, rate_of_feed, to_and_fro
from cfgmigrate.machine.unit_lines import UnitLines, unit_lines_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name, names_of, paths_of, split
from cfgmigrate.machine.wrappers import standing_before

#: words by which a key says itself what it is measured in
_MEASURES = frozenset({"length", "mm", "time", "current", "temperature", "step", "diameter", "position", "height", "ratio"})  # fmt: skip
_COUNTS = frozenset({"microstep", "full"})
_MICROSTEPS = pattern(r"\d+[ \t]*(?:u|µ|μ|micro[ -]?)steps?", re.I)
_STEPS_A_TURN = pattern(
    r"\d+[ \t]*(?:full[ \t]+)?steps?[ \t]*(?:/|per|a)[ \t]*(?:turn|rev|revolution|rotation)", re.I
)
#: letters by which feeders are told apart
_LETTERED = frozenset("ab")
#: what a setting is called that states the order of lists
_ORDERS = ("order", "sequence", "which", "columns")
Pieces = tuple[str, ...]


class Spoken(Struct, frozen=True):
    """What is known of a setting beside its value: the names it may have, the unit stated and where, and
    whether it only belongs to another setting (`beside`)."""

    names: tuple[Name, ...]
    unit: Unit | None = None
    qualifier: str = ""
    remark: str = ""
    order: str = ""
    beside: bool = False
    #: whether its remark says that its number is a share of something
    share: bool = False
    #: why a name says only half of what it is, which is read and not edited; "" where it says all
    half: str = ""


@dataclass(eq=False, repr=False)
class Context:
    """A document with all that is found once for it."""

    document: Document
    #: words that the user explained
    taught: Mapping[Pieces, Pieces] = field(default_factory=dict)
    remarks: Remarks = field(init=False)
    before: frozenset[Pieces] = field(init=False)
    members: Members = field(init=False)
    unit_lines: UnitLines = field(init=False)
    beside: KeysBeside = field(init=False)
    explained: Explained = field(init=False)
    coded_keys: CodedKeys = field(init=False)
    order: str = ""
    #: whether the head speaks of inches
    in_inches: bool = field(init=False)

    def __post_init__(self) -> None:
        self.remarks = remarks_of(self.document)
        self.before = standing_before(self.document, self.taught)
        self.unit_lines = unit_lines_of(self.document)
        self.members = Members(self.document, self.unit_lines.of_file)
        self.explained = Explained(self.document, self.remarks, self.taught)
        self.coded_keys = CodedKeys(self.document, self.remarks)
        self._twins = twins((*split(s.section), *split(s.key)) for s in self.document.settings)
        self.beside = KeysBeside(_own_path(setting) for setting in self.document.settings)
        self.order = self.remarks.order or self._order_setting()
        self.in_inches = "inch" in self.remarks.opening.lower()

    def _order_setting(self) -> str:
        for setting in self.document.settings:
            called = setting.key.lower()
            if any(word in called for word in _ORDERS) and (
                found := order_and_sides(setting.value.replace('"', ""))
            ):
                return found
        return order_of_places(self.document.settings)

    def spoken(self, setting: Setting, plain: tuple[str, str] | None = None) -> Spoken:
        """What is known of a setting. `plain` are its section and key without a profile's name in them."""
        section, key = plain or (setting.section, setting.key)
        remark = self.remarks.behind(setting) if self.remarks.in_lines else ""
        if remark and OF_A_SHARE.match(remark) and "%" not in setting.value:
            return Spoken((), share=True)
        told = _told_by(remark, setting.value) if remark else NOTHING
        if coded := self.coded_keys.said_of(setting):
            key, told = coded.words, replace(coded, words="")
        said = self.members.beside(setting, section, key)
        if said.beside or self.unit_lines.states(setting):
            return Spoken((), beside=True)
        section, key = said.section, said.key
        told = told if told.unit or told.qualifier or told.words else said.told
        if order_said(told.words):
            told = replace(told, words="")
        if key_in_inches(key) and (self.in_inches or not goes_in(key)):
            if not self.in_inches:
                return Spoken(())
            key, told = key[: key.lower().rindex("in")].rstrip("_ -."), replace(told, unit=units()["inch"])
        section, key = in_english(self.document, section), in_english(self.document, key)
        section, headed = heading(without_site(without_asides(section)))
        key = end_by_sign(without_asides(key))
        headed = headed if headed.unit else _for_key(self.remarks.below_heading(setting), key)
        if not headed.unit and (behind := self.remarks.headed.get(setting.line)):
            headed = _for_key(behind, f"{section} {key}")
            section = f"{section} steps per mm" if _counts_steps(behind, section) else section
        unit, qualifier = (
            told.unit,
            told.qualifier or said.told.qualifier or headed.qualifier or _qualifier_in(section),
        )
        names: tuple[Name, ...] = ()
        for measured in _measured_in(unit, headed.unit, key):
            for path in paths_of(section, key):
                names += self._names(path, told, measured, setting)
        unit = unit or headed.unit
        order = order_and_sides(self.remarks.behind(setting)) or self.remarks.orders.get(setting.line, "")
        by_sides = bool(order or self.order) and self._sides_told >= LEFT_AND_RIGHT
        order = without_sides(order or self.order, by_sides)
        return Spoken(names, unit, qualifier, told.words, order)

    @cached_property
    def _sides_told(self) -> frozenset[str]:
        """The sides or letters by which the document's settings tell its feeders apart."""
        return frozenset(sides_told([self.document]))

    def _names(
        self, path: tuple[Pieces, Pieces], told: Stated, unit: Unit | None, setting: Setting
    ) -> tuple[Name, ...]:
        section, key = self.explained.tagged(path) or self._without(path)
        own = _own_path(setting)
        if is_past(section) or was_before(own, self.beside.keys):
            return ()
        beside = self.beside.keys_of(own[0])
        key = pushed_again(key, beside)  # as it is written, and below as it is spelled out
        section, key = self.explained.spelled(section, self.explained.corner(path, key))
        key = steps_said_once(key if "in," in setting.key else without_in_of_unit(key))
        key = turned_round(without_occasion(key), setting.value)
        measured = unit_of(setting.value) or unit
        if self.remarks.feeds and (measured is None or measured.of == "speed"):
            key = rate_of_feed(key)
        key = pushed_again(filled(key, self.beside.layered(own[0])), beside)
        key = to_and_fro(of_width(key, beside), beside, own[1])
        stripped = len(path[0] + path[1]) > len(section + key) or self.document.dialect == "header"
        cut = stripped and unit is None and _says_little(section, key) and not _is_list(setting.value)
        cut = cut and not self.beside.for_several_axes(own)
        if self._twins and (moved := sided(section + key)) != section + key:
            section, key = (), moved
        said = (
            words_said(told.words if len(told.words.split()) <= DESCRIBES else "", measured)
            + key_dimension(key)
            + self.beside.say(own, section, key)
            + _counted_steps(setting.value)
        )
        found = names_of(section, key, said, measured.of if measured else measured_by_key(key, beside))
        if len(found) > 1 and self._sides_told >= _LETTERED:
            # beside a feeder b an `a` is no symbol; a key `a` of feeder a says nothing else
            found = tuple(name for name in found if name.counted and len(name.words) > 1) or found
        return tuple(replace(name, cut=True) for name in found) if cut else found

    def own_path(self, setting: Setting) -> tuple[Pieces, Pieces]:
        """Section and key in pieces, without what stands before all others and with what is explained in full."""
        return self.explained.in_full(*self._without(_own_path(setting)))

    def _without(self, path: tuple[Pieces, Pieces]) -> tuple[Pieces, Pieces]:
        """A path without what stands before all others."""
        section, key = path
        key = self.beside.without_marks(section, key)
        whole = section + key
        count = max((len(prefix) for prefix in self.before if whole[: len(prefix)] == prefix), default=0)
        count = min(count, len(whole) - 1)
        return (section[count:], key) if count <= len(section) else ((), key[count - len(section) :])


def _told_by(remark: str, value: str) -> Stated:
    """What the remark of a line states of its value."""
    again = said_again(remark, value)
    told = Stated(again) if again else told_of_value(without_step_angle(remark, value), value)
    return told if told.qualifier else replace(told, qualifier=of_own_limit(remark, value))


def _measured_in(unit: Unit | None, headed: Unit | None, key: str) -> Iterable[Unit | None]:
    """The units in which a key's number may be: its own or its heading's; and none, unless the heading's is of a speed or an
    acceleration and the key names no other measure: `filling` below `how fast (mm/s)` is no length."""
    rate = unit is None and headed is not None and headed.of in ("speed", "acceleration")
    if rate and _MEASURES.isdisjoint(_names_of(key)):
        return (headed,)
    return dict.fromkeys((unit or headed, unit))


def _counts_steps(headed: Stated, section: str) -> bool:
    """Whether the remark behind a heading that says no more than `stepping` says that its numbers are steps per mm."""
    return bool(
        headed.unit
        and headed.unit.of == "number per length"
        and split(section.rpartition(".")[2]) == ["stepping"]
    )


def _for_key(headed: Stated, key: str) -> Stated:
    """What a remark above a run of lines states of a key: steps per mm are no unit of microsteps and full steps."""
    counted = headed.unit is not None and headed.unit.of == "number per length"
    return NOTHING if counted and not _COUNTS.isdisjoint(_names_of(key)) else headed


def _names_of(key: str) -> frozenset[str]:
    """The names of all words and things that a key speaks of."""
    return vocabulary().names_in(frozenset(word for piece in split(key) for word in ways_of(piece)[0]))


@lru_cache(maxsize=4096)
def _qualifier_in(section: str) -> str:
    """`rms` or `peak` where a section's name says one of them: `motor_current_ma_peak`."""
    found = [word for word in QUALIFIERS if word in split(section)]
    return found[0] if len(found) == 1 else ""


def _own_path(setting: Setting) -> tuple[Pieces, Pieces]:
    """Section and key of a setting in pieces; the object's name where the key is a word such as `value`."""
    section, key = setting.section, setting.key
    if key.lower() in telling_keys().value and section:
        section, _, key = section.rpartition(".")
    return paths_of(section, key)[-1]


def _counted_steps(value: str) -> Pieces:
    """What a number that is followed by the words of a motor's full steps or microsteps says: `200 steps/turn`."""
    if "step" not in value.lower():
        return ()
    if _MICROSTEPS.fullmatch(value.strip("\"' \t")):
        return ("microstep",)
    return ("full", "step", "per", "turn") if _STEPS_A_TURN.fullmatch(value.strip("\"' \t")) else ()


def _says_little(section: Pieces, key: Pieces) -> bool:
    """Whether all that is left of a name without what stands before all others is one word cut short: it may be
    short for anything."""
    left = [p for p in section + key if not p.isdigit() and not _is_filler(p)]
    if len(left) != 1:
        return False
    word = left[0]
    return not all(
        len(part) > 1 and part in word and (len(part) >= WHOLE or part == word.removesuffix("s"))
        for part in ways_of(word)[0]
    )


@lru_cache(maxsize=8192)
def _is_filler(piece: str) -> bool:
    """Whether a piece says nothing: a letter may be a symbol, and a longer word may say something elsewhere."""
    made = vocabulary()
    if len(piece) == 1 or piece not in made.fillers:
        return False
    return len(piece) < WHOLE or not any(len(spelling) == 1 for spelling, _ in made.by_word.get(piece, ()))


def _is_list(value: str) -> bool:
    """Whether a value has a number for each of three axes and more, which says a good deal."""
    found = read_value(value)
    return isinstance(found, Items) and len(found.items) >= 3


@lru_cache(maxsize=8192)
def unit_of(value: str) -> Unit | None:
    """The unit that a value itself states behind its number, or behind all numbers of its list."""
    found = read_value(value)
    while isinstance(found, Items) and found.items:
        found = found.items[0]
    if isinstance(found, Text) and found.text[:1] in "+-.0123456789":
        before, _, word = found.text.rpartition(" ")
        text = before if word.lower().strip("()") in QUALIFIERS else found.text
        found = read_value(text)
        if isinstance(found, Text):
            return unit_written(text.partition(" ")[2])
    return unit_written(found.unit) if isinstance(found, Number) and found.unit else None


@lru_cache(maxsize=8192)
def words_said(remark: str, unit: Unit | None) -> tuple[str, ...]:
    """The words that a remark and a unit say beside a name."""
    found = [word for piece in split(remark) for word in ways_of(piece)[0]]
    return tuple(dict.fromkeys((*found, *(DIMENSION_WORDS.get(unit.of, ()) if unit else ()))))
