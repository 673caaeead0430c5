"""The moves of a script: word-address lines (a letter and a number, as in RS-274) with their modes followed.

A script is a stretch of a file. It is read line by line; what a line does depends on the lines before it:
G90 and G91 (positions absolute or relative), M82 and M83 (the same for the feed), G20 and G21 (inches or mm),
G92 (a position is given another number), G53, homing. Out come the moves, each axis word with what is known
about it: its number's place in the file, the mode, and where the axis stood before.

Nothing is assumed that a script does not say: at its start the modes and positions are unknown. One thing is read as
most machines take it: G91 stands for incremental dimensions (ISO 6983-1), and the feed follows it (common practice, no
source), unless M82 says otherwise somewhere, G92 gives the feed a place of its own, or the numbers grow from one
feed to the next as those of places do. G90 says nothing of the feed, since many machines feed in steps between
places. Offsets set before a script are taken as none, and lengths as mm unless G20 says otherwise. What a line does that is no
plain word-address line (a call, a template, a loop) is not known, so afterwards modes and positions are
unknown again. The path of an arc between its ends is not looked at.

This module knows no limits and decides nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.dialects.moves import CodeLine, lines_of
from cfgmigrate.dialects.script_text import script_alone
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.scripts.heads_of_pieces import occasion_named
from cfgmigrate.scripts.named_tools import is_heading, leaves_the_tool, named_tool, only_waits

AXES = "XYZ"
INCH = 25.4
#: a letter with something behind it that is no number
_EXPRESSION = pattern(rf"(?<![^ \t])([{AXES}EABCUVWF])([^ \t\r\n;]*)", re.IGNORECASE)
#: codes that neither move anything nor change what a number means
_IDLE = {4, 9, 17, 18, 19, 21, 40, 49, 54, 61, 64, 80, 93, 94}
_MOVES, _HOMES = {0, 1, 2, 3}, {28, 30}
#: other origins; -1 is any code with a point in it
_OFFSETS = {-1, 10, 52, 55, 56, 57, 58, 59}
#: motors off; a call of another program, another tool; the end
_LOOSE, _CALLS, _ENDS = {18, 84}, {6, 97, 98}, {2, 30}


class ScriptWord(Struct, frozen=True):
    """A letter and what stands behind it. `value` is None where that is no plain number (then `text` is
    what stands there); `start` and `end` are the bytes of the number in the file."""

    letter: str
    text: str
    value: float | None
    start: int
    end: int


class AxisTarget(Struct, frozen=True):
    """One axis word of a move. `value` is its number in mm; `absolute` is None where the mode is unknown;
    `before` is where the axis stood and `shift` what has to be added to an absolute number to get the
    machine's own position (each None where unknown). `scale` is mm per unit of the written number. `mode_said` is whether the script has
    said a mode anywhere before, though it may be unknown again."""

    word: ScriptWord
    value: float | None
    absolute: bool | None
    before: float | None
    shift: float | None
    scale: float = 1.0
    mode_said: bool = False
    #: the axis, where the word is none of the standard's letters
    of_axis: str = ""

    @property
    def axis(self) -> str:
        return self.of_axis or self.word.letter.lower()

    @property
    def after(self) -> float | None:
        """Where the axis stands then, if that is known."""
        if self.value is None or self.absolute is None:
            return None
        base = self.shift if self.absolute else self.before
        return None if base is None else base + self.value


class Feed(Struct, frozen=True):
    """The feed word of a move. `length` (mm) is None where unknown; `alone` says that no axis moves with it;
    `run` counts the stretches of feed-only moves, so that moves with nothing between can be added up.
    `value`, `absolute` and `scale` are as in `AxisTarget`. `from_place` is the number (mm) from which a feed goes on if it counts
    in places, None where G92 began no such count. `as_axes` is what the axes are by G90 or G91 where nothing but
    that could say it of the feed, None where neither stands before it. `follows` is true where it is read as G91 says."""

    word: ScriptWord
    value: float | None
    absolute: bool | None
    length: float | None
    alone: bool
    run: int
    scale: float = 1.0
    as_axes: bool | None = None
    follows: bool = False
    from_place: float | None = None


class GivenPlace(Struct, frozen=True):
    """The word by which G92 gives the feed's place a number, and the bytes of its line."""

    word: ScriptWord
    start: int
    end: int


