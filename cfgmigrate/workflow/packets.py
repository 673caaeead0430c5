"""What is done with a packet: open, install, revert, and what the history says of it. Its review is in `reviewing.py`.

Nothing is believed of a packet that is not checked first: its hashes when it is opened, and before anything is
written that its edits do nothing that no plan may.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.workflow.inputs import PathLike, Paths, listed, optional

if TYPE_CHECKING:
    from cfgmigrate.apply.going_back import RevertReport
    from cfgmigrate.apply.install import InstallReport
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.store.history import History
    from cfgmigrate.store.undoing import Recovery


def recover(paths: Paths) -> Recovery | None:
    """Finish or undo what was interrupted at the configuration at `paths`.

    Gives what was put in order, None where there was nothing. Raises Refused where the files can't be written.
    """
    from cfgmigrate.files.found import common_root
    from cfgmigrate.store.undoing import recover_at

    return recover_at(common_root(listed(paths)))


def open_packet(packet: PathLike) -> Packet:
    """The packet in the folder `packet`, with its plan and files, once its hashes hold.

    Raises BadInput where there is none, Refused where a hash does not hold, naming the file.
    """
    from cfgmigrate.packet.opening import read_packet

    return read_packet(Path(packet))


def install(
    packet: PathLike,
    root: PathLike | None = None,
    *,
    require_review: bool = False,
    dry_run: bool = False,
    accept_unknown: Sequence[str] = (),
    signed_by: PathLike | None = None,
    accept_unproven: bool = False,
    despite_hold: Sequence[str] = (),
) -> InstallReport:
    """Carry a packet's changes out, all or none.

    `packet` is the folder that `prepare` or `tune` wrote, `root` where the configuration is now, if not where it was
    prepared. With `require_review` only what somebody other than the preparer accepted is installed, with `dry_run`
    nothing is written. `accept_unknown` are the lights, by name, that may stay unknown. With
    `signed_by`, a file of signers, only what they accepted and signed is installed. `despite_hold` are the changes, by
    number or id, that go in although somebody holds them.

    Unless this program prepared the packet for this root a moment ago, all that `verify` does is done first, but for its pages;
    and its files' roles and what it says of earlier installs are compared with those at `root`; so they are where files
    have come since. What can't be proven of it stops the install, unless `accept_unproven`.

    Gives what was done, what was held back and why. Raises Refused, and nothing was written, where a file is no
    longer what was read, a light is unknown, somebody holds what would be written, or questions a part of it that can wreck something, the review does not hold, or the packet does not hold or can't be proven.
    """
    from msgspec.structs import replace

    from cfgmigrate.apply.install import install as carry_out
    from cfgmigrate.apply.install import root_of
    from cfgmigrate.store.undoing import recover_at
    from cfgmigrate.workflow.only_said import of_signers
    from cfgmigrate.workflow.reviewing import numbers_of

    opened = open_packet(packet)
    _refuse_harmful(opened)
    place = root_of(opened, optional(root))
    recovered = recover_at(place, dry_run)
    notes, unproven = _refuse_unproven(opened, place, accept_unproven)
    numbers = numbers_of(opened) if despite_hold else {}
    report = carry_out(
        opened,
        place,
        dry_run,
        require_review,
        accept_unknown=accept_unknown,
        signed_by=optional(signed_by),
        unproven=unproven,
        despite_hold=[numbers.get(name.strip().upper(), name) for name in despite_hold],
    )
    if signed_by is not None:
        notes = (*notes, *of_signers(opened, Path(signed_by)))
    return replace(report, notes=(*report.notes, *notes), recovered=report.recovered or recovered)


def _refuse_unproven(packet: Packet, root: Path, accepted: bool) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What is to be said of a packet that comes from elsewhere, and what of that is unproven. Refused where it does not
    hold, or where it can't be proven and nobody `accepted` that."""
    from cfgmigrate.packet.made_here import made_a_moment_ago
    from cfgmigrate.workflow.placed import come_since, is_as_it_was
    from cfgmigrate.workflow.verify import verified_content

    # what lies at another root was never looked at for it, whoever made it
    made = made_a_moment_ago(packet) if root.resolve() == Path(packet.plan.root).resolve() else None
    if made is not None:
        come = come_since(packet, root, made)
        if come and not accepted:
            raise Refused(
                "since the packet was prepared, the configuration has become another one:\n  "
                + "\n  ".join(come),
                Place(str(root)),
                "Nothing was changed. Prepare again, or install it at your own risk: --accept-unproven",
            )
        return come, come
    found = verified_content(packet, root if is_as_it_was(packet, root) else None)
    if found.problems:
        raise Refused(
            "the packet does not hold:\n  " + "\n  ".join(found.problems),
            Place(str(packet.folder)),
            "Nothing was changed. Prepare one of your own from the files and the sheet.",
        )
    if found.unproven and not accepted:
        raise Refused(
            "the packet comes from elsewhere, and not all of it can be proven:\n  "
            + "\n  ".join(found.unproven),
            Place(str(packet.folder)),
            "Nothing was changed. Prepare one of your own from the files and the sheet, or install it at your own risk: "
            "--accept-unproven",
        )
    return found.notes, found.unproven


