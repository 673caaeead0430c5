"""A configuration as a `Machine`: what all its settings say together.

Each setting is first looked at by itself (`collect.py`). Then what only the whole configuration can tell is
settled: whose a reading is (`ownership.py`); scripts of one occasion are told apart; a distance per motor turn
beside a gear ratio is doubted (`motor_turns.py`); and of several readings of one quantity the one in force is found
(`precedence.py`).

Nothing is guessed in silence: what can't be settled is a doubt that says where it stands and which line of a
names file would settle it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Protocol, TypeVar

from msgspec.structs import replace

from cfgmigrate.dialects.decimal_commas import with_decimal_commas
from cfgmigrate.dialects.document import Document
from cfgmigrate.files.gaps import NOT_THERE, gaps, is_missed, said_not_to_be
from cfgmigrate.files.kept_listing import listing_doubts
from cfgmigrate.files.lists_below import in_doubtful_lists
from cfgmigrate.files.order import bundles_of, order_of
from cfgmigrate.files.read_after import read_after
from cfgmigrate.files.roles import FileSet, Role
from cfgmigrate.files.shared_files import shared_files
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.axes_unnamed import axes_unnamed
from cfgmigrate.machine.codes_of_no_feeder import without_codes_of_no_feeder
from cfgmigrate.machine.collect import collect
from cfgmigrate.machine.commas import (
    WHY,
    WITH_A_COMMA,
    as_the_files_have_it,
    known_commas,
    of_whole_files,
    shown_commas,
)
from cfgmigrate.machine.constants import without_numbers_of_others, without_values_of_aliases
from cfgmigrate.machine.contradictions import without_contradicted_steps
from cfgmigrate.machine.feeders_told_in_vain import no_effect
from cfgmigrate.machine.further_gears import with_further_gears, without_gears_said_to_be_nothing
from cfgmigrate.machine.given_names import given_names
from cfgmigrate.machine.half_a_probe import half_a_probe
from cfgmigrate.machine.listings import held_in_lists, listings, read_only
from cfgmigrate.machine.model import Machine, Reading, Unread
from cfgmigrate.machine.motor_turns import (
    motor_turns_apart,
    motor_turns_said,
    with_ratio_in_doubt,
    with_ratio_open,
)
from cfgmigrate.machine.named_feeders import find_named
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.number_units import beside_other_heads
from cfgmigrate.machine.numbered_doings import told_doings
from cfgmigrate.machine.off_in_scripts import without_what_scripts_switch_off
from cfgmigrate.machine.orders_of_feeders import feeder_orders
from cfgmigrate.machine.own_codes import axes_left, doubts_about, left_unexplained, own_codes, silent_scripts
from cfgmigrate.machine.own_retractions import own_retractions
from cfgmigrate.machine.ownership import each_number_for_itself, held, identity, with_owner
from cfgmigrate.machine.precedence import settle
from cfgmigrate.machine.profiles import Profiles, find_profiles
from cfgmigrate.machine.profiles_of_others import without_profiles_of_others
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.retractions_by_number import retractions_by_number
from cfgmigrate.machine.script_role import occasion
from cfgmigrate.machine.scripts_in_values import unexplained_in_values, values_around
from cfgmigrate.machine.sections_by_machine import sections_by_machine, without_sections_of_others
from cfgmigrate.machine.sent_at_the_end import apart_from_the_end, with_what_is_put_back
from cfgmigrate.machine.taught_words import nowhere
from cfgmigrate.machine.told_plugs import told_plugs
from cfgmigrate.machine.words import read_name

_Of = TypeVar("_Of")
#: what a file of these roles tells of plugs holds
_TELLING = (Role.IN_FORCE, Role.SAVED)


class HasDocuments(Protocol):
    """A configuration, as far as it matters here."""

    @property
    def documents(self) -> tuple[Document, ...]: ...


def recognise(
    source: HasDocuments | Sequence[Document],
    names: Names | None = None,
    counts_from: Mapping[str, int] = MappingProxyType({}),
    roles: FileSet | None = None,
    feeders: Sequence[Feeder] = (),
) -> Machine:
    """All that a configuration says. `names` settles what words alone don't; `counts_from` (0 or 1) says
    where the numbers of feeders begin, by the word before such a number; `roles` are the files', where the source does not bring
    them along; `feeders` are those that the site file names.

    The machine's doubts hold those of its documents too, in the order of files and lines. Never raises for
    what stands in a file.
    """
    documents = tuple(source) if isinstance(source, Sequence) else source.documents
    roles = roles if roles is not None else getattr(source, "roles", None) or FileSet()
    documents = known_commas(documents, roles.decimals)
    found = _recognised(documents, names, counts_from, roles, feeders)
    shown = _shown_commas(found, roles)
    if not shown:
        return found
    documents = tuple(with_decimal_commas(each) if each.path in shown else each for each in documents)
    return _recognised(documents, names, counts_from, roles, feeders)


def _shown_commas(machine: Machine, roles: FileSet) -> frozenset[str]:
    """The files of which nothing is told, and that show on a machine with one feeder that their numbers have commas."""
    if len(machine.feeders) > 1 or not any(doubt.why == WHY for doubt in machine.doubts):
        return frozenset()
    # one that a person named as one quantity was read with its comma: it is one number, and no list
    taken = (
        (each.place.file, each.setting.value)
        for each in machine.every_reading
        if each.why_not != WITH_A_COMMA
    )
    return shown_commas(machine.documents, machine.doubts, taken) - roles.decimals.keys()


def _recognised(
    documents: tuple[Document, ...],
    names: Names | None,
    counts_from: Mapping[str, int],
    roles: FileSet,
    feeders: Sequence[Feeder],
) -> Machine:
    """The same, of documents of which it is known how their numbers are written."""
    named = find_named(documents, roles, feeders)
    profiles = find_profiles(documents, roles, named.names)
    around = {
        (document.path, at): (document.path, outer)
        for document in documents
        for at, outer in values_around(document).items()
    }
    plugs = told_plugs([each for each in documents if roles.role(each.path) in _TELLING], named, feeders)
    found = collect(documents, names, {**named.plain, **profiles.plain}, plugs)
    around |= found.around
    profiles = replace(profiles, of=_as_around(profiles.of, around))
    named = replace(named, of=_as_around(named.of, around), in_profiles=_as_around(named.in_profiles, around))
    never = said_not_to_be(roles)
    doubts = [doubt for each in documents for doubt in each.doubts if is_missed(doubt, never)]
    missing = gaps(documents, roles)
    taken_in = {doubt.place for doubt in doubts if doubt.why == NOT_THERE}
    doubts.extend(gap.doubt for gap in missing if gap.doubt.place not in taken_in)
    doubts.extend(beside_other_heads(found.doubts, documents))
    kept, ownerless = with_owner(found.readings, found.unread, found.doubts)
    orders = feeder_orders(documents, roles, named.names)
    whose = held(kept, profiles, counts_from, named, plugs, orders, told_doings(feeders))
    of_feeders, of_nobody = without_codes_of_no_feeder(whose.readings, whose.feeders, documents)
    told_apart = without_values_of_aliases(documents, _scripts_told_apart(of_feeders))
    readings, shared, sharing = each_number_for_itself(told_apart)
    readings = without_numbers_of_others(documents, readings)
    of_motor = motor_turns_said(documents)
    readings, geared, unclear = motor_turns_apart(readings, _settled_by(names, documents), of_motor)
    readings = with_ratio_in_doubt(readings, found.doubts)
    readings = read_only(readings, listings(documents, roles.of(Role.SAVED)))
    readings = held_in_lists(readings, lists := in_doubtful_lists(documents))
    readings, geared_on = with_further_gears(_still_unread(found.unread, told_apart), readings, found.doubts)
    readings, gearless = without_gears_said_to_be_nothing(found.ignored, readings, of_motor)
    readings, of_others = without_profiles_of_others(readings, named.names)
    readings, off, told_off = without_what_scripts_switch_off(readings, _in_script(documents, roles, around))
    given = given_names(documents, profiles, roles)
    readings, perhaps_theirs, neighbours = without_sections_of_others(
        readings, documents, given, _settled_by(names, documents)
    )
    readings, ends = apart_from_the_end(readings, off, _at_the_end(documents, around))
    order = order_of(documents)
    in_order = sorted(readings, key=lambda reading: order(reading.place.file, reading.start))
    standing = settle(
        in_order,
        bundles_of(documents),
        roles.of(Role.SAVED),
        _settled_by(names, documents),
        read_after(documents),
        shared_files(documents, roles),
        lists,
    )
    with_what_is_put_back(standing, ends)
    doubts.extend(
        (
            *named.asked,
            *ownerless,
            *whose.doubts,
            *of_nobody,
            *sharing,
            *unclear,
            *geared_on,
            *gearless,
            *of_others,
            *neighbours,
            *told_off,
        )
    )
    doubts.extend(standing.doubts)
    doubts.extend(roles.idle)
    doubts.extend(no_effect(feeders, whose.feeders, documents, named.names))
    unread = _no_word_for_feeders(_still_unread(found.unread, told_apart), profiles)
    doubts.extend(axes_unnamed(documents, unread))
    doubts.extend(tuple(own_retractions(unread, told_apart, doubts, profiles)))
    doubts.extend(tuple(retractions_by_number(unread, told_apart, doubts, profiles)))
    doubts.extend(tuple(half_a_probe(unread, told_apart, doubts)))
    if names:
        known = [setting.name for document in documents for setting in document.settings]
        doubts.extend(names.unused(found.names_used, known))
        own = [word for word in names.words if word.key not in names.shared]
        doubts.extend(nowhere(own, documents))
    unclaimed = tuple(role for role in roles.values() if role.holds)
    doubts.extend(listing_doubts(unclaimed))
    read = {each.reading.place.file for each in found.readings}
    own_scripts = (*(role for role in roles.values() if role.own), *silent_scripts(documents, read))
    doubts.extend(doubts_about(own_codes(own_scripts)))
    own_scripts += tuple(left_unexplained(documents))
    doubts.extend(axes_left(documents))
    understood = {(each.reading.place.file, each.reading.setting.start) for each in found.readings}
    understood |= {(each.place.file, each.setting.start) for each in found.said_nothing}
    in_values = tuple(unexplained_in_values(documents, understood))
    doubts.extend(doubts_about(own_codes(in_values), by_line=True))
    own_scripts += in_values
    doubts = of_whole_files(doubts, documents, roles.decimals)
    doubts = sections_by_machine(doubts, documents, given)
    unread = as_the_files_have_it(unread, documents)
    number = {document.path: at for at, document in enumerate(documents)}

    def position(place: Place) -> tuple[int, int, int]:
        return number.get(place.file, len(number)), place.line, place.column

    in_force = with_ratio_open(without_contradicted_steps(standing.in_force), standing.shadowed)
    return Machine(
        documents,
        tuple(sorted(in_force, key=lambda reading: position(reading.place))),
        tuple(sorted(dict.fromkeys(doubts), key=lambda doubt: position(doubt.place))),
        unread,
        tuple(
            sorted(
                (*standing.shadowed, *perhaps_theirs, *shared, *geared, *off),
                key=lambda reading: position(reading.place),
            )
        ),
        standing.followed,
        whose.feeders,
        whose.profiles,
        {name: number for name, number in named.names.items() if number in whose.feeders},
        frozenset(roles.of(Role.SAVED)),
        unclaimed,
        own_scripts,
        missing,
        given,
        tuple(found.said_nothing),
    )


def _as_around(
    of: Mapping[tuple[str, int], _Of], around: Mapping[tuple[str, int], tuple[str, int]]
) -> Mapping[tuple[str, int], _Of]:
    """What settings belong to, with those that stand in another one's value belonging to what that one does."""
    return {**of, **{inner: of[outer] for inner, outer in around.items() if outer in of}} if around else of


