"""What the remarks of a file state: the unit of a line, the units of a whole file, the order of lists.

A remark behind a value often says its unit (`240 ; mm/min`), sometimes what the number is. A file's opening
remark often says the units of all its lines. Both count as statements, below what value and key say themselves.
A remark that is a setting which somebody took out of force is none of these.

Nothing here knows a quantity; what a remark's words name is the matter of `matching.py`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written, units
from cfgmigrate.machine.list_orders import order_said

#: a longer remark is prose: only what stands before its first comma or dot is looked at
MOST_WORDS = 9
#: letters of a remark of which it is kept what it states
_SHORT = 200
#: a text of so many words says something
SENTENCE = 4
#: so many lines at the top of a file may be its opening remark
OPENING = 12
QUALIFIERS = ("rms", "peak")
#: what a remark says of a current that it calls both: nobody can tell which the number is
UNCLEAR = "rms or peak"
#: behind one of the two that a remark says of another number
OF_ANOTHER = "?"
#: a word that is denied, and the formula from one to the other
NOT_THAT = pattern(
    r"\b(?:not|no|never|isn.?t|instead of|rather than)[ \t]+(?:an?[ \t]|in[ \t]|the[ \t])?(?:rms|peak)\b"
    r"|\b(?:rms|peak)[ \t]*=[^,;.)]*(?:\.\d[^,;.)]*)*",
    re.I,
    needs=("rms", "peak"),
)
_CLAUSES = pattern(r"[,;()]|\. | - ")
#: words of a clause that is of another time or thing, or denied
_PAST_OR_DENIED = r"was|were|used to|until|formerly|old|never|not|no|displays?|panel|data ?sheets?|labels?"
_ELSEWHERE = pattern(
    rf"(?i)\b(?:{_PAST_OR_DENIED}|fans?|lamps?|heaters?)\b[^,;()]*\b(?:ms|milliseconds?)\b|\b(?:ms|milliseconds?)\b[^,;()]*\b(?:{_PAST_OR_DENIED})\b"
)
_OF_ANOTHER_CURRENT = pattern(
    rf"(?i)\b(?:{_PAST_OR_DENIED}|supply|load|hours?|before)\b[^,;()]*\b(?:rms|peak)\b|\b(?:rms|peak)\b[^,;()]*\b(?:{_PAST_OR_DENIED}|load|hours?|before)\b"
)
_OF_OTHER_CURRENTS = pattern(
    rf"(?i)\b(?:{_PAST_OR_DENIED}|supply|before|except|but (?:the|for|that)|ax[ie]s|[xyz])\b[^,;()]*\b(?:rms|peak)\b"
    rf"|\b(?:rms|peak)\b[^,;()]*(?:\b(?:{_PAST_OR_DENIED}|before|except|divided|times|load|ax[ie]s|[xyz])\b|\?|\d)"
)
_DOTTED_RMS = pattern(r"\br\. ?m\. ?s\b\.?", re.I)
#: the trade's other word for rms, where it is not about a gear or a length
_EFFECTIVE = pattern(
    r"\b(?:effective\b|eff(?:\.|\b(?!\.)))(?![ \t]*(?:diameter|radius|length|way|travel|gear|steps?|from|since|until|date))"
)
#: the trade's other words for peak, where they are of a current
_AMPLITUDE = pattern(
    r"\b(currents?|ma|(?:milli)?amp(?:ere)?s?)\b((?:[ \t]+[a-z]+){0,2}[ \t]*[,:(]?[ \t]*)(?:amplitudes?|crests?)\b"
    r"|\b(a[ \t]+)amplitudes?\b",
    needs=("amplitude", "crest"),
)
#: the same in a head, where it is said of currents
_OF_CURRENTS = pattern(
    r"\b(currents?(?:[ \t,:(]+(?:in|as|are|is|all|the|ma|a|amps?|amperes?|milliamps?|given|stated|written))*|(?:milli)?amp(?:ere)?s?|ma)[ \t,(]+effective\b"
    r"(?=[ \t]*(?:[,;:.()]|$)|[ \t]+(?:values?|ones?|figures?|amps?|amperes?|and|not|unless|everywhere|throughout)\b)",
    needs=("effective",),
)
#: a remark that calls a number a share of something, which is no amount
OF_A_SHARE = pattern(
    r"(?:(?:as |in )?(?:an? |the )?(?:part|proportion|multiple)s? )?(?:of|times) the (?:run|running|moving|full|drive)(?:[ -](?:current|one))\b|times (?:the )?run(?:ning)?\b"
    r"|(?:in )?(?:per ?cent\b|%)|(?:as |in )?(?:an? )?(?:share|fraction|portion)s?(?=[ \t]*(?:[,;:.(]|$)|[ \t]+of\b"
    r"(?![ \t]+(?:(?:an?|one|the)[ \t]+)?(?:full[ \t]+)?(?:mm|milli|cm|inch|amp|sec|step|turn|µm|micron)))",
    re.I,
)
_THOUSANDTHS = pattern(
    r"\bthousandths? of (?:an? |one )?(amperes?|amps?|seconds?)\b", re.I, needs=("thousandth",)
)
#: behind a second that is no minute's: not the second of several
_TIME_ENDS = r"(?=[ \t]*(?:[^\w \t]|$|(?:at|of|when|while|and)\b))"
#: an acceleration as what is gained of a speed: `mm/s, gained in a second`
_GAINED = pattern(
    r"\bmm ?(?:/ ?|per |an? |in an? |each )s(?:ec(?:ond)?)?,?(?: (?:gained|added|more|faster|change|of change))?"
    r" (?:per|in an?|in one|in each|in every|each|every|an?) s(?:ec(?:ond)?)?\b" + _TIME_ENDS,
    re.I,
    needs=("per s", "a s", "an s", "one s", "each s", "every s"),
)
#: what people say for `per`: `mm in a second`, `steps for each mm`
_FOR_EACH = pattern(
    r"\b(?<!cubic )(?<!square )(mm|millimet(?:re|er)s?|(?:micro)?steps?|pulses?) (?:in (?:an?|one|each|every)|(?:for )?(?:each|every)|for (?:one|an?)|to (?:an?|the|one|each))"
    rf" (?=(?:s|sec|second|min|minute)\b{_TIME_ENDS}|(?:mm|millimet(?:re|er))\b)",
    re.I,
)
_BEHIND = pattern(r"[ \t\"',}\]]*(?:#|;[ \t]*//|;|//|/\*|\(|--|<-|!)[ \t]*([^\r\n]*)")
_WHOLE = pattern(r"[ \t]*(?:#+|;+|//+|--(?=[ \t])|/\*+|\(|\*(?!/))[ \t]*([^\r\n]*)")
_BEFORE_REMARK = pattern(r"(?:(?![;(#!]|//|--|<-)[^\r\n])*")
_BLOCK = pattern(r"\s*/\*([^*]*(?:\*(?!/)[^*]*)*)")
_UNLESS = pattern(r"\b(?:unless|except)\b[^.;]*")
_ONLY_UNIT = pattern(
    r"(?:(?:all|every|the|these) )?(?:lengths?|speeds?|currents?|accelerations?|numbers?|values?|everything|distances?|times?)?"
    r" ?(?:are|is)? ?(?:in|:)? ?([^ ,;:].{0,40}?)(?:,? (rms|r\.m\.s\.|peak))?[.:]?",
    re.I,
)
#: the unit behind a remark's own words, in brackets
_SET_OFF = pattern(r"(?<=[A-Za-z])[ \t]+[(\[]([^()\[\]]{1,20})[)\]][ \t.:]*$")
#: a heading and the remark behind it
_HEADING = pattern(r"[ \t]*(\[[^\[\]]{1,80}\]|[\w][\w -]{0,60}:)[ \t]*(?:#|;|//)+[ \t]*([^\r\n]+)")
_PARTS = pattern(r"[,;:(){}]|\. |\.$| - | – |=")
_TAKEN_OUT = pattern(r"[\w.\- /\[\]]{1,60}[ \t]*[:=][ \t]*[-+.\d\"']|define[ \t]|[A-Z]\d+ [A-Z]-?\d")
#: units that words of prose can't be taken for
_SURE = pattern(
    r"(?<![\w/])(mm per minute|mm per second|mm/min|mm_min|mm/sec|mm/s\^?2|mm/s²|mm/s|m/min|m/s\^?2|m/s²|m/s|mA|ms|mm|(?<!\d)(?<!\d )cm|µs|mohm|milliamps?|amps|"
    r"amperes|milliseconds|seconds|millimetres|MM PER MINUTE|MM PER SECOND|MILLIAMPS?|MM/S/S|MM/S|MM/MIN|MA)(?![\w/^²])"
)
#: `min` by itself may be the least of something
_MINUTES = pattern(
    r"minutes?\b(?! per)|min (?:without|idle|after|until|of idling)\b", re.I, needs=("minute", "min ")
)
_FEEDS = pattern(
    r"\bfeeds?\b(?:,? (?:and |& )?(?:rapids?|rates?|speeds?|traverses?)\b){0,2}(?: (?:are|is|in|all|both))*[ :=(]{1,3}mm[ /_]*(?:per )?(?:min|s)",
    re.I,
)
_PER_MM = pattern(r"\b(?:per|a|to the|/) ?(?:mm|millimetre|millimeter)\b(?!/)", re.I)
_INCHES = pattern(r"\b(?:inch|inches|cm|centimetres?|thou)\b", re.I)
_LETTER_UNIT = pattern(
    r"(?:(?<=[,;(] )|(?<=in )|(?<=[,;(])|(?<=^))(A|s|V)(?= ?(?:[,;.)(]|$|rms|peak|RMS|PEAK|and|unless))"
)


class Stated(Struct, frozen=True):
    """What a remark states: a unit, `rms` or `peak`, and its first words."""

    unit: Unit | None = None
    qualifier: str = ""
    words: str = ""


NOTHING = Stated()


@dataclass(eq=False, repr=False)
class Remarks:
    """The remarks of one document. `units` are those of the whole file by dimension, `order` that of its lists."""

    document: Document
    text: str = ""
    units: Mapping[str, Unit] = field(default_factory=dict)
    qualifier: str = ""
    order: str = ""
    ends: dict[int, str] = field(default_factory=dict)
    blocks: dict[int, Stated] = field(default_factory=dict)
    #: the order that a remark above a run of lines states of their lists, by line
    orders: dict[int, str] = field(default_factory=dict)
    #: what the remark behind a heading states of the lines below it, by line: `stepping:   # steps per mm`
    headed: Mapping[int, Stated] = field(default_factory=dict)
    opening: str = ""
    #: whether the opening remark says that a feed is a speed: `feeds in mm/min`
    feeds: bool = False
    #: whether a line has one setting, which a remark at its end is about
    in_lines: bool = True

    def __post_init__(self) -> None:
        self.text = self.document.data.decode("latin-1")
        self.opening = opening = self._opening()
        self.units = file_units(_said_of_these(opening, _ELSEWHERE))
        said = _OF_CURRENTS.sub(r"\1 rms", _UNLESS.sub("", opening.lower()))
        said = _said_of_these(_AMPLITUDE.sub(r"\1\2\3peak", NOT_THAT.sub("", said)), _OF_OTHER_CURRENTS)
        self.qualifier = _one_of(said).replace(UNCLEAR, "")
        self.order = order_said(opening)
        self.feeds = bool(_FEEDS.search(opening))
        self.in_lines = self.document.dialect != "nested" or _is_indented(self.text)
        self.blocks = self._blocks() if self.in_lines else {}
        self.headed = self._behind_headings() if self.in_lines else {}

    def _blocks(self) -> dict[int, Stated]:
        """What remarks alone on a line state of all lines below them, up to the next such line, heading or gap: they are a
        unit and nothing else, or a few words with a unit in brackets behind: `how fast (mm/s)`."""
        found: dict[int, Stated] = {}
        current, order = NOTHING, ""
        for number, line in enumerate(self.text.splitlines(), 1):
            whole = _WHOLE.match(line)
            if whole:
                remark = _readable(whole[1].rstrip(" \t*/"))
                order = "" if _TAKEN_OUT.match(remark) else order_said(remark)
                current = (
                    _only_unit(_without_end(remark)) if not _SET_OFF.search(remark) else _set_off(remark)
                )
            elif not line.strip() or line.lstrip().startswith("["):
                current, order = NOTHING, ""
            else:
                if current.unit:
                    found[number] = current
                if order:
                    self.orders[number] = order
        return found

    def _behind_headings(self) -> dict[int, Stated]:
        """What remarks behind headings state of all lines below them: a unit, and the words of a count, `steps per mm`."""
        found: dict[int, Stated] = {}
        current, deep = NOTHING, 0
        for number, line in enumerate(self.text.splitlines(), 1):
            indent = len(line) - len(line.lstrip())
            if heading := _HEADING.match(line):
                remark = _readable(_without_end(heading[2]))
                first = _PARTS.split(remark)[0].strip()
                # `feeder:   # A, the left one` says whose, and no amperes
                alone = len(first) > 1 and unit_written(first) is not None
                current = stated(remark) if alone else NOTHING
                deep = indent if heading[1].endswith(":") else -1
            elif line.strip() and (line.lstrip().startswith("[") or indent <= deep):
                current = NOTHING
            elif current.unit and line.strip():
                found[number] = current
        return found

    def below_heading(self, setting: Setting) -> Stated:
        """The unit that a remark above a run of lines states of each of them."""
        return self.blocks.get(setting.line, NOTHING)

    def _opening(self) -> str:
        first = min((s.line for s in self.document.settings), default=1)
        found = self._conventions() if self.document.dialect == "nested" else []
        if self.document.dialect == "header" and (block := _BLOCK.match(self.text)):
            found = [_readable(line.strip(" \t*-=")) for line in block[1].splitlines()[:OPENING]]
        for number, line in enumerate(self.text.splitlines()[: max(first, OPENING)], 1):
            whole = _WHOLE.match(line.removeprefix("\xef\xbb\xbf"))
            if whole and (number < first or number <= OPENING):
                found.append(_readable(_without_end(whole[1])))
            elif number > first + 2:
                break
        return " . ".join(part for part in found if not _TAKEN_OUT.match(part))

    def _conventions(self) -> list[str]:
        """What texts of a nested file say of all its numbers: those that stand beside its outermost objects."""
        return [
            setting.value.strip('"')
            for setting in self.document.settings[:OPENING]
            if not setting.section
            and len(setting.value.split()) >= SENTENCE
            and not _TAKEN_OUT.match(setting.value)
        ]

    def behind(self, setting: Setting) -> str:
        """The remark behind a setting's value, on its line; "" for none."""
        found = _BEHIND.match(self.text, setting.end)
        return _readable(_without_end(found[1])) if found else ""

    def of_line(self, setting: Setting) -> str:
        """The remark at the end of a setting's line, wherever on it the value stands."""
        if setting.line not in self.ends:
            self.ends[setting.line] = self._at_the_end(setting)
        return self.ends[setting.line]

    def _at_the_end(self, setting: Setting) -> str:
        end = _BEFORE_REMARK.match(self.text, setting.end)
        assert end is not None
        found = _BEHIND.match(self.text, end.end())
        return _readable(_without_end(found[1])) if found else ""

    def above(self, setting: Setting) -> tuple[str, str]:
        """The remark that stands alone on the line above a run of lines without remarks, and the one above it:
        what comes next, and the heading of a part of the file."""
        return "", ""


