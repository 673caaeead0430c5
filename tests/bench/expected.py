"""Edits that others expect: the tests of two programs for editing text files, read as data.

A lens test of Debian's `augeas-lenses` says `test LENS put TEXT after set PATH VALUE; … = TEXT`; the test script
in the sdist of PyPI's `crudini` writes a text, sets a value in it and writes the text that is to come out. Here
both become an `ExpectedEdit`. Nothing of them is run, and what does more than set values is left out.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass

_TOKEN = re.compile(r'\(\*|"(?P<text>(?:\\.|[^"\\])*)"|/(?:\\.|[^/\\\n])+/|(?P<word>[\w.]+)|(?P<sign>[^\s"])')
_COMMENT = re.compile(r"\(\*|\*\)")
_ESCAPES = {"n": "\n", "t": "\t", "r": "\r", "\\": "\\", '"': '"'}


@dataclass(frozen=True, slots=True)
class ExpectedEdit:
    """The text `before`, after the values at these paths (sections and key) were set, is to be `after`."""

    place: str
    before: bytes
    sets: tuple[tuple[tuple[str, ...], str], ...]
    after: bytes


def _tokens(source: str) -> Iterator[tuple[str, str]]:
    """Strings (their text), words and signs of a lens test; comments, which may nest, are left out."""
    at = 0
    while match := _TOKEN.search(source, at):
        at = match.end()
        if match.group() == "(*":
            depth = 1
            while depth and (bound := _COMMENT.search(source, at)):
                at = bound.end()
                depth += 1 if bound.group() == "(*" else -1
            if depth:
                return
        elif match["text"] is not None:
            plain = re.sub(
                r"\\(.)", lambda found: _ESCAPES.get(found[1], found[0]), match["text"], flags=re.S
            )
            yield "text", plain
        else:
            yield ("word" if match["word"] else "sign"), match.group()


def texts_of(lens_test: str) -> list[str]:
    """The strings of several lines in a lens test, each once."""
    return sorted({text for kind, text in _tokens(lens_test) if kind == "text" and "\n" in text})


def edits_of_lens_test(place: str, lens_test: str) -> Iterator[ExpectedEdit]:
    tokens = list(_tokens(lens_test))
    bound: dict[str, str] = {}
    for at, (kind, word) in enumerate(tokens):
        if kind != "word":
            continue
        if word == "let" and tokens[at + 2] == ("sign", "=") and tokens[at + 3][0] == "text":
            if tokens[at + 4 : at + 5] != [("word", ".")]:
                bound[tokens[at + 1][1]] = tokens[at + 3][1]
        elif word == "put" and (found := _lens_edit(place, tokens[at + 1 :], bound)):
            yield found


def _lens_edit(place: str, tokens: list[tuple[str, str]], bound: dict[str, str]) -> ExpectedEdit | None:
    def text(at: int) -> str | None:
        return tokens[at][1] if tokens[at][0] == "text" else bound.get(tokens[at][1])

    before, at, sets = text(0), 2, []
    while at + 3 < len(tokens) and tokens[at] == ("word", "set"):
        path, value = text(at + 1), text(at + 2)
        if path is None or value is None:
            return None
        parts = re.sub(r"\[[^\]]*\]", "", path).strip("/").split("/")
        sets.append((tuple(parts), value))
        at += 4 if tokens[at + 3] == ("sign", ";") else 3
    if before is None or not sets or at + 1 >= len(tokens) or tokens[at] != ("sign", "="):
        return None
    after = text(at + 1)
    return None if after is None else ExpectedEdit(place, before.encode(), tuple(sets), after.encode())


_PRINTED = re.compile(r"printf '((?:%s)+)\\n' (.*) > (\S+)$")


def _printed(line: str) -> tuple[str, bytes] | None:
    """The file's name and text, where a line of a script writes one with printf."""
    match = _PRINTED.match(line)
    if match is None:
        return None
    words = [word.replace("$bom", "\ufeff") for word in shlex.split(match[2])]
    width = match[1].count("%s")
    lines = ["".join(words[at : at + width]) + "\n" for at in range(0, len(words), width)]
    return match[3], "".join(lines).encode()


def texts_of_script(script: str) -> list[bytes]:
    """Every text that the script writes with printf, each once."""
    return sorted({printed[1] for line in script.splitlines() if (printed := _printed(line.strip()))})


def edits_of_script(place: str, script: str) -> Iterator[ExpectedEdit]:
    """A text written, one `--set FILE SECTION KEY VALUE`, and the text (`good…`) that it is compared with."""
    before: bytes | None = None
    sets: list[tuple[tuple[str, ...], str]] = []
    for line in map(str.strip, script.splitlines()):
        printed = _printed(line)
        if printed is None:
            match = re.match(r"crudini (?:\$mode )?--set (\S+) (\S+) (\S+) (\S+)$", line)
            if match:
                section, key, value = (
                    shlex.split(word)[0] if word != "''" else "" for word in match.groups()[1:]
                )
                sets.append(((section, key), value))
            elif line.startswith("crudini"):
                before = None
        elif not printed[0].startswith("good"):
            before, sets = printed[1], []
        else:
            if before is not None and len(sets) == 1:
                yield ExpectedEdit(place, before, tuple(sets), printed[1])
            before = None
