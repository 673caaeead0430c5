"""The `command` dialect: word-address lines as in RS-274, and saved dumps of a serial console.

Each word with a number is one setting: its section is the code it belongs to (the nearest before it on the
line, as in `M92`), its key the letter, its value the number as written. The code words themselves, line
numbers and letters without a number are no settings. A line that selects a tool is the setting `[T] T`. A
number with blanks in it, which the standard allows, has its plain form in `Setting.resolved`.

The words of a line that may be skipped (it starts with `/`) are undecided; so are those of a line with a
checksum, for to edit them would break it. A line with anything but words, such as a message, has no
settings; it is a doubt where words came first, or where it does not start with a code.

Where a file has lines of a maker's own commands, `MAXSPEED X180 Y160`, and more of them than of codes, the word is
what the words behind it belong to. A line of such a file may also be one or two words and a number, `RETRACT LENGTH 1.1`:
the last word is the key. Elsewhere such a line is a message: in a script it calls something. A row of names and numbers
with a label, `pulses/mm ..... x 80.00 y 80.00 feed 97.10`, is read in any of them, with its names in small letters.

A line such as `include FILE` takes in another file. What the codes mean is not known here.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from itertools import islice

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, State, TakesIn, takes_in_nothing
from cfgmigrate.dialects.labelled import row
from cfgmigrate.dialects.moves import CodeLine, Word, code_of, lines_of
from cfgmigrate.dialects.source import Source, names_a_path, shown
from cfgmigrate.ground.pattern import pattern


def read(path: str, data: bytes, takes_in: TakesIn = takes_in_nothing) -> Document:
    """Reads a file. Raises BadInput where it is not plain text; never where a line is not understood."""
    source = Source(path, data, takes_in)
    end = source.base
    summed = False
    own = _has_own_commands(source.body)
    letter = _own_letter(source.body)
    messages = 0
    first_messages: list[CodeLine] = []
    for line, _, behind in lines_of(source.body):
        start, end = end, min(source.base + behind, len(data))
        source.piece("text" if line.text else "words" if line.words else "gap", start, end)
        plain = line.words and not line.text and not line.prompt  # words alone take in nothing
        if not plain and not line.skippable and source.include_line(start, end):
            continue
        if line.text and own and (found := _named(line)):
            _settings(source, found[1], found[0], named=True)
        elif line.text and not line.words and (parts := _row(source.body, line)):
            for name, first, last in parts[1]:
                source.setting(shown(parts[0]), name.lower(), first + source.base, last + source.base)
        elif line.text and not line.words and not line.prompt:
            messages += 1
            if messages <= TOLD_TOGETHER:
                first_messages.append(line)
        elif line.text:
            _unread(source, line)
        else:
            _settings(source, line, letter=letter)
        if line.summed and line.words and not summed:
            summed = True
            source.doubt(
                line.start + source.base,
                line.end + source.base,
                "the line ends in a checksum, which an edit would break",
                "take the checksums and the line numbers off",
            )
    _tell(source, messages, first_messages)
    return source.document("command")


def _row(text: str, line: CodeLine) -> tuple[str, list[tuple[str, int, int]]] | None:
    """A line that says of each of its numbers what it is, and what all of them are; None for any other."""
    start = text.find(line.text, line.start, line.end)
    of, parts = row(text, start, start + len(line.text)) if start >= 0 else ("", [])
    return (of, parts) if parts else None


#: letters of words that are no code of a maker's own, whatever number they have
_NO_CODES = frozenset("XYZEFTNGM#")
#: so many lines begin with a word of a maker's own where such a word is a command
OWN_WORDS = 5
_OWN = r"[A-Za-z]{2,}(?:[_-][A-Za-z]+){0,4}"
_NAMED = pattern(rf"({_OWN}(?:[ \t]+{_OWN})?)[ \t]+(?=[A-Za-z][+-]?\.?\d)")
#: two letters side by side, as in every such line, on any line but the first
_TWO_LETTERS = pattern(r"[\r\n](?:[A-Za-z]?(?:[^A-Za-z;(\r\n]++|\([^()\r\n]*\)))*+[A-Za-z]{2}")
_PLAIN = pattern(
    rf"(?:({_OWN})[ \t]+)?({_OWN})[ \t]+([+-]?(?:\d+(?:\.\d*)?|\.\d+))"
    r"(?:[ \t]*|[ \t]+(?:#|--|//|<-|!|\().*)"
)


def _named(line: CodeLine) -> tuple[str, CodeLine] | None:
    """A maker's own command and the words behind it; None where a line is not one."""
    if line.words or line.prompt:
        return None
    if plain := _PLAIN.fullmatch(line.text):
        start, number = line.start + plain.start(3), plain[3]
        word = Word(plain[2], number, start, start + len(number))
        return plain[1] or "", replace(line, words=(word,), text="")
    found = _NAMED.match(line.text)
    if found is None:
        return None
    inner = next(iter(lines_of(line.text[found.end() :])))[0]
    if inner.text or inner.summed or any(not word.text or word.letter == "#" for word in inner.words):
        return None
    by = line.start + found.end()
    words = tuple(replace(word, start=word.start + by, end=word.end + by) for word in inner.words)
    return found[1], replace(line, words=words, text="")


