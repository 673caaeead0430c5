"""The moves of a script: word-address lines (a letter and a number, as in RS-274) with their modes followed.

A script is a stretch of a file. It is read line by line; what a line does depends on the lines before it:
G90 and G91 (positions absolute or relative), M82 and M83 (the same for the feed), G20 and G21 (inches or mm),
G92 (a position is given another number), G53, homing. Out come the moves, each axis word with what is known
about it: its number's place in the file, the mode, and where the axis stood before.

Nothing is assumed that a script does not say: at its start the modes and positions are unknown. Offsets set
before a script are taken as none, and lengths as mm unless G20 says otherwise. What a line does that is no
plain word-address line (a call, a template, a loop) is not known, so afterwards modes and positions are
unknown again. The path of an arc between its ends is not looked at.

This module knows no limits and decides nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from cfgmigrate.machine.scripts import occasion
from cfgmigrate.machine.words import read_name

AXES = "XYZ"
INCH = 25.4
_BREAK = re.compile(r"\r\n|\r|\n|\\r\\n|\\n|\\r")
#: a word with its number, a letter by itself, a check sum, or anything else up to the next blank
_TOKEN = re.compile(
    r"(?P<letter>[A-Za-z])[ \t\f\v]*(?P<number>[+-]?(?:\d+\.?\d*|\.\d+))(?=[ \t\f\v]*(?:[A-Za-z*]|\Z))"
    r"|(?P<bare>[A-Za-z])(?=[ \t\f\v]|\Z)|(?P<check>\*)|(?P<odd>[^ \t\f\v]+)"
)
#: brackets that hold a remark; directly behind a letter they hold an expression
_REMARK = re.compile(r"(?<![A-Za-z])\([^()]*(?:\)|\Z)|;.*")
_HASH_REMARK = re.compile(r"(?:^|(?<=[ \t]))#.*")
_C_REMARK = re.compile(r"/\*.*?\*/|//.*")
#: a line that the machine may be told to skip
_SKIPPED = re.compile(r"[ \t\f\v]*/[ \t\f\v]*")
#: codes that neither move anything nor change what a number means
_IDLE = {4, 9, 17, 18, 19, 21, 40, 49, 54, 61, 64, 80, 93, 94}
_MOVES, _HOMES = {0, 1, 2, 3}, {28, 30}
#: other origins; -1 is any code with a point in it
_OFFSETS = {-1, 10, 52, 55, 56, 57, 58, 59}
#: motors off; a call of another program, another tool; the end
_LOOSE, _CALLS, _ENDS = {18, 84}, {6, 97, 98}, {2, 30}


@dataclass(frozen=True, slots=True)
class Word:
    """A letter and what stands behind it. `value` is None where that is no plain number (then `text` is
    what stands there); `start` and `end` are the bytes of the number in the file."""

    letter: str
    text: str
    value: float | None
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Target:
    """One axis word of a move. `value` is its number in mm; `absolute` is None where the mode is unknown;
    `before` is where the axis stood and `shift` what has to be added to an absolute number to get the
    machine's own position (each None where unknown). `scale` is mm per unit of the written number."""

    word: Word
    value: float | None
    absolute: bool | None
    before: float | None
    shift: float | None
    scale: float = 1.0

    @property
    def axis(self) -> str:
        return self.word.letter.lower()

    @property
    def after(self) -> float | None:
        """Where the axis stands then, if that is known."""
        if self.value is None or self.absolute is None:
            return None
        base = self.shift if self.absolute else self.before
        return None if base is None else base + self.value


@dataclass(frozen=True, slots=True)
class Feed:
    """The feed word of a move. `length` (mm) is None where unknown; `alone` says that no axis moves with it;
    `run` counts the stretches of feed-only moves, so that moves with nothing between can be added up.
    `value`, `absolute` and `scale` are as in `Target`."""

    word: Word
    value: float | None
    absolute: bool | None
    length: float | None
    alone: bool
    run: int
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class Move:
    """One line that moves something. `start` and `end` are the line's bytes in the file. `rebased` counts how
    often the feed's position was set or its mode changed before: absolute feeds of one count build on each other."""

    start: int
    end: int
    targets: tuple[Target, ...]
    feed: Feed | None
    rebased: int = 0


