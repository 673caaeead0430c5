"""Which files are profiles: by a filament's or a print's identity, fewer than two axes and little hardware, of a file that doesn't take in
what has them; or by lying beside such profiles and setting what they set.

Whose profile it is, and of which filament, is told later, in `machine/profiles.py`.
"""

from __future__ import annotations

from cfgmigrate.files.content import (
    named_as_filament,
    profile_evidence,
    shared,
)
from cfgmigrate.files.judging import ALIKE, LITTLE_HARDWARE, MOST_COUNTED, Judging
from cfgmigrate.files.likely import ENOUGH
from cfgmigrate.files.marks import folder_of


def _starts(known: Judging, path: str) -> bool:
    """Whether a file takes in what a machine has built in: where all of it begins is no profile."""
    parts = known.closure([path], MOST_COUNTED) - {path} if known.documents[path].includes else ()
    return any(known.is_machine(part) or known.content[part].hardware > LITTLE_HARDWARE for part in parts)


def profile_by_itself(known: Judging, path: str) -> str:
    """The evidence that a file is a filament's or a print's profile; "" where there is none."""
    content = known.content[path]
    coded = content.codes and not named_as_filament(path)
    is_script = known.documents[path].dialect == "command" and (content.moves or coded)
    taken = path in known.roles or path in known.includers or known.is_machine(path) or _starts(known, path)
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
