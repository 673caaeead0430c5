"""Installing a packet: its changes put into the files, all of them or none.

The packet must be as it was written, and every file that was read for it must still be what it was: a
value worked out from another file's number would be wrong today. With `require_review` only changes that
a second person accepted go in; what is held, and what depends on it, stays out and is named. Without it a change that
somebody holds, or that can wreck something and that somebody questions, stops the install, unless it is named as going in all the same. A light that is unknown by what goes in
stops it, unless it is accepted by name.

This module deliberately works out nothing: the values are the packet's.
"""

from __future__ import annotations

import shlex
from collections.abc import Collection
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.apply.copied import copy_beside
from cfgmigrate.apply.despite_hold import holds_passed_over
from cfgmigrate.apply.other_readers import named_beside, told_of_readers
from cfgmigrate.apply.prior_installs import held_values
from cfgmigrate.apply.recorded_reasons import reasons_of
from cfgmigrate.apply.stopped_fleet import refuse_not_compared
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.paths import FileTarget, check_writable, existing_root, same_name, target
from cfgmigrate.packet.folder import Packet, sha256
from cfgmigrate.packet.opening import opened
from cfgmigrate.packet.signing import reviews_by
from cfgmigrate.packet.standing import HeldBack, allowed_changes, current_reviews
from cfgmigrate.plan.edits import FileStep
from cfgmigrate.plan.lights_left import after_review, unknown
from cfgmigrate.plan.model import Change
from cfgmigrate.store.history import read_history, record, refuse_broken
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.undoing import Recovery, recover, recover_at


