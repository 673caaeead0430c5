"""What every setting of a configuration says by itself, before they are looked at together.

The outcome is `Collected` readings, doubts, or settings that were not understood.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace as with_place
from types import MappingProxyType

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.files.own_words import only_no_moves
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.units import Unit
from cfgmigrate.machine import codes
from cfgmigrate.machine.axis_words import axis_words
from cfgmigrate.machine.by_words import take_script, take_setting
from cfgmigrate.machine.codes_in_values import (
    CodeInValue,
    as_file_of_codes,
    asked_of_codes_not_read,
    codes_in_values,
    explained_elsewhere,
    unexplained,
)
from cfgmigrate.machine.collection import Collected as Collected
from cfgmigrate.machine.collection import Collection, whole
from cfgmigrate.machine.context import Context, Spoken
from cfgmigrate.machine.currents_in_codes import ask_of_codes
from cfgmigrate.machine.ends_in_doubt import ask_what_ends
from cfgmigrate.machine.gear_pairs import pairs_of_gears
from cfgmigrate.machine.half_understood import settle_half, settle_torn, still_unsure
from cfgmigrate.machine.head_lengths import other_lengths
from cfgmigrate.machine.head_units import lengths_elsewhere
from cfgmigrate.machine.heads_above import NONE_ABOVE, CalledAbove, called_above, called_together
from cfgmigrate.machine.heights_in_lists import ask_from_where
from cfgmigrate.machine.homing_moves import without_homing_moves
from cfgmigrate.machine.lengths_by_speeds import take_lengths_by_speeds
from cfgmigrate.machine.lone_teeth import teeth_for_a_ratio
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.numbered_lines import numbered_scripts
from cfgmigrate.machine.offsets_turned import ask_whose_place
from cfgmigrate.machine.one_of_counted import ask_of_the_counted
from cfgmigrate.machine.only_notes import ask_of_notes
from cfgmigrate.machine.other_measures import ask_other_measures
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.retraction_off import ask_what_is_off
from cfgmigrate.machine.retractions_beside import retractions_beside
from cfgmigrate.machine.scaled_names import scaled_doubts
from cfgmigrate.machine.screw_currents import ask_what_a_screw_sets
from cfgmigrate.machine.scripts_in_values import is_text_of_lines, told_script
from cfgmigrate.machine.spots import Definitions, Spot
from cfgmigrate.machine.taught_words import in_mapping
from cfgmigrate.machine.told_plugs import ToldPlugs
from cfgmigrate.machine.turned_or_not import ask_whether_turned
from cfgmigrate.machine.under_strange_lines import ask_below_strange_lines
from cfgmigrate.machine.under_titles import ask_under_titles
from cfgmigrate.machine.unit_endings import unit_endings
from cfgmigrate.machine.unit_legends import UnitLegend, legend_of, says_more, unit_legends
from cfgmigrate.machine.unit_lines import unit_lines_of
from cfgmigrate.machine.way_a_step import ways_a_step
from cfgmigrate.machine.which_axis import ask_which_axis, ask_whose_limits
from cfgmigrate.machine.words import split


def collect(
    documents: tuple[Document, ...],
    names: Names | None,
    plain: Mapping[tuple[str, int], tuple[str, str]] | None = None,
    plugs: ToldPlugs | None = None,
) -> Collection:
    """What every setting of the documents says by itself. `plain` are section and key, without a profile's name, of
    the settings that have one in them; `plugs` those of which it is told whose they are."""
    plugs = plugs or ToldPlugs()
    found = Collection()
    defined = definitions_of(documents)
    taught = {
        **axis_words(documents),
        **unit_endings(documents),
        **(in_mapping(names.words) if names else {}),
    }
    contexts: dict[str, Context] = {}
    elsewhere: Mapping[str, str] | None = None
    lengths = other_lengths_said(documents)
    legends = legends_said(documents)
    above = called_above(documents)
    for document in documents:
        still = document.settings and only_no_moves(dict(document.own_words))
        if document.dialect == codes.DIALECT and document.own_words and not still:
            found.readings.extend(Collected(each, settled=True) for each in codes.own_script(document))
        elif document.dialect == codes.DIALECT:
            from cfgmigrate.machine.command_lines import collect_codes, told_in_other_files

            elsewhere = told_in_other_files(documents) if elsewhere is None else elsewhere
            rows = codes.in_rows(document)
            if not rows:
                collect_codes(found, document, names, elsewhere, plugs)
                continue
            starts = {each.start for each in rows}
            kept = tuple(each for each in document.settings if each.start not in starts)
            collect_codes(found, replace(document, settings=kept), names, elsewhere, plugs)
            document = replace(document, settings=tuple(rows))
        context = contexts[document.path] = Context(document, taught)
        in_scripts: set[int] = set()
        taken_in, since = {each.start for each in document.includes}, len(found.readings)
        for script in numbered_scripts(document):
            found.readings.append(Collected(script.reading, settled=True))
            in_scripts |= script.starts
        for setting in document.settings:
            if setting.start in in_scripts or setting.start in taken_in:
                continue
            spoken = context.spoken(setting, (plain or {}).get((document.path, setting.at)))
            spot = spot_of(context, setting, spoken, defined, lengths, legends, above)
            if role := told_script(document, setting):
                found.readings.append(Collected(whole(spot, role), settled=True))
                continue
            if is_text_of_lines(document, setting) and not (names and names.find(document, setting)):
                take_script(found, spot, spoken)
                continue
            take_setting(found, spot, names, spoken)
        ask_whether_turned(found, context.remarks, since)
        ask_which_axis(found, document, context.explained.by_part, since, names)
    _collect_codes_in_values(found, documents, names, plugs)
    ask_whose_limits(found, documents, names)
    ask_what_a_screw_sets(found, documents, names)
    ask_of_notes(found, documents, names)
    settle_torn(found)
    settle_half(found)
    take_lengths_by_speeds(found, contexts, defined, plain)
    without_homing_moves(found, documents)
    ask_other_measures(found, documents, names)
    ask_under_titles(found, documents, names)
    ask_below_strange_lines(found, documents, names)
    ask_what_is_off(found, documents, names)
    ask_what_ends(found, documents, names)
    ask_whose_place(found, documents, names)
    ask_from_where(found, documents, names)
    ask_of_the_counted(found, documents, names)
    ask_of_codes(found, documents, names)
    found.doubts.extend((*pairs_of_gears(found, documents, names), *still_unsure(found.unsure)))
    found.doubts.extend(tuple(teeth_for_a_ratio(found, documents)))
    found.doubts.extend(scaled_doubts(found.unread))
    found.doubts.extend(ways_a_step(found.unread))
    found.doubts.extend(tuple(retractions_beside(found, contexts)))
    return found


def _collect_codes_in_values(
    found: Collection, documents: tuple[Document, ...], names: Names | None, plugs: ToldPlugs
) -> None:
    """The codes that stand in settings' values, each as in a file of codes."""
    lines = codes_in_values(documents)
    asked: set[Place] = set()
    if lines:
        asked = _collect_lines_of_codes(found, documents, names, lines, plugs)
    read_at = {
        (each.reading.place.file, each.reading.place.line)
        for each in found.readings
        if each.reading.value is not None
    }
    read_at |= {(each.place.file, each.place.line) for each in found.said_nothing}
    found.doubts.extend(unexplained(lines, read_at, asked))
    found.doubts.extend(explained_elsewhere(lines, read_at, asked, _read_of_codes(found, documents)))
    values = [each.reading for each in found.readings if each.reading.value is not None]
    settled = {(each.place.file, each.setting.start) for each in values}
    settled |= {(each.place.file, each.setting.start) for each in found.said_nothing}
    found.doubts.extend(asked_of_codes_not_read(documents, settled, [doubt.place for doubt in found.doubts]))


