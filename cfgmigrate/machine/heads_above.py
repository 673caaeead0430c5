"""Whether a current is rms or peak, as all say it who speak of the whole of its file: its head, its table and its lines of units, and the
heads of the files that take it in.

What its own file says counts first, and two of them that say different things say nothing: then nobody can tell which the
number is. A header is the text of the one that takes it in, so that one's head is its own; a file of another kind may be
another board's, and a peak that is said of the file above it is asked, as is one that only a file beside it says of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.order import includers_of
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.rms_or_peak import QUALIFIERS, UNCLEAR

#: behind the path of a file that says it
_OF_ITS_OWN = "says peak of its own numbers, and whether that holds for this file too is not said"
_BOTH = "this file says rms and peak, and not which of them this number is"


class CalledAbove(Struct, frozen=True):
    """`rms` or `peak`, `UNCLEAR` with the reason, or "" where no file above one or beside it says anything."""

    word: str = ""
    why: str = ""


NONE_ABOVE = CalledAbove()


def called_above(documents: Iterable[Document]) -> Mapping[str, CalledAbove]:
    """What the heads of other files say of the currents of each, by its path."""
    by_path = {each.path: each for each in documents if each.path}
    heads = {path: remarks_of(each).called for path, each in by_path.items()}
    if not any(heads.values()):
        return {}
    includers = includers_of(by_path)
    peaks = [path for path, word in heads.items() if word == "peak"]
    return {path: _above(path, by_path, heads, includers, peaks) for path in by_path}


def called_together(own: Iterable[str], above: CalledAbove) -> CalledAbove:
    """What is said of a file's currents by all that speak of them: `own` is what its own head and lines say."""
    said = frozenset(own) - {""}
    clear = said - {UNCLEAR}
    if len(clear) == 1:
        return CalledAbove(next(iter(clear)))
    return CalledAbove(UNCLEAR, _BOTH) if said else above


def _above(
    path: str,
    by_path: Mapping[str, Document],
    heads: Mapping[str, str],
    includers: Mapping[str, list[tuple[str, int]]],
    peaks: list[str],
) -> CalledAbove:
    found: dict[str, str] = {}
    reached, rest = {path}, [path]
    while rest:
        for other, _ in includers.get(rest.pop(), ()):
            if other not in reached:
                reached.add(other)
                if heads[other]:
                    found.setdefault(heads[other], other)  # what takes that one in says it from further away
                else:
                    rest.append(other)
    if not found:
        other = next((each for each in peaks if each != path), "")
        return CalledAbove(UNCLEAR, f"the head of {other} {_OF_ITS_OWN}") if other else NONE_ABOVE
    word, other = next(iter(found.items()))
    if len(found) > 1 or word not in QUALIFIERS:
        return CalledAbove(
            UNCLEAR, f"the head of {other} says rms and peak, and not which of them this number is"
        )
    if word == "peak" and by_path[path].dialect != "header":
        return CalledAbove(UNCLEAR, f"the head of {other}, which takes this file in, {_OF_ITS_OWN}")
    return CalledAbove(word)
