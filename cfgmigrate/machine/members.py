"""What members of one object of a nested file say of each other.

`{"value": 560, "unit": "mA"}`: the number is what the object's name says, in the unit beside it (`in` says one as well
where a value stands beside it), and what was before or why is no reading; the unit may stand in a
remark as well (`{"is": 660, "remark": "mA, rms"}`). `{"drives": "x", "steps": 80}` in a list: each object is of the part
that one of its members names, if the same member names an axis in another of them; where several are of a
feeder, the words beside tell them apart (`filament, near`). `{"speedUnit": "mm/min", "speed":
…}`: the unit of all such numbers in the object; `"units": {"speed": "mm/s"}`: in the whole file.

`[{"name": "feeder 2", …}, {"name": "feeder 1", …}]`: all of an object is the feeder's whose number or side it is called by, wherever
it stands in the list.

`[socket 3]` with `drives = Z lift`: a section that is told from its siblings by a number is of the part that one of its
lines names, if the same line names another axis in others. `[beam]` with `moves = x` and `{"beam": {"axis": "x"}}` are of it as well
where the line's key is a word for naming, and the axis stands for the section's own name.

This module looks at keys and texts only; what they mean is the matter of `matching.py`.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit
from cfgmigrate.machine.remarks import NOTHING, QUALIFIERS, Stated, stated
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

_UNIT_KEYS = frozenset({"unit", "units", "uom"})
#: says a unit beside a member that is a value, and only there: elsewhere it is a way, or short for inches
_IN = "in"
VALUE_KEYS = frozenset({"value", "val", "nominal", "setting", "set", "is", "now", "number"})
_REMARK_KEYS = ("remark", "comment", "note", "about", "hint", "info")
OF_THE_MEASURING = frozenset(
    (
        "uncertainty",
        "tolerance",
        "accuracy",
        "error",
        "spread",
        "sigma",
        "repeats",
        "repetitions",
        "samples",
        "trials",
        "measurements",
    )
)
"""Keys beside a value that say how well or how often it was measured."""
_BESIDE = frozenset(
    {
        *_REMARK_KEYS,
        "kind",
        "as",
        "typical",
        "default",
        "allowed",
        "measured",
        "basis",
        "step",
        "was",
        "old",
        "since",
        "before",
        "formerly",
        "previously",
        "once",
        "why",
        "because",
        "reason",
        *OF_THE_MEASURING,
    }
)
_AXIS_KEYS = ("axis", "name", "id", "of", "for")
#: keys of a line that names the axis which its section or object is of
_NAMES_AXIS = frozenset(
    (
        *_AXIS_KEYS,
        *(
            "is",
            "this is",
            "is axis",
            "axis is",
            "this axis",
            "axis name",
            "axis letter",
            "letter",
            "called",
            "aka",
            "also called",
        ),
        *(
            "drives",
            "moves",
            "carries",
            "turns",
            "stands for",
            "direction of",
            "which axis",
            "same as",
            "means",
        ),
    )
)
_AXES = frozenset({"x", "y", "z"})
_AXIS = pattern(r"^(?:the )?(?:axis )?|[ -]?axis$")
#: keys that say how a thing is called, which may be a proper name
_PROPER = frozenset({"name", "id", "called", "aka", "also called"})
_FEEDS = frozenset({"feeder", "feed", "filament"})
#: what an axis may have beside its motor, with a number and a line that names the axis as well
_BESIDE_A_MOTOR = frozenset(
    {
        "end_stop",
        "home",
        "probe",
        "runout",
        "resonance",
        "shaping",
        "stall",
        "jerk",
        "fan",
        "heater",
        "light",
        "device",
    }
)
#: what a section that is an axis's may be called after: what carries it, or spans it
_CARRYING = frozenset({"drive", "carriage", "bed", "layer", "x", "y", "z"})
#: a longer name of a section names nothing that has a number
LONGEST_NAME = 200
_NUMBERED = pattern(r"(.*[A-Za-z].*?)[ _\-.:#]*(?:\d+|(?<=[ _\-.:])[A-Za-z])", re.DOTALL)
#: what a section is of is said in so few words
_FEW = 6


class Beside(Struct, frozen=True):
    """What the members beside a setting say of it. `section` and `key` are those by which it is known; `beside` is true
    where it only says something of another member."""

    section: str
    key: str
    told: Stated = NOTHING
    beside: bool = False


class Members:
    """The objects of a nested document by their path; empty for other dialects."""

    def __init__(self, document: Document, of_file: frozenset[int] = frozenset()) -> None:
        """`of_file` are the places of lines that state units for the whole file."""
        self._of: dict[str, dict[str, Setting]] = defaultdict(dict)
        self._nested = document.dialect == "nested"
        if self._nested or document.dialect == "sectioned":
            for setting in document.settings:
                self._of[setting.section][setting.key.lower()] = setting
        self._of_file = of_file
        self._named = _naming_members(self._of) if self._nested else {}
        #: what tells the feeders of a list apart, by the path of each one's object
        self.feeders = _feeders_listed(self._named, self._of)
        self._numbered = {} if self._nested else _naming_lines(self._of)
        self._axes = _axes_named(self._of)
        self._called = _called_by_number(self._of) if self._nested else {}
        self.units, self.qualifier = _table_of_units(self._of)

    def beside(self, setting: Setting, section: str, key: str) -> Beside:
        """What is said of a setting that is known by a section and a key."""
        siblings = self._of.get(setting.section, {})
        if self._axes and (place := _nearest(setting.section, self._axes)):
            axis, naming = self._axes[place]
            if key.lower() == naming and setting.section == place:
                return Beside(section, key, beside=True)
            section = _instead(section, place, _for_name(place, axis))
        if not self._nested and siblings:
            naming = self._numbered.get(_numbered(setting.section), "") if self._numbered else ""
            if naming not in siblings:
                return Beside(section, key)
            if key.lower() == naming:
                return Beside(section, key, beside=True)
            part = "" if _is_for_else(section) else _part_of(_text(siblings[naming]))
            return Beside(part or f"{section} {_text(siblings[naming])}", key)
        if not siblings:
            return Beside(section, key)
        lower = key.lower()
        written = next((siblings[name] for name in _UNIT_KEYS if name in siblings), None)
        valued = any(name in siblings for name in VALUE_KEYS)
        if written is None and valued and _IN in siblings and stated(_text(siblings[_IN])).unit is not None:
            written = siblings[_IN]
            if lower == _IN:
                return Beside(section, key, beside=True)
        if (
            (written is not None or valued)
            and lower in (_UNIT_KEYS | _BESIDE)
            and (lower != "allowed" or valued)
        ):
            return Beside(section, key, beside=True)
        if self._named.get(_parent(setting.section), "") == lower:
            return Beside(section, key, beside=True)
        if (
            setting.section.rpartition(".")[2].lower() in _UNIT_KEYS
            and stated(_text(setting)).unit is not None
        ):
            return Beside(section, key, beside=True)
        of_this = written is not None and written.at not in self._of_file
        told = stated(_text(written)) if written is not None and of_this else NOTHING
        alone = all(name in VALUE_KEYS | _UNIT_KEYS | _BESIDE | {_IN} for name in siblings)
        if lower in VALUE_KEYS | {"allowed"} and section and (written is not None or alone):
            if written is None:
                told = stated(next((_text(siblings[k]) for k in _REMARK_KEYS if k in siblings), ""))
            section, _, last = section.rpartition(".")
            key = f"{last} range" if lower == "allowed" else last
        elif written is None and (own := self._unit_of(siblings, key)):
            told = own
        if called := _nearest(setting.section, self._called):
            section = _instead(section, called, f"{called.rpartition('.')[0]} {self._called[called]}")
        elif owner := self._owner(setting.section):
            section = f"{section} {owner}"
        elif (
            named := next((_text(siblings[k]) for k in _AXIS_KEYS if k in siblings), "").lower()
        ) and _is_part(named):
            section = f"{section} {named}"
        if not told.qualifier:
            texts = [_text(other).lower() for name, other in siblings.items() if name in _BESIDE]
            told = Stated(told.unit, next((q for q in QUALIFIERS if q in texts), ""), told.words)
        return Beside(section, key, told)

    def _owner(self, path: str) -> str:
        """What the nearest object of a list says that it is of, at or above a path; "" where none says so."""
        while path:
            if path in self.feeders:
                return "feeder"
            naming = self._named.get(_parent(path), "")
            if naming in self._of.get(path, {}):
                return _text(self._of[path][naming])
            path = path.rpartition(".")[0]
        return ""

    def _unit_of(self, siblings: Mapping[str, Setting], key: str) -> Stated | None:
        """The unit that a member such as `speedUnit` states of a member whose key has the same words."""
        for name, other in siblings.items():
            words = split(other.key)
            if (
                len(words) > 1
                and words[-1] in _UNIT_KEYS
                and set(words[:-1]) <= set(split(key))
                and name != key.lower()
            ):
                found = stated(_text(other))
                if found.unit is not None:
                    return Stated(found.unit, found.qualifier)
        return None


def _naming_members(objects: Mapping[str, Mapping[str, Setting]]) -> dict[str, str]:
    """For each list of objects the member that says what each of them is of: one that names an axis in some."""
    found: dict[str, str] = {}
    for path, members in objects.items():
        parent = _parent(path)
        if parent and parent not in found:
            named = next((name for name, each in members.items() if _text(each).lower() in _AXES), "")
            if named:
                found[parent] = named
    return found


def _feeders_listed(named: Mapping[str, str], objects: Mapping[str, Mapping[str, Setting]]) -> dict[str, str]:
    """The objects of a list that are of a feeder each, by what tells them apart; none where it has only one such, or
    where two go by the same words."""
    found: dict[str, dict[str, str]] = defaultdict(dict)
    for path, members in objects.items():
        each = members.get(named.get(_parent(path), ""))
        if each is not None and (name := _feeder_called(_text(each))):
            found[_parent(path)][path] = name
    several = [names for names in found.values() if len(names) > 1 and len(set(names.values())) == len(names)]
    return {path: name for names in several for path, name in names.items()}


def _called_by_number(objects: Mapping[str, Mapping[str, Setting]]) -> dict[str, str]:
    """The objects of lists that are called by the number or side of a feeder, each another, by what they are called. One that
    is the only one of its list is the feeder and has no number: nothing else in it has one."""
    found: dict[str, dict[str, str]] = defaultdict(dict)
    for path, members in objects.items():
        text = next((_text(members[key]) for key in _AXIS_KEYS if key in members), "")
        if _parent(path) and text and len(text.split()) <= _FEW and _counts_a_feeder(text):
            found[_parent(path)][path] = text
    called: dict[str, str] = {}
    for names in found.values():
        several = len({read_name(text, "").counted for text in names.values()})
        if several == len(names):
            called.update(names if several > 1 else dict.fromkeys(names, "feeder"))
    return called


def _counts_a_feeder(text: str) -> bool:
    name = read_name(text, "")
    return name.counted is not None and all(map(_says_feeder, name.section))


def _axes_named(objects: Mapping[str, Mapping[str, Setting]]) -> dict[str, tuple[str, str]]:
    """The sections and objects beside each other of which a line names the axis, each another, by the axis and the line's key; and
    those of which the same line names something else, by that. Where an axis has a section or object by its own letter, what
    another one moves along it is no axis: `[brush] moves = x` beside `[x]`."""
    found: dict[tuple[str, str], dict[str, str]] = defaultdict(dict)
    for path, members in objects.items():
        for key in _NAMES_AXIS.intersection(members) if not _parent(path) else ():
            found[path.rpartition(".")[0], key][path] = _text(members[key]).strip().lower()
    named: dict[str, tuple[str, str]] = {}
    own = {_AXIS.sub("", path.rpartition(".")[2].strip().lower()) for path in objects} & _AXES
    for (_, key), texts in found.items():
        axes = {path: axis for path, text in texts.items() if (axis := _AXIS.sub("", text)) in _AXES}
        if not own.isdisjoint(axes.values()):
            continue
        if len(axes) > 1 and len(set(axes.values())) == len(axes):
            others = {path: text for path, text in texts.items() if path not in axes and key not in _PROPER}
            named.update({path: (text, key) for path, text in (others | axes).items()})
    return named


def _for_name(path: str, part: str) -> str:
    """A path whose last name is an axis's own name for it. A name that says what the numbers are about stays: `ringing across`;
    so does that of what is no axis."""
    before, _, last = path.rpartition(".")
    words = frozenset(word for piece in split(last) for word in ways_of(piece)[0])
    about = vocabulary().names_in(words) & vocabulary().things
    if part not in _AXES or not about <= _CARRYING:
        return f"{path} {part}"
    return f"{before}.{part}".strip(".")


def _is_for_else(section: str) -> bool:
    """Whether a section is of what an axis has beside its motor, such as a switch or a sensor."""
    words = frozenset(word for piece in split(section) for word in ways_of(piece)[0])
    return not _BESIDE_A_MOTOR.isdisjoint(vocabulary().names_in(words))


def _nearest(path: str, places: Mapping[str, object]) -> str:
    """The nearest place at or above a path, "" for none."""
    while path and places and path not in places:
        path = path.rpartition(".")[0]
    return path if places else ""


def _instead(section: str, place: str, name: str) -> str:
    """A section with a name in place of the path that it begins with."""
    return f"{name}{section.removeprefix(place)}" if section.startswith(place) else f"{section} {name}"


def _feeder_called(text: str) -> str:
    """By which words a feeder goes that a text names: `near` for `filament, near`; "" for anything else."""
    words = split(text)
    present = vocabulary().names_in(frozenset(words))
    if len(words) > _FEW or not present & _FEEDS or present & (_AXES | {"device"}):
        return ""
    rest = [word for word in words if not _says_feeder(word)]
    return "" if any(word.isdigit() for word in rest) else " ".join(rest)


def _says_feeder(word: str) -> bool:
    made = vocabulary()
    return word in made.fillers or not (_FEEDS | {"drive"}).isdisjoint(made.names_in(frozenset((word,))))


def _naming_lines(sections: Mapping[str, Mapping[str, Setting]]) -> dict[str, str]:
    """For sections that differ in their number only the key that says what each is of: one that names two axes
    and more, each in a section of its own."""
    named: dict[tuple[str, str], list[str]] = defaultdict(list)
    for section, members in sections.items():
        if family := _numbered(section):
            for key, each in members.items():
                if part := _part_of(_text(each)):
                    named[family, key].append(part)
    return {
        family: key
        for (family, key), parts in named.items()
        if len(_AXES.intersection(parts)) >= 2 and len(set(parts)) == len(parts)
    }


def _numbered(section: str) -> str:
    """A section's name without the number or letter that it ends in, "" where it has none."""
    found = _NUMBERED.fullmatch(section) if len(section) <= LONGEST_NAME else None
    return found[1].strip(" _-.:").casefold() if found else ""


