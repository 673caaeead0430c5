"""Words of word-address lines whose code no table knows, read by what the file's remarks say of them.

`S120 L5.5 ; retraction length` says what it sets; so does a remark alone on the line above, and a heading such as
`(probe)` above a group. Every word of the remark must have a meaning, as every word of a key must. Letters of axes
and of the feeder say whose the number is; where a line has several other letters, its remark names them one by one,
with commas or `and` between. Letters that only choose what is set (`choosers.py`) are none of them.

Such a reading is only editable where remark or file state its unit, or where it has none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.units import unit_written, units
from cfgmigrate.machine.choosers import Choosers
from cfgmigrate.machine.codes import coded
from cfgmigrate.machine.context import Spoken, words_said
from cfgmigrate.machine.legends import letters_told, one_told, text_in_full
from cfgmigrate.machine.matching import Fit, best_fits
from cfgmigrate.machine.remarks import NOT_THAT, NOTHING, QUALIFIERS, Remarks, Stated, order_in, stated
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name, names_of, split

_AXES = frozenset("XYZE")
#: what headings of a machine's own parts are about
_OWN = ("feeder", "feed", "drive", "x", "y", "z", "carriage", "retraction", "lag", "probe", "mesh", "park", "filament",
        "nozzle", "hotend", "bed", "speed", "acceleration", "current", "limit", "step", "microstep", "length")  # fmt: skip
#: a legend's line: a code and what it means
_LEGEND = re.compile(
    r"([A-Z]\d+(?:\.\d+)?)(?:[ \t]*[:=–-]+[ \t]*|[ \t]+(?:is[ \t]+|sets[ \t]+)?(?:the[ \t]+)?)([A-Za-z][^;]*)"
)
_ALONE = re.compile(r"[ \t]*(?:(?:[;%!]|//|--|#+(?![ \t]*\d+[ \t]*=))[ \t]*|\()([^\r\n]*)")
#: a line of a code that somebody took out of force
_OUT_OF_FORCE = re.compile(r"[A-Z]\d+(?:\.\d+)?[ \t]+[A-Z][-+]?\.?\d")
#: what a number is that is no amount of its quantity
_SHARE = re.compile(r"\bper ?cent\b|%", re.I)
#: a remark that is the heading of a part of the file
_HEADED = re.compile(r"[-=*~#]{2,}[ \t]*([A-Za-z][A-Za-z /]*?)[ \t]*[-=*~#]*")
#: what a script is for, and no description of its first line
_ROLE = re.compile(r"(?:START|END|LOAD|UNLOAD|PARK|PAUSE|RESUME|CANCEL|HOME)\b[^:]*:", re.I)
#: a heading has few words
HEADING = 4
#: what only counts the parts of a file, before a heading's own words
_COUNTED_PART = re.compile(
    r"(?:[-=*~#]{2,}[ \t]*)?(?:(?:part|section|block)?[ \t]*\d+[.):]|[a-z]+[ \t]+(?:part|section|group|block)[ \t]*:)[ \t]*",
    re.I,
)
_ASIDE = re.compile(
    r"\b(?:was(?! drawn| pulled| taken)|old|before(?! (?:a |each |every |the )?(?:travel|move|jump|trip))|since|formerly|"
    r"until(?! the motors)|because|but|see|"
    r"from the(?! (?:nozzle|tip|jet|head|bed|drive|gear|gears|feeder|wheel|wheels|hob|motor))|instead)\b.*",
    re.I,
)


@dataclass
class ToldCodes:
    """The remarks of a word-address file by line. `above` is what stands alone above a run of lines."""

    document: Document
    remarks: Remarks
    #: words that the user explained
    taught: Mapping[tuple[str, ...], tuple[str, ...]] = field(default_factory=dict)
    above: Mapping[int, str] = field(init=False)
    letters: Mapping[int, tuple[str, ...]] = field(init=False)
    #: lines of another code than the one that stands directly below the remark above them
    later: set[int] = field(init=False)
    legend: dict[str, str] = field(init=False)
    line_code: dict[int, str] = field(init=False)
    #: where a line begins with a code of another letter than those of RS-274: that word sets nothing
    codes: set[int] = field(init=False)
    choosers: Choosers = field(init=False)
    #: lines of one word
    single: set[int] = field(init=False)
    #: the heading of the part of the file that a line stands in: a remark behind dashes
    part: dict[int, str] = field(init=False)
    #: codes that set several axes: what another letter behind them sets is no part of the printer's
    of_axes: set[str] = field(init=False)
    #: letters that the file says the meaning of: `E` for those of the feeder, "" for another device's
    means: dict[str, str] = field(init=False)
    #: the last word that was asked about: a line may say one half a million times
    _last: tuple[tuple[int, str, str], Spoken] = field(init=False, default=((0, "", ""), Spoken(())))

    def __post_init__(self) -> None:
        lines: dict[int, list[Setting]] = {}
        for setting in self.document.settings:
            lines.setdefault(setting.line, []).append(setting)
        self.means = _meant(self.remarks.opening)
        self.codes = {
            each[0].start
            for each in lines.values()
            if len(each) > 1 and each[0].section == "" and each[0].value.isdigit()
        }
        self.single = {line for line, found in lines.items() if len(found) == 1}
        codes = {line: (found[0].section or found[0].key + found[0].value) for line, found in lines.items()}
        self.choosers = Choosers.of_lines(
            {
                line: (codes[line], tuple(s for s in found if s.start not in self.codes))
                for line, found in lines.items()
            }
        )
        self.letters = {
            line: tuple(
                dict.fromkeys(
                    self.letter(s)
                    for s in found
                    if s.start not in self.codes and s.start not in self.choosers.starts
                )
            )
            for line, found in lines.items()
        }
        self.later = set()
        self.line_code = {line: coded(code) for line, code in codes.items()}
        self.legend: dict[str, str] = {}
        above: dict[int, str] = {}
        self.part = {}
        axes: dict[str, set[str]] = {}
        for at, letters in self.letters.items():
            axes.setdefault(self.line_code[at], set()).update(_AXES.intersection(letters))
        self.of_axes = {each for each, letters_set in axes.items() if len(letters_set) > 2}
        current, code, part = "", "", ""
        alone_lines = 0
        for number, line in enumerate(self.remarks.text.splitlines(), 1):
            alone = _ALONE.fullmatch(line)
            if alone and _OUT_OF_FORCE.match(alone[1].lstrip()):
                continue  # a line that was taken out of force describes nothing
            if alone and (legend := _LEGEND.fullmatch(alone[1].strip().rstrip(")").strip())):
                self.legend[coded(legend[1])] = legend[2]
            if alone and (headed := _HEADED.fullmatch(alone[1].strip().rstrip(")").strip())):
                part = headed[1]
            if alone:
                current, code = alone[1].strip().rstrip(")").strip(), ""
                alone_lines += 1
            elif number in self.letters:
                code = code or codes[number]
                above[number] = "" if _ROLE.match(current) else current
                self.part[number] = part
                if code != codes[number]:
                    self.later.add(number)
            elif not line.strip():
                opened = (
                    alone_lines > 1 and not above
                )  # the file's opening remark is no heading of its first lines
                current, code = ("", "") if code or opened else (current, code)
        self.above = above

    def letter(self, setting: Setting) -> str:
        """A word's letter, as `E` where the file says that it is the feeder's."""
        return self.means.get(setting.key.upper(), "") or setting.key.upper()

    def spoken(self, setting: Setting) -> Spoken:
        """What the remarks say of one word of a line, and what its command says where that is a maker's own word."""
        if setting.start in self.choosers.starts or self.means.get(setting.key.upper()) == "":
            return Spoken(())
        word = (setting.line, setting.section, setting.key)
        if self._last[0] != word:
            self._last = word, self._spoken(setting)
        return self._last[1]

    def _spoken(self, setting: Setting) -> Spoken:
        behind = text_in_full(self.remarks.of_line(setting), self.taught)
        above = text_in_full(self.above.get(setting.line, ""), self.taught)
        code = self.line_code.get(setting.line, "")
        remark, heading = (behind, above) if behind or setting.line in self.later else (above, "")
        if not behind and code in self.legend:
            remark, heading = text_in_full(self.legend[code], self.taught), ""
        remark = _without_code(remark, code)
        told = stated(remark)
        if told.unit is None and _SHARE.search(remark):
            return Spoken(())
        letters, letter = self.letters[setting.line], self.letter(setting)
        if letter not in _AXES and (_AXES.intersection(letters) or code in self.of_axes):
            return Spoken((), told.unit, told.qualifier, remark)
        heading, headed = _heading(heading)
        section = tuple(split(heading)) if len(heading.split()) <= HEADING else ()
        if self.choosers.tool(setting.line) is not None and behind:
            section = ()  # what stands above is which tool it is
        parts = told_of(remark, told, letters, letter)
        mine = parts[0].told if parts else told
        if mine.unit is None:
            mine = replace(mine, unit=headed.unit, qualifier=mine.qualifier or headed.qualifier)
        command = _command(setting)
        names = self._of_command(command, parts, mine, letter) if command else ()
        names += tuple(name for part in parts for name in self._names(part, section, letter, letters))
        group = tuple(split(self.part.get(setting.line, "")))
        if parts and group and not section and len(group) <= HEADING:
            names += tuple(name for part in parts[:1] for name in self._names(part, group, letter, letters))
        if letter == "F" and mine.unit is None:
            rate = tuple(name for part in parts for name in _rates(part))
            if rate and best_fits(rate)[1]:
                stated_of_all = "speed" in self.remarks.units
                return Spoken(rate, None if stated_of_all else units()["mm/min"], "", remark)
        return Spoken(names, mine.unit, mine.qualifier, remark, order_in(remark))

    def _of_command(
        self, command: tuple[str, ...], parts: tuple[ToldCode, ...], told: Stated, letter: str
    ) -> tuple[Name, ...]:
        """The names that a maker's own command has: by itself, and with what the remark says of the letter."""
        own = (letter.lower(),) if letter in _AXES else ()
        said, dimension = words_said("", told.unit), told.unit.of if told.unit else ""
        names: tuple[Name, ...] = names_of((), own + command, said, dimension)
        best = best_fits(names)[1]
        if len(best) == 1 and not (best[0].strange or best[0].alone):
            return names
        for part in parts:
            names += names_of((), own + command + tuple(split(part.words)), said, dimension)
        return names

    def _names(
        self, part: ToldCode, section: tuple[str, ...], letter: str, letters: tuple[str, ...]
    ) -> tuple[Name, ...]:
        """The names that a part of a remark may be: below what the remark is about, and below the heading."""
        key = _key(part.words, letters, letter)
        if not key:
            return ()
        about = tuple(split(part.subject))
        said, dimension = words_said("", part.told.unit), part.told.unit.of if part.told.unit else ""
        if about:
            return names_of(about, key, said, dimension) if _understood(about) else ()
        names: tuple[Name, ...] = names_of(section, key, said, dimension)
        if section and _plain(section):
            names += names_of((), key, said + section, dimension)
        return names

    def explained(self) -> set[int]:
        """The lines of which a remark explains what they set."""
        found = set()
        for setting in self.document.settings:
            if setting.line not in found and setting.start not in self.codes:
                names = self.spoken(setting).names
                best = best_fits(names)[1] if names else ()
                clear = len(best) == 1 and not best[0].strange and not best[0].alone
                if clear and not only_occasion(best[0]):
                    found.add(setting.line)
        return found


