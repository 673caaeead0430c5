"""What a console said of the values that the board keeps, as a person copied it: names and numbers between talk.

`feeder.steps  449.800 /mm` is a value. What stands around it is none: the prompt with what was typed, `ok`, a table of
heights, a list of what lies on the card. So of such a text only lines that begin with a name and go on with a number are
settings, and those with `=` between; a typed one counts where the board itself listed that name, since it was stored after
that. What is passed over is no question: nobody is to mend a console's talk.

A board may number its lines: ` 6  steps per mm feed: 282.10`. Numbers that go up from line to line are no part of the names. Where
they begin anew and a name comes once more, the text has two lists; the first one's value is taken, and the other one's lines are
asked about. And where most lines that give a name a value are none of all this, the text is not understood, which is said.

This module is asked for texts that a person said to hold saved values, and for no others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.files.history_lines import without_history
from cfgmigrate.files.kept_listing import is_row_of_axes
from cfgmigrate.ground.findings import Doubt, Place, by_file
from cfgmigrate.ground.pattern import pattern

#: so many of a text's lines are a name, a number and a unit where it is a listing, and such a part of all
FEWEST_KEPT_LINES, KEPT_PART = 3, 0.3
_WORD = r"[A-Za-z][A-Za-z_\d]*(?:[._/-][A-Za-z_\d]+)*"
_NAME = rf"{_WORD}(?:[ \t]+{_WORD}){{0,3}}"
_A_NUMBER = r"[-+]?\d{1,9}(?:\.\d{1,9})?"
_LIST_NUMBER = r"[\[(]?\d{1,4}[.)\]]?[ \t]+"
_KEPT_LINE = pattern(
    rf"[ \t]*(?:{_LIST_NUMBER})?{_NAME}[ \t]*[=:]?[ \t]*{_A_NUMBER}(?:[ \t]*\.\.+[ \t]*{_A_NUMBER})?[ \t]*[A-Za-z/%°²^\d]{{0,8}}[ \t\r]*\Z"
)
#: `feeder.steps_mm: 188.3`, which no talk has
_PATH_LINE = pattern(
    rf"[ \t]*[A-Za-z]\w*(?:\.[A-Za-z]\w*)+[ \t]*[=:][ \t]*{_A_NUMBER}[ \t]*[A-Za-z/%°²^\d]{{0,8}}[ \t\r]*\Z"
)
_LISTED_NAME = pattern(rf"{_NAME}\Z")
_NUMBERED = pattern(rf"[\[(]?(?P<number>\d{{1,4}})[.)\]]?[ \t]+(?P<name>{_WORD}(?:[ \t]+{_WORD}){{0,5}})\Z")
#: so many lines with a number before them are a list
FEWEST_NUMBERED = 2
_TYPED = pattern(rf"[>$#:][ \t]*({_NAME})\Z")
_HAS_A_NUMBER = pattern(r"[-+]?\d")
_HAS_A_NAME = pattern(r"[A-Za-z]{2}")
#: so many lines are named in a question
_MOST_NAMED = 12
#: the longest line that is looked at
LONGEST_KEPT_LINE = 200


def is_listing(text: str) -> bool:
    """Whether enough lines of a text are a name and a number, with or without a unit, or one is a row of all axes."""
    lines = [line for line in text.splitlines() if line.strip()]
    short = [line for line in lines if len(line) <= LONGEST_KEPT_LINE]
    if any(map(is_row_of_axes, short)):
        return True
    found = sum(1 for line in short if _KEPT_LINE.match(line))
    return found >= FEWEST_KEPT_LINES and found >= KEPT_PART * len(lines)


def has_paths(text: str) -> bool:
    """Whether a line of a text is a path of names, a sign and a number: a text is said to be a listing, and such lines are its values,
    however many others it has."""
    return any(len(line) <= LONGEST_KEPT_LINE and _PATH_LINE.match(line) for line in text.splitlines())


def without_talk(document: Document) -> Document:
    """A flat document of saved values with the settings that the board listed, and without questions about its talk."""
    numbered, again = _without_numbers(without_history(document.settings))
    listed = {each.key.casefold() for each in numbered if _LISTED_NAME.match(each.key)}
    kept = tuple(_kept(document, numbered, listed))
    return replace(
        document, settings=kept, doubts=(*_twice(document, again), *_missed(document, numbered, kept))
    )


def _without_numbers(settings: Iterable[Setting]) -> tuple[list[Setting], list[Setting]]:
    """The settings, those of a numbered list by their names alone; and those that such a list gives once more, numbered anew."""
    all_of_them = list(settings)
    found = [_NUMBERED.match(each.key) for each in all_of_them]
    numbers = [int(each["number"]) for each in found if each]
    if len(numbers) < FEWEST_NUMBERED or 2 * sum(map(int.__lt__, numbers, numbers[1:])) < len(numbers):
        return all_of_them, []
    plain: list[Setting] = []
    again: list[Setting] = []
    above: set[tuple[str, str]] = set()
    run: set[tuple[str, str]] = set()
    last = -1
    for each, numbered in zip(all_of_them, found, strict=True):
        if numbered is None:
            plain.append(each)
            continue
        if int(numbered["number"]) <= last:
            above, run = above | run, set()
        last = int(numbered["number"])
        named = replace(each, key=numbered["name"])
        at = (named.section.casefold(), named.key.casefold())
        if at in run:
            return (
                all_of_them,
                [],
            )  # the same again and again is what was measured: ` 5 s  tip 30.6`, `10 s  tip 37.3`
        run.add(at)
        (again if at in above else plain).append(named)
    return plain, again


def _twice(document: Document, again: Sequence[Setting]) -> Iterator[Doubt]:
    if again:
        lines = by_file([(document.path, each.line) for each in again[:_MOST_NAMED]])
        yield Doubt(
            Place(document.path, again[0].line, 1),
            f"{again[0].key}: {again[0].value}",
            f"the numbers of this list begin anew, and what was listed above comes once more ({lines}): the values above were taken, "
            "and these were not",
            "where these are the ones that the board goes by, take the ones above out of this file, and prepare again; else nothing "
            "has to be done",
        )


def _missed(document: Document, settings: Iterable[Setting], kept: Iterable[Setting]) -> Iterator[Doubt]:
    """A question where more lines that give a name a value by a colon were passed over than taken."""
    taken = {each.start for each in kept}
    missed = [
        each
        for each in settings
        if each.start not in taken
        and _HAS_A_NUMBER.match(each.value)
        and _HAS_A_NAME.search(each.key)
        and not _TYPED.match(each.key)
        and document.data[: each.start].rstrip(b" \t").endswith(b":")
    ]
    if len(missed) > len(taken):
        first = missed[0]
        yield Doubt(
            Place(document.path, first.line, 1),
            f"{first.key}: {first.value}",
            f"this file holds saved values by cfgmigrate.yaml, but {len(missed)} of its lines that end in a number were not understood, "
            "as this one: what the board keeps of them is not known, and it wins over the files",
            "copy its values, one `name = number` a line, into a file of your own, and give that one the role saved values",
        )


def _kept(document: Document, settings: Sequence[Setting], listed: set[str]) -> Iterable[Setting]:
    on_a_line = Counter(each.line for each in settings)
    for each in settings:
        if each.section and on_a_line[each.line] > 1:
            yield each  # of a row
        elif _LISTED_NAME.match(each.key):
            # a path is a whole name, which is typed without the title above it
            yield replace(each, section="") if "." in each.key else each
        elif (typed := _TYPED.match(each.key)) and typed[1].casefold() in listed:
            yield replace(each, key=typed[1])
        elif not typed and document.data[: each.start].rstrip(b" \t").endswith(b"="):
            yield each
