"""A setting below a remark that is a title of something else: `lag = 0.6` below `# ---- blower ----`.

Titles set off by signs are no section where no key stands twice below them (`titles.py`), since many are prose. Yet one
that names a thing which the quantity can't be of makes its reading a question, where the setting's own name says little.

This module deliberately reads nothing that was not read without the title.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.titles import MOST_TITLE_WORDS, drawn_title
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.matching import all_fits
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import readings_of_name, split


def ask_under_titles(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Turns readings of flat files below such titles into questions."""
    titles = {document.path: tuple(_titles(document)) for document in documents if document.dialect == "flat"}
    by_path = {document.path: document for document in documents}
    kept: list[Collected] = []
    for each in found.readings:
        title = _above(titles.get(each.reading.place.file, ()), each.reading.start)
        said = names is not None and names.find(by_path[each.reading.place.file], each.reading.setting)
        if title and not said and not quantity(each.reading.quantity).protected and _another(title, each):
            found.doubts.append(_asked(title, each))
        else:
            kept.append(each)
    found.readings[:] = kept


def _titles(document: Document) -> Iterator[tuple[int, str]]:
    """Where each title ends, and its words."""
    for piece in document.pieces:
        if piece.kind == "gap" and (title := drawn_title(document.slice(piece.start, piece.end))):
            yield piece.end, title


def _above(titles: Sequence[tuple[int, str]], at: int) -> str:
    before = bisect_right(titles, at, key=lambda each: each[0])
    return titles[before - 1][1] if before else ""


def _another(title: str, each: Collected) -> bool:
    """Whether with the title before its name a setting can't be what it was taken for."""
    setting = each.reading.setting
    names_a_thing = not vocabulary().things.isdisjoint(vocabulary().names_in(frozenset(split(title))))
    if setting.section or not names_a_thing or len(title.split()) > MOST_TITLE_WORDS:
        return False
    by_itself = [fit for name in readings_of_name("", setting.key) for fit in all_fits(name)]
    says_little = any(fit.quantity == each.reading.quantity and (fit.bare or fit.alone) for fit in by_itself)
    with_title = {fit.quantity for name in readings_of_name(title, setting.key) for fit in all_fits(name)}
    return says_little and each.reading.quantity not in with_title


def _asked(title: str, each: Collected) -> Doubt:
    reading = each.reading
    why = f"this would be {quantity(reading.quantity).label}, but it stands below `{title}`; nothing was taken from it"
    remedy = f"if it is that, say so in cfgmigrate.yaml, under meanings: {name_line(reading.setting, reading.quantity)}; if not: ignore"
    return Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
