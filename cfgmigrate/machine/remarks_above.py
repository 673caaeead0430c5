"""What stands above the lines of a word-address file: the remark that stands alone above a run of them, and the heading
of the part of the file, which is a remark behind dashes.

A remark that is a line taken out of force describes nothing; the file's own title and its legends are no headings. A
remark above one code describes further codes below it as a heading does; one that has as many parts as there are codes
below it says one of them of each: `Retraction: length, speed, lift`; and `ends: low, then high` says one of each line of a code.
What is said of loading above a run of moves is said of those.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.codes import moves_axes
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.stated import states_anything
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_ALONE = pattern(r"[ \t]*(?:(?:[;%!]|//|--|#+(?![ \t]*\d+[ \t]*=))[ \t]*|\()([^\r\n]*)")
#: a line of a code that somebody took out of force
_OUT_OF_FORCE = pattern(r"[A-Z]\d+(?:\.\d+)?[ \t]+[A-Z][-+]?\.?\d")
#: the number of a heading behind its dashes: `--- 5. probe ---`
_HEADING_S_NUMBER = pattern(r"(?<=[-=*~#]{2})[ \t]*\d{1,2}[.)][ \t]*(?=[A-Za-z])")
#: a remark that is the heading of a part of the file
_HEADED = pattern(r"[-=*~#]{2,}[ \t]*([A-Za-z][A-Za-z /]*?)(?:[,.(][^\r\n]*?)?[ \t]*[-=*~#]*")
#: which way an axis goes, in words of limits
_TO_AND_FRO = pattern(r"\b(?:to and fro|back and forth|up and down|left and right|side to side)\b", re.I)
#: what moves do, and no code beside them
_LOADING = frozenset({"load", "unload"})
#: the parts of a remark above a run of several codes
_PARTED = pattern(r",[ \t]*(?:and[ \t]+)?|(?<![ \t])[ \t]++and[ \t]+|;")
#: between what a remark says of one line and of the next
_THEN = pattern(
    r"(?<![ \t,;])[ \t,;]++(?:and[ \t]+)?(?:then|afterwards|followed by|below that)[ \t,:]+(?:the[ \t]+)?",
    re.I,
)
#: words alone before a colon that ends the line, behind what a console puts before its lines
_TITLE = pattern(r"[ \t]*(?:[A-Za-z]+[ \t]*[:>|][ \t]*|[<>:|=~]+[ \t]*)?([A-Za-z][A-Za-z /()²0-9-]*):[ \t]*")
#: so many words say which of several lines one is
_SHORT = 2
_LONGEST_TITLE = 100
#: what a script is for, and no description of its first line
_ROLE = pattern(r"(?:START|END|LOAD|UNLOAD|PARK|PAUSE|RESUME|CANCEL|HOME)\b[^:]*:", re.I)


@dataclass(eq=False, repr=False)
class Above:
    """By line: the remark above its run, and the heading of its part. `later` are lines of another code than the one that
    stands directly below the remark, `one_then_another` runs of lines of one code of each of which the remark says another thing."""

    above: dict[int, str] = field(default_factory=dict)
    part: dict[int, str] = field(default_factory=dict)
    later: set[int] = field(default_factory=set)
    one_then_another: list[list[int]] = field(default_factory=list)


def alone_on_its_line(line: str) -> tuple[str, int]:
    """The remark that a line is, and where it begins; ("", 0) for any other line, and for one taken out of force."""
    alone = _ALONE.fullmatch(line)
    if alone is None or _OUT_OF_FORCE.match(alone[1].lstrip()):
        return "", 0
    return _text(alone), alone.start(1)


def _text(alone: re.Match[str]) -> str:
    return alone[1].strip().rstrip(")").strip()


def remarks_above(text: str, title: str, codes: Mapping[int, str], explaining: Mapping[str, str]) -> Above:
    """What stands above each line that has a code. `title` is the file's name without its ending, `explaining` says of
    remarks that are legends what they explain."""
    found = Above()
    current, code, part = "", "", ""
    alone_lines = 0
    runs: dict[int, tuple[str, list[int]]] = {}
    for number, line in enumerate(text.splitlines(), 1):
        alone = _ALONE.fullmatch(line)
        if alone and _OUT_OF_FORCE.match(alone[1].lstrip()):
            continue
        if alone:
            remark = _HEADING_S_NUMBER.sub(" ", _text(alone), count=1)
            headed = _HEADED.fullmatch(remark)
            if headed:
                part = _TO_AND_FRO.sub("", headed[1])
                rest = remark[headed.end(1) :]
                remark = headed[1] if rest[:1] in ".(" and not states_anything(rest) else remark
            named = alone_lines == 0 and _begins_with(remark, title)
            current, code = "" if named or explaining.get(remark) == "codes" else remark, ""
            alone_lines += 1
            runs[alone_lines] = _text(alone).strip("-=*~# \t"), []
        elif number in codes:
            if current:
                runs[alone_lines][1].append(number)
            code = code or codes[number]
            found.above[number] = "" if _ROLE.match(current) else current
            found.part[number] = part
            if code != codes[number]:
                found.later.add(number)
        elif not line.strip():
            opened = (
                alone_lines > 1 and not found.above
            )  # the opening remark is no heading of the first lines
            current, code = ("", "") if code or opened else (current, code)
    for remark, numbers in runs.values():
        _share_out(found, remark, numbers, codes)
        if _LOADING.intersection(_named(remark)):
            _leave_to_moves(found, numbers, codes)
    return found


def _named(remark: str) -> frozenset[str]:
    return vocabulary().names_in(frozenset(way for word in split(remark) for way in ways_of(word)[0]))


def _leave_to_moves(found: Above, numbers: list[int], codes: Mapping[int, str]) -> None:
    """Takes a remark about loading from all codes of a run in which something moves: the moves load, and what another code among
    them sets may be a temperature."""
    if any(moves_axes(codes[number]) for number in numbers):
        found.above.update((number, "") for number in numbers if not moves_axes(codes[number]))


def titles_above(text: str, codes: Collection[int]) -> dict[int, str]:
    """The title directly above each run of lines with a code, in what a board's console shows: words alone that end in a
    colon, `board: travel accelerations:`. That is no remark, so nothing is read by it; it says what a line is about."""
    found: dict[int, str] = {}
    current = ""
    for number, line in enumerate(text.splitlines(), 1):
        if number not in codes:
            title = _TITLE.fullmatch(line) if len(line) <= _LONGEST_TITLE else None
            current = title[1].strip() if title else ""
        elif current:
            found[number] = current
    return found


def _begins_with(remark: str, title: str) -> bool:
    """Whether a remark begins with a file's name, which is a name and no words of the trade."""
    own = split(title)
    known = all(word in vocabulary().known for piece in own for way in ways_of(piece)[:1] for word in way)
    return own == split(remark)[: len(own)] and not known


