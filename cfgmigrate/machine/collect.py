"""One setting at a time: what it says by itself, before other settings are looked at.

For each setting in force, first what a names file says of it, then what its words say. The outcome is
`Collected` readings, doubts, or a setting that was not understood. A setting that is not in force says
nothing; one of which that is undecided is a doubt, where it would have said something.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Items, Number, Value, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine import codes, commas
from cfgmigrate.machine.context import Context, Spoken
from cfgmigrate.machine.matching import (
    Fit,
    ListFit,
    best_fits,
    fits,
    list_fits,
    names_owner,
    protected_name,
    range_fits,
)
from cfgmigrate.machine.model import MACHINE, Form, Reading, Unread
from cfgmigrate.machine.names import Meaning, Named, Names
from cfgmigrate.machine.nearest import nearest
from cfgmigrate.machine.quantities import MOST_FEEDERS, of_feeder, quantity
from cfgmigrate.machine.remarks import Remarks
from cfgmigrate.machine.script_role import script_role
from cfgmigrate.machine.told_codes import ToldCodes
from cfgmigrate.machine.values import Definitions, Said, Spot, joined, name_line, reading_of, readings_of
from cfgmigrate.machine.words import Counted, Name, read_name


@dataclass(frozen=True, slots=True)
class Collected:
    """A reading with what is needed to settle it among others.

    `counted` is the feeder that its name speaks of, None for none; `settled` is true where its holder is certain
    already. `alone` and `strange` are those of `matching.Fit`.
    """

    reading: Reading
    measure: str = ""
    counted: Counted | None = None
    settled: bool = False
    alone: bool = False
    strange: bool = False


@dataclass
class Collection:
    """What all settings say, in the order of files and lines."""

    readings: list[Collected] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)
    names_used: set[str] = field(default_factory=set)

    def take(
        self, said: Said, fit: Fit | None = None, counted: Counted | None = None, settled: bool = False
    ) -> None:
        self.doubts.extend(said.doubts)
        for reading in said.readings:
            if counted is not None and counted.number >= MOST_FEEDERS:
                self.doubts.append(_past_counting(reading, counted.number))
                continue
            self.readings.append(
                Collected(
                    reading,
                    fit.measure if fit else "",
                    counted,
                    settled or fit is None or reading.holder != MACHINE,
                    fit.alone if fit else False,
                    fit.strange if fit else False,
                )
            )


def _past_counting(reading: Reading, number: int) -> Doubt:
    why = f"{quantity(reading.quantity).label}: number {number} is more than machines are counted up to"
    return Doubt(reading.place, f"{reading.setting.name} = {reading.text}", why, "check the number")


def collect(
    documents: tuple[Document, ...],
    names: Names | None,
    plain: Mapping[tuple[str, int], tuple[str, str]] | None = None,
) -> Collection:
    """What every setting of the documents says by itself. `plain` are section and key, without a profile's name, of
    the settings that have one in them."""
    found = Collection()
    defined = _definitions(documents)
    for document in documents:
        if document.dialect == codes.DIALECT:
            _collect_codes(found, document, names)
            continue
        context = Context(document)
        for setting in document.settings:
            spoken = context.spoken(setting, (plain or {}).get((document.path, setting.start)))
            _collect(found, _spot(context, setting, spoken, defined), names, spoken)
    return found


def _spot(context: Context, setting: Setting, spoken: Spoken, defined: Definitions) -> Spot:
    remarks = context.remarks
    return Spot(
        context.document,
        setting,
        defined,
        unit=spoken.unit,
        qualifier=spoken.qualifier,
        file_units=remarks.units,
        file_qualifier=remarks.qualifier,
    )


def _definitions(documents: tuple[Document, ...]) -> dict[str, tuple[Document, Setting]]:
    """The settings that a value may name: the last in force of each name in the header dialect."""
    found: dict[str, tuple[Document, Setting]] = {}
    unsure: set[str] = set()
    for document in documents:
        if document.dialect == "header":
            for setting in document.settings:
                if setting.state is State.ACTIVE and setting.value:
                    found[setting.key] = document, setting
                elif setting.state is State.UNDECIDED:
                    unsure.add(setting.key)
    return {name: place for name, place in found.items() if name not in unsure}


def _collect_codes(found: Collection, document: Document, names: Names | None) -> None:
    """Word-address lines: by the table of codes, else by their remarks; what moves axes is a script."""
    remarks = Remarks(document)
    told = ToldCodes(document, remarks)
    scripts = codes.scripts_of(document)
    found.readings.extend(Collected(script, settled=True) for script in scripts)
    tool: int | None = None
    for setting in document.settings:
        if codes.selects_tool(setting):
            tool = codes.tool_number(setting.value)
            continue
        if setting.start in told.codes:
            continue
        inside = any(script.start <= setting.start < script.end for script in scripts)
        spoken = told.spoken(setting) if not inside else Spoken(())
        spot = Spot(
            document,
            setting,
            unit=spoken.unit,
            qualifier=spoken.qualifier,
            file_units=remarks.units,
            file_qualifier=remarks.qualifier,
        )
        _collect_code(found, spot, names, tool, spoken, inside, told.letters[setting.line])


def _collect_code(
    found: Collection,
    spot: Spot,
    names: Names | None,
    tool: int | None,
    spoken: Spoken,
    inside: bool,
    letters: tuple[str, ...],
) -> None:
    setting = spot.setting
    fit = codes.code_fit(setting)
    named = names.find(spot.document, setting) if names else None
    protected = fit is not None and quantity(fit.quantity).protected
    if setting.state is State.UNDECIDED and fit:
        found.doubts.append(_may_not_hold(spot, fit.quantity))
    elif setting.state is not State.ACTIVE or (named and not protected):
        _collect(found, spot, names, spoken)
    elif fit and "T" in letters:
        why = "the line says T beside what it sets, and machines differ in what that means"
        found.doubts.append(spot.doubt(why, "put a line that selects the tool before it"))
    elif fit:
        if named:
            found.names_used.add(named.key)
            found.doubts.append(_protected_anyway(named))
        found.take(codes.code_said(spot, fit), fit, _tool(tool))
    elif not inside:
        _by_remark(found, spot, spoken, tool)


def _tool(number: int | None) -> Counted | None:
    return None if number is None else Counted(number, "tool")


def _by_remark(found: Collection, spot: Spot, spoken: Spoken, tool: int | None) -> None:
    """A word whose code no table has: what its remark says, where every word of that has a meaning."""
    name, best = best_fits(spoken.names) if spoken.names else (Name((), ()), ())
    if len(best) == 1 and not best[0].strange and not best[0].alone:
        said = codes.code_said(spot, best[0])
        if said.readings:
            found.take(codes.as_told(said, spot), best[0], name.counted or _tool(tool))
            return
    protected = protected_name(name)
    if protected:
        found.readings.append(Collected(_whole(spot, protected), settled=True))
        return
    near = tuple(fit.quantity for fit in best) or (nearest(name) if spoken.names else ())
    found.unread.append(Unread(spot.place(), _line(spot.setting), spot.setting, near))


def _collect(found: Collection, spot: Spot, names: Names | None, spoken: Spoken) -> None:
    setting = spot.setting
    named = names.find(spot.document, setting) if names else None
    if named:
        found.names_used.add(named.key)
    if setting.state is State.INACTIVE:
        return
    if spoken.beside and not named:
        found.unread.append(Unread(spot.place(), _line(setting), setting))
        return
    name, best = best_fits(spoken.names) if spoken.names else (Name((), ()), ())
    if setting.state is State.UNDECIDED:
        found.doubts.extend(_undecided(spot, named, name, best))
        return
    if named and not _stays_protected(found, name, best, named):
        found.take(_by_name(spot, named), settled=True)
        return
    _by_words(found, spot, name, best, spoken)


def _undecided(spot: Spot, named: Named | None, name: Name, best: tuple[Fit, ...]) -> Iterator[Doubt]:
    meant = [meaning.quantity for meaning in named.meanings] if named else [fit.quantity for fit in best]
    meant = meant or [target for fit in list_fits(name) for target in fit.entry.of.values()]
    if meant:
        yield _may_not_hold(spot, meant[0])


def _may_not_hold(spot: Spot, name: str) -> Doubt:
    why = f"{quantity(name).label}: the files don't say whether this is in force, or an edit would break its line"
    return spot.doubt(why, "settle it in the file itself")


def _stays_protected(found: Collection, name: Name, best: tuple[Fit, ...], named: Named) -> bool:
    """Whether a setting is protected by its own words, whatever a names file says; a doubt says so."""
    by_words = [fit.quantity for fit in best]
    protected = any(quantity(each).protected for each in by_words) if by_words else bool(protected_name(name))
    if not protected or (named.meanings and all(quantity(m.quantity).protected for m in named.meanings)):
        return False
    found.doubts.append(_protected_anyway(named))
    return True


def _protected_anyway(named: Named) -> Doubt:
    why = "the setting is protected by its own words: a names file can't make it anything else"
    return Doubt(named.place, named.key, why, "take the line out of the names file")


def _by_name(spot: Spot, named: Named) -> Said:
    """What a setting says when a names file says what it is."""
    if named.ignored:
        return Said()
    value = read_value(spot.setting.value)
    parts = value.items if isinstance(value, Items) else (value,)
    if len(named.meanings) == 1 and len(parts) == 1:
        said = _of_whom(spot, named.meanings[0], reading_of(spot, _as_fit(named.meanings[0]), value))
        return _meant(spot, said, named.meanings[0])
    if len(named.meanings) == 1 and quantity(named.meanings[0].quantity).kind == "script":
        return Said((_whole(spot, named.meanings[0].quantity),))
    if len(named.meanings) != len(parts):
        why = f"the names file names {len(named.meanings)} numbers, and the value has {len(parts)}"
        return Said((), (spot.doubt(why, f"put it right in {named.place}"),))
    return joined(
        [
            _of_whom(spot, meaning, reading_of(spot, _as_fit(meaning), part))
            for meaning, part in zip(named.meanings, parts, strict=True)
        ]
    )


def _of_whom(spot: Spot, meaning: Meaning, said: Said) -> Said:
    """Said of the feeder that the names file says: the first, where it takes a number in the name for nothing."""
    counted = read_name(spot.setting.section, spot.setting.key).counted
    certain = meaning.feeder > 1 or (counted is not None and of_feeder(meaning.quantity))
    return said.of_feeder(meaning.feeder) if certain else said


def _meant(spot: Spot, said: Said, meaning: Meaning) -> Said:
    if said.readings or said.doubts:
        return said
    if quantity(meaning.quantity).kind == "script":
        return Said((_whole(spot, meaning.quantity),))
    return Said((), (spot.doubt(f"the value can't be {quantity(meaning.quantity).label}"),))


def _as_fit(meaning: Meaning) -> Fit:
    return Fit(meaning.quantity, meaning.unit, meaning.qualifier, turned=True)


def _whole(spot: Spot, name: str) -> Reading:
    """A reading whose text is the setting's whole value."""
    setting = spot.setting
    return Reading(name, None, setting.value, spot.place(), setting.start, setting.end, Form(), setting)