class Move(Struct, frozen=True):
    """One line that moves something. `start` and `end` are the line's bytes in the file. `rebased` counts how
    often the feed's position was set or its mode changed before: absolute feeds of one count build on each other.
    `occasion` is the id of the script that a remark before has named ("script.load"), "" where none has. `speed` is in
    mm/s, None where no F says it; `given` is the number that the feed's place is given behind it; `speed_word` is the word that says it, with how many of its units make 1 mm/s. `tool` is the number of the tool in force, None where none was taken before, and
    `feeder` that of the feeder whose name took it."""

    start: int
    end: int
    targets: tuple[AxisTarget, ...]
    feed: Feed | None
    rebased: int = 0
    occasion: str = ""
    speed: float | None = None
    tool: int | None = None
    feeder: int | None = None
    speed_word: tuple[str, float] = ("F", 60.0)
    given: GivenPlace | None = None


def read_script(
    data: bytes,
    start: int,
    end: int,
    dialect: str,
    feed: str = "E",
    names: Mapping[str, int] | None = None,
    follows: bool = True,
) -> tuple[Move, ...]:
    """The moves of the script that stands at `start`..`end` of a file's bytes, where the letter `feed` moves the
    filament and feeders go by `names`; with `follows` the feed follows G91. Never raises.

    In the dialect `command` a remark that names an occasion ("(end)") begins another script.
    """
    state = _State(feed, may_follow=follows)
    moves: list[Move] = []
    text = script_alone(data[start:end].decode("latin-1"), dialect)
    for line, tokens, _ in lines_of(text):
        if not line.words and not line.text:
            named = [occasion_named(token) for kind, token in tokens if kind == "COMMENT"]
            if any(kind == "COMMENT" and is_heading(token) for kind, token in tokens):
                state.feeder = None
            if dialect == "command" and any(named):
                state = _State(
                    feed,
                    follows,
                    occasion=next(filter(None, named)),
                    run=state.run + 1,
                    rebased=state.rebased + 1,
                    mode_said=state.mode_said,
                )
            continue
        if line.text and not line.words and only_waits(line.text):
            continue
        move = state.take(list(_words(line, text, start)), start + line.start, start + line.end)
        if move is not None:
            moves.append(move)
        elif moves and state.renumbered is not None:
            given = GivenPlace(state.renumbered, start + line.start, start + line.end)
            moves[-1] = replace(moves[-1], given=given)
        state.renumbered = None
        if line.skippable or (line.text and not line.words):
            on, tool = state.feeder, state.tool
            state.forget()
            if line.text and not line.words:
                if leaves_the_tool(line.text, names or {}):
                    state.feeder, state.tool = on, tool
                elif names:
                    state.feeder = named_tool(line.text, names)
    return _growing_ones_open(moves)


def _growing_ones_open(moves: list[Move]) -> tuple[Move, ...]:
    """The moves, where feeds that only follow G91 and grow from one to the next without another move between are left
    open: such numbers may be places."""
    runs: dict[int, list[float]] = {}
    for move in moves:
        if move.feed and move.feed.follows and move.feed.alone:
            runs.setdefault(move.feed.run, []).append(move.feed.value or 0.0)
    grow = {
        run
        for run, values in runs.items()
        if len(values) > 1 and values[0] > 0 and all(one < other for one, other in pairwise(values))
    }
    return tuple(
        replace(move, feed=replace(move.feed, absolute=None, length=None, follows=False))
        if move.feed and move.feed.follows and move.feed.run in grow
        else move
        for move in moves
    )


def _words(line: CodeLine, text: str, base: int) -> Iterator[ScriptWord]:
    """The words of one line of `text`, at their places in the file.

    A word whose number can't be told for sure (a letter alone, a number broken by blanks, an expression, a
    line whose check sum an edit would break) has no value.
    """
    for word in line.words:
        doubtful = word.value is None or word.text != word.number or (line.summed and word.letter not in "GM")
        value = None if doubtful else word.value
        shown = word.text or text[word.end : line.end].partition(" ")[0]  # `E[-3]`
        yield ScriptWord(word.letter, shown, value, base + word.start, base + word.end)
    if line.text and line.words:
        behind = text.find(line.text[0], line.words[-1].end, line.end)
        for found in _EXPRESSION.finditer(text, behind, line.end):
            yield ScriptWord(found[1].upper(), found[2], None, base + found.start(2), base + found.end(2))


def tool_of(words: list[ScriptWord], others: list[int]) -> int | None:
    """The tool that a line takes, None where it takes none or it can't be told; behind other codes a T is an
    argument."""
    taken = [word for word in words if word.letter == "T"]
    if len(taken) != 1 or taken[0].value is None or set(others) - {6}:
        return None
    return int(taken[0].value)