def _rates(part: ToldCode) -> tuple[Name, ...]:
    """The names that a part of a remark is of the letter F, which is a rate in RS-274, in millimetres a minute (NISTIR
    6556, 3.5.11 and 2.1.2.5, from memory)."""
    return names_of((), tuple(split(part.words)), ("speed",), "speed")


def _command(setting: Setting) -> tuple[str, ...]:
    """The words of a maker's own command, with the one that stands where others have a letter; () for a code."""
    said = setting.section if len(setting.key) == 1 else f"{setting.section} {setting.key}"
    return tuple(split(said)) if re.sub(r"[ _-]", "", said).isalpha() else ()


def _heading(text: str) -> tuple[str, Stated]:
    """A heading's own words, without what counts it, and what it states behind them: `3. Coil currents, mA RMS`."""
    counted = _COUNTED_PART.match(text)
    text = text[counted.end() :] if counted else text
    words, _, behind = text.partition(",")
    told = stated(behind.strip())
    return (words.strip(), told) if "=" not in words and (counted or told.unit) else (text, NOTHING)


def _meant(opening: str) -> dict[str, str]:
    """What letters mean by a file's opening remark: `E` for those of the feeder, "" for those of another device."""
    told = letters_told(opening) or one_told(opening)
    parts = {letter.upper(): part for letter, (part, _) in told.items()}
    feeders = {letter for letter, part in parts.items() if part == "feeder"}
    devices = {letter for letter, part in parts.items() if part == "device" and letter not in _AXES}
    return {**dict.fromkeys(feeders, "E"), **dict.fromkeys(devices, "")} if len(feeders) == 1 else {}


