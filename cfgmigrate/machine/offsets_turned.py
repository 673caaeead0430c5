"""A probe's offset that is written the other way round: where the nozzle is, seen from the probe.

    [touch]
    ; NOZZLE seen from the FINGER
    nozzle x = 15.5

The sign of such a number is that of the other one turned, and so is the sign by which a shift of the nozzle changes it. A value
written by the usual sense is off by twice the shift. So it is a question, also where a remark only says from what else than
the nozzle it is measured, and it takes with it what stands in its section. Along z both senses are in use without a word of it
(the number says by itself which), so z is left to the rules.

This module deliberately turns no sign: the person who answers sees the machine. What a person says of a setting stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.remark_marks import LINE_OR_BLOCK_MARK, remark_on_line
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collection, line_of
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_TURNABLE = frozenset(("probe.offset_x", "probe.offset_y"))
_TIP = r"(?:nozzle|tip|hot ?end|jet)"
#: what the place of a nozzle is not told from where it is told from a probe
_PLACES = (
    r"(?:bed|table|plate|edge|rim|corner|side|left|right|front|rear|back|centre|center|middle|home|origin|zero|frame|stop|end"
    rf"|switch|carriage|above|below|top|bottom|{_TIP})"
)
_THE = r"(?:the |a |its )?"
#: what no place along a bed is: whatever stands behind may be a probe
_ELSE = rf"(?!{_THE}{_PLACES}\b){_THE}[a-z]"
_PROBE = r"(?:probe|feeler|finger|needle|plunger|sensor|touch\w*|pin)"
_SAYS_TURNED = pattern(
    rf"(?i)\bfrom {_ELSE}[\w-]*(?: (?:pin|tip|switch|sensor))? to {_THE}{_TIP}\b"
    rf"|\b(?:seen|measured|counted|looked at|told|taken) from {_ELSE}"
    rf"|(?<!from )(?<!from the )\b{_TIP}(?: (?:is|sits|stands|lies|as|seen|measured))* (?:from|relative to) {_THE}{_PROBE}\b"
    rf"|\b{_TIP} (?:minus|less) {_THE}{_PROBE}\b"
)
_WHOLE = pattern(rf"[ \t]*{LINE_OR_BLOCK_MARK}(.*)")
#: so many lines above a setting may have the remark on it, and so much of each is looked at
_ABOVE, _LONGEST = 8, 300
_FROM = frozenset(("from", "of", "to", "off", "than", "beside", "against"))


def ask_whose_place(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Takes back each offset of a probe that may be the nozzle's place seen from the probe, and asks."""
    by_path = {document.path: document for document in documents}
    offsets = [each for each in found.readings if each.reading.quantity in _TURNABLE]
    if not offsets:
        return
    said: dict[tuple[str, str], str] = {}
    for each in offsets:
        place, setting = each.reading.place, each.reading.setting
        if why := _says_turned(by_path[place.file], setting):
            said.setdefault((place.file, setting.section), why)
    for each in offsets:
        reading, setting = each.reading, each.reading.setting
        turned = said.get((reading.place.file, setting.section))
        if turned is None or (names and names.find(by_path[reading.place.file], setting)):
            continue
        found.readings.remove(each)
        why = (
            f"{turned}: this may be where the nozzle is, seen from the probe, which has the sign turned round"
        )
        remedy = (
            f"if it is, write the new number by hand: add the nozzle's shift to {reading.text} and take off the probe's, "
            f"and say {name_line(setting, 'ignore')}; if it is where the probe is, seen from the nozzle: "
            f"{name_line(setting, reading.quantity)}"
        )
        found.doubts.append(Doubt(reading.place, line_of(setting), why, remedy, about=reading.quantity))


def _says_turned(document: Document, setting: Setting) -> str:
    """How a key or a remark says so, "" where neither does."""
    if _key_is_of_the_nozzle(setting.key):
        return f"its name, {setting.key}, is the nozzle's"
    remark = next((each for each in remarks_of_offset(document, setting) if _SAYS_TURNED.search(each)), "")
    return f"the remark says `{remark.strip()[:60]}`" if remark else ""


def _key_is_of_the_nozzle(key: str) -> bool:
    """Whether a key names the nozzle, and not as what something is seen from."""
    pieces = [word for piece in split(key) for word in _parted(piece)]
    kinds = [vocabulary().names_in(frozenset(ways_of(piece)[0])) for piece in pieces]
    nozzles = [at for at, names in enumerate(kinds) if "nozzle" in names]
    probes = [at for at, names in enumerate(kinds) if "probe" in names]
    if not nozzles:
        return False
    first = nozzles[0]
    if _leads_to(pieces, first, probes):
        return True
    if probes and first < probes[0] and "of" in pieces[first : probes[0]]:
        return True  # `nozzle right of probe`
    if probes:
        return any("from" in pieces[max(0, at - 2) : at] for at in probes)
    before = [piece for piece in pieces[:first] if piece not in ("x", "y", "xy", "the")]
    return not before and pieces[first + 1 : first + 2] != ["to"]


def _parted(piece: str) -> tuple[str, ...]:
    """A piece of a key as the words that are glued in it, `rightofnozzle`; itself where none are."""
    words = ways_of(piece)[0]
    return words if len(words) > 1 and "".join(words) == piece else (piece,)


def _leads_to(pieces: Sequence[str], nozzle: int, probes: Sequence[int]) -> bool:
    """Whether a key goes from the probe to the nozzle, `probe to nozzle x`; what is an offset to the nozzle is seen from it."""
    before = [at for at in range(nozzle) if pieces[at] not in ("x", "y", "xy", "the")]
    return before[-1:] != [] and pieces[before[-1]] == "to" and (len(before) == 1 or before[-2] in probes)


def remarks_of_offset(document: Document, setting: Setting) -> Iterator[str]:
    """The remark on a setting's line, and those right above the run of lines that it stands in."""
    yield remark_on_line(document, setting, _LONGEST)
    start = max(0, setting.start - _ABOVE * _LONGEST)
    reached = False
    for line in reversed(document.slice(start, setting.start).split("\n")[:-1][-_ABOVE:]):
        remark = _WHOLE.match(line.lstrip("\ufeff"))
        if remark:
            reached = True
            yield remark[1]
        elif reached or not line.strip() or line.lstrip().startswith("["):
            return