def _by_words(found: Collection, spot: Spot, name: Name, best: tuple[Fit, ...], spoken: Spoken) -> None:
    setting = spot.setting
    role = script_role(name, setting.value)
    if role:
        found.readings.append(Collected(_whole(spot, role), settled=True))
        return
    for several in (_list_said, _range_said):
        listed = next((said for each in spoken.names if (said := several(spot, each, spoken.order))), None)
        if listed:
            found.take(listed, settled=True)
            return
    if len(best) > 1 and not best[0].strange:
        found.doubts.append(_ambiguous(spot, best))
        return
    if best and best[0].strange and not quantity(best[0].quantity).protected:
        _strange_said(found, spot, name, best)
        return
    if best:
        said = readings_of(spot, best[0])
        if said.readings or (said.doubts and not _only_a_thing(best[0])):
            found.take(said, best[0], name.counted)
            return
    protected = protected_name(name)
    if protected:
        found.readings.append(Collected(_whole(spot, protected), settled=True))
        return
    if name.dimension and _in_wrong_unit(found, spot, name):
        return
    found.unread.append(Unread(spot.place(), _line(setting), setting, nearest(name)))


def _only_a_thing(fit: Fit) -> bool:
    """Whether a name is no more than a thing's, which may as well stand for its kind: `filament = ABS`."""
    return fit.bare and fit.quantity in ("filament.diameter", "nozzle.diameter")


