"""Edits that a person made since in lines that the packet's own steps by hand or questions had named: perhaps for the new drive.

A revert keeps every edit, since it can't know what one was made for. But a line that a step or a question told a person to look at, and that
is another one since, was likely changed for the drive that now comes off. It is told apart from the other edits, with what it
was and how it is put back. So is what was edited together with it, in the lines beside it. It is never put back by itself.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from cfgmigrate.apply.file_revert import RevertedItem
from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.pattern import pattern

#: a by-hand item or a question: what it says, and its steps, or the place that it is about
HandSteps = tuple[str, Sequence[str]]
#: so many signs of a line or of a step are told
LONGEST_TOLD = 90
#: what the other lines of a question stand behind
_LIKEWISE = "; likewise "
_OF_THE_SAME = pattern(r"(?<!\w)line (\d{1,9}(?:, \d{1,9})*)")
_LINE = pattern(r"\S:\d")
#: what each sentence asks of a line, behind its place, and before what the line was
_ASKED = ": made for the new drive"
_WAS = "before the swap it was "


def made_for_the_new(
    before: Mapping[str, bytes],
    hands: Sequence[HandSteps],
    kept: Collection[RevertedItem],
    questions: Sequence[HandSteps] = (),
) -> tuple[str, ...]:
    """A sentence for each kept edit of a line that a step by hand named, or else a question. `before` are the files that the steps were told
    of, as they were."""
    edits = [item for item in kept if not item.name and item.present is not None]
    if not edits:
        return ()
    files = {item.file for item in edits}
    named = [(*each, "step") for each in _named(before, hands, files)]
    by_step = {(file, number) for file, number, *_ in named}
    asked = ((*each, "question") for each in _named(before, questions, files))
    named += [each for each in asked if each[:2] not in by_step]
    # of a line with a value of the packet, what stood there since is not what it was
    were = {
        path: {line.strip() for line in readable(before[path]).splitlines()}
        for path in files
        if path in before
    }
    found: list[str] = []
    for item in edits:
        lines = [line.strip() for line in item.installed.splitlines()]
        now = [line.strip() for line in (item.present or "").splitlines()]
        whole = len(lines) == len(now)
        told = set()
        for file, number, line, what, kind in named:
            if file == item.file and line in lines:
                row = lines.index(line)
                told.add(row)
                at = item.line + (row if whole else 0)
                found.append(
                    f'{file}:{at}{_ASKED}? The {kind} "{_short(what)}" named this line; {_WAS}'
                    f'"{_short(line)}" (line {number}). If so, write that there again by hand'
                )
        if told:
            beside = f"line {item.line + (min(told) if whole else 0)}"
            found += [
                f'{item.file}:{item.line + (row if whole else 0)}{_ASKED}, too? It was edited together with {beside}; {_WAS}"{_short(line)}". '
                "If so, write that there again by hand"
                for row, line in enumerate(lines)
                if row not in told
                and line in were.get(item.file, ())
                and line
                and not (whole and now[row] == line)
            ]
    return without_repeats(found)


def without_repeats(notes: Iterable[str]) -> tuple[str, ...]:
    """The notes, of which those that ask the same of a line for two steps or packets are one."""
    first: dict[tuple[str, ...], str] = {}
    for note in notes:
        place, asked, rest = note.partition(_ASKED)
        was = rest.partition(_WAS)[2].partition('" (line')[0].partition('". If so')[0]
        first.setdefault((place, was) if asked else (note,), note)
    return tuple(first.values())


def how_many_asked(notes: Iterable[str]) -> str:
    """How many lines such notes ask about; "" for none."""
    places = len([note for note in notes if _ASKED in note])
    if not places:
        return ""
    lines, what = ("1 line", "it is") if places == 1 else (f"{places} lines", "they are")
    return f"{lines} may still stand as made for the new drive: {what} asked about above."


def asked_likewise(why: str, file: str) -> list[str]:
    """The places that a question tells of after its own: those of other lines of the file that it is about, and of other files."""
    _, _, others = why.rpartition(_LIKEWISE)
    own = [f"{file}:{lines}" for lines in _OF_THE_SAME.findall(others)]
    return [*own, others] if others != why else []


def steps_of_lines(steps: Iterable[str]) -> list[str]:
    """Those of a by-hand item's steps that name a line of a file: the others tell of no edit."""
    return [step for step in steps if _LINE.search(step)]


def _named(
    before: Mapping[str, bytes], hands: Sequence[HandSteps], files: Collection[str]
) -> Iterator[tuple[str, int, str, str]]:
    """The lines that steps name in these files: file, number, text as it was, and the step; not those whose text stands
    in the file more than once, which an edit can't be told to be of."""
    texts = {path: readable(before[path]).splitlines() for path in files if path in before}
    for path, lines in texts.items():
        place = re.compile(rf"(?<![\w/.]){re.escape(path)}:(\d{{1,9}}(?:, \d{{1,9}})*)")
        for what, steps in hands:
            rows = (row for step in steps for row in place.findall(step))
            for number in (int(each) for row in rows for each in row.split(", ")):
                line = lines[number - 1].strip() if 0 < number <= len(lines) else ""
                if line and sum(each.strip() == line for each in lines) == 1:
                    yield path, number, line, what


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_TOLD else f"{text[: LONGEST_TOLD - 2].rstrip()} …"
