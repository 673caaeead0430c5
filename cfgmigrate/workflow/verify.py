"""Whether a packet holds: its hashes, its values, its files, its pages.

Everything is worked out again from the packet alone.
"""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.progress import stage
from cfgmigrate.workflow.inputs import PathLike
from cfgmigrate.workflow.packets import open_packet
from cfgmigrate.workflow.writing_out import BROWSED, pages_of

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet

#: marks that turn the direction of writing (Unicode Standard Annex 9)
TURNING = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


class Verified(Struct, frozen=True):
    """What does not hold in a packet, and what is to be said besides; a sentence each. Those of the `notes` that are
    `unproven` tell what nobody but a person can vouch for."""

    problems: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    unproven: tuple[str, ...] = ()


def verify(packet: PathLike) -> tuple[str, ...]:
    """What does not hold in a packet, a sentence each; nothing where it holds.

    Looked at are its hashes; then the plan is worked out again from the packet's own sheet, files and rules and
    compared field by field, every value is worked out by a second way, the files are read again before and after, and
    the pages are written again. Raises BadInput where there is no packet.
    """
    return verified(packet).problems


def unverified(packet: PathLike) -> tuple[str, ...]:
    """What of a packet `verify` can't vouch for, a sentence each.

    Raises BadInput or Refused where the packet can't be opened.
    """
    open_packet(packet)
    return verified(packet).notes


def verified(packet: PathLike) -> Verified:
    """Both at once. Raises BadInput where there is no packet."""
    from cfgmigrate.packet.folder import INDEX
    from cfgmigrate.packet.opening import verify_hashes
    from cfgmigrate.workflow import only_said

    folder = Path(packet)
    if not (folder / INDEX).is_file():
        raise BadInput("there is no packet here", Place(str(folder)), "Name the folder that prepare wrote.")
    faults = tuple(str(fault) for fault in verify_hashes(folder))
    if faults:
        return Verified(faults)
    found = open_packet(folder)
    content = verified_content(found)
    before, unlike = only_said.of_before(found)
    problems = (*content.problems, *_other_pages(found), *_of_no_kind(found), *unlike)
    unknown = tuple(_unknown_pages(found))
    notes = (*unknown, *_laid_beside(found), *only_said.of_preparer(found))
    return Verified(problems, (*content.notes, *before, *notes), (*content.unproven, *before, *unknown))


def verified_content(packet: Packet, root: Path | None = None) -> Verified:
    """The same of a packet that was opened, without its pages: nothing is installed from those, but somebody may go back by its patches. `root` is the
    configuration that it is for, where that can be looked at."""
    from cfgmigrate.packet.recompute import recompute
    from cfgmigrate.packet.reread import unfaithful
    from cfgmigrate.workflow.again import worked_out_again

    with stage("working every value out again"):
        again = worked_out_again(packet)
        faults = (
            *again.faults,
            *recompute(packet.index),
            *unfaithful(packet),
            *_sheet_called_otherwise(packet),
            *_other_patches(packet),
        )
        unproven = (*again.unproven, *(() if faults else _out_of_place(packet, again.doubts, root)))
        return Verified(faults, (*unproven, *again.notes), unproven)


def _sheet_called_otherwise(packet: Packet) -> Iterator[str]:
    """A sheet that is called like a file of the machine: its numbers would seem to come from there."""
    path = packet.plan.sheet_path
    if os.path.normpath(path) in {*packet.before, *packet.origin} or Path(path) in {
        Path(packet.plan.root) / each for each in packet.before
    }:
        yield f"its sheet is called {path[:80]!a}, which is a file of the machine"
    if any(unicodedata.category(letter) in ("Cc", "Zl", "Zp") or letter in TURNING for letter in path):
        yield f"its sheet is called {path[:80]!a}, which acts on what shows it"


def _out_of_place(packet: Packet, doubts: Collection[Mapping[str, Any]], root: Path | None) -> Iterator[str]:
    from cfgmigrate.workflow import placed

    if packet.index["format"] > 1:  # the first one recorded no roles
        if root is not None:
            yield from placed.unlike_there(packet, doubts, root)
        else:
            yield from placed.unlike_alone(packet, doubts)


def _unknown_pages(packet: Packet) -> Iterator[str]:
    from cfgmigrate.reports.edition import is_of_this_edition

    if packet.pages and not is_of_this_edition(packet.pages):
        yield (
            f"{', '.join(sorted(packet.pages))}: said to be written by another release, so their texts were not compared "
            "with the plan and may say anything. Work by what `cfgmigrate review` shows, which is the plan itself"
        )


def _other_pages(packet: Packet) -> Iterator[str]:
    """Pages that are not those of the plan. A stranger who seals a packet anew can write anything into them."""
    from cfgmigrate.packet.in_place import items_before
    from cfgmigrate.reports.edition import is_of_this_edition

    if not is_of_this_edition(packet.pages):
        return
    earlier = items_before(packet)
    own = pages_of(packet.plan, packet.before, packet.after, packet.hash, packet.preparer, earlier=earlier)
    yield from (f"{page}: no page of a packet. Don't open it" for page in packet.pages if page not in own)
    for page, text in own.items():
        if page == BROWSED and page not in packet.pages:
            continue  # a fleet's packets have it where it was asked for
        if packet.pages.get(page) != text.encode("utf-8", "surrogateescape"):
            yield (
                f"{page}: not the page of the plan: somebody changed it and sealed the packet anew. Don't open it; "
                "`cfgmigrate review` shows the plan itself"
            )


def _other_patches(packet: Packet) -> Iterator[str]:
    """Patches that are not those from the files before to the files after, and back. Whoever has no program carries
    out what they say, whatever the plan is."""
    from cfgmigrate.packet.folder import FORWARD, REVERT
    from cfgmigrate.packet.patch import patch_of

    for name, old, new in (
        (FORWARD, packet.before, packet.after),
        (REVERT, packet.after, packet.before),
    ):
        if packet.patches.get(name) != patch_of(old, new):
            yield f"{name}: not the patch of the plan: somebody changed it and sealed the packet anew. Don't use it"


def _of_no_kind(packet: Packet) -> Iterator[str]:
    """Files that a packet lists and that are neither an input, a result, a page nor a patch."""
    from cfgmigrate.packet.folder import is_input, is_page

    for path in packet.index["contents"]:
        if not (is_input(path) or is_page(path) or path in packet.patches):
            yield f"{path}: no file of a packet"


def _laid_beside(packet: Packet) -> Iterator[str]:
    """Files that lie with the packet's own and are not of it: whoever reads there could take them for its."""
    from cfgmigrate.packet.folder import INDEX, REVIEW
    from cfgmigrate.packet.signing import is_signed_record

    own = {INDEX, REVIEW, *packet.index["contents"]}
    for path in sorted(packet.folder.rglob("*")):
        name = path.relative_to(packet.folder).as_posix()
        if not path.is_dir() and name not in own and not is_signed_record(packet, name):
            yield f"{name}: not part of the packet, though it lies in its folder; nothing was compared with it"
