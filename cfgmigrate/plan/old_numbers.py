"""The numbers of the old drive, and whether a line of text still holds one of them.

A line may be a setting that nobody understood, a remark, a move of a script, or a line of a file that is no configuration
at all. It is pointed at where it has the very number that a change replaces, where it has one near it and speaks of
it in the words of that setting, and where it has a length near the old filament path and speaks of the path. A number with
the unit of another measure is another thing, a warm-up's is no place, and steps or a speed are no path. A line that names
another feeder than the swapped one is that one's.

This is for people only: nothing is written by it, so it may point at a line too many. It looks at each line by itself,
and at no more than the first characters of a long one.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from typing import TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.words import split
from cfgmigrate.plan.model import ByHand, Change, Finding

#: how it begins what a row of a listing is to have
TO_HAVE = "for the new drive"
#: a length of so many old filament paths is near one: a sensor may lie behind the drive (common practice, no source)
NEAR_PATH = (0.8, 1.35)
#: the same where a line speaks of a sensor, which may lie anywhere on the filament's way
NEAR_SENSOR = (0.8, 4.0)
#: mm; what is shorter is in no way told from other numbers
SHORTEST_PATH = 60.0
#: a number within this part of an old value is near it, where the line speaks of that value
NEAR_VALUE = 0.05
#: so many characters of a line are looked at, and so many of its numbers
LONGEST_LINE, MOST_NUMBERS = 300, 12
#: a number of so many digits, with a point or without, is hardly there by chance; in a setting that speaks of something
#: else it takes more
TELLING_DIGITS, TELLING_ELSEWHERE = (2, 3), (3, 3)
_PATHS = ("path.length_old", "path.tube_old")
_NUMBER = pattern(r"(?<![\w.])[-+]?(?:\d{1,9}[.,]\d{1,6}|\d{1,9})(?![\d.,]*\d)")
_AFTER_LETTER = pattern(r"(?<![A-Za-z0-9])[A-Z]([-+]?\d{1,7}(?:\.\d{1,6})?)(?![\w.])")
_OF_AXES = frozenset("XYZ")
_WORD = pattern(r"[A-Za-z]{4,30}")
_OF_THE_PATH = pattern(
    r"tube|hose|path|filament|load|feed|switch|watch|sensor|drive|tip|runout", re.IGNORECASE
)
OF_THE_OLD_DRIVE = pattern(r"\b(?:tube|hose|cogs?|gears?|geared|shaft|drive)\b(?!\.\w)", re.IGNORECASE)
"""In a remark: it tells of how the filament is driven, and by what way it comes. `drive.conf` is a file's name."""
OF_A_SENSOR = pattern(r"sensor|watch|runout|switch|detect", re.IGNORECASE)
"""In a name or a remark: it is about a sensor of the filament, or another one."""
_TIP = pattern(r"(?<![A-Za-z])tips?(?![A-Za-z])[^\r\n]*\d", re.IGNORECASE)
FEEDS = pattern(
    r"^[ \t]*(?:N\d+[ \t]+)?G0*[01](?![\d.])(?![^;(\r\n]*[XYZ][-+.\d])[^;(\r\n]*E[-+]?\d", re.IGNORECASE
)
"""A word-address line that moves the filament and no axis."""
#: a unit behind a number, and the unit that its measure is told in; "" is none of a configuration's values
_BEHIND = pattern(
    r"[ \t]{0,2}(/mm|mm/s(?:2|²|\^2)|mm/s|mm/min|mm|ms|s|%|°C?|C|deg|m?A|m?V|k?Hz|k|W)(?![\w/^²])"
)
_MEASURES = {
    "/mm": "1/mm", "mm/s2": "mm/s^2", "mm/s²": "mm/s^2", "mm/s^2": "mm/s^2", "mm/s": "mm/s", "mm/min": "mm/s", "mm": "mm",
    "ms": "s", "s": "s", "mA": "A", "A": "A", "mV": "V", "V": "V", "%": "%",
}  # fmt: skip
_NO_MEASURE = "?"
#: words of a name whose number is no length, and of one whose number is a temperature or of a heater
_NO_LENGTH = pattern(
    r"steps?(?![a-z])|pulses|speed|veloc|accel|jerk|curr|temp|heat|volt|seconds?|hertz", re.IGNORECASE
)
_OF_HEAT = pattern(
    r"heat|temp(?!o)|warm|(?<![A-Za-z])hot[\"' \t]*[=:]|°C"
    r"|(?:nozzle|bed|chamber|hot(?:[ _]?end)?)[ _-]C(?![A-Za-z0-9])",
    re.IGNORECASE,
)
#: what stands right before a number that is a temperature; `hot end 2 y = 214` has another one there
_HOT = pattern(r"(?<![A-Za-z])hot(?:[ _-]?(?:end|side))?[\"' \t]*[=:,]?[\"' \t]*(?=[-+]?\d)", re.IGNORECASE)
#: words that say nothing of what a number is
_WEAK = frozenset(
    [
        *(
            "with",
            "from",
            "than",
            "this",
            "that",
            "mode",
            "value",
            "length",
            "speed",
            "feeder",
            "motor",
            "current",
        ),
        *(
            "filament",
            "machine",
            "define",
            "true",
            "false",
            "highest",
            "lowest",
            "maximum",
            "minimum",
            "limit",
            "nozzle",
            "probe",
            "across",
            "along",
            "axis",
        ),
    ]
)


