"""What stands above the lines of a listing in codes: the heading of each, as far as it is a remark alone on its line.

A code says nothing by its name, `M71 C5`; the heading above it does: `; -- net of the bed`. Whoever has to judge what such a
line may be reads both. What is said of one word by itself is in the reading of the file; this is what a person sees above it.
"""

from __future__ import annotations

from collections.abc import Mapping

from cfgmigrate.dialects.document import Document, readable
from cfgmigrate.ground.once import once
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.remarks_above import alone_on_its_line

#: a longer remark tells a story
LONGEST_HEADING = 120


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
