"""Words of a key that mean two things, and what the keys beside it decide of them.

`back` is a retraction beside `forth`; `feed` is a speed in a file that calls its speeds feeds; `d` is a diameter where no
`p` stands so beside it, as it does where the three of a heater's tuning are; to `fill` beside walls and skins is what
the walls go round, and no feeding. The most of a feed, and no word more, may be its speed or its length; nothing beside
it decides that, nor what is fed back with a retraction: it may be drawn back or put back, and be a length or a speed. What goes
back by a remark may be the carriage.
"""

from __future__ import annotations

from collections.abc import Iterable, Set
from functools import lru_cache
from itertools import pairwise

from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary

Pieces = tuple[str, ...]
#: the way forth beside the way back, and words for either
_FORTH = frozenset({"forth", "forward", "forwards"})
#: the way back again, where the same name says it: `v_again` beside `v_back`
_AGAIN = ("again", "return", "returned", "returning", "anew", "restore", "refeed", "reprime", "recover")
_GOES = frozenset({"going", "coming", "go", "come"})


def as_words(pieces: Pieces) -> Pieces:
    """Pieces as words, with forms of verbs as the verb."""
    return tuple(word for piece in pieces for word in ways_of(piece)[0])


def rate_of_feed(key: Pieces) -> Pieces:
    """A key of a file whose remarks say that feeds are speeds, as `feeds mm/min`: there a feed at either end of a key
    is a rate of feed."""
    if len(key) < 2 or not _LENGTHS.isdisjoint((*key, *as_words(key))):
        return key
    at = next((at for at in (len(key) - 1, 0) if key[at] in ("feed", "feeds")), None)
    return key if at is None else (*key[:at], "speed", *key[at + 1 :])


_LENGTHS = frozenset({"mm", "length", "len", "distance", "turn", "temperature", "temp", "single", "longest",
                      "revs", "rev", "revolution", "rotation"})  # fmt: skip


def of_width(key: Pieces, beside: Set[str]) -> Pieces:
    """A key in which `d` is a diameter: it stands with nozzle or filament, and no `p` stands so beside it, as it does where
    the three of a heater's tuning are, or the tuning's has a word of its own."""
    if len(key) != 2 or "d" not in key:
        return key
    at = key.index("d")
    if {"nozzle", "filament"}.isdisjoint(vocabulary().names_in(frozenset(as_words(key[1 - at : 2 - at])))):
        return key
    tuned = " ".join("p" if place == at else piece for place, piece in enumerate(key)) in beside
    told_apart = any(f"{' '.join(key)} {word}" in beside for word in ("gain", "term"))
    meant = "derivative" if tuned and not told_apart else "diameter"
    return tuple(meant if place == at else piece for place, piece in enumerate(key))


@lru_cache(maxsize=1)
def _with_back() -> frozenset[str]:
    """Words that say with `back` what is meant: `pull back`, `push back`."""
    names = ("retraction", "prime", "unload", "y")
    return frozenset(
        word
        for name in names
        for spelling in vocabulary().spelled(name)
        if "back" in spelling
        for word in spelling
        if word not in ("back", *_GOES)
    )


def to_and_fro(key: Pieces, beside: Set[str], written: Pieces = ()) -> Pieces:
    """A key in which `back` is a retraction: another of its section says the same of the way forth. `written` is the key as
    it stands in the file."""
    if "back" not in key or not _with_back().isdisjoint(as_words(key)):
        return key
    if all(_FORTH.isdisjoint(other.split()) for other in beside) and not _comes_again(
        written if "back" in written else key, beside
    ):
        return key
    rest = tuple(piece for piece in key if piece not in _GOES)
    named = any((piece,) in vocabulary().spelled("retraction") for piece in as_words(rest))
    at = rest.index("back")
    return (*rest[:at], *(() if named else ("retract",)), *rest[at + 1 :])


def _comes_again(key: Pieces, beside: Set[str]) -> bool:
    """Whether another key of the section says of the way forth again what a key says of the way back; a letter before it may
    be the symbol of another measure, and the number in it another feeder's."""
    plain = _without_number(key)
    first = 1 if len(plain[0]) == 1 else 0
    names = {tuple(again if piece == "back" else piece for piece in plain[first:]) for again in _AGAIN}
    return any(_without_number(tuple(other.split()))[first:] in names for other in beside)


def _without_number(key: Pieces) -> Pieces:
    return tuple(piece for piece in key if not piece.isdigit()) or key


#: to fill, what it is beside the parts of a printed layer, and what it fills elsewhere
_FILLS = frozenset({"fill", "fills", "filling", "filled"})
_LAYERED = frozenset({"wall", "walls", "perimeter", "perimeters", "skin", "skins", "shell", "shells", "infill", "outline", "brim", "raft", "skirt", "bridge", "bridges"})  # fmt: skip
_FED = ("filament", "feeder", "nozzle", "tube", "length", "pull", "mm")


