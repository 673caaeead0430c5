"""The moves of a script in codes of its owner's own, by what the site file says of its words.

What the standard's modes are elsewhere is told by the words themselves. The filament goes by lengths, in or out. An axis goes
to a place, but for a number with a plus, which nobody writes before a place: it is a step; a number below nought may be
either, and is left open. A speed holds until another one is said. A word that takes the filament out, and never has a
number above nought, says the same with its minus. Words that only stand beside those that move
(a command's name, what was said to be nothing) change no meaning; a line of which nobody said anything does what nobody
knows, so afterwards it is not known where the axes stand.

This module knows no limits and decides nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.own_lines import OwnLine, OwnWord, own_lines
from cfgmigrate.dialects.script_text import script_alone
from cfgmigrate.files.own_words import BY_AXES, FILAMENT_IN, FILAMENT_OUT, SPEEDS, TO_AXES
from cfgmigrate.machine.model import Reading
from cfgmigrate.scripts.named_tools import leaves_the_tool, named_tool
from cfgmigrate.scripts.reading import AxisTarget, Feed, Move, ScriptWord

#: a speed in mm/s, the word that says it, and how many of its units make 1 mm/s
_Speed = tuple[float, str, float]


def read_own_script(
    document: Document, script: Reading, names: Mapping[str, int] | None = None
) -> tuple[Move, ...]:
    """The moves of a script of a document whose words are explained; feeders go by `names`. Never raises."""
    told = dict(document.own_words)
    text = script_alone(document.data[script.start : script.end].decode("latin-1"), document.dialect)
    moves: list[Move] = []
    at: dict[str, float | None] = {}
    run, feeder = 0, None
    speed: _Speed | None = None
    lines = tuple(own_lines(text))
    of = feeders_by_letter(told, names or {})
    above = frozenset(word.word for line in lines for word in line.words if (word.value or 0.0) > 0)
    for line in lines:
        if line.empty:
            continue
        if not any(line.meaning(word, told) for word in line.words):
            code = text[line.start : line.end]
            if names and not leaves_the_tool(code, names):
                feeder = named_tool(code, names)
            at, run = {}, run + 1
            continue
        speed = _speed_of(line, told) or speed
        for move in _moves(line, told, at, run, script.start, feeder, speed, above):
            if move.feed is None or not move.feed.alone:
                run += 1
            named = of.get(move.feed.word.letter.casefold()) if move.feed else None
            moves.append(replace(move, feeder=named) if named else move)
    return tuple(moves)


def feeders_by_letter(told: Mapping[str, str], names: Mapping[str, int]) -> dict[str, int]:
    """The feeder that each word for the filament moves, where there are several and each is the first letter of one
    feeder's name and of no other's: `W` and `D` of a window and a door. {} where that isn't so of all of them."""
    found: dict[str, int] = {}
    if FILAMENT_OUT in told.values():
        return found  # a letter for in and one for out are of one feeder, or of nobody knows which
    for word, meaning in told.items():
        if meaning == FILAMENT_IN:
            theirs = {number for name, number in names.items() if name.startswith(word.casefold())}
            if len(word) != 1 or len(theirs) != 1:
                return {}
            found[word.casefold()] = theirs.pop()
    return found if len(set(found.values())) == len(found) > 1 else {}


def _moves(
    line: OwnLine,
    told: dict[str, str],
    at: dict[str, float | None],
    run: int,
    base: int,
    feeder: int | None,
    speed: _Speed | None,
    above: frozenset[str],
) -> Iterator[Move]:
    """The move of a line; where it moves the filament of several feeders, one for each."""
    targets: list[AxisTarget] = []
    fed: dict[str, tuple[OwnWord, float]] = {}
    for word in line.words:
        meaning = line.meaning(word, told)
        if meaning in TO_AXES or meaning in BY_AXES:
            targets.append(_target(word, meaning, at, base))
        elif meaning in (FILAMENT_IN, FILAMENT_OUT):
            fed[word.word] = word, -1.0 if meaning == FILAMENT_OUT and word.word in above else 1.0
    for target in targets:
        at[target.axis] = target.after
    feeds: list[Feed | None] = [
        Feed(
            _script_word(word, base),
            length := None if word.value is None else sign * word.value,
            False,
            length,
            not targets,
            run,
            sign,
        )
        for word, sign in fed.values()
    ]
    if targets and not feeds:
        feeds = [None]
    for feed in feeds:
        yield Move(
            base + line.start,
            base + line.end,
            tuple(targets),
            feed,
            speed=speed[0] if speed else None,
            feeder=feeder,
            speed_word=(speed[1], speed[2]) if speed else ("the speed ", 1.0),
        )


def _speed_of(line: OwnLine, told: dict[str, str]) -> _Speed | None:
    for word in line.words:
        meaning = line.meaning(word, told)
        if meaning in SPEEDS and word.value is not None:
            return word.value / SPEEDS[meaning], word.word.upper(), SPEEDS[meaning]
    return None


def _target(word: OwnWord, meaning: str, at: Mapping[str, float | None], base: int) -> AxisTarget:
    by = meaning in BY_AXES or word.text.startswith("+")
    absolute = False if by else None if word.text.startswith("-") else True
    axis = BY_AXES.get(meaning, "") or TO_AXES[meaning]
    return AxisTarget(
        _script_word(word, base), word.value, absolute, at.get(axis), 0.0, mode_said=True, of_axis=axis
    )


def _script_word(word: OwnWord, base: int) -> ScriptWord:
    return ScriptWord(word.word.upper(), word.text, word.value, base + word.start, base + word.end)
