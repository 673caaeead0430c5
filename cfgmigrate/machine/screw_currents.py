"""A current beside lines that say that a screw sets it: it is a note of what somebody turned the screw to.

    current by the screw: yes
    reference voltage: 0.96
    motor amps: 1.20

To write another number there changes nothing at the motor, and a current that is taken for set heats it as before. So such
a number is not taken: it is a question, and how the current is set is one for the sheet. Lines of the same section count, in
files without sections those that begin with the same word; so does a remark behind the number. Where a line says that
no screw sets it, or the user named the number's key, it stands.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.remark_marks import remark_behind
from cfgmigrate.dialects.value import Number, Truth, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_CURRENTS = ("motor.run_current", "motor.hold_current")
_SCREWS = frozenset({"screw", "potentiometer", "trimmer", "trimpot", "pot"})
_REFERENCE = (frozenset({"vref"}), frozenset({"reference", "voltage"}), frozenset({"reference", "volts"}), frozenset({"v", "ref"}))  # fmt: skip
_CURRENT = frozenset({"current", "amps", "amp", "vref", "driver"})
#: a screw that is turned, and none that holds something
_BY_REMARK = pattern(
    rb"\b(?:by|with|on|at|turn|turned|through) (?:the |a |its )?(?:[a-z]+ )?(?:screw|potentiometer|trimmer|trimpot|pot)\b"
    rb"|\b(?:screw|potentiometer|trimmer|trimpot|pot)(?: (?!is\b|not\b|no\b)[a-z0-9]{1,2})? ?(?:is |stands |set |turned |now )*(?:sets|at|to|on|=|\d)"
    rb"|\bo ?[' ]?clock\b",
    re.I,
)
_NO_SCREW = pattern(rb"\b(?:no|not|without|instead of|never)(?: (?:by|with|on|at|through|the|a|any|its))* (?:[a-z]+ )?(?:screw|potentiometer|trimmer|trimpot|pot)\b", re.I)  # fmt: skip


def ask_what_a_screw_sets(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Turns currents of motors into questions where the files say that a screw sets them."""
    by_path = {document.path: document for document in documents}
    if not any(each.reading.quantity in _CURRENTS for each in found.readings):
        return
    told = {document.path: _told(document) for document in documents}
    kept: list[Collected] = []
    for each in found.readings:
        document = by_path[each.reading.place.file]
        by = _by_a_screw(each, document, told[document.path]) if each.reading.quantity in _CURRENTS else ""
        if by and not (names and names.find(document, each.reading.setting)):
            # whether a note is rms or peak is no question
            of_it = each.reading.place, each.reading.quantity
            found.doubts[:] = [doubt for doubt in found.doubts if (doubt.place, doubt.about) != of_it]
            found.doubts.append(_asked(each, by))
        else:
            kept.append(each)
    found.readings[:] = kept


Group = tuple[str, str]


def _group(setting: Setting) -> Group:
    """What the lines about one driver have in common: their section, else their first word."""
    return setting.section, "" if setting.section else next(iter(split(setting.key)), "")


def _told(document: Document) -> Mapping[Group, tuple[bool, Setting]]:
    """By group whether a screw sets the current, and the line that says so. What says it in words goes before a
    reference voltage."""
    found: dict[Group, tuple[bool, Setting]] = {}
    for setting in document.settings:
        if setting.state is not State.ACTIVE:
            continue
        said = frozenset(split(setting.key))
        if said & _SCREWS and said & _CURRENT and (by := _yes(setting.value)) is not None:
            found[_group(setting)] = by, setting
        elif any(words <= said for words in _REFERENCE) and isinstance(read_value(setting.value), Number):
            found.setdefault(_group(setting), (True, setting))
    return found


def _yes(value: str) -> bool | None:
    read = read_value(value)
    if isinstance(read, Truth):
        return read.value
    if isinstance(read, Number) and read.value in (0, 1):
        return bool(read.value)
    return vocabulary().opposites.get(value.strip("\"' ").lower())


def _by_a_screw(each: Collected, document: Document, told: Mapping[Group, tuple[bool, Setting]]) -> str:
    """What says that a screw sets a current, with its line; "" for nothing."""
    by, setting = told.get(_group(each.reading.setting), (False, None))
    if setting is not None:
        return f"line {setting.line} ({line_of(setting)})" if by else ""
    remark = remark_behind(document, each.reading.setting)
    by_it = _BY_REMARK.search(remark) and not _NO_SCREW.search(remark)
    return "its remark" if by_it else ""


def _asked(each: Collected, by: str) -> Doubt:
    reading = each.reading
    why = f"{by} says that a screw on the driver sets the current; then this number is only a note, and nothing follows it"
    remedy = (
        "say in the sheet how it is set (driver, set_by: screw, or serial); if the number takes effect all the same, say "
        f"in cfgmigrate.yaml, under meanings: {name_line(reading.setting, reading.quantity)}"
    )
    return Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
