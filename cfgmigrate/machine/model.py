"""The neutral model: what a machine's files say, free of any dialect.

A `Quantity` is one physical thing with its unit. A `Reading` is one file's value for it, in the
quantity's own unit, with the form in which the file has it, so that a new value can be written back in
that same form. Each reading has one `Holder`: whose value it is. A `Machine` is all readings of a
configuration, with what was in doubt and what was not understood. A `View` is the machine as it is while one
feeder runs with one profile.

This module deliberately holds no words (`words.yaml`), no list of quantities (`quantities.yaml`) and no
rules. How a reading gets its holder is in `ownership.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Protocol

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.files.gaps import Gap
from cfgmigrate.files.roles import FileRole
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.units import listed

#: units that are there so that numbers can be whole ones; nobody says them
_IN_PARTS = frozenset({"mm/10", "mm/100"})


class Quantity(Struct, frozen=True):
    """One physical thing. `kind` is number, ratio, truth, text or script. `low` and `high` bound what is
    plausible, in `unit` (None: unbounded). A protected quantity is read and compared, never written. `of` is
    feeder where each feeder of a machine has its own, else machine."""

    id: str
    label: str
    unit: str
    meaning: str
    kind: str = "number"
    low: float | None = None
    high: float | None = None
    protected: bool = False
    of: str = "machine"

    def plausible(self, value: float) -> bool:
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


def more_than_written(unit: str) -> float:
    """How much more than a file's number counts in a unit: one where a driver's lowest step is 0, and gives a part already."""
    return 1.0 if unit.startswith("(step") else 0.0


class Form(Struct, frozen=True):
    """How the file writes a quantity. value = factor · written, or factor / written where `reciprocal`; a driver's
    steps count one more than what is written.

    `unit` is the unit the file's number is in (for people). `note` says in words how it was converted,
    "" where it was not. `ratio` is true where the file writes gear stages such as `46:15`. `teeth` is `driven` or
    `driving` where the number is the count of teeth of that gear alone, and the ratio's other one stands elsewhere.
    `driving_first` is true where the driving gear's teeth stand first in a ratio: `15:46`. `commas` is true where the
    file's numbers have a comma for a point. `whole` tells by what the file has whole numbers only (`machine/whole_numbers.py`).
    """

    unit: str = ""
    factor: float = 1.0
    reciprocal: bool = False
    ratio: bool = False
    note: str = ""
    teeth: str = ""
    driving_first: bool = False
    commas: bool = False
    whole: str = ""

    def to_value(self, written: float) -> float:
        return (
            self.factor / written
            if self.reciprocal
            else self.factor * (written + more_than_written(self.unit))
        )

    def to_written(self, value: float) -> float:
        return self.factor / value if self.reciprocal else value / self.factor - more_than_written(self.unit)

    @property
    def in_parts(self) -> bool:
        """Whether the file counts in parts of a unit, which nobody says: 480 for 4.8 mm."""
        found = listed(self.unit)
        return found is not None and found.name in _IN_PARTS

    def told_in(self, unit: str) -> tuple[float, str]:
        """The unit in which a person is told a value that the rules have in `unit`, and how many of `unit` one of it is: the
        file's own, so that what is said and what is read there are one number; for a current with RMS or peak."""
        bare = self.unit.removesuffix(" rms").removesuffix(" peak")
        plain = not (self.in_parts or self.reciprocal or self.ratio or self.teeth)
        return (self.factor, self.unit) if plain and listed(bare) and bare else (1.0, unit)


#: between a profile's name and the feeder that it sets a value for
FOR_FEEDER = " for feeder "


class Holder(Struct, frozen=True, order=True):
    """Whose a value is. `kind` is machine, feeder, filament or print; `name` the feeder's number or the
    profile's name, "" for the machine. What a profile sets for one of several feeders, as one entry of a list, is
    held by the profile for that `feeder`."""

    kind: str
    name: str = ""
    feeder: int = 0

    def __str__(self) -> str:
        whole = f"{self.kind} {self.name}" if self.name else self.kind
        return f"{whole}{FOR_FEEDER}{self.feeder}" if self.feeder else whole

    @property
    def profile(self) -> Holder | None:
        """The profile as a whole, None for the machine and for a feeder."""
        return Holder(self.kind, self.name) if self.kind in ("filament", "print") else None


MACHINE = Holder("machine")
#: one quantity of one holder: what a reading is known by
Key = tuple[str, Holder]


def feeder(number: int) -> Holder:
    """The holder of a feeder's own values, counted from 1."""
    return Holder("feeder", str(number))