def _in_wrong_unit(found: Collection, spot: Spot, name: Name) -> bool:
    """A doubt where the words name a quantity that the unit can't be of."""
    best = fits(replace(name, dimension="", said=()))
    if len(best) != 1 or best[0].strange or best[0].alone or best[0].bare:
        return False
    said = readings_of(spot, best[0])
    found.doubts.extend(said.doubts)
    return bool(said.doubts) and not said.readings


def _strange_said(found: Collection, spot: Spot, name: Name, best: tuple[Fit, ...]) -> None:
    """A setting whose section has words that nobody knows: it may be some other device's, so it is not read.
    A doubt where the section speaks of the feed path all the same, or where nothing else makes it another's."""
    protected = protected_name(name)
    if protected:
        found.readings.append(Collected(_whole(spot, protected), settled=True))
    elif len(best) == 1 and not best[0].alone and names_owner(name.section):
        found.doubts.append(_half_understood(spot, best[0]))
    else:
        found.unread.append(
            Unread(spot.place(), _line(spot.setting), spot.setting, tuple(f.quantity for f in best))
        )


def _line(setting: Setting) -> str:
    first = setting.value.splitlines()[0] if setting.value else ""
    return f"{setting.name} = {first}" if first else setting.name


def _ambiguous(spot: Spot, best: tuple[Fit, ...]) -> Doubt:
    labels = " and ".join(quantity(fit.quantity).label for fit in best)
    lines = ", or ".join(name_line(spot.setting, fit.quantity) for fit in best)
    return spot.doubt(f"the words fit {labels}", f"say which it is in a names file: {lines}")


