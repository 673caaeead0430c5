"""Which letters of word-address lines are a feeder's by a file's remarks, and which another device's.

`U the wire feed` makes `U` what `E` is elsewhere. Several letters are several feeders where each has its number, `U is drive
0, V is drive 1`, `U is the first drive, V the second one`. A letter that is only something of a feeder, such as its speed, is
none.

Where nothing explains them, letters that stand beside X, Y and Z on the lines of several codes are the feeders' if the file has
no E, and a remark behind a line of these letters alone, or the opening remark where it names them, speaks of a feeder. They are
counted in their order.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence

from msgspec import Struct, field

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.legends import letters_named, letters_told, one_told, part_of
from cfgmigrate.machine.remark_parts import LETTERS_OF_AXES
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Counted, names_of, split

#: which of several feeders it is, in other words: `feeder 1 (big spool)`
_IN_BRACKETS = pattern(r"\([^()]*(?:\)|$)")


_BY_ITSELF = pattern(r"[ \t]*[A-Z]\d+(?:\.\d+)?[ \t]+([A-Z])[ \t]+[A-Z]")


def letters_by_themselves(text: str, codes: Mapping[int, str]) -> dict[int, str]:
    """The letter without a number by which a line says what it is about, `M80 U L5.8`, where lines of its code differ in
    it. `codes` are those of the lines by number."""
    found = {
        number: match[1]
        for number, line in enumerate(text.splitlines(), 1)
        if number in codes and (match := _BY_ITSELF.match(line))
    }
    several: dict[str, set[str]] = defaultdict(set)
    for number, letter in found.items():
        several[codes[number]].add(letter)
    return {number: letter for number, letter in found.items() if len(several[codes[number]]) > 1}


class AxisLetters(Struct, frozen=True):
    """`means` gives for a letter `E` where it is a feeder's, and "" where it is another device's; `numbers` tells the
    feeders apart where there are several."""

    means: Mapping[str, str] = field(default_factory=dict)
    numbers: Mapping[str, Counted] = field(default_factory=dict)


class LineOfWords(Struct, frozen=True):
    """A line of words: its code, its letters, the remark at its end."""

    code: str
    letters: tuple[str, ...]
    remark: str


def axis_letters(opening: str, listed: Mapping[str, str], lines: Iterable[LineOfWords] = ()) -> AxisLetters:
    """What letters are by a file's remarks. `listed` are those that a remark explains one by one, with their words."""
    lines = tuple(lines)
    if ordinal := _ordinals(opening) or _second_beside_e(opening, lines):
        return AxisLetters(dict.fromkeys(ordinal, "E"), ordinal)
    found = _explained(opening, listed) or _beside_axes(opening, lines) or AxisLetters()
    return AxisLetters({**dict.fromkeys(_of_other_things(listed, lines), ""), **found.means}, found.numbers)


def _of_other_things(listed: Mapping[str, str], lines: tuple[LineOfWords, ...]) -> set[str]:
    """Letters of a list of whose each is that are of another thing's, `W the label roll`, and that stand beside several axes on the lines of
    several codes: another motor's. Words that name no thing may change what the other letters mean, `D dividend`, and leave them asked about."""
    if not says_whose(listed):
        return set()
    found = set()
    for letter, words in listed.items():
        codes = {
            line.code
            for line in lines
            if letter in line.letters and len(LETTERS_OF_AXES.intersection(line.letters)) > 1
        }
        if len(codes) > 1 and letter not in LETTERS_OF_AXES and _is_a_thing(words):
            found.add(letter)
    return found


def _is_a_thing(words: str) -> bool:
    """Whether words are of a thing beside the printer's own: `the wash arm`, `roll of paper`; not `standby of the pump`, which is no pump."""
    if _CHOOSES.search(words):
        return False
    last = split(_ABOUT_IT.split(words, maxsplit=1)[0])[-1:]
    known = vocabulary().names_in(frozenset(word for piece in last for word in ways_of(piece)[0]))
    return not known.isdisjoint(_THINGS)


