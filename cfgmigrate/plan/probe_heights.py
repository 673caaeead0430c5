"""Lines that seem to say how high the tip stands when the probe acts, and that no step would name: protected by their own
words, or understood by nobody.

Where no such height is read and the probe has to be set, the rule for that names them (`lines_by_hand.py`). Where another line
is read as the height, or the probe is set with the tip, that rule is silent, and so would be the second line: which of two
holds on the board is not known here. Where none of those that were read is written, because it is not yet known what the height
becomes, each of them is named, whichever holds; and wherever the tip has moved, small corrections of the height that
somebody found with the old tip. Nothing is written by this.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.words import split
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.lines_by_hand import PROTECTED_PROBE, says_how_high_it_acts
from cfgmigrate.plan.model import ByHand, Change
from cfgmigrate.plan.named_lines import PLAIN_NUMBER
from cfgmigrate.sheet.model import Sheet

#: what a sheet says of that may have moved the tip
_OF_THE_SWAP = ("new.", "carriage.")
_WHY = (
    "it seems to say how high the tip stands when the probe acts, and was neither read as that nor written; the tip stands otherwise "
    "now: measure it anew before z is homed"
)
_OFFSET = "probe.offset_z"
_WAITS = (
    "it says how high the tip stands when the probe acts, and what that becomes is not known yet: the old number stays until it is "
    "measured anew, before z is homed"
)
#: a correction of the height, small and made by hand (common practice, no source)
_CORRECTS = pattern(
    r"(?<![a-z])(?:baby(?:[ _-]?(?:steps?|height))?|(?:small|fine|little)[ _-]?(?:heights?|z)|height[ _-]?(?:trim|tweak)|z[ _-]?(?:trim|tweak))(?![a-z])",
    re.IGNORECASE,
)
_CORRECTED = "a small correction of the height, which was found with the old tip: find it anew once the probe is set, and set it to 0 until then"


def heights_that_wait(
    machine: Machine, sheet: Sheet, by_hand: Collection[ByHand], changes: Collection[Change]
) -> Iterator[Beside]:
    """The lines of heights that were read, where none of them is written though the tip or the probe may stand otherwise
    than before, and of their corrections."""
    if not _may_have_moved(sheet):
        return
    steps = "\n".join(step for item in by_hand for step in item.steps)
    if not any(change.quantity == _OFFSET for change in changes):
        for each in machine.every_reading:
            if each.quantity == _OFFSET and not re.search(
                rf"{re.escape(f'{each.place.file}:{each.place.line}')}(?!\d)", steps
            ):
                yield each.place.file, each.place.line, f"{each.setting.name} = {each.text}", _WAITS
    for unread in machine.unread:
        setting = unread.setting
        called = f"{' '.join(split(setting.name))} {unread.said} {unread.text}"
        if (
            setting.state is State.ACTIVE
            and PLAIN_NUMBER.fullmatch(setting.value)
            and _CORRECTS.search(called)
        ):
            yield unread.place.file, unread.place.line, f"{setting.name} = {setting.value}", _CORRECTED


def _may_have_moved(sheet: Sheet) -> bool:
    """Whether the tip stands higher or lower than before, or nobody said that it does not."""
    shift, same = sheet.get("carriage.nozzle_shift.z"), sheet.get("carriage.height_as_before")
    if (shift is not None and not shift.value) or (same is not None and same.word == "yes"):
        return False
    return any(name.startswith(_OF_THE_SWAP) for name in sheet.entries)


def probe_heights_left(machine: Machine, sheet: Sheet, by_hand: Collection[ByHand]) -> Iterator[Beside]:
    """Their lines, where the tip stands higher or lower than before, or nobody said that it does not."""
    if not _may_have_moved(sheet):
        return
    steps = "\n".join(step for item in by_hand for step in item.steps)
    protected = [
        (each.place, each.setting) for each in machine.readings if each.quantity.startswith(PROTECTED_PROBE)
    ]
    for place, setting in (*protected, *((each.place, each.setting) for each in machine.unread)):
        if _is_height(setting) and f"{place.file}:{place.line}" not in steps:
            yield place.file, place.line, f"{setting.name} = {setting.value}", _WHY


def told_of_heights(found: Collection[Beside]) -> dict[str, str]:
    """What the light of the height says of these lines, by the quantity that they seem to be."""
    if not found:
        return {}
    lines = ", ".join(f"{text} ({file}:{line})" for file, line, text, _ in found)
    how_many = "seem" if len(found) > 1 else "seems"
    why = f"{lines} {how_many} to say how high the tip stands when the probe acts and stays as it is: measure it anew before z is homed"
    return {"probe.offset_z": why}


def _is_height(setting: Setting) -> bool:
    if setting.state is State.INACTIVE or not PLAIN_NUMBER.fullmatch(setting.value.partition(" ")[0]):
        return False
    return says_how_high_it_acts(setting)
