"""Letters of word-address lines that set nothing and only choose what is set: a parameter's number, or the tool.

A letter is a chooser of its code where its lines have the same letters, and it has another whole number on each of
many of them: `W1 P31 Q120`, `W1 P32 Q120`. `T` beside a value is the tool's number where lines of one code differ in
it, counted from 0 or 1: `C21 T0 E137.7`, `C21 T1 E139.9`; and then on a line of another code
too, where it is one of those numbers and the line's remark names a feeder.

A letter and a number by which the opening remark tells the feeders choose one of these as well: `P5 left feeder, P4 right feeder`.

What is chosen is not looked at here; the remarks say it (`told_codes.py`).
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Container, Mapping

from msgspec import Struct

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.legends import part_of

#: on so many lines a parameter's number stands
LINES = 4
#: tools are counted up to here
MOST_TOOLS = 8

Lines = Mapping[int, tuple[str, tuple[Setting, ...]]]


class Choosers(Struct, frozen=True):
    """Where words stand that only choose, by their first byte; and the tool of the lines that choose one."""

    starts: frozenset[int] = frozenset()
    tools: Mapping[int, int] | None = None
    #: the parameter that a line chooses, as letter and number
    parameters: Mapping[int, str] | None = None
    #: the tools that lines of other codes may choose: their number is one of those that are counted
    perhaps: Mapping[int, int] | None = None

    @staticmethod
    def of_lines(
        lines: Lines, explained: Container[str] = (), feeders: Mapping[str, int] | None = None
    ) -> Choosers:
        """The choosers of a file. `lines` are its lines by number: the code, and the words behind it. What a legend has
        explained as letter and number is a parameter's, where no line begins with it; `feeders` are those by which it
        tells the feeders."""
        named = feeders or {}
        groups: dict[tuple[str, tuple[str, ...]], list[tuple[Setting, ...]]] = defaultdict(list)
        tools: dict[str, set[str]] = defaultdict(set)
        for code, words in lines.values():
            active = tuple(word for word in words if word.state is State.ACTIVE)
            groups[code, tuple(word.key.upper() for word in active)].append(active)
            if len(active) > 1:
                tools[code].update(word.value for word in active if _is_tool(word))
        starts = {
            each[at].start
            for (_, letters), several in groups.items()
            for at in range(len(letters) - 1)
            if _numbers(several, at)
            for each in several
        }
        begun = {code for code, _ in lines.values()}
        numbered = {
            line: word
            for line, (_, words) in lines.items()
            for word in words[:-1]
            if word.start in starts or (_code(word) in explained and _code(word) not in begun)
        }
        starts.update(word.start for word in numbered.values())
        by_tool = {code for code, values in tools.items() if len(values) > 1}
        counted = {value for code in by_tool for value in tools[code]}
        chosen = {
            line: word
            for line, (code, words) in lines.items()
            for word in words
            if code in by_tool and len(words) > 1 and _is_tool(word)
        }
        starts.update(word.start for word in chosen.values())
        told = {
            line: word
            for line, (_, words) in lines.items()
            for word in words
            if len(words) > 1 and word.state is State.ACTIVE and _code(word) in named
        }
        starts.update(word.start for word in told.values())
        return Choosers(
            frozenset(starts),
            {
                **{line: int(word.value) for line, word in chosen.items()},
                **{line: named[_code(word)] for line, word in told.items()},
            },
            {line: _code(word) for line, word in numbered.items()},
            {
                line: int(word.value)
                for line, (code, words) in lines.items()
                for word in words
                if code not in by_tool and word.value in counted and len(words) > 1 and _is_tool(word)
            },
        )

    def parameter(self, line: int) -> str:
        """The parameter that a line is about, "" where it says none."""
        return (self.parameters or {}).get(line, "")

    def tool(self, line: int, of_feeder: bool = False) -> int | None:
        """The number of the tool that a line is about, None where it says none. `of_feeder` is whether its remark names a
        feeder."""
        said = (self.tools or {}).get(line)
        return (self.perhaps or {}).get(line) if said is None and of_feeder else said


#: `P5 left feeder`
_TELLS_A_FEEDER = pattern(
    r"\b([A-DF-SU-Z]\d+)[ \t]*+(?:[:=][ \t]*+)?(?:is |for )?(?:the )?([a-z]+) ([a-z]+)\b", re.I
)


def chosen_feeders(opening: str) -> dict[str, int]:
    """By which words an opening remark tells all feeders, each with the feeder's number, from 0: `P5 left feeder, P4 right feeder`. {}
    where it tells fewer than two, or two by one number."""
    words = holder_words()
    found = {
        code.upper(): number - 1
        for code, which, thing in _TELLS_A_FEEDER.findall(opening)
        if (number := words.sides.get(which.lower()) or words.counts.get(which.lower()))
        and part_of(thing) == "feeder"
    }
    letters, numbers = {code[0] for code in found}, set(found.values())
    return found if len(letters) == 1 and len(found) == len(numbers) > 1 else {}


def _code(word: Setting) -> str:
    return word.key.upper() + word.value if word.value.isdigit() else ""


def _is_tool(word: Setting) -> bool:
    return word.key.upper() == "T" and word.value.isdigit() and int(word.value) < MOST_TOOLS


def _numbers(several: list[tuple[Setting, ...]], at: int) -> bool:
    """Whether a letter has whole numbers that stand for what is set: hardly one of them twice."""
    values = [each[at].value for each in several]
    return (
        len(values) >= LINES
        and all(value.isdigit() for value in values)
        and len(set(values)) >= 0.8 * len(values)
    )
