"""A remark that says a number is counted in something else than its name lets one think: `13.2 ; mm^3`, `0.7 ; times the rated`,
`48 ; units of 0.1 mm`.

Amounts of filament may be volumes, currents shares of a rated one, lengths tenths of an inch or turns of the motor. The
number is no use then without a conversion that nobody stated. So such a reading is a question, and nothing is taken from it.

This module deliberately converts nothing: a remark that states a unit which `units.yaml` has is believed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import units
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.remarks import Remarks, remarks_of
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.words import split

_VOLUME = r"(?:cubic[ -]?(?:mm|millimet(?:re|er)s?|cm)|(?:mm|cm)(?:\^?3|³)|millilit(?:re|er)s?)(?![\w/])(?![ \t]*(?:/|per|a)[ \t]*s)"
_IN_ANY = (
    "cubic",
    "mm3",
    "mm^3",
    "mm\N{SUPERSCRIPT THREE}",
    "cm3",
    "cm^3",
    "cm\N{SUPERSCRIPT THREE}",
    "millilit",
)
_OPENS = r"(?:(?:these|they|it|this|are|is|all|in|as|given)[ \t]+){0,4}"
_IN_VOLUME = pattern(
    rf"{_OPENS}(?P<what>(?:(?:steps?|pulses?)[ \t]*)?(?:per[ \t]*|/[ \t]*)?{_VOLUME})",
    re.IGNORECASE,
    needs=_IN_ANY,
)
_ANOTHER = pattern(
    rf"{_OPENS}(?P<what>(?:tenths?|hundredths?|quarters?|eighths?|sixteenths?)\b[^\r\n;,.]{{0,20}}"
    r"|(?:times|multiples? of|shares? of|parts? of|fractions? of)\b[^\r\n;,.]{0,24}"
    r"|[x×*][ \t]*\d[^\r\n;,]{0,12}"
    r"|(?:turns?|revs?|revolutions?|rotations?)[ \t]+of\b[^\r\n;,.]{0,20})",
    re.IGNORECASE,
)
#: `units of 0.1 mm`, `[0.1 mm]`, `mm * 10`, `10 = 1 mm`; beside a number with a point, `in steps of 0.1 mm` says how finely it is set
_UNIT = r"(?:mm|cm|millimet(?:re|er)s?|m?s|sec|seconds?|m?A|amp(?:ere)?s?)\b(?:/(?:s|min)\b(?:\^?2|²)?)?"
_SHARE = r"(?:0[.,]0*1|10+)"
_PART_OF_A_UNIT = pattern(
    r"(?P<what>(?:\b(?:units?|counts?|increments?|multiples|ticks?|notches|step|unit|resolution)(?:[ \t]+(?:of|is|are)|[ \t]*[:=])?"
    rf"|\b(?:counted|given|stated|written)[ \t]+in|^(?:all[ \t]+)?in|^[\[(]?)[ \t]*{_SHARE}[ \t]*{_UNIT}(?![^\s.;:,)\]])(?=[ \t]*(?:[.;:,)\]]|units?\b|each\b|$))"
    rf"|(?P<finely>\bsteps[ \t]+(?:of[ \t]+)?{_SHARE}[ \t]*{_UNIT})"
    rf"|[\[(][ \t]*{_SHARE}[ \t]*{_UNIT}[ \t]*[\])]"
    rf"|(?<![\w/]){_UNIT}[ \t]*[x×*·][ \t]*10+(?!\d)|(?<![\w.,])10+[ \t]*[x×*·][ \t]*{_UNIT}|(?:^|(?<=[ (\[]))[x×*·][ \t]*{_SHARE}(?!\d)"
    rf"|(?<![\w.,])10+[ \t]*(?:=|is|are|for|makes?)[ \t]*(?:1|one|an?)[ \t]*{_UNIT})",
    re.IGNORECASE,
    needs=("0.", "0,", "10"),
)
_ONLY_IN = pattern(r"^(?:\w+[ \t]+)?in[ \t]+")
#: the same of all speeds, times or currents, at a file's head; what it says of lengths is the matter of `head_lengths.py`.
#: A current of 10 A is one current
_OF_ALL = pattern(
    r"\b(?P<of>speed|acceleration|time|duration|lag|current)s\b(?: (?:and|(?:units|parts|steps) of|the|here|below|in|are|is|this|file|given|stated|values|numbers|units?|all|as|counted)){0,6}"
    rf" ?[:=(\[]? ?(?P<what>{_SHARE} ?{_UNIT}|{_UNIT} ?[x×*·] ?10+(?!\d))",
    re.IGNORECASE,
    needs=("0.", "0,", "10"),
)
_MEASURED_IN = {"duration": "time", "lag": "time"}
_STATES_UNIT = frozenset(("mm", "cm", "s", "ms", "sec", "min", "a", "ma", "amp", "amps", "um"))
_FULL_STEPS = pattern(rf"{_OPENS}(?P<what>full steps)\b", re.IGNORECASE)
_VOLUMES = pattern(
    rf"\b(?:filament|feed|amounts?|extrusions?)\b[^.;]{{0,40}}?\b(?P<what>{_VOLUME})",
    re.IGNORECASE,
    needs=_IN_ANY,
)
#: a file without any of these, in small letters, has no such remark
_SIGNS = pattern(
    rb"mm\^?3|mm\xc2\xb3|cubic|millilit|tenth|hundredth|quarter|eighth|sixteenth|times|multiple|shares? of|parts? of|fraction"
    rb"|0[.,]0*1|10|full steps|(?:[x*]|\xc3\x97)[ \t]*\d|(?:turns?|revs?|revolutions?|rotations?)[ \t]+of"
)
#: what is fed, by length
_FED = ("steps_per_mm", "length", "feed_per_turn")


def ask_other_measures(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Turns readings whose remark, or whose file's head, counts in something else into questions."""
    remarks = {
        document.path: (document, remarks_of(document))
        for document in documents
        if document.dialect != "command" and _SIGNS.search(document.data.lower())
    }
    kept: list[Collected] = []
    for each in found.readings:
        document, said = remarks.get(each.reading.place.file, (None, None))
        told = document is not None and names is not None and names.find(document, each.reading.setting)
        what = "" if said is None or told else _another(each.reading, said)
        if what:
            found.doubts.append(_asked(each.reading, what))
        else:
            kept.append(each)
    found.readings[:] = kept