def read_script(data: bytes, start: int, end: int, dialect: str) -> tuple[Move, ...]:
    """The moves of the script that stands at `start`..`end` of a file's bytes. Never raises.

    In the dialect `command` a remark that names an occasion ("(end)") begins another script.
    """
    state = _State()
    moves: list[Move] = []
    for first, text in _lines(data[start:end].decode("latin-1")):
        begin = start + first
        if dialect == "command" and _names_an_occasion(text):
            state = _State(run=state.run + 1, rebased=state.rebased + 1)
            continue
        code = _without_remarks(text, dialect)
        perhaps = _SKIPPED.match(code)
        words = _words(code[perhaps.end() :] if perhaps else code, begin + (perhaps.end() if perhaps else 0))
        move = state.take(words, begin, begin + len(text)) if words is not None else None
        if move is not None:
            moves.append(move)
        if words is None or perhaps:
            state.forget()
    return tuple(moves)


def _lines(text: str) -> Iterator[tuple[int, str]]:
    """The lines with where they start; a line also ends at a written-out line end (a backslash and an n)."""
    start = 0
    for found in _BREAK.finditer(text):
        yield start, text[start : found.start()]
        start = found.end()
    yield start, text[start:]


def _names_an_occasion(text: str) -> bool:
    inside = text.strip()
    if not inside or inside[0] not in ";(":
        return False
    return occasion(read_name("", inside.strip(";() \t"))) != "script.other"


def _without_remarks(text: str, dialect: str) -> str:
    """The line with blanks in place of remarks, quotes and line joints, so that places stay what they are."""
    patterns = [_REMARK]
    if dialect == "header":
        patterns.insert(0, _C_REMARK)
    elif dialect != "command":
        patterns.insert(0, _HASH_REMARK)
    for pattern in patterns:
        text = pattern.sub(lambda found: " " * len(found[0]), text)
    return text.replace('"', " ").replace("'", " ").replace("\\", " ")


def _words(text: str, base: int) -> list[Word] | None:
    """The words of one line; None where it is something else than word-address code.

    A word whose number can't be told for sure (an expression, a number broken by blanks, a line with a check
    sum that an edit would break) has no value.
    """
    found: list[Word] = []
    doubtful = False
    for token in _TOKEN.finditer(text):
        letter = (token["letter"] or token["bare"] or token["odd"] or "*")[0].upper()
        if token["number"]:
            number = token["number"]
            found.append(
                Word(letter, number, float(number), base + token.start("number"), base + token.end())
            )
        elif not found and not token["bare"]:
            return None
        elif "A" <= letter <= "Z":
            found.append(Word(letter, token[0][1:], None, base + token.start() + 1, base + token.end()))
        else:
            doubtful = True
    return [replace(word, value=None) if doubtful and word.letter not in "GM" else word for word in found]


