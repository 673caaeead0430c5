"""Sections and objects below one word for a feeder, `[feeder port]` and `feeders: {port: …}`, that have at least half of their settings in
common: a feeder each.

The word stands before or behind the name. A name that is a word of the trade, as a door is, counts below a plural, beside what is for
both, or where a list of plugs has it, if it explains nothing of its lines. This module deliberately looks at no values but names.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from itertools import combinations, pairwise

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.feeder_names import (
    FEEDER_S_WORD,
    LEVELS_OF_NAME,
    LONGEST_CALLED,
    MAY_BE_ONE,
    OF_ALL_FEEDERS,
    SettingAt,
    is_feeder_word,
    is_new_word,
    may_name,
)
from cfgmigrate.machine.feeders_by_file import FEWEST_SHARED
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.matching import fits
from cfgmigrate.machine.quantities import MOST_FEEDERS
from cfgmigrate.machine.telling_keys import telling_keys
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import readings_of_name, split

Words = tuple[str, ...]
_AXES = frozenset("xyz")
#: a value of more words names no feeder
_MOST_WORDS = 4
_FEED = "feed"
#: so many figures of a motor below each of two names, and each has a motor of its own
FEWEST_OF_A_MOTOR = 2
#: what a drive does, and none is called by
_OF_NO_DRIVE = frozenset(("load", "unload", "retraction", "prime", "print", "printing", "idle", "hold"))
_FEEDS = frozenset(("feeder.steps_per_mm", "feeder.feed_per_turn"))
_OF_MOTORS = frozenset(
    f"feeder.{what}" for what in ("steps_per_mm", "feed_per_turn", "full_steps", "microsteps", "gear_ratio")
) | {"motor.run_current"}


def by_their_sections(
    documents: Iterable[Document], told: Sequence[Feeder]
) -> dict[SettingAt, tuple[str, tuple[str, str]]]:
    """The settings below a word for a feeder and a name: the name, and section and key without it."""
    groups: dict[tuple[str, Words], dict[str, list[tuple[SettingAt, tuple[str, str]]]]] = {}
    known = {each.name.casefold() for each in told if each.name}
    of_all: set[Words] = set()
    plural: set[Words] = set()
    in_values: set[str] = set()
    for document in documents:
        for setting in document.settings:
            if setting.state is State.INACTIVE:
                continue
            in_values.update(_named_in(setting.value))
            levels = [level.strip() for level in LEVELS_OF_NAME.split(setting.section) if level.strip()]
            for at, (level, child) in enumerate(pairwise(levels)):
                if is_feeder_word(level) and split(level) != ["drives"]:
                    before = tuple(each.casefold() for each in levels[:at])
                    if OF_ALL_FEEDERS.intersection(split(child)):
                        of_all.add(before)
                    if level.casefold().endswith("s"):
                        plural.add(before)
            head = head_of(setting.section, setting.key, known)
            if head and not _says_a_value(*head[2]):
                before, name, parts = head
                group = groups.setdefault((document.dialect, before), {})
                group.setdefault(name, []).append(((document.path, setting.at), parts))
    found: dict[SettingAt, tuple[str, tuple[str, str]]] = {}
    for (_, before), group in groups.items():
        keys = {name: {parts for _, parts in several} for name, several in group.items()}
        for name in MAY_BE_ONE.intersection(group) - _with_a_motor_beside(keys):
            del group[name], keys[name]
        if len(group) >= MOST_FEEDERS or any(not _AXES.isdisjoint(split(name)) for name in group):
            continue  # `drives: {x: …, y: …}` are those of the axes
        told_so = before in of_all or (len(group) > 1 and set(group) <= in_values)
        by_themselves = any(name in known or is_new_word(name) for name in group) or _by_place(keys)
        by_themselves = by_themselves or _with_motors_of_their_own(keys)
        listed = told_so or before in plural
        if not by_themselves and (not listed or any(map(_is_a_part, keys, keys.values()))):
            continue  # words of the trade alone: `[feeder motor]`, `[feeder driver]`
        for name, several in group.items():
            others = [keys[other] for other in keys if other != name]
            if name in known or any(
                (told_so and keys[name] & other) or _half_alike(keys[name], other) for other in others
            ):
                found.update((spot, (name, parts)) for spot, parts in several)
    return found


def _says_a_value(section: str, key: str) -> bool:
    """Whether a line is the value of what seems to be a feeder, or its unit: `feeder: {steps: {value: 95, unit: 1/mm}}`."""
    keys = telling_keys()
    return section.endswith(FEEDER_S_WORD) and key.casefold() in {*keys.value, *keys.unit, *keys.remark}


def _half_alike(one: Set[tuple[str, str]], other: Set[tuple[str, str]]) -> bool:
    return 2 * len(one & other) >= max(len(one), len(other))


def _named_in(value: str) -> Iterator[str]:
    """The name that a value has behind or before a word for a feeder, as in a list of plugs: `5: feeder window`."""
    words = split(value) if len(value) <= LONGEST_CALLED else []
    if 1 < len(words) < _MOST_WORDS:
        if is_feeder_word(words[0]):
            yield " ".join(words[1:])
        elif is_feeder_word(words[-1]):
            yield " ".join(words[:-1])


def _words_of(level: str) -> list[str]:
    """The words of a level as they are set apart: by blanks, or by other signs where a place or a count is joined to a feeder's
    word: `near_feeder`, `second-feed`."""
    joined = split(level) if not level.split()[1:] else []
    counting = {*holder_words().places, *holder_words().counts}
    return joined if len(joined) == 2 and joined[0] in counting else level.split()


def _is_counted_feed(words: Sequence[str]) -> bool:
    """Whether a level is a feed that is counted, `second feed`. Whether that is a drive or a part of a move is told by its keys."""
    return len(words) == 2 and words[1].casefold() == _FEED and words[0].casefold() in holder_words().counts


def _is_a_part(name: str, own: Set[tuple[str, str]]) -> bool:
    """Whether a name of the trade's words is one of a feeder's parts or doings: with it the lines say something, as
    `speed` below `feeders.pull` does. Of one that somebody calls a feeder by, `door`, they say it without it only."""
    with_it = without = 0
    for section, key in own:
        levels = section.split(".")
        at = levels.index(FEEDER_S_WORD) + 1
        if _said_by(".".join((*levels[:at], name, *levels[at:])), key):
            with_it += 1
        elif _said_by(section, key):
            without += 1
    return with_it >= without


def _said_by(section: str, key: str) -> set[str]:
    """What a section and a key say in every word."""
    names = [found for name in readings_of_name(section, key) if (found := fits(name))]
    return {fit.quantity for found in names for fit in found if not fit.strange and not fit.alone}


def _of_a_motor(section: str, key: str) -> bool:
    """Whether a line says what only a feeder with a motor of its own has: `[first feed] length` may be the first part of a move."""
    return not _OF_MOTORS.isdisjoint(_said_by(section, key))


def _with_a_motor_beside(keys: Mapping[str, Set[tuple[str, str]]]) -> set[str]:
    """The names below which a motor's own figure stands that stands below another one too: `[feeder main]` beside `[feeder ink]`."""
    motors = {name: {each for each in own if _of_a_motor(*each)} for name, own in keys.items()}
    return {name for name in motors if any(motors[name] & motors[other] for other in motors if other != name)}


