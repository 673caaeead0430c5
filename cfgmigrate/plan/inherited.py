"""What a profile has from another one by a line of its own: it takes that one's file in, or says that it is based on it.

    reels/pla.conf        retraction length = 5.6
    reels/pla grey.conf   based on = pla
                          nozzle temperature = 205

The other one may have it from a third. A name counts as a profile's where one of the same kind here is called so, or lies in a file
of that name; whom nobody here is called after gives nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from posixpath import basename, splitext

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.model import Holder, Machine, Profile
from cfgmigrate.machine.words import split


def inherits(machine: Machine, profile: Holder, feeder: int, quantity: str) -> bool:
    """Whether a profile that sets no such value has another one's."""
    known = [each for each in machine.found_profiles if each.holder.kind == profile.kind]
    seen = {profile}
    open_ = [each for each in known if each.holder == profile]
    while open_:
        for above in _above(machine, open_.pop(), known):
            if above.holder in seen:
                continue
            if any(found.quantity == quantity for found in machine.set_by(above.holder, (feeder,))):
                return True
            seen.add(above.holder)
            open_.append(above)
    return False


def _above(machine: Machine, profile: Profile, known: list[Profile]) -> Iterator[Profile]:
    """The profiles of which one has what it does not set itself."""
    document = machine.document(profile.place.file)
    files = {file for each in document.includes for file in each.files}
    alone = [each.place.file for each in known].count(document.path) == 1
    names = {name.casefold() for name in _names(document, profile, known)}
    for each in known:
        called = {each.holder.name.casefold(), basename(each.place.file).casefold()}
        called.add(splitext(basename(each.place.file))[0].casefold())
        if each.holder != profile.holder and (
            (alone and each.place.file in files) or not called.isdisjoint(names)
        ):
            yield each


def _names(document: Document, profile: Profile, known: list[Profile]) -> Iterator[str]:
    """What lines of a profile say that it inherits from. It reaches to where the next one begins in its file."""
    begins = sorted(each.place.line for each in known if each.place.file == document.path)
    first = 0 if profile.place.line == begins[0] else profile.place.line
    end = next((line for line in begins if line > profile.place.line), None)
    for setting in document.settings:
        own = first <= setting.line and (end is None or setting.line < end)
        if own and setting.state is State.ACTIVE and " ".join(split(setting.key)) in holder_words().inherits:
            yield basename(setting.value.strip("\"' []").replace("\\", "/"))
