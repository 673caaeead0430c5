"""Places of the nozzle that were chosen so that the probe stood over a round place: `home over = 178.4, 128` where the probe
sat 28.4 mm to the left and 12 mm behind, over the middle of the bed. They are a list, two settings that differ in their axis
alone, or the two letters of a move.

With another offset of the probe such a place brings the probe somewhere else, and no rule sees it: levelling then measures
beside the screw, or the nozzle is driven past its limit. What gives it away is arithmetic: with the old offset both numbers
come to multiples of 5 mm, or to an edge of the bed's map, and by themselves they do not. An offset in whole mm comes to such
places by chance, so of two settings or a move a word of the probe has to stand beside them then. The offset may be one that
another file wins over: it was the one that held when the place was chosen. Such a line is told, with where it would have to go.

Nothing is changed by this: whether the round place is what was meant, a person knows.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from itertools import takewhile

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.listed_letters import speaks_of
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.remarks_above import alone_on_its_line
from cfgmigrate.machine.words import split
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.places_out_of_reach import probe_offsets
from cfgmigrate.rules.engine import Outcome

#: mm; places are chosen in such steps (common practice, no source), and read this finely
ROUND_STEP, ROUND_WITHIN = 5.0, 0.06
#: lines of one code above which a remark may stand
_MOST_ABOVE = 12
#: what may be a place although it is read as something
_PLACES = ("park.", "protected.", "script.")
#: a probe that is a pin, which is no pin of a board there
_PIN = pattern(
    r"(?i)(?<![a-z])(?:the[ \t]+pin(?![a-z])|pin[ \t]+(?:is|goes|stands|over|above)(?![a-z])|feeler)"
)
#: z alone is homed; so the probe acts at the place that was gone to before
_HOMES_Z = pattern(r"(?i)[ \t]*(?:N\d+[ \t]*)?G0*28(?!\d)(?=[^;(]*Z)(?![^;(]*[XY])")
_PLAIN = pattern(r"[-+]?\d{1,4}(?:\.\d{1,6})?")


class _Pair(Struct, frozen=True):
    """Two numbers that may be a place. `second` is where the second one stands, if on a line of its own."""

    first: Setting
    place: tuple[float, float]
    second: Setting | None = None


def places_by_probe(machine: Machine, outcome: Outcome) -> Iterator[Beside]:
    """Their lines, in the order of the files; none where the offset stays."""
    offsets = dict(probe_offsets(machine, outcome))
    if len(offsets) < 2 or all(abs(new - old) < ROUND_WITHIN for old, new in offsets.values()):
        return
    by_x, by_y = (new - old for old, new in offsets.values())
    olds = tuple(dict.fromkeys([(offsets["x"][0], offsets["y"][0]), *_offsets_of_files(machine)]))
    of_probe = _lines_read(machine, "probe.")
    other = _lines_read(machine, "") - _lines_read(machine, *_PLACES)
    edges = [_numbers(machine, f"mesh.from_{axis}", f"mesh.to_{axis}") for axis in "xy"]
    for document in machine.documents:
        lines = remarks_of(document).text.splitlines()
        for pair in _pairs(document):
            (x, y), at = pair.place, (document.path, pair.first.line)
            if at in of_probe or (pair.second and at in other) or (_is_round(x) and _is_round(y)):
                continue
            spoken = pair.second is not None and _of_the_probe(document, lines, pair.first, pair.second)
            over = next(
                (
                    (x + old_x, y + old_y)
                    for old_x, old_y in olds
                    if (pair.second is None or spoken or not (_is_whole(old_x) and _is_whole(old_y)))
                    and _is_chosen(x + old_x, edges[0], spoken and not _is_whole(x))
                    and _is_chosen(y + old_y, edges[1], spoken and not _is_whole(x))
                ),
                None,
            )
            if over:
                why = (
                    f"with the old offset the probe stood over {over[0]:g}, {over[1]:g} there; to stand there again the place has to be "
                    f"{x - by_x:g}, {y - by_y:g}"
                )
                yield document.path, pair.first.line, _text(pair), why


def _offsets_of_files(machine: Machine) -> Iterator[tuple[float, float]]:
    """The offsets that files state, each by both of its axes, whether they hold or not."""
    along: dict[tuple[str, str], float] = {}
    for each in machine.every_reading:
        if each.quantity in ("probe.offset_x", "probe.offset_y") and each.value is not None:
            along.setdefault((each.place.file, each.quantity[-1]), each.value)
    for (file, axis), value in along.items():
        if axis == "x" and (file, "y") in along:
            yield value, along[file, "y"]


def _numbers(machine: Machine, *quantities: str) -> set[float]:
    return {
        each.value for each in machine.every_reading if each.quantity in quantities and each.value is not None
    }


def _lines_read(machine: Machine, *beginnings: str) -> set[tuple[str, int]]:
    return {
        (each.place.file, each.place.line)
        for each in machine.every_reading
        if each.quantity.startswith(beginnings)
    }


def _pairs(document: Document) -> Iterator[_Pair]:
    """The places that a file may tell: lists, and an x with the y of the same name or line."""
    open_x: dict[tuple[object, ...], Setting] = {}
    for setting in document.settings:
        if setting.state is not State.ACTIVE:
            continue
        if _PLAIN.fullmatch(setting.value.strip()) is None:
            if place := _listed(setting.value):
                yield _Pair(setting, place)
            continue
        pieces = tuple(split(setting.key))
        axes = {"x", "y"}.intersection(pieces)
        if len(axes) != 1:
            continue
        rest = tuple("" if each in axes else each for each in pieces)
        name = (setting.section, setting.line if rest == ("",) and document.dialect == "command" else 0, rest)
        if "x" in axes:
            open_x[name] = setting
        elif x := open_x.pop(name, None):
            yield _Pair(x, (float(x.value), float(setting.value)), setting)


def _listed(value: str) -> tuple[float, float] | None:
    """The first two numbers of a list of two or three."""
    read = read_value(value)
    if not isinstance(read, Items) or not 2 <= len(read.items) <= 3:
        return None
    first, second = read.items[:2]
    if not isinstance(first, Number) or not isinstance(second, Number):
        return None
    return first.value, second.value


def _text(pair: _Pair) -> str:
    named = f"{pair.first.name} = {' '.join(pair.first.value.split())}"
    if pair.second is None:
        return named
    return f"{named}, {pair.second.key} = {pair.second.value.strip()}"


def _of_the_probe(document: Document, lines: Sequence[str], *settings: Setting) -> bool:
    """Whether names or remarks of these settings speak of the probe, or the remark alone above lines of their code."""
    remarks = remarks_of(document)
    texts = [text for each in settings for text in (each.section, each.key, remarks.of_line(each))]
    code = settings[0].section if document.dialect == "command" else ""
    if code:
        number = settings[0].line - 1
        begins = pattern(rf"(?:N\d+[ \t]*)?{re.escape(code)}(?!\d)")
        up = takewhile(
            lambda at: begins.match(lines[at - 1].lstrip()), range(number, max(number - _MOST_ABOVE, 0), -1)
        )
        above = number - sum(1 for _ in up)
        texts.append(alone_on_its_line(lines[above - 1])[0] if above else "")
        if (after := "".join(lines[number + 1 : number + 2])) and _HOMES_Z.match(after):
            return True
    return any(speaks_of(text, "probe") or _PIN.search(text) for text in texts)


def _is_chosen(number: float, edges: Collection[float], whole: bool) -> bool:
    """Whether a person chose such a place; a `whole` number is enough where the nozzle's is none."""
    near = any(abs(number - each) < ROUND_WITHIN for each in edges)
    return _is_round(number) or near or (whole and _is_whole(number))


def _is_whole(number: float) -> bool:
    return abs(number - round(number)) < ROUND_WITHIN


def _is_round(number: float) -> bool:
    return abs(number - round(number / ROUND_STEP) * ROUND_STEP) < ROUND_WITHIN
