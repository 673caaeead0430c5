"""What the remarks of a word-address file explain once for all of its lines: a legend of codes, and lists of letters.

A legend's line has one code or several, each with what it means: `C41 steps per mm    C42 top speed, mm/s`. So may words of a maker's
own, and a parameter's number. A meaning may say what each letter behind the code is, `C50 pull-back: L length, F feed`, on deeper lines below it too. Letters may be
explained for the whole file: `X Y Z slides, A the wire feed`. Only words are parted here; what they name is found elsewhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from msgspec import Struct, field

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.codes import coded
from cfgmigrate.machine.lists_of_others import is_of_another, still_of_another
from cfgmigrate.machine.rms_or_peak import QUALIFIERS

_WHAT = r"[ \t]*(?:[:=|)–—-]+>?|\.{2,})?[ \t]*(?:(?:is|are|sets?|means|for|the|about|gives|holds|says)[ \t]+){0,3}"
#: a code that is explained: at the beginning, behind a gap, or behind a mark where a sign says that it is explained
_ENTRY = pattern(
    rf"(?:^[-*•]?[ \t]?|(?<=[ \t][ \t])|(?<=\t)|[,;|.:(][ \t]?(?=[A-Z]\d+(?:\.\d+)?[ \t]*[:=]))([A-Z]\d+(?:\.\d+)?)(?=[ \t:=|)–—.-]){_WHAT}\(?(?=[A-Za-z])"
)
#: a further code of the line, which the file has, behind a comma
_FURTHER = pattern(
    r"(?:[,;][ \t]+(?:and[ \t]+)?|(?<=[a-z\d²)])[ \t]+and[ \t]+)([A-Z]\d+(?:\.\d+)?)[ \t]+(?:(?:is|sets?|for|the)[ \t]+){0,2}\(?(?=[a-z])"
)
#: letters that the last entry of a line explains for all of them: `C40 hottest, C41 coldest (N nozzle, B bed)`
_FOR_ALL = pattern(r"[ \t]*\((?=[A-Z][ \t])[^()]*[,;][ \t]*[A-Z][ \t][^()]*\)?$")
#: an entry that repeats the one before: `C50 hot end: L lowest, H highest   C51 bed ditto`
_DITTO = pattern(r"(.*?)[ \t,:]*\b(?:ditto|likewise|the same|as above)\b[ \t.]*", re.I)
#: from one letter to another on an axis: `A..B in X`
_CORNERS = pattern(
    r",?[ \t]*\b(?:X and Y )?from \(?([A-Z])(?:, ?| )([A-Z])\)? to \(?([A-Z])(?:, ?| )([A-Z])\b\)?"
)
_UNIT_IN_BRACKETS = pattern(r"\(([^()]{1,12})\)")
_FROM_TO = pattern(r"\b([A-Z])(?:\.{2,}|[ \t]+to[ \t]+|-)([A-Z])[ \t]+(?:in|on|along|for|is)[ \t]+([XYZ])\b")
#: the two ends of an axis by two letters, `nozzle end stops  A/B = X, C/D = Y`; stops that are not the nozzle's may be pins
_ENDS_BY_PAIRS = pattern(
    r"(?:(?:nozzle|tip)(?:'s)? (?:end ?stops?|ends?|limits?|travel|range|reach)|ends? of (?:travel|range)|soft(?:ware)? limits|travel|reach)"
    r"(?:,? (?:in )?mm)?[ \t:,=-]*(?=[A-Z]/[A-Z]\b)",
    re.I,
)
_PAIR = pattern(r"\b([A-DF-W])/([A-DF-W])(?:[ \t]*[=:][ \t]*|[ \t]+)([XYZ])\b(?=[ \t]*(?:[,;)]|$))")
_ANY_PAIR = pattern(r"\b[A-DF-W]/[A-DF-W](?:[ \t]*[=:][ \t]*|[ \t]+)[XYZ]\b")
_CONTROL = pattern(r"\b(?:control(?:ler)? loop|control(?:ler)?|loop|tuning|regulation|regulator)\b", re.I)
_FROM_ONE_TO_THE_OTHER = r"\1 \3 from, \2 \3 to"
_LOOP = pattern(r"\bP[ ,/]*I[ ,/]*D\b")
#: a parameter's number that is explained, and a maker's own word
_NUMBERED = pattern(r"(\d{1,4})[ \t]*[:=)][ \t]*(?=[A-Za-z])")
_WORDED = pattern(
    r"([A-Za-z][\w-]{1,30}(?: [\w-]{1,30}){0,3}?)(?:[ \t]*[:=]|[ \t]+-[ \t]|[ \t]{2})[ \t]*(?=[A-Za-z])"
)
#: a letter that is explained, behind a mark or a gap
_MARKED = pattern(
    r"(?:^|[,;:|(][ \t]*|(?<=[ \t][ \t])|[ \t]-[ \t])(?:and[ \t]+)?([A-Z])(?=[ \t]*[=:]|[ \t,;)]|$)"
)
#: a letter that stands alone among words, and is no unit's
_LOOSE = pattern(r"(?:^|(?<![\w'.]))(?<!deg )(?<!degrees )(?<!in )([A-Z])(?![\w'.°-])")
_SIGN = pattern(
    r"[ \t]*[=:–-]+[ \t]*|[ \t]+(?:is|are|for|the|means|sets)[ \t]+(?:(?:the|its|their)[ \t]+)?|[ \t]+"
)
_LETTERS = pattern(r"((?:[A-Z][ \t/&]*(?:and[ \t]+)?)+)(?:(?:[=:–-]|(?<=[ \t])(?=[a-z]))(.+))?")
#: letters behind what they are: `axes X Y Z`, `feeder E`
_LETTERS_BEHIND = pattern(
    r"([a-z][a-z ]{2,40}?)(?:[ \t]*[=:][ \t]*|[ \t]+)((?:[A-Z](?:[ \t/&]+(?:and[ \t]+)?|$))+)"
)
_TITLE = pattern(r"[A-Za-z][A-Za-z ]{2,30}:[ \t]*")
_PARTED = pattern(r"[,;|]|[ \t]{2,}|\.(?:[ \t]|$)")
#: a longer remark is prose
MOST_EXPLAINED = 400
_EDGES = " \t,;:-–=(|./"


#: a name of one or two words and the sign of a second: not `mm per s`
_LAST_IN_SECONDS = pattern(r"^((?!mm\b)[a-z]+(?: (?!per\b|each\b|every\b|a\b|mm\b)[a-z]+)?) s$")
_BEHIND = r"(?:[ \t]*(?:[:=(]|[-=]+>)[ \t]*|[ \t]+(?:(?:is|are|by|with|in)[ \t]+)?)"
_ENDS_IN_A_CODE = pattern(rf"([A-Za-z][a-zA-Z /²^\d()]{{2,60}}?){_BEHIND}([A-Z]\d+(?:\.\d+)?)\)?")
#: one code behind what it is about and a sign, and perhaps its letters: `retraction = C50 (length L, speed F)`
_ABOUT_A_CODE = pattern(
    r"([A-Za-z][a-zA-Z /²^\d()]{2,60}?)[ \t]*(?:[:=]|[-=]+>)[ \t]*([A-Z]\d+(?:\.\d+)?)(?:[ \t]*[,:;( ][ \t]*(?=\S)([^\r\n]*?)\)?)?[ .]*"
)
#: a letter that is explained, or that stands behind its words
_LETTER_TOLD = pattern(
    r"[A-Z](?:[ \t]*[=:][ \t]*|[ \t]+)[a-z]|[^,;]*[a-z][ \t]+\(?[A-Z]\)?(?:[,;)]|[ \t]and\b|$)"
)
#: a bracket that explains letters one by one: `(L mm, V mm/s)`
_OF_LETTERS = pattern(r"\([A-Z][ \t][^(),]*,[ \t]*(?:and )?[A-Z][ \t]")
_ANY_CODE = pattern(r"(?<![\w.])[A-Z]\d+(?:\.\d+)?(?![\w.])")
#: how a remark begins that explains codes
_BEGINS_WITH_A_CODE = pattern(r"[-*•]?[ \t]?[A-Z]\d+(?:\.\d+)?[ \t:=|)]")


def whole_remarks(texts: Iterable[tuple[str, int]]) -> Iterator[tuple[tuple[str, ...], int]]:
    """Remarks that stand alone, line by line, each with the further lines of its sentence: where one that begins with a code breaks off
    before a bracket that explains letters. `texts` are each line's, with where it begins; "" for a line that is no such remark."""
    parts: tuple[str, ...] = ()
    begins = 0
    for text, indent in texts:
        goes_on = parts and _OF_LETTERS.match(text) and _BEGINS_WITH_A_CODE.match(parts[0])
        if goes_on and len(" ".join((*parts, text))) <= MOST_EXPLAINED:
            parts = (*parts, text)
            continue
        if parts:
            yield parts, begins
        parts, begins = ((text,) if text else ()), indent
    if parts:
        yield parts, begins


