"""A back-off beside a homing: how far an axis goes back from its switch is no retraction.

`back off` is a word of both. In a section that says how something homes and holds nothing else of the feed path it is the
axis's, whatever the section is called. This module deliberately looks at no values.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.quantities import of_feeder
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

_HOMING = frozenset(("home", "homes", "homing", "homed"))
_PULL = "retraction."
_FEED_PATH = frozenset(("feeder", "feed", "feeding", "filament", "nozzle", "hotend", "tube"))
Section = tuple[str, str]


def homing_sections(documents: Iterable[Document]) -> frozenset[Section]:
    """The sections, each with its file, in which a key speaks of homing."""
    return frozenset(
        (document.path, setting.section)
        for document in documents
        for setting in document.settings
        if setting.section and setting.state is not State.INACTIVE and speaks_of_homing(setting)
    )


def speaks_of_homing(setting: Setting) -> bool:
    """Whether a setting's key has a word of homing."""
    return not _HOMING.isdisjoint(split(setting.key))


def is_of_homing(setting: Setting) -> bool:
    """Whether a setting's own name, section or key, says homing and nothing of the feed path: how far it retreats there is an
    axis's."""
    name = read_name(setting.section, setting.key)
    named = vocabulary().names_in(frozenset(name.words))
    return "home" in named and named.isdisjoint(_FEED_PATH)


def is_back_off(setting: Setting) -> bool:
    """Whether a setting's key says no more of a pull than that something backs off."""
    words = split(setting.key)
    return "backoff" in words or {"back", "off"} <= {*words}


def without_homing_moves(found: Collection, documents: Sequence[Document]) -> None:
    """Takes a retraction back that stands in a section of homing and beside nothing else of the feed path."""
    pulls = [each for each in found.readings if _is_pull(each)]
    homing = homing_sections(documents) if pulls else frozenset()
    fed = {
        _section(each) for each in found.readings if not _is_pull(each) and of_feeder(each.reading.quantity)
    }
    taken = {
        id(each) for each in pulls if _section(each) in homing - fed and is_back_off(each.reading.setting)
    }
    for each in found.readings if taken else ():
        if id(each) in taken:
            setting = each.reading.setting
            found.unread.append(Unread(each.reading.place, line_of(setting), setting))
    found.readings[:] = [each for each in found.readings if id(each) not in taken]


def _is_pull(each: Collected) -> bool:
    return each.reading.quantity.startswith(_PULL)


def _section(each: Collected) -> Section:
    return each.reading.place.file, each.reading.setting.section