@once
def remarks_of(document: Document) -> Remarks:
    """The remarks of a document."""
    return Remarks(document)


def _without_end(text: str) -> str:
    """A remark without the sign that ends it, or the line that is drawn behind it."""
    text = text.rstrip(" \t")
    if text.endswith("*/"):
        text = text[:-1].rstrip("*")
    elif text.endswith(")"):
        text = text[:-1]
    elif text.endswith(("-", "*")):
        text = text.rstrip(text[-1])
    return text.rstrip(" \t")


def _is_indented(text: str) -> bool:
    # its patterns take a while, and few files are nested
    from cfgmigrate.dialects.indented import is_indented

    return is_indented(text)


def _readable(text: str) -> str:
    text = text.strip() if text.isascii() else text.encode("latin-1").decode("utf-8", "replace").strip()
    return in_units(text)


@lru_cache(maxsize=8192)
def _in_units(text: str) -> str:
    text = _FOR_EACH.sub(r"\1 per ", _GAINED.sub("mm/s^2", text))
    return _THOUSANDTHS.sub(lambda found: f"m{'A' if found[1][0] in 'aA' else 's'}", text)


def in_units(text: str) -> str:
    """A remark with units for what people say of them: `mm per second` for mm in a second, `mm/s^2` for mm/s that are gained in one;
    `mA` for thousandths of an ampere and `ms` for those of a second, since the word alone would say 1000 times as much."""
    return _in_units(text) if len(text) <= _SHORT else _in_units.__wrapped__(text)


