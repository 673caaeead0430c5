"""Word-address lines, as in RS-274: what stands in a program, and in the scripts of any other dialect.

`read_moves` gives the lines of a text with their words; spans are in characters of that text. A line that
holds anything but words, such as a message or the braces of a template, keeps it as `Line.text`, from its
first such character on; its words are those before it. Words are not interpreted: who follows modes and
positions does so over `Line.words`.

From a saved console, text before the first word that ends like a prompt (`board:`, `>`, `[12:01]`) is taken
off as `Line.prompt`. Source: NISTIR 6556, 3.3; letters alone as words, checksums behind `*` and prompts are
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from msgspec import Struct

from cfgmigrate.dialects.grammar import tokens
from cfgmigrate.ground.pattern import pattern

_BLANKS = pattern(r"[ \t\f\v]+")
_PROMPT = pattern(
    r"(?:(?:[A-Za-z]+[ \t]*[:>|]|\[[^\]\r\n]*\]|[0-9][0-9:.,/T\-]*(?=[ \t])|[<>:|=~]+)[ \t]*)+",
)
_CODES = "GM"
_BLANK = " \t\f\v"

#: kind and text
Token = tuple[str, str]


class Word(Struct, frozen=True, gc=False):
    """A letter (upper case) and its number. `start`..`end` spans the number as written (`text`), which may
    hold blanks."""

    letter: str
    text: str
    start: int
    end: int

    @property
    def number(self) -> str:
        """The number without blanks; most have none."""
        return self.text if self.text.isdecimal() else _BLANKS.sub("", self.text)

    @property
    def value(self) -> float | None:
        """The number; None for a letter that stands alone (then the span is empty), or with several numbers
        joined by colons or slashes."""
        several = ":" in self.text or "/" in self.text
        return float(self.number) if self.text and not several else None


class CodeLine(Struct, frozen=True, gc=False):
    """One line, `start`..`end` without its line end. `words` hold neither the line number nor the checksum;
    `skippable` is a line that starts with `/`, `summed` one that ends in a checksum."""

    words: tuple[Word, ...]
    start: int
    end: int
    text: str = ""
    prompt: str = ""
    skippable: bool = False
    summed: bool = False

    @property
    def code(self) -> str:
        """What the line is about: its first G or M word, or else a tool word, as in `G1`, `M92`, `T0`."""
        first = next((word for word in self.words if word.letter in _CODES and word.number), None)
        first = first or next((word for word in self.words if word.letter == "T" and word.number), None)
        return code_of(first) if first else ""

    def get(self, letter: str) -> Word | None:
        """The first word of that letter."""
        return next((word for word in self.words if word.letter == letter), None)


def code_of(word: Word) -> str:
    """A code as people write it: `G01` is `G1`, `m92` is `M92`."""
    return _code(word.letter, word.number)


@lru_cache(maxsize=1024)
def _code(letter: str, number: str) -> str:
    whole, point, part = number.lstrip("+").partition(".")
    part = part.rstrip("0")
    return f"{letter}{whole.lstrip('0') or '0'}{point if part else ''}{part}"


def read_moves(text: str) -> tuple[CodeLine, ...]:
    """The lines of a text that hold anything but blanks and comments, in order. Never raises."""
    return tuple(line for line, _, _ in lines_of(text) if line.words or line.text)


def lines_of(text: str) -> Iterator[tuple[CodeLine, list[Token], int]]:
    """Every line of a text with its tokens and where these end; its line ends, of several empty lines too, are the last
    one. Where the text ends without a line end, the last token is one character longer (`tokens`)."""
    end = 0
    held: list[Token] = []
    start = 0
    for token in tokens("command", text):
        held.append(token)
        end += len(token[1])
        if token[0] == "END":
            yield _line(held, start, len(text)), held, end
            held, start = [], end
    if held:
        yield _line(held, start, len(text)), held, end


def _line(held: list[Token], start: int, limit: int, prompted: bool = False) -> CodeLine:
    """One line from its tokens; `prompted` says that a prompt was taken off before, and a line has one at most."""
    at = start
    words: list[Word] = []
    text = prompt = ""
    skippable = summed = False
    for kind, token in held:
        here, at = at, at + len(token)
        if (kind == "WORD" or kind == "FLAG") and not text:
            word = _word(token, here)
            if words or word.letter != "N":
                words.append(word)
        elif kind == "END":
            at = here
        elif kind == "TEXT" and not (words or text or prompt or prompted) and (found := _PROMPT.match(token)):
            prompt = found[0]
            behind = token[found.end() :]
            inner = _line(list(tokens("command", behind)), here + found.end(), limit, prompted=True)
            words, text, summed = list(inner.words), inner.text, inner.summed
        elif text or kind == "TEXT":
            text += token if kind != "COMMENT" else ""
        elif kind == "PARAMETER":
            words.append(_parameter(token, here))
        elif kind == "CHECKSUM":
            summed = True
        elif kind == "MARK":
            skippable = skippable or (token == "/" and not words)
    return CodeLine(tuple(words), start, min(at, limit), text.rstrip(), prompt, skippable, summed)


def _parameter(token: str, at: int) -> Word:
    """A parameter that a line sets: its letter is `#` with its number."""
    name, _, text = token.partition("=")
    start = at + len(name) + 1 + len(text) - len(text.lstrip(" \t\f\v"))
    text = text.lstrip(" \t\f\v")
    return Word(_BLANKS.sub("", name), text, start, start + len(text))


def _word(token: str, at: int) -> Word:
    whole = token.rstrip(_BLANK)
    text, end = whole[1:].lstrip(_BLANK), at + len(whole)
    return Word(token[0].upper(), text, end - len(text), end)
