"""Whether a machine looks swapped already: what its files say of the drive that goes on, before anything is worked out
from them a second time.

Four signs are looked for: a setting that says where the drive sits, and says the new place; the length of a tube that
is the new one, or none; a feed that is the new drive's within a twentieth, where the gears are others; and retractions
that are all too short for a tube. One sign may be chance, or written ahead by hand; two are no chance. Settings are read by their words here, whether a quantity
has them or not, since a note that nothing is worked out from tells as much.

Nothing is decided here: whoever plans asks the person, and the sheet's `values:` answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from cfgmigrate.dialects.decimal_commas import number_in_points
from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.files.marks import words_of
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.machine.model import Machine, feeder
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.model import Plan
from cfgmigrate.rules.lanes import Worked
from cfgmigrate.sheet.model import Entries, Sheet

#: so many signs are clear
CLEAR_SIGNS = 2
#: the part of itself within which a feed is the new one
NEAR_THE_NEW = 0.05
_REMEDY = (
    "Nothing was written. If it is swapped, leave this machine out. If it is not, or the rest is wanted all the same, say "
    "in the sheet whose values the files hold: `values: old`, or `values: new`."
)
#: mm: the longest retraction that no tube-fed drive does with (4 to 7 mm are usual through 400 to 800 mm of tube, 0.3 to
#: 0.8 mm from a compact drive: common practice, no source)
TOO_SHORT_FOR_A_TUBE = 1.0
_FEEDS = ("feeder.steps_per_mm", "feeder.feed_per_turn")
_DRIVE = frozenset(("feeder", "filament", "drive", "extruder", "feed"))
_PLACE = frozenset(
    ("place", "sits", "seat", "mount", "mounted", "where", "location", "position", "on", "kind", "type")
)
_ON_CARRIAGE = frozenset(("carriage", "head", "toolhead", "direct"))
_TUBE = frozenset(("tube", "hose"))
#: words beside the carriage by which a drive sits elsewhere: `behind the frame, a tube to the carriage`
_ELSEWHERE = _TUBE | {"frame", "behind", "remote", "rear"}
#: the fields of which one list is said where the new drive's feed is
_FEED_TOLD = (
    ("new.steps_per_mm",),
    ("new.feed_per_turn",),
    ("new.drive_gear.effective_diameter", "new.drive_gear.gear_ratio"),
)
_LENGTH = frozenset(("length", "len", "long", "mm"))


class Sign(Struct, frozen=True):
    """One sign: where it stands, and what it says."""

    place: str
    says: str

    def __str__(self) -> str:
        return f"{self.place}: {self.says}"


def signs(machine: Machine, said: Entries, plan: Plan) -> tuple[Sign, ...]:
    """What in the files speaks for a swap that was done; () where the sheet says that the drive stays where it was. `said` is the flat sheet of the feeder that is swapped, `plan` what would be done."""
    old, new = (said[name].word if name in said else "" for name in ("old.drive", "new.drive"))
    if not new or old == new:
        return ()
    settings = [
        (f"{document.path}:{setting.line}", setting)
        for document in machine.documents
        for setting in document.settings
        if setting.state is State.ACTIVE and document.dialect != "command"
    ]
    found = (
        _place(settings, new),
        _tube(settings, said, new),
        _feed(machine, said, plan),
        _retraction(machine, new),
    )
    return tuple(sign for sign in found if sign is not None)


def refuse_swapped(machine: Machine, worked: Worked, plan: Plan, sheet: Sheet) -> None:
    """Raises Refused where the signs are clear and the sheet doesn't say how old the values are."""
    for lane in worked.sheets:
        if (
            lane.profile is not None
            or lane.feeder not in worked.swapped
            or sheet.values_of(feeder(lane.feeder))
        ):
            continue
        found = signs(machine, worked.sheets[lane].entries, plan)
        if len(found) >= CLEAR_SIGNS:
            raise Refused(
                "\n  ".join(["this looks swapped already:", *map(str, found)]), Place(plan.root), _REMEDY
            )


def _place(settings: Iterable[tuple[str, Setting]], new: str) -> Sign | None:
    """A setting of the drive's place that says the new one."""
    if new != "on the carriage":
        return None
    for place, setting in settings:
        words = {*words_of(setting.section), *words_of(setting.key)}
        says = {*words_of(setting.value)}
        if words & _DRIVE and words & _PLACE and says & _ON_CARRIAGE and not says & _ELSEWHERE:
            return Sign(place, f"{setting.name} = {setting.value}")
    return None


def _tube(settings: Iterable[tuple[str, Setting]], said: Entries, new: str) -> Sign | None:
    """The length of a tube that is none, or nearer to the new one than to the old."""
    lengths = {
        name: said[f"{name}.tube.length"].value for name in ("old", "new") if f"{name}.tube.length" in said
    }
    for place, setting in settings:
        words = {*words_of(setting.section), *words_of(setting.key)}
        value = _number(setting.value)
        if value is None or not (
            words & _TUBE and words & _LENGTH and {*words_of(setting.key)} & (_TUBE | _LENGTH)
        ):
            continue
        if (value == 0 and new == "on the carriage") or _is_new(value, lengths):
            return Sign(place, f"{setting.name} = {setting.value}")
    return None


def _is_new(value: float, lengths: Mapping[str, float | None]) -> bool:
    old, new = lengths.get("old"), lengths.get("new")
    return bool(old and new) and abs(value - (new or 0)) <= NEAR_THE_NEW * value < abs(value - (old or 0))


def _feed(machine: Machine, said: Entries, plan: Plan) -> Sign | None:
    """A feed that is what the new drive asks for, though its gears are others. Where they are not told yet it was worked out
    from the old ones."""
    if not any(all(name in said for name in names) for names in _FEED_TOLD):
        return None
    if "new.gears_as_before" in said and said["new.gears_as_before"].word == "yes":
        return None
    for left in plan.left_alone:
        reading = machine.get(left.quantity) if left.quantity in _FEEDS else None
        if reading is not None and left.already:
            return _is_the_new(reading.place.file, reading.place.line, left.quantity, reading.text)
    for change in plan.changes:
        was, becomes = change.old.value if change.old else None, change.new.value
        if change.quantity in _FEEDS and was and becomes and abs(was / becomes - 1) <= NEAR_THE_NEW:
            edit = change.edits[0]
            return _is_the_new(edit.file, edit.line, change.quantity, change.old.text if change.old else "")
    return None


def _retraction(machine: Machine, new: str) -> Sign | None:
    """The longest of a machine's retractions, where a tube asks for more; one that is off says nothing."""
    lengths = [each for each in machine.readings if each.quantity == "retraction.length" and each.value]
    longest = max(lengths, key=lambda each: each.value or 0.0, default=None)
    if new != "on the carriage" or longest is None or (longest.value or 0.0) > TOO_SHORT_FOR_A_TUBE:
        return None
    return Sign(
        f"{longest.place.file}:{longest.place.line}",
        f"retraction length {longest.text}, too short for a tube",
    )


def _is_the_new(file: str, line: int, name: str, text: str) -> Sign:
    return Sign(f"{file}:{line}", f"{quantity(name).label} {text}, what the new drive takes")


def _number(text: str) -> float | None:
    first: Iterator[str] = iter(text.strip("\"' ").split())
    try:
        return float(number_in_points(next(first, "")))
    except ValueError:
        return None