def stated(remark: str) -> Stated:
    """What a line's remark states of its value. The same short remarks stand behind many lines, and are asked for their
    parts as well."""
    return _stated(remark) if len(remark) <= _SHORT else _stated.__wrapped__(remark)


@lru_cache(maxsize=8192)
def _stated(remark: str) -> Stated:
    if not remark or _TAKEN_OUT.match(remark):
        return NOTHING
    parts = [part.strip() for part in _PARTS.split(remark)]
    usual = NOT_THAT.sub("", _DOTTED_RMS.sub("rms", _in_usual_words(remark.lower())))
    qualifier = _one_of(_said_of_these(usual, _OF_ANOTHER_CURRENT))
    unit = next((found for part in parts[:3] if (found := _unit_of(part))), None)
    words = parts[0] if len(parts[0].split()) <= MOST_WORDS else ""
    if unit is not None and len(parts) > 1 and _unit_of(parts[0]) is unit and len(parts[1].split()) <= 3:
        words = f"{parts[0]} {parts[1]}"
    return Stated(unit, qualifier, words)


def _in_usual_words(text: str) -> str:
    """A text with `rms` for effective currents and `peak` for amplitudes."""
    return _AMPLITUDE.sub(r"\1\2\3peak", _EFFECTIVE.sub("rms", text))


