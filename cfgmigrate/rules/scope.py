"""What a rule can see: the files' readings, the sheet's fields, constants, tables and other rules' results.

Names say where a value comes from:

    was.feeder.feed_per_turn     what the files have
    will.feeder.feed_per_turn    what the rule for it came to, else what the files have
    shared.axis.x.max_acceleration   for a profile: what it becomes where no profile is on
    new.drive_gear.effective_diameter    a field of the swap sheet
    filament.material.modulus        a field of the table row that the sheet names
    const.push_force                 a constant
    path.give_new                    the result of the rule of that name
    in a profile                     known where there is one

A value with an uncertainty is one object wherever it is used, so that what two results have in common is
counted once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import FlatMachine, Form, Reading
from cfgmigrate.machine.quantities import quantity as look_up
from cfgmigrate.rules import dimensions
from cfgmigrate.rules.formula import IN_A_PROFILE
from cfgmigrate.sheet.model import MATERIAL, Sheet, SheetEntry
from cfgmigrate.sheet.repeats import COUNT, SPREAD
from cfgmigrate.sheet.schema import field_of

#: the name under which a formula has the temperature from which the filament softens
SOFTENING = f"{MATERIAL}.softening"


class NamedValue(Struct, frozen=True):
    """A value under a name. `base` is in SI base units (a float, or one with uncertainty); None for a word.

    `text` is how it was written, where that matters (gear stages); `unsettled` why it is a question. `form` is that in
    which a file has it, where one does: people are told it so."""

    name: str
    label: str
    unit: str
    origin: str
    base: Any = None
    word: str = ""
    text: str = ""
    place: Place | None = None
    unsettled: str = ""
    form: Form = Form()


_PROFILE = NamedValue(IN_A_PROFILE, "a profile", "", "the files", word="yes", text="yes")


class Scope(Struct):
    """All that rules can see during one pass. Only the engine adds to it."""

    machine: FlatMachine
    sheet: Sheet
    tables: Mapping[str, NamedValue]
    #: the pass of the same feeder without a profile; None for that pass itself
    without_profile: Scope | None = None
    #: where a filament with a profile softens before the sheet's own does: in the one motor the softest counts
    softest: NamedValue | None = None
    #: what names stand for, in common with other passes: by name and the reading or field behind it
    common: dict[Any, NamedValue | None] = field(default_factory=dict)
    _known: dict[str, NamedValue | None] = field(default_factory=dict)
    _behind: dict[str, tuple[str, ...]] = field(default_factory=dict)
    _missing: dict[str, str] = field(default_factory=dict)

    def given(self, name: str) -> NamedValue | None:
        """The value under a name, or None where nothing says it."""
        if name not in self._known:
            self._known[name] = self._find(name)
        return self._known[name]

    def keep(self, rule: str, quantity: str, given: NamedValue) -> None:
        """Remember a rule's result under the rule's name and, where it sets a quantity, as `will.…`."""
        self._known[rule] = given
        if quantity:
            self._known[f"will.{quantity}"] = given

    def changed_since(self, before: Scope) -> set[str]:
        """The names that the sheet, or for a profile the pass without one, may have given another meaning than they had in
        an earlier pass of the same machine, feeder and profile."""
        now, then = self.sheet.entries, before.sheet.entries
        changed = {name for name in now.keys() | then.keys() if now.get(name) != then.get(name)}
        if self.softest is not before.softest:
            changed.add(SOFTENING)
        if self.without_profile is not None and before.without_profile is not None:
            own, other = self.without_profile, before.without_profile
            changed |= {
                f"shared.{name.removeprefix('will.')}"
                for name in own._known.keys() | other._known.keys()
                if name.startswith("will.") and own.given(name) is not other.given(name)
            }
        return changed

    def begin_like(self, before: Scope) -> None:
        """Take over what an earlier pass of the same machine, feeder and profile knew of the files and the tables: it is the same
        whatever the sheet says."""
        tables = self.tables
        for name, given in before._known.items():
            if name.startswith("was.") or (given is not None and name in tables):
                self._known[name] = given

    def bases(self, names: Iterable[str]) -> dict[str, Any]:
        """The numbers among these names, in base units."""
        found = {name: self.given(name) for name in names}
        return {
            name: given.base for name, given in found.items() if given is not None and given.base is not None
        }

    def words(self, names: Iterable[str]) -> dict[str, str]:
        """The words among these names."""
        found = {name: self.given(name) for name in names}
        return {name: given.word for name, given in found.items() if given is not None and given.word}

    def place(self, names: Iterable[str]) -> Place:
        """The first place in the sheet or the files among these names; the sheet's beginning where there is none."""
        return self.first_place(names) or Place(self.sheet.path, 1, 1)

    def first_place(self, names: Iterable[str]) -> Place | None:
        """The first place in the sheet or the files among these names, or behind the rules that they name."""
        found = (self.given(name) for name in names)
        return next((given.place for given in found if given is not None and given.place is not None), None)

    def rules_behind(self, names: Iterable[str]) -> tuple[str, ...]:
        """The rules whose results these names are."""
        found = [self.given(name) for name in names]
        return tuple(
            dict.fromkeys(
                given.name
                for given in found
                if given is not None and given.origin.startswith("rule ") and not is_shared(given.name)
            )
        )

    def missing(self, name: str) -> str:
        """What to say of a name that nothing gives."""
        if name not in self._missing:
            self._missing[name] = self._says_nothing_of(name)
        return self._missing[name]

    def _says_nothing_of(self, name: str) -> str:
        if name.startswith("was."):
            return f"no file sets {name.removeprefix('was.')}"
        if name.startswith("will."):
            return f"{name.removeprefix('will.')} is set by no file and follows from nothing here"
        if is_shared(name):
            return f"{name.removeprefix('shared.')} is no profile's here"
        if name == IN_A_PROFILE:
            return "no profile is worked out here"
        for known in (name, *parents(name)):
            if field_of(known) is not None:
                entry = self.sheet.get(known)
                if entry is None:
                    return f"the sheet doesn't say {known}"
                return f"the tables have no {name.removeprefix(known + '.')} for {entry.text}"
        return f"{name} could not be worked out"

    def _find(self, name: str) -> NamedValue | None:
        root, _, rest = name.partition(".")
        if root in ("was", "will"):
            return self._reading(name, rest)
        if name == IN_A_PROFILE and self.without_profile is not None:
            return _PROFILE
        if root == "shared" and self.without_profile is not None:
            return self._shared(name, self.without_profile.given(f"will.{rest}"))
        if name == SOFTENING and self.softest is not None:
            return self.softest
        if name in self.tables:
            return self.tables[name]
        entry = self.sheet.get(name)
        if entry is None:
            return self._table_row(name)
        if (name, entry) not in self.common:
            self.common[name, entry] = _said(name, entry)
        return self.common[name, entry]

    def _reading(self, name: str, quantity: str) -> NamedValue | None:
        reading = self.machine.get(quantity)
        if reading is None:
            return None
        # two views that share a reading have the very same object
        if (name, id(reading)) not in self.common:
            self.common[name, id(reading)] = _read(name, reading)
        return self.common[name, id(reading)]

    def _shared(self, name: str, given: NamedValue | None) -> NamedValue | None:
        """What a value becomes where no profile is on, from where it comes there: a line of a file, or a rule of that
        pass and of none of this one."""
        if given is None:
            return None
        if (name, id(given)) not in self.common:
            label = f"{_quantity_label(name)} without this profile"
            self.common[name, id(given)] = replace(given, name=name, label=label)
        return self.common[name, id(given)]

    def _table_row(self, name: str) -> NamedValue | None:
        """`filament.material.modulus`: the sheet names the material, the table has the modulus."""
        for parent in parents(name):
            entry = self.sheet.get(parent)
            if entry is not None and entry.word:
                return self.tables.get(f"{entry.word}:{name.removeprefix(parent + '.')}")
        return None


