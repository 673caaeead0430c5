"""What a file's remarks say of the units of names that end, or begin, alike:

    _H  hundredths of a mm      names that end in _MS are in milliseconds      RATIO_  parts of 255
    ..._F: mm a minute          STRIDE  motor steps to one metre

Such an ending is read as the unit's own words at the end of the name: with `_H` so explained `PULL_H` is `PULL_HUNDREDTH_MM`.
A legend that speaks of a measure and names no unit that the table has is kept with its line, so that whoever asks about such
a name can point to it. A legend is one without a unit, too, where on its line or the next it speaks of another thing or time
(`on the old panel`), or is denied, in doubt or for some of the names only.

No legend is made of a part that is a word of the trade, where the legend does so before the name; nor is one believed of a name
whose own words say another measure: `FULL_STEPS` beside `STEPS   steps per mm`.

Only the remarks of a file's first lines are looked at, and an ending counts only where names of the file have it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written, units
from cfgmigrate.machine.other_clauses import else_around, goes_on, of_else
from cfgmigrate.machine.rms_or_peak import QUALIFIERS
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.unit_endings import without_unit_endings
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
_AXES = frozenset("xyze")
#: lines of a file's head, and characters of one, that are looked at
MOST_LEGEND_LINES, LONGEST_LEGEND = 60, 200
_REMARK = pattern(r"^[ \t]*+(?:#(?!define\b|if|undef|include)|;|//|/\*|\*|\()?+[ \t*]*+(.*)$")
_SETTING = pattern(
    r"^[ \t]*(?:#[ \t]*define[ \t]+\w+[ \t]+\S|[A-Za-z][\w. -]{0,60}[ \t]*[=:][ \t]*[-+\"\[{]?\d)"
)
_IS = r"[\"'`]?[ \t]*(?:(?:[=:,–—-]|->|is|are|means?|stands?(?=[ \t]for)|counts?|given|said|written|in|for|the)[ \t]+|[=:–—-])*[ \t]*(?P<said>\S.*)"
_DOTS = r"(?:\.{2,3}|…|\*|-|<\w+>|NAME|X{2,3})"
#: `_H  hundredths of a mm`, `..._H: hundredths`, `"_H" = …`
_ENDING = pattern(rf"(?<![\w.]){_DOTS}?[\"'`]?_(?P<part>[A-Za-z]\w{{0,7}})(?=[\W]){_IS}")
#: `names that end in _H are hundredths of a mm`
_ENDS_IN = pattern(
    rf"(?i:\b(?:end(?:s|ing)?|finish(?:es|ing)?)[ \t]+(?:in|with|on|by))[ \t]+(?:an?[ \t]+)?[\"'`]?[*.…]*_?(?P<part>[A-Za-z]\w{{0,7}}){_IS}"
)
_BEGINNING = pattern(rf"(?<![\w.])[\"'`]?(?P<part>[A-Za-z]\w{{0,7}})_(?:\.{{2,3}}|…|\*){_IS}")
_BEGINS_WITH = pattern(
    rf"(?i:\b(?:begin(?:s|ning)?|start(?:s|ing)?)[ \t]+(?:in|with|on|by))[ \t]+(?:an?[ \t]+)?[\"'`]?(?P<part>[A-Za-z]\w{{0,7}}?)_?(?![A-Za-z0-9]){_IS}"
)
#: a word of names in capitals, set apart from what it is: `STRIDE  motor steps to one metre`
_WORD = pattern(rf"^(?P<part>[A-Z]{{3,12}})(?=[ \t]{{2}}|[ \t]*[=:]){_IS}")
_MEASURED = pattern(
    r"(?i)\b(?:mm|cm|millimet\w*|metres?|meters?|inch\w*|microns?|steps?|(?:tenth|hundredth|thousandth)s?|seconds?|minutes?|m?s|hz|hertz|amp\w*|mA|percent|per[ -]cent|degrees?|parts?|units?)\b"
)
#: what is called so before `end in`: else it is a sentence such as `a print starts with feeding`
_NAMES = pattern(
    r"(?i)\b(?:names?|keys?|settings?|words?|lines?|those|ones|values?|numbers?)(?:[ \t]+(?:that|which|whose[ \t]+names?))?[ \t]*$"
)
_MARKED = pattern(r"[\"'`*.…_]\w+$|_$")
#: a number before its unit is a length, or a time, and no legend
_NUMBER_OF = pattern(r"(?i)\d[\d.,]*[ \t]*(?:mm|cm|inch\w*|ms|s|seconds?|minutes?|mA|A)\b")
#: what a legend says of the measure before its unit
_MEASURE_FIRST = pattern(
    r"(?i)(?:(?:all|the|are|is|a)[ \t]+)?(?:lengths?|distances?|speeds?|limits?|currents?|times?|accelerations?|rates?)[ \t]+(?:(?:are|is|given|in)[ \t]+){0,3}"
)
#: what the words of a name say that its number is measured in
_MEASURES: Mapping[str, frozenset[str]] = {
    "speed": frozenset(("speed", "frequency", "turns per time")), "acceleration": frozenset(("acceleration",)),
    "current": frozenset(("current", "voltage")), "temperature": frozenset(("temperature", "angle")),
    "step": frozenset(("number per length", "number per turn", "angle")), "microstep": frozenset(), "full": frozenset(), "ratio": frozenset(),
    "teeth": frozenset(), "lag": frozenset(("time", "time per length")),
}  # fmt: skip
_CLAUSE = pattern(r"[,;:(]|\. ")
_CLOSED = pattern(r"[ \t]*(?:\*/|[(;]|\.(?=[ \t]|$)|,[ \t]|[ \t]{3}).*")
_PART_OF = pattern(
    r"(?i)(?:(?P<many>tenth|hundredth|thousandth)s?|1/(?P<down>10{1,3}))(?:[ \t]+of)?(?:[ \t]+an?|[ \t]+one)?[ \t]+(?P<unit>[a-zµ]+)"
)
_DOWN = {"tenth": "10", "hundredth": "100", "thousandth": "1000"}
_PARTS: Mapping[tuple[str, str], Pieces] = {
    ("10", "mm"): ("tenth", "mm"), ("100", "mm"): ("hundredth", "mm"), ("1000", "mm"): ("um",), ("1000", "s"): ("ms",), ("1000", "A"): ("ma",),
}  # fmt: skip
_STEPS = pattern(
    r"(?i)(?:(?:motor|micro)[ -]?)?(?:steps?|pulses?|microsteps?)(?:[ \t]*/[ \t]*|[ \t]+(?:per|to|for|in|a|an)[ \t]+)(?:(?:an?|one|each|every|1)[ \t]+)?(?P<unit>mm|millimet(?:re|er)s?|m|met(?:re|er)s?|cm|centimet(?:re|er)s?)"
)
#: the words by which a name says a unit
_WORDS: Mapping[str, Pieces] = {
    "mm": ("mm",), "mm/100": ("hundredth", "mm"), "mm/10": ("tenth", "mm"), "µm": ("um",), "cm": ("cm",), "inch": ("inch",),
    "ms": ("ms",), "s": ("sec",), "min": ("minute",), "mm/min": ("mm", "per", "minute"), "mm/s": ("mm", "per", "second"),
    "m/min": ("m", "per", "minute"), "m/s": ("m", "per", "second"), "cm/s": ("cm", "per", "s"), "inch/min": ("inch", "per", "minute"),
    "mm/s^2": ("mm", "per", "s", "per", "s"), "A": ("ampere",), "mA": ("ma",), "V": ("volts",), "mV": ("mv",), "Hz": ("hz",), "kHz": ("khz",),
    "1/mm": ("step", "per", "mm"), "1/m": ("step", "per", "metre"), "degC": ("celsius",), "%": ("percent",),
}  # fmt: skip


class UnitLegend(Struct, frozen=True):
    """What a remark says of names with a part: the words of the unit, () where it names none that is known."""

    part: Pieces
    at_the_end: bool
    said: str
    line: int
    unit: Pieces = ()
    #: what the unit is of
    of: str = ""


def unit_legends(text: str, paths: Iterable[Pieces]) -> tuple[UnitLegend, ...]:
    """The legends of a file. `paths` are its keys in pieces; a part that a legend explains twice, and not alike, is none."""
    found: dict[tuple[Pieces, bool], UnitLegend] = {}
    twice: set[tuple[Pieces, bool]] = set()
    keys = tuple(paths)
    for each in _told(text):
        of = each.part, each.at_the_end
        if not any(_has(key, each) for key in keys):
            continue
        if of in found and found[of].unit != each.unit:
            twice.add(of)
        found.setdefault(of, each)
    return tuple(each for of, each in found.items() if of not in twice)


def legend_of(key: Pieces, legends: Iterable[UnitLegend]) -> UnitLegend | None:
    """The legend of a key: of several that of the longest part. Where the key's words say another measure it is none, or one without a unit
    where its part means nothing else."""
    mine = [each for each in legends if _has(key, each)]
    legend = max(mine, key=lambda each: len(each.part), default=None)
    if legend is None or not legend.unit or legend.of in _measured(key, legend.of):
        return legend
    return None if says_more(legend.part) else replace(legend, unit=(), of="")


def _measured(key: Pieces, of: str) -> frozenset[str]:
    """What a key's words say that it may be measured in, `of` included where they say nothing of it."""
    said = vocabulary().names_in(frozenset(word for piece in key for word in ways_of(piece)[0]))
    if "step" in said and "mm" in key:
        return _MEASURES["step"]
    told = [_MEASURES[each] for each in said if each in _MEASURES]
    return frozenset((of,)).intersection(*told)