class _State(Struct):
    """What is known while the lines go by; see the module's text."""

    letter: str = "E"
    may_follow: bool = True
    #: whether the feed is incremental because G91 stands before it
    follows: bool = False
    #: whether a G90 or G91 stands anywhere before, even if an unknown line stands between
    mode_said: bool = False
    absolute: bool | None = None
    feed_absolute: bool | None = None
    scale: float = 1.0
    at: dict[str, float | None] = field(default_factory=dict)
    shift: dict[str, float | None] = field(default_factory=lambda: dict.fromkeys(AXES, 0.0))
    feed_at: float | None = None
    #: where the feed stands if it counts in places, since G92 began such a count
    place: float | None = None
    renumbered: ScriptWord | None = None
    run: int = 0
    rebased: int = 0
    occasion: str = ""
    speed: float | None = None
    tool: int | None = None
    feeder: int | None = None

    def forget(self) -> None:
        """After a line of which nobody knows what it does."""
        self.follows = False
        self.absolute = self.feed_absolute = self.feed_at = self.place = None
        self.speed = self.tool = self.feeder = None
        self.at = {}
        self.run += 1
        self.rebased += 1

    def take(self, words: list[ScriptWord], start: int, end: int) -> Move | None:
        """What one line does; the move, if it is one."""
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
        for word in words:
            if word.letter == "F":
                self.speed = None if word.value is None else word.value * self.scale / 60
        if any(code in _CALLS for code in others) or (not others and any(w.letter in "TO" for w in words)):
            self.forget()
            self.tool = tool_of(words, others)
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
            self.feed_absolute, self.follows = 82 in others, False
            self.may_follow &= 82 not in others
            self.rebased += 1
        if 90 in codes or 91 in codes:
            self.absolute, self.mode_said = 90 in codes, True
            # Another letter than E is an axis like X.
            if self.letter != "E":
                self.feed_absolute = self.absolute
            elif self.absolute is False and self.feed_absolute is None and self.may_follow:
                self.feed_absolute, self.follows = False, True
            elif self.feed_absolute is not self.absolute:
                self.feed_absolute, self.follows = None, False
            self.rebased += 1

    def _act(
        self, words: list[ScriptWord], codes: list[int], others: list[int], start: int, end: int
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
                self.feed_at = self.place = None
            self.run += 1
            return None
        moves = bool(active) or (not others and 4 not in codes)
        if not moves or not {word.letter for word in words} & {*AXES, self.letter}:
            return None
        return self._move(words, start, end, machine=53 in codes)

    def _renumber(self, words: list[ScriptWord]) -> None:
        """G92: the place stays, its number changes. Without words all become 0."""
        named = {word.letter: word.value for word in words if word.letter in {*AXES, self.letter}}
        for letter, value in (named or dict.fromkeys((*AXES, self.letter), 0.0)).items():
            if letter == self.letter:
                self.feed_at = self.place = None if value is None else value * self.scale
                self.renumbered = next((word for word in words if word.letter == letter), None)
                if self.follows:
                    self.feed_absolute, self.follows = None, False
                self.may_follow = False
                self.rebased += 1
                continue
            position = self.at.get(letter)
            known = position is not None and value is not None
            self.shift[letter] = position - value * self.scale if known else None  # type: ignore[operator]

    def _move(self, words: list[ScriptWord], start: int, end: int, machine: bool) -> Move:
        letters = [word.letter for word in words]
        targets = []
        for word in words:
            if word.letter not in AXES:
                continue
            value = None if word.value is None or letters.count(word.letter) > 1 else word.value * self.scale
            absolute = True if machine else self.absolute
            shift = 0.0 if machine else self.shift[word.letter]
            stood = self.at.get(word.letter)
            targets.append(AxisTarget(word, value, absolute, stood, shift, self.scale, self.mode_said))
        for target in targets:
            self.at[target.word.letter] = target.after
        feed = next((self._feed(word, not targets) for word in words if word.letter == self.letter), None)
        if feed is None or not feed.alone:
            self.run += 1
        return Move(
            start, end, tuple(targets), feed, self.rebased, self.occasion, self.speed, self.tool, self.feeder
        )

    def _feed(self, word: ScriptWord, alone: bool) -> Feed:
        value = None if word.value is None else word.value * self.scale
        length: float | None = None
        before, self.place = self.place, None
        if self.feed_absolute is False:
            length = value
            self.place = None if before is None or value is None else before + value
            self.feed_at = None if self.feed_at is None or value is None else self.feed_at + value
        elif self.feed_absolute and value is not None:
            length = None if self.feed_at is None else value - self.feed_at
            self.feed_at = value
        else:
            self.feed_at = None
        if self.feed_absolute is not False and before is not None:
            self.place = value
        return Feed(
            word,
            value,
            self.feed_absolute,
            length,
            alone,
            self.run,
            self.scale,
            self.absolute,
            self.follows,
            before,
        )
