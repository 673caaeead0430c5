"""What a plan's edits do, seen by reading the files again: before them, after them, and what became different.

Two questions. Whether the difference is the plan and nothing else is asked of what was just worked out, and of a
packet that is verified. Whether the edits can do harm is asked of every packet before it is installed, since it
may come from a stranger who sealed it anew: nothing protected may be touched, no setting may come or go, and
only a number may stand where a number stood (or `no` for `yes`). That asks nothing of the words that this release knows otherwise
than the one that wrote the packet.

This module writes nothing, and knows neither rules nor formulas.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, TakesIn, readable
from cfgmigrate.files.own_words import as_told, with_told_codes
from cfgmigrate.files.resolver import among, recorded
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.site import Site, no_site
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.files.unread import as_listed, said_to_be_none
from cfgmigrate.machine.commas import DECIMALS_UNTOLD
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.names import Names, names_said
from cfgmigrate.machine.quantities import present_id, quantity
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.packet.folder import NAMES, SITE_COPY, Packet
from cfgmigrate.plan.accepted import faults_of, known_places, spots_behind_words
from cfgmigrate.plan.basis import FileInput
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import Edit, LeftOut, Plan
from cfgmigrate.scripts.feed_letter import feed_letter
from cfgmigrate.scripts.number_change import moves_of

#: so many digits behind the point of its scientific notation make a number what it is
_DIGITS = 9


def read_as(
    files: Iterable[tuple[str, str]], contents: Mapping[str, bytes], takes_in: TakesIn
) -> tuple[Document, ...]:
    """Files, each a path and a dialect, in the order that they have in their configuration; `takes_in` is what
    their include lines were found to take in."""
    files = tuple(files)
    # C headers know what the ones before them define, so they are read as one sequence again.
    headers = [(path, contents[path]) for path, dialect in files if dialect == "header"]
    joined = iter(_read_together(headers, takes_in) if headers else ())
    return tuple(
        next(joined) if dialect == "header" else read(path, contents[path], dialect, takes_in)
        for path, dialect in files
    )


def _read_together(headers: list[tuple[str, bytes]], takes_in: TakesIn) -> tuple[Document, ...]:
    from cfgmigrate.dialects.header import read_together  # most machines have no header

    return read_together(headers, takes_in)


def difference(plan: Plan, old: Machine, new: Machine) -> str:
    """How what is there differs from the plan, for people; "" where it does not."""
    wanted = {**_values(old), **_edited_texts(plan, old)}
    there: dict[tuple[str, str, int], list[tuple[int, str]]] = {}
    teeth: dict[tuple[str, str], list[str]] = {}
    for key, reading in _every_reading(old):
        if reading.form.teeth:  # each of the two counts says the whole ratio
            teeth.setdefault((reading.quantity, str(reading.holder)), []).append(key)
        of = (reading.quantity, reading.place.file, reading.place.line)
        there.setdefault(of, []).append((reading.start, key))
    for change in plan.changes:
        for key in teeth.get((present_id(change.quantity), change.holder), ()):
            wanted[key] = change.new.value
        for edit in change.edits:
            keys = there.get((present_id(change.quantity), edit.file, edit.line), [])
            for start, key in keys:
                if start == edit.start or len(keys) == 1:
                    wanted[key] = change.new.value
    found = _values(new)
    if found.keys() == wanted.keys() and all(_same(value, found[key]) for key, value in wanted.items()):
        return ""
    from deepdiff import DeepDiff  # only to tell a difference: loading it takes longer than finding none

    apart = DeepDiff(
        wanted, found, significant_digits=_DIGITS, number_format_notation="e", threshold_to_diff_deeper=0
    )
    return "; ".join(
        _differs(key, wanted.get(key), found.get(key)) for key in sorted(apart.affected_root_keys)
    )


def _differs(key: str, wanted: str | float | None, found: str | float | None) -> str:
    """How one value differs, in a sentence."""
    if found is None:
        return f"{key} is not read any more"
    if wanted is None:
        return f"{key} is read now, as {_shown(found)}"
    return f"{key} is read as {_shown(found)} and not as {_shown(wanted)}"


def _shown(value: str | float) -> str:
    """A value with all the digits in which two may differ."""
    return f"{value:.{_DIGITS + 1}g}" if isinstance(value, float) else f"{value!r:.80}"


def _same(one: str | float, other: str | float) -> bool:
    """Whether two values are the same text, or the same number as far as it is written in files."""
    if isinstance(one, float) and isinstance(other, float):
        return one == other or f"{one:.{_DIGITS}e}" == f"{other:.{_DIGITS}e}"
    return one == other


def names_for(names: Path | None, site: Site | bytes | None) -> Names | None:
    """What `names_said` gives, also for a site file's bytes."""
    return names_said(names, parse_site(site, SITE_COPY) if isinstance(site, bytes) else site)