def of_layers(keys: Iterable[str]) -> bool:
    """Whether two of the keys of a section and more are about the parts of a printed layer."""
    return len({word for key in keys for word in _LAYERED.intersection(key.split())}) > 1


def filled(key: Pieces, layered: bool) -> Pieces:
    """A key in which `fill` is the inside of a print: it stands beside walls, and names nothing of the feed path."""
    if not layered or _FILLS.isdisjoint(key):
        return key
    named = vocabulary().names_in(frozenset(as_words(tuple(each for each in key if each not in _FILLS))))
    return key if named.intersection(_FED) else tuple("infill" if each in _FILLS else each for each in key)


#: a feed or what feeds, in a key that says no more of it than that it has a most
_FEEDS = frozenset({"feed", "feeds", "feeder", "feeding", "extruder", "extrude", "extrusion", "e", "drive", "filament"})  # fmt: skip


@lru_cache(maxsize=1)
def _most() -> frozenset[str]:
    return frozenset(spelling[0] for spelling in vocabulary().spelled("maximum") if len(spelling) == 1)


def says_only_the_most(key: Pieces) -> bool:
    """Whether a key says of a feed that it has a most, as `feed_max`, and neither of its speed nor of its length."""
    said = [word for word in key if word not in vocabulary().fillers]
    return any(word in _most() for word in key) and all(word in _most() | _FEEDS for word in said)


def back_of_what(section: Pieces, key: Pieces) -> bool:
    """Whether only a section's verb with a key's `back` say that filament is drawn back, `[draw] back pace`: it may as well
    be how it comes back."""
    said = vocabulary().names_in
    alone = said(frozenset(key)) | said(frozenset(section))
    return "back" in key and "back" not in section and "retraction" not in alone


#: what is done with filament before a move, which a push undoes
_PULLS = frozenset({"pull", "draw", "haul", "tug"})
#: which way such a push goes
_ONWARDS = frozenset({"on", "onward", "onwards", "along", "out", "ahead", "forth"})


def pushed_again(key: Pieces, beside: Set[str]) -> Pieces:
    """A key in which a push is the return after a retraction: another of its section says the same of a pull, and of the way
    back where it says which way the push goes."""
    if "push" not in key or not _PULLS.isdisjoint(key) or len(key) < 2:
        return key
    at = key.index("push")
    if key[at + 1 : at + 2] == ("back",):
        return key  # which says it already, whatever stands beside
    goes = at + 1 if key[at + 1 : at + 2] and key[at + 1] in _ONWARDS else 0
    forth = tuple("back" if place == goes else piece for place, piece in enumerate(key)) if goes else key
    names = {" ".join((*forth[:at], verb, *forth[at + 1 :])) for verb in _PULLS}
    if names.isdisjoint(beside):
        return key
    return (*key[:at], "push", "again", *key[(goes or at) + 1 :])


def back_by_itself(section: Pieces, key: Pieces) -> bool:
    """Whether `back` is all that says of a key that filament comes or goes back: nothing says which of the two."""
    if "back" not in key:
        return False
    rest = as_words(tuple(piece for piece in key if piece != "back"))
    said = vocabulary().names_in(frozenset(rest)) | vocabulary().names_in(frozenset(section))
    return said.isdisjoint(("prime", "retraction", "pull")) and _with_back().isdisjoint(rest)


def draws_in(key: Pieces) -> bool:
    """Whether a key says that filament is drawn in: as it is loaded, or into the tube again as a snail into its house."""
    return any(pair in (("draw", "in"), ("pull", "in")) for pair in pairwise(as_words(key)))


def feeds_back(key: Pieces) -> bool:
    """Whether a key says that filament is fed back, which is either way."""
    return any(
        pair in (("feed", "back"), ("feeds", "back"), ("fed", "back"), ("feeding", "back"))
        for pair in pairwise(key)
    )


#: what else goes back, and what is drawn back
_MOVED, _OF_THREAD = (
    frozenset({"carriage", "bed", "x", "y", "z"}),
    frozenset({"retraction", "filament", "feeder", "feed", "nozzle"}),
)


def goes_back_itself(named: Pieces, remark: Pieces) -> bool:
    """Whether a remark says of a name that speaks of no retraction that something goes back which is none of the filament's:
    `v_back = 40 ; carriage return, mm/s`."""
    said = vocabulary().names_in
    about = said(frozenset(as_words(named))) | said(frozenset(as_words(remark)))
    return not said(frozenset(as_words(remark))).isdisjoint(_MOVED) and about.isdisjoint(_OF_THREAD)
