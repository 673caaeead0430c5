"""What stands above the lines of a listing in codes: the heading of each, as far as it is a remark alone on its line.

A code says nothing by its name, `M71 C5`; the heading above it does: `; -- net of the bed`. Whoever has to judge what such a
line may be reads both. What is said of one word by itself is in the reading of the file; this is what a person sees above it.

And what stands next to it: a code right below the one of the accelerations of the axes, with numbers like those, may have those of
occasions, `P printing  R pulling back  T empty`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from cfgmigrate.dialects.document import Document, readable
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.remarks_above import alone_on_its_line

#: a longer remark tells a story
LONGEST_HEADING = 120
#: accelerations of occasions are so many times those of the axes, at least and at most (common practice, no source)
LIKE_THE_AXES = (0.1, 4.0)
#: lines between two codes of one kind, with a remark
_NEXT = 3
_NUMBER = pattern(r"\d{2,6}(?:\.\d{1,4})?")


def heading_of(unread: Unread, machine: Machine) -> str:
    """The heading above a line of a file of codes; "" where there is none, and in any other file."""
    return _headings(machine.document(unread.place.file)).get(unread.place.line, "")


@once
def _headings(document: Document) -> Mapping[int, str]:
    """By line the remark above the run of lines that it stands in; a blank line ends a run."""
    if document.dialect != "command":
        return {}
    found: dict[int, str] = {}
    heading = ""
    for number, line in enumerate(readable(document.data).splitlines(), 1):
        remark, _ = alone_on_its_line(line)
        if remark or not line.strip():
            heading = remark if len(remark) <= LONGEST_HEADING else ""
        elif heading:
            found[number] = heading
    return found


def below_accelerations(machine: Machine, least: float) -> Iterator[tuple[str, int, str]]:
    """The lines of codes right below one that sets the accelerations of axes, with their words whose numbers are like those, and above
    `least`: `[M863] P2500 (printing), T3000 (empty)`."""
    rows: dict[tuple[str, int], list[float]] = {}
    for each in machine.every_reading:
        if (
            each.quantity.startswith("axis.")
            and each.quantity.endswith(".max_acceleration")
            and each.value
            and machine.document(each.place.file).dialect == "command"
        ):
            rows.setdefault((each.place.file, each.place.line), []).append(each.value)
    found: dict[tuple[str, int], list[str]] = {}
    for unread in machine.unread if rows else ():
        file, line, setting = unread.place.file, unread.place.line, unread.setting
        above = next((rows[file, line - n] for n in range(1, _NEXT) if (file, line - n) in rows), None)
        if above is None or not _NUMBER.fullmatch(setting.value):
            continue
        number = float(setting.value)
        if LIKE_THE_AXES[0] * max(above) <= number <= LIKE_THE_AXES[1] * max(above) and number > least:
            said = f" ({unread.said.strip(': ')})" if unread.said.startswith(":") else ""
            words = found.setdefault((file, line), [])
            words.append(f"{'' if words else f'[{setting.section}] '}{setting.key}{setting.value}{said}")
    yield from ((file, line, ", ".join(words)) for (file, line), words in found.items())