class Listed(Struct, frozen=True):
    """What a text says of letters one by one, and what all of them are about."""

    subject: str
    letters: Mapping[str, str]


class CodeLegend(Struct):
    """The codes and the letters that a file explains, gathered from its remarks in their order: codes, words of a
    maker's own (those of `commands`), and numbers of parameters. `used` are the codes that the file has."""

    commands: frozenset[str] = frozenset()
    used: frozenset[str] = frozenset()
    codes: dict[str, str] = field(default_factory=dict)
    letters: dict[str, str] = field(default_factory=dict)
    #: what is said of codes before each of them; what begins with the code says it better
    behind: dict[str, str] = field(default_factory=dict)
    #: codes that a list explains which says that it is another machine's, each with the words that say so
    of_another: dict[str, str] = field(default_factory=dict)
    #: what says so of the codes that follow; "" for nothing
    _another: str = ""
    #: whether a code was listed below it
    _begun: bool = False
    _last: str = ""
    _before: str = ""
    _indent: int = 0

    def take(self, text: str, indent: int) -> str:
        """Takes in a remark that stands alone; `codes`, `numbers` or `letters` for what it explains, "" for nothing. `indent` is where its text begins."""
        if len(text) > MOST_EXPLAINED:
            return ""
        begins = _BEGINS_WITH_A_CODE.match(text) is not None
        if not begins:
            goes_on = self._another and still_of_another(self._another, text)
            if is_of_another(text):
                self._another, self._begun = text, False
            elif not (goes_on and (_ANY_CODE.search(text) or not self._begun)):
                self._another = ""
        if self._another:
            self._begun = self._begun or _ANY_CODE.search(text) is not None
            for code in map(coded, _ANY_CODE.findall(text)):
                self.of_another.setdefault(code, self._another)
            return "codes" if begins else ""
        named = _NUMBERED.match(text) or _WORDED.match(text)
        if named and (named[1].isdigit() or coded(named[1]) in self.commands):
            self._entries(text, [named], indent)
            return "numbers" if named[1].isdigit() else "codes"
        entries = list(_ENTRY.finditer(text))
        if entries and entries[0].start(1) <= 2:
            self._entries(text, entries, indent)
            return "codes"
        if self._last and indent > self._indent and _MARKED.match(text):
            whole = f"{self.codes[self._last]}, {text}"
            self.codes[self._last] = whole if len(whole) <= MOST_EXPLAINED else self.codes[self._last]
            return "codes"
        self._last = ""
        if entries:
            self._entries(text, entries, indent)
            self._last = ""
        elif behind := self._codes_behind(text):
            self.behind.update({code: words for code, words in behind.items() if code not in self.behind})
            return "codes"
        listed = letters_of_all(text)
        for letter, words in listed.items():
            self.letters.setdefault(letter, words)
        return "codes" if entries else "letters" if listed else ""

    def _codes_behind(self, text: str) -> dict[str, str]:
        """What each part of a text says of the code that it ends in, where all do and the file has two of them: `steps a mm M1092,
        lag s M1900`."""
        one = _ABOUT_A_CODE.fullmatch(text)
        if one and coded(one[2]) in self.used and (not one[3] or _LETTER_TOLD.match(one[3])):
            return {coded(one[2]): f"{one[1]}: {one[3]}" if one[3] else _with_unit(one[1])}
        parts = [_ENDS_IN_A_CODE.fullmatch(part.strip()) for part in re.split(r",|;|\|", text.rstrip(". "))]
        found = {coded(part[2]): _with_unit(part[1]) for part in parts if part}
        return found if len(found) == len(parts) and len(self.used & found.keys()) > 1 else {}

    def _entries(self, text: str, entries: Iterable[re.Match[str]], indent: int) -> None:
        found = list(entries)
        further = [each for each in _FURTHER.finditer(text, found[0].end()) if coded(each[1]) in self.used]
        found = sorted([*found, *further], key=lambda each: each.start(1))
        found = [each for at, each in enumerate(found) if not at or each.start(1) != found[at - 1].start(1)]
        ends = [each.start() for each in found[1:]] + [len(text)]
        for_all = _FOR_ALL.search(text, found[-1].end()) if len(found) > 1 else None
        for each, end in zip(found, ends, strict=True):
            code = coded(each[1])
            said = _with_unit(_whole_brackets(text[each.end() : end].strip(_EDGES)))
            if for_all and "(" not in said:
                said += for_all[0]
            if ditto := _DITTO.fullmatch(said):
                said = ditto[1] + _letters_part(self.codes.get(self._before, ""))
            self.codes.setdefault(code, said)
            self._last = self._before = code
        self._last = self._last if len(found) == 1 else ""
        self._indent = indent