def _in_script(
    documents: Sequence[Document], roles: FileSet, around: Mapping[tuple[str, int], tuple[str, int]]
) -> Callable[[Reading], bool]:
    """Whether a reading stands in a script, or in one that is another setting's value."""
    scripts = {each.path for each in documents if each.dialect == "command"} - {*roles.of(Role.SAVED)}
    return lambda reading: reading.place.file in scripts or (reading.place.file, reading.setting.at) in around


def _at_the_end(
    documents: Sequence[Document], around: Mapping[tuple[str, int], tuple[str, int]]
) -> Callable[[Reading], bool]:
    """Whether a reading stands in another setting's value that is a script of the end."""
    outer = set(around.values())
    named = {
        (each.path, setting.at): occasion(read_name(setting.section, setting.key)) == "script.end"
        for each in documents
        for setting in (each.settings if outer else ())
        if (each.path, setting.at) in outer
    }
    return lambda each: named.get(around.get((each.place.file, each.setting.at), ("", -1)), False)


def _settled_by(names: Names | None, documents: Sequence[Document]) -> Callable[[Reading], bool]:
    """Whether a names file says what a reading's setting is."""
    by_path = {document.path: document for document in documents}

    def settled(reading: Reading) -> bool:
        document = by_path[reading.place.file]
        return names is not None and names.find(document, reading.setting) is not None

    return settled


