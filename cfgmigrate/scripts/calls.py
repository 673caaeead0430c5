"""Numbers in calls: lines of a script that are no word-address lines but run something with a length.

`take_in far 480` feeds as far as any move does, only that the move stands elsewhere. What a call does with its number
is not known, so nothing is changed: a number about as long as the old path, where line or script is about loading,
unloading or changing filament, and one about as long as the old retraction behind a word for it, are doubts. So is any such
number whose word nobody explained in a script in codes of its owner's own, of which other words were. So is a standard letter with a place beyond a new limit, `MOVE Z255`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.own_lines import own_lines
from cfgmigrate.dialects.script_text import script_alone
from cfgmigrate.dialects.source import Source
from cfgmigrate.files.own_words import FILAMENT_IN, FILAMENT_OUT
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split
from cfgmigrate.scripts.feeds import THROUGH, Path
from cfgmigrate.scripts.limits import Limit
from cfgmigrate.scripts.number_change import explained_by_owner
from cfgmigrate.scripts.pulls import MUCH

_LINE = pattern(r"\\r\\n|\\n|(?:(?!\\r\\n|\\n|\")[^\r\n])+")
_MOVE = pattern(r"\s*'?(?:[Nn]\d+\s+)?(?![Mm]9[78]\b)[A-Za-z]-?\d")
#: a program that a standard call names in quotes
_PROGRAM = pattern(r"(?<=[Pp])\"([^\"\r\n\\]*)\"")
_LETTER = pattern(r"[XYZE]=?[-+]?\d", re.IGNORECASE)
_NUMBER = pattern(r"([A-Za-z]\w*(?:(?<!\d)|(?=[ \t=:])))[ \t]*[=:]?[ \t]*([-+]?\d+(?:\.\d+)?)(?![\w.])")
_REMARK = pattern(r"[;#(].*")
_REMEDY = "Look up what the call does with it, and change it by hand if it was made for the old path."


def call_doubts(
    machine: Machine, path: Path | None, becomes: Mapping[float, float], limits: Sequence[Limit] = ()
) -> Iterator[Doubt]:
    """The doubts. `becomes` has the new retraction for each old one, in mm; `limits` are those that become tighter."""
    for reading in machine.readings:
        if quantity(reading.quantity).kind != "script":
            continue
        document = machine.document(reading.place.file)
        source = Source(document.path, document.data)
        text = document.data[reading.start : reading.end].decode("latin-1")
        if explained_by_owner(document, reading):
            yield from _unexplained(document, reading, source, path, becomes)
            continue
        for line in _LINE.finditer(_PROGRAM.sub(r"_\1_", text)):
            said = _REMARK.sub("", line[0])
            if _MOVE.match(said):
                continue
            words = {word for piece in split(said) for word in (piece, piece.rstrip("s"))}
            through = reading.quantity in THROUGH or bool(words & _about_the_path())
            for found in _NUMBER.finditer(said):
                why = _why(found[1], float(found[2]), through, path, becomes)
                why = why or _beyond(found, limits)
                if why:
                    place = source.place(reading.start + line.start() + found.start(2))
                    yield Doubt(place, line[0].strip(" \t\"',[]"), why, _REMEDY)


def _unexplained(
    document: Document, script: Reading, source: Source, path: Path | None, becomes: Mapping[float, float]
) -> Iterator[Doubt]:
    """The same of words that nobody explained in a script of which others were."""
    told = dict(document.own_words)
    alone = script_alone(document.data[script.start : script.end].decode("latin-1"), document.dialect)
    for line in own_lines(alone):
        for word in line.words:
            meaning = line.meaning(word, told)
            if word.value is None and meaning in (FILAMENT_IN, FILAMENT_OUT):
                text = document.slice(script.start + line.start, script.start + line.end).strip()
                why = "how far this moves the filament can't be read; it stays as it is"
                yield Doubt(source.place(script.start + word.start), text, why, _REMEDY)
            if word.value is None or meaning:
                continue
            if why := _why(word.word, word.value, True, path, becomes):
                text = document.slice(script.start + line.start, script.start + line.end).strip()
                yield Doubt(source.place(script.start + word.start), text, why, _REMEDY)


def _why(name: str, number: float, through: bool, path: Path | None, becomes: Mapping[float, float]) -> str:
    if through and path is not None and path.made_for_the_old(number):
        what = f"{name} of {number:g}" if name else f"{number:g}"
        return f"this call's {what} is about as long as the old path of {path.old:g} mm; the new one is {path.new:g} mm"
    if name not in ("E", "e") and not set(split(name)) & _spelled("retraction"):
        return ""
    old = min(becomes, key=lambda each: abs(each - abs(number)), default=0.0)
    if old and 1 / MUCH < abs(number) / old < MUCH and becomes[old] * MUCH < abs(number):
        return f"this call's {name} of {number:g} is about as long as the old retraction of {old:g} mm; the new one is {becomes[old]:g} mm"
    return ""


def _beyond(found: re.Match[str], limits: Sequence[Limit]) -> str:
    """Why a number behind an axis's letter may be a place that the tip is to reach no more: what the old limit forbade is none."""
    number = float(found[2])
    for limit in limits:
        of_axis = limit.axis == found[1].lower() and _LETTER.match(found[0])
        if of_axis and limit.beyond(number) and limit.allowed_before(number):
            return f"this call's {found[1]} of {found[2]} is beyond the new limit of {limit.value:g} mm, if it is a place"
    return ""


def _about_the_path() -> set[str]:
    roles = vocabulary().roles
    return {word for role in ("load", "unload", "change") for word in roles[role]}


def _spelled(thing: str) -> set[str]:
    return {spelling[0] for spelling in vocabulary().spelled(thing) if len(spelling) == 1}