def states_anything(text: str) -> bool:
    """Whether a text states a unit, or `rms` or `peak`, wherever in it."""
    qualified = any(word in _in_usual_words(_DOTTED_RMS.sub("rms", text.lower())) for word in QUALIFIERS)
    return qualified or bool(_SURE.search(text) or _LETTER_UNIT.search(text))


def _only_unit(remark: str) -> Stated:
    """The unit that a remark is, with `rms` or `peak`, and nothing else."""
    found = _ONLY_UNIT.fullmatch(remark) if len(remark) <= 80 else None
    unit = (unit_written(found[1]) or unit_written(found[1].lower())) if found else None
    if found is None or unit is None or (len(found[1]) < 2 and found[1] not in "AsV"):
        return NOTHING
    said = (found[2] or "").lower()
    return Stated(unit, "rms" if said.startswith("r") else said)


def _set_off(remark: str) -> Stated:
    """The unit that stands in brackets behind a remark of a few words, with `rms` or `peak`."""
    found = _SET_OFF.search(remark)
    return _only_unit(found[1].strip()) if found and len(remark) <= 80 else NOTHING


#: no article stands before `rms`; behind a part that is counted by letters it is that letter
_AMPS_AT_THE_END = pattern(
    r"(?<!feeder)(?<!motor)(?<!coil)(?<!phase)(?<!driver)(?<!tool)(?<!head)(?<=[A-Za-z])[ \t]A[ \t]+(?:(?i:rms|peak|r\.m\.s\.?|pk)\b|RMS)[.]?$"
)