def only_occasion(fit: Fit) -> bool:
    """Whether a remark says no more than what a script is for: `unload filament` above its first line."""
    return fit.bare and fit.quantity in ("feeder.load_length", "feeder.unload_length")


def _plain(section: Iterable[str]) -> bool:
    """Whether a heading has words of the machine itself only: then a line below may be about another part of it."""
    present = {word for piece in section for word in ways_of(piece)[0]}
    own = {word for thing in _OWN for spelling in vocabulary().spelled(thing) for word in spelling}
    return present <= own | vocabulary().fillers


def _understood(pieces: Iterable[str]) -> bool:
    """Whether every word of a subject is one that the trade has."""
    return all(word in vocabulary().known or word.isdigit() for piece in pieces for word in ways_of(piece)[0])


def _without_code(remark: str, code: str) -> str:
    """A remark without the code of its own line before it: `A101 = steps per mm`."""
    legend = _LEGEND.fullmatch(remark)
    return legend[2] if legend and coded(legend[1]) == code else remark


@dataclass(frozen=True, slots=True)
class ToldCode:
    """What a remark says of one letter: its words, what they are about, and the unit that is stated of it."""

    words: str
    subject: str
    told: Stated


def told_of(remark: str, told: Stated, letters: tuple[str, ...], letter: str) -> tuple[ToldCode, ...]:
    """What a remark may say of one letter of its line, the likeliest first; () for nothing."""
    remark = NOT_THAT.sub("", _of_truth(remark))
    found = [
        part for each in re.split(r"[,:;(]|\. | - ", remark) if (part := _ASIDE.sub("", each).strip(" )"))
    ]
    described = [part for part in found if not _only_unit(part)]
    if not described or letter not in letters:
        return ()
    own, others = letters.index(letter), [each for each in letters if each not in _AXES]
    if len(letters) == 1 or not others:
        whole = " ".join(described)
        ways = (whole, described[0]) if len(described) > 1 else (whole,)
        return tuple(ToldCode(_without_unit(each), "", told) for each in ways)
    joined = [each for part in described for each in _AND.split(part)]
    first = _AND.split(described[0])
    for parts in (first, described, joined):
        if len(parts) == len(letters) or (len(parts) > len(letters) and parts is described):
            return _one_of_several(parts, len(letters), own, told)
    units = [part for each in found if _only_unit(each) for part in _AND.split(each)]
    if len(described) == 1 and len(units) == len(letters):
        own_unit = stated(units[own].strip())
        return (ToldCode(" ".join(words_said("", own_unit.unit)) or " ", described[0], own_unit),)
    return (ToldCode(_without_unit(described[0]), "", told),) if letter == letters[-1] else ()


