"""Names that are too short to name a thing of the filament's way: `[driver] delay`, `[home] pull`, `[retract] travel`.

A word that alone names nothing needs the other half of the name, in key, section, remark or unit; and beside a word of
another part or occasion a name has to say its measure. `lone.yaml` has the words.

This module deliberately looks at names only: what becomes of the setting is the matter of `by_words.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import check_fields, load
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.quantities import known
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name, split

_FILE = "lone.yaml"
_TOP: Mapping[str, type] = {
    "others": str,
    "measures": str,
    "elsewise": str,
    "ways": str,
    "feeders": str,
    "spots": str,
    "kinds": dict,
}
_SAID_BEFORE = frozenset(("retraction", "retract", "load", "loading", "unload", "unloading"))
#: behind these stands when something is done: `haul back before travel`
_MOMENTS = frozenset(("before", "after"))
_MOTORS = frozenset(("motor", "mot", "stepper"))
_KIND = frozenset(
    ("quantities", "weak", "excused", "measured", "lengths", "driven", "unowned", "times", "often")
)


class _Kind(Struct, frozen=True):
    """What is asked of the names of a few quantities. `weak` has for each word the other halves of its names, `others` are
    the words of other parts, `elsewise` those of another measure; `measures` make up for one of `others`, `ways` for one of
    those of another measure; a motor is the feeder's behind one of `driven`. A name that ends in one of `times` may be a time, where
    none of `spots` is in it; one that ends in one of `often`, as it is written, may be a count."""

    weak: Mapping[str, frozenset[str]]
    others: frozenset[str]
    measures: frozenset[str]
    elsewise: frozenset[str]
    ways: frozenset[str]
    feeders: frozenset[str]
    driven: frozenset[str]
    unowned: bool
    times: frozenset[str]
    spots: frozenset[str]
    often: frozenset[str]


def says_too_little(name: Name, fit: Fit) -> bool:
    """Whether a name's words may as well be another thing's as those of the quantity that they fit."""
    kind = _kinds().get(fit.quantity)
    if kind is None or (kind.unowned and not fit.alone):
        return False
    said = {*name.words, *name.said}
    if any(said.isdisjoint(halves) for word, halves in kind.weak.items() if word in said):
        return True
    if _of_another_measure(name, kind) or _may_be_a_time(name, kind):
        return True
    others = kind.others & set(name.words)
    if name.counted:
        others -= {name.counted.word}
    others -= {
        word
        for part in (name.section, name.key)
        for before, word in _driven_by(part)
        if before in kind.driven
    } & _MOTORS
    return bool(others) and said.isdisjoint(kind.measures) and said.isdisjoint(kind.feeders)


def may_count(key: str, name: Name, fit: Fit) -> bool:
    """Whether a key, as it is written, may say how often something was done: `loads: 61` beside other counters."""
    kind = _kinds().get(fit.quantity)
    if kind is None or not kind.often:
        return False
    return not kind.often.isdisjoint(split(key)[-1:]) and kind.measures.isdisjoint({*name.words, *name.said})


def _driven_by(words: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Each word with the one behind it, and turned round where `of` stands between: `filament motor`, `motor of the filament`."""
    plain = tuple(word for word in words if word != "the")
    yield from pairwise(plain)
    yield from (
        (word, before) for before, of, word in zip(plain, plain[1:], plain[2:], strict=False) if of == "of"
    )


def _of_another_measure(name: Name, kind: _Kind) -> bool:
    """Whether a key says nothing but another measure of what its section, or the words before, are about."""
    key = {word for word in name.key if word not in vocabulary().fillers and word not in _SAID_BEFORE}
    if not _MOMENTS.isdisjoint(name.words):
        return False
    last = name.key[-1:]
    return bool(key) and key <= kind.elsewise >= {*last} and kind.ways.isdisjoint(name.key)


def _may_be_a_time(name: Name, kind: _Kind) -> bool:
    """Whether a name ends in what is done for a while as well as at a place, and says nothing of a place."""
    said = [word for word in name.key if word in kind.times or word not in vocabulary().fillers]
    return bool(kind.times.intersection(said[-1:])) and kind.spots.isdisjoint((*name.key, *name.said))


@compiled
def _kinds() -> dict[str, _Kind]:
    """The words by quantity. Raises BadInput where the file is wrong."""
    data = load(Path(__file__).with_name(_FILE), _TOP)
    found: dict[str, _Kind] = {}
    for title, raw in data["kinds"].items():
        made = _kind(check_fields(_FILE, title, raw, _KIND), data)
        for quantity in raw["quantities"]:
            if not known(quantity):
                raise BadInput(f"there is no quantity `{quantity}`", Place(_FILE))
            found[quantity] = made
    return found


def _kind(raw: Mapping[str, object], data: Mapping[str, str]) -> _Kind:
    weak = raw.get("weak", {})
    assert isinstance(weak, dict)
    return _Kind(
        {word: frozenset(halves.split()) for words, halves in weak.items() for word in words.split()},
        frozenset()
        if "times" in raw
        else frozenset(data["others"].split()) - frozenset(str(raw.get("excused", "")).split()),
        frozenset(data["measures"].split()) if raw.get("measured", True) else frozenset(),
        frozenset(data["elsewise"].split()) if raw.get("lengths") else frozenset(),
        frozenset(data["ways"].split()),
        frozenset(data["feeders"].split()),
        frozenset(holder_words().fed if raw.get("driven") else ()),
        bool(raw.get("unowned")),
        frozenset(str(raw.get("times", "")).split()),
        frozenset(data["spots"].split()),
        frozenset(str(raw.get("often", "")).split()),
    )