#: what stands behind a thing and says which it is
_ABOUT_IT = pattern(r"\b(?:of|for|on|in|at|with|which|that)\b|[(,;:.]", re.I)
#: things that a motor moves or a board drives, and that nothing of a filament's way is; a lift may be the nozzle's
_THINGS = frozenset({"device", "fan", "roll", "wiper"})
_CHOOSES = pattern(
    r"\b(?:which|number|no\.?|index|id|tool|motor|axis|axes|one|second|other|same|where|counts?|counted)\b",
    re.I,
)


def _explained(opening: str, listed: Mapping[str, str]) -> AxisLetters | None:
    told = letters_told(opening) or one_told(opening)
    parts = {letter.upper(): part for letter, (part, _) in told.items()}
    if not parts and (first := letters_named(opening)):
        listed = {**listed, **first}
        parts = dict.fromkeys(first, "feeder")
    if not parts and LETTERS_OF_AXES.intersection(listed):
        parts = {letter: part for letter, words in listed.items() if (part := part_of(words))}
    feeders = {letter for letter, part in parts.items() if part == "feeder"}
    if not feeders and parts_of_axes(listed):  # `X bridge, Y table, Z screws, A filament`
        feeders = {letter for letter, part in parts.items() if part == "filament"}
    devices = {letter for letter, part in parts.items() if part == "device" and letter not in LETTERS_OF_AXES}
    if len(feeders) == 1:
        return AxisLetters({**dict.fromkeys(feeders, "E"), **dict.fromkeys(devices, "")})
    named = {
        letter: counted
        for letter, words in listed.items()
        if letter not in "XYZ" and (counted := _numbered_feeder(words))
    }
    apart = {counted.number for counted in named.values()}
    if len(named) > 1 and len(apart) == len(named):
        return AxisLetters(dict.fromkeys(named, "E"), named)
    return None


def parts_of_axes(listed: Mapping[str, str]) -> bool:
    """Whether letters are explained of which X, Y and Z are a part of the machine each: those are its axes, whatever the part
    is called."""
    words = [listed.get(letter, "") for letter in "XYZ"]
    said = [vocabulary().names_in(frozenset(split(each))) for each in words]
    return all(words) and len(set(words)) == len(words) and not any(each & _MEASURED for each in said)


def says_whose(listed: Mapping[str, str]) -> bool:
    """Whether letters are explained, axes among them, by what they move alone: of what the lines below set that says nothing."""
    several = len(LETTERS_OF_AXES & listed.keys()) > 1 or part_of(listed.get("E", "")) in _OF_E
    return several and _names_things(listed.values())


def of_other_things(listed: Mapping[str, str]) -> bool:
    """Whether letters that are no axes are explained as other things: `R is the roll of paper`."""
    return (
        LETTERS_OF_AXES.isdisjoint(listed)
        and _names_things(listed.values())
        and all(map(_is_a_thing, listed.values()))
    )


_OF_E = ("feeder", "filament")


def _names_things(said: Collection[str]) -> bool:
    named = [vocabulary().names_in(frozenset(split(each))) for each in said]
    return not any(
        each & (_MEASURED | _SET) or unit_written(words) for each, words in zip(named, said, strict=True)
    )


_MEASURED = frozenset(
    {"offset", "length", "speed", "position", "height", "limit", "from", "to", "step", "current"}
)
_SET = frozenset(
    {"acceleration", "microstep", "temperature", "max", "min", "direction", "diameter", "retraction", "lag"}
)
#: `U is the first filament drive and V is the second one`
_ORDINAL = pattern(
    r"(?<![\w.])([A-W])(?: ?[=:] ?| (?:(?:is|for|means|-|–) )?)(?:the |a )?(first|second|third|1st|2nd|3rd)\b((?: [a-z]+){0,3})"
)
#: the other way round: `first feeder E, second one A`
_ORDINAL_BEFORE = pattern(
    r"\b(first|second|third|1st|2nd|3rd)((?: [a-z]+){1,3})(?: ?[=:] ?|,? (?:(?:is|has|on|at|-|–) )?)([A-W])(?= {0,3}(?:[;,.)(]|$)| {2}| and )"
)
_PLACES = {"first": 1, "1st": 1, "second": 2, "2nd": 2, "third": 3, "3rd": 3}
#: on lines of so many codes letters stand beside X, Y and Z where they are motors as well
CODES_OF_MOTORS = 3


