"""A probe's offset that is written the other way round: where the nozzle is, seen from the probe.

    [touch]
    ; NOZZLE seen from the FINGER
    nozzle x = 15.5

The sign of such a number is that of the other one turned, and so is the sign by which a shift of the nozzle changes it. A value
written by the usual sense is off by twice the shift. So it is a question, also where a remark only says from what else than
the nozzle it is measured, and it takes with it what stands in its section. Along z both senses are in use without a word of it
(the number says by itself which), so z is left to the rules.

A remark that names both, `nozzle minus feeler` or `from the nozzle to the feeler`, says it of all such offsets of the
configuration, wherever it stands; but not one behind or right above a line that is something else, `lift = 1.9 # from the feeler to the
nozzle`, nor one of the filament's way or of a place that the nozzle goes to. What a person said that a setting is, without saying which way round, is held against that; where
nothing says it, and the setting's own words don't either, it is asked.

This module deliberately turns no sign: the person who answers sees the machine. What a person says of the way round stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.remark_marks import LINE_OR_BLOCK_MARK, remark_on_line
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collection, line_of
from cfgmigrate.machine.matching import fits
from cfgmigrate.machine.names import NOZZLE, OFFSETS_ALONG_THE_BED, PROBE, SEEN_FROM, Names
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

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
_ITS = rf"{_THE}{_PROBE}\b"
_NOZZLE_LESS_PROBE = pattern(
    rf"(?i)\b{_TIP} (?:minus|less|-) {_ITS}|\bfrom {_ITS} to {_THE}{_TIP}\b"
    rf"|(?<!from )(?<!from the )\b{_TIP}(?: (?:is|sits|stands|lies|as|seen|measured|counted))* from {_ITS}"
)
_PROBE_LESS_NOZZLE = pattern(
    rf"(?i)\b{_PROBE} (?:minus|less|-) {_THE}{_TIP}\b|\bfrom {_THE}{_TIP} to {_ITS}"
    rf"|(?<!from )(?<!from the )\b{_PROBE}(?: (?:is|sits|stands|lies|as|seen|measured|counted))* from {_THE}{_TIP}\b"
)
#: a line with such a word is of the filament's way, and its sensor and pin are none of a probe
_OF_THE_WAY = pattern(r"(?i)filament|spool|reel|runout|run-out|\btubes?\b")
#: a nozzle's own place on the machine, which a script goes to
_GOES_ON = pattern(r"(?i)[ \t-]+(?:brush|wip|clean|scrap|pad|park|bin|bucket|rest)")
#: bytes; so much of each file is looked at for it
_READ = 256 * 1024
#: so many remarks of one file are looked at
_MOST_LOOKED_AT = 50
_WHOLE = pattern(rf"[ \t]*{LINE_OR_BLOCK_MARK}(.*)")
#: so many lines above a setting may have the remark on it, and so much of each is looked at
_ABOVE, _LONGEST = 8, 300


def ask_whose_place(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Takes back each offset of a probe that may be the nozzle's place seen from the probe, and asks."""
    by_path = {document.path: document for document in documents}
    offsets = [each for each in found.readings if each.reading.quantity in OFFSETS_ALONG_THE_BED]
    if not offsets:
        return
    anywhere = _ways_round(documents, found)
    said: dict[tuple[str, str], str] = {}
    for each in offsets:
        place, setting = each.reading.place, each.reading.setting
        if why := _says_turned(by_path[place.file], setting):
            said.setdefault((place.file, setting.section), why)
    for each in offsets:
        reading, setting = each.reading, each.reading.setting
        turned = said.get((reading.place.file, setting.section))
        named = names.find(by_path[reading.place.file], setting) if names else None
        told = (
            [meaning for meaning in named.meanings if meaning.quantity == reading.quantity] if named else []
        )
        if any(meaning.seen_from for meaning in told):
            continue
        turned = turned or anywhere.turned
        if not turned and told and not anywhere.usual and not _says_by_itself(setting):
            turned = "nothing in the files says which way round it is counted"
        if not turned:
            continue
        found.readings.remove(each)
        why = (
            f"{turned}: this may be where the nozzle is, seen from the probe, which has the sign turned round"
        )
        from_probe, from_nozzle = (
            name_line(setting, f"{{quantity: {reading.quantity}, {SEEN_FROM}: {which}}}")
            for which in (PROBE, NOZZLE)
        )
        remedy = (
            f"if it is (nozzle minus probe), say in cfgmigrate.yaml, under meanings: {from_probe}; what is written then is {reading.text} with the "
            f"nozzle's shift added and the probe's taken off. If it is where the probe is, seen from the nozzle: {from_nozzle}"
        )
        found.doubts.append(Doubt(reading.place, line_of(setting), why, remedy, about=reading.quantity))


class _WaysRound(Struct, frozen=True):
    """What remarks anywhere say of which way round offsets are counted: `turned` and `usual` are words of one, "" for none."""

    turned: str = ""
    usual: str = ""


def _ways_round(documents: Sequence[Document], found: Collection) -> _WaysRound:
    ways = {"turned": "", "usual": ""}
    readings = [each.reading for each in found.readings]
    offsets = [each for each in readings if each.quantity in OFFSETS_ALONG_THE_BED]
    sections = {(each.place.file, each.setting.section) for each in offsets}
    others = {(each.place.file, each.place.line) for each in readings}
    others -= {(each.place.file, each.place.line) for each in offsets}
    for document in documents:
        text = document.data[:_READ].decode("latin-1")
        for way, said in (("turned", _NOZZLE_LESS_PROBE), ("usual", _PROBE_LESS_NOZZLE)):
            for there in islice(said.finditer(text), 0 if ways[way] else _MOST_LOOKED_AT):
                line = text.count("\n", 0, there.start()) + 1
                beside = _setting_beside(document, text, there.start(), line)
                of_it = beside is None or (
                    (document.path, beside.line) not in others and (document.path, beside.section) in sections
                )
                if of_it and not _is_elsewhere(text, there.start(), there.end()):
                    ways[way] = f"{document.path}:{line} says `{' '.join(there[0].split())[:60]}`"
                    break
    return _WaysRound(**ways)


def _setting_beside(document: Document, text: str, start: int, line: int) -> Setting | None:
    """The setting that a remark stands behind, or right above; None for the file's opening remark and for one by itself."""
    before = [each for each in document.settings if each.end <= start]
    if not before:
        return None
    if before[-1].line == line:
        return before[-1]
    below = next((each for each in document.settings if each.start > start), None)
    return below if below is not None and text.count("\n", start, below.start) == 1 else None


def _is_elsewhere(text: str, start: int, end: int) -> bool:
    """Whether the line of a remark speaks of the filament's way, or goes on to a place of the nozzle's."""
    first = max(text.rfind("\n", 0, start) + 1, start - _LONGEST)
    last = text.find("\n", end, end + _LONGEST)
    whole = text[first : end + _LONGEST if last < 0 else last]
    return _OF_THE_WAY.search(whole) is not None or _GOES_ON.match(text, end) is not None


def _says_by_itself(setting: Setting) -> bool:
    """Whether a name's own words are those of a probe's offset: `probe offset x`."""
    return any(fit.quantity in OFFSETS_ALONG_THE_BED for fit in fits(read_name(setting.section, setting.key)))


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