def _read_of_codes(found: Collection, documents: Iterable[Document]) -> Mapping[str, tuple[Place, str]]:
    """The codes of which files of codes were read, each with the first line and what that sets; a limit's code is no script's."""
    files = {each.path for each in documents if each.dialect == codes.DIALECT}
    said: dict[str, tuple[Place, str]] = {}
    for each in (one.reading for one in found.readings if one.reading.place.file in files):
        if each.value is not None and each.quantity.startswith(("retraction.", "lag.", "feeder.", "motor.")):
            said.setdefault(each.setting.section, (each.place, each.quantity))
    return said


def _collect_lines_of_codes(
    found: Collection,
    documents: tuple[Document, ...],
    names: Names | None,
    lines: Sequence[CodeInValue],
    plugs: ToldPlugs,
) -> set[Place]:
    """Collects what the lines set; gives the places that are asked about."""
    from cfgmigrate.machine.command_lines import collect_codes, told_in_other_files

    elsewhere = told_in_other_files(documents, least=1)
    asked: set[Place] = set()
    for document in documents:
        mine = [line for line in lines if line.document is document]
        if not mine:
            continue
        whole_file, inner = as_file_of_codes(mine), Collection()
        collect_codes(inner, whole_file.document, names, elsewhere, plugs)
        outer = {line.line: line.setting for line in mine}
        for each in inner.readings:
            if quantity(each.reading.quantity).kind != "script":
                place = whole_file.place(each.reading.place)
                setting = replace(each.reading.setting, line=place.line, column=place.column)
                found.readings.append(
                    replace(each, reading=replace(each.reading, place=place, setting=setting))
                )
                found.around[document.path, setting.at] = document.path, outer[place.line].at
        for doubt in inner.doubts:
            found.doubts.append(with_place(doubt, place=whole_file.place(doubt.place)))
        asked |= {doubt.place for doubt in found.doubts}
        found.names_used |= inner.names_used
    return asked