def is_shared(name: str) -> bool:
    """Whether a name is what a value becomes where no profile is on; a rule behind it is one of that pass."""
    return name.startswith("shared.")


def _quantity_label(name: str) -> str:
    return look_up(name.partition(".")[2]).label


def _said(name: str, entry: SheetEntry) -> NamedValue:
    """A field of the sheet."""
    origin, label = f"{entry.place.file}:{entry.place.line}", _label(name)
    base = None if entry.value is None else uncertain(entry.value, entry.uncertainty, entry.unit, name)
    word = entry.word or (entry.text if base is None else "")
    return NamedValue(
        name, label, entry.unit, origin, base=base, word=word, text=entry.text, place=entry.place
    )


def _read(name: str, reading: Reading) -> NamedValue:
    """A reading of the files."""
    known = look_up(reading.quantity)
    origin = f"{reading.place.file}:{reading.place.line}"
    base = None if reading.value is None else dimensions.unit(known.unit).to_base(reading.value)
    word = reading.text if base is None else ""
    label = f"{known.label}, as it was"
    return NamedValue(
        name,
        label,
        known.unit,
        origin,
        base=base,
        word=word,
        text=reading.text,
        place=reading.place,
        form=reading.form if name.startswith("was.") else Form(),
    )


@lru_cache(maxsize=4096)
def parents(name: str) -> tuple[str, ...]:
    """The names of the groups that a name stands in, the nearest first."""
    parts = name.split(".")
    return tuple(".".join(parts[:count]) for count in range(len(parts) - 1, 0, -1))


def _label(name: str) -> str:
    for part, what in ((COUNT, ", how many times"), (SPREAD, ", standard deviation")):
        if name.endswith(part) and (field := field_of(name.removesuffix(part))) is not None:
            return field.label + what
    field = field_of(name)
    return field.label if field is not None else name


def uncertain(value: float, uncertainty: float, unit: str, name: str) -> Any:
    """A value in base units, with its uncertainty where it has one; `name` tags it for the budget."""
    known = dimensions.unit(unit)
    base = known.to_base(value)
    if not uncertainty:
        return base
    from uncertainties import ufloat

    return ufloat(base, uncertainty * abs(known.factor), name)
