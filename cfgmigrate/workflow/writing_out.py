"""Writing out what was worked out: the pages for people, and the packet in its place.

Nothing is decided here. Under which circumstances a packet may take another one's place is said in `packet/write.py` and
`apply/replacing.py`; `workflow/tune.py` writes its packets in the same way.
"""

from __future__ import annotations

import getpass
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct, field

from cfgmigrate.ground.progress import stage
from cfgmigrate.workflow.inputs import PathLike

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.plan.model import Plan


#: the page that a second person opens in a browser
BROWSED = "changes.html"


class Prepared(Struct, frozen=True):
    """What `work_out` found: the plan, and the files as they are and as they would be."""

    plan: Plan
    before: Mapping[str, bytes]
    after: Mapping[str, bytes]
    sources: Mapping[str, bytes]
    sheet: bytes
    #: what it rests on besides, by its place in the packet: the site file, the files that it was carried over
    #: from, or those of the machine before a first part of the swap
    more: Mapping[str, bytes] = field(default_factory=dict)


def write_out(
    found: Prepared,
    out: Path,
    names: PathLike | None = None,
    preparer: str | None = None,
    replace: bool = False,
    browsed: bool = True,
) -> Packet:
    """Write what was worked out as a packet; where it is to be `browsed`, with its page for a browser."""
    from functools import partial

    from cfgmigrate.apply.replacing import refuse_replacing
    from cfgmigrate.packet.folder import Contents
    from cfgmigrate.packet.in_place import place_of
    from cfgmigrate.packet.made_here import remember
    from cfgmigrate.packet.write import write_packet

    guard = partial(refuse_replacing, root=found.plan.root) if replace else None
    names_file = Path(names).read_bytes() if names is not None else None
    contents = Contents(
        found.plan, found.before, found.after, found.sheet, names_file, found.sources, found.more
    )
    person = preparer or user()
    with stage("writing the pages"):
        place = place_of(out, contents.hash)
        pages = pages_of(
            found.plan, found.before, found.after, contents.hash, person, browsed, place.get("items")
        )
    packet = write_packet(out, contents, pages, person, guard, place)
    remember(packet)
    return packet


def pages_of(
    plan: Plan,
    before: Mapping[str, bytes],
    after: Mapping[str, bytes],
    identity: str,
    preparer: str = "",
    browsed: bool = True,
    earlier: Mapping[str, str] | None = None,
) -> dict[str, str]:
    """A packet's pages for people, by name; `preparer` is who asks for the review, `earlier` the digests of the items of
    the packet before. Most of the work is the page for
    a browser, which is left out where it is not to be `browsed`."""
    from cfgmigrate.reports.checklist import render_checklist
    from cfgmigrate.reports.markdown import render_markdown

    pages = {"changes.md": render_markdown(plan, before, after, identity)}
    if browsed:
        from cfgmigrate.reports.page import render_page

        pages[BROWSED] = render_page(plan, before, after, identity, preparer, earlier)
    return {**pages, "checklist.md": render_checklist(plan)}


def user() -> str:
    """Who prepares, by the system; "" where it doesn't say."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return ""
