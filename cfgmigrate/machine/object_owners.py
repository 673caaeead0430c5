"""Of which part the objects of a nested file are, and the sections of a sectioned one, by what a member of each says.

`{"drives": "x", "steps": 80}` in a list: each object is of the part that one of its members names, if the same member names an
axis in another of them; where several are of a feeder, the words beside tell them apart (`filament, near`).
`[{"name": "feeder 2", …}, {"name": "feeder 1", …}]`: all of an object is the feeder's whose number or side it is called by, wherever
it stands in the list.

`[socket 3]` with `drives = Z lift`: a section that is told from its siblings by a number is of the part that one of its
lines names, if the same line names another axis in others. `[beam]` with `moves = x` and `{"beam": {"axis": "x"}}` are of it as well
where the line's key is a word for naming, and the axis stands for the section's own name.

This module puts a part's name into a section's and reads no value; what the words mean together is the matter of `matching.py`.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.telling_keys import telling_keys
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

#: the settings of each section or object, by its path and their keys in lower case
Objects = Mapping[str, Mapping[str, Setting]]
_AXES = frozenset({"x", "y", "z"})
_AXIS = pattern(r"^(?:the )?(?:axis )?|[ -]?axis$")
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
_LONGEST = 200
_NUMBERED = pattern(r"(.*[A-Za-z].*?)[ _\-.:#]*(?:\d+|(?<=[ _\-.:])[A-Za-z])", re.DOTALL)
#: what a section is of is said in so few words
_FEW = 6


class ObjectOwners:
    """What objects and sections are of, by their paths; nothing for dialects without them."""

    def __init__(self, objects: Objects, nested: bool) -> None:
        self._of = objects
        self._nested = nested
        self._listed = _naming_members(objects) if nested else {}
        self._called = _called_by_number(objects) if nested else {}
        self._numbered = {} if nested else _naming_lines(objects)
        self._axes = _axes_named(objects)
        #: what tells the feeders of a list apart, by the path of each one's object
        self.feeders = _feeders_listed(self._listed, objects)

    def told_by(self, setting: Setting, key: str) -> bool:
        """Whether a setting that is known by a key says of which part its object or section is, and no more."""
        path, lower = setting.section, key.lower()
        if (place := _nearest(path, self._axes)) == path and place and self._axes[place][1] == lower:
            return True
        if self._nested:
            return self._listed.get(_parent(path), "") == lower
        naming = self._naming_line(path)
        return lower == naming and naming in self._of.get(path, {})

    def in_place(self, path: str, section: str) -> str:
        """A section with the part that a line names in place of its own name, or behind it."""
        if self._axes and (place := _nearest(path, self._axes)):
            section = _instead(section, place, _for_name(place, self._axes[place][0]))
        line = self._of.get(path, {}).get(self._naming_line(path))
        if line is None:
            return section
        part = "" if _is_for_else(section) else _part_of(text_of(line))
        return part or f"{section} {text_of(line)}"

    def behind(self, path: str, section: str) -> str:
        """The section of an object with the part behind it that the object, or the nearest of a list above it, says it is of."""
        if called := _nearest(path, self._called):
            return _instead(section, called, f"{called.rpartition('.')[0]} {self._called[called]}")
        if owner := self._owner(path):
            return f"{section} {owner}"
        members = self._of.get(path, {})
        named = next((text_of(members[key]) for key in telling_keys().names if key in members), "").lower()
        return f"{section} {named}" if named and _is_part(named) else section

    def _naming_line(self, path: str) -> str:
        """The key of the line that says what a section with a number is of, "" where none does."""
        return self._numbered.get(_numbered(path), "") if self._numbered else ""

    def _owner(self, path: str) -> str:
        """What the nearest object of a list says that it is of, at or above a path; "" where none says so."""
        while path:
            if path in self.feeders:
                return "feeder"
            naming = self._listed.get(_parent(path), "")
            if naming in self._of.get(path, {}):
                return text_of(self._of[path][naming])
            path = path.rpartition(".")[0]
        return ""


def objects_of(document: Document) -> Objects:
    """The objects of a nested file, or the sections of a sectioned one; of other dialects none."""
    found: dict[str, dict[str, Setting]] = defaultdict(dict)
    if document.dialect in ("nested", "sectioned"):
        for setting in document.settings:
            found[setting.section][setting.key.lower()] = setting
    return dict(found)


def text_of(setting: Setting) -> str:
    """A value without its quotes."""
    return setting.value.strip("\"'")


def _naming_members(objects: Objects) -> dict[str, str]:
    """For each list of objects the member that says what each of them is of: one that names an axis in some."""
    found: dict[str, str] = {}
    for path, members in objects.items():
        parent = _parent(path)
        if parent and parent not in found:
            named = next((name for name, each in members.items() if text_of(each).lower() in _AXES), "")
            if named:
                found[parent] = named
    return found


def _feeders_listed(named: Mapping[str, str], objects: Objects) -> dict[str, str]:
    """The objects of a list that are of a feeder each, by what tells them apart; none where it has only one such, or
    where two go by the same words."""
    found: dict[str, dict[str, str]] = defaultdict(dict)
    for path, members in objects.items():
        each = members.get(named.get(_parent(path), ""))
        if each is not None and (name := _feeder_called(text_of(each))):
            found[_parent(path)][path] = name
    several = [names for names in found.values() if len(names) > 1 and len(set(names.values())) == len(names)]
    return {path: name for names in several for path, name in names.items()}


def _called_by_number(objects: Objects) -> dict[str, str]:
    """The objects of lists that are called by the number or side of a feeder, each another, by what they are called. One that
    is the only one of its list is the feeder and has no number: nothing else in it has one."""
    found: dict[str, dict[str, str]] = defaultdict(dict)
    for path, members in objects.items():
        text = next((text_of(members[key]) for key in telling_keys().names if key in members), "")
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


def _axes_named(objects: Objects) -> dict[str, tuple[str, str]]:
    """The sections and objects beside each other of which a line names the axis, each another, by the axis and the line's key; and
    those of which the same line names something else, by that. Where an axis has a section or object by its own letter, what
    another one moves along it is no axis: `[brush] moves = x` beside `[x]`."""
    found: dict[tuple[str, str], dict[str, str]] = defaultdict(dict)
    for path, members in objects.items():
        for key in telling_keys().names_axis.intersection(members) if not _parent(path) else ():
            found[path.rpartition(".")[0], key][path] = text_of(members[key]).strip().lower()
    named: dict[str, tuple[str, str]] = {}
    own = {_AXIS.sub("", path.rpartition(".")[2].strip().lower()) for path in objects} & _AXES
    for (_, key), texts in found.items():
        axes = {path: axis for path, text in texts.items() if (axis := _AXIS.sub("", text)) in _AXES}
        if not own.isdisjoint(axes.values()):
            continue
        if len(axes) > 1 and len(set(axes.values())) == len(axes):
            others = {
                path: text
                for path, text in texts.items()
                if path not in axes and key not in telling_keys().proper
            }
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


def _naming_lines(sections: Objects) -> dict[str, str]:
    """For sections that differ in their number only the key that says what each is of: one that names two axes
    and more, each in a section of its own."""
    named: dict[tuple[str, str], list[str]] = defaultdict(list)
    for section, members in sections.items():
        if family := _numbered(section):
            for key, each in members.items():
                if part := _part_of(text_of(each)):
                    named[family, key].append(part)
    return {
        family: key
        for (family, key), parts in named.items()
        if len(_AXES.intersection(parts)) >= 2 and len(set(parts)) == len(parts)
    }


def _numbered(section: str) -> str:
    """A section's name without the number or letter that it ends in, "" where it has none."""
    found = _NUMBERED.fullmatch(section) if len(section) <= _LONGEST else None
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
