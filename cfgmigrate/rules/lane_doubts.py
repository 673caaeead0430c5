"""What is asked of the values that lanes work out: their age, and which filament their profiles are for.

A value of an age that nothing tells is not written, and that is a doubt where it stands. One that nothing but the first
run calls the old drive's is written, and asks for care: it would move a second time. And where the files' profiles are
all for another filament than the sheet says, either may be wrong.

The ages themselves are told in `age.py`, for readings as `lanes.py` goes through them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from cfgmigrate.ground.findings import Doubt, Likeness, Place
from cfgmigrate.machine.model import Holder, Reading
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.rules.age import Age, Told, remedy
from cfgmigrate.rules.passes import Lane, Work, deciding
from cfgmigrate.sheet.model import MATERIAL, Sheet, folded

#: what is asked, wherever it stands, of values that are moved from what the files hold
_ONCE_ONLY = "carried out once only"


def lane_doubts(work: Work, ages: Mapping[Reading | None, Told], sheet: Sheet) -> dict[Lane, list[Doubt]]:
    """What can't be told of the age of readings, in the lane that decides them; and profiles that are all for other filaments
    than the sheet's."""
    found: dict[Lane, list[Doubt]] = {}
    once: dict[Holder, list[Reading]] = {}
    for reading, told in ages.items():
        if reading is None:
            continue
        lane = next(lane for lane in work.views if deciding(reading, lane.feeder) == lane)
        if told.age is Age.UNKNOWN:
            why = f"{quantity(reading.quantity).label} would be scaled from this value, and is not written: {told.why}"
            found.setdefault(lane, []).append(
                Doubt(reading.place, reading.setting.name, why, remedy(reading.holder))
            )
        elif told.once_only:
            once.setdefault(reading.holder, []).append(reading)
    for several in once.values():
        lane = next(lane for lane in work.views if deciding(several[0], lane.feeder) == lane)
        found.setdefault(lane, []).append(_once_only(several, sheet))
    for lane, doubt in _materials(work, sheet):
        found.setdefault(lane, []).append(doubt)
    return found


def _materials(work: Work, sheet: Sheet) -> Iterator[tuple[Lane, Doubt]]:
    """Where the files' profiles are all for other filaments than the sheet's, one of the two is wrong, or what the sheet
    says was not meant for them."""
    said = sheet.get(MATERIAL)
    lanes = [lane for lane in work.views if lane.profile is not None]
    own = {lane: entry for lane in lanes if (entry := work.sheets[lane].get(MATERIAL)) is not None}
    if said is None or any(entry.says_the_same(said) for entry in own.values()):
        return
    for lane, entry in own.items():
        assert lane.profile is not None
        if sheet.profiles.get(folded(lane.profile), {}).get(MATERIAL) is not None:
            continue
        why = f"{lane.profile} is for {entry.text}, and the sheet says {said.text}; its values are worked out for {entry.text}"
        said_so = f'filaments: {{"{lane.profile.name}": {{material: {said.text}}}}} in the sheet'
        if lane.profile.kind == "print":
            said_so = (
                f'profiles: {{{entry.place.file}: {{print: "{lane.profile.name}", material: {said.text}}}}}'
                " in cfgmigrate.yaml"
            )
        settle = (
            f"If it is to print {said.text}, say {said_so} and prepare again. If not, nothing has to be done."
        )
        yield lane, Doubt(entry.place, f"material {entry.text}", why, settle)


def _once_only(readings: list[Reading], sheet: Sheet) -> Doubt:
    """What to say where nothing tells whether the files are the old machine's, and values are moved from them."""
    holder = readings[0].holder
    whose = "" if holder.kind == "machine" else f" of {holder}"
    names = list(dict.fromkeys(quantity(reading.quantity).label for reading in readings))
    are, they = ("are", "they") if len(names) > 1 else ("is", "it")
    why = (
        f"{', '.join(names)}{whose} {are} worked out from what the files hold, and"
        f" nothing else in the sheet tells whether that is still the old machine's; carried out a second time, {they}"
        " would move a second time"
    )
    settle = "Make sure that the files are as they were before the swap, and carry this sheet out once only."
    place = next((entry.place for entry in sheet.entries.values()), Place(sheet.path))
    if holder.kind != "machine":
        place = readings[0].place
    like = Likeness(_ONCE_ONLY, own=f"{', '.join(names)}{whose}", anywhere=True)
    return Doubt(place, _ONCE_ONLY, why, settle, like=like)