def _has_own_commands(text: str) -> bool:
    """Whether several lines are commands of a maker's own, and more than have a code."""
    if len(list(islice(_TWO_LETTERS.finditer(text), OWN_WORDS))) < OWN_WORDS - 1:
        return False  # and most files need not be gone through twice
    named = coded = 0
    for line, _, _ in lines_of(text):
        coded += bool(line.code)
        named += bool(line.text and not _PLAIN.fullmatch(line.text) and _named(line))
    return named >= OWN_WORDS and named > coded


def _own_letter(text: str) -> str:
    """The letter that most lines of a file begin with, with a number and more words behind: behind it `M` is a letter as
    any other, and no code. "" where there is none."""
    first = Counter(_FIRST.findall(text)).most_common(1)
    letter, count = first[0] if first else ("", 0)
    if letter in _NO_CODES or count < OWN_CODES:
        return ""
    return letter if 2 * count > len(_LINES.findall(text)) else ""


_FIRST = pattern(r"^[ \t]*([A-Z])\d+[ \t]+[A-Z]", re.M)
_LINES = pattern(r"^[ \t]*[A-Z]\d", re.M)


def _settings(
    source: Source, line: CodeLine, section: str = "", named: bool = False, letter: str = ""
) -> None:
    state = State.UNDECIDED if line.skippable or line.summed else State.ACTIVE
    behind = "" if named else _own_code(line)
    for word in line.words:
        if (
            word.letter in "GM"
            and not named
            and not (letter and word.letter == "M" and section[:1] == letter)
        ):
            section, behind = code_of(word) if word.text else "", ""
        elif word.text:
            own = "T" if word.letter == "T" and not section else section
            if word.number != word.text:
                source.resolved[len(source.keys)] = word.number
            source.setting(own, word.letter, word.start + source.base, word.end + source.base, state)
            section, behind = behind or section, ""


def _own_code(line: CodeLine) -> str:
    """A maker's own code at the head of a line with more words, a letter and a whole number: what stands behind it is
    set by it. "" where the line begins otherwise. Letters of axes, of speed, tool and line number are no codes."""
    first = line.words[0] if line.words else None
    if first is None or first.letter in _NO_CODES or not first.text.isdigit():
        return ""
    return code_of(first) if any(word.letter != "N" for word in line.words[1:]) else ""


#: what is switched off by a remark sign stays on: a heater, for one
_OWN_COMMAND = (
    "a command or message of your own is left alone; where it sets a speed, a length or a current of the drive, change it by hand; put a ; before it only if it is a remark,"
    " since a command would no longer be carried out, and what it switches off stay on"
)


def _unread(source: Source, line: CodeLine) -> None:
    """A line with text in it: a message, or something that was not understood."""
    message = len(line.words) == 1 and line.code
    if not message and not line.prompt and not _NAMES.search(line.text) and not _BLOCK.fullmatch(line.text):
        start, end = line.start + source.base, line.end + source.base
        source.doubt(start, end, "the line holds something else than words", _OWN_COMMAND)


