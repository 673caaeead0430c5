"""Profiles in files without sections: keys that begin alike, once for each of several names.

`FILAMENT_PETG_RETRACT` and `FILAMENT_TPU_RETRACT` have a word for a profile, then a name, then the same end. The end is
the longest that occurs under several names; so `PETG_BLACK` is told from `PETG`. A name that is nothing but known
words (`FILAMENT_LOADING_WAY`) names no profile, and how fast filament goes is none of it. A material's name needs no word before it, and in a file that holds
profiles and nothing else no name does.

This module deliberately does not look at values.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Setting
from cfgmigrate.machine.holder_words import EITHER, holder_words
from cfgmigrate.machine.matching import best_fits
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import readings_of_name, split

#: ends that a name must share with another
SHARED_NAMES = 2
_LONGEST_NAME = 3
#: how fast something goes, which may name a print and no filament
_PACES = frozenset({"fast", "faster", "slow", "slower", "quick", "quickly", "slowly", "rapid", "hasty"})
#: ends that names without a word before them must share
_SHARED_BARE = 3
#: the pieces of units that keys end in
_OF_UNITS = frozenset(
    {
        "mm",
        "cm",
        "um",
        "m",
        "s",
        "ms",
        "sec",
        "min",
        "per",
        "a",
        "ma",
        "amps",
        "c",
        "deg",
        "degc",
        "celsius",
        "k",
        "pct",
        "percent",
        "hz",
        "v",
    }
    | {"mms", "mmm", "mmps", "mmpm", "mm2", "mm3", "s2"}
)


class Prefixed(Struct, frozen=True):
    """A profile by its keys: each setting with its key behind the name. `word` is what stood before the name."""

    kind: str
    name: str
    word: str
    settings: tuple[tuple[Setting, str], ...]


class _Cut(Struct, frozen=True):
    """A key cut into what stands before the name, the kind, the name and the end."""

    before: tuple[str, ...]
    kind: str
    name: tuple[str, ...]
    end: tuple[str, ...]


def prefixed(settings: Sequence[Setting], only_profiles: bool) -> list[Prefixed]:
    """The profiles among settings. `only_profiles` says that the file holds nothing else."""
    cuts = {setting: list(_cuts(setting, only_profiles)) for setting in settings if not setting.section}
    under: dict[tuple[str, tuple[str, ...]], set[tuple[str, ...]]] = {}
    for several in cuts.values():
        for cut in several:
            under.setdefault((cut.kind, cut.end), set()).add(cut.name)
    found: dict[tuple[str, tuple[str, ...]], list[tuple[Setting, _Cut]]] = {}
    for setting, several in cuts.items():
        best = max(several, key=lambda cut: _worth(cut, under), default=None)
        if best is not None and (_worth(best, under)[0] > 1 or _is_material(best.name)):
            found.setdefault((best.kind, best.name), []).append((setting, best))
    kept = {key: pairs for key, pairs in found.items() if len(pairs) >= SHARED_NAMES or _is_material(key[1])}
    kept = {key: pairs for key, pairs in kept.items() if only_profiles or _shows_itself(key[1], pairs)}
    if only_profiles and sum(map(len, kept.values())) < len(cuts):
        kept = {key: pairs for key, pairs in kept.items() if pairs[0][1].before or _is_material(key[1])}
    return [_made(kind, name, pairs) for (kind, name), pairs in kept.items()]


def _shows_itself(name: tuple[str, ...], pairs: Sequence[tuple[Setting, _Cut]]) -> bool:
    """Whether a name is a profile's: by a word before it, by its material, or by several settings and a print's own. A material
    that may stand for a word of the trade as well needs several settings, or one that says what a filament may have."""
    if pairs[0][1].before:
        return True
    if _is_material(name):
        return name[0] not in offered().near or len(pairs) > 1 or _says_something(pairs[0][1].end)
    identity = holder_words().identity
    printed = any(identity.get(piece) == "print" for _, cut in pairs for piece in cut.end)
    return printed and len(pairs) >= _SHARED_BARE


def _worth(cut: _Cut, under: dict[tuple[str, tuple[str, ...]], set[tuple[str, ...]]]) -> tuple[int, int]:
    """A cut is better under which an end occurs under more than one name, and then the longer the end."""
    return min(len(under[cut.kind, cut.end]), 2), len(cut.end)


def _made(kind: str, name: tuple[str, ...], pairs: Iterable[tuple[Setting, _Cut]]) -> Prefixed:
    settings = [(setting, " ".join(cut.end)) for setting, cut in pairs]
    first = next(iter(pairs))[1]
    return Prefixed(kind, " ".join(name), " ".join(first.before), tuple(settings))


def _cuts(setting: Setting, only_profiles: bool) -> Iterator[_Cut]:
    """The ways to cut a key: a word for a profile, a name of up to three words, an end."""
    words = holder_words()
    pieces = tuple(split(setting.key))
    for at, piece in enumerate(pieces):
        if piece in words.profiles:
            yield from _named(pieces, at + 1, words.profiles[piece])
    if pieces and pieces[0] in words.materials and not _means_something(setting.key):
        yield from _named(pieces, 0, "filament")
    elif not only_profiles and len(pieces) > 1 and pieces[0] in words.called:
        yield _Cut((), "print", pieces[:1], pieces[1:])
    elif only_profiles and pieces and pieces[0] not in words.profiles:
        yield from _named(pieces, 0, EITHER)


def _means_something(key: str) -> bool:
    """Whether a key that begins like a material's name is one of the trade by what that may stand for: `pa_k` may be the lag's."""
    first, *rest = split(key)
    if first not in offered().near or _says_something(rest):
        return False  # `pa_lag` says the lag by its own word
    return any(_says_something((*meant, *rest)) for meant in offered().near[first])


def _says_something(pieces: Sequence[str]) -> bool:
    return any(not fit.strange for fit in best_fits(readings_of_name("", " ".join(pieces)))[1])


def _named(pieces: tuple[str, ...], start: int, kind: str) -> Iterator[_Cut]:
    for end in range(start + 1, min(start + _LONGEST_NAME, len(pieces) - 1) + 1):
        name = pieces[start:end]
        if end > start + 1 and all(piece.isdigit() or piece in _OF_UNITS for piece in pieces[end:]):
            return  # `petg_lag_s`: a unit alone is no end, and `petg lag` is no name
        if kind == "filament" and name[0] in _PACES:
            return  # `THREAD_FAST_LENGTH`: how filament is fed, and no filament
        if names_something(name):
            yield _Cut(pieces[:start], kind, name, pieces[end:])


def names_something(name: Sequence[str]) -> bool:
    """Whether a name begins with what is no known word, or is a material."""
    words = holder_words()
    if not name or name[0] in words.materials:
        return bool(name)
    known = name[0] in vocabulary().known or name[0] in words.never or name[0] in words.identity
    known = known and name[0] not in words.called
    return not (
        known or name[0].isdigit() or name[0] in words.profiles or name[0].removesuffix("s") in words.profiles
    )


def _is_material(name: tuple[str, ...]) -> bool:
    return name[0] in holder_words().materials
