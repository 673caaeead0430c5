"""A review that came as a mail: item numbers and plain words, in any order.

    packet 3f0ac9d1
    C1 to C4, H1: ok
    hold C7 because it oozes
    > C9 Lag coefficient: 0.8 to 0.05
    why not 0.1?
    the rest: accepted

A line gives a verdict where it names items and says so in plain words, before or behind the numbers. What stands behind
a colon is the note. A line without numbers belongs to the item that was quoted just above it. Quoted lines give no
verdict: they are what somebody else wrote.

Words are taken the careful way (`verdict_words.py`), and a consent whose sentence goes on in another line is not read. The
numbers mean nothing in another packet, so the mail has to name the packet that it answers, unless there is no other.

This module deliberately guesses no verdict: a line that it can't read is handed back and its items stay open, whatever
else the mail says of them or of the rest.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.packet.mail_lines import MailLine, goes_on, own_lines
from cfgmigrate.packet.review import Judgement, Verdict
from cfgmigrate.packet.verdict_words import (
    ANY_VERDICT,
    adds_nothing,
    kinds,
    leads_in,
    verdict_of,
)

_NUMBER = r"[CHD]\s?\d{1,4}"
_JOINT = r"\s*(?:,|and|&|to|[-–])\s*(?:and\s+)?"
_GROUP = pattern(rf"\b{_NUMBER}\b(?:{_JOINT}(?:{_NUMBER}|\d{{1,4}})\b)*", re.IGNORECASE)
#: the numbers without a letter at a group's end: items only where nothing that is counted stands behind them
_BARE = pattern(rf"(?:{_JOINT}\d{{1,4}}\b)+$", re.IGNORECASE)
_LIST_ENDS = pattern(r"\s*(?:$|[;:)]|[.!?](?!\d)|,(?!\d)|[-–]\s)")
_VERDICT_FOLLOWS = pattern(
    rf"\s*(?:(?:is|are|was|were|look|looks|seem|both|all)\s+)*(?:{ANY_VERDICT})"
    r"\s*(?:$|[.,;:!?)–-]|(?:and|but|because|if|unless|until|since|as|too|for|by|please)\b)",
    re.IGNORECASE,
)
_REST = pattern(
    r"\b(?:(?:all )?the (?:rest|others?|remaining(?: ones| items)?)|(?:all )?others|everything else)\b",
    re.IGNORECASE,
)
_ALL = pattern(r"\b(?:all of them|all|everything)\b", re.IGNORECASE)
#: what speaks of items without naming one
_UNNAMED = pattern(r"\b(?:both|these|those|they|them)\b", re.IGNORECASE)
_PACKET = pattern(r"\bpacket:?\s+([0-9a-f]{8,64})\b", re.IGNORECASE)
_NAME = pattern(r"^\s*(?:from|name|reviewer|reviewed by):\s*([^<\n]+?)\s*(?:<.*)?$", re.IGNORECASE)


class Answer(Struct, frozen=True):
    """What a mail says: `name` of whoever wrote it ("" where it is not told), the verdicts, and the lines that speak of
    items and give no verdict that could be read, each with its number."""

    name: str
    judgements: tuple[Judgement, ...]
    unread: tuple[tuple[int, str], ...]


def read_answer(text: str, source: str, items: Mapping[str, str], packet: str, only: bool = False) -> Answer:
    """The verdicts in a mail. `items` maps numbers (C7) to ids, `packet` is the packet's hash. It need not be named where
    it is the `only` one that can be meant.

    Raises Refused where the mail names no packet or another one, BadInput where it has two verdicts on one item or names
    a number that there is not.
    """
    _refuse_other(text, source, packet, only)
    lines = own_lines(text, source)
    said: dict[str, tuple[int, Verdict, str]] = {}
    rest: tuple[int, Verdict, str] | None = None
    unread: list[tuple[int, str]] = []
    open_still: set[str] = set()
    for number, line, group, verdict, note in _verdicts(lines):
        if verdict is None:
            unread.append((number, line))
            open_still.update(group)
            continue
        if not group:
            if rest is not None and rest[1] is not verdict:
                raise BadInput(
                    f"two verdicts on the rest: {rest[1].value} in line {rest[0]}, here {verdict.value}",
                    Place(source, number),
                    "Keep one of the two.",
                )
            rest = (number, verdict, note)
        for item in group:
            if item not in items:
                raise BadInput(
                    f"the packet has no {item}", Place(source, number), f"It has {_span(list(items))}."
                )
            before = said.get(item)
            if before is not None and before[1] is not verdict:
                raise BadInput(
                    f"two verdicts on {item}: {before[1].value} in line {before[0]}, here {verdict.value}",
                    Place(source, number),
                    "Keep one of the two.",
                )
            said.setdefault(item, (number, verdict, note))
    if rest is not None:
        # of what is named anywhere, the rest is not meant
        named = {
            item
            for line in lines
            if not line.quoted
            for group in _groups(line.text)
            for item in _members(group.text)
        }
        said |= {item: rest for item in items if item not in said and item not in named}
    for item in open_still:
        if item in said and said[item][1] is Verdict.ACCEPTED:
            del said[item]
    name = next((found[1] for line in lines if not line.quoted and (found := _NAME.match(line.text))), "")
    judgements = tuple(
        Judgement(items[item], verdict, note)
        for item, (_, verdict, note) in sorted(said.items(), key=lambda pair: list(items).index(pair[0]))
    )
    return Answer(name.strip('"'), judgements, tuple(dict.fromkeys(unread)))


def _refuse_other(text: str, source: str, packet: str, only: bool) -> None:
    named = {found.lower() for found in _PACKET.findall(text)}
    if not named and not only:
        raise Refused(
            "the mail does not say which packet it answers, and the numbers are another packet's too",
            Place(source),
            f"If it is this one, add the line: packet {packet[:8]}",
        )
    other = next((each for each in sorted(named) if not packet.startswith(each)), None)
    if other is not None:
        raise Refused(
            f"the mail answers the packet {other}, and this one is {packet[:8]}",
            Place(source),
            "Its numbers may stand for other items here. Have this packet reviewed.",
        )


def _verdicts(lines: Sequence[MailLine]) -> Iterator[tuple[int, str, list[str], Verdict | None, str]]:
    """For each piece that names items or answers a quoted one: line, text, items, verdict and note. Nothing of a
    consent is left where another line belongs to its sentence."""
    context: list[str] = []
    for at, line in enumerate(lines):
        if line.quoted:
            found = _groups(line.text)
            context = _members(found[0].text) if found else context
            continue
        if not line.text:
            continue
        pieces = list(_of_line(line, context))
        context = [] if pieces else context
        if not pieces:
            continue
        more = goes_on(lines, at, _speaks_of_items)
        for group, verdict, note in pieces:
            if more is None:
                yield line.number, line.text, group, verdict, note
            elif verdict is Verdict.ACCEPTED or verdict is None:
                yield line.number, f"{line.text} … {more.text}", group, None, ""
            else:
                yield line.number, line.text, group, verdict, f"{note} {more.text}".strip()


def _of_line(line: MailLine, context: list[str]) -> Iterator[tuple[list[str], Verdict | None, str]]:
    if groups := _groups(line.text):
        yield from _pieces(line.text, groups)
    elif _REST.search(line.text):
        yield [], _of_all(line.text, _REST), ""
    elif context:
        yield context, verdict_of(line.text), _note(line.text)
    elif kinds(line.text) and (_ALL.search(line.text) or _UNNAMED.search(line.text)):
        yield [], _of_all(line.text, _ALL), ""


def _speaks_of_items(line: MailLine) -> bool:
    return bool(_GROUP.search(line.text) or _REST.search(line.text))


def _of_all(line: str, all_of_them: re.Pattern[str]) -> Verdict | None:
    """The verdict of a line on all items that are not named; None where it says more than that, or nothing clear."""
    found = all_of_them.search(line)
    if found is None:
        return None
    before, behind = line[: found.start()], line[found.end() :]
    if kinds(before):
        verdict = verdict_of(before)
        clear = adds_nothing(behind) and ":" not in behind
    else:
        verdict = verdict_of(behind)
        clear = leads_in(before) and ":" not in behind.strip().lstrip(":")
    if verdict is Verdict.ACCEPTED or all_of_them is _ALL:
        return verdict if clear else None
    return verdict


class _Named(Struct, frozen=True):
    """Item numbers in a row in a line. `torn` where it is not clear whether numbers behind them are items too."""

    start: int
    end: int
    text: str
    torn: bool = False


def _groups(line: str) -> list[_Named]:
    """The rows of item numbers in a line. Numbers without a letter belong to one where they end a plain list:
    `C1, 2 and 3`, and not where they count something: `C8, 4 mm left`."""
    return [_plain_list(line, found) for found in _GROUP.finditer(line)]


def _plain_list(line: str, found: re.Match[str]) -> _Named:
    if not _members(found[0]):
        numbers = re.findall(_NUMBER, found[0], re.IGNORECASE)
        return _Named(found.start(), found.end(), ", ".join(numbers), torn=True)
    bare, behind = _BARE.search(found[0]), line[found.end() :]
    said_before = bool(kinds(line[: found.start()]))
    if bare is None or _LIST_ENDS.match(behind) or (not said_before and _VERDICT_FOLLOWS.match(behind)):
        return _Named(found.start(), found.end(), found[0])
    several = len(re.findall(r"\d+", bare[0])) > 1
    said_behind = bool(kinds(behind.strip().split(" ", 1)[0])) and not said_before
    return _Named(
        found.start(), found.start() + bare.start(), found[0][: bare.start()], several or said_behind
    )


def _pieces(line: str, groups: list[_Named]) -> Iterator[tuple[list[str], Verdict | None, str]]:
    """A line's groups of numbers, each with the words that belong to it."""
    before = line[: groups[0].start]
    if kinds(before):
        yield from _verdict_first(line, groups)
        return
    if excepted := list(_all_but(line, groups)):
        yield from excepted
        return
    start = 0
    while start < len(groups):
        group = groups[start]
        end, following = len(line), start + 1
        for later, other in enumerate(groups[start + 1 :], start + 1):
            between = line[group.end : other.start]
            # behind the colon of a note, only a semicolon ends it: other items may be named in a note
            parted = between.rstrip().endswith(("/", "|", "-", "–")) or ";" in between
            if parted or (not _has_note(between) and between.rstrip().endswith((",", ".", "and"))):
                end, following = other.start, later
                break
            following = later + 1
        words = line[group.end : end]
        verdict = verdict_of(words)
        muddled = group.torn or (_GROUP.search(words) and not _has_note(words))
        # what somebody else is said to have accepted is no consent of the writer's
        told = verdict is Verdict.ACCEPTED and not leads_in(before)
        members = _members(group.text)
        yield members, None if muddled or told else verdict, _note(words)
        # an item that is named again in its own note may be excepted there
        if again := [each for found in _groups(words) for each in _members(found.text) if each in members]:
            yield again, None, ""
        start = following