T = TypeVar("T", str, float)


class FormerNumber(Struct, frozen=True):
    """A number as it stood where a change replaces it, what it was, and the words of its setting. `letter` is that of the
    axis whose place it was in a word-address line, `unit` that of the change, "" where it has none. `called` is the setting's
    name of several words, as a script's remark may call it, however short they are: `run on`."""

    value: float
    label: str
    words: frozenset[str]
    letter: str = ""
    unit: str = ""
    called: str = ""


class OldNumbers(Struct, frozen=True):
    """The old values by their numbers, the old lengths of the filament's path in mm, and the words that the swapped feeders
    and those that stay as they are go by. `tips` is true where one of several tips has moved."""

    by_number: Mapping[float, tuple[FormerNumber, ...]] = field(default_factory=dict)
    by_word: Mapping[str, tuple[FormerNumber, ...]] = field(default_factory=dict)
    paths: tuple[float, ...] = ()
    own: frozenset[str] = frozenset()
    others: frozenset[str] = frozenset()
    tips: bool = False

    def said_of(self, line: str, unit: str = "", *, elsewhere: bool = False) -> str:
        """Which old number a line holds, in words; "" where it holds none. `unit` is what its name says of a number
        without one, "" where it says nothing; `elsewhere` is true of a setting whose words have a meaning: an equal number
        under an unlike word is no sign."""
        line = line[:LONGEST_LINE]
        numbers = _numbers(line)
        if not numbers and not self.tips:
            return ""
        words = _words(line)
        if self._of_another(words):
            return ""
        if self.tips and _TIP.search(line):
            return "of a tip, and one of several tips has moved"
        for text, behind in numbers:
            number, measure = abs(float(text.replace(",", "."))), behind or unit
            if same := self._the_same(number, text, line, words, measure=measure, elsewhere=elsewhere):
                return f"the old {same.label}"
            if (path := self._near_path(number, line)) and _may_be_path(line, measure):
                return f"near the old path of {path:g} mm"
            if near := self._near(number, words, measure):
                return f"near the old {near.label}"
        return ""

    def but_for_currents(self) -> OldNumbers:
        """The same where a line is of an axis: a current there is that of its own motor."""

        def others(known: Mapping[T, tuple[FormerNumber, ...]]) -> dict[T, tuple[FormerNumber, ...]]:
            return {key: tuple(each for each in olds if each.unit != "A") for key, olds in known.items()}

        return replace(self, by_number=others(self.by_number), by_word=others(self.by_word))

    def of_another(self, line: str) -> bool:
        """Whether a line names a feeder that stays as it is, and no other."""
        return self._of_another(_words(line))

    def _of_another(self, words: frozenset[str]) -> bool:
        return self.own.isdisjoint(words) and not self.others.isdisjoint(words)

    def _the_same(
        self,
        number: float,
        text: str,
        line: str,
        words: Collection[str],
        *,
        measure: str,
        elsewhere: bool,
    ) -> FormerNumber | None:
        equal = [each for each in self.by_number.get(number, ()) if _fits(measure, each)]
        if not equal:
            return None
        letters = _letters(line, text)
        found = (each for each in equal if not (each.letter and letters) or each.letter in letters)
        digits = len(re.sub(r"[^0-9]", "", text).strip("0"))
        telling = digits >= (TELLING_ELSEWHERE if elsewhere else TELLING_DIGITS)[not re.search(r"[.,]", text)]
        telling = telling and not _is_of_heat(line, text)
        said = _in_pieces(line)
        return next(
            (
                each
                for each in found
                if telling or each.words.intersection(words) - _WEAK or (each.called and each.called in said)
            ),
            None,
        )

    def _near_path(self, number: float, line: str) -> float:
        if number < SHORTEST_PATH or not self.paths:
            return 0.0
        near = NEAR_SENSOR if OF_A_SENSOR.search(line) else NEAR_PATH
        return next((path for path in self.paths if near[0] * path <= number <= near[1] * path), 0.0)

    def _near(self, number: float, words: frozenset[str], measure: str) -> FormerNumber | None:
        said = (
            old
            for word in sorted(self.by_word.keys() & words - _WEAK)
            for old in self.by_word[word]
            if _fits(measure, old)
        )
        return next((old for old in said if abs(number - old.value) <= NEAR_VALUE * old.value), None)


