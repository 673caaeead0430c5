"""A remark that says a number is counted in something else than its name lets one think: `13.2 ; mm^3`, `0.7 ; times the rated`.

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
from cfgmigrate.machine.collection import Collected, Collection, line_of
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.remarks import Remarks, remarks_of
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.stated import stated

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
_FULL_STEPS = pattern(rf"{_OPENS}(?P<what>full steps)\b", re.IGNORECASE)
_VOLUMES = pattern(
    rf"\b(?:filament|feed|amounts?|extrusions?)\b[^.;]{{0,40}}?\b(?P<what>{_VOLUME})",
    re.IGNORECASE,
    needs=_IN_ANY,
)
#: a file without any of these, in small letters, has no such remark
_SIGNS = pattern(
    rb"mm\^?3|mm\xc2\xb3|cubic|millilit|tenth|hundredth|quarter|eighth|sixteenth|times|multiple|shares? of|parts? of|fraction"
    rb"|full steps|(?:[x*]|\xc3\x97)[ \t]*\d|(?:turns?|revs?|revolutions?|rotations?)[ \t]+of"
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
    if not found and remark and stated(remark).unit is None:
        steps = reading.quantity.endswith("steps_per_mm")
        found = _ANOTHER.match(remark) or (_FULL_STEPS.match(remark) if steps else None)
    if found:
        return found["what"].strip()
    fed = of_feeder(reading.quantity) and reading.quantity.endswith(_FED)
    in_volumes = _VOLUMES.search(remarks.opening) if fed else None
    return in_volumes["what"] if in_volumes else ""


def _asked(reading: Reading, what: str) -> Doubt:
    named = quantity(reading.quantity)
    why = f"this would be {named.label}, but a remark says that it is counted in `{what}`; nothing was taken from it"
    remedy = f"set it by hand; or, if it is in a unit of {named.label}, say it: {name_line(reading.setting, reading.quantity, named.unit)}"
    return Doubt(reading.place, line_of(reading.setting), why, remedy, about=reading.quantity)