class Reading(Struct, frozen=True):
    """One quantity as one file has it.

    `value` is in the quantity's unit; None for kinds text and script (then `text` is the reading; truth is 1.0 or
    0.0). `text` is what stands in the file at `start`..`end` (bytes), exactly the span an edit would
    replace. `place` is where that span begins. `holder` says whose value it is, `serves` which feeders' views
    reach it. Where it is not `editable`, it is shown and compared but never written, and `why_not` says why.
    """

    quantity: str
    value: float | None
    text: str
    place: Place
    start: int
    end: int
    form: Form
    setting: Setting
    holder: Holder = MACHINE
    serves: tuple[int, ...] = (1,)
    editable: bool = True
    why_not: str = ""

    @property
    def key(self) -> Key:
        return self.quantity, self.holder

    @property
    def converted(self) -> str:
        return self.form.note


class Unread(Struct, frozen=True):
    """A setting that was not understood. `nearest` are ids of the quantities that its words come closest to
    (empty: it does not look relevant). `said` is what remarks say of a code's word, where its name says nothing."""

    place: Place
    text: str
    setting: Setting
    nearest: tuple[str, ...] = ()
    said: str = ""


class Profile(Struct, frozen=True):
    """A filament's or print's own settings. `feeders` are those that it is for; `place` is where it begins;
    `material` is "" where the files don't say it."""

    holder: Holder
    feeders: tuple[int, ...]
    place: Place
    material: str = ""


class GivenName(Struct, frozen=True):
    """A name that the files give the machine; or, where `profile` holds it, of a machine that this one is for."""

    name: str
    place: Place
    profile: Holder | None = None


class FlatMachine(Protocol):
    """What the rule book sees: at most one reading of a quantity. A `Machine` (by its base view) and a `View`
    are such."""

    @property
    def documents(self) -> tuple[Document, ...]: ...
    @property
    def readings(self) -> tuple[Reading, ...]: ...
    @property
    def doubts(self) -> tuple[Doubt, ...]: ...
    @property
    def unread(self) -> tuple[Unread, ...]: ...
    @property
    def shadowed(self) -> tuple[Reading, ...]: ...
    @property
    def twins(self) -> Mapping[str, tuple[Reading, ...]]: ...
    @property
    def by_quantity(self) -> Mapping[str, Reading]: ...
    def get(self, quantity: str) -> Reading | None: ...
    def document(self, path: str) -> Document: ...


