"""A number behind a name of its own that more than one line of a header uses.

`#define LONGEST_FEED REACH` takes its number from where `REACH` is defined, and there it would be edited. Where that
name stands anywhere else as well (in a sum, a condition, a line of code, behind a name that nobody understood), an edit
would change that too: the longest feed, and with it the hottest nozzle. Then the reading is shown and never edited.

So is a value that an alias of an indented file brings in, and the one that it is brought in from.

This module deliberately does not look at what the other lines are: two readings of one number are told apart in
`ownership.py`, and that a name is used twice is enough here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State, readable
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Reading

_NAME = pattern(r"(?:[^\W\d]|\$)[\w$]*")
_TURNED_ON = pattern(r"\bdefined\s*\(?\s*[\w$]+|#\s*(?:ifdef|ifndef|undef)\b.*")
_DEFINES = pattern(r"#\s*define\s+([\w$]+)")

_REFERENCE = pattern(r"\$\{([^{}\r\n]{1,200})\}|%\(([^()\r\n]{1,200})\)")

#: how the reason begins for which such a number is not edited
NUMBER_OF = "its number is that of "
#: and what it says where an alias of the file makes it so
BY_ALIAS = ", by the alias "
#: for each name where it is used, and the name whose definition that is ("" for none)
_Uses = Mapping[str, list[tuple[Place, str]]]


def without_numbers_of_others(documents: Iterable[Document], readings: Iterable[Reading]) -> list[Reading]:
    """The readings, not editable where another line uses their number by its name."""
    found = list(readings)
    taken = [at for at, each in enumerate(found) if each.editable and _NAME.fullmatch(each.setting.value)]
    documents = tuple(documents)
    found = _not_referred_to(documents, found)
    headers = [document for document in documents if document.dialect == "header"]
    if not taken or not headers:
        return found
    values = {
        setting.key: setting.value
        for document in headers
        for setting in document.settings
        if setting.state is State.ACTIVE
    }
    uses = _uses(headers)
    for at in taken:
        reading = found[at]
        for user, name in pairwise(_chain(reading.setting, values)):
            place = next((place for place, of in uses[name] if of not in (user, name)), None)
            if place is not None:
                why = f"{NUMBER_OF}{name}, which line {place.line} of {place.file} uses too"
                found[at] = replace(reading, editable=False, why_not=why)
                break
    return found


def without_values_of_aliases(documents: Iterable[Document], readings: Iterable[Reading]) -> list[Reading]:
    """The readings, not editable where an alias brings them in, or where one elsewhere brings their value in: an edit in
    one place would be one in several."""
    used: dict[tuple[str, int], Setting] = {}
    users: dict[str, Document] = {}
    for document in documents:
        for setting in document.settings if document.dialect == "nested" and b"*" in document.data else ():
            if setting.behind and setting.state is State.ACTIVE:
                used.setdefault((document.path, setting.behind[0]), setting)
                users[document.path] = document
    if not used:
        return list(readings)
    found = []
    for each in readings:
        user, written = used.get((each.place.file, each.setting.start)), users.get(each.place.file)
        if each.setting.behind and written:
            alias = written.slice(each.setting.start, each.setting.end)
            line = written.data.count(b"\n", 0, each.setting.behind[0]) + 1
            why = f"{NUMBER_OF}line {line}{BY_ALIAS}{alias}: to change one changes the other"
            each = replace(each, editable=False, why_not=why)
        elif user and written:
            alias = written.slice(user.start, user.end)
            why = f"{NUMBER_OF}{user.name} in line {user.line} too{BY_ALIAS}{alias}: to change one changes the other"
            each = replace(each, editable=False, why_not=why)
        found.append(each)
    return found


def _not_referred_to(documents: Sequence[Document], readings: list[Reading]) -> list[Reading]:
    """The readings, not editable where a value elsewhere refers to them by section and key, or by key alone."""
    places: dict[tuple[str, str], Place] = {}
    for document in documents:
        if document.dialect != "header" and (b"${" in document.data or b"%(" in document.data):
            for setting in document.settings:
                for named in _REFERENCE.findall(setting.value):
                    section, _, key = _folded(named[0] or named[1]).rpartition(":")
                    places.setdefault((section, key), Place(document.path, setting.line))
    if not places:
        return readings
    found = []
    for each in readings:
        section, key = _folded(each.setting.section), _folded(each.setting.key)
        names = (section, key), ("", key), ("", f"{section}.{key}")
        place = next((places[name] for name in names if name in places), None)
        if (
            place is None
            or not each.editable
            or (place.file, place.line) == (each.place.file, each.setting.line)
        ):
            found.append(each)
        else:
            why = f"{NUMBER_OF}{each.setting.key}, which line {place.line} of {place.file} uses too"
            found.append(replace(each, editable=False, why_not=why))
    return found


def _folded(text: str) -> str:
    return " ".join(text.replace("_", " ").casefold().split())


def _chain(setting: Setting, values: Mapping[str, str]) -> list[str]:
    """A setting's name, the name that it has for a value, and so on to the name that has a number."""
    names = {setting.key: None}
    name = setting.value
    while name in values and name not in names:
        names[name] = None
        name = values[name]
    return list(names)


def _uses(documents: Iterable[Document]) -> _Uses:
    from cfgmigrate.dialects.header import plain_text

    found: dict[str, list[tuple[Place, str]]] = defaultdict(list)
    for document in documents:
        line, last = 1, 0
        for piece in document.pieces:
            if piece.kind == "gap":
                continue
            line += document.data.count(b"\n", last, piece.start)
            last = piece.start
            text = plain_text(document.data[piece.start : piece.end].decode("latin-1"))
            defines = _DEFINES.match(text)
            place = Place(document.path, line)
            for name in _NAME.findall(_TURNED_ON.sub(" ", text)):
                found[readable(name.encode("latin-1"))].append((place, defines[1] if defines else ""))
    return found