#: a line that ends in a name or a file in quotes: no number of it is missed, since none stands in them
_NAMES = pattern(r"""^[^"';]*(["'])(?![^"']*[A-Za-z]\d+[ \t]+[A-Za-z]-?\d)[\w ./\\-]*\1[ \t]*$""")
#: the key over a block of script in a file of keys: a remark sign before it would break that
_BLOCK = pattern(r"[ \t]*[\w .-]{1,60}:[ \t]*[|>][+-]?[ \t]*")

#: so many lines of text are a manner of writing: they are one doubt
TOLD_TOGETHER = 4


def _tell(source: Source, messages: int, first_messages: Sequence[CodeLine]) -> None:
    """The lines with nothing but text: a doubt each, or one for all where they are many."""
    if messages < TOLD_TOGETHER:
        for line in first_messages:
            _unread(source, line)
        return
    first = first_messages[0]
    source.doubt(
        first.start + source.base,
        first.end + source.base,
        f"{messages} lines, of which this is the first, hold something else than words; what they do is not known",
        _OWN_COMMAND,
    )


#: on so many lines one letter with a whole number stands first where a maker has codes of its own
OWN_CODES = 5
#: an order in a maker's own words, all of them capitals: `TABLE USE`, `HEAT NOZZLE 0`, `ASK NEW SPOOL IN?`
_ORDER = pattern(r"[A-Z]{2,20}(?:[ _-][A-Z]{2,20}){0,5}(?:[ \t]+-?\d{1,5}(?:\.\d{1,5})?)?[ \t]*[?!.]?")
#: the same in small letters, of two words at most: more of them are a note
_SMALL_ORDER = pattern(r"[a-z]{2,20}(?:[ _-][a-z]{2,20})?(?:[ \t]+-?\d{1,5}(?:\.\d{1,5})?)?")
#: a row of a table, behind its name and perhaps its number: `TABLE R1 0.04 0.02 -0.01`
_TABLE_ROW = pattern(r"[A-Z]{2,20}(?:[ \t]+[A-Z]?\d{1,3})?(?:[ \t]+-?\d{1,4}\.\d{1,6}){2,20}[ \t]*")
#: a straight move or one in a hurry with a letter of an axis or of the feeder, as in ISO 6983
_MOVE = pattern(r"^[ \t]*G0?[01][ \t]+(?:[A-Z]-?\d[\d.]*[ \t]+){0,3}?[XYZE]-?\.?\d", re.MULTILINE)
#: so many moves, and own orders are no strangers beside them
FEWEST_MOVES = 2
#: what a console answers behind its prompt
_ANSWER = pattern(r"[A-Za-z]{1,8}[.!]?")


def likelihood(text: str) -> float:
    """How much of a text reads as word-address lines, 0 to 1. Without a single code it is not; a letter of a maker's
    own may be one, where most lines begin with it; orders in capitals, or in small letters of two words, where straight moves stand among them."""
    commands = codes = strangers = 0.0
    asked = False
    first: Counter[str] = Counter()
    named = _has_own_commands(text)
    moves = len(list(islice(_MOVE.finditer(text), FEWEST_MOVES))) == FEWEST_MOVES
    for line, _, _ in lines_of(text):
        if line.text and names_a_path(text[line.start : line.end]):
            continue
        if line.text and named and _named(line):
            commands += 1
        elif line.text:
            talk = line.prompt or (asked and _ANSWER.fullmatch(line.text))
            mild = (
                talk
                or _TABLE_ROW.fullmatch(line.text)
                or (line.code and len(line.words) == 1)
                or (moves and (_ORDER.fullmatch(line.text) or _SMALL_ORDER.fullmatch(line.text)))
            )
            strangers += 0.25 if mild else 1
        elif line.words:
            commands += 1
            asked = asked or bool(line.prompt)
            codes += bool(line.code)
            first[line.words[0].letter] += len(line.words) > 1 and line.words[0].number.isdigit()
    own = bool(first) and max(first.values()) >= max(OWN_CODES, 0.8 * commands)
    return commands / (commands + strangers) if codes or own or named else 0.0
