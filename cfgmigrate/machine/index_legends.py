"""What numbers and letters at the end of keys stand for, by a list in a file's opening remark:

    Drives:  1 = x, head left-right   2 = y, bed   3 = z   4 = filament   5 = camera turntable
    Heaters: A = nozzle   B = bed

so that `STEPS_3` is of z, `LAG_4` of the one thing that feeds, and `STEPS_5` of a turntable, whatever else its words say. A list of numbers
names x and y; one of letters names three parts or two that are heated. It counts where several names stand before
several of its entries. A letter that is a unit's sign as well is that where the name says what it measures, or stands before no other of the
list: `FEEDER_RUN_A`. A number behind a word for a tool or a feeder counts these: `PULL_T1` is not of the axis that is drive 1.

Only words are parted here; what they mean together is the matter of `matching.py`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from msgspec import Struct, field

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
#: an entry up to the next one: its first words are what it is, and the rest tells of it
_ENTRY = pattern(
    r"(?:^|(?<=[\s,;:.(]))([0-9]{1,2}|[A-Z])[ \t]{0,3}[=:][ \t]{0,3}(?:the[ \t]+)?([A-Za-z][A-Za-z0-9-]{0,20}(?: (?![A-Z0-9]{1,2}[ \t]*[=:])[A-Za-z0-9-]{1,20}){0,4})"
)
_AXIS = pattern(r"(?:axis )?([xyzXYZ])(?:[ -]?axis)?")
_AXES = frozenset("xyz")
_HEATED = frozenset({"nozzle", "hotend", "bed", "chamber"})
#: words that a feeder may be named by beside its own
_BESIDE = frozenset({"motor", "axis", "the", "of", "for"})
#: spellings of a feeder that another drive of a list may be as well
_OF_OTHERS = frozenset(
    {
        ("tool",),
        ("drive", "wheel"),
        ("drive", "unit"),
        ("drive", "gear"),
        ("drive", "roller"),
        ("pusher",),
        ("puller",),
        ("e",),
    }
)
#: before the words of a drive that neither is an axis nor feeds: its names are no one's of the trade
_STRANGE = "another"
#: so many names stand before several entries of a list, and so many entries before which they do
_NAMES, _FEWEST = 2, 2


class Indexes(Struct, frozen=True):
    """Last pieces of keys with the pieces of what each stands for, and the names that stand before several of a list's letters."""

    told: Mapping[str, Pieces] = field(default_factory=dict)
    lettered: frozenset[Pieces] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.told)


def indexes_told(opening: str, keys: Iterable[Pieces]) -> Indexes:
    """What the opening remark's lists say of the ends of keys; nothing where it has none."""
    told: dict[str, set[str]] = defaultdict(set)
    for index, said in _ENTRY.findall(opening):
        told[index].add(said.strip(" -"))
    once = {index: next(iter(said)) for index, said in told.items() if len(said) == 1}
    paths = [key for key in keys if len(key) > 1]
    numbers = {index: said for index, said in once.items() if index.isdigit()}
    letters = {index: said for index, said in once.items() if index.isalpha() and index not in "XYZE"}
    found: dict[str, Pieces] = {}
    lettered = _before_several(letters, paths)
    if {"x", "y"} <= {_axis(said) for said in numbers.values()} and _used(_before_several(numbers, paths)):
        found |= _meant(numbers)
    heated = [said for said in letters.values() if not _HEATED.isdisjoint(_names(said))]
    if len(heated) >= _FEWEST and _used(lettered):
        found |= {index.lower(): tuple(split(said)) for index, said in letters.items()}
    return Indexes(found, lettered)


def is_list_of_parts(remark: str) -> bool:
    """Whether a line of a remark says of several numbers or letters what each is: it is no setting that was taken out."""
    return len(_ENTRY.findall(remark)) > _FEWEST


def with_index_first(key: Pieces, indexes: Indexes) -> Pieces:
    """A key with what its last piece stands for as its first words; the same for any other."""
    meant = indexes.told.get(key[-1]) if len(key) > 1 else None
    if not meant or (key[-1].isdigit() and _counts_itself(key[-2], meant)):
        return key
    unit = unit_written(key[-1].upper()) if key[-1].isalpha() else None
    is_unit = unit is not None and (key[:-1] not in indexes.lettered or unit.of in _names(" ".join(key[:-1])))
    return key if is_unit else (*meant, *key[:-1])


def _counts_itself(before: str, meant: Pieces) -> bool:
    """Whether the number behind a word counts what that says, a tool or a feeder, and is not what a list of drives means by it."""
    counts = before in holder_words().tool or (before,) in vocabulary().spelled("feeder")
    return counts and before not in meant and meant[0] != "feeder"


def _axis(said: str) -> str:
    found = _AXIS.fullmatch(said)
    return found[1].lower() if found else ""


def _names(said: str) -> frozenset[str]:
    return vocabulary().names_in(frozenset(word for piece in split(said) for word in ways_of(piece)[0]))


def _before_several(told: Mapping[str, str], paths: Iterable[Pieces]) -> frozenset[Pieces]:
    """The names that stand before several of a list's entries."""
    before: dict[Pieces, set[str]] = defaultdict(set)
    for path in paths:
        if path[-1].upper() in told:
            before[path[:-1]].add(path[-1])
    return frozenset(name for name, entries in before.items() if len(entries) >= _FEWEST)


def _used(names: frozenset[Pieces]) -> bool:
    return len(names) >= _NAMES


def _meant(numbers: Mapping[str, str]) -> dict[str, Pieces]:
    """What each number stands for in pieces. One thing that feeds is the machine's; of several each keeps its number."""
    feeds = [index for index, said in numbers.items() if _feeds(said)]
    found: dict[str, Pieces] = {}
    for index, said in numbers.items():
        if axis := _axis(said):
            found[index] = (axis,)
        elif index in feeds:
            own = next((piece for piece in split(said) if piece.isdigit()), index)
            found[index] = ("feeder",) if len(feeds) == 1 else ("feeder", own)
        else:
            found[index] = (() if _AXES.intersection(split(said)) else (_STRANGE,)) + tuple(split(said))
    return found


def _feeds(said: str) -> bool:
    """Whether words name what pushes the filament, or the filament alone, and nothing else beside but which of several it is."""
    beside = {*_BESIDE, *holder_words().sides, *holder_words().counts}
    pieces = tuple(piece for piece in split(said) if not piece.isdigit() and piece not in beside)
    spelled = vocabulary().spelled
    return pieces in spelled("filament") or (pieces in spelled("feeder") and pieces not in _OF_OTHERS)