def _part_of(text: str) -> str:
    """The one axis, or the feeder, that a text names: `Z lift, both screws`; "" for none or several."""
    words = {word for piece in split(text) for word in ways_of(piece)[0]}
    if len(text.split()) > _FEW or any(char.isdigit() for char in text):
        return ""
    axes = _AXES & words
    if len(axes) == 1:
        return next(iter(axes))
    present = vocabulary().names_in(frozenset(words))
    return "feeder" if not axes and "feeder" in present and "device" not in present else ""


def _parent(path: str) -> str:
    """The list that an object is in, "" for none."""
    before, _, last = path.rpartition(".")
    return before if last.isdigit() else ""


def _is_part(text: str) -> bool:
    words = [word for piece in split(text) for word in ways_of(piece)[0]]
    return len(words) <= 2 and not {"x", "y", "z", "feeder"}.isdisjoint(
        vocabulary().names_in(frozenset(words))
    )


def _table_of_units(objects: Mapping[str, Mapping[str, Setting]]) -> tuple[dict[str, Unit], str]:
    """The units that a table of them states for the whole file, by dimension, and `rms` or `peak`."""
    units: dict[str, Unit] = {}
    qualifier = ""
    for path, members in objects.items():
        if path.rpartition(".")[2].lower() in _UNIT_KEYS:
            for each in members.values():
                found = stated(_text(each))
                if found.unit is not None:
                    units[found.unit.of] = found.unit
                qualifier = qualifier or found.qualifier
    return units, qualifier


def _text(setting: Setting) -> str:
    return setting.value.strip("\"'")