def _with_motors_of_their_own(keys: Mapping[str, Set[tuple[str, str]]]) -> bool:
    """Whether two names have several figures of a motor each, by the same words, and among them what it feeds: `[drive tall]` beside
    `[drive small]`. A motor and its driver are of one."""
    motors = [
        {each for each in own if _of_a_motor(*each)}
        for name, own in keys.items()
        if _OF_NO_DRIVE.isdisjoint(vocabulary().names_in(frozenset(split(name)))) and not _is_a_thing(name)
    ]
    shared = (one & other for one, other in combinations(motors, 2))
    return any(
        len(both) >= FEWEST_OF_A_MOTOR and any(_FEEDS & _said_by(*each) for each in both) for both in shared
    )


def _is_a_thing(name: str) -> bool:
    """Whether a name is another device's or a part's: `[feeder.cutter]`."""
    return not vocabulary().things.isdisjoint(vocabulary().names_in(frozenset(split(name))))


def _by_place(keys: Mapping[str, Set[tuple[str, str]]]) -> bool:
    """Whether two that go by words of place, or are counted, set enough of the same: `[feeder near]` and `[feeder far]`."""
    placed = [
        own
        for name, own in keys.items()
        if name in holder_words().places
        or (name in holder_words().counts and any(_of_a_motor(*each) for each in own))
    ]
    return any(len(one & other) >= FEWEST_SHARED for one, other in combinations(placed, 2))


def path_of_saved(setting: Setting) -> tuple[str, str]:
    """Section and key of a setting that a board told of, whose keys have all levels in them."""
    section, _, key = f"{setting.section}.{setting.key}".rpartition(".")
    return section.strip("."), key


def head_of(section: str, key: str, known: set[str]) -> tuple[Words, str, tuple[str, str]] | None:
    """The levels before a feeder's name, the name, and section and key without it; None where there is no name."""
    levels = [level.strip() for level in LEVELS_OF_NAME.split(section) if level.strip()]
    fed = holder_words().fed
    for at, level in enumerate(levels):
        words = _words_of(level)
        before = tuple(each.casefold() for each in levels[:at])
        if is_feeder_word(level) and at + 1 < len(levels):
            name, rest = levels[at + 1], levels[at + 2 :]
        elif len(words) > 1 and is_feeder_word(words[0]):
            name, rest = " ".join(words[1:]), levels[at + 1 :]
        elif len(words) > 1 and (is_feeder_word(words[-1]) or _is_counted_feed(words)):
            is_fed = len(words) > 2 and words[-2].casefold() in fed  # `front filament drive`
            name, rest = " ".join(words[: -2 if is_fed else -1]), levels[at + 1 :]
        elif len(words) > 2 and words[0].casefold() in fed and is_feeder_word(words[1]):
            name, rest = " ".join(words[2:]), levels[at + 1 :]
        else:
            continue
        name = name.casefold()
        if name in known or name in MAY_BE_ONE or may_name(name):
            return before, name, (".".join((*levels[:at], FEEDER_S_WORD, *rest)), key)
    return None