def spot_of(
    context: Context,
    setting: Setting,
    spoken: Spoken,
    defined: Definitions,
    elsewhere: Mapping[str, str] = MappingProxyType({}),
    legends: Sequence[tuple[str, UnitLegend]] = (),
    above: Mapping[str, CalledAbove] = MappingProxyType({}),
) -> Spot:
    """A setting with what its file says of its unit. `elsewhere` are the units of lengths that other files state for all of
    theirs, by path, `legends` what headers say of the ends of names, with their paths, `above` what heads of other files say of currents."""
    remarks, measured = context.remarks, context.unit_lines.of(setting)
    units = {**remarks.units, **remarks.several.get(setting.line, {}), **context.members.units}
    said_open = other_lengths(remarks.opening) or lengths_elsewhere(remarks.opening)
    lengths, head = measured.open or said_open, "the file's head"
    if measured.open:
        head = "a line of this file"
    elif _is_another(remarks.units.get("length"), measured.units.get("length")):
        lengths, head = measured.units["length"].name, "a line of this file, and not its head,"
    elif not lengths and "length" not in {**units, **measured.units}:
        other = next((path for path in elsewhere if path != context.document.path), "")
        lengths, head = elsewhere.get(other, ""), other or head
    called = called_together(
        (context.members.qualifier, remarks.called, measured.qualifier),
        above.get(context.document.path, NONE_ABOVE),
    )
    return Spot(
        context.document,
        setting,
        defined,
        unit=spoken.unit,
        qualifier=spoken.qualifier,
        file_units={**units, **measured.units},
        file_qualifier=called.word,
        unclear=called.why,
        head_lengths=lengths,
        head=head,
        legend=_legend(context, setting, legends),
    )


def _legend(context: Context, setting: Setting, elsewhere: Sequence[tuple[str, UnitLegend]]) -> str:
    """What a legend of the file says of a name, and where, that is no unit which is known; or what another header says of
    it, whatever that is; "" for none."""
    key, own = tuple(split(setting.key)), context.explained.legends
    found, there = legend_of(key, own), ""
    if found is None and elsewhere and context.document.dialect == "header":
        theirs = {each: path for path, each in elsewhere if path != context.document.path}
        found = legend_of(key, theirs)
        there = f" of {theirs[found]}" if found else ""
    if found is None or (found.unit and not there):
        return ""
    part = "_".join(found.part).upper()
    return f"line {found.line}{there} says what {f'_{part}' if found.at_the_end else f'{part}_'} is: {found.said!a:.60}"


def legends_said(documents: Iterable[Document]) -> tuple[tuple[str, UnitLegend], ...]:
    """What headers say of the units of names that end or begin alike, wherever those names are, each with its path."""
    headers = [each for each in documents if each.dialect == "header"]
    keys = [tuple(split(setting.key)) for each in headers for setting in each.settings] if headers[1:] else []
    return tuple(
        (each.path, legend)
        for each in headers
        if keys
        for legend in unit_legends(remarks_of(each).text, keys)
        if not says_more(legend.part)  # `SPEED` at the head of another file is of that one's
    )


def _is_another(one: Unit | None, other: Unit | None) -> bool:
    return one is not None and other is not None and one.name != other.name


def other_lengths_said(documents: Iterable[Document]) -> dict[str, str]:
    """The unit of lengths that a line of a file states for all of it, where that is not mm, by the file's path."""
    found = {each.path: unit_lines_of(each).elsewhere for each in documents if each.dialect != codes.DIALECT}
    return {path: unit for path, unit in found.items() if unit}


def definitions_of(documents: tuple[Document, ...]) -> dict[str, tuple[Document, Setting]]:
    """The settings that a value may name: the last in force of each name in the header dialect."""
    found: dict[str, tuple[Document, Setting]] = {}
    unsure: set[str] = set()
    for document in documents:
        if document.dialect == "header":
            for setting in document.settings:
                if setting.state is State.ACTIVE and setting.value:
                    if setting.key in found and found[setting.key][1].section != setting.section:
                        unsure.add(setting.key)
                    found[setting.key] = document, setting
                elif setting.state is State.UNDECIDED:
                    unsure.add(setting.key)
    return {name: place for name, place in found.items() if name not in unsure}
