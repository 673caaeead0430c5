"""Settings with a number that nobody understood, and that have to do with the drive that was swapped.

They have by their section, in which other lines of the drive were read or one is near the length of its old path; or by a name
that says so, `set feeder idle 25`. Such a line may be the drive's top speed, its current at rest or the steps of its new motor, in
words of somebody's own. It is no question, for hardly anything is known of it; gone by in silence it would stay as it was for the
old drive. So a person is shown where it stands. What other rules say more of is told by them, and what is about heat, pins or the
like is left out.

Nothing is worked out by this, and no line is judged: it may name one too many.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.teachable import PATH, Teachable
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split
from cfgmigrate.plan.lines_beside import Beside

#: so many values of the drive in one section, and none of an axis, make it the drive's
FEWEST_OF_THE_DRIVE = 2
_OF_THE_DRIVE = ("feeder.", "motor.", "lag.", "retraction.")
_NUMBER = pattern(r"[-+]?\d{1,7}(?:[.,]\d{1,6})?[ \t]*[^\d\s,;:]{0,12}")
#: what counts things or says yes and no
_SWITCH = frozenset(("0", "1"))


def lines_of_the_drive(
    machine: Machine, swapped: Collection[int], near: Iterable[Teachable]
) -> Iterator[Beside]:
    """These lines, each with why it is shown. `near` is what was not understood near an old length."""
    sections = _sections(machine, swapped)
    of_the_path = {
        (at.place.file, at.setting.section): at.place.line
        for each in near
        if each.near == PATH
        for at in each.settings
        if at.setting.section
    }
    words = {spelling[0] for spelling in vocabulary().spelled("feeder") if len(spelling) == 1}
    for unread in machine.unread:
        setting, value = unread.setting, unread.setting.value.strip()
        if setting.state is State.INACTIVE or not _NUMBER.fullmatch(value) or value in _SWITCH:
            continue
        if not offered().elsewhere.isdisjoint(split(setting.key)):
            continue
        if (unread.place.file, setting.section) in sections:
            why = f"beside what was read of the drive in [{setting.section}], and not understood"
        elif (line := of_the_path.get((unread.place.file, setting.section))) not in (None, unread.place.line):
            why = f"beside line {line}, which is near the old path, and not understood"
        elif _named(setting, words):
            why = "of the drive by its name, and not understood"
        else:
            continue
        yield unread.place.file, unread.place.line, unread.text, why


def _named(setting: Setting, words: Collection[str]) -> bool:
    """Whether a key begins with a word of the drive, perhaps behind one more."""
    return any(piece in words for piece in split(setting.key)[:2])


def _sections(machine: Machine, swapped: Collection[int]) -> frozenset[tuple[str, str]]:
    """The sections that are a swapped drive's by what was read in them."""
    found: Counter[tuple[str, str]] = Counter()
    of_others: set[tuple[str, str]] = set()
    for each in machine.readings:
        at = each.place.file, each.setting.section
        if each.quantity.startswith(_OF_THE_DRIVE) and not set(swapped).isdisjoint(each.serves):
            found[at] += 1
        elif each.quantity.startswith(("axis.", "machine.")):
            of_others.add(at)
    several = {at for at, count in found.items() if at[1] and count >= FEWEST_OF_THE_DRIVE}
    return frozenset(several - of_others)
