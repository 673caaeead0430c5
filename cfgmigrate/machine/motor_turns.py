"""A distance for a turn of the motor that stands beside a gear ratio.

A feed per turn counts a turn of the drive gear where the files have a gear ratio, and of the motor where
they have none. A key that says `per motor turn` beside a gear ratio says both: either the ratio is in the
number already, or the key is loosely named and the ratio still counts. A factor of the whole ratio lies between
the two, and no file tells which it is. So neither number is in force, and a doubt at each says how a names file
settles it: with the ratio taken as nothing, the distance is the motor's; with the distance named, it is the
drive gear's. What a names file has settled is left as it is.

A remark says it as well that speaks of gears which are in the number: `gears included`.

Beside a ratio of 1 the two are the same number, and a new one is not. Then the words decide, in the key or in the remark
behind it or right above it: the distance is of the motor's turn, and the ratio is asked about and not written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.remark_marks import LINE_OR_BLOCK_MARK, remark_on_line
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import MACHINE, Key, Reading
from cfgmigrate.machine.plain_words import plain
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.words import read_name

#: why a distance per turn is not edited beside a line that may be its gear ratio
RATIO_UNSETTLED = "whether a gear ratio counts beside it is not settled"
_PER_TURN, _RATIO = pattern(r"\.(?:feed|travel)_per_turn$"), ".gear_ratio"
_MOTOR = frozenset({"motor", "stepper"})
_BETWEEN = frozenset({"of", "the", "a", "one", "shaft"})


#: more of a line is no remark on its value
_LONGEST_REMARK = 300
_ALONE = pattern(rf"[ \t]*{LINE_OR_BLOCK_MARK}([^\r\n]*)")
_OF_THE_MOTOR = pattern(
    r"\b(?:(?:counts?|in|by)\s+(?:turn|rev|revolution|rotation)s|turn|rev|revolution|rotation)\s+of\s+(?:the\s+|its\s+|a\s+)?(?:motor|stepper)\b"
    r"|^\W*(?:of|for|at|per|on)\s+(?:the\s+|its\s+|a\s+)?(?:motor|stepper)\b"
    r"|\b(?:gears?|gearing|gear\s?box|ratio|reduction)(?:\s+(?:ratio|is|are|being|already))*\s+"
    r"(?:included|counted|contained|in\s+(?:it|here|this|that|there|the\s+(?:number|value|figure)))\b"
    r"|\b(?:incl|including|includes?|with|contains)\.?\s+(?:the\s+|all\s+|its\s+)?(?:gears|gearing|gear\s?box|(?:gear\s+)?ratio|reduction)\b"
    r"|\b(?:motor|stepper)(?:'s)?[\s-]+(?:shaft\s+)?(?:turn|rev|revolution|rotation)\b"
)
#: a word before it with which a remark does not say it of the number as it stands, so many words before it
_NOT_SO = pattern(r"\b(?:not|never|no|was|were|once|formerly|old|steps?|pulses?)\b(?:\s+\w+){0,4}\s*$")
_NEAR = 60


def motor_turns_said(documents: Sequence[Document]) -> Callable[[Reading], bool]:
    """Whether a reading's words speak of a turn of the motor: those of its key, or of the remark behind it or right above."""
    by_path = {document.path: document for document in documents}

    def said(reading: Reading) -> bool:
        return _key_says_it(reading) or any(map(_says_it, _remarks(by_path[reading.place.file], reading)))

    return said


def _key_says_it(reading: Reading) -> bool:
    """Whether the key itself speaks of a turn of the motor, not only its section of a motor."""
    words = [plain(word) for word in read_name("", reading.setting.key).key if word not in _BETWEEN]
    return any("turn" in pair and _MOTOR & set(pair) for pair in pairwise(words))


def _remarks(document: Document, reading: Reading) -> Iterable[str]:
    yield remark_on_line(document, reading.setting, _LONGEST_REMARK)
    start = max(0, reading.setting.start - 2 * _LONGEST_REMARK)
    lines = document.slice(start, reading.setting.start).split("\n")
    whole = lines[1:] if start else lines  # the first may begin within a line
    if len(whole) > 1 and (alone := _ALONE.match(whole[-2].lstrip("\ufeff"))):
        yield alone[1]


def _says_it(remark: str) -> bool:
    small = remark.lower()
    return any(
        not _NOT_SO.search(small[max(0, found.start() - _NEAR) : found.start()])
        for found in _OF_THE_MOTOR.finditer(small)
    )


