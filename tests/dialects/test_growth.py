"""Reading takes time in proportion to the text, whatever stands in it.

Texts that repeat one or two characters of those with which the grammars' tokens begin and end are what makes a
lexer look at the same characters again and again. Each dialect reads all of them in a child process with a bound
of processor time that is ten times what a reader in proportion takes, and a small part of what any other would.
"""

from __future__ import annotations

import itertools
import os
import resource
import signal

import pytest

from cfgmigrate.dialects import DIALECTS

CHARACTERS = "\"'/*#;\\[]{}=:$ %(1"
WORDS = (
    "/* ",
    "*/",
    "#define a ",
    "#if ",
    "static const ",
    "const int ",
    "N1 >",
    "G1 ",
    "[a",
    "a = ",
    "\\\r\n",
    "${",
    "1e",
    "board:",
    "; #",
)
LENGTH = 100_000
SECONDS = 100


def units() -> list[str]:
    return [*CHARACTERS, *map("".join, itertools.permutations(CHARACTERS, 2)), *WORDS]


def read_all(dialect: str, length: int) -> None:
    for unit in units():
        text = (unit * (length // len(unit))).encode()
        document = DIALECTS[dialect].read("f", text)
        assert b"".join(text[piece.start : piece.end] for piece in document.pieces) == text


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_text_of_repeated_characters_is_read_and_covered(dialect: str) -> None:
    read_all(dialect, 1_500)


@pytest.mark.exhaustive
@pytest.mark.parametrize("dialect", DIALECTS)
def test_no_text_is_read_in_more_than_proportion(dialect: str) -> None:
    child = os.fork()
    if child == 0:
        status = 99
        try:
            resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
            read_all(dialect, LENGTH)
            status = 0
        finally:
            os._exit(status)
    _, ended = os.waitpid(child, 0)
    assert os.WIFEXITED(ended), f"killed by {signal.Signals(os.WTERMSIG(ended)).name}"
    assert os.WEXITSTATUS(ended) == 0