def _whole_brackets(said: str) -> str:
    """An entry without a closing bracket whose beginning was left to its code: `C41 (top speed)`."""
    return said.rstrip(")").strip(_EDGES) if said.count(")") > said.count("(") else said


def _with_unit(said: str) -> str:
    """An entry whose last word is the sign of a second, as it is written elsewhere: `lag s` is `lag, s`."""
    return _LAST_IN_SECONDS.sub(r"\1, s", said)


def codes_explained(texts: Iterable[Iterable[tuple[str, int]]]) -> dict[str, str]:
    """What the remarks of several files explain of codes; a code that two of them explain differently is not among them.
    `texts` are for each file its remarks that stand alone, each with where it begins."""
    found: dict[str, str] = {}
    differing: set[str] = set()
    for remarks in texts:
        legend = CodeLegend()
        for parts, indent in whole_remarks(remarks):
            legend.take(" ".join(parts), indent)
        own = {
            code: words for code, words in legend.codes.items() if not code.isdigit()
        }  # numbers are of one code
        differing |= {code for code, words in own.items() if found.setdefault(code, words) != words}
    return {code: words for code, words in found.items() if code not in differing}


def _letters_part(entry: str) -> str:
    """What an entry says of its letters, behind what it is about."""
    found = re.search(r"(?::| \(|,)(?=[ \t]*[A-Z]\b).*", entry)
    return found[0] if found else ""


