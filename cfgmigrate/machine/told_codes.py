"""Words of word-address lines whose code no table knows, read by what the file's remarks say of them.

`S120 L5.5 ; retraction length` says what it sets; so does a remark alone on the line above, and a heading such as
`(probe)` above a group. Every word of the remark must have a meaning, as every word of a key must. Letters of axes
and of the feeder say whose the number is; where a line has several other letters, its remark names them one by one,
with commas between.

Such a reading is only editable where remark or file state its unit, or where it has none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.codes import coded
from cfgmigrate.machine.context import Spoken, words_said
from cfgmigrate.machine.matching import best_fits
from cfgmigrate.machine.remarks import QUALIFIERS, Remarks, Stated, order_in, stated
from cfgmigrate.machine.words import Name, names_of, split, vocabulary, ways_of

_AXES = frozenset("XYZE")
#: what headings of a machine's own parts are about
_OWN = ("feeder", "feed", "drive", "x", "y", "z", "carriage", "retraction", "lag", "probe", "mesh", "park", "filament",
        "nozzle", "hotend", "bed", "speed", "acceleration", "current", "limit", "step", "microstep", "length")  # fmt: skip
#: a legend's line: a code and what it means
_LEGEND = re.compile(
    r"([A-Z]\d+(?:\.\d+)?)(?:[ \t]*[:=–-]+[ \t]*|[ \t]+(?:is[ \t]+|sets[ \t]+)?(?:the[ \t]+)?)([A-Za-z][^;]*)"
)
_ALONE = re.compile(r"[ \t]*(?:(?:[;%!]|//|--|#+(?![ \t]*\d+[ \t]*=))[ \t]*|\()([^\r\n]*)")
#: a heading has few words
HEADING = 4
_ASIDE = re.compile(r"\b(?:was|old|before|since|formerly|until|because|but|see|from the|instead)\b.*", re.I)


@dataclass
class ToldCodes:
    """The remarks of a word-address file by line. `above` is what stands alone above a run of lines."""

    document: Document
    remarks: Remarks
    above: Mapping[int, str] = field(init=False)
    letters: Mapping[int, tuple[str, ...]] = field(init=False)
    #: lines of another code than the one that stands directly below the remark above them
    later: set[int] = field(init=False)
    legend: dict[str, str] = field(init=False)
    line_code: dict[int, str] = field(init=False)
    #: where a line begins with a code of another letter than those of RS-274: that word sets nothing
    codes: set[int] = field(init=False)

    def __post_init__(self) -> None:
        lines: dict[int, list[Setting]] = {}
        for setting in self.document.settings:
            lines.setdefault(setting.line, []).append(setting)
        self.codes = {
            each[0].start
            for each in lines.values()
            if len(each) > 1 and each[0].section == "" and each[0].value.isdigit()
        }
        self.letters = {
            line: tuple(s.key.upper() for s in found if s.start not in self.codes)
            for line, found in lines.items()
        }
        codes = {line: (found[0].section or found[0].key + found[0].value) for line, found in lines.items()}
        self.later = set()
        self.line_code = {line: coded(code) for line, code in codes.items()}
        self.legend: dict[str, str] = {}
        above: dict[int, str] = {}
        current, code = "", ""
        for number, line in enumerate(self.remarks.text.splitlines(), 1):
            alone = _ALONE.fullmatch(line)
            if alone and (legend := _LEGEND.fullmatch(alone[1].strip().rstrip(")").strip())):
                self.legend[coded(legend[1])] = legend[2]
            if alone:
                current, code = alone[1].strip().rstrip(")").strip(), ""
            elif number in self.letters:
                code = code or codes[number]
                above[number] = current
                if code != codes[number]:
                    self.later.add(number)
            elif not line.strip():
                current, code = ("", "") if code else (current, code)
        self.above = above

    def spoken(self, setting: Setting) -> Spoken:
        """What the remarks say of one word of a line."""
        behind, above = self.remarks.of_line(setting), self.above.get(setting.line, "")
        code = self.line_code.get(setting.line, "")
        remark, heading = (behind, above) if behind or setting.line in self.later else (above, "")
        if not behind and code in self.legend:
            remark, heading = self.legend[code], ""
        told = stated(remark)
        letters = self.letters[setting.line]
        if setting.key.upper() not in _AXES and _AXES.intersection(letters):
            return Spoken((), told.unit, told.qualifier, remark)
        subject, mine, told = _mine(remark, told, letters, setting.key.upper())
        section = tuple(split(heading)) if len(heading.split()) <= HEADING else ()
        if not mine:
            return Spoken((), told.unit, told.qualifier, remark)
        key = _key(mine, letters, setting.key.upper())
        said = words_said(" ".join(subject), told.unit) if subject else words_said("", told.unit)
        dimension = told.unit.of if told.unit else ""
        names: tuple[Name, ...] = names_of(section, key, said, dimension)
        if section:
            names += names_of((), key, said + tuple(section), dimension) if _plain(section) else ()
        return Spoken(names, told.unit, told.qualifier, remark, order_in(remark))

    def explained(self) -> set[int]:
        """The lines of which a remark explains what they set."""
        found = set()
        for setting in self.document.settings:
            if setting.line not in found and setting.start not in self.codes:
                names = self.spoken(setting).names
                best = best_fits(names)[1] if names else ()
                if len(best) == 1 and not best[0].strange and not best[0].alone:
                    found.add(setting.line)
        return found


def _plain(section: Iterable[str]) -> bool:
    """Whether a heading has words of the machine itself only: then a line below may be about another part of it."""
    present = {word for piece in section for word in ways_of(piece)[0]}
    own = {word for thing in _OWN for spelling in vocabulary().spelled(thing) for word in spelling}
    return present <= own | vocabulary().fillers


def _mine(
    remark: str, told: Stated, letters: tuple[str, ...], letter: str
) -> tuple[tuple[str, ...], str, Stated]:
    """What a remark's subject is, what it says of one letter, and the unit it states of it."""
    parts = [_ASIDE.sub("", part).strip() for part in re.split(r"[,:;]|\. ", remark)]
    described = [part for part in parts if part and not _only_unit(part)]
    others = [each for each in letters if each not in _AXES]
    if not described:
        return (), "", told
    mixed = len(letters) > 1 and (others and len(described) >= len(letters))
    if mixed:
        wanted = described[-len(letters) :] if len(described) > len(letters) else described
        mine = wanted[letters.index(letter)]
        own = stated(mine)
        subject = tuple(piece for part in described for piece in split(part) if part is not mine)
        return subject, _without_unit(mine), Stated(own.unit, own.qualifier or told.qualifier, mine)
    if len(others) > 1 and letter != letters[-1]:
        return (), "", told  # the letters before the last choose what is set
    return (), _without_unit(described[0]), told


def _only_unit(part: str) -> bool:
    words = [word for word in part.split() if word.lower() not in QUALIFIERS]
    found = stated(part)
    return not words or (found.unit is not None and not _without_unit(part))


def _without_unit(part: str) -> str:
    """A part of a remark without the unit that it ends or begins with, and without `rms` or `peak`."""
    words = [word for word in part.split() if word.lower() not in QUALIFIERS]
    unit = stated(part).unit
    if unit is None:
        return " ".join(words)
    for count in range(1, min(4, len(words)) + 1):
        for rest, text in ((words[:-count], words[-count:]), (words[count:], words[:count])):
            if unit_written(" ".join(text)) is unit:
                return " ".join(rest[:-1] if rest[-1:] == ["in"] else rest)
    return " ".join(words)


def _key(mine: str, letters: tuple[str, ...], letter: str) -> tuple[str, ...]:
    """The pieces of a description with the letter's own axis, and without the axes of its line."""
    axes = {each.lower() for each in letters if each in _AXES}
    pieces = [
        piece for piece in split(mine) if piece not in axes and not (letter in _AXES and piece in "xyz")
    ]
    return (letter.lower(), *pieces) if letter in _AXES else tuple(pieces)
