"""Places that a file says are the nozzle's, and at which the probe has to stand over something: where z is homed, an edge of
the bed's map. `home x = 85   # nozzle goes here, the probe is then over the middle`.

The edges of a map are otherwise taken as the probe's own places. With another offset of the probe a place of the nozzle brings
the probe elsewhere, past the edge of the bed perhaps, and then the nozzle comes down on it. Which frame is meant is said by a
word in the name, in the line's remark, or in a remark alone above its lines. Such a line is told with where it has to go so that the
probe stands where it stood, and no value that was worked out for the other frame is written there.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.remark_marks import HEADER_MARK
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.remarks_above import alone_on_its_line
from cfgmigrate.machine.words import split
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.model import ByHand, Change
from cfgmigrate.plan.places_out_of_reach import probe_offsets
from cfgmigrate.rules.engine import Outcome

_MESH = "mesh."
#: mm of a probe's offset that are none
_HARDLY = 0.05
#: lines of one part above which a remark may stand
_MOST_ABOVE = 12
_PLAIN = pattern(r"\(?[ \t]*([-+]?\d{1,4}(?:\.\d{1,6})?)[ \t]*\)?(?:[ \t]*mm)?")
_NOZZLE = pattern(r"(?<![a-z])(?:nozzles?|tips?)(?![a-z])", re.IGNORECASE)
#: what is said of the other frame, and of what a nozzle is besides a place
_NOT_ITS_PLACE = pattern(
    r"(?:not|no|and not|minus|less|from|to|never)[ \t]+(?:(?:of|at|the|a|where)[ \t]+){0,3}(?:nozzles?|tips?)(?![a-z])"
    r"|(?:nozzles?|tips?)[ \t]*(?:minus|less|temp\w*|heat\w*|diam\w*|size|width|bore|wip\w*|clean\w*)",
    re.IGNORECASE,
)
_PROBED = pattern(
    r"(?<![a-z])(?:probe[ds]?|probing|pin|feeler|sensor|touch\w*|map|mesh|grid|raster|level(?:l?ing)?)(?![a-z])",
    re.IGNORECASE,
)
#: lines of a part whose remark or heading ends what stood above
_HEADING = ("[", "#if", "#el", "#end")
#: a setting that somebody took out of force is no remark
_OUT_OF_FORCE = pattern(r"\w+[ \t]*[:=][ \t]*[-+.\d]\S*")
_DEFINED = pattern(r"#[ \t]*define[ \t]+(\w+)")
_REMARK_OF_HEADER = pattern(rf"[ \t]*{HEADER_MARK}([^\r\n]*)")
#: words that names of several things share: an axis, and its ends
_OF_AN_END = frozenset(
    (
        "x",
        "y",
        "z",
        "min",
        "max",
        "minimum",
        "maximum",
        "low",
        "high",
        "from",
        "to",
        "start",
        "end",
        "left",
        "right",
        "front",
        "back",
        "rear",
    )
)


def places_of_the_nozzle(machine: Machine, outcome: Outcome) -> tuple[Beside, ...]:
    """Their lines, in the order of the files; none along an axis where the probe's offset stays."""
    moved = {
        axis: new - old for axis, (old, new) in probe_offsets(machine, outcome) if abs(new - old) >= _HARDLY
    }
    if not moved:
        return ()
    mesh: set[tuple[str, int]] = set()
    other: set[tuple[str, int]] = set()
    for each in machine.every_reading:
        (mesh if each.quantity.startswith(_MESH) else other).add((each.place.file, each.setting.at))
    return tuple(
        told for document in machine.documents for told in _in_document(document, moved, mesh, other)
    )


def _in_document(
    document: Document,
    moved: dict[str, float],
    mesh: Collection[tuple[str, int]],
    other: Collection[tuple[str, int]],
) -> Iterator[Beside]:
    lines = remarks_of(document).text.splitlines()
    axis_named: set[tuple[str, tuple[str, ...]]] = set()
    for setting in document.settings:
        number = _PLAIN.fullmatch(setting.value.strip())
        pieces = tuple(split(setting.key))
        axes = {"x", "y"}.intersection(pieces)
        if setting.state is not State.ACTIVE or number is None or len(axes) != 1:
            continue
        (axis,) = axes
        # a line of codes is a place by itself
        line = setting.line if document.dialect == "command" else 0
        name = f"{setting.section}:{line}", tuple("" if each in axes else each for each in pieces)
        at = document.path, setting.at
        if at in other and at not in mesh:
            continue
        if not (_says_so(document, lines, setting, at in mesh) or name in axis_named):
            continue
        axis_named.add(name)
        if axis in moved:
            new = float(number[1]) - moved[axis]
            why = (
                f"by its words it is a place of the nozzle, and the probe's offset along {axis} changes by {moved[axis]:+g}: the probe "
                f"stands where it stood only if this becomes {new:g}; see that the nozzle gets there and the probe is over the bed"
            )
            yield document.path, setting.line, f"{setting.name} = {setting.value.strip()}", why