def _refuse_harmful(packet: Packet) -> None:
    """Raises Refused where the packet's edits do what no plan may, whoever sealed it."""
    from cfgmigrate.packet.reread import harmful

    faults = harmful(packet)
    if faults:
        raise Refused(
            "the packet would do what no plan may:\n  " + "\n  ".join(faults),
            Place(str(packet.folder)),
            "Nothing was changed. Do not trust whoever it comes from; prepare one of your own.",
        )


def revert(
    packet: PathLike,
    root: PathLike | None = None,
    *,
    dry_run: bool = False,
    only: Sequence[str] = (),
    keep: Sequence[str] = (),
    force: Sequence[str] = (),
    whole: bool = False,
) -> RevertReport:
    """Put a packet's old values back. Edits made since are kept; files untouched since come back byte for byte.

    `packet` and `root` are those of `install`. `only` are the values to put back, where not all; `keep` those to
    leave as they are now; `force` those to put back though they were changed since; each by its name in the plan.
    With `whole`, and none of these, every file that was read for the packet comes back to the letter: the edits made since go
    too, and the files with them are kept in `.beside`. With `dry_run` nothing is written.

    Gives what was put back, what was kept, and what is in conflict. Raises Refused, and nothing was written, where
    a conflict has no answer or the packet can't be trusted.
    """
    from cfgmigrate.apply.install import root_of
    from cfgmigrate.apply.revert import revert as put_back
    from cfgmigrate.store.history import history as read

    opened = open_packet(packet)
    place = root_of(opened, optional(root))
    if all(entry.packet != opened.hash for entry in read(place)):
        _refuse_harmful(opened)
        _refuse_unproven(opened, place, accepted=True)
    known = [file.path for file in opened.plan.files]
    back = put_back(opened, place, dry_run, tuple(only), tuple(keep), tuple(force), whole)
    return _told(place, back, known)


def _told(root: Path, report: RevertReport, known: Sequence[str] = ()) -> RevertReport:
    """The report with what was put back in vain."""
    from msgspec.structs import replace

    from cfgmigrate.store.history import history as read
    from cfgmigrate.workflow.asked import several_named
    from cfgmigrate.workflow.overruled import put_back_in_vain

    if not known and several_named(read(root), root, root):
        return report  # several machines went back, and what is said of one is not true of another
    return replace(report, notes=(*put_back_in_vain(root, report, known), *report.notes))


def revert_to(
    root: PathLike,
    entry: str,
    *,
    dry_run: bool = False,
    only: Sequence[str] = (),
    keep: Sequence[str] = (),
    force: Sequence[str] = (),
    whole: bool = False,
    all_machines: bool = False,
) -> RevertReport:
    """Go back to an entry of the history at `root` (its number), or to "start", over as many steps as that takes.

    Where those are steps of several machines, `all_machines` says that every one of them is to go back; without it they are told by a
    dry run, and refused otherwise. Raises Refused, too, where the history is not here but in folders below. The other inputs, the
    result and the errors are those of `revert`.
    """
    from msgspec.structs import replace

    from cfgmigrate.apply.asked_machine import told_of_below, told_of_going_back
    from cfgmigrate.apply.revert import revert_to as go_back
    from cfgmigrate.files.histories_below import histories_below
    from cfgmigrate.workflow.asked import several_going_back

    if below := histories_below(Path(root)):
        raise Refused(told_of_below(below), Place(str(root)), "Nothing was changed.")
    place, answers = Path(root), (tuple(only), tuple(keep), tuple(force), whole)
    several = () if all_machines else several_going_back(place, entry)
    if several and not dry_run and go_back(place, entry, True, *answers).files:
        raise Refused(
            told_of_going_back(several),
            remedy="Nothing was changed. For one machine alone, revert its packets, the newest first. For all of them, give "
            "--all-machines, too; a dry run shows what goes back.",
        )
    back = _told(place, go_back(place, entry, dry_run, *answers))
    told = (told_of_going_back(several),) if several and back.files else ()
    return replace(back, notes=(*told, *back.notes))


def history(root: Paths, *, anew: bool = True) -> History:
    """What was installed, tuned and reverted at the configuration in the folder `root`, oldest first.

    Where several machines share a history above them, `root` is the folder of one, or its files and folders: `.others` are
    the steps by which another one changed its files. `.whole` says whether its chain of hashes holds, `.problems` what is wrong with it. Without `anew`, what was found
    whole before and has not been touched since is not read again. Raises BadInput where there is no such folder.
    """
    from cfgmigrate.workflow.asked import asked_history

    return asked_history(root, anew)
