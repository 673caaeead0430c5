"""Packets of one run that would write different values into the same line of a file that their machines share.

Each machine is prepared by itself first, as ever. Where two packets then don't agree on a line, both are prepared again and know
what the other would write; neither writes there then (`apply/disputed_lines.py`, `plan/lines_disputed.py`). A packet may leave such a
line as it is, because it is right for its machine already, or because nothing came of it: then that machine wants what stands
there, and the other one asks. What an installed packet wrote is told by the history, so it claims nothing here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path

from msgspec.structs import replace

from cfgmigrate.apply.disputed_lines import Claim, Claims, same_number
from cfgmigrate.fleet.groups import Record
from cfgmigrate.fleet.job import Job

#: a line of a file: where that lies, and the byte at which its value begins
Spot = tuple[str, int]


def to_prepare_again(jobs: Sequence[Job], records: Mapping[str, Record]) -> list[Job]:
    """The jobs of machines whose packets do not know yet, or wrongly, which of the other packets don't agree with them."""
    free = {name: record for name, record in records.items() if record.done and not record.installed}
    places: dict[Spot, list[Claim]] = {}
    for record in free.values():
        for file, claim in record.claims:
            places.setdefault((file, claim.start), []).append(claim)
    written = tuple(places)
    for job in jobs:
        if (here := free.get(job.machine.name)) is not None:
            own_places = {(file, claim.start) for file, claim in here.claims}
            read = frozenset(here.read)
            others = {spot for spot in written if spot[0] in read and spot not in own_places}
            for spot, claim in _left_as_they_are(here.name, job.packet, others) if others else ():
                places[spot].append(claim)
    again: list[Job] = []
    for job in jobs:
        here = free.get(job.machine.name)
        if here is None:
            continue
        against = {
            (file, other)
            for file, own in here.claims
            for other in places[file, own.start]
            if other.machine != here.name and not same_number(other.text, own.text)
        }
        known = {(file, claim) for file, claim in here.disputed if claim.machine in free}
        if against != known:
            by_file: dict[str, list[Claim]] = {}
            for file, claim in sorted(against, key=lambda each: (each[0], each[1].start, each[1].machine)):
                by_file.setdefault(file, []).append(claim)
            claimed: Claims = {file: tuple(found) for file, found in by_file.items()}
            again.append(replace(job, claimed=claimed))
    return again


def _left_as_they_are(name: str, packet: Path, spots: Collection[Spot]) -> Iterator[tuple[Spot, Claim]]:
    """What stands at those of these places that are in force for a machine whose packet does not write there."""
    from cfgmigrate.packet.opening import read_packet
    from cfgmigrate.packet.reread import site_of
    from cfgmigrate.workflow.again import machine_of

    found = read_packet(packet)
    machine = machine_of(found, found.before, site_of(found))
    where = {file.path: str(Path(found.plan.root, file.path).resolve()) for file in found.plan.files}
    for reading in machine.readings:
        for each in (reading, *machine.followers(reading)):
            spot = where[each.place.file], each.start
            if spot in spots:
                yield spot, Claim(each.start, name, each.text)