def motor_turns_apart(
    readings: list[Reading], settled: Callable[[Reading], bool], said: Callable[[Reading], bool]
) -> tuple[list[Reading], list[Reading], list[Doubt]]:
    """Readings without, and then those, that are a distance per motor turn or the gear ratio beside it; and a doubt for
    each distance and ratio. A distance beside ratios of 1 stays. `settled` says what a names file has said of a reading's
    setting, `said` whether words speak of a turn of the motor."""
    apart: set[Key] = set()
    doubts: list[Doubt] = []
    for distance in readings:
        if not _PER_TURN.search(distance.quantity) or not said(distance):
            continue
        beside = [each for each in readings if _beside(distance, each)]
        ratios = [each for each in beside if each.value != 1]
        if ratios and not settled(distance):
            apart |= {distance.key, *(ratio.key for ratio in ratios)}
            doubts += _doubts(distance, ratios)
        elif beside and not ratios and of_feeder(distance.quantity):
            apart |= {ratio.key for ratio in beside}
            doubts += [_not_counted(distance, ratio) for ratio in beside]
    kept = [reading for reading in readings if reading.key not in apart]
    return kept, [reading for reading in readings if reading.key in apart], doubts


def _not_counted(distance: Reading, ratio: Reading) -> Doubt:
    where = f"{distance.place.file}:{distance.place.line}"
    why = (
        f"{quantity(distance.quantity).label} at {where} is said for a turn of the motor, with all gears in it: whether the "
        "machine reckons with this gear ratio as well is not clear, so it stays as it is"
    )
    remedy = (
        "where it is for people only, write the new ratio by hand; where the machine multiplies by it, leave it as it is, "
        f"since the distance has the gears in it; then say so in cfgmigrate.yaml, under meanings ({name_line(ratio.setting, 'ignore')})"
    )
    return Doubt(ratio.place, f"{ratio.setting.key} = {ratio.text}", why, remedy)


def with_ratio_in_doubt(readings: Iterable[Reading], doubts: Iterable[Doubt]) -> list[Reading]:
    """Readings, a distance per turn not editable beside a line that may be its gear ratio and was not taken: whether it
    counts a turn of the motor or of the drive gear is then open."""
    found = list(readings)
    open_ratios = {each.about: each.place for each in doubts if each.about.endswith(_RATIO)}
    known = {each.quantity for each in found}
    for at, reading in enumerate(found):
        ratio = _PER_TURN.sub(_RATIO, reading.quantity)
        if ratio != reading.quantity and ratio in open_ratios and ratio not in known and reading.editable:
            place = open_ratios[ratio]
            why = f"{RATIO_UNSETTLED} ({place.file}:{place.line})"
            found[at] = replace(reading, editable=False, why_not=why)
    return found


def with_ratio_open(readings: Iterable[Reading], shadowed: Iterable[Reading]) -> list[Reading]:
    """Readings in force, a distance per turn not editable beside gear ratios of which it is not clear which one holds."""
    found = list(readings)
    held = {each.key for each in found if each.quantity.endswith(_RATIO)}
    open_ratios: dict[Key, Reading] = {}
    anyones: dict[str, Reading] = {}
    for ratio in shadowed:
        if ratio.quantity.endswith(_RATIO) and ratio.key not in held:
            open_ratios.setdefault(ratio.key, ratio)
            anyones.setdefault(ratio.quantity, ratio)
    for at, reading in enumerate(found):
        name = _PER_TURN.sub(_RATIO, reading.quantity)
        if name == reading.quantity or not reading.editable or (name, reading.holder) in held:
            continue
        own = open_ratios.get((name, reading.holder)) or open_ratios.get((name, MACHINE))
        beside = anyones.get(name) if reading.holder == MACHINE else own
        if beside is not None:
            why = (
                f"which gear ratio counts beside it is not settled ({beside.place.file}:{beside.place.line})"
            )
            found[at] = replace(reading, editable=False, why_not=why)
    return found


def _beside(distance: Reading, ratio: Reading) -> bool:
    """Whether a reading is the gear ratio of the drive that a distance is of: of the same feeder, or of all."""
    same = ratio.holder == distance.holder or MACHINE in (ratio.holder, distance.holder)
    return same and ratio.quantity == _PER_TURN.sub(_RATIO, distance.quantity)


def _doubts(distance: Reading, ratios: Iterable[Reading]) -> list[Doubt]:
    line = name_line(distance.setting, distance.quantity)
    found = []
    for ratio in ratios:
        ignored = name_line(ratio.setting, "ignore")
        remedy = f"say in cfgmigrate.yaml, under meanings, that it is ({ignored}) or that the distance is for the gear ({line})"
        why = (
            f"{quantity(distance.quantity).label} is said for a turn of the motor here, and a gear ratio stands at "
            f"{ratio.place.file}:{ratio.place.line}: whether the ratio is in the number already is not clear"
        )
        beside = (
            f"{quantity(ratio.quantity).label}: whether it is in the distance per motor turn at "
            f"{distance.place.file}:{distance.place.line} already is not clear"
        )
        found.append(Doubt(distance.place, f"{distance.setting.key} = {distance.text}", why, remedy))
        found.append(Doubt(ratio.place, f"{ratio.setting.key} = {ratio.text}", beside, remedy))
    return found