def _one_then_another(subject: str, listed: str) -> tuple[str, ...]:
    """What a remark says of the lines of one code below it, of the first and then of the next: `ends of travel: low, then
    high`. () where it does not say so: what stands behind a `then` may be of something else."""
    parts = [part.strip(" ,;") for part in _THEN.split(listed)]
    if len(parts) < 2 or not all(0 < len(part.split()) <= _SHORT for part in parts):
        return ()
    return tuple(f"{subject}: {part}".removeprefix(": ") for part in parts)


def _share_out(found: Above, remark: str, numbers: list[int], codes: Mapping[int, str]) -> None:
    """Gives each code of a run its part of the remark above, where that has as many: `Retraction: length, speed, lift`."""
    run = list(dict.fromkeys(codes[number] for number in numbers))
    subject, colon, listed = remark.rpartition(":")
    if len(run) == 1 and (told := _one_then_another(subject, listed if colon else remark)):
        if len(numbers) == len(told):
            found.above.update(zip(numbers, told, strict=True))
            found.one_then_another.append(numbers)
        return
    parts = [part.strip() for part in _PARTED.split(listed if colon else remark) if part.strip()]
    if not colon and len(parts) == len(run) + 1:
        subject, *parts = parts
    if len(run) < 2 or len(parts) != len(run) or any(part[:1].isdigit() for part in parts):
        return  # `pulling back: 5 mm, gently` says what one code is set to, and is no list of two
    shared = parts[0].partition(" of ")[0]  # `length of loading and of unloading`
    parts = [f"{shared} {part}" if part.startswith("of ") else part for part in parts]
    for number in numbers:
        part = parts[run.index(codes[number])]
        found.above[number] = f"{subject}: {part}" if subject else part
        found.part[number] = subject
        found.later.discard(number)