def with_unit_words(key: Pieces, legends: Iterable[UnitLegend]) -> Pieces:
    """A key with its unit's words in the place of the part that says it; without the part where that is a unit of the file's own."""
    legend = legend_of(key, legends)
    if legend is None or legend.unit == legend.part:
        return key
    wide = 0 if says_more(legend.part) else len(legend.part)
    return (*(key[: len(key) - wide] if legend.at_the_end else key[wide:]), *legend.unit)


def says_more(part: Pieces) -> bool:
    """Whether a part says more than a unit: an axis, or a word of the trade such as `speed`."""
    if part[-1] in _AXES:
        return True
    return len(part[-1]) > 1 and not vocabulary().known.isdisjoint((part[-1], part[-1].removesuffix("s")))


def _has(key: Pieces, legend: UnitLegend) -> bool:
    wide = len(legend.part)
    return len(key) > wide and (key[-wide:] if legend.at_the_end else key[:wide]) == legend.part


def _told(text: str) -> Iterator[UnitLegend]:
    lines = text.splitlines()[:MOST_LEGEND_LINES]
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LEGEND or _SETTING.match(line) or not (remark := _REMARK.match(line)):
            continue
        said = without_unit_endings(_decoded(remark[1].strip()))
        for shape, at_the_end in (
            (_ENDS_IN, True), (_BEGINS_WITH, False), (_ENDING, True), (_BEGINNING, False), (_WORD, True),
        ):  # fmt: skip
            found = shape.search(said)
            if found is None or (shape in (_ENDS_IN, _BEGINS_WITH) and not _is_of_names(said, found)):
                continue
            before = said[: found.start("said")]
            denied = of_else(_CLAUSE.split(before)[-1]) or else_around(before)
            if denied and says_more(tuple(split(found["part"]))):
                break
            words = _CLOSED.sub("", found["said"]).strip(" \t\"'`.,;:")
            unit, of = _unit_words(words)
            if not unit and (measure := _MEASURE_FIRST.match(words)):
                unit, of = _unit_words(words[measure.end() :])
            if len(words) == 1 and shape is _WORD and "current" not in _names_in(found["part"]):
                break  # `FEEDER: A` is an axis's letter
            behind = f"{found['said'].removeprefix(words)} {_goes_on_below(lines, number)}"
            if denied or of_else(words) or else_around(behind):
                unit, of = (), ""
            if unit or (shape is not _WORD and _MEASURED.search(words) and not _NUMBER_OF.match(words)):
                yield UnitLegend(tuple(split(found["part"])), at_the_end, words, number, unit, of)
            break


