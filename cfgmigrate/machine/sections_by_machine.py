"""A section that may be another machine's, since the one beside it goes by the name of this machine.

    MACHINE_NAME "Siskin"        [all]      retraction = 5.1
                                 [siskin]   retraction = 4.9
                                 [dunlin]   retraction = 6.3

In a file that several machines share, each has a section of its name for what it has otherwise. Where one is called as this
machine is, another one of which nobody knows the words is most likely a neighbour's, and who answers a question about it as that
is printed has the neighbour's value written for this machine. So such a question says whose the section may be, and offers to leave
it before anything else.

It silences none: a section of any name may be this machine's. A line that is read whatever its section is called, as what says where
an end stop acts, is not read in such a section: where this machine's own section has the line too, that is told, else it is asked.
This module takes no value.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.ground.findings import Doubt, Likeness
from cfgmigrate.machine.collection import line_of
from cfgmigrate.machine.model import GivenName, Reading
from cfgmigrate.machine.precedence import STAYS_ANOTHERS
from cfgmigrate.machine.quantities import PROTECTED, label_of, quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_ELSE = "else "


def sections_by_machine(
    doubts: Iterable[Doubt], documents: Sequence[Document], given: Iterable[GivenName]
) -> list[Doubt]:
    """The doubts, those about a line of such a section saying so."""
    of_others = {
        (document.path, setting.line): f"{_whose(own, setting.section)} {_ELSE}"
        for document, own, others in _sections(documents, given)
        for setting in document.settings
        if setting.section in others
    }
    return [
        dataclasses.replace(each, remedy=of_others[at] + each.remedy)
        if (at := (each.place.file, each.place.line)) in of_others
        and each.about
        and not each.remedy.startswith(of_others[at].removesuffix(_ELSE))
        else each
        for each in doubts
    ]


def without_sections_of_others(
    readings: Iterable[Reading],
    documents: Sequence[Document],
    given: Iterable[GivenName],
    named: Callable[[Reading], bool],
) -> tuple[list[Reading], list[Reading], list[Doubt]]:
    """The readings without those of such sections; those of these that are asked for, and what is to be said of all of them.
    `named` tells what a person said the meaning of, which stays."""
    found = {document.path: (document, own, others) for document, own, others in _sections(documents, given)}
    kept: list[Reading] = []
    asked: list[Reading] = []
    doubts: list[Doubt] = []
    for each in readings:
        document, own, others = found.get(each.place.file, (None, "", frozenset[str]()))
        if document is None or each.setting.section not in others or named(each):
            kept.append(each)
            continue
        if each.quantity.startswith(PROTECTED):
            continue
        told = quantity(each.quantity).protected and _has_it_too(document, own, each)
        doubts.append(_told_of(each, own) if told else _asked_of(each, own))
        asked += [] if told else [each]
    return kept, asked, doubts


def _sections(
    documents: Sequence[Document], given: Iterable[GivenName]
) -> Iterator[tuple[Document, str, frozenset[str]]]:
    """Each file with a section of this machine's name, with that and with those of which nobody knows a word."""
    names = {tuple(split(each.name)) for each in given if each.profile is None}
    for document in documents if names else ():
        words = {section: tuple(split(section)) for section in {each.section for each in document.settings}}
        own = next((each.section for each in document.settings if words[each.section] in names), "")
        if own:
            known = vocabulary().known
            others = (
                each for each, of in words.items() if of and of not in names and not known.intersection(of)
            )
            yield document, own, frozenset(others)


def _has_it_too(document: Document, own: str, reading: Reading) -> bool:
    key = split(reading.setting.key)
    return any(
        each.section == own and each.state is State.ACTIVE and split(each.key) == key
        for each in document.settings
    )


def _told_of(reading: Reading, own: str) -> Doubt:
    section = reading.setting.section
    why = (
        f"[{own}] beside it is this machine's by its name, and has a {label_of(reading)} of its own: [{section}] is taken for another "
        "machine's"
    )
    like = Likeness(STAYS_ANOTHERS, of=section)
    return Doubt(reading.place, line_of(reading.setting), why, STAYS_ANOTHERS, like=like)


def _asked_of(reading: Reading, own: str) -> Doubt:
    why = f"this may be the {label_of(reading)}, or another machine's: nothing is taken of it"
    meant = name_line(reading.setting, reading.quantity)
    remedy = (
        f"{_whose(own, reading.setting.section)} {_ELSE}say so in cfgmigrate.yaml, under meanings: {meant}"
    )
    return Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)


def _whose(own: str, section: str) -> str:
    return (
        f"[{own}] beside it is this machine's by its name: if [{section}] is another machine's, say ignore;"
    )