def _another(reading: Reading, remarks: Remarks) -> str:
    """In what a remark says that a reading is counted, where that is no unit of it; "" where it says nothing of the kind."""
    about = quantity(reading.quantity)
    if reading.value is None or about.protected or about.kind == "ratio":  # turns for turns are no measure
        return ""
    remark = remarks.behind(reading.setting)
    found = _IN_VOLUME.match(remark)
    unit = stated(remark).unit
    of_parts = unit is not None and "/10" in unit.name  # `in 0.01 mm` is a unit of its own, and read
    if not found and not of_parts and (part := _PART_OF_A_UNIT.search(remark)):
        # `mA rms, in steps of 10 mA`: the unit stands before, and what follows says how finely it is set
        finely = (part["finely"] and "." in reading.setting.value) or stated(remark[: part.start()]).unit
        found = None if finely else part
    if not found and remark and unit is None:
        steps = reading.quantity.endswith("steps_per_mm")
        found = _ANOTHER.match(remark) or (_FULL_STEPS.match(remark) if steps else None)
    if found:
        return _ONLY_IN.sub("", found["what"].strip())
    if of_all := _of_all(reading, remarks):
        return of_all
    fed = of_feeder(reading.quantity) and reading.quantity.endswith(_FED)
    in_volumes = _VOLUMES.search(remarks.opening) if fed else None
    return in_volumes["what"] if in_volumes else ""


def _of_all(reading: Reading, remarks: Remarks) -> str:
    """The part of a unit in which a file's head says that all of a reading's measure are, where its own line states none; "" for none."""
    setting, own = reading.setting, units().get(quantity(reading.quantity).unit)
    if own is None or any(letter.isalpha() for letter in setting.value):
        return ""
    if not _STATES_UNIT.isdisjoint(split(setting.key)) or stated(remarks.of_line(setting)).unit is not None:
        return ""
    said = {
        _MEASURED_IN.get(of := each["of"].lower(), of): each["what"]
        for each in _OF_ALL.finditer(remarks.opening)
    }
    return said.get(own.of, "").strip()


def _asked(reading: Reading, what: str) -> Doubt:
    named = quantity(reading.quantity)
    why = f"this would be {named.label}, but a remark says that it is counted in `{what}`; nothing was taken from it"
    remedy = f"set it by hand; or, if it is in a unit of {named.label}, say it: {name_line(reading.setting, reading.quantity, named.unit)}"
    return Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