def old_numbers(
    changes: Iterable[Change],
    findings: Iterable[Finding],
    documents: Iterable[Document],
    feeder_names: Mapping[str, int],
    by_hand: Iterable[ByHand],
    swapped: Iterable[int] = (),
) -> OldNumbers:
    """The old numbers of a plan's changes and of the path that it found; `feeder_names` are the words that feeders go by, and
    `swapped` those that are known to be swapped, changed or not."""
    data = {document.path: document.data for document in documents}
    by_number: dict[float, list[FormerNumber]] = {}
    by_word: dict[str, list[FormerNumber]] = {}
    theirs = {str(number) for number in swapped}
    for change in changes:
        theirs.update(re.findall(r"feeder (\d+)", change.holder))
        for edit in change.edits:
            try:
                number = abs(float(edit.old.replace(",", ".")))
            except ValueError:
                continue
            line = data[edit.file][: edit.start].rpartition(b"\n")[2].decode("latin-1")
            letter = line[-1:] if line[-1:] in _OF_AXES else ""
            line = line[-LONGEST_LINE:]
            called = _in_pieces(line) if len(split(line)) > 1 else ""
            old = FormerNumber(number, change.label, _words(line), letter, change.unit, called)
            if number and old not in by_number.setdefault(number, []):
                by_number[number].append(old)
                for word in old.words:
                    by_word.setdefault(word, []).append(old)
    known = {each.rule: each.value for each in findings}
    paths = {known[rule] or 0.0 for rule in _PATHS if rule in known} if "path.changed" in known else set()
    named = {name.lower(): str(number) in theirs for name, number in feeder_names.items() if len(name) > 2}
    return OldNumbers(
        {number: tuple(found) for number, found in by_number.items()},
        {word: tuple(found) for word, found in by_word.items()},
        tuple(sorted(path for path in paths if path)),
        frozenset(name for name, own in named.items() if own),
        frozenset(name for name, own in named.items() if theirs and not own),
        any(item.rule.startswith("tips.") for item in by_hand),
    )


def _letters(line: str, text: str) -> frozenset[str]:
    """The letters directly before a number in a line of text."""
    return frozenset(found[0][:1] for found in _AFTER_LETTER.finditer(line) if found[1] == text)


def _is_of_heat(line: str, text: str) -> bool:
    """Whether a line speaks of heat, or of the number `text` right before it."""
    return _OF_HEAT.search(line) is not None or any(
        re.match(rf"[-+]?{re.escape(text.lstrip('-+'))}(?![\d.])", line[found.end() :])
        for found in _HOT.finditer(line)
    )


def _in_pieces(text: str) -> str:
    """A text by the pieces of its words, so that a name stands whole in it or not at all."""
    return f" {' '.join(split(text))} "


def _words(text: str) -> frozenset[str]:
    return frozenset(word.lower() for word in _WORD.findall(text)) - {"define"}


def _may_be_path(line: str, measure: str) -> bool:
    """Whether a number of a line in this measure may be a length of the filament's path, by what else the line says."""
    if FEEDS.match(line):
        return True
    speaks = _OF_THE_PATH.search(line) is not None
    return speaks and (measure == "mm" or not (measure or _NO_LENGTH.search(line)))


def _fits(measure: str, old: FormerNumber) -> bool:
    """Whether a number in this measure may be an old one; without a unit it may be anything."""
    return not measure or not old.unit or measure == old.unit


def _numbers(line: str) -> list[tuple[str, str]]:
    """The numbers of a line, each with the unit behind it."""
    plain = [(found[0], _behind(line, found.end())) for found in _NUMBER.finditer(line)]
    return [*plain, *((text, "") for text in _AFTER_LETTER.findall(line))][:MOST_NUMBERS]


def _behind(line: str, end: int) -> str:
    found = _BEHIND.match(line, end)
    return _MEASURES.get(found[1], _NO_MEASURE) if found else ""