@dataclass
class _State:
    """What is known while the lines go by; see the module's text."""

    absolute: bool | None = None
    feed_absolute: bool | None = None
    scale: float = 1.0
    at: dict[str, float | None] = field(default_factory=dict)
    shift: dict[str, float | None] = field(default_factory=lambda: dict.fromkeys(AXES, 0.0))
    feed_at: float | None = None
    run: int = 0
    rebased: int = 0

    def forget(self) -> None:
        """After a line of which nobody knows what it does."""
        self.absolute = self.feed_absolute = self.feed_at = None
        self.at = {}
        self.run += 1
        self.rebased += 1

    def take(self, words: list[Word], start: int, end: int) -> Move | None:
        """What one line does; the move, if it is one."""
        words = [word for word in words if word.letter != "N"]
        if any(word.value is None and word.letter in "GM" for word in words):
            self.forget()
            return None
        codes = [
            int(w.value) if w.value == int(w.value) else -1
            for w in words
            if w.letter == "G" and w.value is not None
        ]
        others = [int(w.value) for w in words if w.letter == "M" and w.value is not None]
        self._modes(codes, others)
        if any(code in _CALLS for code in others) or (not others and any(w.letter in "TO" for w in words)):
            self.forget()
        if any(code in _LOOSE for code in others):
            self.at = {}
        if any(code in _ENDS for code in others):
            self.forget()
            self.shift = dict.fromkeys(AXES, 0.0)
        return self._act(words, codes, others, start, end)

    def _modes(self, codes: list[int], others: list[int]) -> None:
        if 20 in codes or 21 in codes:
            self.scale = INCH if 20 in codes else 1.0
        if 82 in others or 83 in others:
            self.feed_absolute = 82 in others
            self.rebased += 1
        if 90 in codes or 91 in codes:
            self.absolute = 90 in codes
            # Machines disagree on whether this is for the feed as well.
            if self.feed_absolute is not self.absolute:
                self.feed_absolute = None
            self.rebased += 1

    def _act(
        self, words: list[Word], codes: list[int], others: list[int], start: int, end: int
    ) -> Move | None:
        if 92 in codes:
            self._renumber(words)
            return None
        active = [code for code in codes if code not in (20, 90, 91, 53) and code not in _IDLE]
        if any(code not in _MOVES for code in active):
            # homing, probing, or something unknown: the axes named (or all) stand somewhere else now
            named = [word.letter for word in words if word.letter in AXES]
            for axis in named if named and _HOMES.issuperset(active) else AXES:
                self.at[axis] = None
            if any(code in _OFFSETS for code in active):
                self.shift = dict.fromkeys(AXES, None)
            if any(code not in _HOMES for code in active):
                self.feed_at = None
            self.run += 1
            return None
        moves = bool(active) or (not others and 4 not in codes)
        if not moves or not {word.letter for word in words} & set(AXES + "E"):
            return None
        return self._move(words, start, end, machine=53 in codes)

    def _renumber(self, words: list[Word]) -> None:
        """G92: the place stays, its number changes. Without words all become 0."""
        named = {word.letter: word.value for word in words if word.letter in AXES + "E"}
        for letter, value in (named or dict.fromkeys(AXES + "E", 0.0)).items():
            if letter == "E":
                self.feed_at = None if value is None else value * self.scale
                self.rebased += 1
                continue
            position = self.at.get(letter)
            known = position is not None and value is not None
            self.shift[letter] = position - value * self.scale if known else None  # type: ignore[operator]

    def _move(self, words: list[Word], start: int, end: int, machine: bool) -> Move:
        letters = [word.letter for word in words]
        targets = []
        for word in words:
            if word.letter not in AXES:
                continue
            value = None if word.value is None or letters.count(word.letter) > 1 else word.value * self.scale
            absolute = True if machine else self.absolute
            shift = 0.0 if machine else self.shift[word.letter]
            target = Target(word, value, absolute, self.at.get(word.letter), shift, self.scale)
            targets.append(target)
        for target in targets:
            self.at[target.word.letter] = target.after
        feed = next((self._feed(word, not targets) for word in words if word.letter == "E"), None)
        if feed is None or not feed.alone:
            self.run += 1
        return Move(start, end, tuple(targets), feed, self.rebased)

    def _feed(self, word: Word, alone: bool) -> Feed:
        value = None if word.value is None else word.value * self.scale
        length: float | None = None
        if self.feed_absolute is False:
            length = value
            self.feed_at = None if self.feed_at is None or value is None else self.feed_at + value
        elif self.feed_absolute and value is not None:
            length = None if self.feed_at is None else value - self.feed_at
            self.feed_at = value
        else:
            self.feed_at = None
        return Feed(word, value, self.feed_absolute, length, alone, self.run, self.scale)