def _goes_on_below(lines: Sequence[str], number: int) -> str:
    """The remark of the line below one, where it takes something from it; "" for any other."""
    below = next(iter(lines[number : number + 1]), "")[:LONGEST_LEGEND]
    remark = _REMARK.match(below)
    return remark[1] if remark and goes_on(remark[1]) and not _SETTING.match(below) else ""


def _is_of_names(said: str, found: re.Match[str]) -> bool:
    """Whether `begins with` or `ends in` is said of names."""
    marked = (
        _MARKED.search(said[found.start() : found.end("part")].rstrip())
        or said[found.end("part") :][:1] in "_\"'`"
    )
    return bool(marked) or _NAMES.search(said[: found.start()]) is not None


def _names_in(part: str) -> frozenset[str]:
    return vocabulary().names_in(frozenset(split(part)))


def _decoded(text: str) -> str:
    """A remark in which a sign of two bytes is one again."""
    try:
        return text.encode("latin-1").decode("utf-8")
    except UnicodeError:
        return text


def _unit_words(said: str) -> tuple[Pieces, str]:
    """The words of the unit that a legend is, and what it is of; () where that is none of the table's."""
    if part := _PART_OF.fullmatch(said):
        unit = unit_written(part["unit"].removesuffix("s")) or unit_written(part["unit"])
        words = _PARTS.get((part["down"] or _DOWN[part["many"].lower()], unit.name), ()) if unit else ()
        return words, unit.of if unit and words else ""
    if steps := _STEPS.fullmatch(said):
        unit = unit_written(steps["unit"].lower())
        name = f"1/{unit.name}" if unit and unit.name in ("m", "mm") else ""
        return _WORDS.get(name, ()), units()[name].of if name else ""
    left = [word for word in said.split() if word.lower().strip(",") not in QUALIFIERS]
    qualified = tuple(word.lower().strip(",") for word in said.split() if word not in left)
    unit = unit_written(" ".join(left)) or unit_written(" ".join(left).lower())
    if unit is None or unit.name not in _WORDS or (qualified and unit.of != "current"):
        return (), ""
    return (*_WORDS[unit.name], *qualified), unit.of
