"""Where an axis ends, by words that may be another thing's: how long a table is, how fast the axis moves, or which pin a switch has.

A table stays as long as it is, however far the tip gets. So a name with a table's word is an axis's end only where it
also says travel, an end or a place, or where the table has a lowest and a highest of the axis. A name that says of motion
nothing but a most may be a top speed; it is an end where a lowest stands so beside it, or where a top speed of the axis is
read. What is neither is asked about where no other line is read as that end, and is left where one is.

This module looks at names only, and at what else was read; what a person says of a setting it leaves as it is said.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import lru_cache

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_TABLE = "how long the table is, which stays"
_SPEED = "how fast the axis may move"
_PIN = "the pin or the state of a switch at the end"
#: a small whole number without a unit is a pin or a state as well
_SMALL = pattern(r"\d{1,2}")
_STOPS = frozenset(("stop", "stops"))
#: words beside a table's by which its axis moves
_MOVES = frozenset(
    ("carriage", "drive", "move", "moves", "moving", "run", "runs", "go", "goes", "position", "pos", "place")
)
_MOTION = frozenset(
    (
        "motion",
        "motions",
        "movement",
        "movements",
        "move",
        "moves",
        "moving",
        "go",
        "goes",
        "runs",
        "kinematic",
        "kinematics",
        "planner",
    )
)
#: these say that there is a bound, and not that it is a place's
_NO_PLACE = frozenset(("limit", "limits", "bound", "bounds", "boundary", "allowed"))
_MOST = frozenset(("max", "maximum", "maximal", "most", "cap", "peak", "top", *_NO_PLACE))


def is_of_a_table(name: str) -> bool:
    """Whether a name has a table's word, and says nothing of what is printed on it."""
    words = _words(name)
    return "bed" in vocabulary().names_in(words) and not _says_prints(words)


def ask_what_ends(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Takes back each end of an axis whose name may be a table's length or a top speed, and asks where nothing else is read
    as that end."""
    by_path = {document.path: document for document in documents}
    ends = [each for each in found.readings if _end_of(each)]
    told = {id(each) for each in ends if names and _is_told(names, by_path, each)}
    fast = {each.reading.quantity for each in found.readings if each.reading.quantity.endswith(".max_speed")}
    else_meant: dict[int, str] = {}
    for each in ends:
        other = "" if id(each) in told else _else_meant(each, ends, fast)
        if other:
            else_meant[id(each)] = other
    if not else_meant:
        return
    plain = {each.reading.quantity for each in ends if id(each) not in else_meant}
    asked: Mapping[tuple[str, int], list[Collected]] = defaultdict(list)
    for each in ends:
        if id(each) in else_meant:
            asked[each.reading.place.file, each.reading.setting.at].append(each)
    for several in asked.values():
        first = several[0].reading
        if plain.isdisjoint(each.reading.quantity for each in several):
            found.doubts.append(_doubt(several, else_meant[id(several[0])]))
        else:
            found.unread.append(Unread(first.place, line_of(first.setting), first.setting))
    found.readings[:] = [each for each in found.readings if id(each) not in else_meant]


def _else_meant(each: Collected, ends: Sequence[Collected], fast: set[str]) -> str:
    """What else than an axis's end a name may say, "" where it says nothing else."""
    axis = _end_of(each)
    name = each.reading.setting.name
    if is_of_a_table(name) and axis != "z":
        beside = any(
            _bounds_too(other, each, axis) and is_of_a_table(other.reading.setting.name) for other in ends
        )
        return "" if beside or not _words(name).isdisjoint(_travels()) else _TABLE
    if _is_the_most_of_motion(each):
        beside = any(
            _bounds_too(other, each, axis) and _of_motion(other.reading.setting.name) for other in ends
        )
        return "" if beside or f"axis.{axis}.max_speed" in fast else _SPEED
    small = _SMALL.fullmatch(each.reading.setting.value.strip()) and int(each.reading.setting.value)
    return _PIN if small and not _STOPS.isdisjoint(_words(name)) else ""


def _is_the_most_of_motion(each: Collected) -> bool:
    words, reading = _words(each.reading.setting.name), each.reading
    if (
        not reading.quantity.endswith(".max")
        or words.isdisjoint(_MOST)
        or "mm" in (*words, *split(reading.setting.value))
    ):
        return False
    return _of_motion(reading.setting.name) and words.isdisjoint((_travels() | {"far"}) - _MOTION - _NO_PLACE)


def _of_motion(name: str) -> bool:
    return not _words(name).isdisjoint(_MOTION)


def _end_of(each: Collected) -> str:
    """The axis of which a reading is an end, "" where it is none."""
    thing, _, rest = each.reading.quantity.partition(".")
    axis, _, end = rest.partition(".")
    return axis if thing == "axis" and end in ("min", "max") else ""


def _bounds_too(other: Collected, each: Collected, axis: str) -> bool:
    """Whether another reading is the other end of an axis."""
    return _end_of(other) == axis and other.reading.quantity != each.reading.quantity


def _is_told(names: Names, documents: Mapping[str, Document], each: Collected) -> bool:
    return names.find(documents[each.reading.place.file], each.reading.setting) is not None


def _doubt(several: Sequence[Collected], other: str) -> Doubt:
    first = several[0].reading
    meant = [each.reading.quantity for each in several]
    key = first.setting.name.replace("\\", "\\\\").replace('"', '\\"')
    says = meant[0] if len(meant) == 1 else f"[{', '.join(meant)}]"
    why = f"this may be {quantity(meant[0]).label}, or {other}; it stays as it is"
    remedy = f'say so in cfgmigrate.yaml, under meanings: "{key}": {says}, or ignore'
    return Doubt(first.place, line_of(first.setting), why, remedy, about=meant[0])


@lru_cache(maxsize=4096)
def _words(name: str) -> frozenset[str]:
    pieces = split(name)
    return frozenset((*pieces, *(word for piece in pieces for word in ways_of(piece)[0])))


def _says_prints(words: frozenset[str]) -> bool:
    """Whether a name with a table's word says what is printed on it: a build plate is a table."""
    prints = {spelling[0] for spelling in vocabulary().spelled("build") if len(spelling) == 1}
    return not words.isdisjoint(prints - {"build"} if "plate" in words else prints)


@lru_cache(maxsize=1)
def _travels() -> frozenset[str]:
    """Words by which an end is one of travel, or a place."""
    spelled = (
        *vocabulary().spelled("limit"),
        *vocabulary().spelled("position"),
        *vocabulary().spelled("from"),
    )
    return _MOVES | {"to", "reaches", "ends"} | {spelling[0] for spelling in spelled if len(spelling) == 1}
