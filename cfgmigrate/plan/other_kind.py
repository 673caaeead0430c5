"""Whether a configuration is a filament printer's at all.

Whoever keeps many machines numbers them all, also the cutter that stands among the printers; a sheet that is given to all
of them is given to that one too. Its motor's current or the speed of its feed may then be taken for the drive's. So three
things are looked for that every filament printer has: the drive or what it does with filament, the hot end, and z. Where
a configuration of some size has none of the three in any word of its keys, sections and codes, it is no printer as far as its
files tell. One of the three is enough to pass: a part of a configuration is no other machine.

A word that other machines have too is no sign: `feed` is every mill's, `wire` and `heat` a foam cutter's. Keys that are no
words, as numbers of a table, tell nothing either way.

Nothing is decided here: the person is asked, and says by the files' role that they are a printer's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.files.marks import words_of
from cfgmigrate.files.roles import FileSet
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.machine.model import Machine

#: so many keys in words have to be there before their silence tells anything
ENOUGH_KEYS = 12
#: the shortest run of letters that is a word
_SHORTEST = 3
#: beginnings of words that only a printer's drive, its filament, its hot end or its z has
_PRINTERS = (
    *("extru", "filament", "feeder", "retract", "plastic", "print", "layer", "unload"),
    *("nozzle", "hotend", "nib", "bed", "probe", "mesh", "temp", "therm"),
)
_WORDS = frozenset(("z", "e", "tip", "hot", "pullback"))
#: quantities that are read of such a machine only
_READ = (
    "feeder.steps_per_mm",
    "feeder.feed_per_turn",
    "retraction.",
    "lag.",
    "heater.",
    "axis.z.",
    "probe.",
    "nozzle.",
)
#: read by a word that other machines have too
_NO_SIGN = "retraction.return_speed"
_REMEDY = (
    "Nothing was written. If it is no printer, leave this machine out. If it is one, say so by one of these, then run it again:\n"
    "  on the command line: --machine {file}\n"
    "  in cfgmigrate.yaml: roles: {{{file}: in force}}\n"
    "  in a fleet file, for this machine: machine: [{file}]"
)


def refuse_other_kind(machine: Machine, files: FileSet | None, root: str) -> None:
    """Raises Refused where nothing in the files is a filament printer's, and nobody said that they are a machine's."""
    if files is not None and any(role.stated and role.role.taken for _, role in files.items()):
        return
    if not is_other_kind(machine):
        return
    largest = max(machine.documents, key=lambda each: len(each.settings))
    what = f"this does not look like a filament printer: no line of {', '.join(sorted(d.path for d in machine.documents))} is about a drive for filament, a hot end or z"
    raise Refused(what, Place(root), _REMEDY.format(file=largest.path))


def is_other_kind(machine: Machine) -> bool:
    """Whether enough is said in words, and none of it is a filament printer's."""
    if any(
        each.quantity.startswith((*_READ, "script.")) and each.quantity != _NO_SIGN
        for each in machine.every_reading
    ):
        return False
    if machine.found_profiles:
        return False
    names = list(_names(machine.documents))
    told = sum(any(len(word) >= _SHORTEST for word in words) for words in names)
    return told >= ENOUGH_KEYS and not any(_printers(word) for words in names for word in words)


def _printers(word: str) -> bool:
    return word in _WORDS or word.startswith(_PRINTERS)


def _names(documents: Iterable[Document]) -> Iterator[tuple[str, ...]]:
    """The words of each setting's section and key."""
    for document in documents:
        for setting in document.settings:
            if setting.state is State.ACTIVE:
                yield tuple(words_of(f"{setting.section} {setting.key}"))