def letters_of_all(text: str) -> dict[str, str]:
    """Letters that a remark explains for a whole file: every part of it is one or more of them and words."""
    title = _TITLE.match(text)
    parts = [part.strip() for part in _PARTED.split(text[title.end() if title else 0 :]) if part.strip()]
    found: dict[str, str] = {}
    open_letters: list[str] = []
    for part in parts:
        match = _LETTERS.fullmatch(part)
        if match is None:
            return _letters_behind_words(parts)
        open_letters += re.findall("[A-Z]", match[1])
        if match[2]:
            found.update(dict.fromkeys(open_letters, match[2].strip(_EDGES)))
            open_letters = []
    if open_letters:
        return {}
    return found if len(parts) > 1 or len(found) > 1 or title else {}


def _letters_behind_words(parts: Iterable[str]) -> dict[str, str]:
    """Letters that every part of a remark names behind what they are, axes among them: `axes X Y Z, feeder E`; {} for any other."""
    told = [_LETTERS_BEHIND.fullmatch(part) for part in parts]
    found = {letter: each[1] for each in told if each for letter in re.findall("[A-Z]", each[2])}
    letters = sum(len(re.findall("[A-Z]", each[2])) for each in told if each)
    return found if all(told) and letters == len(found) > 1 and not _AXES.isdisjoint(found) else {}


def pairs_of(text: str) -> list[tuple[str, str]]:
    """The pairs of letters by which a text has the two ends of an axis: `travel: A/B = X`."""
    ends = _ENDS_BY_PAIRS.match(text)
    return [(first, second) for first, second, _ in _PAIR.findall(text)] if ends else []


