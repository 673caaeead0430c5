"""Scripts in codes of their owner's own, for a person to explain: each word with the lines that have it, and what a remark
says it means.

The scripts of one folder that end alike share their words. What a remark says is offered and never believed; two
remarks that say different things of a word offer nothing. A code that only begins lines is not asked about.

This module writes nothing; what an answer does is said in `files/own_words.py`.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.own_scripts import is_run, own_script
from cfgmigrate.files.own_words import MEANINGS, SPEEDS
from cfgmigrate.files.roles import FileRole, LegendEntry, OwnUse, Role
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.offered import offered

#: how the reason of the doubt about such scripts begins
IN_OWN_CODES = "these lines seem to be a script in codes of your own"
#: so many lines are shown for a word
MOST_SHOWN_OF_A_WORD = 2
#: a word that begins lines as a code does has no number beyond this
LARGEST_CODE = 99
#: a word that comes so often may matter
OFTEN = 3
#: a move in the standard's codes (RS-274)
_STANDARD_MOVE = pattern(r"(?i)g0*[0-3](?!\d)")


class OwnCode(Struct, frozen=True):
    """A word of the scripts that `pattern` names, with its numbers (each with its file), what it may mean ("" where no
    remark says it) and where that is said."""

    pattern: str
    word: str
    uses: tuple[tuple[str, OwnUse], ...]
    means: str = ""
    said: str = ""

    @property
    def key(self) -> str:
        """The line of the site file that explains it, without its meaning."""
        return f"{self.pattern} {self.called}"

    @property
    def called(self) -> str:
        """The word as a person writes it."""
        return self.word.upper() if len(self.word) == 1 else self.word

    @property
    def matters(self) -> bool:
        """Whether it comes often, or with a number as large as a way or a place may be."""
        return len(self.uses) >= OFTEN or any(abs(use.number) > LARGEST_CODE for _, use in self.uses)

    @property
    def shown(self) -> str:
        """Lines that have it, those that differ most first."""
        first = sorted(self.uses, key=lambda each: -abs(each[1].number))
        texts = {use.text: f"{file}:{use.line}: {use.text}" for file, use in reversed(first)}
        return " | ".join([*reversed(texts.values())][:MOST_SHOWN_OF_A_WORD])


def own_codes(scripts: Iterable[FileRole]) -> tuple[OwnCode, ...]:
    """The words of these scripts, those that a remark explains first, and then the commonest."""
    groups: dict[str, list[FileRole]] = {}
    every = [each for each in scripts if each.own]
    for role in every:
        groups.setdefault(_pattern(role.path), []).append(role)
    found = [code for pattern, roles in groups.items() for code in _of_group(pattern, roles)]
    return tuple(sorted(found, key=lambda each: (each.pattern, not each.means, -len(each.uses))))


def silent_scripts(documents: Sequence[Document], read: Collection[str]) -> Iterator[FileRole]:
    """The files that are run, of which nothing is `read` and nobody explained a word; their lines read as codes, or as names
    and numbers."""
    for document in documents:
        silent = (
            document.dialect in ("command", "flat") and not document.own_words and document.path not in read
        )
        if silent and is_run(document.path, documents) and (own := own_script(document.data)):
            yield FileRole(document.path, Role.IN_FORCE, "", own=own)


def left_unexplained(documents: Iterable[Document]) -> Iterator[FileRole]:
    """What stands in scripts of which a person explained some words, and comes often: without what was explained."""
    for document in documents:
        own = own_script(document.data) if document.own_words and document.dialect == "command" else None
        if own is not None:
            told = dict(document.own_words)
            open_uses = [use for use in own.uses if not told_of(use, told)]
            often = {word for word, count in Counter(use.word for use in open_uses).items() if count >= OFTEN}
            uses = tuple(use for use in open_uses if use.word in often)
            if uses:
                yield FileRole(document.path, Role.IN_FORCE, "", own=replace(own, uses=uses))


def axes_left(documents: Iterable[Document]) -> Iterator[Doubt]:
    """A doubt for each script of which a person explained some words, and none of the axes that it moves in the standard's codes:
    as long as nothing was explained these were checked."""
    for document in documents:
        own = own_script(document.data) if document.own_words and document.dialect == "command" else None
        told = dict(document.own_words)
        left = [use for use in (own.uses if own else ()) if _moves_an_axis(use) and not told_of(use, told)]
        if left:
            words = sorted({use.word for use in left})
            lines = ", ".join(_runs(sorted({use.line for use in left})))
            entries = ", ".join(f'"{document.path} {word.upper()}": to {word}' for word in words)
            yield Doubt(
                Place(document.path, left[0].line, 1),
                left[0].text,
                f"where {' and '.join(words)} {'go' if len(words) > 1 else 'goes'} was not checked, in {document.path}:{lines}: other words of this "
                "script were explained, and not these",
                f"if they are places, say in cfgmigrate.yaml: moves: {{{entries}}} (steps from where it stands: by x), or look at the lines by hand",
            )


def _moves_an_axis(use: OwnUse) -> bool:
    """Whether a number is an axis's in a line that begins with a move in the standard's codes (RS-274)."""
    return use.word in ("x", "y", "z") and _STANDARD_MOVE.match(use.text) is not None


def told_of(use: OwnUse, told: Mapping[str, str]) -> bool:
    """Whether a word was explained, by itself or behind a code."""
    return use.word in told or any(key.endswith(f" {use.word}") for key in told)


def doubts_about(codes: Iterable[OwnCode], by_line: bool = False) -> Iterator[Doubt]:
    """A doubt for the scripts of each pattern, at the first line that has one of their words. Of those that stand among
    other settings each line is named, which is `by_line`."""
    asked: dict[str, list[OwnCode]] = {}
    for code in codes:
        asked.setdefault(code.pattern, []).append(code)
    for several in asked.values():
        file, use = min(
            ((f, u) for each in several for f, u in each.uses), key=lambda at: (at[0], at[1].line)
        )
        entries = ", ".join(f'"{each.key}": {each.means or "?"}' for each in several)
        yield Doubt(
            Place(file, use.line, 1),
            use.text,
            f"{IN_OWN_CODES}: nothing of {_named(several) if by_line else several[0].pattern} is understood, and all of it stays as it is",
            f"say in cfgmigrate.yaml what its words mean, moves: {{{entries}}} (each is one of: {', '.join(MEANINGS)}), or look it through by hand",
        )


def _named(several: Iterable[OwnCode]) -> str:
    """The lines that have these words, file by file: `swaps.yml:3, 5-9`."""
    lines: dict[str, set[int]] = {}
    for code in several:
        for file, use in code.uses:
            lines.setdefault(file, set()).add(use.line)
    return " and ".join(f"{file}:{', '.join(_runs(sorted(found)))}" for file, found in sorted(lines.items()))


def _runs(numbers: Sequence[int]) -> Iterator[str]:
    """Numbers in their order, those that follow one another as one: `3`, `5-9`."""
    for _, run in groupby(enumerate(numbers), key=lambda each: each[1] - each[0]):
        first, *rest = (number for _, number in run)
        yield f"{first}-{rest[-1]}" if rest else str(first)


def lessons(scripts: Iterable[FileRole]) -> list[str]:
    """The lines of the site file, out of force, that explain the words of scripts; the first says what a word may mean."""
    lines = [lesson(code) for code in own_codes(scripts)]
    return [f'# "FILE WORD": MEANING    # one of: {", ".join(MEANINGS)}', *lines] if lines else []


def lesson(code: OwnCode) -> str:
    """The line of the site file, out of force, that explains a word."""
    why = f"{code.said}; " if code.said else ""
    return f'# "{code.key}": {code.means or _quoted("?")}    # {why}{code.shown}'


#: words of what is no way of a filament or an axis
_OTHERWISE_SAID = pattern(
    r"(?<![a-z])(?:speed|rate|velocity|temp\w*|heat\w*|fan|turns?|rev\w*|wait|seconds?|percent)(?![a-z])"
)


def meaning_offered(says: str) -> str:
    """What a remark's words may say of a script's word, "" where none of them says it."""
    text = " ".join(says.casefold().split())
    for meaning, words in offered().scripts.items():
        if meaning not in SPEEDS and _OTHERWISE_SAID.search(text):
            continue
        if any(re.search(rf"(?<![a-z]){re.escape(word)}(?![a-z])", text) for word in words):
            return meaning
    return ""


def _of_group(pattern: str, roles: Iterable[FileRole]) -> Iterator[OwnCode]:
    uses: dict[str, list[tuple[str, OwnUse]]] = {}
    legend: dict[str, list[tuple[str, LegendEntry]]] = {}
    for role in roles:
        assert role.own is not None
        for use in role.own.uses:
            uses.setdefault(use.word, []).append((role.path, use))
        for entry in role.own.legend:
            legend.setdefault(entry.word, []).append((role.path, entry))
    for word, several in uses.items():
        codes = all(use.head and use.number <= LARGEST_CODE for _, use in several)
        if not codes or word in legend:
            means, said = _offer(legend.get(word, ()))
            yield OwnCode(pattern, word, tuple(several), means, said)


def _offer(entries: Iterable[tuple[str, LegendEntry]]) -> tuple[str, str]:
    found: Mapping[str, str] = {
        meaning: f"{file}:{entry.line} says: {entry.says}"
        for file, entry in entries
        if (meaning := meaning_offered(entry.says))
    }
    return next(iter(found.items())) if len(found) == 1 else ("", "")


def _pattern(path: str) -> str:
    folder, slash, name = path.rpartition("/")
    ending = name.rpartition(".")[2] if "." in name else ""
    whole = f"{folder}{slash}*.{ending}" if ending and folder else path
    return whole.replace(" ", "?")


def _quoted(text: str) -> str:
    return f'"{text}"'
