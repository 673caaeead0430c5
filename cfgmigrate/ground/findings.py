"""What the tool has to say to a person: where something stands, what is in doubt, and what went wrong.

Findings are values, not prints: a function that meets a doubt returns it, and the edge of the program
shows it. Only two things are raised: input that can't be read (`BadInput`), and an action that must not
be carried out (`Refused`). Both carry what happened, where, and what to do about it, so that the
command line can print them in one line each and never show a traceback.

This module deliberately knows nothing of files, quantities or rules.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field


def by_file(places: Iterable[tuple[str, int | str]]) -> str:
    """Lines, each file named once: `drive.conf:4, 35; park.nc:7`."""
    files: dict[str, list[str]] = {}
    for file, line in places:
        files.setdefault(file, []).append(str(line))
    return "; ".join(f"{file}:{', '.join(lines)}" for file, lines in files.items())


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A position in a text file. `line` and `column` count from 1; 0 means the whole file (or line)."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        parts = [self.file]
        if self.line:
            parts.append(str(self.line))
            if self.column:
                parts.append(str(self.column))
        return ":".join(parts)


@dataclass(frozen=True, slots=True)
class Likeness:
    """What makes several doubts one question, however each is worded: the same `question`, of the same (`of`), with the same
    remedy, in one file.

    `own` is what tells one from its likes. `anywhere`: those of other files are the same question too. `each_its_answer`: a
    remedy names its own line, and is for each of the others what it is for that one."""

    question: str
    of: str = ""
    own: str = ""
    anywhere: bool = False
    each_its_answer: bool = False


@dataclass(frozen=True, slots=True, order=True)
class Doubt:
    """Something that was not guessed: the text in question, why it is in doubt, and how to settle it.

    The rest is for the program and told to nobody: `about` is the quantity that the text may be, where that is known; `like`
    what it has in common with other doubts, without which only those that say the very same are alike; `comes_to` the end of
    `why`, where that tells what the line would become."""

    place: Place
    text: str
    why: str
    remedy: str = ""
    about: str = field(default="", compare=False)
    like: Likeness | None = field(default=None, compare=False)
    comes_to: str = field(default="", compare=False)

    def asks(self, question: str) -> bool:
        """Whether it is a doubt of this kind, however it is worded."""
        return self.like is not None and self.like.question == question

    def to_json(self) -> dict[str, object]:
        found: dict[str, object] = {
            "file": self.place.file,
            "line": self.place.line,
            "column": self.place.column,
            "text": self.text,
            "why": self.why,
        }
        if self.remedy:
            found["remedy"] = self.remedy
        return found


class CfgError(Exception):
    """The base of what the command line turns into one clear message and an exit status."""

    status = 2

    def __init__(self, what: str, place: Place | None = None, remedy: str = "") -> None:
        self.what = what
        self.place = place
        self.remedy = remedy
        super().__init__(str(self))

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place else ""
        remedy = f"\n  {self.remedy}" if self.remedy else ""
        return f"{where}{self.what}{remedy}"


def in_one_line(error: Exception, longest: int = 200) -> str:
    """What went wrong, and where, as a part of a longer sentence: what to do about it is said there, and for what is done there."""
    where = f"{error.place}: " if isinstance(error, CfgError) and error.place else ""
    what = (
        " ".join((error.what if isinstance(error, CfgError) else str(error)).split()) or type(error).__name__
    )
    if len(what) > longest:
        what = f"{what[:longest].rpartition(' ')[0] or what[:longest]} …"
    return f"{where}{what}".rstrip(".")


class BadInput(CfgError):
    """Wrong usage, or input that can't be read. Exit status 2."""

    status = 2


class Refused(CfgError):
    """The action must not be carried out; nothing was changed. Exit status 3."""

    status = 3
