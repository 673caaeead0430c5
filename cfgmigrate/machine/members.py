"""What members of one object of a nested file say of each other: the unit of a number, and which of them is the value.

`{"value": 560, "unit": "mA"}`: the number is what the object's name says, in the unit beside it (`in` says one as well
where a value stands beside it), and what was before or why is no reading; the unit may stand in a
remark as well (`{"is": 660, "remark": "mA, rms"}`). `{"speedUnit": "mm/min", "speed": …}`: the unit of all such numbers in the
object; `"units": {"speed": "mm/s"}`: in the whole file.

Of which axis or feeder an object is, is told in `object_owners.py`. This module looks at keys and texts only; what they mean is the
matter of `matching.py`.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.units import Unit
from cfgmigrate.machine.object_owners import ObjectOwners, Objects, objects_of, text_of
from cfgmigrate.machine.rms_or_peak import QUALIFIERS, UNCLEAR, calls_either
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.stated import NOTHING, Stated, stated
from cfgmigrate.machine.telling_keys import telling_keys
from cfgmigrate.machine.unit_line_words import unit_line_words
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: says a unit beside a member that is a value, and only there: elsewhere it is a way, or short for inches
_IN = "in"
#: says beside a value between which bounds it may lie
_ALLOWED = "allowed"
#: axes but the feeder's
_AXES = frozenset("xyz")


class Beside(Struct, frozen=True):
    """What the members beside a setting say of it. `section` and `key` are those by which it is known; `beside` is true
    where it only says something of another member."""

    section: str
    key: str
    told: Stated = NOTHING
    beside: bool = False


class Members:
    """The objects of a nested document by their path, and the sections of a sectioned one; empty for other dialects."""

    def __init__(self, document: Document, of_file: frozenset[int] = frozenset()) -> None:
        """`of_file` are the places of lines that state units for the whole file."""
        self._nested = document.dialect == "nested"
        self._of = objects_of(document)
        self._of_file = of_file
        self._owners = ObjectOwners(self._of, self._nested)
        self.units, self.qualifier = _table_of_units(self._of)

    def beside(self, setting: Setting, section: str, key: str) -> Beside:
        """What is said of a setting that is known by a section and a key."""
        if self._owners.told_by(setting, key):
            return Beside(section, key, beside=True)
        section = self._owners.in_place(setting.section, section)
        siblings = self._of.get(setting.section, {})
        if not self._nested or not siblings:
            return Beside(section, key)
        unit = _unit_beside(siblings)
        if _only_tells(setting, key.lower(), unit, siblings):
            return Beside(section, key, beside=True)
        told = stated(text_of(unit)) if unit is not None and unit.at not in self._of_file else NOTHING
        if _is_the_value(key.lower(), unit, siblings) and section:
            if unit is None:
                told = stated(
                    next((text_of(siblings[k]) for k in telling_keys().remark if k in siblings), "")
                )
            section, _, last = section.rpartition(".")
            key = f"{last} range" if key.lower() == _ALLOWED else last
        elif unit is None and (own := _unit_of(siblings, key)):
            told = own
        section = self._owners.behind(setting.section, section)
        if not told.qualifier:
            texts = [
                text_of(other).lower() for name, other in siblings.items() if name in telling_keys().beside
            ]
            told = Stated(told.unit, next((q for q in QUALIFIERS if q in texts), ""), told.words)
        return Beside(section, key, told)


def _unit_beside(siblings: Mapping[str, Setting]) -> Setting | None:
    """The member that says the unit of the value beside it."""
    written = next((siblings[name] for name in sorted(telling_keys().unit) if name in siblings), None)
    said = siblings.get(_IN) if written is None and _has_value(siblings) else None
    return said if said is not None and stated(text_of(said)).unit is not None else written


def _has_value(siblings: Mapping[str, Setting]) -> bool:
    return any(name in siblings for name in telling_keys().value)


def _only_tells(setting: Setting, key: str, unit: Setting | None, siblings: Mapping[str, Setting]) -> bool:
    """Whether a member says something of others, and is no value of its own."""
    if key == _IN and unit is not None and unit is siblings.get(_IN):
        return True
    valued = _has_value(siblings)
    if (unit is not None or valued) and key in telling_keys().without_value and (key != _ALLOWED or valued):
        return True
    in_table = setting.section.rpartition(".")[2].lower() in telling_keys().unit
    return in_table and stated(text_of(setting)).unit is not None


def _is_the_value(key: str, unit: Setting | None, siblings: Mapping[str, Setting]) -> bool:
    """Whether a member is what its object's name says, and not one of several things in it."""
    keys = telling_keys()
    alone = siblings.keys() <= keys.value | keys.without_value | {_IN}
    return key in keys.value | {_ALLOWED} and (unit is not None or alone)


def _unit_of(siblings: Mapping[str, Setting], key: str) -> Stated | None:
    """The unit that a member such as `speedUnit` states of a member whose key has the same words."""
    for name, other in siblings.items():
        words = split(other.key)
        if (
            len(words) > 1
            and words[-1] in telling_keys().unit
            and set(words[:-1]) <= set(split(key))
            and name != key.lower()
        ):
            found = stated(text_of(other))
            if found.unit is not None:
                return Stated(found.unit, found.qualifier)
    return None


def _table_of_units(objects: Objects) -> tuple[dict[str, Unit], str]:
    """The units that a table of them states for the whole file, by dimension, and `rms` or `peak`, or `UNCLEAR`."""
    units: dict[str, Unit] = {}
    called: set[str] = set()
    for path, members in objects.items():
        if path.rpartition(".")[2].lower() in telling_keys().unit:
            for each in members.values():
                found = stated(text_of(each))
                if found.unit is not None:
                    units[found.unit.of] = found.unit
                called.add(_called(each, found))
    called -= {""}
    clear = called - {UNCLEAR}
    return units, (clear.pop() if len(clear) == 1 else UNCLEAR) if called else ""


def _called(member: Setting, found: Stated) -> str:
    """What a member of such a table says of all currents of the file: one that names some of them says nothing clear of the others, and
    nothing at all where these are an axis's."""
    words, known = unit_line_words(), frozenset(unit_line_words().measured)
    left = frozenset(split(member.key)) - telling_keys().unit - words.of_all - words.whole - known
    measures = frozenset(words.measured.values())
    left = frozenset(
        word for word in left if not vocabulary().names_in(frozenset(ways_of(word)[0])) & measures
    )
    said = found.qualifier or (UNCLEAR if calls_either(text_of(member)) else "")
    if not said or not left:
        return said
    return "" if left <= _AXES else UNCLEAR