class Machine(Struct, frozen=True, dict=True):
    """All that a configuration says. `readings` stand in the order of the files and lines, one for each
    quantity and holder; the others are in `followed` (they move along) or `shadowed` (they say nothing)."""

    documents: tuple[Document, ...]
    readings: tuple[Reading, ...]
    doubts: tuple[Doubt, ...] = ()
    unread: tuple[Unread, ...] = ()
    shadowed: tuple[Reading, ...] = ()
    #: for a quantity and holder, the further readings that must move together with the one in force
    followed: Mapping[Key, tuple[Reading, ...]] = field(default_factory=dict)
    #: the feeders that the files tell of, counted from 1
    feeders: tuple[int, ...] = (1,)
    #: the filaments and prints that the files hold settings of, in the order of files and lines
    found_profiles: tuple[Profile, ...] = ()
    #: the names that feeders go by, in the files or in the site file, with their numbers
    feeder_names: Mapping[str, int] = field(default_factory=dict)
    #: the files of values that the board keeps and prefers
    saved: frozenset[str] = frozenset()
    #: the texts that may be a listing of what the board keeps, which is asked
    unclaimed: tuple[FileRole, ...] = ()
    #: the texts that seem to be scripts in codes of their owner's own, whose words nobody explained
    own_scripts: tuple[FileRole, ...] = ()
    #: what is not there: files that break off, and files that are taken in and missing
    gaps: tuple[Gap, ...] = ()
    #: the names that the files give the machine, and those of the machines that profiles are for
    given_names: tuple[GivenName, ...] = ()
    #: settings that the user said are nothing, with the quantities that their words fit: they may be of the old drive all the same
    said_nothing: tuple[Unread, ...] = ()

    def view(self, feeder: int = 1, profile: Holder | None = None) -> View:
        """The machine while one feeder runs, with at most one profile."""
        return View(self, feeder, profile)

    def reading(self, quantity: str, holder: Holder) -> Reading | None:
        """A holder's own reading in force, or None where no file has it."""
        return self._by_key.get((quantity, holder))

    def held_by(self, holder: Holder) -> tuple[Reading, ...]:
        """A holder's own readings in force, in the order of files and lines."""
        return self._by_holder.get(holder, ())

    def set_by(self, profile: Holder, feeders: Iterable[int]) -> tuple[Reading, ...]:
        """What a profile sets for all feeders, and for each of these by itself."""
        return tuple(
            reading for each in (0, *feeders) for reading in self.held_by(replace(profile, feeder=each))
        )

    def followers(self, reading: Reading) -> tuple[Reading, ...]:
        """The readings that move along with one in force: what it overrides by a known relation, and the same
        value written once more for the same holder."""
        return self.followed.get(reading.key, ())

    @cached_property
    def in_doubt(self) -> Mapping[str, Place]:
        """Where a line stands that may be a quantity and was not taken, by that quantity."""
        found: dict[str, Place] = {}
        for doubt in self.doubts:
            if doubt.about:
                found.setdefault(doubt.about, doubt.place)
        return found

    @property
    def profiles(self) -> tuple[Holder, ...]:
        """Filament and print profiles."""
        return tuple(profile.holder for profile in self.found_profiles)

    def profiles_serving(self, feeder: int) -> tuple[Holder, ...]:
        return tuple(profile.holder for profile in self.found_profiles if feeder in profile.feeders)

    @property
    def only_profile(self) -> Holder | None:
        """The profile that has no alternative, so that the machine never runs without it."""
        return self.found_profiles[0].holder if len(self.found_profiles) == 1 else None

    @property
    def usual(self) -> View:
        """The first feeder's view with the profile that has no alternative."""
        first = (self.feeders or (1,))[0]
        only = self.only_profile
        return self.view(first, only if only in self.profiles_serving(first) else None)

    def material(self, profile: Holder) -> str:
        """The material that the files say a profile is for, "" where they don't."""
        return next((each.material for each in self.found_profiles if each.holder == profile), "")

    def get(self, quantity: str) -> Reading | None:
        """The first feeder's reading without any profile, or None where no file says it (or it is in doubt)."""
        return self.by_quantity.get(quantity)

    @property
    def by_quantity(self) -> Mapping[str, Reading]:
        """The base view of the first feeder."""
        return self._base.by_quantity

    @property
    def twins(self) -> Mapping[str, tuple[Reading, ...]]:
        """The followers of the base view of the first feeder."""
        return self._base.twins

    @property
    def every_reading(self) -> tuple[Reading, ...]:
        """All readings, in force or not."""
        along = (reading for several in self.followed.values() for reading in several)
        return (*self.readings, *self.shadowed, *along)

    def document(self, path: str) -> Document:
        return next(document for document in self.documents if document.path == path)

    @cached_property
    def _base(self) -> View:
        return self.view()

    @cached_property
    def _by_key(self) -> dict[Key, Reading]:
        return {reading.key: reading for reading in self.readings}

    @cached_property
    def _by_holder(self) -> dict[Holder, tuple[Reading, ...]]:
        found: dict[Holder, list[Reading]] = {}
        for reading in self.readings:
            found.setdefault(reading.holder, []).append(reading)
        return {holder: tuple(several) for holder, several in found.items()}


class View(Struct, frozen=True, dict=True):
    """The machine while feeder `feeder` runs with `profile`: flat, each quantity from the profile, else from
    the feeder, else from the machine. Two views that share a reading give the very same object."""

    machine: Machine
    feeder: int = 1
    profile: Holder | None = None

    @property
    def holders(self) -> tuple[Holder, ...]:
        """Whose readings it sees, the nearest first."""
        near = (replace(self.profile, feeder=self.feeder), self.profile) if self.profile else ()
        return (*near, feeder(self.feeder), MACHINE)

    def get(self, quantity: str) -> Reading | None:
        return self.by_quantity.get(quantity)

    @cached_property
    def by_quantity(self) -> Mapping[str, Reading]:
        found: dict[str, Reading] = {}
        for holder in reversed(self.holders):
            for reading in self.machine.held_by(holder):
                if self.feeder in reading.serves:
                    found[reading.quantity] = reading
        return found

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """In the order of files and lines."""
        return tuple(each for each in self.machine.readings if self.by_quantity.get(each.quantity) is each)

    @cached_property
    def twins(self) -> Mapping[str, tuple[Reading, ...]]:
        """The followers of its readings, by quantity."""
        pairs = ((name, self.machine.followers(each)) for name, each in self.by_quantity.items())
        return {name: along for name, along in pairs if along}

    @property
    def documents(self) -> tuple[Document, ...]:
        return self.machine.documents

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        return self.machine.doubts

    @property
    def unread(self) -> tuple[Unread, ...]:
        return self.machine.unread

    @property
    def shadowed(self) -> tuple[Reading, ...]:
        return self.machine.shadowed

    def document(self, path: str) -> Document:
        return self.machine.document(path)
