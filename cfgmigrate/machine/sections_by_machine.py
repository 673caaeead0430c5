"""A section that may be another machine's, since the one beside it goes by the name of this machine.

    MACHINE_NAME "Siskin"        [all]      retraction = 5.1
                                 [siskin]   retraction = 4.9
                                 [dunlin]   retraction = 6.3

In a file that several machines share, each has a section of its name for what it has otherwise. Where one is called as this
machine is, another one of which nobody knows the words is most likely a neighbour's, and who answers a question about it as that
is printed has the neighbour's value written for this machine. So such a question says whose the section may be, and offers to leave
it before anything else.

It silences none: a section of any name may be this machine's. This module takes no value.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import GivenName
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split


def sections_by_machine(
    doubts: Iterable[Doubt], documents: Sequence[Document], given: Iterable[GivenName]
) -> list[Doubt]:
    """The doubts, those about a line of such a section saying so."""
    names = {tuple(split(each.name)) for each in given if each.profile is None}
    of_others: dict[tuple[str, int], str] = {}
    for document in documents if names else ():
        own = next((each.section for each in document.settings if tuple(split(each.section)) in names), "")
        for each in document.settings if own else ():
            words = split(each.section)
            if tuple(words) not in names and words and not vocabulary().known.intersection(words):
                remedy = f"[{own}] beside it is this machine's by its name: if [{each.section}] is another machine's, say ignore; else "
                of_others[document.path, each.line] = remedy
    return [
        dataclasses.replace(each, remedy=of_others[at] + each.remedy)
        if (at := (each.place.file, each.place.line)) in of_others and each.about
        else each
        for each in doubts
    ]
