"""Which files are profiles.

A file is one by a filament's or a print's identity, fewer than two axes and little hardware; but none that takes in a file with
more than that, for there the machine begins. Or it is one by lying beside such profiles and setting what they set. How far a
filament may be printed is no axis where another file is the machine.

Whose profile it is, and of which filament, is told later, in `machine/profiles.py`.
"""

from __future__ import annotations

from cfgmigrate.files.content import (
    known_words,
    named_as_filament,
    profile_evidence,
    shared,
)
from cfgmigrate.files.judging import ALIKE, LITTLE_HARDWARE, MOST_COUNTED, Judging
from cfgmigrate.files.likely import ENOUGH
from cfgmigrate.files.marks import folder_of, words_of


def _starts(known: Judging, path: str) -> bool:
    """Whether a file takes in what a machine has built in: where all of it begins is no profile."""
    parts = known.closure([path], MOST_COUNTED) - {path} if known.documents[path].includes else ()
    return any(known.is_machine(part) or known.content[part].hardware > LITTLE_HARDWARE for part in parts)


def _limits_of_a_filament(known: Judging, path: str) -> bool:
    """Whether a file sets nothing of the axes but how far they may go, has nothing built in, and another one is a machine with more: a
    filament's own file, by its name or its first lines, which names no other machine."""
    content, words = known.content[path], known_words()
    limits = _limit_concept()
    if content.hardware or any(concept != limits for _, concept in content.axes) or content.tails:
        return False
    frames = [
        each
        for other, each in known.content.items()
        if other != path and each.hardware and any(concept != limits for _, concept in each.axes)
    ]
    called = {name for each in frames for name in each.names}
    whose = set(content.names) | {
        value for name, value in content.values.items() if _says_machine(name) and not value.isdigit()
    }
    named = not words.materials.isdisjoint(words_of(path.rpartition("/")[2]))
    return bool(frames) and whose <= called and (named or bool(whose))


#: keys that say by themselves which machine a file is for
_MACHINE_S = (("machine",), ("printer",), ("rig",), ("for", "machine"), ("for", "printer"))


def _says_machine(name: str) -> bool:
    """Whether a setting above all sections says by its key alone which machine it is for."""
    section, _, key = name.partition("\n")
    return not section and words_of(key) in _MACHINE_S


def _limit_concept() -> str:
    """What the settings that hold a limit are said to be of."""
    return next(sorted(each)[0] for each in known_words().concepts if "limit" in each)


def profile_by_itself(known: Judging, path: str) -> str:
    """The evidence that a file is a filament's or a print's profile; "" where there is none."""
    content = known.content[path]
    coded = content.codes and not named_as_filament(path)
    machine = known.is_machine(path) and not _limits_of_a_filament(known, path)
    is_script = known.documents[path].dialect == "command" and (content.moves or coded)
    taken = path in known.roles or path in known.includers or machine or _starts(known, path)
    return "" if taken or is_script or content.hardware > LITTLE_HARDWARE else profile_evidence(path, content)


def profile_by_its_siblings(known: Judging, path: str) -> str:
    """The evidence that a file without an identity is a profile like those that it lies with; "" where there is none."""
    if path in known.profiles or path in known.roles or path in known.includers or not folder_of(path):
        return ""
    if known.is_machine(path) or known.content[path].hardware > LITTLE_HARDWARE or _starts(known, path):
        return ""
    beside = [other for other in known.documents if other != path and folder_of(other) == folder_of(path)]
    alike = [
        other
        for other in beside
        if other.rpartition(".")[2] == path.rpartition(".")[2]
        and known.documents[other].dialect == known.documents[path].dialect
        and shared(known.content[path], known.content[other]) >= ALIKE
    ]
    profiles = [other for other in alike if other in known.profiles]
    if len(profiles) > 1:
        return f"it lies beside profiles that say the same, such as {profiles[0]}"
    among = any(other in known.profiles for other in beside)
    twin = next((each for each in alike if each not in known.roles and each not in known.includers), "")
    if not (among and twin and len(known.content[path].values) >= ENOUGH):
        return ""
    return f"it lies beside profiles, and {twin} sets the same: one of the two at a time"