def _all_but(line: str, groups: list[_Named]) -> Iterator[tuple[list[str], Verdict | None, str]]:
    """The pieces of `H1 to H19 accepted, but H10: where is the switch?`: only what is named again is in question. Where it is none of
    the first, or no colon and no verdict stands behind it, what is said may be a condition of all; then nothing is given."""
    if len(groups) != 2 or any(each.torn for each in groups):
        return
    first, second = groups
    consent, but, rest = line[first.end : second.start].rpartition("but")
    several, those = _members(first.text), _members(second.text)
    behind = line[second.end :]
    verdict = verdict_of(behind)
    plain = (
        but and not rest.strip() and verdict_of(consent) is Verdict.ACCEPTED and leads_in(line[: first.start])
    )
    if not plain or not those or not set(those) < set(several):
        return
    if behind.lstrip().startswith(":") or verdict in (Verdict.HELD, Verdict.QUESTIONED):
        yield [each for each in several if each not in those], Verdict.ACCEPTED, ""
        yield those, verdict if verdict is Verdict.HELD else Verdict.QUESTIONED, _note(behind)


def _has_note(words: str) -> bool:
    """Whether a colon stands behind a word of the verdict: what follows is a note."""
    return ":" in words and bool(kinds(words.rpartition(":")[0]))