def _says_so(document: Document, lines: list[str], setting: Setting, probed: bool) -> bool:
    """Whether words at a setting say that it is a place of the nozzle, and that something is probed there."""
    remarks = remarks_of(document)
    own = " ".join((*split(setting.key), ".", remarks.behind(setting), ".", remarks.of_line(setting)))
    header = document.dialect == "header"
    above = _above_in_header(lines, setting) if header else _above(lines, setting.line)
    frame = next((text for text in (own, above) if _NOZZLE.search(_NOT_ITS_PLACE.sub(" ", text))), None)
    if frame is None:
        return False
    return probed or _PROBED.search(f"{' '.join(split(setting.section))} . {own} . {frame}") is not None


def _above(lines: list[str], line: int) -> str:
    """The remark alone on its line next above, in the same part."""
    for text in reversed(lines[max(line - 1 - _MOST_ABOVE, 0) : line - 1]):
        if not text.strip() or text.lstrip().startswith(_HEADING):
            return ""
        remark = alone_on_its_line(text)[0]
        block = text.strip().removeprefix("/*").removesuffix("*/") if text.strip().startswith("/*") else ""
        if (said := remark or block) and not _OUT_OF_FORCE.fullmatch(said):
            return said
    return ""


def _above_in_header(lines: list[str], setting: Setting) -> str:
    """The same in a header, where `#` begins no remark: a definition of something else ends what stood above, in force or not."""
    ours = _thing(setting.key)
    for text in reversed(lines[max(setting.line - 1 - _MOST_ABOVE, 0) : setting.line - 1]):
        order = text.lstrip(" \t/*")
        if order.startswith("#"):
            defined = _DEFINED.match(order)
            if defined is None or not ours & _thing(defined[1]):
                return ""
        elif not text.strip():
            return ""
        elif (remark := _REMARK_OF_HEADER.match(text)) and (said := remark[1].strip(" \t*/")):
            return said
    return ""


def _thing(name: str) -> set[str]:
    """The words of a name that tell what it is of, without those of an axis and its ends."""
    return {each for each in split(name) if each not in _OF_AN_END}


def but_for_its_places(changes: Collection[Change], places: Collection[Beside]) -> list[Change]:
    """The changes without what they write of the bed's map at such lines: it was worked out for places of the probe."""
    there = {each[:2] for each in places}
    return [
        kept
        for change in changes
        if (kept := _elsewhere(change, there) if change.quantity.startswith(_MESH) else change)
    ]


def _elsewhere(change: Change, there: Collection[tuple[str, int]]) -> Change | None:
    """A change at its other lines alone; None where there are none. Where its own line is such a place, others count only
    as far as they had the very same and get it."""
    edits = tuple(each for each in change.edits if (each.file, each.line) not in there)
    old = change.old
    if old is None or (old.file, old.line) not in there:
        return replace(change, edits=edits) if edits else None
    alike = tuple(each for each in edits if (each.old, each.new) == (old.text, change.new.text))
    if not alike:
        return None
    return replace(change, edits=alike, old=replace(old, file=alike[0].file, line=alike[0].line))


def but_for_its_edges(
    items: Collection[ByHand], machine: Machine, places: Collection[Beside]
) -> list[ByHand]:
    """The steps without those that move a limit so that the probe gets to an edge at such a line."""
    there = {each[:2] for each in places}
    edges = {
        f"axis.{each.quantity[-1]}.{'low' if '.from_' in each.quantity else 'high'}_gain"
        for each in machine.readings
        if each.quantity.startswith(_MESH) and (each.place.file, each.place.line) in there
    }
    return [item for item in items if item.rule not in edges]