def unfaithful(packet: Packet) -> list[str]:
    """Where a packet's files differ, before and after, in anything but its plan; a sentence each."""
    found = harmful(packet)
    if found:
        return found
    names = names_for(packet.folder / NAMES if packet.names is not None else None, packet.site)
    roles = roles_of(packet.plan.files, site_of(packet))
    old, new = (
        recognise(
            documents_of(packet.plan.files, contents, site_of(packet)),
            names,
            site_of(packet).counts_from,
            roles,
            site_of(packet).feeders,
        )
        for contents in (packet.before, packet.after)
    )
    said = difference(packet.plan, old, new)
    return (
        [f"the files, read before and after, differ in something else than the plan: {said}"] if said else []
    )


def harmful(packet: Packet) -> list[str]:
    """What the packet's edits would do that no plan may; a sentence each, with the place."""
    site = site_of(packet)
    before = _every_line(packet, packet.before, site)
    edits = edits_by_file(packet.plan.changes)
    roles = roles_of(packet.plan.files, site)
    machine = recognise(before, counts_from=site.counts_from, roles=roles, feeders=site.feeders)
    found = _harm(packet, machine, before, edits, frozenset())
    names = names_for(packet.folder / NAMES if packet.names is not None else None, packet.site)
    if (
        found and names is not None
    ):  # a word of a script may be what a person said: what is protected stays it
        told = recognise(before, names, site.counts_from, roles, site.feeders)
        found = _harm(packet, machine, before, edits, _told_numbers(told, machine))
    return found


def _told_numbers(told: Machine, machine: Machine) -> frozenset[tuple[str, int, int]]:
    """Where the numbers stand that are read by what a person said alone."""
    places = known_places(told)
    kinds = known_places(machine)
    return frozenset(place for place, kind in places.items() if kind == "number" and place not in kinds)


def _harm(
    packet: Packet,
    machine: Machine,
    before: Sequence[Document],
    edits: Mapping[str, Sequence[Edit]],
    told: Collection[tuple[str, int, int]],
) -> list[str]:
    """The same, of a machine read by this release's words; `told` are the numbers that only a person's words explain."""
    known, words = known_places(machine), {*told, *spots_behind_words(machine)}
    found: list[str] = []
    for path, several in edits.items():
        document = machine.document(path)
        for edit in several:
            found += [
                f"{_place(edit)}: {edit.old[:60]!a} → {edit.new[:60]!a}: {why}"
                for why in faults_of(edit, document, known, words)
            ]
    for _, reading in _every_reading(machine):
        found += _touched(reading, machine, edits.get(reading.place.file, ()), told)
    if not found:
        for one, other in zip(before, _every_line(packet, packet.after, site_of(packet)), strict=True):
            if _settings(one) != _settings(other):
                found.append(f"{one.path}: the edits add, remove or rename a setting")
    return list(dict.fromkeys(found))


def _every_line(packet: Packet, contents: Mapping[str, bytes], site: Site) -> tuple[Document, ...]:
    """The packet's files with these contents, of which every line counts, with what the site file says of scripts' words."""
    return tuple(
        with_told_codes(as_told(each, site.moves), site.codes)
        for each in documents_of(packet.plan.files, contents)
    )


def _touched(
    reading: Reading, machine: Machine, edits: Iterable[Edit], told: Collection[tuple[str, int, int]]
) -> Iterator[str]:
    """What edits do to a protected reading, or to a script otherwise than to a number of one of its moves."""
    about = quantity(reading.quantity)
    if not about.protected and about.kind != "script":
        return
    start, end = (reading.start, reading.end) if about.kind == "script" else _span(reading)
    inside = [edit for edit in edits if edit.start < end and start < edit.end]
    if about.protected:
        yield from (f"{_place(edit)}: {about.label or reading.quantity} is protected" for edit in inside)
    elif inside:
        document = machine.document(reading.place.file)
        numbers = _numbers(document, reading, feed_letter(machine))
        numbers |= {
            (each.start, each.end)
            for each in machine.every_reading
            if each.place.file == document.path and quantity(each.quantity).kind != "script"
        }
        for edit in inside:
            if (edit.start, edit.end) not in numbers and (edit.file, edit.start, edit.end) not in told:
                yield f"{_place(edit)}: in a script, only what a move is to go to or a word says may be written"


