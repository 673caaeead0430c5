"""A setting of drive or motor `one` beside those of `two` and `three` that are nobody's: `drive one current = 1.2`; or of the
`small feeder` beside the `big feeder`, or beside one that goes by any other word: `tall feeder`.

Whoever counts all motors in words calls one of them `one`, and that is as well an axis's. So what was read of it for the feeder
is a question, where a setting of the same words with another such word stands in its section and was not understood; or where
nothing of another one that is counted so was taken for the feeder's, whatever is said of it: `[drive two] top current`.

This module deliberately does not say which of them is the feeder's: nothing here does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cache, lru_cache

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.matching import MOST_NAME_WORDS
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.words import split


def ask_of_the_counted(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Turns readings of the feeder by such a name into questions, unless a person said what they are."""
    others = {
        (each.place.file, *_uncounted(each.setting)) for each in found.unread if _is_counted(each.setting)
    }
    unmarked = {(each.place.file, *_uncounted(each.setting)) for each in found.unread} - others
    called = {
        (each.place.file, *gap)
        for each in found.unread
        for gap in _with_a_gap(each.setting, lambda word: True)
    }
    nobodys = _of_nobody(found)
    by_path = {document.path: document for document in documents}
    kept: list[Collected] = []
    for each in found.readings:
        setting, file = each.reading.setting, each.reading.place.file
        same = file, *_uncounted(setting)
        counted = same in others or (same in unmarked and _is_counted(setting))
        counted = counted or any(
            (file, *gap) in called for gap in _with_a_gap(setting, _telling().__contains__)
        )
        counted = counted or any(
            nobodys.get((file, one), frozenset()) - {word} for one, word in _ones(setting)
        )
        if (
            counted
            and of_feeder(each.reading.quantity)
            and not (names and names.find(by_path[file], setting))
        ):
            found.doubts.append(_asked(each))
        else:
            kept.append(each)
    found.readings[:] = kept


def _of_nobody(found: Collection) -> dict[tuple[str, tuple[str, ...]], set[str]]:
    """The words that tell apart what is counted in a file, by what that is: those of which nothing was taken for a feeder's."""
    words: dict[tuple[str, tuple[str, ...]], set[str]] = {}
    for unread in found.unread:
        for one, word in _ones(unread.setting):
            words.setdefault((unread.place.file, one), set()).add(word)
    for each in found.readings:
        for one, word in _ones(each.reading.setting) if of_feeder(each.reading.quantity) else ():
            words.get((each.reading.place.file, one), set()).discard(word)
    return words


def _ones(setting: Setting) -> Iterator[tuple[tuple[str, ...], str]]:
    """What a setting is of that is counted in words, `drive` of `[drive two] current`, with the word that tells it apart. It is counted by a
    section, or by the beginning of a key."""
    section, key = tuple(_pieces(setting.section)), tuple(_pieces(setting.key))
    if len(section) + len(key) > MOST_NAME_WORDS:
        return
    counted = holder_words().counted | holder_words().carried
    for number, word in enumerate(section):
        if word in _telling() and not counted.isdisjoint(section):
            yield (*section[:number], "", *section[number + 1 :]), word
    for number, word in enumerate(key):
        if word in _telling() and not counted.isdisjoint(key[:number]):
            yield (*section, "", *key[:number]), word


def _uncounted(setting: Setting) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The words of a section and a key without those that tell one feeder from another."""
    section, key = (
        tuple(piece for piece in _pieces(text) if piece not in _telling())
        for text in (setting.section, setting.key)
    )
    return section, key


def _with_a_gap(
    setting: Setting, at: Callable[[str], bool]
) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    """The words of a section and a key with a gap in place of each word that is so; none where they are no name that a person gives."""
    section, key = _pieces(setting.section), _pieces(setting.key)
    if len(section) + len(key) > MOST_NAME_WORDS:
        return
    for number, word in enumerate(section):
        if at(word):
            yield (*section[:number], "", *section[number + 1 :]), key
    for number, word in enumerate(key):
        if at(word):
            yield section, (*key[:number], "", *key[number + 1 :])


def _is_counted(setting: Setting) -> bool:
    return not _telling().isdisjoint((*_pieces(setting.section), *_pieces(setting.key)))


@lru_cache(maxsize=4096)
def _pieces(text: str) -> tuple[str, ...]:
    """The words of a text; `driveone` is two of them."""
    counted = holder_words().counted
    found: list[str] = []
    for piece in split(text):
        ends = (word for word in _telling() if len(word) > 2 and piece.endswith(word))
        glued = next((word for word in ends if piece.removesuffix(word) in counted), piece)
        found += [piece] if glued == piece else [piece.removesuffix(glued), glued]
    return tuple(found)


@cache
def _telling() -> frozenset[str]:
    words = holder_words()
    return words.told_apart | words.numerals.keys()


def _asked(each: Collected) -> Doubt:
    reading = each.reading
    label = quantity(reading.quantity).label
    why = f"this may be {label}, but others of its name are counted beside it, and whose they are is not said"
    remedy = f"if it is the feeder's, say so in cfgmigrate.yaml, under meanings: {name_line(reading.setting, reading.quantity)}; if another is, say it of that one"
    return Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
