"""One setting at a time: what it says by itself, before other settings are looked at.

For each setting in force, first what a names file says of it, then what its words say. The outcome is
`Collected` readings, doubts, or a setting that was not understood. A setting that is not in force says
nothing; one of which that is undecided is a doubt, where it would have said something.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Items, Value, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine import codes, commas
from cfgmigrate.machine.matching import Fit, ListFit, fits, list_fits, protected_name
from cfgmigrate.machine.model import MACHINE, Form, Reading, Unread
from cfgmigrate.machine.names import Meaning, Named, Names
from cfgmigrate.machine.nearest import nearest
from cfgmigrate.machine.quantities import MOST_FEEDERS, of_feeder, quantity
from cfgmigrate.machine.script_role import script_role
from cfgmigrate.machine.values import Said, Spot, joined, name_line, reading_of, readings_of
from cfgmigrate.machine.words import Counted, Name, read_name, readings_of_name


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
        for setting in document.settings:
            _collect(
                found,
                Spot(document, setting, defined),
                names,
                (plain or {}).get((document.path, setting.start)),
            )
    return found


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
    """Word-address lines: by the table of codes; what moves axes is a script."""
    scripts = codes.scripts_of(document)
    found.readings.extend(Collected(script, settled=True) for script in scripts)
    lines, tool = codes.lines_of(document), None
    for setting in document.settings:
        spot = Spot(document, setting)
        if codes.selects_tool(setting):
            tool = codes.tool_number(setting.value)
            continue
        fit = codes.code_fit(setting, lines[setting.line], tool)
        named = names.find(document, setting) if names else None
        protected = fit is not None and quantity(fit[0].quantity).protected
        if setting.state is State.UNDECIDED and fit:
            found.doubts.append(_may_not_hold(spot, fit[0].quantity))
            continue
        if setting.state is not State.ACTIVE or (named and not protected):
            _collect(found, spot, names)
            continue
        if named:
            found.names_used.add(named.key)
            found.doubts.append(_protected_anyway(named))
        if fit:
            counted = None if fit[1] is None else Counted(fit[1], "tool")
            found.take(codes.code_said(spot, fit[0]), fit[0], counted)
        elif not any(script.start <= setting.start < script.end for script in scripts):
            found.unread.append(Unread(spot.place(), _line(setting), setting))


def _collect(
    found: Collection, spot: Spot, names: Names | None, plain: tuple[str, str] | None = None
) -> None:
    setting = spot.setting
    named = names.find(spot.document, setting) if names else None
    if named:
        found.names_used.add(named.key)
    if setting.state is State.INACTIVE:
        return
    name = best_name(*(plain or (setting.section, setting.key)))
    if setting.state is State.UNDECIDED:
        found.doubts.extend(_undecided(spot, named, name))
        return
    if named and not _stays_protected(found, name, named):
        found.take(_by_name(spot, named), settled=True)
        return
    _by_words(found, spot, name)


def best_name(section: str, key: str) -> Name:
    """The words of a section and a key, taken in the strictest way in which they mean something."""
    ways = readings_of_name(section, key)
    return next((name for name in ways if fits(name) or list_fits(name)), ways[0])


def _undecided(spot: Spot, named: Named | None, name: Name) -> Iterator[Doubt]:
    meant = (
        [meaning.quantity for meaning in named.meanings] if named else [fit.quantity for fit in fits(name)]
    )
    meant = meant or [target for fit in list_fits(name) for target in fit.entry.of.values()]
    if meant:
        yield _may_not_hold(spot, meant[0])


def _may_not_hold(spot: Spot, name: str) -> Doubt:
    why = f"{quantity(name).label}: the files don't say whether this is in force, or an edit would break its line"
    return spot.doubt(why, "settle it in the file itself")


def _stays_protected(found: Collection, name: Name, named: Named) -> bool:
    """Whether a setting is protected by its own words, whatever a names file says; a doubt says so."""
    by_words = [fit.quantity for fit in fits(name)]
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


def _by_words(found: Collection, spot: Spot, name: Name) -> None:
    setting = spot.setting
    role = script_role(name, setting.value)
    if role:
        found.readings.append(Collected(_whole(spot, role), settled=True))
        return
    listed = _list_said(spot, name)
    if listed:
        found.take(listed, settled=True)
        return
    best = fits(name)
    if len(best) > 1:
        found.doubts.append(_ambiguous(spot, best))
        return
    if best and best[0].bare and best[0].strange and not quantity(best[0].quantity).protected:
        found.doubts.append(_half_understood(spot, best[0]))
        return
    if best:
        said = readings_of(spot, best[0])
        if said.readings or said.doubts:
            found.take(said, best[0], name.counted)
            return
    protected = protected_name(name)
    if protected:
        found.readings.append(Collected(_whole(spot, protected), settled=True))
        return
    found.unread.append(Unread(spot.place(), _line(setting), setting, nearest(name)))


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


def _list_said(spot: Spot, name: Name) -> Said | None:
    """What a list with one number for each axis says; None where the setting is no such list."""
    found = [fit for fit in list_fits(name) if not _of_one_axis(name, fit)]
    if not found:
        return None
    setting = spot.setting
    value = read_value(setting.value)
    if not isinstance(value, Items) or len(value.items) < 2:
        return None
    for fit in found:
        order = fit.entry.orders.get(len(value.items))
        if order:
            return joined([_item(spot, fit, order, at, item) for at, item in enumerate(value.items)])
    numbers = sorted({number for fit in found for number in fit.entry.orders})
    expected = " or ".join(str(number) for number in numbers)
    why = f"the list has {len(value.items)} numbers where {expected} are expected"
    return Said((), (spot.doubt(why, commas.how_to_write(value, setting.value)),))


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
