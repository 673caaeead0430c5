"""Feeders as a person tells of them: by number or by name, and what they are known as in the files.

What they are known as may end in a number (`feeder 2`, `T1`), and that number decides whose is whose. Files count from 0
or from 1, each word for itself; so a feeder's number may be its own or the one before it, and no other. The number of a plug, as
in `E0`, or of a tool may be any: plugs may be crossed.

How the site file writes them is in `site.py`, how the files' own numbers are counted in `machine/feeders.py`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern

#: a number at the end of what a feeder is known as, and the word before it: `feeder 2`, `T1`
_PLUG = pattern(r"[A-Za-z]{1,3}[0-9]{1,2}")
_KNOWN_NUMBER = pattern(r"(?<![^\W\d_])([^\W\d_]*)[ _-]?(?<![/.\d])([0-9]{1,2})$")


class Feeder(Struct, frozen=True):
    """What a feeder is called: by the user, and in the files, where it goes by files, sections or words of its own."""

    number: int
    name: str = ""
    known_as: tuple[str, ...] = ()
    place: Place | None = None


def counts_from(feeders: Sequence[Feeder]) -> Mapping[str, int]:
    """Where the numbers of feeders begin in the files, 0 or 1, by the word that stands before such a number, in small
    letters; of several for one word the first counts. Crossed plugs begin nowhere: what is told of each holds for that one."""
    begins = [
        (known[1].casefold(), int(known[2]) - feeder.number + 1)
        for feeder in reversed(feeders)
        for text in feeder.known_as
        if (known := _KNOWN_NUMBER.search(text))
    ]
    crossed = {word for word, base in begins if base not in (0, 1)}
    return {word: base for word, base in begins if word not in crossed}


def by_their_numbers(feeders: Sequence[Feeder], numbered: bool) -> tuple[Feeder, ...]:
    """Feeders that go by names alone, with the numbers that all of them are known by; as they are where these are
    missing, or the user gave numbers."""
    known = [
        next((int(found[2]) for text in each.known_as if (found := _KNOWN_NUMBER.search(text))), None)
        for each in feeders
    ]
    told = [number for number in known if number is not None]
    if numbered or len(told) < len(feeders) or len(set(told)) < len(told):
        return tuple(feeders)
    first = min(told, default=1)
    return tuple(
        replace(each, number=number + (first == 0)) for each, number in zip(feeders, told, strict=True)
    )


def check_told_apart(feeders: Sequence[Feeder], place: Place) -> None:
    """Raises BadInput where two have one name or number, are known by one plug, or one is known by a feeder's number that is
    another's; `place` is the file's, for one that has none of its own."""
    plugs: dict[str, Feeder] = {}
    for at, feeder in enumerate(feeders):
        for before in feeders[:at]:
            if feeder.number == before.number or (feeder.name and feeder.name == before.name):
                what = f"two feeders are called {feeder.name or feeder.number}"
                raise BadInput(what, feeder.place or place, "give each its own name and number")
        for text in feeder.known_as:
            known = _KNOWN_NUMBER.search(text)
            if _PLUG.fullmatch(text):
                other = plugs.setdefault(text.casefold(), feeder)
                if other.number != feeder.number:
                    what = f"feeders {other.number} and {feeder.number} can't both be known as {text!r}"
                    raise BadInput(what, feeder.place or place, "a plug or a tool's number is of one of them")
            elif known and int(known[2]) - feeder.number not in (-1, 0):
                raise BadInput(
                    f"feeder {feeder.number} can't be known as {text!r}: that is the number of another one",
                    feeder.place or place,
                    f"write {known[2]} as its number, or what it is known as",
                )