@lru_cache(maxsize=4096)
def letters_listed(text: str, letters: tuple[str, ...]) -> Listed | None:
    """What a text says of a line's letters one by one; None where it names none of them so. A letter without words of its
    own has those of the next one; those of a control are their own words: `control P I D`."""
    if len(text) > MOST_EXPLAINED:
        return None
    wanted = frozenset(letters)
    text = _UNIT_IN_BRACKETS.sub(lambda found: found[1] if unit_written(found[1]) else found[0], text)
    text = _CORNERS.sub(r": \1 x from, \2 y from, \3 x to, \4 y to", text)
    ends = _ENDS_BY_PAIRS.match(text)
    if ends and len(_PAIR.findall(text)) == len(_ANY_PAIR.findall(text)):
        text = f"ends of travel: {_PAIR.sub(_FROM_ONE_TO_THE_OTHER, text[ends.end() :])}"
    elif _ANY_PAIR.search(text):
        return None  # of which of the two the axis is said, and what of it, is not known
    text = _FROM_TO.sub(_FROM_ONE_TO_THE_OTHER, text)
    whole_loop = wanted == frozenset("PID") and _CONTROL.search(text)
    if wanted and wanted <= frozenset("PID") and (loop := _LOOP.search(text) or whole_loop):
        about = (text[: loop.start()] + text[loop.end() :]).strip(_EDGES)
        return Listed(about, {letter: f"tuning {letter.lower()}" for letter in letters})
    if behind := _letters_behind(text, wanted):
        return behind
    marks = list(_MARKED.finditer(text))
    loose = [each for each in _LOOSE.finditer(text) if each[1] in wanted]
    if {each[1] for each in marks} & wanted < wanted == {each[1] for each in loose}:
        marks = loose
    return _listed(text, marks, wanted) or _listed(
        text, [each for each in marks if each[1] in wanted], wanted
    )


#: a letter in brackets behind what it is: `diameter of filament (F), bore of nozzle (N)`
_BEHIND_ITS_WORDS = pattern(r"([^(),;|]*[a-z][^(),;|]*?)[ \t]*\(([A-Z])(?:\)|$)")


#: the same without brackets: `flow lag C, averaging time T`
_ENDS_IN_ITS_LETTER = pattern(r"([^(),;|]*[a-z][^(),;|]*?)[ \t]+([A-Z])(?=[,;]|$)")


_AXES = frozenset("XYZE")


def _letters_behind(text: str, wanted: frozenset[str]) -> Listed | None:
    """What a text says of letters before each of them; None where no letter stands behind its words."""
    marks = list(_BEHIND_ITS_WORDS.finditer(text))
    bare = list(_ENDS_IN_ITS_LETTER.finditer(text))
    if (
        not marks
        and not wanted <= _AXES
        and wanted == {each[2] for each in bare}
        and _PARTED.split(text)[-1].endswith(bare[-1][2])
    ):
        marks = bare
    names = [each[2] for each in marks]
    if not marks or len(set(names)) < len(names) or wanted.isdisjoint(names):
        return None
    subject, colon, first = text[: marks[0].start(2)].rpartition(":")
    said = [re.sub(r"^[ \t,;]*(?:and |or )?", "", each[1]).strip(_EDGES) for each in marks]
    said[0] = first.rstrip("( \t").strip(_EDGES) if colon else said[0]
    last = text[marks[-1].end() :].strip(_EDGES)
    if last and not re.match(r"[ \t]*[,;.|(]", text[marks[-1].end() :]):
        said = [f"{words} {last}" for words in said]  # `lowest (L) and highest (H) temperature`
    return Listed(subject.strip(_EDGES), dict(zip(names, said, strict=True)))


def _listed(text: str, marks: list[re.Match[str]], wanted: frozenset[str]) -> Listed | None:
    names = [each[1] for each in marks]
    if len(set(names)) < len(names) or wanted.isdisjoint(names):
        return None
    ends = [each.start() for each in marks[1:]] + [len(text)]
    said = [_words(text[each.end(1) : end]) for each, end in zip(marks, ends, strict=True)]
    if not any(said) and frozenset("PID").issuperset(names):
        said = [f"tuning {name.lower()}" for name in names]
    for at in range(len(said) - 2, -1, -1):
        said[at] = said[at] or said[at + 1]
    subject = text[: marks[0].start()].strip(_EDGES)
    if not all(said):
        return None
    return Listed(subject, dict(zip(names, said, strict=True)))


def _words(text: str) -> str:
    sign = _SIGN.match(text)
    words = (text[sign.end() :] if sign else text).strip(_EDGES)
    if words.count(")") > words.count("("):
        words = words.rstrip(")").strip(_EDGES)
    return "" if words in ("and", "or", "&", "/") or words.lower() in QUALIFIERS else words
