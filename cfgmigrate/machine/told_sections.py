"""The settings of a section of which the site file says whose it is: `feeders: {port: {known_as: ["[socket 5]"]}}`.

A section in brackets is that section and what is below it, in every file of the machine. It goes before all that the section's own
words or numbers say: `serves = drive 1` may be counted from 0 or from 1, and the person who says it has looked. A section that is said
of two feeders is nobody's here. This module looks at no values.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.feeder_names import SettingAt


def by_told_sections(
    documents: Iterable[Document], told: Sequence[Feeder]
) -> Iterator[tuple[SettingAt, int]]:
    """The settings of told sections, each with its feeder, from 1 on."""
    sections = _sections(told)
    for document in documents if sections else ():
        for setting in document.settings:
            place = setting.section.strip().casefold()
            while place and place not in sections:
                place = place.rpartition(".")[0]
            if place:
                yield (document.path, setting.at), sections[place]


def _sections(told: Sequence[Feeder]) -> dict[str, int]:
    said: dict[str, set[int]] = {}
    for each in told:
        for text in map(str.strip, each.known_as):
            if text.startswith("[") and text.endswith("]") and (section := text[1:-1].strip()):
                said.setdefault(section.casefold(), set()).add(each.number)
    return {section: numbers.pop() for section, numbers in said.items() if len(numbers) == 1}