def _verdict_first(line: str, groups: list[_Named]) -> Iterator[tuple[list[str], Verdict | None, str]]:
    start = 0
    for index, group in enumerate(groups):
        words = line[start : group.start]
        behind = line[group.end :] if index == len(groups) - 1 else ""
        verdict = verdict_of(words)
        if verdict is Verdict.ACCEPTED and (whole := verdict_of(f"ok {behind}")) is not Verdict.ACCEPTED:
            verdict = None if whole is None else Verdict.QUESTIONED
        yield _members(group.text), None if group.torn else verdict, _note(behind)
        start = group.end


def _note(words: str) -> str:
    """The words as a note; a bare verdict leaves none."""
    cut = words.strip(" \t:,;.-–")
    head, colon, tail = cut.partition(":")
    if colon and kinds(head):
        cut = tail.strip()
    return "" if len(cut.split()) <= 1 and kinds(cut) and cut != "?" else cut


def _members(group: str) -> list[str]:
    """`C1 to C4, H1` as C1, C2, C3, C4, H1; nothing where a range is turned round or too long to be meant."""
    found: list[str] = []
    letter, last, ranged = "", 0, False
    for part in re.finditer(r"(?:(?<![A-Za-z])([CHDchd]))?\s?(\d{1,4})|(to|[-–])", group):
        if part[3]:
            ranged = True
            continue
        number = int(part[2])
        kind = (part[1] or letter).upper()
        if ranged:
            if kind != letter or number < last:
                return []
            found += [f"{letter}{each}" for each in range(last + 1, number)]
        found.append(f"{kind}{number}")
        letter, last, ranged = kind, number, False
    return list(dict.fromkeys(found))


def _span(numbers: list[str]) -> str:
    spans = []
    for letter in "CHD":
        those = [each for each in numbers if each.startswith(letter)]
        spans += [those[0] if len(those) == 1 else f"{those[0]} to {those[-1]}"] if those else []
    return ", ".join(spans)