def _ordinals(opening: str) -> dict[str, Counted]:
    """The feeders that a file counts in words; {} where it counts something else, or fewer than two."""
    told = [(letter, _PLACES[place], said) for letter, place, said in _ORDINAL.findall(opening)]
    if not told:
        told = [(letter, _PLACES[place], said) for place, said, letter in _ORDINAL_BEFORE.findall(opening)]
    feeders = any(part_of(said) == "feeder" for _, _, said in told)
    numbers = {letter: Counted(number, "feeder") for letter, number, _ in told}
    return numbers if feeders and len(told) > 1 and len(numbers) == len(told) else {}


def _second_beside_e(opening: str, lines: tuple[LineOfWords, ...]) -> dict[str, Counted]:
    """The feeders of a file that says of one letter alone which it is, `A is the second feeder`, and has E beside it; {} for any other,
    such as the second feeder's fan."""
    told = list(_ORDINAL.finditer(opening))
    if len(told) != 1 or told[0][2] not in ("second", "2nd"):
        return {}
    letter = told[0][1]
    said = _ABOUT_IT.split(opening[told[0].start(3) :], maxsplit=1)[0]
    if letter == "E" or "'" in said or not _ends_with_a_feeder(split(said)):
        return {}
    if not any({"E", letter} <= set(line.letters) for line in lines):
        return {}
    return {"E": Counted(1, "feeder"), letter: Counted(2, "feeder")}


def _ends_with_a_feeder(words: Sequence[str]) -> bool:
    """Whether words are a feeder's to their end, or its motor's: `wire feed`, `feeder motor`, and no `feeder fan`."""
    before, last = " ".join(words[-2:-1]), " ".join(words[-1:])
    if part_of(last) == "feeder":
        return True
    if last in _OF_ITS_OWN and _ends_with_a_feeder(words[:-1]):
        return True
    return part_of(before) != "feeder" and part_of(f"{before} {last}") == "feeder"


_OF_ITS_OWN = ("motor", "axis", "drive", "one")


def _beside_axes(opening: str, lines: tuple[LineOfWords, ...]) -> AxisLetters | None:
    codes: dict[str, set[str]] = defaultdict(set)
    for line in lines:
        if set("XYZ") <= set(line.letters):
            for letter in set(line.letters) - set("XYZ"):
                codes[letter].add(line.code)
    if any("E" in line.letters for line in lines):
        return None
    letters = {letter for letter, found in codes.items() if len(found) >= CODES_OF_MOTORS}
    of_feeders = any(letters.issuperset(line.letters) and part_of(line.remark) == "feeder" for line in lines)
    named = all(re.search(rf"(?:= ?{letter}\b|\b{letter} ?=)", opening) for letter in letters)
    if not letters or not (of_feeders or (named and part_of(opening) == "feeder")):
        return None
    if len(letters) == 1:
        return AxisLetters(dict.fromkeys(letters, "E"))
    numbers = {letter: Counted(at, "feeder") for at, letter in enumerate(sorted(letters), 1)}
    return AxisLetters(dict.fromkeys(letters, "E"), numbers)


def _numbered_feeder(words: str) -> Counted | None:
    """The number of a feeder that words name, and nothing else beside; None where they don't."""
    name = names_of((), tuple(split(_IN_BRACKETS.sub("", words))))[0]
    spelled = (*vocabulary().spelled("feeder"), *vocabulary().spelled("drive"))
    own = {word for spelling in spelled for word in spelling}
    rest = [word for word in name.key if word not in vocabulary().fillers]
    return name.counted if rest and own.issuperset(rest) else None
