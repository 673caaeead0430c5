"""Objects of one list that are feeders.

They are where a member of each says that it is of a feeder, and of which (`object_owners.py`), and two or more have at least half
of their settings in common. Lists of other parts are left alone, and no value is read.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.machine.feeder_names import SettingAt
from cfgmigrate.machine.feeders_by_file import siblings
from cfgmigrate.machine.object_owners import ObjectOwners, objects_of
from cfgmigrate.machine.quantities import MOST_FEEDERS


def objects_of_lists(documents: Iterable[Document]) -> dict[SettingAt, str]:
    """The settings of objects of a list that are of a feeder each and set enough of the same: the feeder's name."""
    found: dict[SettingAt, str] = {}
    for document in documents:
        feeders = (
            ObjectOwners(objects_of(document), nested=True).feeders if document.dialect == "nested" else {}
        )
        feeders = feeders if len(feeders) <= MOST_FEEDERS else {}
        below: dict[str, list[Setting]] = {path: [] for path in feeders}
        for setting in document.settings if feeders else ():
            for path in feeders:
                if f"{setting.section}.".startswith(f"{path}.") and setting.state is not State.INACTIVE:
                    below[path].append(setting)
        keys = {
            path: frozenset(
                (each.section.removeprefix(path).casefold(), each.key.casefold()) for each in several
            )
            for path, several in below.items()
        }
        for path, several in below.items():
            if any(siblings(keys[path], keys[other]) for other in keys if other != path):
                found.update(((document.path, each.at), feeders[path]) for each in several)
    return found