def _still_unread(unread: list[Unread], readings: list[Reading]) -> tuple[Unread, ...]:
    """Without those whose number was read under another name."""
    read = {(each.place.file, each.setting.at if each.setting.behind else each.start) for each in readings}
    return tuple(each for each in unread if (each.place.file, each.setting.at) not in read)


def _no_word_for_feeders(unread: Iterable[Unread], profiles: Profiles) -> tuple[Unread, ...]:
    """A line that says which feeder a profile is for was understood, so that it is near nothing else."""
    said = {(each.stated.file, each.stated.line) for each in profiles.found if each.stated}
    return tuple(
        replace(each, nearest=()) if (each.place.file, each.place.line) in said else each for each in unread
    )


def _scripts_told_apart(readings: Iterable[Reading]) -> list[Reading]:
    """Scripts of the same occasion in different settings are different scripts: the second is `script.end2`."""
    told: list[Reading] = []
    seen: dict[str, list[tuple[str, str, str]]] = {}
    for reading in readings:
        if quantity(reading.quantity).kind == "script":
            settings = seen.setdefault(reading.quantity, [])
            if identity(reading) not in settings:
                settings.append(identity(reading))
            number = settings.index(identity(reading)) + 1
            told.append(replace(reading, quantity=f"{reading.quantity}{number}") if number > 1 else reading)
        else:
            told.append(reading)
    return told