def _span(reading: Reading) -> tuple[int, int]:
    """The bytes of a reading with those of its setting, where that stands around it."""
    return min(reading.start, reading.setting.start), max(reading.end, reading.setting.end)


def _numbers(document: Document, reading: Reading, letter: str) -> set[tuple[int, int]]:
    """Where the numbers of a script's moves stand; `letter` moves the filament."""
    moves = moves_of(document, reading, letter)
    words = [target.word for move in moves for target in move.targets]
    words += [move.feed.word for move in moves if move.feed]
    return {(word.start, word.end) for word in words}


def _place(edit: Edit) -> str:
    return f"{edit.file}:{edit.line}:{edit.column}"


def _settings(document: Document) -> list[tuple[str, str, str, bool]]:
    return [(each.section, each.key, each.state, each.saved) for each in document.settings]


def roles_of(files: Iterable[FileInput], site: Site, left_out: Iterable[LeftOut] = ()) -> FileSet:
    """The files' roles as the packet recorded them: they rest on files that are not in it."""
    known = {str(role): role for role in Role}
    files = tuple(files)
    said = site.roles_of([file.path for file in files])
    said_decimals = site.decimals_of([file.path for file in files])
    left_out = tuple(left_out)
    none = said_to_be_none(site, [file.path for file in left_out])
    left = {
        file.path: FileRole(
            file.path,
            known.get(file.role, Role.NONE),
            file.why,
            file.path in none,
            holds=file.holds,
            own=file.own,
        )
        for file in left_out
    }
    return FileSet(
        {
            file.path: FileRole(
                file.path, known.get(file.role, Role.IN_FORCE), "as the packet has it", file.path in said
            )
            for file in files
        }
        | left,
        named=site.named(file.path for file in files),
        decimals={
            file.path: file.decimals or said_decimals.get(file.path, DECIMALS_UNTOLD) for file in files
        },
    )


def site_of(packet: Packet) -> Site:
    """The site file that a packet was made with; one without content where there was none."""
    return parse_site(packet.site, SITE_COPY) if packet.site is not None else no_site()


def documents_of(
    files: Sequence[FileInput], contents: Mapping[str, bytes], site: Site | None = None
) -> tuple[Document, ...]:
    """Files with these contents, read as they were read for a packet with that site file; without one every line counts,
    also a console's talk."""
    if any(file.includes for file in files):
        takes_in = recorded(
            (file.path, {each.target: each.files for each in file.includes}) for file in files
        )
    else:  # format 1 did not record them
        takes_in = among(file.path for file in files)
    found = read_as([(file.path, file.dialect) for file in files], contents, takes_in)
    return found if site is None else tuple(as_listed(each, site) for each in found)


def _every_reading(machine: Machine) -> Iterator[tuple[str, Reading]]:
    """All readings, in force or not, by what they are and where they stand. Columns shift with an edit; several of one
    quantity on one line are told apart by their order there."""
    spans: dict[str, list[int]] = {}
    named = [
        (f"{reading.quantity} at {reading.place.file}:{reading.place.line}", reading)
        for reading in machine.every_reading
    ]
    for key, reading in named:
        spans.setdefault(key, []).append(reading.start)
    order = {key: {start: at for at, start in enumerate(sorted(set(found)))} for key, found in spans.items()}
    for key, reading in named:
        at = order[key][reading.start]
        yield f"{key}, {at + 1}." if at else key, reading


def _values(machine: Machine) -> dict[str, Any]:
    return {
        key: reading.text if reading.value is None else float(reading.value)
        for key, reading in _every_reading(machine)
    }


def _edited_texts(plan: Plan, machine: Machine) -> dict[str, str]:
    """What the texts (scripts) will say that the plan's edits reach into."""
    edits = edits_by_file(plan.changes)
    found = {}
    for key, reading in _every_reading(machine):
        first, last = reading.start, reading.end
        inside = [
            replace(edit, start=edit.start - first, end=edit.end - first)
            for edit in edits.get(reading.place.file, ())
            if first <= edit.start and edit.end <= last
        ]
        if reading.value is None and inside:
            data = machine.document(reading.place.file).data[first:last]
            found[key] = readable(apply_edits(data, inside))
    return found