class InstallReport(Struct, frozen=True):
    """What an install did, or with a dry run would do; `installed` are the ids of its changes. `entry` is its number in the history, 0 where
    nothing was written; `already` is true where the files held the new values before; `called` what the files call
    feeders, by holder."""

    packet: str
    root: str
    files: tuple[str, ...]
    installed: tuple[str, ...]
    held: tuple[HeldBack, ...]
    notes: tuple[str, ...]
    recovered: Recovery | None
    entry: int
    written: bool
    already: bool
    called: tuple[tuple[str, str], ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {
            "packet": self.packet,
            "root": self.root,
            "files": list(self.files),
            "installed": list(self.installed),
            "held": [held.to_json() for held in self.held],
            "notes": list(self.notes),
            "recovered": self.recovered.to_json() if self.recovered else None,
            "entry": self.entry,
            "written": self.written,
            "already": self.already,
            "called": dict(self.called),
        }


def install(
    packet: Packet | Path,
    root: Path | None = None,
    dry_run: bool = False,
    require_review: bool = False,
    kind: str = "",
    accept_unknown: Collection[str] = (),
    signed_by: Path | None = None,
    unproven: Collection[str] = (),
    despite_hold: Collection[str] = (),
) -> InstallReport:
    """Install a packet into the configuration at `root`, or where it was prepared. `kind` is what the history
    calls it, the plan's own where not given. `accept_unknown` are the names of lights that may stay unknown; they go on
    the record, and so do what is `unproven` of the packet and the ids in `despite_hold`, which go in though somebody holds
    or questions them. `signed_by` is a file of signers: with it, only what they signed is accepted (`packet/signing.py`).

    Raises BadInput where there is no packet or no configuration, and Refused, with nothing changed, where
    the packet or a file is not what it was, a file can't be replaced, the review does not allow it, somebody holds, or questions as what can
    wreck something, what would be written, or a light is unknown that nobody accepted.
    """
    packet = opened(packet)
    refuse_not_compared(packet)
    place = root_of(packet, root)
    changes, held = _allowed(packet, require_review, signed_by)
    accepted = _no_light_unknown(packet, changes, accept_unknown)
    steps = packet.steps(changes)
    store = Store(place)
    recovered = recover_at(place, dry_run)
    targets = {file.path: target(place, file.path) for file in packet.plan.files}
    already = _check(packet, place, steps, targets)
    passed_over = holds_passed_over(packet, changes, despite_hold) if steps and not already else ()
    notes = tuple(note for step in steps for note in targets[step.path].notes)
    named = named_beside(packet.plan, place, packet.before) if steps and not already else ()
    notes += told_of_readers(packet.plan, named)
    entry = 0
    if steps and not already and dry_run:
        refuse_broken(read_history(store).problems)
    if steps and not already and not dry_run:
        with store.locked():
            recovered = recover(store) or recovered
            targets = {path: target(place, path) for path in targets}
            already = _check(packet, place, steps, targets)  # another run may have installed it since
            if not already:
                real = {step.path: targets[step.path].real for step in steps}
                said = reasons_of(packet, changes)
                said["read"] = {
                    file.path: store.keep(packet.before[file.path], place / targets[file.path].real)
                    for file in packet.plan.files
                }
                if beside := {line.path: line.sha256 for line in named if line.path not in packet.before}:
                    said["beside"] = beside
                if held:
                    why = {item.name: item.why for item in held}
                    said["held"] = held_values(store, packet, changes, why)
                if accepted:
                    said["accepted_unknown"] = list(accepted)
                if passed_over:
                    said["despite_hold"] = list(passed_over)
                if unproven:
                    said["accepted_unproven"] = list(unproven)
                kind = kind or packet.plan.kind
                made, lost = record(store, kind, steps, real, packet.hash, packet.plan.machine, reasons=said)
                entry, notes = made.number, notes + lost
    return InstallReport(
        packet=packet.hash,
        root=str(place),
        files=tuple(step.path for step in steps),
        installed=tuple(change.id for change in changes if change.edits),
        held=held,
        notes=notes,
        recovered=recovered,
        entry=entry,
        written=entry > 0,
        already=already,
        called=packet.plan.called,
    )


def root_of(packet: Packet, root: Path | None) -> Path:
    """Where the configuration stands. Raises BadInput where that is not said or not there, Refused where a copy of it lies
    nearer to the packet and nobody said which is meant."""
    if root is None and not packet.plan.root:
        raise BadInput(
            "the packet does not say where the configuration stands",
            Place(str(packet.folder)),
            "Give the configuration's folder.",
        )
    if root is not None:
        return existing_root(root)
    place = existing_root(Path(packet.plan.root))
    if (near := copy_beside(packet, place)) is not None:
        raise Refused(
            f"the packet was made for {place}, and {near}, nearer to it, has the same files",
            remedy=f"Nothing was changed. Say which is meant: --root {shlex.quote(str(near))}, or --root {shlex.quote(str(place))}.",
        )
    return place


def _allowed(
    packet: Packet, require_review: bool, signed_by: Path | None
) -> tuple[tuple[Change, ...], tuple[HeldBack, ...]]:
    if not require_review and signed_by is None:
        return packet.plan.changes, ()
    reviews = current_reviews(packet) if signed_by is None else reviews_by(packet, signed_by)
    allowed = allowed_changes(packet.plan, reviews, packet.preparer)
    return allowed.changes, allowed.held


def _no_light_unknown(
    packet: Packet, changes: tuple[Change, ...], accepted: Collection[str]
) -> tuple[str, ...]:
    """Refuses to leave anything old in silence that can wreck the machine: by what is let in, not by what is planned.
    Gives the names of the lights that are unknown and accepted."""
    held = {change.id for change in packet.plan.changes} - {change.id for change in changes}
    lights = after_review(packet.plan.lights, held)
    found = unknown(lights, accepted)
    if not found or not any(change.edits for change in changes):
        return tuple(light.name for light in unknown(lights) if light not in found)
    lines = "".join(
        "\n  ".join(("", f"{light.name}: {light.why}", *(f"  {line}" for line in light.missing)))
        for light in found
    )
    names = " ".join(f'--accept-unknown "{light.name}"' for light in found)
    raise Refused(
        f"it is not known whether these would keep a wrong old value:{lines}",
        remedy=f"Nothing was changed. Say it in the sheet and prepare again, or install at your own risk: {names}",
    )


def _check(packet: Packet, root: Path, steps: tuple[FileStep, ...], targets: dict[str, FileTarget]) -> bool:
    """Whether the files already hold the new values. Raises Refused where they are not what was read, or
    can't be replaced."""
    wanted = {step.path: step.after for step in steps}
    if steps and all(found.data == wanted.get(path, packet.before[path]) for path, found in targets.items()):
        return True
    for file in packet.plan.files:
        data = targets[file.path].data
        if data is None:
            raise Refused("the file is no longer there", Place(file.path), _AGAIN)
        if sha256(data) != file.sha256:
            raise Refused("the file is no longer what was read for this packet", Place(file.path), _AGAIN)
    seen: dict[tuple[str, int], str] = {}
    for step in steps:
        found = targets[step.path]
        key = _which(root, found)
        if key in seen:
            raise Refused(f"this is the same file as {seen[key]}", Place(step.path), _AGAIN)
        seen[key] = step.path
        check_writable(root, found)
    return False


def _which(root: Path, found: FileTarget) -> tuple[str, int]:
    """What tells a file from every other, in folders too that know no capitals. A second name (hard link) is a file of
    its own: its content is replaced by itself."""
    return same_name(found.real), (root / found.real).stat().st_ino


_AGAIN = "Nothing was changed. Prepare a new packet from the files as they are now."
