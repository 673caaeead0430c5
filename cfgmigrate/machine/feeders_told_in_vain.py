"""What the site file says of feeders and nothing in the files goes by: a doubt at its line, for it has no effect.

What is said there and does have one is taken in `named_feeders.py` and `feeders.py`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.site import names
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.feeder_names import within
from cfgmigrate.machine.words import split


def no_effect(
    told: Sequence[Feeder],
    feeders: Iterable[int],
    documents: Sequence[Document],
    called: Collection[str] = (),
) -> Iterator[Doubt]:
    """What the site file says of feeders and nothing in the files goes by. `called` are the names by which feeders were found."""
    there = set(feeders)
    for each in told:
        place, name = each.place or Place("cfgmigrate.yaml"), f"feeders: {each.name or each.number}"
        for known in each.known_as:
            if known.casefold() not in called and not _goes_by(known, documents):
                why = "no file in force, no section and no line of the configuration is called so: it has no effect"
                remedy = "write a file's path, or a section's name as the survey shows it"
                yield Doubt(place, f"{name}: known_as: {known}", why, remedy)
        if each.number not in there and not each.known_as:
            why = f"nothing in the files is of feeder {each.number}: it has no effect"
            remedy = (
                f"say what is its own, as in `{each.name or each.number}: {{known_as: [feeders/left.json]}}`"
            )
            yield Doubt(place, name, why, remedy)


def _goes_by(known: str, documents: Sequence[Document]) -> bool:
    if any(names(known, document.path) for document in documents):
        return True
    if any(known.casefold() == word.casefold() for document in documents for word, _ in document.own_words):
        return True
    if known[-1:].isdecimal() and any(
        known.casefold() in (f"{setting.key}{setting.value}".casefold(), setting.value.casefold())
        for document in documents
        for setting in document.settings
    ):
        return True
    wanted = split(known)
    return any(
        within(wanted, split(f"{setting.section} {setting.key}"))
        for document in documents
        for setting in document.settings
    )
