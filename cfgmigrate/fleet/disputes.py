"""Packets of one run that would write different values into the same line of a file that their machines share.

Each machine is prepared by itself first, as ever. Where two packets then don't agree on a line, both are prepared again and know
what the other would write; neither writes there then (`apply/disputed_lines.py`, `plan/lines_disputed.py`). What an installed
packet wrote is told by the history, so it claims nothing here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.apply.disputed_lines import Claim, Claims, same_number
from cfgmigrate.fleet.groups import Record
from cfgmigrate.fleet.job import Job


def to_prepare_again(jobs: Sequence[Job], records: Mapping[str, Record]) -> list[Job]:
    """The jobs of machines whose packets do not know yet, or wrongly, which of the other packets don't agree with them."""
    free = {name: record for name, record in records.items() if record.done and not record.installed}
    places: dict[tuple[str, int], list[Claim]] = {}
    for record in free.values():
        for file, claim in record.claims:
            places.setdefault((file, claim.start), []).append(claim)
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
