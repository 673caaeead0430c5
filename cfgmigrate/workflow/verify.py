"""Whether a packet holds: its hashes, its values, its files, its pages.

Everything is worked out again from the packet alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.progress import stage
from cfgmigrate.workflow.inputs import PathLike
from cfgmigrate.workflow.packets import open_packet
from cfgmigrate.workflow.prepare import pages_of

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet


def verify(packet: PathLike) -> tuple[str, ...]:
    """What does not hold in a packet, a sentence each; nothing where it holds.

    Looked at are its hashes; then every value is worked out again, the files are read again before and after, and
    the pages are written again. Raises BadInput where there is no packet.
    """
    import json

    from cfgmigrate.packet.folder import INDEX, verify_hashes
    from cfgmigrate.packet.recompute import recompute
    from cfgmigrate.packet.reread import unfaithful

    folder = Path(packet)
    if not (folder / INDEX).is_file():
        raise BadInput("there is no packet here", Place(str(folder)), "Name the folder that prepare wrote.")
    faults = tuple(str(fault) for fault in verify_hashes(folder))
    if faults:
        return faults
    document = json.loads((folder / INDEX).read_bytes())
    found = open_packet(folder)
    with stage("working every value out again"):
        return (*recompute(document), *unfaithful(found), *_other_pages(found))


def unverified(packet: PathLike) -> tuple[str, ...]:
    """What of a packet `verify` can't vouch for, a sentence each: its pages, where another release wrote them.

    Raises BadInput or Refused where the packet can't be opened.
    """
    from cfgmigrate.reports.edition import is_of_this_edition

    found = open_packet(packet)
    if not found.pages or is_of_this_edition(found.pages):
        return ()
    return (
        f"{', '.join(sorted(found.pages))}: written by another release, so their texts were not compared with the "
        "plan. The values hold; `cfgmigrate review` shows the plan itself.",
    )


def _other_pages(packet: Packet) -> Iterator[str]:
    """Pages that are not those of the plan. A stranger who seals a packet anew can write anything into them."""
    from cfgmigrate.reports.edition import is_of_this_edition

    if not is_of_this_edition(packet.pages):
        return
    for page, text in pages_of(
        packet.plan, packet.before, packet.after, packet.hash, packet.preparer
    ).items():
        if packet.pages.get(page) != text.encode("utf-8", "surrogateescape"):
            yield (
                f"{page}: not the page of the plan: somebody changed it and sealed the packet anew. Don't open it; "
                "`cfgmigrate review` shows the plan itself"
            )