def _half_understood(spot: Spot, fit: Fit) -> Doubt:
    why = f"this may be {quantity(fit.quantity).label}, but not every word of the section is understood"
    return spot.doubt(why, f"say so in a names file: {name_line(spot.setting, fit.quantity)}")


def _list_said(spot: Spot, name: Name, stated: str) -> Said | None:
    """What a list with one number for each axis says; None where the setting is no such list. `stated` is the
    order of the axes where the file states it."""
    found = [fit for fit in list_fits(name) if not fit.strange and not _of_one_axis(name, fit)]
    if not found:
        return None
    setting = spot.setting
    value = read_value(setting.value)
    if not isinstance(value, Items) or len(value.items) < 2:
        return None
    for fit in found:
        order = _order(fit, len(value.items), stated)
        if order:
            return joined([_item(spot, fit, order, at, item) for at, item in enumerate(value.items)])
    numbers = sorted({number for fit in found for number in fit.entry.orders})
    expected = " or ".join(str(number) for number in numbers)
    why = f"the list has {len(value.items)} numbers where {expected} are expected"
    return Said((), (spot.doubt(why, commas.how_to_write(value, setting.value)),))


def _order(fit: ListFit, count: int, stated: str) -> str:
    """The letters of a list's items: as the file states them, where it states so many, else as usual."""
    letters = [letter for letter in stated if letter in fit.entry.of]
    if len(letters) == count:
        return "".join(letters)
    return fit.entry.orders.get(count, "")


def _range_said(spot: Spot, name: Name, stated: str) -> Said | None:
    """What a list of the least and the most says; None where the setting is no such list."""
    found = [fit for fit in range_fits(name) if not fit.strange]
    value = read_value(spot.setting.value) if found else None
    if not isinstance(value, Items) or len(value.items) != 2:
        return None
    numbers = [item for item in value.items if isinstance(item, Number)]
    if len(numbers) != 2 or numbers[0].value >= numbers[1].value:
        return None
    unit = numbers[1].unit or numbers[0].unit
    return joined(
        [
            reading_of(spot, Fit(target, found[0].unit, turned=True), replace(number, unit=unit))
            for target, number in zip((found[0].entry.low, found[0].entry.high), numbers, strict=True)
        ]
    )


def _of_one_axis(name: Name, fit: ListFit) -> bool:
    """Whether the key names the one axis whose number it is, so that it is no list: `offset z`."""
    named = [axis for axis in fit.entry.of if axis in name.key]
    return len(named) == 1 and fit.entry.of[named[0]] in {single.quantity for single in fits(name)}


def _item(spot: Spot, fit: ListFit, order: str, at: int, item: Value) -> Said:
    letter = order[at]
    target = fit.entry.of[letter]
    said = reading_of(
        spot, Fit(target, fit.unit, fit.qualifier, turned=True, measure=fit.entry.measure), item
    )
    several = order.count(letter) > 1 and of_feeder(target)
    return said.of_feeder(order[: at + 1].count(letter)) if several else said