def _one_of_several(parts: list[str], count: int, own: int, told: Stated) -> tuple[ToldCode, ...]:
    """The part of a remark that is about one of several letters. The first may begin with what all are about:
    `retraction length and speed`."""
    before, wanted = parts[:-count], parts[-count:]
    mine, unit = wanted[own], stated(wanted[own])
    shared = _without_unit(wanted[0]).split()[:-1] if own else []
    own_told = Stated(unit.unit, unit.qualifier or told.qualifier, mine)
    subjects = [" ".join((*before, *shared)), *([" ".join(before)] if before and shared else [])]
    return tuple(ToldCode(_without_unit(mine), subject, own_told) for subject in subjects)


_AND = re.compile(r" and | & | [+] | / ")
_TRUTH = re.compile(r"[,;(]?[ 	]*\b([01])[ 	]*(?:=|:|is|means)[ 	]*([^,;()]+)\)?", re.I)
_YES = re.compile(r"yes|no|true|false|on|off|y|n", re.I)


def _of_truth(remark: str) -> str:
    """A remark without what it says of a switch's numbers: `reversed, 1 = yes` is `reversed`. Where nothing else
    stands there, it is what 1 means: `1: motor runs backwards`."""
    told = {found[1]: found[2].strip() for found in _TRUTH.finditer(remark)}
    if not told:
        return remark
    rest = _TRUTH.sub("", remark).strip(" ,;:")
    meant = told.get("1", "")
    return rest if rest or not meant or _YES.fullmatch(meant) else meant


def _only_unit(part: str) -> bool:
    if (several := _AND.split(part)) != [part]:
        return all(_only_unit(each) for each in several)
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
