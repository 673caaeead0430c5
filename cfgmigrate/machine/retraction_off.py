"""A 0 that is taken for a retraction switched off, though its name may be another thing's: `OOZE_GUARD 0`, `BACKUP 0`.

Off is a strong word: then nothing is written, and the light is settled. So a 0 counts as off only where the name, or the
remark of its line, says that filament is pulled back, or how far. Under a name that says only what it is good
against, or that has a guard's word, it is a question.

And where no retraction is read, lines that speak of drawing and of a length such as a retraction has are questions too:
`DRAW_LENGTH 5.8` is read as nothing, since `draw` by itself is a word for many things.

This module deliberately takes no value: what these lines are is for a person to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Reading, Unread
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_LENGTH = "retraction.length"
#: what a name says that tells only what a thing is good against, or what it is besides
_AGAINST = frozenset(
    ("guard", "control", "stop", "ooze", "oozing", "string", "strings", "stringing", "drool", "drooling", "dribble", "dribbling")
)  # fmt: skip
_PULLED = ("retr", "withdr", "pullback", "drawback")
_BACK = (frozenset(("pull", "back")), frozenset(("draw", "back")))
_REMARKED = pattern(rb"(?i)[^\r\n]{0,200}?(?:retract|pull|draw|withdraw)")
_DRAWN = frozenset(("draw", "draws", "drawing", "drawn"))
_NO_WAY = frozenset(("speed", "acceleration", "current", "temperature", "frequency", "time"))
#: mm; what a retraction through a tube may be (common practice, no source)
_LEAST_DRAWN, _MOST_DRAWN = 3.0, 15.0
_ONE_NUMBER = r"[ \t]*(\d{1,3}(?:\.\d{1,4})?)[ \t]*(?:mm)?[ \t]*"
_ONE = pattern(rf"{_ONE_NUMBER}\Z")
_SEVERAL = pattern(rf"[{{\[(]?{_ONE_NUMBER}(?:,{_ONE_NUMBER}){{1,15}}[}}\])]?[ \t]*\Z")
_NUMBER = pattern(r"\d{1,3}(?:\.\d{1,4})?")


def ask_what_is_off(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Turns retractions of 0 whose name doesn't say so into questions; then, where none is read, asks of the lines
    that may be one."""
    by_path = {document.path: document for document in documents}
    kept: list[Collected] = []
    for each in found.readings:
        document = by_path[each.reading.place.file]
        strange = (
            each.reading.quantity == _LENGTH and not each.reading.value and not _plain(each.reading, document)
        )
        if strange and not (names and names.find(document, each.reading.setting)):
            found.doubts.append(_asked_of_zero(each.reading))
        else:
            kept.append(each)
    found.readings[:] = kept
    if not any(each.reading.quantity == _LENGTH for each in kept):
        found.doubts.extend(tuple(_drawn(found.unread)))


def _plain(reading: Reading, document: Document) -> bool:
    """Whether a name, or the remark of its line, says that filament is pulled back, or how far."""
    if document.dialect == "command" or reading.value is None:
        return True
    words = frozenset((*split(reading.setting.section), *split(reading.setting.key)))
    if words & _AGAINST:
        return False
    pulled = any(word.startswith(_PULLED) for word in words) or any(both <= words for both in _BACK)
    far = "length" in vocabulary().names_in(words) or "mm" in words or "mm" in reading.text
    return pulled or far or bool(_REMARKED.match(document.data, reading.end))


def _asked_of_zero(reading: Reading) -> Doubt:
    why = (
        f"a {quantity(_LENGTH).label} of 0 would be off, but this name may be another thing's, such as a guard's or a switch's; "
        "it is not taken for that"
    )
    remedy = f"if it is the retraction, say so in cfgmigrate.yaml, under meanings: {name_line(reading.setting, _LENGTH)}; if not: ignore"
    return Doubt(reading.place, line_of(reading.setting), why, remedy, about=_LENGTH)


def _drawn(unread: Sequence[Unread]) -> Iterator[Doubt]:
    """A doubt for each line that speaks of drawing, and whose numbers are all such as a retraction has."""
    for each in unread:
        if each.setting.state is State.ACTIVE and _may_be_drawn(each):
            why = (
                f"this may be {quantity(_LENGTH).label}, and no other line is read as that; it stays as it is"
            )
            remedy = (
                f"change it by hand, or say so in cfgmigrate.yaml, under meanings: {name_line(each.setting, _LENGTH)}"
                if _ONE.match(each.setting.value)
                else "if they are, change them by hand, each for its filament"  # no name says which is whose
            )
            yield Doubt(each.place, each.text, why, remedy, about=_LENGTH)


def _may_be_drawn(unread: Unread) -> bool:
    key = split(unread.setting.key)
    words = frozenset((*split(unread.setting.section), *key))
    if words.isdisjoint(_DRAWN) or (key_dimension(tuple(key)) or ("length",)) != ("length",):
        return False
    said = vocabulary().names_in(words)
    several = bool(_SEVERAL.match(unread.setting.value))
    far = "length" in said or "mm" in words or len(key) == 1
    if said & _NO_WAY or not (several or (far and _ONE.match(unread.setting.value))):
        return False
    numbers = map(float, _NUMBER.findall(unread.setting.value))
    return all(_LEAST_DRAWN <= number <= _MOST_DRAWN for number in numbers)