def _unit_of(part: str) -> Unit | None:
    """The unit that a part of a remark is, or begins or ends with."""
    if _MINUTES.match(part):
        return units()["min"]
    words = [word for word in part.split() if word.lower() not in QUALIFIERS and word.strip("!?*")]
    for count in range(min(4, len(words)), 0, -1):
        text = " ".join(words[:count])
        if (found := unit_written(text)) and (count == len(words) or _sure(text)):
            return found
    for count in range(min(4, len(words)), 0, -1):
        text = " ".join(words[-count:])
        if (found := unit_written(text)) and (_sure(text) or words[-count - 1 : -count] in _BEFORE_UNIT):
            return found
    return units()["A"] if _AMPS_AT_THE_END.search(part) else None


#: words behind which even a fraction of a mm is the unit; behind others it may be how exact a number is
_BEFORE_UNIT = (["in"], ["unit"], ["units"])


def _sure(text: str) -> bool:
    return (
        bool(_SURE.fullmatch(text))
        or text in ("per mm", "steps per mm", "ohm", "Hz", "deg", "degC")
        or ("/" in text and not text[0].isdigit())
    )


def _said_of_these(text: str, of_else: re.Pattern[str]) -> str:
    """A text without the clauses that speak of another time, another thing, or in denial."""
    if not of_else.search(text):
        return text
    return ", ".join(clause for clause in _CLAUSES.split(text) if not of_else.search(clause))


def _one_of(text: str) -> str:
    text = NOT_THAT.sub("", _DOTTED_RMS.sub("rms", text))
    found = [word for word in QUALIFIERS if re.search(rf"\b{word}\b", text)]
    return found[0] if len(found) == 1 else UNCLEAR if found else ""


def file_units(remark: str) -> dict[str, Unit]:
    """The units that a file's opening remark states, by dimension; none where it states two of one."""
    found: dict[str, set[str]] = {}
    units: dict[str, Unit] = {}
    for text in (*_SURE.findall(remark), *_LETTER_UNIT.findall(remark)):
        unit = unit_written(text) or unit_written(text.lower())
        if unit:
            found.setdefault(unit.of, set()).add(unit.name)
            units[unit.of] = unit
    return {of: units[of] for of, names in found.items() if len(names) == 1}


#: measures that are counted in lengths
_OF_LENGTHS = frozenset({"length", "speed", "acceleration"})


def counts_in_mm(remark: str) -> bool:
    """Whether a file's opening remark states several measures that are counted in lengths, and all in mm: `steps per mm`,
    `mm/s`. A length beside them is in mm too."""
    stated_units = [unit_written(text) or unit_written(text.lower()) for text in _SURE.findall(remark)]
    found = {unit.of: unit.name for unit in stated_units if unit and unit.of in _OF_LENGTHS}
    if any(unit and unit.of in _OF_LENGTHS and not unit.name.startswith("mm") for unit in stated_units):
        return False
    others = len(found) + bool(_PER_MM.search(remark))
    return others > 1 and not _INCHES.search(remark)
